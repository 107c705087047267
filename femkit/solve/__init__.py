"""Numbering, supports, assembly, factorisation, and the displacements they lead to."""

from .cells import cell_arrays, element_family
from .factorise import SOLVERS
from .forces import cell_forces
from .proof import Proof
from .statics import Counts, Solution, solve_displacements

__all__ = [
    "SOLVERS",
    "Counts",
    "Proof",
    "Solution",
    "cell_arrays",
    "cell_forces",
    "element_family",
    "solve_displacements",
]

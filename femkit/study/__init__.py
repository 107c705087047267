"""Variants side by side, finer and finer meshes, and what every thickness does to a quantity."""

from .comparison import Comparison, Line, compare_strength
from .converge import Convergence, converge
from .quantities import Displacement, Distance, JudgedStress, Mass
from .sensitivity import Sensitivity, sensitivities, sensitivity

__all__ = [
    "Comparison",
    "Convergence",
    "Displacement",
    "Distance",
    "JudgedStress",
    "Line",
    "Mass",
    "Sensitivity",
    "compare_strength",
    "converge",
    "sensitivities",
    "sensitivity",
]

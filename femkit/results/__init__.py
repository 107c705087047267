"""Displacement, reaction, stress and section forces of a solved model, and their export."""

from .buckling import BucklingResult, solve_buckling
from .case import CaseResult
from .error import ErrorEstimate
from .line_forces import LineForces, line_forces
from .modes import ModesResult, solve_modes
from .sections import SectionForce, SectionProperties, section_force, section_properties
from .static import StaticResult, StaticSolver, solve_static

__all__ = [
    "BucklingResult",
    "CaseResult",
    "ErrorEstimate",
    "LineForces",
    "ModesResult",
    "SectionForce",
    "SectionProperties",
    "StaticResult",
    "StaticSolver",
    "line_forces",
    "section_force",
    "section_properties",
    "solve_buckling",
    "solve_modes",
    "solve_static",
]

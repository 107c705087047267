"""Displacement, reaction, stress and section forces of a solved model, and their export."""

from .buckling import BucklingResult, solve_buckling
from .case import CaseResult
from .error import ErrorEstimate
from .gauges import Gauge, PlacedGauges, Rosette, place_gauges
from .line_forces import LineForces, line_forces
from .modes import ModesResult, solve_modes
from .sections import SectionForce, SectionProperties, section_force, section_properties
from .spots import Spots, nominal_spots
from .static import StaticResult, StaticSolver, solve_static

__all__ = [
    "BucklingResult",
    "CaseResult",
    "ErrorEstimate",
    "Gauge",
    "LineForces",
    "ModesResult",
    "PlacedGauges",
    "Rosette",
    "SectionForce",
    "SectionProperties",
    "Spots",
    "StaticResult",
    "StaticSolver",
    "line_forces",
    "nominal_spots",
    "place_gauges",
    "section_force",
    "section_properties",
    "solve_buckling",
    "solve_modes",
    "solve_static",
]

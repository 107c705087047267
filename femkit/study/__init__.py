"""Variants side by side, finer and finer meshes, and what every thickness does to a quantity."""

from .checks import BucklingFactor, Check, Frequency, strength_checks
from .comparison import Comparison, Line, compare_strength
from .converge import Convergence, converge
from .free_plates import FreePlate
from .quantities import Displacement, Distance, JudgedStress, Mass
from .sensitivity import Sensitivity, sensitivities, sensitivity
from .sizing import Sizing, size_plates

__all__ = [
    "BucklingFactor",
    "Check",
    "Comparison",
    "Convergence",
    "Displacement",
    "Distance",
    "FreePlate",
    "Frequency",
    "JudgedStress",
    "Line",
    "Mass",
    "Sensitivity",
    "Sizing",
    "compare_strength",
    "converge",
    "sensitivities",
    "sensitivity",
    "size_plates",
    "strength_checks",
]

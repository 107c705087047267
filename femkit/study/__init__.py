"""What if: variants, sweeps, finer meshes, details, sensitivities, sizing and stages of one structure."""

from .comparison import Comparison, Line, compare_strength
from .converge import Convergence, converge
from .details import BorderCheck, BorderEffect, border_effect, check_border, local_model
from .least_thickness import LeastThickness, ZoneLeast, least_thickness
from .quantities import Damage, Displacement, Distance, JudgedStress, Mass
from .sensitivity import Sensitivity, sensitivities, sensitivity
from .sizing import BucklingFactor, Check, FreePlate, Frequency, Sizing, size_plates, strength_checks
from .staging import Stage, StagesResult, solve_stages
from .sweeps import Sweep, sweep

__all__ = [
    "BorderCheck",
    "BorderEffect",
    "BucklingFactor",
    "Check",
    "Comparison",
    "Convergence",
    "Damage",
    "Displacement",
    "Distance",
    "FreePlate",
    "Frequency",
    "JudgedStress",
    "LeastThickness",
    "Line",
    "Mass",
    "Sensitivity",
    "Sizing",
    "Stage",
    "StagesResult",
    "Sweep",
    "ZoneLeast",
    "border_effect",
    "check_border",
    "compare_strength",
    "converge",
    "least_thickness",
    "local_model",
    "sensitivities",
    "sensitivity",
    "size_plates",
    "solve_stages",
    "strength_checks",
    "sweep",
]

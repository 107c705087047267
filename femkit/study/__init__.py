"""What if: variants, sweeps, finer meshes, details, sensitivities, sizing and stages of one structure."""

from .border import BorderCheck, BorderEffect, border_effect, check_border
from .comparison import Comparison, Line, compare_strength
from .converge import Convergence, converge
from .local import local_model
from .quantities import Displacement, Distance, JudgedStress, Mass
from .sensitivity import Sensitivity, sensitivities, sensitivity

__all__ = [
    "BorderCheck",
    "BorderEffect",
    "Comparison",
    "Convergence",
    "Displacement",
    "Distance",
    "JudgedStress",
    "Line",
    "Mass",
    "Sensitivity",
    "border_effect",
    "check_border",
    "compare_strength",
    "converge",
    "local_model",
    "sensitivities",
    "sensitivity",
]

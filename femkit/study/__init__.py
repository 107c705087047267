"""Variants of one structure side by side, one structure on finer meshes, and a detail meshed finely by itself."""

from .border import BorderCheck, BorderEffect, border_effect, check_border
from .comparison import Comparison, Line, compare_strength
from .converge import Convergence, converge
from .local import local_model

__all__ = ["BorderCheck", "BorderEffect", "Comparison", "Convergence", "Line", "border_effect", "check_border"]
__all__ += ["compare_strength", "converge", "local_model"]

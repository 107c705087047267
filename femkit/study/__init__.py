"""Variants of one structure side by side, and one structure on finer and finer meshes."""

from .comparison import Comparison, Line, compare_strength
from .converge import Convergence, converge

__all__ = ["Comparison", "Convergence", "Line", "compare_strength", "converge"]

"""Variants of one structure side by side, one structure on finer and finer meshes, and one built in stages."""

from .comparison import Comparison, Line, compare_strength
from .converge import Convergence, converge
from .stages import Stage, StagesResult, solve_stages

__all__ = ["Comparison", "Convergence", "Line", "Stage", "StagesResult", "compare_strength", "converge", "solve_stages"]

"""Variants of one structure side by side, sweeps of parameters, and one structure on finer and finer meshes."""

from .comparison import Comparison, Line, compare_strength
from .converge import Convergence, converge
from .sweep import Sweep, sweep

__all__ = ["Comparison", "Convergence", "Line", "Sweep", "compare_strength", "converge", "sweep"]

"""Variants of one structure side by side."""

from .comparison import Comparison, Line, compare_strength

__all__ = ["Comparison", "Line", "compare_strength"]

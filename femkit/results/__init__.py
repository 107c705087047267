"""Displacement, reaction, stress and section forces of a solved model, and their export."""

from .case import CaseResult
from .sections import SectionForce, SectionProperties, section_force, section_properties
from .static import StaticResult, solve_static

__all__ = [
    "CaseResult",
    "SectionForce",
    "SectionProperties",
    "StaticResult",
    "section_force",
    "section_properties",
    "solve_static",
]

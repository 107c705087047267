"""Displacement, reaction, stress and section forces of a solved model, and their export."""

from .sections import SectionForce, SectionProperties, section_force, section_properties
from .static import CaseResult, StaticResult, solve_static

__all__ = [
    "CaseResult",
    "SectionForce",
    "SectionProperties",
    "StaticResult",
    "section_force",
    "section_properties",
    "solve_static",
]

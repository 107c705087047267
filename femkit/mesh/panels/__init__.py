"""Stiffened panels in words and numbers: what they are described with, and their meshes of quadrilaterals."""

from .panel import Panel
from .parts import Doubler, Mark, Opening, Stiffener, Zone

__all__ = ["Doubler", "Mark", "Opening", "Panel", "Stiffener", "Zone"]

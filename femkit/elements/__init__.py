"""Element matrices: arrays in, arrays out, all cells of a kind at once."""

from femkit.elements import plane_quad, shell_quad, shell_triangle
from femkit.elements.cells import CellArrays

__all__ = ["PLANES", "SHELLS", "CellArrays"]

SHELLS = {"triangle": shell_triangle, "quad": shell_quad}
PLANES = {"quad": plane_quad}

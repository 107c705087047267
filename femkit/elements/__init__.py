"""Element matrices: arrays in, arrays out, all cells of a kind at once."""

from femkit.elements import plane_quad, shell_quad
from femkit.elements.cells import CellArrays

__all__ = ["PLANES", "SHELLS", "CellArrays"]

SHELLS = {"quad": shell_quad}
PLANES = {"quad": plane_quad}

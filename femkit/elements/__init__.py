"""Element matrices: arrays in, arrays out, all cells of a kind at once.

Every family is a module with the same four functions: `stiffness`, `strain_operator`, `section_stiffness` and
`thermal_forces`.
"""

from . import plane_quad, plane_triangle, shell_quad, shell_triangle
from .bend import cell_bend
from .cells import CellArrays
from .geometric import geometric_stiffness
from .mass import plane_mass, shell_mass
from .sides import straight_sides

__all__ = [
    "PLANES",
    "SHELLS",
    "CellArrays",
    "cell_bend",
    "geometric_stiffness",
    "plane_mass",
    "shell_mass",
    "straight_sides",
]

SHELLS = {"triangle": shell_triangle, "quad": shell_quad}
PLANES = {"triangle": plane_triangle, "quad": plane_quad}

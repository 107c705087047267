"""Element matrices: arrays in, arrays out, all cells of a kind at once.

Every family is a module with the same four functions: `stiffness`, `strain_operator`, `section_stiffness` and
`thermal_forces`.
"""

from . import beam, plane_quad, plane_quadratic, plane_triangle, shell_quad, shell_triangle
from .attached import relative_motion, spring_stiffness
from .bend import cell_bend
from .cells import STEP, CellArrays
from .geometric import geometric_stiffness
from .mass import plane_mass, shell_mass
from .sides import straight_sides

__all__ = [
    "PLANES",
    "SHELLS",
    "STEP",
    "CellArrays",
    "beam",
    "cell_bend",
    "geometric_stiffness",
    "plane_mass",
    "relative_motion",
    "shell_mass",
    "spring_stiffness",
    "straight_sides",
]

SHELLS = {"triangle": shell_triangle, "quad": shell_quad}
PLANES = {"triangle": plane_triangle, "quad": plane_quad}
PLANES |= dict.fromkeys(("triangle6", "quad8", "quad9"), plane_quadratic)

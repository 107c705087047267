"""Element matrices: arrays in, arrays out, all cells of a kind at once.

Every kind of cell is a module with `stiffness` and `strain_operator`; with the section's stiffness they are a `Family`.
"""

from . import beam, plane_quad, plane_quadratic, plane_triangle, shell_quad, shell_triangle
from .attached import relative_motion, spring_stiffness
from .bend import cell_bend
from .cells import STEP, CellArrays
from .family import Family
from .geometric import geometric_stiffness
from .mass import plane_mass, shell_mass
from .section import membrane_rigidity, shell_rigidity
from .sides import straight_sides

__all__ = [
    "PLANES",
    "SHELLS",
    "STEP",
    "CellArrays",
    "Family",
    "beam",
    "cell_bend",
    "geometric_stiffness",
    "plane_mass",
    "relative_motion",
    "shell_mass",
    "spring_stiffness",
    "straight_sides",
]


def _family(module, section_stiffness):
    return Family(module.stiffness, module.strain_operator, section_stiffness)


SHELLS = {kind: _family(one, shell_rigidity) for kind, one in (("triangle", shell_triangle), ("quad", shell_quad))}
PLANES = {kind: _family(one, membrane_rigidity) for kind, one in (("triangle", plane_triangle), ("quad", plane_quad))}
PLANES |= dict.fromkeys(("triangle6", "quad8", "quad9"), _family(plane_quadratic, membrane_rigidity))

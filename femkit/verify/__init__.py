"""The catalogue of published cases, used by the tests, the verification notebook and the command alike.

``verify(choose(CASES, ["modes"]))`` runs a group. Every case is data: claim, source, reference, band with its reason,
and a function that builds and solves the model on a mesh.
"""

from . import beams, buckling, modes, openings, plane, plates, rings, shells, stiffened, strips, thin_walled
from .case import EVIDENCE, GROUPS, Case
from .grids import grid, joined
from .outcome import LINE_HEADS, Outcome, Verification, choose, run_case, verify

__all__ = [
    "CASES",
    "EVIDENCE",
    "GROUPS",
    "LIMITS",
    "LINE_HEADS",
    "Case",
    "Outcome",
    "Verification",
    "choose",
    "grid",
    "joined",
    "run_case",
    "verify",
]

PARTS = (plane, rings, openings, plates, shells, strips, thin_walled, stiffened, beams, modes, buckling)
CASES = tuple(case for part in PARTS for case in part.CASES)
# what cells do badly, and by how much: shown, but no band is claimed
LIMITS = tuple(case for part in PARTS for case in getattr(part, "LIMITS", ()))

"""The demo's joints: old rivets and new welds, and what passes through them. Every number and limit is invented."""

import numpy as np

from femkit import assess

RIVETS = "old sheet to sole bar, rivets"
TO_SHEETS = "door pillars to sheets, fillet welds"
FEET = "door pillars to sole bar, fillet welds"
DOUBLER = "sole bar's doubler to its flange, fillet welds"

# rivets of 10 mm in one row, one every 60 mm, through the sheet of 3 mm; MPa
RIVETED = {"diameter": 10, "pitch": 60, "thickness": 3, "allowed": {"shear": 100, "bearing": 200}}
# throat, standing plate and the other in mm; a pillar is a box, so that its walls are welded from outside alone
WELDED = {
    TO_SHEETS: {"throat": 3, "thickness": (5, 2.5), "sides": 1, "eccentric": False},
    FEET: {"throat": 4, "thickness": (5, 8), "sides": 1, "eccentric": False},
    DOUBLER: {"throat": 5, "thickness": (8, 8), "sides": 2},
}


def seams(result):
    """What passes through each joint that this form of the wall has: `LineForces`, one a combination, by joint.

    In the doubler zones sheet and doubler are one plate, so that the rivets there get what the doubler's weld to the
    sole bar would take of it: too much rather than too little.
    """
    sets = result.model.mesh.cell_sets
    lower = np.concatenate([sets[name] for name in ("lower-sheet", "doubler-zone") if name in sets])
    parts = {RIVETS: (lower, "sole-bar-web")}
    if "door-pillar" in sets:
        parts[TO_SHEETS] = "door-pillar", np.append(lower, sets["upper-sheet"])
        parts[FEET] = "door-pillar", "sole-bar-flange"
        parts[DOUBLER] = "sole-bar-doubler", "sole-bar-flange"
    cases = [result[combination.name] for combination in result.model.combinations]
    return {name: [case.line_forces(*pair, name=name) for case in cases] for name, pair in parts.items()}


def joints(result):
    """What the rivets and welds use of what they are allowed over all combinations: a `JointUse` by joint.

    The pillars' welds to the sheets are not assessed: EN 1993-1-8 is not for plates under 4 mm.
    """
    found = seams(result)
    used = {RIVETS: assess.fasteners(found.pop(RIVETS), **RIVETED)}
    return used | {name: assess.fillet_welds(lines, **WELDED[name]) for name, lines in found.items()}

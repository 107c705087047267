"""How long the demo's wall lasts: its welds and cut edges, their categories, the counted year. Every number is invented."""

from pathlib import Path

import numpy as np
from side_wall import STEEL

from femkit.assess import fatigue
from femkit.results import nominal_spots

COUNTS = Path(__file__).parent / "data" / "load_counts.csv"
YEARS_USED, YEARS_WANTED = 40.0, 25.0  # the wall has run, and is to run on
GAMMA_MF = fatigue.GAMMA_MF["damage tolerant", "high consequence"]  # cracks are looked for at every overhaul
THINNEST = 2.5  # mm; the works takes the categories for its thin sheets too, which is its own judgement

UP, AHEAD = (0, 0, 1), (1, 0, 0)


def around_corners(x, z, out):
    """Places beyond the middles of the four arcs of openings around (x, z), and the directions of the edge there."""
    signs = [(right, up) for right in (-1, 1) for up in (-1, 1)]
    places = [(each + right * out[0], 0, z + up * out[1]) for each in x for right, up in signs]
    return places, [(1, 0, -right * up) for _ in x for right, up in signs]


# windows of 1000 x 720 mm with arcs of 90 mm; the doorway's head has arcs of 80 mm: 4 mm outside the middle of the arc
CORNERS = around_corners((1100, 2400, 5000, 6300), 1440, np.array([410, 270]) + 94 * np.sqrt(0.5))
HEAD = tuple(each[1:4:2] for each in around_corners([3700], 1870, np.array([570, 0]) + 84 * np.sqrt(0.5)))
BESIDE_DOUBLER = [(x, 0, z) for x in (2720, 4680) for z in range(200, 1000, 50)]

# name: category, plate, places, direction of the stress that counts, mm that it is averaged over; the first three of the old wall
DETAILS = {
    "flange butt weld at mid span": ("butt weld, larger reinforcement", "sole-bar-flange", (3600, 35, 0), AHEAD, 25),
    "feet of the posts": (
        "longitudinal attachment, longer than 100 mm", "lower-sheet",
        [(x, 0, 172) for x in (350, 1750, 5650, 6850)], UP, 25,
    ),
    "cut edge, window corners": ("machine gas cut edge", "upper-sheet", *CORNERS, 0),
    "cut edge, doorway's head": ("machine gas cut edge", "upper-sheet", *HEAD, 0),
    "ends of the sole bar's doubler": ("end of cover plate", "sole-bar-flange", [(2335, 35, 0), (5065, 35, 0)], AHEAD, 25),
    "edges of the doubler zones": ("end of cover plate", "lower-sheet", BESIDE_DOUBLER, AHEAD, 25),
    "feet of the pillars": (
        "cruciform joint, toe, up to 50 mm", "door-pillar",
        [(x, 35, 175) for x in (2930, 3050, 4350, 4470)], UP, 25,
    ),
    "upper ends of the pillars' walls": (
        "attachment on the plate's edge, no radius", "upper-sheet", [(3040, 0, 1880), (4360, 0, 1880)], UP, 25,
    ),
}  # fmt: skip
OF_FORM = {"baseline": list(DETAILS)[:3], "cut-out": list(DETAILS)[:4], "reinforced": list(DETAILS)}


def events(model):
    """The counted year."""
    return fatigue.read_events(COUNTS, model)


def life(variant, result, *, before=None, least=THINNEST, **changes):
    """The `Life` of one form of the wall; behind an old one, its welds go on with what they used in 40 years."""
    spots, curves = [], []
    for name in OF_FORM[variant]:
        kind, plate, places, direction, distance = DETAILS[name]
        spots.append(nominal_spots(result, name, places, direction, cells=plate, distance=distance))
        curves.append(fatigue.detail(kind) if least is None else fatigue.detail(kind, least_thickness=least))
    settings = {"years": YEARS_WANTED, "gamma_mf": GAMMA_MF, "yield_strength": STEEL.yield_strength}
    settings |= {"before": before, "years_used": YEARS_USED if before else 0.0}
    return fatigue.assess_life(spots, curves, events(result.model), **(settings | changes))


def needed_category(result, years=YEARS_WANTED):
    """The least detail category with which a weld in any direction would last the years, shape (n_cells,), MPa."""
    model, counted = result.model, events(result.model)
    left, needed = np.arange(model.mesh.n_cells), np.full(model.mesh.n_cells, 200.0)  # 200: none of them
    for value in reversed(fatigue.CATEGORIES):
        spots = nominal_spots(result, "any weld", model.mesh.centres[left], model.per_cell.frames[left, 0], cells=left)
        curve = fatigue.category(value, principal_within=90, least_thickness=0)
        found = fatigue.assess_life(spots, curve, counted, years=years, gamma_mf=GAMMA_MF)
        lasts = found.damage.reshape(2, -1).max(axis=0) <= 1
        needed[left[lasts]], left = value, left[~lasts]
        if not len(left):
            break
    return needed

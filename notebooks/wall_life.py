"""How long the demo's wall lasts: welds and cut edges, their categories, a counted year. Every number is invented."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
from side_wall import STEEL, panel

import femkit as fk
from femkit.assess import fatigue
from femkit.results import nominal_spots

COUNTS = Path(__file__).parent / "data" / "load_counts.csv"
YEARS_USED, YEARS_WANTED = 40.0, 25.0  # the wall has run, and is to run on
GAMMA_MF = fatigue.GAMMA_MF["damage tolerant", "high consequence"]  # cracks are looked for at every overhaul
THINNEST = 2.5  # mm; the works takes the categories for its thin sheets too, which is its own judgement

UP, AHEAD = (0, 0, 1), (1, 0, 0)
CUT_EDGE, COVER_PLATE = "machine gas cut edge", "end of cover plate"


def around_corners(x, z, out):
    """The middles of the four arcs of openings around (x, z), and the directions of the edge there."""
    signs = [(right, up) for right in (-1, 1) for up in (-1, 1)]
    places = [(each + right * out[0], 0, z + up * out[1]) for each in x for right, up in signs]
    return places, [(1, 0, -right * up) for _ in x for right, up in signs]


# windows of 1000 x 720 mm with arcs of 90 mm, the doorway's head with arcs of 80 mm
CORNERS = around_corners((1100, 2400, 5000, 6300), 1440, np.array([410, 270]) + 90 * np.sqrt(0.5))
HEAD = tuple(each[1:4:2] for each in around_corners([3700], 1870, np.array([570, 0]) + 80 * np.sqrt(0.5)))
POSTS = [(x, 0, 172) for x in (350, 1750, 5650, 6850)]
PILLARS = [(x, 35, 175) for x in (2930, 3050, 4350, 4470)]
BESIDE_DOUBLERS = [(x, 0, z) for x in (2720, 4680) for z in range(200, 1000, 50)]

# name: category, plate, places, direction of the stress that counts, mm that it is averaged over (cut edges: none)
DETAILS = {
    "flange butt weld, mid span": ("butt weld, larger reinforcement", "sole-bar-flange", (3600, 35, 0), AHEAD, 25),
    "feet of the posts": ("longitudinal attachment, longer than 100 mm", "lower-sheet", POSTS, UP, 25),
    "windows' corners, cut edge": (CUT_EDGE, "upper-sheet", *CORNERS, None),
    "doorway's head, cut edge": (CUT_EDGE, "upper-sheet", *HEAD, None),
    "ends of the sole bar's doubler": (COVER_PLATE, "sole-bar-flange", [(2335, 35, 0), (5065, 35, 0)], AHEAD, 25),
    "edges of the doubler zones": (COVER_PLATE, "lower-sheet", BESIDE_DOUBLERS, AHEAD, 25),
    "feet of the pillars": ("cruciform joint, toe, up to 50 mm", "door-pillar", PILLARS, UP, 25),
    "upper ends of the pillars' walls": (
        "attachment on the plate's edge, no radius", "upper-sheet", [(3040, 0, 1880), (4360, 0, 1880)], UP, 25,
    ),
}  # fmt: skip
OF_FORM = {"baseline": list(DETAILS)[:3], "cut-out": list(DETAILS)[:4], "reinforced": list(DETAILS)}


def events(model):
    """The counted year."""
    return fatigue.read_events(COUNTS, model)


def life(variant, result, *, names=None, before=None, least=THINNEST, better=None, **changes):
    """The `Life` of one form of the wall; behind an old one, its welds go on with what they used in 40 years.

    `names` are the details that are looked at, all of them without it; `least` is the thickness that the categories are
    taken for, None for the kit's own; `better` names other categories.
    """
    sets, spots, curves = result.model.mesh.cell_sets, [], []
    for name in names or OF_FORM[variant]:
        kind, plate, places, direction, distance = DETAILS[name]
        if CORNER_PLATE in sets and places in (HEAD[0], DETAILS["upper ends of the pillars' walls"][2]):
            plate = CORNER_PLATE
        spots.append(nominal_spots(result, name, places, direction, cells=plate, distance=distance))
        own = {} if least is None else {"least_thickness": least}
        curves.append(fatigue.detail((better or {}).get(name, kind), **own))
    settings = {"years": YEARS_WANTED, "gamma_mf": GAMMA_MF, "yield_strength": STEEL.yield_strength}
    settings |= {"before": before, "years_used": YEARS_USED if before else 0.0}
    return fatigue.assess_life(spots, curves, events(result.model), **(settings | changes))


def side_by_side(lives):
    """Damage, years left and verdict of several forms of the wall, as a table."""
    columns = [f"damage after {YEARS_WANTED:g} years", "years left", "verdict"]
    return pd.concat({form: found.table()[columns] for form, found in lives.items()}, axis=1)


def over_the_years(lives, old, name):
    """Damage of a detail's worst place from the wall's first year to the last wanted, for `fk.show.chart`.

    The years, 0 when the doorway is cut, and the damage by form of the wall.
    """
    years, curves = np.arange(-YEARS_USED, YEARS_WANTED + 1), {}
    for form, found in lives.items():
        worst = found.damage[found.of(name)].argmax()
        before, after = (each.per_year[each.of(name)][worst].sum() for each in (old, found))
        curves[form] = np.where(years < 0, (years + YEARS_USED) * before, YEARS_USED * before + years * after)
    return years, curves


def needed_category(result, years=YEARS_WANTED):
    """The least category with which a weld in any direction would last the years, shape (n_cells,), MPa; else 200."""
    model, counted = result.model, events(result.model)
    left, needed = np.arange(model.mesh.n_cells), np.full(model.mesh.n_cells, 200.0)
    for value in reversed(fatigue.CATEGORIES):
        spots = nominal_spots(result, "any weld", model.mesh.centres[left], model.per_cell.frames[left, 0], cells=left)
        curve = fatigue.category(value, principal_within=90, least_thickness=0)
        found = fatigue.assess_life(spots, curve, counted, years=years, gamma_mf=GAMMA_MF)
        lasts = found.damage.reshape(2, -1).max(axis=0) <= 1
        needed[left[lasts]], left = value, left[~lasts]
        if not len(left):
            break
    return needed


# -- the pillar's foot at the doorway's sill, looked at closely -------------------------------------------------------

SILL = fk.inside(x=(2600, 3600), z=(-90, 800))
FOOT = fk.inside(x=(3049.9, 3050.1), y=(-0.1, 70.1), z=(159.9, 160.1))  # where the inner wall stands on the sole bar


def sill_of(result):
    """The rear sill corner of the solved reinforced wall by itself, on cells of a few mm, 1 mm high at the corner."""
    made = panel("reinforced", fine=25, coarse=90, across=16)
    openings = [replace(one, fine=1.0 if one.name == "door" else one.fine) for one in made.openings]
    mesh = replace(made, openings=openings).mesh
    detail = mesh.without(np.setdiff1d(np.arange(mesh.n_cells), SILL.choose(mesh.centres)))
    return fk.solve_static(fk.local_model(result, detail))


def foot_of(result, pitch):
    """Life of the pillar's foot by its hot spots along the weld, one every `pitch` mm, on the side that is worse."""
    spots = fatigue.hot_spots(result, FOOT, into="door-pillar", pitch=pitch, name="foot of the pillar's inner wall")
    curve = fatigue.detail("hot spot: end of bracket or stiffener")
    return fatigue.assess_life(spots, curve, events(result.model), years=YEARS_WANTED, gamma_mf=GAMMA_MF)


# -- what would help --------------------------------------------------------------------------------------------------

WINDOWS, ENDS = "windows' corners, cut edge", "upper ends of the pillars' walls"
BETTER = {
    WINDOWS: "gas cut or sheared edge, dressed",
    ENDS: "attachment on the plate's edge, r/l from 1/3 or r above 150 mm, ground",
}

CORNER_PLATE = "corner-plate"
BESIDE_HEAD = [fk.inside(x=x, y=(-1, 1), z=(1750, 2150)) for x in ((2930, 3300), (4100, 4470))]


def with_corner_plates(model, thickness):
    """The model with thicker plates let into the upper sheet at the doorway's head."""
    sheet = model.mesh.cell_sets["upper-sheet"]
    cells = np.intersect1d(np.concatenate([box.choose(model.mesh.centres) for box in BESIDE_HEAD]), sheet)
    mesh = model.mesh.with_cells(CORNER_PLATE, cells, out_of="upper-sheet")
    return replace(model, mesh=mesh, plates=model.plates | {CORNER_PLATE: fk.Plate(thickness, STEEL)})


def answer(lives, better):
    """Does the wall last? In words, with figures: of its three forms, and of the reinforced one made better."""
    drawn = lives["reinforced"]
    years = {form: found.years_left[found.of(WINDOWS)].min() for form, found in lives.items()}
    now = {name: drawn.damage[drawn.of(name)].max() for name in (WINDOWS, ENDS)}
    then = {name: better.damage[better.of(name)].max() for name in (WINDOWS, ENDS)}
    return (
        f"**Does the wall last another {YEARS_WANTED:g} years?** Not as drawn. The corners of the old windows, which "
        f"would have lasted {years['baseline']:.0f} years more had nobody cut a doorway, have "
        f"{years['reinforced']:.0f} left: by the end they would have used {now[WINDOWS]:.2f} of their life, the first "
        f"{YEARS_USED:g} years included. The upper ends of the pillars' walls would have used {now[ENDS]:.0f} times "
        "theirs.\n\n"
        f"With dressed edges, ground ends and plates of 5 mm it is {then[WINDOWS]:.2f} and {then[ENDS]:.2f}, and the "
        f"worst place of all uses **{better.governing().value:.2f}** of what is allowed."
    )

"""The demo that the notebooks share: the side wall of an invented mountain-railway coach. Every number is invented.

x runs forward, y inward, z up; the sheet lies at y = 0. Three forms of it: as built, with a doorway for bicycles cut
in, and with the doorway reinforced.
"""

import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

import femkit as fk
from femkit.units import kN

# no more digits than the numbers are worth
pd.options.display.float_format = lambda v: f"{v:,.0f}" if abs(v) >= 1e4 else f"{v + 0.0:.4g}"
# what the kit warns of, without the path of the kernel's temporary file, which differs from run to run
warnings.formatwarning = lambda message, *_args, **_kwargs: f"{message}\n"

VARIANTS = ("baseline", "cut-out", "reinforced")
MESHES = Path(__file__).parent.parent / "meshes"
RESULTS = Path(__file__).parent / "results"
RESULTS.mkdir(exist_ok=True)

STEEL = fk.Material("S235", E=210_000, nu=0.3, density=7.85e-9, yield_strength=235, ultimate_strength=360)

PLATES = {
    "lower-sheet": fk.Plate(3.0, STEEL),
    "upper-sheet": fk.Plate(2.5, STEEL),
    "posts": fk.Plate(3.0, STEEL),
    "waist-rail": fk.Plate(3.0, STEEL),
    "cant-rail": fk.Plate(4.0, STEEL),
    "sole-bar-web": fk.Plate(8.0, STEEL),
    "sole-bar-flange": fk.Plate(8.0, STEEL),
    "door-pillar": fk.Plate(5.0, STEEL),
    "door-header": fk.Plate(5.0, STEEL),
    "sole-bar-doubler": fk.Plate(8.0, STEEL),
    # the sheet's 3 mm and a doubler of 3 mm welded all round on the inside: one plate, middle 1.5 mm further in
    "doubler-zone": fk.Plate(6.0, STEEL, offset=1.5),
}

# what floor and roof do in the coach: hold the wall sideways, and the roof against turning about x
SIDEWAYS = (
    fk.Support("floor-line", uy=0),
    fk.Support("roof-line", uy=0, rx=0),
    fk.Support("bolster-rear", uy=0),
    fk.Support("bolster-front", uy=0),
)
# the mean of a bolster is held, so that the wall may rock on its bearing
ON_BOLSTERS = (
    fk.Support("bolster-rear", ux=0, uz=0, mean=True),
    fk.Support("bolster-front", uz=0, mean=True),
    *SIDEWAYS,
)
# jacks stand under the last 60 mm of the sole bar at both ends
ON_JACKS = (
    fk.Support(fk.inside(x=(0, 60), z=(0, 0)), uz=0),
    fk.Support(fk.inside(x=(7140, 7200), z=(0, 0)), uz=0),
    fk.Support(fk.near(0, 0, 0), ux=0),
    *SIDEWAYS,
)

TARE = [fk.Gravity(), fk.LineLoad("roof-line", fz=-0.6), fk.LineLoad("floor-line", fz=-1.5)]
RUNNING_GEAR = [fk.LineLoad(bolster, fz=-9 * kN, total=True) for bolster in ("bolster-rear", "bolster-front")]
PUSH = [
    fk.LineLoad("sole-bar-end-rear", fx=100 * kN, total=True),
    fk.LineLoad("sole-bar-end-front", fx=-100 * kN, total=True),
]
TWIST = [
    fk.LineLoad("roof-line", fx=8.0),
    fk.LineLoad("floor-line", fx=-8.0),
    fk.LineLoad("end-front", fz=16_320, total=True),
    fk.LineLoad("end-rear", fz=-16_320, total=True),
]
# a bicycle hoist on the rear pillar's inner face, its load 450 mm outside the sheet
HOIST = [fk.SpreadLoad("hoist-pad", fz=-1200, at=(2990, -450, 1500))]

YIELD_FACTOR = 1.15  # the demo's limit: yield strength / 1.15 ...
JUDGED_OVER = 25.0  # ... on stress averaged over 25 mm
STABILITY_FACTOR = 1.5  # what a buckling factor has to reach
# meshes of the wall as numbers: one that is solved within a second, and one to see how far off that is
COARSE = {"fine": 50, "coarse": 150, "growth": 2, "arc_cells": 4}
FINE = {"fine": 12, "coarse": 45, "growth": 1.25, "arc_cells": 8}
DIAGONAL_LIMIT = 2.0  # mm, how much a diagonal of the doorway may change
STOCK = (2.5, 3, 4, 5, 6, 8, 10, 12, 16)  # mm, sheets and plates that the works keeps


def wall(variant):
    """The mesh of one form of the wall, mm."""
    return fk.read_mesh(MESHES / f"side_wall_{variant}.msh")


def panel(variant, *, radius=80.0, post_spacing=1300.0, fine=12.0, coarse=45.0, **sizes):
    """The wall as numbers: the same three forms, whose openings, posts and plates can be changed; see `fk.Panel`.

    `post_spacing` is from the middle bay, or the doorway, to the next posts; the windows between keep clear of both.
    """
    has_door, is_reinforced = variant != "baseline", variant == "reinforced"
    rear, front = 3050 - post_spacing, 4350 + post_spacing
    posts = [350, rear, *([] if has_door else [3050, 4350]), front, 6850]
    # name: middle, width
    windows = {1100: (1100, 1000), 3700: (3700, 1000), 6300: (6300, 1000)}
    windows |= {2400: ((rear + 3050) / 2, post_spacing - 300), 5000: ((4350 + front) / 2, post_spacing - 300)}
    openings = [
        fk.Opening(f"window-{name}", x=x, z=1440, width=width, height=720, radius=90)
        for name, (x, width) in sorted(windows.items())
        if not (has_door and name == 3700)
    ]
    stiffeners = [
        fk.Stiffener("sole-bar-flange", z=[0, 160], depth=70),
        fk.Stiffener("cant-rail", z=2200, profile="angle", depth=70, width=-50),
        fk.Stiffener("waist-rail", z=1000, profile="angle", depth=50, width=-40, at_openings="stop"),
        fk.Stiffener("posts", x=posts, span=(160, 2200), profile="box", depth=35, width=60),
    ]
    zones = [
        fk.Zone("sole-bar-web", z=(0, 160)),
        fk.Zone("lower-sheet", z=(160, 1000)),
        fk.Zone("upper-sheet", z=(1000, 2200)),
    ]
    marks = [
        fk.Mark("mid-span", x=LENGTH / 2, z=0),
        fk.Mark("floor-line", x=(0, LENGTH), y=70, z=160),
        fk.Mark("roof-line", x=(0, LENGTH), y=70, z=2200),
        *(fk.Mark("bolster-rear", x=(1000, 1200), y=y, z=0) for y in (0, 70)),
        *(fk.Mark("bolster-front", x=(6000, 6200), y=y, z=0) for y in (0, 70)),
        *(fk.Mark(f"end-{name}", x=x, y=(0, 70), z=(0, 2200)) for name, x in (("rear", 0), ("front", LENGTH))),
        *(fk.Mark(f"sole-bar-end-{name}", x=x, y=(0, 70), z=(0, 160)) for name, x in (("rear", 0), ("front", LENGTH))),
    ]
    if has_door:
        openings.append(fk.Opening("door", x=3700, z=1055, width=1300, height=1790, radius=(0, 0, radius, radius)))
        marks += [
            fk.Mark(name, x=x, z=1950 - radius if "head" in name else 160) for name, (x, _, _) in DOOR_CORNERS.items()
        ]
    if is_reinforced:
        for outer, inner in ((2930, 3050), (4470, 4350)):
            face = (("face", (0, 70), (inner - outer, 70)),)
            stiffeners += [
                fk.Stiffener("door-pillar", x=outer, span=(160, 2200), depth=70),
                fk.Stiffener("door-pillar", x=inner, span=(160, 1950 - radius), depth=70),
                fk.Stiffener("door-pillar", x=outer, span=(160, 2150), legs=face),
            ]
        below = (("web", (0, 0), (-90, 0)), ("flange", (-90, 0), (-90, 70)))
        stiffeners += [
            fk.Stiffener("door-header", z=2010, span=(2930, 4470), depth=70),
            fk.Stiffener("sole-bar-doubler", z=0, span=(2350, 5050), legs=below),
        ]
        zones += [fk.Zone("doubler-zone", x=x, z=(160, 1000)) for x in ((2730, 2930), (4470, 4670))]
        marks.append(fk.Mark("hoist-pad", x=(2930, 3050), y=70, z=(1425, 1575)))
    parts = {"openings": openings, "stiffeners": stiffeners, "zones": zones, "marks": marks}
    return fk.Panel(LENGTH, 2200, **parts, fine=fine, coarse=coarse, **sizes)


def model(variant, mesh=None):
    """The model of one form of the wall: its plates, supports, load cases and combinations."""
    mesh = mesh or wall(variant)
    cases = [
        fk.LoadCase("tare", TARE),
        fk.LoadCase("payload", [fk.LineLoad("floor-line", fz=-4.25)]),
        fk.LoadCase("push", PUSH),
        fk.LoadCase("twist", TWIST),
        fk.LoadCase("tare on jacks", TARE, supports=ON_JACKS),
        fk.LoadCase("running gear on jacks", RUNNING_GEAR, supports=ON_JACKS),
    ]
    combinations = [
        fk.Combination("full load", {"tare": 1.3, "payload": 1.3}),
        fk.Combination("end push", {"tare": 1, "push": 1}),
        fk.Combination("twisted track", {"tare": 1, "twist": 1}),
        fk.Combination("jacking", {"tare on jacks": 1.1, "running gear on jacks": 1.1}),
    ]
    in_service = {"tare": 1, "payload": 1}
    if "hoist-pad" in mesh.cell_sets:
        cases.append(fk.LoadCase("hoist", HOIST))
        in_service["hoist"] = 1
    # without a hoist this is what stands beside it: the same service, nothing hung on
    combinations.append(fk.Combination("hoist in use", in_service))
    return fk.Model(
        mesh,
        plates={name: plate for name, plate in PLATES.items() if name in mesh.cell_sets},
        supports=ON_BOLSTERS,
        load_cases=cases,
        combinations=combinations,
    )


# -- how it is rebuilt -----------------------------------------------------------------------------------------------

# the wall stands level on four trestles, 120 mm wide each, two of them beside the new sole bar doubler
ON_TRESTLES = (
    *(fk.Support(fk.inside(x=(x - 60, x + 60), z=(0, 0)), uz=0) for x in (300, 2200, 5000, 6900)),
    fk.Support(fk.near(0, 0, 0), ux=0),
    *SIDEWAYS,
)
STAGES = (
    fk.Stage("on trestles", supports=ON_TRESTLES, add=TARE),
    fk.Stage("doorway cut", remove=["door-piece-lower", "door-piece-upper", "old-posts", "old-rail"]),
    fk.Stage(
        "frame welded in",
        insert=["door-pillar", "door-header", "sole-bar-doubler", "doubler-rear", "doubler-front"],
    ),
    fk.Stage("trestles lowered", supports=ON_BOLSTERS),
    fk.Stage("payload", add=fk.LineLoad("floor-line", fz=-4.25)),
)


def panel_of_stages(**sizes):
    """The reinforced wall as numbers, with the sheet, posts and rail that the doorway takes there as well.

    The doorway's corners are square here, since it is cut along cells, and the doublers sheets of their own.
    """
    final = panel("reinforced", radius=0.0, **sizes)
    window = fk.Opening("window-3700", x=3700, z=1440, width=1000, height=720, radius=90)
    rail = {"z": 1000, "profile": "angle", "depth": 50, "width": -40, "at_openings": "stop"}
    door, beside = (3050, 4350), {"doubler-rear": (2730, 2930), "doubler-front": (4470, 4670)}
    return replace(
        final,
        openings=[*(opening for opening in final.openings if opening.name != "door"), window],
        stiffeners=[
            *(stiffener for stiffener in final.stiffeners if stiffener.name != "waist-rail"),
            *(fk.Stiffener("waist-rail", span=span, **rail) for span in ((0, door[0]), (door[1], LENGTH))),
            fk.Stiffener("old-rail", span=door, **rail),
            fk.Stiffener("old-posts", x=door, span=(160, 2200), profile="box", depth=35, width=60),
        ],
        zones=[
            *(zone for zone in final.zones if zone.name != "doubler-zone"),
            fk.Zone("door-piece-lower", x=door, z=(160, 1000)),
            fk.Zone("door-piece-upper", x=door, z=(1000, 1950)),
        ],
        doublers=[fk.Doubler(name, x=x, z=(160, 1000), gap=3.0) for name, x in beside.items()],
    )


def model_of_stages(mesh=None):
    """Everything that is ever there while the wall is rebuilt, for `fk.solve_stages` with `STAGES`."""
    mesh = mesh or panel_of_stages().mesh
    doublers = ("doubler-rear", "doubler-front")
    plates = PLATES | dict.fromkeys(("door-piece-lower", *doublers), PLATES["lower-sheet"])
    plates |= {
        "door-piece-upper": PLATES["upper-sheet"],
        "old-posts": PLATES["posts"],
        "old-rail": PLATES["waist-rail"],
    }
    welds = [fk.JoinedLine(f"{name}-weld", to="lower-sheet", within=5.0) for name in doublers]
    return fk.Model(mesh, {name: plate for name, plate in plates.items() if name in mesh.cell_sets}, links=welds)


def reinforced(*, pillar=5, doubler=8, sheet=3, radius=80, post_spacing=1300, **sizes):
    """The model of the reinforced wall for what-ifs: thickness of the door's pillars, of the sole bar's doubler and of
    the lower sheet, radius of the doorway's corners, spacing of the posts; all mm. On a coarse mesh, unless said.
    """
    made = model("reinforced", panel("reinforced", radius=radius, post_spacing=post_spacing, **(COARSE | sizes)).mesh)
    thickness = {"door-pillar": pillar, "sole-bar-doubler": doubler, "lower-sheet": sheet}
    plates = {name: replace(made.plates[name], thickness=t) for name, t in thickness.items()}
    return replace(made, plates=made.plates | plates)


# -- what is compared ------------------------------------------------------------------------------------------------

GROUPS = ("stiffness", "strength", "stability")
REAR_BEARING, FRONT_BEARING, LENGTH = 1100.0, 6100.0, 7200.0  # mm
SOLE_BAR, ROOF = fk.near(3600, 0, 0), fk.near(3600, 70, 2200)
DOOR_CORNERS = {
    "door-sill-rear": (3050, 0, 160),
    "door-sill-front": (4350, 0, 160),
    "door-head-rear": (3050, 0, 1870),
    "door-head-front": (4350, 0, 1870),
}
SPANS = {
    "rising diagonal": ("door-sill-rear", "door-head-front"),
    "falling diagonal": ("door-head-rear", "door-sill-front"),
    "clear width at the head": ("door-head-rear", "door-head-front"),
    "clear height at the front": ("door-sill-front", "door-head-front"),
}


def beam_by_hand(case, places):
    """Shear and sagging moment of a beam on the two bearings, the case's vertical load even along it, as a table."""
    x = np.asarray(places, dtype=float)
    load = -case.load[:, 2].sum() / LENGTH  # N/mm
    bearing = load * LENGTH / 2
    passed = np.clip(x - REAR_BEARING, 0, None), np.clip(x - FRONT_BEARING, 0, None)
    shear = load * x - bearing * ((x > REAR_BEARING) * 1.0 + (x > FRONT_BEARING))
    moment = bearing * (passed[0] + passed[1]) - load * x**2 / 2
    return pd.DataFrame({"shear (kN)": shear / 1e3, "moment (kN m)": moment / 1e6}, index=pd.Index(x, name="x (mm)"))


def sag(case):
    """Mid-span deflection of the sole bar against the wall at its two bearings, mm, downward positive."""
    bearings = [case.displacement_at(fk.near(x, 0, 0))[2] for x in (REAR_BEARING, FRONT_BEARING)]
    return sum(bearings) / 2 - case.displacement_at(SOLE_BAR)[2]


def deflection_by_hand(case):
    """Mid-span deflection of that beam, mm: with the whole section at mid span, and with its lower part alone.

    5 q L⁴ / 384 E I between the bearings, less q a² L² / 16 E I for the two overhangs (beam theory).
    """
    load, span, overhang = -case.load[:, 2].sum() / LENGTH, FRONT_BEARING - REAR_BEARING, REAR_BEARING
    below = case.model.mesh.centres[:, 2] < 1000
    found = {}
    for name, cells in {"whole section": None, "below the windows": below}.items():
        section = fk.section_properties(case.model, x=3600, cells=cells)
        stiffness = section.youngs_modulus * section.second_moments[2, 2]
        found[name] = load * (5 * span**4 / 384 - overhang**2 * span**2 / 16) / stiffness
    return found


def refined(result, finer):
    """What changes when every cell is cut in four, as a table: sag, and the largest judged stress of every plate."""
    full, fine = result["full load"], finer["full load"]
    rows = [("sag of the sole bar (mm)", sag(full), sag(fine))]
    for name, cells in result.model.plate_cells.items():
        values = (
            case.judged_stress(JUDGED_OVER)[chosen].max()
            for case, chosen in ((full, cells), (fine, finer.model.plate_cells[name]))
        )
        rows.append((f"judged stress of {name} (MPa)", *values))
    table = pd.DataFrame(rows, columns=["full load", "this mesh", "every cell cut in four"]).set_index("full load")
    return table.assign(change=table.iloc[:, 1] / table.iloc[:, 0] - 1)


def corner(mesh, name):
    """A corner of the doorway: its point set, or the nearest point of the sheet where there is no doorway."""
    if name in mesh.point_sets:
        return name

    sheet = np.flatnonzero(mesh.points[:, 1] == 0)
    return int(sheet[fk.near(*DOOR_CORNERS[name]).choose(mesh.points[sheet])[0]])


def corner_distances(mesh):
    """How far the nearest points of a sheet lie from the doorway's corners, mm, as a table."""
    at = {name: mesh.points[mesh.point_sets.get(name, corner(mesh, name))].reshape(3) for name in DOOR_CORNERS}
    rows = [(name, *at[name], np.linalg.norm(at[name] - DOOR_CORNERS[name])) for name in DOOR_CORNERS]
    return pd.DataFrame(rows, columns=["corner", "x (mm)", "y (mm)", "z (mm)", "distance (mm)"]).set_index("corner")


def diagonals(result):
    """Change of the doorway's spans under every combination, mm, as a table; longer is positive."""
    mesh = result.model.mesh
    rows = {
        combination.name: {
            span: result[combination.name].distance_change(*(corner(mesh, end) for end in ends))
            for span, ends in SPANS.items()
        }
        for combination in result.model.combinations
    }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("combination").rename(columns=lambda s: f"{s} (mm)")


def asked_of(variant, baseline):
    """What a form of the wall is asked for: checks within the demo's limit, or no worse than the baseline's result."""
    twist, before = "twisted track", diagonals(baseline).abs()
    checks = [
        fk.Check(
            fk.Distance(*SPANS[span], twist),
            limit=DIAGONAL_LIMIT,
            no_worse_than=before.loc[twist, f"{span} (mm)"],
            name=f"change of the {span}, {twist}",
        )
        for span in list(SPANS)[:2]
    ]
    sag_of_bar = fk.Displacement(SOLE_BAR, "uz", "full load")
    checks.append(fk.Check(sag_of_bar, no_worse_than=baseline, name="mid-span sag of the sole bar, full load"))
    checks += fk.strength_checks(model(variant), original=baseline, factor=YIELD_FACTOR, distance=JUDGED_OVER)
    checks.append(fk.Check(fk.BucklingFactor(twist), limit=STABILITY_FACTOR, no_worse_than=baseline))  # it governs
    return [*checks, fk.Check(fk.Frequency(), no_worse_than=baseline)]


FRAME = {
    "door-pillar": (3, 12),
    "door-header": (3, 12),
    "sole-bar-doubler": (3, 16),
    "doubler-zone": fk.FreePlate(0, 12, on=3.0),  # the sheet stays
}
WALL_TOO = FRAME | {
    "sole-bar-web": fk.FreePlate(0, 12, on=8.0),
    "sole-bar-flange": fk.FreePlate(0, 12, on=8.0),
    "upper-sheet": (2.5, 4),
}


def sized(baseline, free=FRAME):
    """The doorway's frame as thick as it must be, and no thicker, for the wall to be as good as the baseline."""
    return fk.size_plates(model("reinforced"), free, asked_of("reinforced", baseline), stock=STOCK)


def racked_stress(result, plate):
    """Largest judged stress of a plate on twisted track, MPa, over 50 mm: the sliders' mesh is too coarse for 25 mm."""
    return result["twisted track"].judged_stress(50)[result.model.plate_cells[plate]].max()


# what the sliders of notebook 05 are judged by: what their coarse mesh gives within some per cent
FIGURES = {
    "mass (kg)": lambda result: 1e3 * result.model.mass,
    "sag of the sole bar, full load (mm)": lambda result: sag(result["full load"]),
    "largest change of a doorway's diagonal (mm)": lambda result: diagonals(result).iloc[:, :2].abs().to_numpy().max(),
    "stress of the header, twisted track (MPa)": lambda result: racked_stress(result, "door-header"),
    "stress of the doubler, twisted track (MPa)": lambda result: racked_stress(result, "sole-bar-doubler"),
}


def racked(result):
    """The picture beside the sliders, every one on the same bar."""
    title = "Where does the wall work hardest on twisted track?"
    return result["twisted track"].plot(title=title, limits=(0, 160), width=1100)


# -- the doorway's upper corner, looked at closely ---------------------------------------------------------------------

CORNER = fk.inside(x=(2700, 3560), z=(1500, 2200))  # what is cut out of the wall around the rear one
CORNER_ARC = "door-upper-left"


def doubled_corners(radius=80.0, doubler=3.0, *, fine=30.0, coarse=120.0, door_fine=None):
    """The model of the wall with the doorway cut and a doubler on the inside of its upper corners, welded all round."""
    plain = panel("cut-out", radius=radius, fine=fine, coarse=coarse)
    zones = [fk.Zone("corner-doubler", x=x, z=(1640, 2060)) for x in ((2940, 3360), (4040, 4460))]
    openings = [replace(one, fine=door_fine or fine) if one.name == "door" else one for one in plain.openings]
    made = model("cut-out", replace(plain, zones=[*plain.zones, *zones], openings=openings).mesh)
    sheet = PLATES["upper-sheet"].thickness
    return replace(made, plates=made.plates | {"corner-doubler": fk.Plate(sheet + doubler, STEEL, offset=doubler / 2)})


def corner_of(result, *, cut=CORNER, door_fine=4.0):
    """The corner of a solved wall with doubled corners by itself, on cells of `door_fine` mm, on twisted track."""
    whole = result.model
    head = whole.mesh.points[whole.mesh.point_sets["door-head-rear"]][0, 2]
    doubler = 2 * whole.plates["corner-doubler"].offset
    mesh = doubled_corners(1950 - head, doubler, door_fine=door_fine).mesh
    detail = mesh.without(np.setdiff1d(np.arange(mesh.n_cells), cut.choose(mesh.centres)))
    return fk.solve_static(fk.local_model(result, detail, load_cases=["tare", "twist"]))


def peak_on_arc(result):
    """The largest von Mises stress in the cells along the corner's arc on twisted track, top, middle or bottom, MPa."""
    mesh, case = result.model.mesh, result["twisted track"]
    along = np.isin(mesh.corners, np.unique(mesh.edge_sets[CORNER_ARC])).any(axis=1)
    return max(np.nanmax(case.von_mises(side, at="corners")[along]) for side in ("top", "middle", "bottom"))


def solve_corner(made):
    """The corner of a wall with doubled corners, for a sweep: the whole coarsely, then the corner finely."""
    return corner_of(fk.solve_static(made))


def buckled(results):
    """Lowest buckling factor of every form of the wall under every combination, as a dict of dicts of results."""
    return {
        variant: {c.name: fk.solve_buckling(result, c.name, 1) for c in result.model.combinations}
        for variant, result in results.items()
    }


def shaken(results):
    """The six lowest natural modes of every form of the wall, by variant."""
    return {variant: fk.solve_modes(result.model, 6) for variant, result in results.items()}


def comparison(results, buckles, modes):
    """All three forms of the wall, line by line."""
    names = [c.name for c in results["reinforced"].model.combinations]
    lines = [fk.Line("mass", {v: r.model.mass * 1e3 for v, r in results.items()}, unit="kg", assessed=False)]
    for place, where in (("sole bar", SOLE_BAR), ("roof line", ROOF)):
        for name in ("full load", "jacking"):
            values = {v: abs(r[name].displacement_at(where)[2]) for v, r in results.items()}
            lines.append(fk.Line(f"mid-span deflection of the {place}, {name}", values, unit="mm", group="stiffness"))
    values = {v: sag(r["full load"]) for v, r in results.items()}
    lines.append(fk.Line("sag of the sole bar between the bearings, full load", values, unit="mm", group="stiffness"))
    tables = {v: diagonals(r).abs() for v, r in results.items()}
    for span in list(SPANS)[:2]:
        for name in names:
            values = {v: t.loc[name, f"{span} (mm)"] for v, t in tables.items() if name in t.index}
            quantity = f"change of the {span}, {name}"
            lines.append(fk.Line(quantity, values, unit="mm", limit=DIAGONAL_LIMIT, group="stiffness"))
    for bearing in (0, 1):
        values = {v: r["full load"].reactions()["Fz (N)"].iloc[bearing] / 1e3 for v, r in results.items()}
        where = ("rear", "front")[bearing]
        lines.append(fk.Line(f"reaction of the {where} bolster, full load", values, unit="kN", assessed=False))
    periods = {v: 1e3 / m.frequency[0] for v, m in modes.items()}  # longer is softer
    words = ", ".join(f"{v} {m.frequency[0]:.2f} Hz" for v, m in modes.items())
    lines.append(fk.Line("period of the lowest mode", periods, unit="ms", group="stiffness", remark=words))
    for name in names:
        values = {v: STABILITY_FACTOR / b[name].factor[0] for v, b in buckles.items()}
        places = "; ".join(f"{v} near {b[name].table().iloc[0, 2]}" for v, b in buckles.items())
        quantity = f"{STABILITY_FACTOR:g} / buckling factor, {name}"
        lines.append(fk.Line(quantity, values, unit="", limit=1.0, group="stability", remark=places))
    strength = fk.compare_strength(results, combinations=names, factor=YIELD_FACTOR, distance=JUDGED_OVER)
    return fk.Comparison([*lines, *strength], original="baseline")


def answer(compared, results, buckles):
    """Is the reinforced wall as stiff, as strong and as stable as the original? In words, with figures."""
    is_worse = {
        group: any(
            compared.verdict(line, "reinforced") == fk.assess.Verdict.WORSE
            for line in compared.lines
            if line.group == group
        )
        for group in GROUPS
    }
    said = {group: "not everywhere, see the list above" if worse else "yes" for group, worse in is_worse.items()}
    sags = {name: sag(result["full load"]) for name, result in results.items()}
    diagonal = diagonals(results["reinforced"]).iloc[:, :2].abs().to_numpy().max()
    highest = {name: fk.assess.utilisation(result["twisted track"]).max() for name, result in results.items()}
    ratio = sags["reinforced"] / sags["baseline"]
    racked = {v: b["twisted track"].factor[0] for v, b in buckles.items()}
    return (
        f"**Is the reinforced wall as stiff as the original?** {said['stiffness'].capitalize()}. Between its bearings "
        f"it sags by {sags['reinforced']:.2f} mm, {ratio:.2f} times as far as the original ({sags['cut-out']:.2f} mm "
        f"with the bare doorway); a diagonal of the doorway changes by {diagonal:.2f} mm at most, where "
        f"{DIAGONAL_LIMIT:g} mm are allowed.\n\n"
        f"**As strong?** {said['strength'].capitalize()}. On twisted track the highest utilisation is "
        f"{highest['reinforced']:.2f}, after {highest['cut-out']:.2f} with the bare doorway and "
        f"{highest['baseline']:.2f} in the original.\n\n"
        f"**As stable?** {said['stability'].capitalize()}. On twisted track, which governs, the buckling factor is "
        f"{racked['reinforced']:.2f}, after {racked['cut-out']:.2f} with the bare doorway and {racked['baseline']:.2f} "
        f"in the original, where {STABILITY_FACTOR:g} is wanted: thin sheets missed it before."
    )


def write_comparison(compared, page):
    """Keep comparison and page of old against new as tables, and the page in words; returns the file of words."""
    compared.table().to_csv(RESULTS / "comparison.csv")
    whole = page.table()
    whole.to_csv(RESULTS / "old_against_new.csv")
    table = whole[[*VARIANTS, "limit"]].copy()
    for name in VARIANTS[1:]:
        table[f"{name} is"] = [str(page.verdict(line, name)) for line in page.lines]
    sentences = [page.sentence(VARIANTS[-1], group) for group in dict.fromkeys(line.group for line in page.lines)]
    words = [
        table.to_string(na_rep="-"),
        *sentences,
        "What decides each value, and why something was not assessed, stands in old_against_new.csv; every plate under "
        "every combination in comparison.csv.",
    ]
    path = RESULTS / "comparison.txt"
    path.write_text("\n\n".join(words) + "\n", encoding="utf-8")
    return path

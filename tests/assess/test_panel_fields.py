"""Fields of sheet found between stiffeners whose places are known."""

import numpy as np
import pandas as pd
import pytest
import side_wall as demo
from sheets import STEEL, grid

import femkit as fk
from femkit.assess import panel_fields

pd.reset_option("display.float_format")  # which the demo sets for its notebooks

POSTS, RAIL = [900, 1700], 400  # a panel 3000 × 1000: bays 900, 800 and 1300 long, 400 and 600 high
RIM = [fk.Support(edge, uy=0) for edge in ("left-edge", "right-edge", "lower-edge", "upper-edge")]


def panel(*, supports=RIM, plates=None, **more):
    posts = fk.Stiffener("post", x=POSTS, depth=50)
    rail = fk.Stiffener("rail", z=RAIL, depth=40, at_openings="stop")
    mesh = fk.Panel(3000, 1000, stiffeners=[posts, rail], fine=60, coarse=90, **more).mesh
    plates = plates or {name: fk.Plate(4.0, STEEL) for name in ("sheet", "post", "rail")}
    return fk.Model(mesh, plates, supports=supports, load_cases=[fk.LoadCase("load", [])])


def of_sheet(fields):
    """The fields in the plane y = 0, by the middle of their rectangle."""
    flat = np.flatnonzero(np.abs(fields.axes[:, 2, 1]) > 0.99)
    return {tuple(fields.centre[i, [0, 2]].round(6)): i for i in flat}


def test_the_bays_of_a_panel_are_found_to_size():
    fields = panel_fields(panel())
    found = of_sheet(fields)
    spans = ((0, 900), (900, 1700), (1700, 3000)), ((0, 400), (400, 1000))
    for left, right in spans[0]:
        for below, above in spans[1]:
            i = found.pop(((left + right) / 2, (below + above) / 2))
            sides = sorted((right - left, above - below))
            assert [fields.width[i], fields.length[i]] == pytest.approx(sides, rel=1e-9)
            assert fields.fill[i] == pytest.approx(1.0) and fields.kind[i] == "internal"
            longer = 0 if right - left > above - below else 2
            assert abs(fields.axes[i, 0, longer]) == pytest.approx(1.0)
    assert not found
    table = fields.table()
    assert table["kind"].isin(["internal", "outstand", "outstand, free ends left out"]).all()
    # posts and rail stand free on one side; the rail's outer pieces are short, free at one end and not assessed
    areas = np.bincount(fields.of_cell, fields.model.mesh.areas)
    assert areas.sum() == pytest.approx(3000 * 1000 + 2 * 1000 * 50 + 3000 * 40)
    assert fields.fill * fields.length * fields.width == pytest.approx(areas)


def test_a_free_side_makes_an_outstand_and_two_are_not_assessed():
    fields = panel_fields(panel(supports=RIM[2:]))  # left and right edges free
    found = of_sheet(fields)
    end = found[(450, 200)]  # 900 × 400: the short side at its left end is free
    assert fields.kind[end] == "" and fields.why[end].startswith("nothing holds its sides: ")
    assert "short" in fields.why[end]
    assert fields.kind[found[(1300, 200)]] == "internal"
    fields = panel_fields(panel(supports=RIM[:2]))  # lower and upper edges free: long sides of the bays
    end = of_sheet(fields)[(450, 200)]
    assert fields.kind[end] == "outstand"
    free_is_below = fields.axes[end, 1, 2] > 0  # the free edge is at z = 0
    assert fields.free_side[end] == (-1 if free_is_below else 1)


def test_an_opening_and_a_short_stiffener():
    hatch = fk.Opening("hatch", x=2350, z=700, width=600, height=300, radius=60)
    fields = panel_fields(panel(openings=[hatch]))
    i = of_sheet(fields)[(2350, 700)]
    share = (600 * 300 - (4 - np.pi) * 60**2) / (1300 * 600)  # 0.227
    assert fields.kind[i] == "" and "an opening, or its form, takes 23% of it" in fields.why[i]
    assert 1 - fields.fill[i] == pytest.approx(share, rel=0.01)
    small = fk.Opening.circle("hatch", x=2350, z=700, diameter=200)  # 4 % of the field: k falls by more than 5 %
    assert panel_fields(panel(openings=[small])).why[of_sheet(fields)[(2350, 700)]].startswith("not a rectangle")


def test_a_change_of_thickness_is_no_stiffener_and_the_least_is_taken():
    plates = {name: fk.Plate(4.0, STEEL) for name in ("sheet", "post", "rail")}
    zone = fk.Zone("thick", x=(1700, 2300), z=(400, 1000))
    for thick in (6.0, 4.2):  # 700 × 600 of 4 mm buckles as if the rest were as thin
        fields = panel_fields(panel(zones=[zone], plates=plates | {"thick": fk.Plate(thick, STEEL)}))
        i = of_sheet(fields)[(2350, 700)]
        assert fields.length[i] == pytest.approx(1300) and fields.thickness[i] == 4.0
        assert fields.table().loc[i, "varies (mm)"] == f"4 to {thick:g}"
        assert fields.table().loc[i, "plate"] == "sheet"


def turned(points, angle=0.4):
    """About z, then about x."""
    c, s = np.cos(angle), np.sin(angle)
    return points @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) @ np.array([[1, 0, 0], [0, c, s], [0, -s, c]])


@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_a_field_that_lies_askew_has_its_own_axes(kind):
    mesh = grid(600, 250, 12, 5, kind=kind, wobble=0.2, to_space=turned)
    fields = panel_fields(fk.Model(mesh, fk.Plate(3.0, STEEL)))
    assert [fields.length[0], fields.width[0], fields.fill[0]] == pytest.approx([600, 250, 1])
    assert np.abs(fields.axes[0] @ turned(np.eye(3)).T) == pytest.approx(np.eye(3), abs=1e-9)
    assert fields.centre[0] == pytest.approx(turned(np.array([[300, 125, 0]]))[0])
    assert fields.why[0].startswith("nothing holds its sides: first long, second long")


def test_a_curved_sheet_is_not_assessed_and_a_beam_ends_a_field():
    roof = lambda p: np.column_stack([p[:, 0], p[:, 1], 30 * np.sin(np.pi * p[:, 1] / 400)])  # noqa: E731
    held = [fk.Support(edge, uz=0) for edge in ("left", "right", "near", "far")]
    fields = panel_fields(fk.Model(grid(800, 400, 8, 16, to_space=roof), fk.Plate(3.0, STEEL), supports=held))
    assert len(fields) == 1 and "curved: it rises" in fields.why[0]
    flat = grid(800, 400, 8, 8)
    middle = np.flatnonzero(np.isclose(flat.points[:, 0], 300))
    line = {"bar": np.column_stack([middle[:-1], middle[1:]])}
    mesh = fk.Mesh(flat.points, flat.cells, edge_sets=flat.edge_sets | line)
    beams = {"bar": fk.Beam(fk.flat_bar(60, 6), STEEL)}
    fields = panel_fields(fk.Model(mesh, fk.Plate(3.0, STEEL), supports=held, beams=beams))
    assert sorted(zip(fields.length, fields.width)) == [(400, 300), (500, 400)]
    assert fields.kind == ("internal", "internal")


def test_a_side_held_in_part_is_not_assessed():
    mesh = grid(800, 400, 8, 8)
    held = [fk.Support(edge, uz=0) for edge in ("left", "right", "near")]
    held.append(fk.Support(fk.inside(x=(0, 400), y=(400, 400)), uz=0))
    fields = panel_fields(fk.Model(mesh, fk.Plate(3.0, STEEL), supports=held))
    assert "long side is held along a part of its length only" in fields.why[0]


# Counted by hand from the demo's drawing: internal, outstand, not assessed. Baseline: 6 posts are boxes, so the sheet
# has 6 + 5 + 2 fields below and above the waist rail, and the sole bar's web is 1; of these the 5 with windows are no
# rectangles, and the 4 at the ends of the wall outstands. 6 boxes × 3 sides × 2 of the posts. Upper flange of the sole
# bar, waist rail and cant rail: each 6 within the boxes and 1 outside; 1 lower flange, 2 lips. The flanges of the sole
# bar and the lips are outstands. Cut-out: 4 posts; 10 + 9 fields of sheet (it is one above the doorway) and 1 web; 24
# of the posts; 1, 5, 4 + 2 + 2 (the waist rail stops at the doorway) and 6; not assessed: 2 + 1 with windows, and 2
# that are free at the doorway.
COUNTS = {"baseline": (74, 8, 5), "cut-out": (50, 9, 5)}


@pytest.mark.parametrize("variant", demo.VARIANTS)
def test_the_demo_s_fields_cover_it(variant):
    model = demo.model(variant)
    fields = panel_fields(model)
    if variant in COUNTS:
        assert tuple(fields.kind.count(kind) for kind in ("internal", "outstand", "")) == COUNTS[variant]
    area = fields.fill * fields.length * fields.width
    assert area.sum() == pytest.approx(model.mesh.areas.sum())
    # between the posts' webs at 380 and 1720, sole bar and waist rail at 160 and 1000 (data of the demo)
    i = of_sheet(fields)[(1050, 580)]
    assert [fields.length[i], fields.width[i], fields.thickness[i]] == pytest.approx([1340, 840, 3])

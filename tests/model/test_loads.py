"""Loads against statics by hand: what acts at the points is equal to what was meant, and stands where it should."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from model_parts import closed_box, model_of, ring
from sheets import STEEL, grid

import femkit as fk
from femkit.units import GRAVITY

SHEET = replace(
    grid(400, 200, 4, 2),
    cell_sets={"sheet": np.arange(8), "corner": [0]},
    point_sets={"tip": [14], "ends": [0, 2, 12, 14], "pair": [0, 14]},
)
BENT = fk.Mesh(  # an edge of 30 mm along x, then of 10 mm along y
    [[0, 0, 0], [30, 0, 0], [30, 10, 0], [0, 10, 0]], {"quad": [[0, 1, 2, 3]]}, edge_sets={"bent": [[0, 1], [1, 2]]}
)


def forces_of(load, mesh=SHEET, **more):
    return load.point_forces(model_of(mesh, **more))


def total(load, mesh=SHEET, **more):
    model = model_of(mesh, load_cases=[fk.LoadCase("case", [load])], **more)
    return model.load_total(model.load_cases[0])


def force_at(force, place, moment=(0, 0, 0)):
    """A force at a place as force and moment about the origin."""
    return np.concatenate([force, np.asarray(moment) + np.cross(place, force)])


def test_a_point_load_acts_on_each_of_its_points_or_in_total():
    each = forces_of(fk.PointLoad("ends", fx=4.0, my=2.0))
    assert (each[[0, 2, 12, 14]] == [4, 0, 0, 0, 2, 0]).all() and np.count_nonzero(each) == 8
    np.testing.assert_array_equal(forces_of(fk.PointLoad("ends", fx=16.0, my=8.0, total=True)), each)


def test_a_line_load_gives_each_point_what_half_of_its_edges_carry():
    # 2 N/mm on edges of 30 and 10 mm: 30 N at the first point, 30 + 10 at the second, 10 at the third
    assert list(forces_of(fk.LineLoad("bent", fz=2.0), BENT)[:, 2]) == [30, 40, 10, 0]


def test_a_line_load_per_length_and_in_total_are_the_same():
    per_length = forces_of(fk.LineLoad("bent", fx=1.5, fz=-2.0, mx=3.0), BENT)
    in_total = forces_of(fk.LineLoad("bent", fx=60.0, fz=-80.0, mx=120.0, total=True), BENT)
    np.testing.assert_allclose(in_total, per_length, rtol=1e-15)


def test_a_line_load_takes_edges_as_well_as_a_name():
    np.testing.assert_array_equal(
        forces_of(fk.LineLoad([[0, 1], [1, 2]], fz=2.0), BENT), forces_of(fk.LineLoad("bent", fz=2.0), BENT)
    )


@pytest.mark.parametrize("kind", ["quad", "triangle", "mixed"])
def test_pressure_pushes_onto_the_top_through_the_middle(kind):
    mesh = grid(400, 200, 4, 2, kind=kind, wobble=0.3)
    found = total(fk.Pressure("sheet", 0.5), mesh)
    np.testing.assert_allclose(found, force_at([0, 0, -0.5 * 400 * 200], [200, 100, 0]), rtol=1e-12, atol=1e-6)


def test_pressure_on_a_reversed_sheet_pushes_the_other_way():
    turned = replace(SHEET, cells={"quad": SHEET.cells["quad"][:, ::-1]})
    assert total(fk.Pressure("sheet", 0.5), turned)[2] == pytest.approx(0.5 * 400 * 200)


def test_pressure_on_half_a_ring_is_pressure_times_its_shadow():
    # the boiler formula: what pulls the halves of a ring apart is pressure × diameter × length
    found = total(fk.Pressure("ring", -0.2), ring(300, 100, 12, 3, end=np.pi))
    np.testing.assert_allclose(found, force_at([0, 0.2 * 2 * 300 * 100, 0], [0, 0, 50]), rtol=1e-12, atol=1e-7)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_pressure_on_a_closed_warped_box_has_no_resultant(seed):
    # the integral of n and of r × n over any closed surface is 0 (divergence theorem)
    box = closed_box(np.random.default_rng(seed).uniform(-0.3, 0.3, (26, 3)))
    found = total(fk.Pressure(np.arange(24), 1.0), box)
    np.testing.assert_allclose(found[:3], 0, atol=1e-9)  # of 240,000 N in all
    np.testing.assert_allclose(found[3:], 0, atol=1e-6)


@pytest.mark.parametrize("direction", [(0, 0, -1), (1, 0, 0), (3, -4, 12)])
def test_gravity_is_mass_times_g_through_the_centre_of_gravity(direction):
    # 400 × 200 × 3 mm of steel
    weight = 400 * 200 * 3 * 7.85e-9 * GRAVITY
    found = total(fk.Gravity(direction=direction), grid(400, 200, 4, 2, kind="mixed", wobble=0.3))
    pull = weight * np.array(direction) / np.linalg.norm(direction)
    np.testing.assert_allclose(found, force_at(pull, [200, 100, 0]), rtol=1e-12, atol=1e-9)


def test_gravity_of_an_offset_plate_pulls_at_its_middle_plane():
    weight = 400 * 200 * 3 * 7.85e-9 * GRAVITY
    for cells, side in ((SHEET.cells["quad"], 1), (SHEET.cells["quad"][:, ::-1], -1)):  # top up, top down
        model = fk.Model(
            replace(SHEET, cells={"quad": cells}),
            fk.Plate(3.0, STEEL, offset=20.0),
            load_cases=[fk.LoadCase("sideways", [fk.Gravity(direction=(1, 0, 0))])],
        )
        expected = force_at([weight, 0, 0], [200, 100, 20 * side])
        np.testing.assert_allclose(model.load_total(model.load_cases[0]), expected, rtol=1e-12, atol=1e-9)


def test_inertia_pushes_against_the_acceleration():
    forward = forces_of(fk.Acceleration(x=2 * GRAVITY))
    np.testing.assert_allclose(forward, forces_of(fk.Gravity(g=2 * GRAVITY, direction=(-1, 0, 0))), rtol=1e-14)


def test_masses_by_point_length_and_area_weigh():
    masses = [
        fk.PointMass("ends", 0.5e-3),
        fk.PointMass("pair", 1e-3, total=True),
        fk.LineMass("left", 1e-5),
        fk.AreaMass("corner", 2e-7),
    ]
    bare = replace(STEEL, density=0.0)
    model = fk.Model(SHEET, fk.Plate(3.0, bare), masses=masses, load_cases=[fk.LoadCase("g", [fk.Gravity(g=1000.0)])])
    assert model.mass == pytest.approx(4 * 0.5e-3 + 1e-3 + 200e-5 + 100 * 100 * 2e-7, rel=1e-12)
    # each at the middle of its set: the sheet's middle twice, the left edge's, the first cell's
    expected = sum(
        force_at([0, 0, -1000 * mass], place)
        for mass, place in ((3e-3, [200, 100, 0]), (2e-3, [0, 100, 0]), (2e-3, [50, 50, 0]))
    )
    np.testing.assert_allclose(model.load_total(model.load_cases[0]), expected, rtol=1e-12)


def test_added_mass_weighs_at_the_middle_plane():
    model = fk.Model(SHEET, fk.Plate(3.0, replace(STEEL, density=0.0), added_mass=1e-8))
    assert model.mass == pytest.approx(400 * 200 * 1e-8, rel=1e-12)


AREA = grid(400, 200, 4, 2, wobble=0.3, to_space=lambda p: np.column_stack([p[:, :2], 0.001 * p[:, 0] * p[:, 1]]))
SETS = {
    "area": "sheet",
    "edges": "bent",
    "collinear edges": "left",
    "one point": [7],
    "two points": [0, 14],
    "points in a row": [0, 1, 2],
    "place": fk.inside(x=(300, 500)),
}


def spread(where, force, moment, at):
    mesh = replace(AREA, edge_sets={**AREA.edge_sets, "bent": [[0, 1], [1, 2], [2, 5]]})
    load = fk.SpreadLoad(where, **dict(zip(("fx", "fy", "fz", "mx", "my", "mz"), (*force, *moment))), at=at)
    return total(load, mesh)


@pytest.mark.parametrize("where", SETS.values(), ids=SETS.keys())
@pytest.mark.parametrize("at", [(0, 0, 0), (150, -450, 80), (2000, 1000, 3000)])
def test_a_spread_load_is_statically_equal(where, at):
    force, moment = [300.0, -1200.0, 70.0], [4e5, -2e5, 1e5]
    size = np.linalg.norm(force) * max(np.linalg.norm(at), 400) + np.linalg.norm(moment)
    error = spread(where, force, moment, at) - force_at(force, at, moment)
    np.testing.assert_allclose(error[:3], 0, atol=1e-12 * size / 400)
    np.testing.assert_allclose(error[3:], 0, atol=1e-12 * size)


def test_a_moment_is_spread_as_in_an_eccentric_group_of_fasteners():
    # common practice for fasteners: M r / sum r^2; four at the corners of 400 × 200, r^2 = 200^2 + 100^2 each
    forces = forces_of(fk.SpreadLoad("ends", mz=1e6, at=(200, 100, 0)))
    spin = 1e6 / (4 * (200**2 + 100**2))
    np.testing.assert_allclose(forces[0], [100 * spin, -200 * spin, 0, 0, 0, 0], rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(forces[14], [-100 * spin, 200 * spin, 0, 0, 0, 0], rtol=1e-12, atol=1e-12)
    assert np.count_nonzero(np.abs(forces).max(axis=1) > 1e-9) == 4


def test_what_forces_cannot_make_goes_to_the_points_as_moments():
    # twisting a straight edge about itself, 1/4, 1/2, 1/4 by length; and a single point takes all as it is
    straight = forces_of(fk.SpreadLoad("left", my=800.0, at=(0, 100, 0)))
    np.testing.assert_allclose(straight[:3, 4], [200, 400, 200], rtol=1e-12)
    np.testing.assert_allclose(straight[:, :3], 0, atol=1e-12)
    single = forces_of(fk.SpreadLoad([14], fz=-10.0, mx=5.0, at=(400, 200, 30)))
    np.testing.assert_allclose(single[14], [0, 0, -10, 5, 0, 0])


def test_a_nearly_straight_set_gets_moments_and_no_huge_forces():
    # an edge of 200 mm that is 0.1 mm off straight: a couple on 0.1 mm would need forces without reason
    points = SHEET.points.copy()
    points[1, 0] = 0.1
    forces = forces_of(fk.SpreadLoad("left", my=800.0, at=(0, 100, 0)), replace(SHEET, points=points))
    assert np.abs(forces[:, :3]).max() < 1e-2
    assert forces[:, 4].sum() == pytest.approx(800, rel=1e-6)


def test_points_in_one_place_are_loaded_as_one():
    third = 1 / 3
    points = np.concatenate(
        [SHEET.points, np.full((2, 3), third) + [400, 200, 0], np.full((1, 3), third) + [400, 200, 0]]
    )
    mesh = fk.Mesh(points, {"quad": SHEET.cells["quad"]})
    forces = forces_of(fk.SpreadLoad([15, 16, 17], fx=9.0, mz=6.0, at=tuple(points[15])), mesh)
    np.testing.assert_allclose(forces[15:], np.tile([3, 0, 0, 0, 0, 2], (3, 1)), atol=1e-9)


def test_a_change_of_temperature_strains_its_cells_and_pushes_nothing():
    model = model_of(SHEET)
    load = fk.Temperature("corner", 50.0)
    assert not load.point_forces(model).any()
    assert list(load.cell_strain(model)) == pytest.approx([50 * 12e-6, *[0] * 7])


def test_totals_of_cases_and_combinations_stand_in_one_table():
    cases = [
        fk.LoadCase("tare", [fk.PointLoad("tip", fz=-10.0)]),
        fk.LoadCase("push", [fk.LineLoad("left", fx=1.1, total=True), fk.LineLoad("right", fx=-1.1, total=True)]),
    ]
    combination = fk.Combination("both", {"tare": 1.3, "push": 2.0})
    table = model_of(SHEET, load_cases=cases, combinations=[combination]).load_totals()
    assert list(table.columns) == ["Fx (N)", "Fy (N)", "Fz (N)", "Mx (N mm)", "My (N mm)", "Mz (N mm)"]
    # 10 N down at (400, 200, 0): Mx = y Fz, My = -x Fz
    assert table.loc["tare"].tolist() == pytest.approx([0, 0, -10, -2000, 4000, 0])
    assert table.loc["push"].tolist() == [0] * 6  # rounding is not shown
    assert table.loc["both"].tolist() == pytest.approx([0, 0, -13, -2600, 5200, 0])


@pytest.mark.parametrize(
    "load, sentence",
    [
        (
            fk.PointLoad("tipp", fz=1),
            r'point load on "tipp": the mesh has no set of the name "tipp"\. Did you mean "tip"',
        ),
        (
            fk.LineLoad("lefft", fz=1),
            r'line load on "lefft": the mesh has no edge set of the name .* Did you mean "left"',
        ),
        (
            fk.SpreadLoad("pad", fz=1, at=(0, 0, 0)),
            r'spread load on "pad": the mesh has no set of the name "pad"\. There',
        ),
        (fk.Pressure("sheets", 1), r'pressure on "sheets": the mesh has no cell set .* Did you mean "sheet"'),
        (
            fk.PointLoad(fk.near(0, 0, 99, within=1), fz=1),
            r"point load on .*: the selection \(near .* holds nothing; it",
        ),
        (fk.Pressure([99], 1), r'pressure on "1 indices": index 99 lies outside the mesh, which has 8 cells'),
        (
            fk.LineLoad([[3, 3]], fz=1),
            r"line load on .*: its edges have no length; it must hold edges between different",
        ),
        (fk.Temperature("shet", 9), r'temperature on "shet": the mesh has no cell set .* Did you mean "sheet"'),
    ],
)
def test_loads_on_nothing_are_refused(load, sentence):
    with pytest.raises(fk.ModelError, match=sentence):
        load.cell_strain(model_of(SHEET)) if isinstance(load, fk.Temperature) else forces_of(load)

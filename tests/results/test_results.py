"""Sums, reactions, judged stress, places, notes on linearity."""

import warnings
from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, cantilever, grid

import femkit as fk


def two_plates():
    """A sheet whose right half is twice as thick, pulled along x."""
    mesh = grid(200.0, 100.0, 20, 10)
    left = np.flatnonzero(mesh.centres[:, 0] < 100)
    right = np.setdiff1d(np.arange(mesh.n_cells), left)
    mesh = replace(mesh, cell_sets={"thin": left, "thick": right})
    return fk.Model(
        mesh,
        {"thin": fk.Plate(2.0, STEEL), "thick": fk.Plate(4.0, STEEL)},
        supports=[fk.Support("left", ux=0, uz=0, rx=0, ry=0), fk.Support(fk.near(0, 0), uy=0)],
        load_cases=[fk.LoadCase("pull", [fk.LineLoad("right", fx=100)])],
    )


def test_combination_is_the_sum_of_its_cases_with_factors():
    model = cantilever(loads=[fk.LineLoad("right", fz=5, total=True)])
    cases = [*model.load_cases, fk.LoadCase("weight", [fk.Gravity()])]
    result = fk.solve_static(
        replace(model, load_cases=cases, combinations=[fk.Combination("both", {"load": 1.3, "weight": -2})])
    )
    for get in (lambda c: c.displacement, lambda c: c.reaction, lambda c: c.stress("top"), lambda c: c.load):
        assert get(result["both"]) == pytest.approx(1.3 * get(result["load"]) - 2 * get(result["weight"]), abs=1e-9)
    assert result.names == ["load", "weight", "both"]
    assert list(result.table().index) == result.names


def test_reactions_by_support_balance_the_load_and_name_uplift():
    # statics by hand: a beam on two supports with an overhang; 100 N at the free end lifts off the rear support
    mesh = grid(300.0, 20.0, 30, 2)
    rear, front = fk.Support("left", uz=0, ux=0, mean=True), fk.Support(fk.on_plane(x=200), uz=0)
    sideways = fk.Support("sheet", uy=0, rz=0)
    model = fk.Model(
        mesh, fk.Plate(20.0, STEEL), supports=[rear, front, sideways],
        load_cases=[fk.LoadCase("tip", [fk.LineLoad("right", fz=-100, total=True)])],
    )  # fmt: skip
    table = fk.solve_static(model)["tip"].reactions()
    assert table["Fz (N)"].to_numpy() == pytest.approx([-50, 150, 0], abs=1e-6)
    assert list(table["remark"]) == ["uplift", "", ""]


def test_judged_stress_of_a_linear_field_is_the_field_and_smooths_a_peak():
    model = cantilever(loads=[fk.LineLoad("right", fy=50, total=True)], n_length=80, n_width=8)
    case = fk.solve_static(model)["load"]
    x, y = model.mesh.centres[:, :2].T
    inner = (x > 60) & (x < 140) & (y > 5) & (y < 15)  # where the whole disc of 10 mm lies on the strip
    disc = case.parent.neighbourhood(10.0).average(case.stress("top"), model.per_cell.frames)
    assert disc[inner, 0] == pytest.approx(
        case.stress("top")[inner, 0], abs=1e-3
    )  # bending: a linear field is its own mean
    assert case.judged_stress(0) == pytest.approx(case.von_mises("top"), rel=1e-9)
    assert case.judged_stress(25).max() < np.nanmax(case.von_mises("worst", at="corners"))  # the clamped corner


def test_neither_averages_nor_judged_stress_mix_two_plates():
    model = two_plates()
    case = fk.solve_static(model)["pull"]
    # 100 N/mm over 2 and over 4 mm, by hand; far from the step only the offset-free middle plane carries it
    x = model.mesh.centres[:, 0]
    judged = case.judged_stress(60.0)
    assert judged[x < 100] == pytest.approx(50, rel=0.05)  # the thick half holds back the thin one's contraction
    assert judged[x > 100] == pytest.approx(25, rel=0.06)
    averaged, jump = case.averaged_stress("middle")
    at_step = np.abs(model.mesh.points[model.mesh.corners][..., 0] - 100) < 1e-9
    assert averaged[(x < 100)[:, None] & at_step][:, 0] == pytest.approx(50, rel=0.1)
    assert averaged[(x > 100)[:, None] & at_step][:, 0] == pytest.approx(25, rel=0.1)
    assert np.nanmax(jump) < 5


def test_a_fold_is_not_averaged_across():
    # an angle section pulled along its line: both legs carry the same stress in their own axes, bent they do not
    def fold(points):
        return np.column_stack([points[:, 0], np.minimum(points[:, 1], 50), np.maximum(points[:, 1] - 50, 0)])

    mesh = grid(100.0, 100.0, 10, 10, to_space=fold)
    model = fk.Model(
        mesh, fk.Plate(3.0, STEEL), supports=[fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)],
        load_cases=[fk.LoadCase("side", [fk.LineLoad("right", fy=10)])],
    )  # fmt: skip
    result = fk.solve_static(model)
    sheets = result.sheets
    first, second = mesh.centres[:, 2] < 1e-9, mesh.centres[:, 2] > 1e-9
    assert set(sheets.of_cell[first]).isdisjoint(sheets.of_cell[second])
    points = np.array([np.unique(mesh.corners[part]) for part in (first, second)])
    assert sheets.n_groups == points.size  # the fold's points count twice


def test_distance_between_points_follows_the_strain():
    # uniform strain: a diagonal grows by its own direction's strain times its length, by hand
    model = two_plates()
    model = replace(model, plates={"thin": fk.Plate(2.0, STEEL), "thick": fk.Plate(2.0, STEEL)})
    case = fk.solve_static(model)["pull"]
    strain = 50 / 210_000
    span = np.array([100.0, 50.0])
    expected = (strain * span[0] ** 2 - 0.3 * strain * span[1] ** 2) / np.hypot(*span)
    assert case.distance_change(fk.near(50, 20), fk.near(150, 70)) == pytest.approx(expected, rel=1e-6)
    with pytest.raises(fk.ModelError, match="holds 11 points; it must hold one"):
        case.distance_change("left", fk.near(0, 0))


def test_displacement_of_a_set_is_its_weighted_mean():
    model = cantilever(loads=[fk.LineLoad("right", fz=5, total=True)])
    case = fk.solve_static(model)["load"]
    right = model.mesh.points[:, 0] == 200
    assert case.displacement_at("right")[2] == pytest.approx(case.displacement[right, 2] @ [0.25, 0.5, 0.25])


def test_a_plate_that_sags_too_far_is_warned_of_with_its_place():
    mesh = grid(200.0, 200.0, 16, 16)
    clamped = [fk.Support(side, ux=0, uy=0, uz=0, rx=0, ry=0, rz=0) for side in ("left", "right", "near", "far")]
    # clamped square: w = 0.00126532 q a⁴/D (Timoshenko & Woinowsky-Krieger, table 35): 0.8 mm at q = 0.0076 for t = 1
    cases = [fk.LoadCase("much", [fk.Pressure("sheet", 0.0076)]), fk.LoadCase("little", [fk.Pressure("sheet", 0.001)])]
    model = fk.Model(mesh, fk.Plate(1.0, STEEL), supports=clamped, load_cases=cases)
    with pytest.warns(fk.FemkitWarning, match=r'"much".*sags sideways by 0\.8.*near \((94|106), (94|106), 0\)'):
        result = fk.solve_static(model)
    assert "little" not in " ".join(result.notes)


def test_a_flange_that_follows_its_beam_is_no_sagging_plate():
    # a tee whose flange goes down with the bending beam by more than half its thickness, but stays straight across
    web = grid(1000.0, 60.0, 40, 4, to_space=lambda p: p[:, [0, 2, 1]])
    flange = grid(1000.0, 40.0, 40, 2, to_space=lambda p: p - [0, 20, 0])
    points = np.concatenate([web.points, flange.points])
    quads = np.concatenate([web.cells["quad"], flange.cells["quad"] + web.n_points])
    unique, number = np.unique(points.round(6), axis=0, return_inverse=True)
    mesh = fk.Mesh(unique, {"quad": number.ravel()[quads]})
    clamp = fk.Support(fk.on_plane(x=0), ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    load = fk.LoadCase("tip", [fk.PointLoad(fk.inside(x=(1000, 1000), y=(0, 0)), fz=-300, total=True)])
    model = fk.Model(
        mesh, fk.Plate(4.0, STEEL), supports=[clamp, fk.Support(fk.inside(y=(0, 0)), uy=0)], load_cases=[load]
    )
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        case = fk.solve_static(model)["tip"]
    assert np.abs(case.displacement[:, 2]).max() > 2.0


def test_strains_beyond_metal_are_warned_of():
    with pytest.warns(fk.FemkitWarning, match="strains reach .*are loads and moduli in N, mm and MPa"):
        fk.solve_static(cantilever(loads=[fk.LineLoad("right", fx=1e6, total=True)]))


def test_largest_names_place_and_case():
    result = fk.solve_static(two_plates())
    table = result.largest()
    assert list(table.index) == ["thin", "thick"]
    assert set(table["load case"]) == {"pull"}
    assert table.iloc[0, 0] == pytest.approx(result["pull"].judged_stress()[result.model.plate_cells["thin"]].max())
    assert "StaticResult" in repr(result) and "<table" in result._repr_html_()

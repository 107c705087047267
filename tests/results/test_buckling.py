"""Buckling factors against the theory of plates and columns, counted by inertia."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk

SIDE, THICKNESS = 500.0, 5.0
EULER = np.pi**2 * 210_000 / (12 * (1 - 0.3**2)) * (THICKNESS / SIDE) ** 2  # 18.98 MPa


def plate(loads, *, kind="quad", ratio=1.0, n=16):
    """A simply supported plate, ratio times as long as wide, edges free to move in its plane."""
    mesh = grid(ratio * SIDE, SIDE, int(ratio * n), n, kind=kind)
    sides = {"left": "rx", "right": "rx", "near": "ry", "far": "ry"}
    supports = [fk.Support(side, uz=0, **{turn: 0}) for side, turn in sides.items()]
    supports += [fk.Support(fk.near(0, 0), ux=0, uy=0), fk.Support(fk.near(ratio * SIDE, 0), uy=0)]
    return fk.Model(mesh, fk.Plate(THICKNESS, STEEL), supports=supports, load_cases=[fk.LoadCase("load", loads)])


def squeeze(stress=1.0):
    force = stress * THICKNESS
    return [fk.LineLoad("left", fx=force), fk.LineLoad("right", fx=-force)]


def squeeze_across(stress=1.0):
    force = stress * THICKNESS
    return [fk.LineLoad("near", fy=force), fk.LineLoad("far", fy=-force)]


def shear(stress=1.0):
    force = stress * THICKNESS
    return [
        fk.LineLoad("left", fy=-force), fk.LineLoad("right", fy=force),
        fk.LineLoad("near", fx=-force), fk.LineLoad("far", fx=force),
    ]  # fmt: skip


def test_two_modes_that_coincide_are_both_found():
    # at a/b = sqrt 2 one and two half waves have the same k = 4.5 (Bryan)
    buckled = fk.solve_buckling(plate(squeeze(), ratio=np.sqrt(2), n=24), "load", 3)
    assert buckled.factor[:2] / EULER == pytest.approx([4.5, 4.5], rel=0.015)
    assert buckled.factor[2] / EULER > 6


@pytest.mark.parametrize("sign", (1.0, -1.0))
def test_shear_buckles_either_way_alike(sign):
    # 9.34 (S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 2nd ed., table 9-10); 9.32452 by a Ritz sum
    buckled = fk.solve_buckling(plate(shear(sign)), "load", 1)
    assert buckled.factor[0] / EULER == pytest.approx(9.32452, rel=0.035)  # 16 x 16; falls fourfold, next test


def test_shear_factor_converges_from_above():
    errors = [fk.solve_buckling(plate(shear(), n=n), "load", 1).factor[0] / EULER / 9.32452 - 1 for n in (8, 16, 32)]
    assert errors[0] > errors[1] > errors[2] > -0.002
    assert errors[2] < errors[1] / 2.5


@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_a_strip_is_eulers_column(kind):
    # fixed-free: pi² E I / 4 L² = 863.59 N for 20 x 10, L = 1000 (closed form); shell strip with nu = 0
    steel = fk.Material("steel without contraction", E=210_000, nu=0.0)
    mesh = grid(1000.0, 20.0, 20, 2, kind=kind)
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    cases = [fk.LoadCase("push", [fk.LineLoad("right", fx=-1.0, total=True)])]
    model = fk.Model(mesh, fk.Plate(10.0, steel), supports=[clamp], load_cases=cases)
    buckled = fk.solve_buckling(model, "push", 2)
    # sideways bending over the 20 is four times as stiff: the second factor is nine times the first, of the 10
    assert buckled.factor[0] == pytest.approx(863.59039, rel=0.005)
    moved = np.abs(buckled.shape[0])
    assert moved[:, 2].max() == pytest.approx(1.0) and moved[:, 1].max() < 1e-6


def test_a_combination_buckles_by_the_sum_of_its_loads_and_a_result_is_not_solved_again():
    model = plate(squeeze())
    model = replace(model, combinations=[fk.Combination("twice", {"load": 2.0})])
    result = fk.solve_static(model)
    once, twice = (fk.solve_buckling(result, name, 1).factor[0] for name in ("load", "twice"))
    assert twice == pytest.approx(once / 2, rel=1e-8)
    assert fk.solve_buckling(result, "load", 1).case is result["load"]


def held_and_growing(held, n=16):
    """The square with a constant stress across, in parts of the Euler stress, and 1 MPa along that grows."""
    cases = [fk.LoadCase("held", squeeze_across(held * EULER)), fk.LoadCase("grows", squeeze())]
    return replace(plate([], n=n), load_cases=cases)


@pytest.mark.parametrize(("held", "exact"), [(0.0, 4.0), (2.0, 2.0), (3.5, 0.5), (-1.0, 5.0), (-4.0, 7.25)])
def test_what_is_constant_across_leaves_less_or_more_to_grow_along(held, exact):
    # Nx m² + Ny n² = N_E (m² + n²)² on a square: kx = min over m, n of ((m² + n²)² - ky n²) / m² (Timoshenko, Gere,
    # Theory of Elastic Stability, 2nd ed., sec. 9.3); the last with two half waves along, so twice the cells
    buckled = fk.solve_buckling(held_and_growing(held, 32 if held == -4 else 16), "grows", 2, constant="held")
    assert buckled.factor[0] / EULER == pytest.approx(exact, rel=0.012, abs=0.02)  # 16 x 16, of 4 - ky
    assert buckled.solution.counted >= 2 and "beside held" in repr(buckled)


def test_what_is_constant_may_not_buckle_the_model_by_itself_or_stand_elsewhere():
    model = held_and_growing(5.0, n=8)
    with pytest.raises(fk.SolveError, match=r'"held" alone buckles the model at 0\.8\d* times its size'):  # 4/5
        fk.solve_buckling(model, "grows", constant="held")
    with pytest.raises(fk.ModelError, match='Did you mean "held"'):
        fk.solve_buckling(model, "grows", constant="heldd")
    elsewhere = replace(model.load_cases[0], supports=[fk.Support("left", ux=0, uy=0, uz=0, ry=0)])
    model = replace(model, load_cases=[elsewhere, model.load_cases[1]])
    with pytest.raises(fk.ModelError, match='constant "held" and "grows" stand on different supports'):
        fk.solve_buckling(model, "grows", constant="held")


def test_the_reversed_load_has_factors_of_its_own():
    result = fk.solve_static(plate(squeeze() + squeeze_across(-2.0)))
    along, across = (fk.solve_buckling(result, "load", 1, reverse=turned) for turned in (False, True))
    # same source: kx (m² - 2 n²) = (m² + n²)², 25/2 with m = 2, n = 1; reversed kx (2 n² - m²), 25/7 with m = 1, n = 2
    assert along.factor[0] / EULER == pytest.approx(12.5, rel=0.04)  # 8 cells a half wave
    assert across.factor[0] / EULER == pytest.approx(25 / 7, rel=0.04)
    assert "reversed" in repr(across) and "reversed" not in repr(along)
    result = fk.solve_static(plate(shear()))
    both = [fk.solve_buckling(result, "load", 2, reverse=turned).factor for turned in (False, True)]
    assert both[0] == pytest.approx(both[1], rel=1e-6)  # a square in shear is its own mirror image


def stiffened(stiffener, n=24):
    """A square simply supported sheet of 5 mm in compression, with a strip 40 mm wide of another thickness mid-way."""
    model = plate([*squeeze()], n=n)
    middle = np.abs(model.mesh.centres[:, 1] - SIDE / 2) < 20
    sets = {"sheet": np.flatnonzero(~middle), "strip": np.flatnonzero(middle)}
    mesh = fk.Mesh(model.mesh.points, model.mesh.cells, cell_sets=sets, edge_sets=model.mesh.edge_sets)
    return replace(model, mesh=mesh, plates={"sheet": fk.Plate(THICKNESS, STEEL), "strip": fk.Plate(stiffener, STEEL)})


def test_a_buckle_is_named_by_the_plate_that_bends_and_called_local_where_others_do_not():
    # by reason: a very stiff strip stays straight and only the two halves of the sheet bend; one as thick as the sheet
    # bends with it; one in between takes most
    rows = [fk.solve_buckling(stiffened(t), "load", 1).table().iloc[0] for t in (60.0, THICKNESS, 25.0)]
    assert [row["plate"] for row in rows] == ["sheet", "sheet", "strip"]
    assert [row["extent"] for row in rows] == ["local", "overall", "overall"]
    middle = np.flatnonzero(np.isclose(plate([], n=16).mesh.points[:, 1], SIDE / 2))
    line = {"stiffener": np.column_stack([middle[:-1], middle[1:]])}
    for height, part, extent in ((5, "all cells", "overall"), (100, "all cells", "local")):
        model = plate(squeeze(), n=16)
        beams = {"stiffener": fk.Beam(fk.flat_bar(height, 10), STEEL)}
        model = replace(model, mesh=replace(model.mesh, edge_sets=model.mesh.edge_sets | line), beams=beams)
        row = fk.solve_buckling(model, "load", 1).table().iloc[0]
        assert (row["plate"], row["extent"]) == (part, extent)
    whole = fk.solve_buckling(plate(squeeze(), n=8), "load", 1)
    assert whole.table()["extent"].tolist() == ["overall"]
    assert whole.shares["all cells"] == pytest.approx(1.0, abs=1e-6)  # a flat sheet: no membrane strain


def test_pull_buckles_nothing():
    with pytest.raises(fk.NotConvergedError, match=r"0 positive buckling factors .* is anything in compression"):
        fk.solve_buckling(plate(squeeze(-1.0), n=6), "load", 1)


def test_words_and_refusals():
    model = plate(squeeze(), n=8)
    buckled = fk.solve_buckling(model, "load", 1)
    assert "BucklingResult load" in repr(buckled) and list(buckled.table()["plate"]) == ["all cells"]
    with pytest.raises(fk.ModelError, match='Did you mean "load"'):
        fk.solve_buckling(model, "laod")
    flat = fk.Model(model.mesh, fk.Plate(5.0, STEEL), behaviour="plane stress", load_cases=model.load_cases,
                    supports=[fk.Support(fk.near(0, 0), ux=0, uy=0), fk.Support(fk.near(500, 0), uy=0)])  # fmt: skip
    with pytest.raises(fk.ModelError, match='buckling needs behaviour="shell"'):
        fk.solve_buckling(flat, "load")

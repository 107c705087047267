"""Buckling factors against the theory of plates and columns, counted by inertia."""

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


def shear(stress=1.0):
    force = stress * THICKNESS
    return [
        fk.LineLoad("left", fy=-force), fk.LineLoad("right", fy=force),
        fk.LineLoad("near", fx=-force), fk.LineLoad("far", fx=force),
    ]  # fmt: skip


@pytest.mark.parametrize("kind", ("quad", "triangle"))
@pytest.mark.parametrize(("ratio", "exact"), [(1.0, 4.0), (2.0, 4.0), (0.5, 6.25)])
def test_plate_in_even_compression(kind, ratio, exact):
    # k = (m b/a + a/m b)²: G. H. Bryan, Proc. London Math. Soc. 22 (1891) 54-67; thick plates 0.06 % lower here
    buckled = fk.solve_buckling(plate(squeeze(), kind=kind, ratio=ratio, n=max(16, int(16 / ratio))), "load", 2)
    assert buckled.factor[0] / EULER == pytest.approx(exact, rel=0.012)  # 16 cells a half wave
    assert buckled.solution.counted >= 2


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
    from dataclasses import replace

    model = plate(squeeze())
    model = replace(model, combinations=[fk.Combination("twice", {"load": 2.0})])
    result = fk.solve_static(model)
    once, twice = (fk.solve_buckling(result, name, 1).factor[0] for name in ("load", "twice"))
    assert twice == pytest.approx(once / 2, rel=1e-8)
    assert fk.solve_buckling(result, "load", 1).case is result["load"]


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

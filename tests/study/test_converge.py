"""Orders, limits and bands of ladders of meshes: published examples, closed forms, and peaks that have no limit."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, cantilever, grid

import femkit as fk
from femkit.study.converge import Trend

KINDS = ("quad", "triangle")


def test_published_example_of_the_index():
    # J. W. Slater, Examining Spatial (Grid) Convergence, NPARC Alliance verification archive, pressure recovery of an
    # inlet on three grids: p = 1.786170, limit 0.97130, index of the finest 0.103083 %; values from memory
    found = fk.Convergence([4, 2, 1], [0.96178, 0.96854, 0.97050])
    assert found.order == pytest.approx(1.786170, abs=1e-6)
    assert found.extrapolated == pytest.approx(0.97130, abs=5e-6)
    assert found.band / 0.97050 == pytest.approx(0.00103083, abs=1e-8)
    assert found.verdict is Trend.CONVERGES


def test_published_example_of_unequal_refinement():
    # I. B. Celik et al., J. Fluids Eng. 130 (2008) 078001, table 1, reattachment length on 18000, 8000 and 4500 cells:
    # r = 1.5 and 1.333, p = 1.53, limit 6.1685, index 2.2 %; values from memory
    found = fk.Convergence([2, 1.5, 1], [5.863, 5.972, 6.063])
    assert found.order == pytest.approx(1.53, abs=0.005)
    assert found.extrapolated == pytest.approx(6.1685, abs=5e-5)
    assert found.band / 6.063 == pytest.approx(0.022, abs=5e-4)


@pytest.mark.parametrize("order", (-0.5, -0.1, 0.5, 1.0, 2.0, 3.5))
@pytest.mark.parametrize("sizes", ([8, 4, 2], [9.0, 5.0, 4.0], [40, 10, 7, 2]))
def test_a_power_of_the_size_is_found_again(sizes, order):
    # by hand: f = 1 + 3 hᵖ; the order that limits and bands go by is at most 2, so that theirs is no less
    values = 1 + 3 * np.array(sizes) ** order
    found = fk.Convergence(sizes, values)
    assert found.order == pytest.approx(order, abs=1e-4)
    assert found.grows == (order < 0)
    if 0 < order <= 2:
        assert found.extrapolated == pytest.approx(1, abs=1e-3)
        assert found.band == pytest.approx(1.25 * (values[-1] - 1), rel=1e-3)
    elif order > 2:
        assert found.band > values[-1] - 1


@pytest.mark.parametrize(
    ("values", "verdict", "band", "limit"),
    [
        ([7, 7, 7], Trend.CONVERGES, 0, 7),
        ([0, 0, 0], Trend.CONVERGES, 0, 0),
        ([7, 7 + 1e-10, 7 - 1e-10], Trend.CONVERGES, 0, 7),  # rounding
        ([1, 2, 1.6], Trend.BOTH_SIDES, 1, 1.6),
        ([1, 2, 2], Trend.BOTH_SIDES, 1, 2),  # may turn back from there
        ([1, 2, 0.5], Trend.UNSETTLED, np.nan, np.nan),
        ([1, 1, 2], Trend.UNSETTLED, np.nan, np.nan),
        ([3, 2, 1], Trend.UNSETTLED, np.nan, np.nan),
        ([1, 1.001, 1.002], Trend.UNSETTLED, np.nan, np.nan),  # by too little to be a peak
        ([1, 2, 3], Trend.GROWS, np.nan, np.nan),  # as log(h)
        ([-1, -2, -4], Trend.GROWS, np.nan, np.nan),
        ([1, 2], Trend.TOO_FEW, np.nan, np.nan),
    ],
)
def test_what_is_said_of_values(values, verdict, band, limit):
    found = fk.Convergence([4, 2, 1][: len(values)], values)
    assert found.verdict is verdict
    assert found.grows == (verdict is Trend.GROWS)
    assert [found.band, found.extrapolated] == pytest.approx([band, limit], nan_ok=True)
    assert str(verdict) in repr(found)


def test_two_meshes_need_an_assumed_order_and_more_safety():
    # Roache 1994: 3 |f1 - f2| / (r² - 1) = 0.1
    found = fk.Convergence([4, 2], [1.0, 1.1], assumed=2)
    assert found.band == pytest.approx(0.1)
    assert found.extrapolated == pytest.approx(1.1 + 0.1 / 3)
    assert found.verdict is Trend.TOO_FEW


def plate(kind, size, load):
    """A square plate of side 200 and thickness 1 on simple supports."""
    n = round(200 / size)
    edges = [("left", "rx"), ("right", "rx"), ("near", "ry"), ("far", "ry")]
    supports = [fk.Support(edge, uz=0, **{turn: 0}) for edge, turn in edges]
    supports.append(fk.Support(fk.near(0, 0), ux=0, uy=0, rz=0))
    return fk.Model(
        grid(200.0, 200.0, n, n, kind=kind), fk.Plate(1.0, STEEL), supports=supports,
        load_cases=[fk.LoadCase("load", [load])],
    )  # fmt: skip


def raw_peak(result):
    return np.nanmax(result["load"].von_mises("worst", at="corners"))


@pytest.mark.parametrize("kind", KINDS)
def test_deflection_of_a_plate_converges_to_the_series(kind):
    # Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., table 8; more digits from the same series.
    # Shear adds 1e-5 of it to a plate this thin
    rigidity = 210_000 / (12 * (1 - 0.3**2))
    found = fk.converge(
        lambda size: plate(kind, size, fk.Pressure("sheet", 1e-3)),
        lambda result: -result["load"].displacement_at(fk.near(100, 100))[2],
        [50, 25, 12.5],
    )
    exact = 0.0040623527 * 1e-3 * 200**4 / rigidity
    assert found.verdict is Trend.CONVERGES
    assert found.order == pytest.approx(2, abs=0.4)
    assert abs(exact - found.values[-1]) < found.band < 0.005 * exact
    assert found.extrapolated == pytest.approx(exact, rel=5e-4)


def test_tip_of_a_cantilever_converges_to_the_beam():
    # S. P. Timoshenko, Strength of Materials, part I: F L³ / 3 E I, with shear 1.2 F L / G A; no cross-contraction
    free = replace(STEEL, nu=0.0)

    def model(size):
        strip = cantilever(n_length=round(200 / size), n_width=1, loads=[fk.LineLoad("right", fz=10, total=True)])
        return replace(strip, plates=fk.Plate(5.0, free))

    found = fk.converge(model, lambda result: result["load"].displacement_at("right")[2], [50, 40, 20])
    exact = 10 * 200**3 / (3 * 210_000 * 20 * 5**3 / 12) + 1.2 * 10 * 200 / (105_000 * 20 * 5)
    assert found.order == pytest.approx(2, abs=0.01)
    assert found.extrapolated == pytest.approx(exact, rel=1e-5)
    assert found.unknowns == (10 * 6, 12 * 6, 22 * 6)


@pytest.mark.parametrize("kind", KINDS)
def test_peak_under_a_point_load_grows(kind):
    # bending moments grow as log(h): Timoshenko & Woinowsky-Krieger, art. 34; order 0
    found = fk.converge(
        lambda size: plate(kind, size, fk.PointLoad(fk.near(100, 100), fz=-1.0)), raw_peak, [25, 12.5, 6.25]
    )
    assert found.order == pytest.approx(0, abs=0.05)
    assert found.grows
    assert "no limit; judge the averaged stress" in found.verdict


def corner(size, kind, behaviour):
    """Two legs of an angle, 100 wide and 200 long, around a sharp inner corner."""
    n = round(100 / size)
    mesh = grid(200.0, 200.0, 2 * n, 2 * n, kind=kind)
    keep = np.flatnonzero((mesh.centres[:, :2] < 100).any(axis=1))
    used, cells = np.unique(mesh.corners[keep][mesh.corners[keep] >= 0], return_inverse=True)
    mesh = fk.Mesh(mesh.points[used], {kind: cells.reshape(len(keep), -1)})
    end = {axis: fk.on_plane(**{axis: 200.0}) for axis in "xy"}
    turns = dict(uz=0, rx=0, ry=0, rz=0) if behaviour == "shell" else {}
    return fk.Model(
        mesh, fk.Plate(1.0, STEEL), supports=[fk.Support(end["y"], ux=0, uy=0, **turns)], behaviour=behaviour,
        load_cases=[fk.LoadCase("load", [fk.PointLoad(end["x"], fy=100, total=True)])],
    )  # fmt: skip


@pytest.mark.parametrize("behaviour", ("shell", "plane stress"))
@pytest.mark.parametrize("kind", KINDS)
def test_peak_at_a_sharp_corner_grows(kind, behaviour):
    # M. L. Williams, J. Appl. Mech. 19 (1952) 526-528: stress as r^(0.5445 - 1) at a corner of 270 degrees
    found = fk.converge(lambda size: corner(size, kind, behaviour), raw_peak, [12.5, 6.25, 3.125])
    assert found.order == pytest.approx(0.5445 - 1, abs=0.07)
    assert found.grows
    assert np.isnan(found.extrapolated)


@pytest.mark.parametrize("behaviour", ("shell", "plane stress"))
def test_deflection_with_a_sharp_corner_has_a_limit(behaviour):
    # energy converges with twice the corner's exponent, 1.09 (G. Strang, G. J. Fix, An Analysis of the Finite Element
    # Method, ch. 8); quadrilaterals, as triangles are too stiff in bending to show it on such meshes
    found = fk.converge(
        lambda size: corner(size, "quad", behaviour),
        lambda result: result["load"].displacement_at(fk.on_plane(x=200.0))[1],
        [12.5, 6.25, 3.125],
    )
    assert found.verdict is Trend.CONVERGES
    assert found.order == pytest.approx(1.09, abs=0.2)


def holed(size, kind):
    """A quarter of a plate with a round hole of radius 100, in the field of a plate without end."""
    n = round(100 / size)

    def to_space(points):
        angle = points[:, 1] * np.pi / 2
        unit = np.column_stack([np.cos(angle), np.sin(angle)])
        share = points[:, :1] ** 1.5
        return np.column_stack([unit * (100 + 300 * share), points[:, 2]])

    mesh = grid(1.0, 1.0, n, n, kind=kind, to_space=to_space)
    rim = np.unique(mesh.edge_sets["right"])
    x, y = mesh.points[rim, :2].T / 400
    # E. G. Kirsch: S. P. Timoshenko & J. N. Goodier, Theory of Elasticity, 3rd ed., art. 35; displacements under a
    # pull of 10 MPa, integrated from its stresses, with k = (3 - nu) / (1 + nu) and a / r = 1 / 4
    k, c2, s2, scale = 2.7 / 1.3, x**2 - y**2, 2 * x * y, 10 * 400 / (8 * 210_000 / 2.6)
    out = scale * (k - 1 + 2 * c2 + (1 + (1 + k) * c2) / 8 - c2 / 128)
    around = -2 * scale * (1 + (k - 1) / 16 + 1 / 256) * s2
    held = [
        fk.Support([int(point)], ux=round(u, 12), uy=round(v, 12))
        for point, u, v in zip(rim, x * out - y * around, y * out + x * around)
    ]
    return fk.Model(
        mesh, fk.Plate(1.0, STEEL), supports=[*held, fk.Support("near", uy=0), fk.Support("far", ux=0)],
        load_cases=[fk.LoadCase("load", [])], behaviour="plane stress",
    )  # fmt: skip


def beside_the_hole(result):
    mesh = result.model.mesh
    (point,) = fk.near(0, 100).choose(mesh.points)
    return result["load"].averaged_stress("middle")[0][mesh.corners == point][:, 0].mean()


def test_stress_beside_a_hole_converges_to_three_times_the_pull():
    found = fk.converge(lambda size: holed(size, "quad"), beside_the_hole, [25, 12.5, 6.25])
    assert found.verdict is Trend.CONVERGES
    assert abs(30 - found.values[-1]) < found.band < 0.3
    # constant strain at an edge is of first order, though it looks like second on these meshes: assume it
    observed = fk.converge(lambda size: holed(size, "triangle"), beside_the_hole, [25, 12.5, 6.25])
    assumed = replace(observed, assumed=1.0)
    assert observed.order > 1.2
    assert abs(30 - assumed.values[-1]) < assumed.band < 3


def test_all_that_failed_is_told_at_once():
    def model(size):
        if size < 30:
            return plate("quad", size, fk.Pressure("shet", 1.0))
        return plate("quad", size, fk.Pressure("sheet", 1e-3))

    with pytest.raises(fk.ModelError, match=r"(?s)2 of 3 meshes failed.*size 25 mm: .*shet.*size 20 mm: .*shet"):
        fk.converge(model, raw_peak, [50, 25, 20])
    with pytest.raises(fk.ModelError, match="size 50 mm: quantity gives nan; it must give one finite number"):
        fk.converge(lambda size: model(50), lambda result: np.nan, [50, 25])
    with pytest.raises(fk.ModelError, match=r"quantity gives array\(\[1., 1.\]\)"):
        fk.converge(lambda size: model(50), lambda result: np.ones(2), [50, 25])


@pytest.mark.parametrize("sizes", ([], [10], [5, 10], [10, 10], [10, 0], [np.inf, 1], [10, np.nan]))
def test_sizes_must_fall(sizes):
    with pytest.raises(fk.ModelError, match="two or more finite numbers above 0, the coarsest first"):
        fk.converge(None, None, sizes)


def test_an_order_must_be_above_0_and_values_fit():
    with pytest.raises(fk.ModelError, match="order is 0"):
        fk.converge(None, None, [2, 1], order=0)
    with pytest.raises(fk.ModelError, match="one finite number for each size"):
        fk.Convergence([2, 1], [1.0])


def test_a_ladder_is_shown_as_a_table():
    found = fk.Convergence([4, 2, 1], [3.0, 2.0, 1.5], unknowns=[60, 200, 720])
    table = found.table()
    assert table["unknowns"].tolist() == [60, 200, 720]
    assert table["change"].tolist()[1:] == [-1, -0.5]
    assert table.index.name == "size of cell (mm)"
    assert repr(found) == "Convergence: 3 meshes, 4 to 1 mm: converges; 1.5 ± 0.62, limit 1, order 1"
    assert "<table" in found._repr_html_()
    assert found == replace(found)

"""Strain gauges against strains by hand: bars, beams, a hole, shear; and gauges that lie where none can be glued."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk
from femkit.results.gauges import place_gauges
from femkit.verify.openings import circle, kirsch, ring, square, stretched

E, NU, T = 210_000, 0.3, 5.0
STIFF = replace(STEEL, nu=0.0)
CLAMP = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)


def strain(case, *gauges):
    """Along each grid, µm/m."""
    return 1e6 * place_gauges(case.model, gauges).mean_strain(case)[:, 0]


def pulled(mesh=None, **more):
    """A bar under 100 N/mm along x."""
    mesh = mesh or grid(200, 40, 10, 4, wobble=0.2)
    held = [fk.Support("left", ux=0), fk.Support(fk.near(0, 0), uy=0, uz=0), fk.Support(fk.near(0, 40), uz=0)]
    held.append(fk.Support(fk.near(200, 0), uz=0))
    return fk.solve_static(
        fk.Model(
            mesh,
            fk.Plate(T, STEEL),
            supports=held,
            load_cases=[
                fk.LoadCase("pull", [fk.LineLoad("right", fx=100)]),
                fk.LoadCase("warm", [fk.Temperature("sheet", 50)]),
            ],
            combinations=[fk.Combination("both", {"pull": 2, "warm": 1})],
            **more,
        )
    )


def bent(load, *, plate=None, length=200, n=100):
    """A clamped strip 20 mm wide."""
    model = fk.Model(
        grid(length, 20, n, 4),
        plate or fk.Plate(T, STIFF),
        supports=[CLAMP],
        load_cases=[fk.LoadCase("load", [load])],
    )
    return fk.solve_static(model)["load"]


def test_a_pulled_bar_is_strained_by_s_over_E_along_and_minus_nu_times_that_across():
    e = 1e6 * 100 / T / E
    along, across, turned = (fk.Gauge(f"{d}", (83, 17, 0), d) for d in ((1, 0, 0), (0, 1, 0), (1, 1, 0)))
    assert strain(pulled()["pull"], along, across, turned) == pytest.approx([e, -NU * e, e * (1 - NU) / 2], rel=1e-9)


def test_free_expansion_is_not_in_the_strain_and_combinations_are_sums():
    result = pulled()
    table = place_gauges(result.model, [fk.Gauge("G", (83, 17, 0), (1, 0, 0))]).table(result)
    assert table["warm (µm/m)"].to_numpy() == pytest.approx([0], abs=1e-6)
    assert table["both (µm/m)"].to_numpy() == pytest.approx(2 * table["pull (µm/m)"].to_numpy(), rel=1e-9)


@pytest.mark.parametrize(("surface", "sign"), [("top", 1), ("bottom", -1), ((0, 0, 2), 1), ((0.1, 0, -1), -1)])
def test_a_bent_strip_is_strained_by_M_y_over_E_I(surface, sign):
    force, at = 10.0, 60.0  # N at the tip, down: the top is pulled
    case = bent(fk.LineLoad("right", fz=-force, total=True))
    by_hand = 1e6 * force * (200 - at) * (T / 2) / (E * 20 * T**3 / 12)
    read = strain(case, fk.Gauge("G", (at, 10, 0), (1, 0, 0), surface=surface))
    assert read == pytest.approx([sign * by_hand], rel=1e-3)  # 2 mm cells; the moment falls evenly along the grid


def test_a_gauge_in_a_gradient_reads_the_mean_over_its_grid():
    pressure, at, length = 0.01, 160.0, 60.0
    case = bent(fk.Pressure("sheet", pressure))  # onto the top: the top is pulled
    by_hand = lambda grid: 1e6 * 3 * pressure / (E * T**2) * ((200 - at) ** 2 + grid**2 / 12)  # noqa: E731
    short, long = strain(case, *(fk.Gauge(f"{n}", (at, 10, 2.5), (1, 0, 0), length=n) for n in (0.1, length)))
    assert short == pytest.approx(by_hand(0.1), rel=2e-3)  # 2 mm cells, averaged between corners
    assert long == pytest.approx(by_hand(length), rel=2e-3)  # 1.2e-3 here, a quarter of that with 1 mm cells
    assert long / short == pytest.approx(1 + length**2 / 12 / 40**2, rel=2e-3)  # a fifth more


def test_the_gradient_is_that_of_the_bending_moment():
    case = bent(fk.LineLoad("right", fz=-10, total=True))
    placed = place_gauges(case.model, [fk.Gauge("G", (61, 10, 0), (1, 0, 0))])
    assert 1e6 * placed.gradient(case) == pytest.approx([1e6 * 10 * 2.5 / (E * 20 * T**3 / 12)], rel=1e-2)


@pytest.mark.parametrize("degrees", [30, 60, 85])
def test_near_a_hole_a_grid_reads_the_mean_of_kirschs_strain(degrees):
    # Timoshenko, Goodier, Theory of Elasticity, art. 35, in a sheet under the exact tractions; hole of radius 1
    case = stretched(ring("quad", 48, circle(1.0), square(4.0), 1.0), kirsch(0.0))
    turn, length = np.radians(degrees), 0.3
    out, round_ = np.array([np.cos(turn), np.sin(turn), 0]), np.array([-np.sin(turn), np.cos(turn), 0])
    along = round_ if degrees < 85 else out  # at 85° a grid round the hole would leave the quarter
    gauge = fk.Gauge("G", tuple(1.2 * out), tuple(along), length=length)
    x, y, _ = (1.2 * out[:, None] + along[:, None] * length * np.linspace(-0.5, 0.5, 2001)).copy()
    sx, sy, txy = kirsch(0.0)(x, y)
    c, s = along[:2]
    stress_along, stress_across = c * c * sx + s * s * sy + 2 * c * s * txy, s * s * sx + c * c * sy - 2 * c * s * txy
    mean = 1e6 * (stress_along - NU * stress_across).mean() / E
    assert strain(case, gauge) == pytest.approx([mean], abs=0.002 * 1e6 / E)  # of the pull's own strain; falls fourfold


def test_a_rosette_in_pure_shear_reads_half_the_shear_at_45_degrees_only():
    shear = 20.0  # N/mm round the edge
    loads = [fk.LineLoad(edge, **{c: s * shear}) for edge, c, s in
             (("right", "fy", 1), ("left", "fy", -1), ("far", "fx", 1), ("near", "fx", -1))]  # fmt: skip
    held = [fk.Support(fk.near(0, 0), ux=0, uy=0), fk.Support(fk.near(200, 0), uy=0)]
    mesh = grid(200, 100, 10, 5)
    case = fk.LoadCase("shear", loads)
    model = fk.Model(mesh, fk.Plate(T, STEEL), supports=held, load_cases=[case], behaviour="plane stress")
    half = 1e6 * shear / T * (1 + NU) / E
    case = fk.solve_static(model)["shear"]
    assert strain(case, fk.Rosette("R", (101, 52, 0), (1, 0, 0))) == pytest.approx([0, half, 0], abs=1e-6)
    below = fk.Rosette("R", (101, 52, 0), (1, 0, 0), surface="bottom", kind="0/60/120")  # turns the other way round
    assert strain(case, below) == pytest.approx([0, -half * np.sqrt(3) / 2, half * np.sqrt(3) / 2], abs=1e-6)


def test_a_sheet_that_is_numbered_the_other_way_round_reads_the_same_on_the_same_face():
    load, flat = fk.LineLoad("right", fz=-10, total=True), grid(200, 20, 40, 4)
    turned = replace(flat, cells={"quad": flat.cells["quad"][:, ::-1]})
    reads = []
    for mesh in (flat, turned):
        model = fk.Model(mesh, fk.Plate(T, STEEL), supports=[CLAMP], load_cases=[fk.LoadCase("load", [load])])
        gauges = [fk.Gauge("G", (61, 9, 2.5), (1, 0, 0), surface=(0, 0, 1)), fk.Gauge("B", (61, 9, 0), (1, 0, 0))]
        reads.append(strain(fk.solve_static(model)["load"], *gauges))
    assert reads[0] == pytest.approx(reads[1] * [1, -1], rel=1e-9)


def folded(to_space=None):
    """A sheet of two plates, folded up at x = 100; the second begins at x = 50."""
    up = lambda p: np.where(p[:, :1] <= 100, p, np.column_stack([100 + 0 * p[:, 0], p[:, 1], p[:, 0] - 100]))  # noqa: E731
    mesh = grid(200, 40, 40, 8, to_space=to_space or up)
    centres = mesh.centres
    mesh = replace(mesh, cell_sets={"thick": centres[:, 0] < 50, "thin": centres[:, 0] >= 50})
    cases = [fk.LoadCase("load", [fk.LineLoad("right", fx=0.01)])]
    plates = {"thick": fk.Plate(5, STEEL), "thin": fk.Plate(3, STEEL)}
    return fk.Model(mesh, plates, supports=[CLAMP], load_cases=cases)


def test_a_grid_that_leaves_its_plate_has_no_strain_and_says_where():
    gauges = [
        fk.Gauge("fold", (98, 20, 0), (1, 0, 0)),
        fk.Gauge("plate", (49, 20, 0), (1, 0, 0)),
        fk.Gauge("edge", (20, 1, 0), (0, 1, 0)),
        fk.Gauge("along", (97, 20, 0), (0, 1, 0)),
    ]
    case = fk.solve_static(folded())["load"]
    placed = place_gauges(case.model, gauges)
    fold, plate, edge, along = placed.why
    assert np.isnan(placed.mean_strain(case)).all(axis=1).tolist() == [True, True, True, False]
    assert np.isfinite(placed.gradient(case)).tolist() == [False, False, False, True]
    assert fold == 'its grid of 6 mm runs over a fold to plate "thin", 2 mm from its middle'
    assert plate == 'its grid of 6 mm runs on to plate "thin", 1 mm from its middle'
    assert edge == 'its grid of 6 mm runs over the edge of plate "thick", 1 mm from its middle'
    assert along == ""


def test_a_curved_sheet_is_no_fold():
    roll = lambda p: np.column_stack([100 * np.sin(p[:, 0] / 100), p[:, 1], 100 * np.cos(p[:, 0] / 100)])  # noqa: E731
    middle = (100 * np.sin(0.8), 20, 100 * np.cos(0.8))
    assert place_gauges(folded(roll), [fk.Gauge("G", middle, (1, 0, 0), length=10)]).why == ("",)


@pytest.mark.parametrize(
    ("gauge", "words"),
    [
        (fk.Gauge("G", (50, 20, 9), (1, 0, 0), on="thin"), r'"G": it lies 9 mm off .*\(50, 20, 0\) mm on plate "thin"'),
        (fk.Gauge("G", (20, -3, 0), (1, 0, 0)), r"it lies 3 mm off"),
        (fk.Gauge("G", (20, 9, 0), (0.05, 0, 1)), r'its direction is the normal of plate "thick".*\(0, 0, 1\)'),
        (fk.Gauge("G", (20, 9, 0), (1, 0, 0), surface=(1, 0, 0)), r"its surface looks along plate"),
        (fk.Gauge("G", (50, 20, 0), (0, 1, 0)), r'where plates "(thick|thin)" and "(thick|thin)" meet'),
        (fk.Gauge("G", (100, 20, 0), (0, 1, 0)), r'where plates "thin" and "thin" meet, or one is folded'),
        (fk.Gauge("G", (20, 9, 0), (1, 0, 0), on="thinn"), r'Did you mean "thin"'),
        (fk.Gauge("G", (20, 9), (1, 0, 0), length=0), r"(?s)at is \(20, 9\).*length is 0.0 mm"),
        (fk.Gauge("G", (20, 9, 0), (0, 0, 0), surface="outer"), r'(?s)direction is .*surface is \'outer\'; it must'),
        (fk.Rosette("G", (20, 9, 0), (1, 0, 0), kind=["0/45/90"]), r"no rosette"),
        (fk.Rosette("G", (20, 9, 0), (1, 0, 0), kind="0/45/9"), r'no rosette "0/45/9". Did you mean "0/45/90"'),
    ],
)  # fmt: skip
def test_a_gauge_that_can_not_be_there_is_named(gauge, words):
    with pytest.raises(fk.ModelError, match=words):
        place_gauges(folded(), [gauge])


def test_all_gauges_that_are_wrong_are_named_together_and_names_are_given_once():
    far = [fk.Gauge(name, (20, 9, 50), (1, 0, 0)) for name in ("G1", "G2")]
    with pytest.raises(fk.ModelError, match=r'(?s)"G1": it lies 50 mm.*"G2": it lies 50 mm'):
        place_gauges(folded(), far)
    with pytest.raises(fk.ModelError, match="there are no gauges"):
        place_gauges(folded(), [])
    with pytest.raises(fk.ModelError, match='"R a": the name is given twice'):
        place_gauges(folded(), [fk.Rosette("R", (20, 9, 0), (1, 0, 0)), fk.Gauge("R a", (20, 9, 0), (1, 0, 0))])


def test_on_decides_where_plates_meet():
    placed = place_gauges(folded(), [fk.Gauge("G", (50, 20, 0), (0, 1, 0), on="thick")])
    assert placed.places()["plate"].tolist() == ["thick"] and placed.why == ("",)

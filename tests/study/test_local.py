"""Details driven by the whole model: exact where the whole is, published peaks at rounded openings, what is refused."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk
from femkit.mesh import free_edges
from femkit.results.stress import principal
from femkit.verify.answers import edge_loads, stress_at
from femkit.verify.grids import grid as any_grid
from femkit.verify.openings import _growing, even, ring

KINDS = ("quad", "triangle", "mixed")
CUT_OUT = Path(__file__).parents[2] / "meshes" / "side_wall_cut-out.msh"
EDGES = ("left", "right", "near", "far")


def stretched(x, y):
    """Even strains of 1e-4, -0.5e-4 and shear 3e-4, with the turn that goes with them."""
    zero = 0 * x
    return {
        "ux": 1e-4 * x + 2e-4 * y, "uy": 1e-4 * x - 0.5e-4 * y, "uz": zero,
        "rx": zero, "ry": zero, "rz": zero - 0.5e-4,
    }  # fmt: skip


def bent(x, y):
    """Even curvatures of 1e-5, 0.3e-5 and twist 0.4e-5 per mm; a thin sheet's rotations follow its slopes."""
    zero = 0 * x
    return {
        "ux": zero, "uy": zero, "uz": 1e-5 * (x**2 + 0.3 * y**2 + 0.8 * x * y) / 2,
        "rx": 1e-5 * (0.3 * y + 0.4 * x), "ry": -1e-5 * (x + 0.4 * y), "rz": zero,
    }  # fmt: skip


def driven(mesh, field, behaviour="shell"):
    """A sheet of 5 mm whose edges follow a field."""
    points = np.unique(np.concatenate([mesh.edge_sets[name].ravel() for name in EDGES]))
    values = field(*mesh.points[points, :2].T)
    values = values if behaviour == "shell" else {name: values[name] for name in ("ux", "uy")}
    cases = [fk.LoadCase("field", [], supports=[fk.Support(points, **values)])]
    return fk.solve_static(fk.Model(mesh, fk.Plate(5, STEEL), load_cases=cases, behaviour=behaviour))


def moved(mesh, by):
    return replace(mesh, points=mesh.points + by)


# -- exact where the whole is -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("detail_kind", ("quad", "triangle"))
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("field", (stretched, bent))
def test_even_strain_and_even_curvature_pass_the_border_exactly(field, kind, detail_kind):
    whole = driven(grid(200, 100, 5, 4, kind=kind, wobble=0.2), field)
    detail = moved(grid(83, 47, 7, 6, kind=detail_kind, wobble=0.2), [61, 22, 0])
    answer = fk.solve_static(fk.local_model(whole, detail))
    expected = whole["field"].resultants[0, 0]
    # 1e-10 is rounding; with the chords of the whole's cells alone, moments at the border were off by 70 to 150 %
    assert answer["field"].resultants[:, 0] == pytest.approx(
        np.broadcast_to(expected, (detail.n_cells, 8)), abs=1e-10 * np.abs(expected).max()
    )


@pytest.mark.parametrize("kind", ("quad", "triangle", "quad8", "quad9", "triangle6"))
def test_even_strain_passes_in_plane_stress(kind):
    mesh = any_grid(kind, 5, 4, lambda s, t: np.column_stack([200 * s, 100 * t]))
    whole = driven(replace(mesh, edge_sets=dict(zip(EDGES, mesh.edge_sets.values()))), stretched, "plane stress")
    detail = any_grid(kind, 6, 5, lambda s, t: np.column_stack([61 + 83 * s + 9 * t, 22 + 47 * t]), wobble=0.1)
    answer = fk.solve_static(fk.local_model(whole, detail))
    stress = whole["field"].stress()[0]
    assert answer["field"].stress() == pytest.approx(np.tile(stress, (detail.n_cells, 1)), rel=1e-9)


def flanged(n=8):
    """A sheet of 400 × 200 mm with a flange of 50 mm along its far edge, under all that a detail has to repeat."""
    fold = lambda p: np.column_stack([p[:, 0], np.minimum(p[:, 1], 200), np.maximum(p[:, 1] - 200, 0)])  # noqa: E731
    mesh = grid(400, 250, 2 * n, 10, to_space=fold)
    mesh = mesh.with_cells("flange", fk.inside(z=(1, 50)), out_of="sheet").with_cells("pad", fk.inside(y=(0, 100)))
    ridge = free_edges(mesh)
    ridge = ridge[(mesh.points[ridge, 2] == 50).all(axis=1)]
    middle = fk.near(200, 100, 0).choose(mesh.points)
    return replace(mesh, edge_sets=mesh.edge_sets | {"ridge": ridge}, point_sets={"hook": middle})


def loaded(mesh, **more):
    plates = {"sheet": fk.Plate(4, STEEL), "flange": fk.Plate(6, STEEL, offset=1)}
    ends = [fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0), fk.Support("right", uz=0)]
    cases = [
        fk.LoadCase("weight", [fk.Gravity(), fk.Pressure("pad", 0.01), fk.Temperature("pad", 30)]),
        fk.LoadCase("lines", [fk.LineLoad("ridge", fz=-2, mx=40), fk.PointLoad("hook", fz=-300, my=500)]),
        fk.LoadCase("totals", [fk.LineLoad("ridge", fy=900, total=True), fk.PointLoad("hook", fx=100, total=True)]),
        fk.LoadCase("jacked", [], supports=[*ends, fk.Support(fk.inside(x=(150, 350), z=(50, 50)), uy=0.5)]),
    ]
    sums = [fk.Combination("both", {"weight": 1.3, "lines": 1.5})]
    more = {"supports": [*ends, fk.Support("far", uy=0)], "masses": [fk.LineMass("ridge", 1e-4)]} | more
    beams = {"near": fk.Beam(fk.flat_bar(30, 6), STEEL)}
    return fk.Model(mesh, plates, load_cases=cases, combinations=sums, beams=beams, **more)


def test_a_detail_with_the_wholes_own_cells_moves_as_the_whole_does():
    whole = fk.solve_static(loaded(flanged()))
    mesh = whole.model.mesh
    keep = fk.inside(x=(100, 300)).choose(mesh.centres)
    detail = mesh.without(np.setdiff1d(np.arange(mesh.n_cells), keep))
    local = fk.local_model(whole, detail)
    assert local.mesh.points[np.unique(local.mesh.edge_sets["border"]), 0].tolist() == [100] * 11 + [300] * 11
    answer = fk.solve_static(local)
    assert answer.names == whole.names
    assert answer.solution.counts.factorisations == 2  # inside, the jacked case holds other points
    same = np.flatnonzero((mesh.points[:, 0] >= 100) & (mesh.points[:, 0] <= 300))
    for name in whole.names:
        expected = whole[name].displacement[same]
        for part in (slice(0, 3), slice(3, 6)):
            largest = np.abs(expected[:, part]).max()
            assert answer[name].displacement[:, part] == pytest.approx(expected[:, part], abs=1e-9 * largest)
    check = fk.check_border(whole, answer)
    assert max(check.apart.values()) < 1e-8
    assert check.is_far_enough


def test_a_finer_detail_carries_the_same_loads():
    whole = fk.solve_static(loaded(flanged()))
    mesh = whole.model.mesh
    detail = fk.refine(mesh.without(fk.inside(x=(300, 400))).without(fk.inside(x=(0, 100))))
    assert [case.name for case in fk.local_model(whole, detail, load_cases=["both"]).load_cases] == ["weight", "lines"]
    local = fk.local_model(whole, detail, load_cases=["totals", "weight"])
    assert [case.name for case in local.load_cases] == ["totals", "weight"]
    assert local.combinations == ()
    # by hand: 200 of the ridge's 400 mm have half of 900 N; the hook has its 100 N
    assert local.load_total(local.case("totals"))[:3] == pytest.approx([100, 450, 0])
    answer = fk.solve_static(local)
    for name in answer.names:
        here, there = (each[name].displacement_at(fk.near(150, 150, 0)) for each in (answer, whole))
        assert here == pytest.approx(there, rel=0.02, abs=1e-5)  # of 0.03 mm: finer cells are softer


# -- rounded openings -------------------------------------------------------------------------------------------------

# largest edge stress of a square opening, 1 × 1, corner radius r, in a wide sheet pulled along x: polynomials of degree
# 9 by the Ritz method, good to 0.1 %, as in femkit.verify.openings; r = 0.05 likewise
PEAKS = {0.05: 4.642, 0.1: 3.770, 0.2: 3.150}


def opening(kind, n, radius, outer):
    """A quarter of a square opening of 100 × 100 mm with n cells round its corner, out to a curve."""
    straight = 50 * (1 - 2 * radius)
    radius *= 100
    even_steps, growing = np.full(n, radius * np.pi / 2 / n), _growing(straight, radius, n)
    steps = np.concatenate([np.diff(straight - growing[::-1]), even_steps, np.diff(growing)])

    def inner(t):
        done = t * steps.sum()
        turn = np.clip((done - straight) / radius, 0, np.pi / 2)
        x = straight + radius * np.cos(turn) - np.maximum(done - straight - radius * np.pi / 2, 0)
        return np.column_stack([x, np.minimum(done, straight) + radius * np.sin(turn)])

    borders = np.append(0, np.cumsum(steps)) / steps.sum()
    return ring(kind, n, inner, lambda t: outer(inner(t)), radius, n_round=len(steps), t=borders)


def round_about(points):
    return 4000 * points / np.linalg.norm(points, axis=1, keepdims=True)


def beside(distance):
    """A square that lies that much farther out than the opening."""
    return lambda points: (50 + distance) * points / np.abs(points).max(axis=1, keepdims=True)


def pulled(kind, n, radius, behaviour="plane stress"):
    """A wide sheet of 1 mm with the opening, pulled along x by 1 MPa."""
    mesh = opening(kind, n, radius, round_about)
    loads = edge_loads(mesh, "s=1", even(1.0, 0.0))
    supports = [fk.Support("t=0", uy=0), fk.Support("t=1", ux=0)]
    if behaviour == "shell":
        supports = [fk.symmetry("t=0", "y"), fk.symmetry("t=1", "x"), fk.Support(fk.near(4000, 0), uz=0)]
    cases = [fk.LoadCase("pull", loads)]
    return fk.solve_static(fk.Model(mesh, fk.Plate(1, STEEL), supports=supports, load_cases=cases, behaviour=behaviour))


def peak(result):
    return principal(stress_at(result["pull"], "s=0"))[0][:, 0].max()


@pytest.mark.parametrize("kind, n", [("quad", 4), ("triangle6", 4), ("quad8", 3)])
def test_peaks_of_rounded_openings_come_out_of_a_coarse_whole(kind, n):
    peaks = {}
    for radius, reference in PEAKS.items():
        whole = pulled(kind, n, radius)
        answer = fk.solve_static(fk.local_model(whole, opening("quad", 24, radius, beside(50))))
        peaks[radius] = peak(answer)
        assert peaks[radius] == pytest.approx(reference, rel=0.02), radius  # 0.3 to 1.1 %; 2 % is the aim
        assert peak(whole) < 0.92 * reference  # 9 to 18 % low: it is the detail that does it
        assert fk.check_border(whole, answer).is_far_enough
    assert list(peaks.values()) == sorted(peaks.values(), reverse=True)  # the sharper, the higher


def test_a_shell_detail_has_the_same_peak():
    whole = pulled("quad", 4, 0.1, "shell")
    answer = fk.solve_static(fk.local_model(whole, opening("quad", 16, 0.1, beside(50))))
    assert peak(answer) == pytest.approx(PEAKS[0.1], rel=0.02)


def test_a_border_too_near_is_told_by_the_stress_along_it():
    # two cells round a corner and a border at an eighth of the opening: the whole has too little stress there, and the
    # detail's peak is 6 % low
    whole = pulled("quad", 2, 0.2)
    answer = fk.solve_static(fk.local_model(whole, opening("quad", 16, 0.2, beside(12))))
    assert peak(answer) < 0.95 * PEAKS[0.2]
    check = fk.check_border(whole, answer)
    assert not check.is_far_enough
    assert "BorderCheck: not far enough" in repr(check)
    table = check.table()
    assert table.loc["pull", "far enough"] == "no"
    assert table.loc["pull", "over the whole's"] == check.apart["pull"] > 0.1


def test_moving_the_border_outward_tells_it_too():
    whole = pulled("quad", 2, 0.1)
    run = lambda d: fk.local_model(whole, opening("quad", 12, 0.1, beside(d)))  # noqa: E731
    effect = fk.border_effect(run, peak, (12, 100, 200))
    assert effect.is_far_enough and abs(effect.change) < 0.02
    assert "far enough; from 100 to 200 mm the value changes by" in repr(effect)
    near = fk.study.BorderEffect(effect.distances[:2], effect.values[:2], 0.02)
    assert not near.is_far_enough
    assert effect.table()["change"].tolist()[1:] == pytest.approx([near.change, effect.change])
    with pytest.raises(fk.ModelError, match=r"distances are \[200.0, 100.0\] mm; there must be two or more that rise"):
        fk.border_effect(run, peak, (200, 100))


# -- the demo ---------------------------------------------------------------------------------------------------------


def test_a_corner_of_the_demos_doorway():
    # invented loads; the peak at the doorway's head, its cells cut in four twice, does not depend on the border's place
    wall = fk.read_mesh(CUT_OUT)
    plates = {name: fk.Plate(3, STEEL) for name in wall.cell_sets}
    held = [fk.Support("floor-line", ux=0, uy=0, uz=0), fk.Support("roof-line", uy=0)]
    cases = [fk.LoadCase("racked", [fk.LineLoad("roof-line", fx=2.0)])]
    whole = fk.solve_static(fk.Model(wall, plates, supports=held, load_cases=cases))

    def model(distance):
        box = fk.inside(x=(4350 - distance, 4350 + distance), z=(1870 - distance, 1870 + distance))
        outside = np.setdiff1d(np.arange(wall.n_cells), box.choose(wall.centres))
        return fk.local_model(whole, fk.refine(fk.refine(wall.without(outside))))

    corner = fk.inside(x=(4250, 4400), z=(1850, 1960))

    def judged(result):
        return result["racked"].judged_stress()[corner.choose(result.model.mesh.centres)].max()

    effect = fk.border_effect(model, judged, (200, 360))
    assert abs(effect.change) < 0.005
    assert effect.values[-1] == pytest.approx(judged(whole), rel=0.08)  # the whole's own cells are not much too coarse


# -- borders and refusals ---------------------------------------------------------------------------------------------


def test_a_border_may_be_named_and_curved_edges_are_no_border():
    whole = pulled("quad", 4, 0.2)
    detail = opening("quad", 16, 0.2, beside(50))
    found = fk.local_model(whole, detail)
    assert np.unique(found.mesh.edge_sets["border"]).tolist() == np.unique(detail.edge_sets["s=1"]).tolist()
    for border in ("s=1", np.unique(detail.edge_sets["s=1"])):
        named = fk.local_model(whole, detail, border=border)
        assert peak(fk.solve_static(named)) == pytest.approx(peak(fk.solve_static(found)), rel=1e-12)
    with pytest.raises(fk.ModelError, match=r'the detail has a set "border" already; say border="border"'):
        fk.local_model(whole, found.mesh)


def test_a_border_off_the_whole_is_refused_with_the_place():
    whole = driven(grid(200, 100, 5, 4), stretched)
    with pytest.raises(fk.ModelError, match=r"border lie too far off .* at \(.*\) mm by 9 mm, where 3.162 mm"):
        fk.local_model(whole, moved(grid(80, 40, 4, 4), [60, 30, 9]))
    with pytest.raises(fk.ModelError, match="no free edge of the detail lies where the whole goes on"):
        fk.local_model(whole, whole.model.mesh)


def test_a_detail_turned_over_is_refused():
    whole, detail = sheet_of()
    turned = replace(detail, cells={"quad": detail.cells["quad"][:, ::-1]})
    with pytest.raises(
        fk.ModelError, match=r"the top of 24 cells of the detail is the whole's bottom, the first at \("
    ):
        fk.local_model(whole, turned)


def test_pressure_is_not_lost_in_a_detail_smaller_than_a_cell():
    pushed = [fk.LoadCase("pushed", [fk.Pressure("pad", 0.001), fk.Gravity()])]
    whole, _detail = sheet_of(load_cases=pushed)
    detail = moved(grid(20, 20, 4, 4), [115, 65, 0])
    with pytest.raises(fk.ModelError, match=r'pressure on "pad": it acts inside the detail, whose mesh has no'):
        fk.local_model(whole, detail)
    local = fk.local_model(whole, replace(detail, cell_sets={"pad": np.arange(16)}), plates=fk.Plate(4, STEEL))
    # by hand: 0.001 MPa on 20 × 20 mm, and the weight of 4 mm of steel
    assert local.load_total(local.load_cases[0])[2] == pytest.approx(-0.4 - 400 * 4 * 7.85e-9 * 9806.65)


def test_what_a_detail_off_the_sheet_by_little_gets_is_carried_rigidly():
    # by hand: of a turn of 1e-3 about x, a place 2 mm above the sheet moves by -2e-3 mm along y
    turned = lambda x, y: {c: 0 * x for c in ("ux", "uy", "ry", "rz")} | {"rx": 1e-3 + 0 * x, "uz": 1e-3 * y}  # noqa: E731
    local = fk.local_model(driven(grid(200, 100, 5, 4), turned), moved(grid(80, 40, 4, 4), [60, 30, 2]))
    (support,) = local.load_cases[0].supports
    assert support.uy == pytest.approx(np.full(16, -2e-3))


def sheet_of(**more):
    """A solved sheet of 400 × 200 mm, and its part left of x = 300 mm."""
    mesh = grid(400, 200, 8, 4).with_cells("pad", fk.inside(x=(100, 200), y=(50, 150)))
    held = [fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)]
    cases = [fk.LoadCase("case", [fk.LineLoad("right", fx=1), fk.LineLoad("far", fz=-0.01)])]
    model = fk.Model(mesh, fk.Plate(4, STEEL), **({"supports": held, "load_cases": cases} | more))
    return fk.solve_static(model), mesh.without(fk.inside(x=(300, 400)))


@pytest.mark.parametrize(
    "change, sentence",
    [
        (
            {"supports": [fk.Support("left", ux=0, uy=0, uz=0, rx=0), fk.Support("pad", uz=0, mean=True)]},
            'support "pad": it holds the mean of points that lie inside the detail',
        ),
        ({"links": [fk.Spring("pad", uz=10)]}, 'spring on "pad": it joins points inside the detail'),
        (
            {"load_cases": [fk.LoadCase("spread", [fk.SpreadLoad("far", fz=-5, at=(150, 0, 0))])]},
            'spread load on "far": a part of its set lies outside the detail',
        ),
        (
            {"load_cases": [fk.LoadCase("free", [fk.LineLoad("right", fx=1)], supports=[], balanced=True)]},
            'load case "free": inertia balances it, which a detail does not',
        ),
        (
            {"load_cases": [fk.LoadCase("at 20", [fk.PointLoad([20], fz=-5)])]},
            'point load on "1 indices": it acts inside the detail',
        ),
    ],
)
def test_what_can_not_be_repeated_in_a_detail_is_refused(change, sentence):
    with pytest.raises(fk.ModelError, match=sentence):
        fk.local_model(*sheet_of(**change))


def test_what_the_detail_has_no_set_for_is_refused_all_together():
    whole = fk.solve_static(loaded(flanged()))
    mesh = whole.model.mesh
    detail = replace(mesh.without(fk.inside(x=(300, 400))).without(fk.inside(x=(0, 100))), edge_sets={}, point_sets={})
    with pytest.raises(fk.ModelError) as said:
        fk.local_model(whole, detail)
    for thing in (
        'line load on "ridge"',
        'point load on "hook"',
        'support "far"',
        'line mass on "ridge"',
        'beam "near"',
    ):
        assert f"{thing}: it acts inside the detail, whose mesh has no such set" in str(said.value)


def test_a_point_load_on_more_points_is_refused():
    whole, detail = sheet_of(load_cases=[fk.LoadCase("hung", [fk.PointLoad("far", fz=-1)])])
    # by hand: the points at x = 0 … 250 mm, and those halfway; the border is not counted
    with pytest.raises(fk.ModelError, match=r"it stands on 6 points inside the detail, whose mesh has 12 there"):
        fk.local_model(whole, fk.refine(detail))

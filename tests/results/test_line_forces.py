"""Forces per length along seams against thin-walled beams by hand, and in balance with everything else."""

import numpy as np
import pytest
from sheets import STEEL, cantilever, grid

import femkit as fk
from femkit.mesh import free_edges
from femkit.verify.grids import grid as quadratic_grid

SIDE, LENGTH, WALL = 80.0, 480.0, 2.0


def square_box(n_along=48, n_side=8):
    """A closed square box of walls 2 mm thick along x, without ends; set "wall" is one of its four sides."""
    corner = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]) * SIDE
    run = np.arange(4 * n_side) / n_side
    section = np.column_stack([np.interp(run, range(5), corner[:, i]) for i in (0, 1)])
    x = np.linspace(0, LENGTH, n_along + 1)
    points = np.array([[at, y, z] for at in x for y, z in section])
    number = np.arange(len(points)).reshape(n_along + 1, -1)
    here, beyond = number[:-1], number[1:]
    quads = np.stack([here, beyond, np.roll(beyond, -1, 1), np.roll(here, -1, 1)], axis=-1).reshape(-1, 4)
    mesh = fk.Mesh(points, {"quad": quads})
    mesh = mesh.with_cells("wall", fk.inside(y=(SIDE - 1e-6, SIDE + 1e-6))).with_cells("all", np.arange(len(quads)))
    rest = np.setdiff1d(np.arange(mesh.n_cells), mesh.cell_sets["wall"])
    return mesh.with_cells("rest", rest)


@pytest.fixture(scope="module")
def twisted():
    mesh, torque = square_box(), 4e5
    flow = torque / (2 * SIDE**2)
    end = free_edges(mesh)
    end = end[(mesh.points[end, 0] == LENGTH).all(axis=1)]
    loads = []
    for axis, other, sign in ((1, 2, 1), (2, 1, 1)):
        for at, way in ((0.0, 1.0), (SIDE, -1.0)):
            edges = end[(mesh.points[end, other] == at).all(axis=1)]
            shear = flow * way * sign * (1 if axis == 1 else -1)
            loads.append(fk.LineLoad(edges, **{f"f{'xyz'[axis]}": shear}))
    model = fk.Model(
        mesh,
        {"wall": fk.Plate(WALL, STEEL), "rest": fk.Plate(WALL, STEEL)},
        supports=[fk.Support(fk.on_plane(x=0), ux=0, uy=0, uz=0)],
        load_cases=[fk.LoadCase("torque", loads)],
    )
    return fk.solve_static(model)["torque"], torque


def test_shear_flow_of_a_twisted_box_is_bredts(twisted):
    # R. Bredt, VDI-Z. 40 (1896): q = T / 2A. The walls' own twisting takes s t³/3 over 4A²t/s of it: 0.08 %
    case, torque = twisted
    assert case.load[:, 1:3].sum(axis=0) == pytest.approx([0, 0], abs=1e-6)
    seam = case.line_forces("wall", "rest")
    assert seam.line.max() == 1  # both corners of the box
    around = 4 * SIDE
    own = around * WALL**3 / 3 / (4 * SIDE**4 * WALL / around)
    expected = torque / (2 * SIDE**2) * (1 - own)
    middle = np.abs(seam.places[:, 0] - LENGTH / 2) < LENGTH / 4
    assert np.abs(seam.force[middle, 0]) == pytest.approx(expected, rel=2e-3)  # a tenth of the side a cell
    assert np.abs(seam.force[middle, 1:]).max() < 2e-3 * expected
    first, second = (seam.force[middle & (seam.line == k), 0].mean() for k in (0, 1))
    assert first == pytest.approx(second, rel=1e-6)  # along runs the other way round on the other corner


def test_a_seam_is_in_balance_with_all_that_acts_on_the_part(twisted):
    case, _torque = twisted
    seam = case.line_forces("wall", "rest")
    on_line = np.unique(case.model.mesh.corners[case.model.mesh.cell_sets["rest"]])
    free = np.setdiff1d(np.unique(case.model.mesh.corners[case.model.mesh.cell_sets["wall"]]), on_line)
    outer = (case.load + case.reaction)[free]
    force, moment = seam.total(about=(100.0, 20.0, -30.0))
    arm = case.model.mesh.points[free] - (100.0, 20.0, -30.0)
    assert force == pytest.approx(-outer[:, :3].sum(axis=0), abs=1e-6)
    assert moment == pytest.approx(-(np.cross(arm, outer[:, :3]) + outer[:, 3:]).sum(axis=0), abs=1e-4)


def test_a_seam_across_the_box_is_its_section(twisted):
    case, torque = twisted
    mesh = case.model.mesh
    beyond = fk.inside(x=(LENGTH / 2, LENGTH)).choose(mesh.centres)
    seam = case.line_forces(np.setdiff1d(np.arange(mesh.n_cells), beyond), beyond)
    assert seam.length == pytest.approx(4 * SIDE)
    force, moment = seam.total(about=(LENGTH / 2, SIDE / 2, SIDE / 2))
    section = case.section(x=LENGTH / 2, about=(LENGTH / 2, SIDE / 2, SIDE / 2))
    assert force == pytest.approx(section.force, abs=1e-6)
    assert moment == pytest.approx(section.moment, abs=1e-3)
    assert moment[0] == pytest.approx(torque, rel=1e-8)


def test_shear_flow_between_flange_and_web_is_vq_over_i():
    # S. P. Timoshenko, Strength of Materials, part I: q = V Q / I. A tee of flange 60 x 5 and web 100 x 4 as a
    # cantilever of 800 mm with its tip loaded, thin lines: areas at the middle planes
    flange, web, span, tip = (60.0, 5.0), (100.0, 4.0), 800.0, 2000.0
    fold = lambda p: np.column_stack(  # noqa: E731
        [p[:, 0], np.clip(p[:, 1], None, flange[0]) - flange[0] / 2, np.zeros(len(p))]
    )
    top = grid(span, flange[0], 80, 6, to_space=fold)
    stem = grid(span, web[0], 80, 10, to_space=lambda p: np.column_stack([p[:, 0], 0 * p[:, 0], p[:, 1] - web[0]]))
    points = np.concatenate([top.points, stem.points])
    _, first, number = np.unique(points.round(6), axis=0, return_index=True, return_inverse=True)
    quads = np.concatenate([top.cells["quad"], stem.cells["quad"] + top.n_points])
    sets = {"flange": np.arange(top.n_cells), "web": np.arange(top.n_cells, len(quads))}
    mesh = fk.Mesh(points[first], {"quad": number.ravel()[quads]}, cell_sets=sets)
    ends = fk.inside(x=(span, span), y=(0, 0))
    model = fk.Model(
        mesh,
        {"flange": fk.Plate(flange[1], STEEL), "web": fk.Plate(web[1], STEEL)},
        supports=[fk.Support(fk.on_plane(x=0), ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)],
        load_cases=[fk.LoadCase("tip", [fk.PointLoad(ends, fz=-tip, total=True)])],
    )
    seam = fk.solve_static(model)["tip"].line_forces("web", "flange")
    areas = np.array([flange[0] * flange[1], web[0] * web[1]])
    heights = np.array([0.0, -web[0] / 2])
    centre = areas @ heights / areas.sum()
    inertia = web[1] * web[0] ** 3 / 12 + areas @ (heights - centre) ** 2
    expected = tip * areas[0] * abs(centre) / inertia
    middle = np.abs(seam.places[:, 0] - span / 2) < 100
    assert np.abs(seam.force[middle, 0]) == pytest.approx(expected, rel=0.01)  # shear of the flange's own is left out


def test_lines_end_at_corners_and_closed_lines_come_back(twisted):
    mesh = twisted[0].model.mesh
    patch = fk.inside(x=(100, 200), y=(SIDE - 1, SIDE + 1), z=(20, 60)).choose(mesh.centres)
    seam = twisted[0].line_forces(patch)
    assert seam.line.max() == 3
    assert seam.length == pytest.approx(2 * (100 + 40))
    assert seam.distance[seam.line == 0][-1] == pytest.approx(seam.share[seam.line == 0].sum())
    assert seam.force.shape == seam.moment.shape == seam.places.shape
    assert len(seam.table()) == len(seam.line)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("wall", "walls"), 'no cell set of the name "walls"'),
        (("wall", "wall"), "the second has no cell of its own"),
        (("all", None), "share no edge"),
    ],
)
def test_bad_seams_are_named(twisted, given, words):
    with pytest.raises(fk.ModelError, match=words):
        twisted[0].line_forces(*given)


def test_a_line_inside_the_first_part_is_refused(twisted):
    mesh = twisted[0].model.mesh
    edges = mesh.edges.points[mesh.edges.count == 2][:1]
    with pytest.raises(fk.ModelError, match="more than one cell of the first part; take the other part first"):
        twisted[0].line_forces("all", edges=edges)


def test_means_over_stretches_carry_what_the_line_carries(twisted):
    seam = twisted[0].line_forces("wall", "rest")
    assert seam.lengths == pytest.approx([LENGTH, LENGTH])
    ends = np.linspace(0, LENGTH, 8)
    mean, of_line = seam.mean(1, ends[:-1], ends[1:]), seam.line == 1
    passed = np.hstack([seam.force, seam.moment])[of_line] * seam.share[of_line, None]
    assert (mean * np.diff(ends)[:, None]).sum(axis=0) == pytest.approx(passed.sum(axis=0), abs=1e-6)
    whole = seam.averaged(2 * LENGTH)
    assert whole.force[of_line, 0] == pytest.approx(np.full(of_line.sum(), passed[:, 0].sum() / LENGTH))
    assert seam.averaged(0.01).force == pytest.approx(seam.force, abs=1e-9)
    for over in (0, -5, np.nan):
        with pytest.raises(fk.ModelError, match="wall to rest: the length to average over is"):
            seam.averaged(over)


def test_the_rivets_of_a_twisted_box_carry_bredts_flow_at_their_pitch(twisted):
    # R. Bredt, VDI-Z. 40 (1896): q p = T p / 2A; the walls' own twisting takes 0.08 %
    case, torque = twisted
    rivets = fk.assess.fasteners(case.line_forces("wall", "rest"), diameter=6, pitch=30, thickness=WALL)
    middle = np.abs(rivets.places[:, 0] - LENGTH / 2) < LENGTH / 4
    assert len(middle) == 2 * 16
    assert rivets.values["shear force (N)"][middle] == pytest.approx(torque / (2 * SIDE**2) * 30, rel=3e-3)


def test_the_seams_of_a_riveted_box_carry_vs_over_2i():
    # covers 300 x 4 outside two webs 200 x 3, V = 30 kN: S 122 400, I 28 972 800, V S / 2 I = 63.369781 N/mm, by hand
    span, wide, high = 1200.0, 300.0, 200.0
    flat = lambda z: lambda p: np.column_stack([p[:, 0], p[:, 1] - wide / 2, 0 * p[:, 0] + z])  # noqa: E731
    upright = lambda y: lambda p: np.column_stack([p[:, 0], 0 * p[:, 0] + y, p[:, 1] - high / 2])  # noqa: E731
    sides = {"upper": (wide, flat(high / 2)), "lower": (wide, flat(-high / 2))}
    sides |= {"left": (high, upright(-wide / 2)), "right": (high, upright(wide / 2))}
    grids = {name: grid(span, width, 24, 6, to_space=place) for name, (width, place) in sides.items()}
    points = np.concatenate([one.points for one in grids.values()])
    _, first, number = np.unique(points.round(6), axis=0, return_index=True, return_inverse=True)
    starts = np.cumsum([0] + [one.n_points for one in grids.values()])
    quads = np.concatenate([one.cells["quad"] + start for one, start in zip(grids.values(), starts)])
    sets = {name: np.arange(144) + 144 * k for k, name in enumerate(sides)}
    mesh = fk.Mesh(points[first], {"quad": number.ravel()[quads]}, cell_sets=sets | {"webs": np.arange(288, 576)})
    plates = {name: fk.Plate(4.0, STEEL, offset=side) for name, side in (("upper", 2.0), ("lower", -2.0))}
    plates |= {name: fk.Plate(3.0, STEEL) for name in ("left", "right")}
    assert (mesh.normals[mesh.cell_sets["lower"], 2] > 0).all()  # both covers' tops look up
    held = fk.Support(fk.on_plane(x=0), ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    ends = mesh.edges.points[(mesh.points[mesh.edges.points][..., 0] == span).all(axis=1)]
    ends = ends[np.ptp(mesh.points[ends][..., 1], axis=1) == 0]
    tip = fk.LoadCase("V", [fk.LineLoad(ends, fz=-30_000, total=True)])
    case = fk.solve_static(fk.Model(mesh, plates, supports=[held], load_cases=[tip]))["V"]
    seam = case.line_forces("upper", "webs")
    middle = np.abs(seam.places[:, 0] - span / 2) < 200
    assert np.abs(seam.force[middle, 0]) == pytest.approx(63.369781, rel=0.02)
    rivets = fk.assess.fasteners(seam, diameter=10, pitch=40, thickness=3)
    middle = np.abs(rivets.places[:, 0] - span / 2) < 200
    assert rivets.values["shear force (N)"][middle] == pytest.approx(63.369781 * 40, rel=0.02)


def test_bending_that_presses_the_top_is_a_positive_moment_along_the_line():
    strip = cantilever(n_width=4, loads=[fk.LineLoad("right", fz=-10, total=True)])
    case = fk.solve_static(strip)["load"]
    seam = case.line_forces(strip.mesh.centres[:, 0] < 100)
    assert seam.averaged(20).moment[:, 0] == pytest.approx(-10 * 100 / 20, rel=1e-6)  # statics: F l / width
    butt = fk.assess.butt_welds(seam, thickness=5, yield_strength=235)
    assert butt.values["stress (MPa)"] == pytest.approx(6 * 50 / 25, rel=0.01)
    beside = np.abs(strip.mesh.centres[:, 0] - 100) < 6
    assert case.stress("top")[beside, 0].mean() == pytest.approx(6 * 50 / 25, rel=0.01)


def test_moments_of_an_offset_plate_are_about_its_middle_plane():
    # statics: pulled 2 mm beside its middle plane, a strip is bent by N e
    sheet, held = grid(100, 20, 10, 4), fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    pull = fk.LoadCase("pull", [fk.LineLoad("right", fx=100)])
    model = fk.Model(sheet, fk.Plate(4.0, STEEL, offset=2.0), supports=[held], load_cases=[pull])
    case = fk.solve_static(model)["pull"]
    seam = case.line_forces(sheet.centres[:, 0] < 50)
    assert seam.moment[:, 0] == pytest.approx(200, rel=0.01) and seam.places[:, 2] == pytest.approx(2)
    assert seam.total()[1] == pytest.approx([0, 0, -100 * 20 * 10], abs=1e-6)
    butt = fk.assess.butt_welds(seam, thickness=4, yield_strength=235)
    assert butt.values["stress (MPa)"] == pytest.approx(100 / 4 + 6 * 200 / 16, rel=0.02)
    beside = np.abs(sheet.centres[:, 0] - 50) < 6
    assert case.stress("bottom")[beside, 0].mean() == pytest.approx(100, rel=0.02)


@pytest.mark.parametrize("kind", ["quad8", "quad9", "triangle6"])
def test_an_even_force_comes_out_even_of_quadratic_cells(kind):
    sheet = quadratic_grid(kind, 4, 2, lambda s, t: np.column_stack([40 * s, 20 * t]))
    held = [fk.Support(fk.on_plane(x=0), ux=0), fk.Support(fk.near(0, 0, 0), uy=0)]
    pull = fk.LoadCase("pull", [fk.LineLoad("s=1", fx=20)])
    model = fk.Model(sheet, fk.Plate(2, STEEL), supports=held, load_cases=[pull], behaviour="plane stress")
    seam = fk.solve_static(model)["pull"].line_forces(sheet.centres[:, 0] < 20)
    assert seam.force[:, 1] == pytest.approx(20) and seam.length == pytest.approx(20)


def test_pictures_of_a_seam_say_what_they_show(twisted):
    seam = twisted[0].line_forces("wall", "rest")
    picture = seam.plot(1, over=40, title="What passes through the corner?")
    assert picture.alt.startswith("What passes through the corner?. N/mm, mean over 40 mm over mm along the line from")
    with pytest.raises(fk.ModelError, match="there is no line 3; there are 0 … 1"):
        seam.plot(3)


def test_the_lines_of_a_border_add_up_to_what_acts_on_the_part():
    # statics by hand: a patch under a force of its own, held by four neighbours that meet it in its corners
    sheet = grid(120, 90, 12, 9, to_space=lambda p: p + [0, 0, 1] * (0.002 * p[:, :1] ** 2))
    x, y = (sheet.centres - [60, 45, 0])[:, :2].T
    patch = (np.abs(x) < 20) & (np.abs(y) < 15)
    push = fk.PointLoad(fk.near(60, 40, 7), fx=70, fy=-40, fz=10, mx=300)
    held = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    model = fk.Model(sheet, fk.Plate(3.0, STEEL), supports=[held], load_cases=[fk.LoadCase("push", [push])])
    case, place = fk.solve_static(model)["push"], sheet.points[fk.near(60, 40, 7).choose(sheet.points)][0]
    sides = [~patch & side for side in (x < -20, x > 20, (np.abs(x) < 20) & (y > 0), (np.abs(x) < 20) & (y < 0))]
    parts = [case.line_forces(patch, side) for side in sides]
    assert sorted(len(part.line) for part in parts) == [4, 4, 5, 5]  # corners in two each
    force, moment = (sum(each) for each in zip(*(part.total(place) for part in parts)))
    assert force == pytest.approx([-70, 40, -10], abs=1e-9 * 80)
    assert moment == pytest.approx([-300, 0, 0], abs=1e-9 * 80 * 120)

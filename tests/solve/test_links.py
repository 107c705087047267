"""Parts joined without common points: rigid links, joined lines, seams that give, springs; and their faults."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk

CLAMP = dict(ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)


def together(**parts):
    """One mesh of several that share no points: sets get their part's name in front."""
    points, cells, cell_sets, edge_sets, start, first = [], [], {}, {}, 0, 0
    for name, part in parts.items():
        points.append(part.points)
        cells.append(part.cells["quad"] + start)
        cell_sets[name] = first + np.arange(part.n_cells)
        edge_sets |= {f"{name} {edge}": pairs + start for edge, pairs in part.edge_sets.items()}
        start, first = start + part.n_points, first + part.n_cells
    return fk.Mesh(np.concatenate(points), {"quad": np.concatenate(cells)}, cell_sets=cell_sets, edge_sets=edge_sets)


def shifted(mesh, *by):
    return replace(mesh, points=mesh.points + np.array(by, dtype=float))


def butt(links, *, load, n_right=5, nu=0.3):
    """Two sheets of 100 × 60 × 4 end to end, with 4 and with `n_right` cells over the width."""
    mesh = together(
        a=grid(100, 60, 8, 4),
        b=shifted(grid(100, 60, 8, n_right), 100, 0, 0),
    )
    return fk.Model(
        mesh,
        fk.Plate(4.0, replace(STEEL, nu=nu)),
        supports=[fk.Support("a left", **CLAMP)],
        load_cases=[fk.LoadCase("load", load)],
        links=links,
    )


WELD = fk.JoinedLine("b left", "a")


@pytest.mark.parametrize("load", [dict(fx=100.0), dict(fz=0.1), dict(fy=20.0), dict(mx=50.0)], ids=str)
def test_a_joined_line_is_as_stiff_as_one_sheet(load):
    whole = fk.Model(
        grid(200, 60, 16, 4),
        fk.Plate(4.0, replace(STEEL, nu=0.3)),
        supports=[fk.Support("left", **CLAMP)],
        load_cases=[fk.LoadCase("load", fk.LineLoad("right", **load))],
    )
    one = fk.solve_static(whole)["load"].displacement_at("right")
    two = fk.solve_static(butt([WELD], load=fk.LineLoad("b right", **load)))["load"].displacement_at("b right")
    # common practice, no source: collocated points pass displacement on, stress near the line is disturbed
    assert two == pytest.approx(one, rel=0.01, abs=1e-3 * np.abs(one).max())


def test_a_joined_line_passes_forces_on_in_balance():
    model = butt([WELD], load=[fk.LineLoad("b right", fx=10.0, fy=5.0, fz=0.1)], n_right=7)
    result = fk.solve_static(model)
    case = result["load"]
    on_joint = np.unique(model.mesh.edge_sets["b left"])
    assert np.abs(case.reaction[on_joint]).max() == 0  # what a link passes on is no reaction
    total = case.reaction[:, :3].sum(axis=0)
    assert total == pytest.approx([-600, -300, -6], rel=1e-9)
    assert case.section(x=100.0 + 1e-3).force == pytest.approx(case.section(x=150).force, rel=1e-9)


def test_a_doubler_off_the_sheet_is_joined_with_its_lever():
    # one-sided doubler: 3 + 3 mm joined along both edges of a strip bends as one section of 6 mm would where the edges
    # hold it: closed form I = 18 per mm against 2 × 2.25 loose (parallel axes)
    def strip(links):
        mesh = together(base=grid(400, 20, 40, 2), pad=shifted(grid(400, 20, 50, 3), 0, 0, 3))
        every = fk.inside(z=(2.9, 3.1))
        return fk.Model(
            mesh,
            fk.Plate(3.0, replace(STEEL, nu=0.0)),
            supports=[fk.Support("base left", **CLAMP)],
            load_cases=[fk.LoadCase("load", fk.LineLoad("base right", my=-50.0))],
            links=[fk.JoinedLine(every, "base", within=3.01)] if links else [],
        )

    # a constant moment of 20 × 50 N mm: end rotation M L / E I with I = b h3 / 12
    turned = fk.solve_static(strip(True))["load"].displacement_at("base right")[4]
    assert turned == pytest.approx(-50 * 400 / (210_000 * 6**3 / 12), rel=2e-3)


def test_a_rigid_link_carries_a_force_beside_the_structure():
    # a force on a rigid arm: M = F e at the end of a cantilever, FL3/3EI and F e L / GJ with the free end held straight
    mesh = grid(300, 20, 30, 2)
    points = np.vstack([mesh.points, [[300, 10, 80]]])
    mesh = replace(mesh, points=points, point_sets={"hook": [len(points) - 1]})
    model = fk.Model(
        mesh,
        fk.Plate(5.0, replace(STEEL, nu=0.0)),
        supports=[fk.Support("left", **CLAMP)],
        load_cases=[fk.LoadCase("pull", fk.PointLoad("hook", fx=100.0))],
        links=[fk.RigidLink("right", "hook")],
    )
    case = fk.solve_static(model)["pull"]
    stiff = 210_000 * 20 * 5**3 / 12
    moment = 100.0 * 80
    middle = case.displacement_at("right")
    assert middle[4] == pytest.approx(moment * 300 / stiff, rel=1e-3)  # about +y by a pull above: z cross x
    assert middle[2] == pytest.approx(-moment * 300**2 / 2 / stiff, rel=1e-3)
    hook = case.displacement[-1]
    assert hook[0] == pytest.approx(middle[0] + 80 * middle[4], rel=1e-9)
    assert case.reaction[:, 4].sum() + (mesh.points[:, 2] * case.reaction[:, 0]).sum() == pytest.approx(
        -moment + (mesh.points[:, 0] * case.reaction[:, 2]).sum(), rel=1e-6
    )


def test_links_may_follow_one_another():
    """A chain of links does what one long link does."""
    mesh = grid(100, 20, 10, 2)
    points = np.vstack([mesh.points, [[100, 10, 40], [100, 10, 90]]])
    n = len(mesh.points)
    mesh = replace(mesh, points=points)
    common = dict(
        supports=[fk.Support("left", **CLAMP)], load_cases=[fk.LoadCase("pull", fk.PointLoad([n + 1], fx=10.0, fy=3.0))]
    )
    chain = [fk.RigidLink("right", [n]), fk.RigidLink([n], [n + 1])]
    long = [fk.RigidLink("right", [n + 1]), fk.RigidLink([n], [n + 1])]
    one, other = (
        fk.solve_static(fk.Model(mesh, fk.Plate(5.0, STEEL), links=links, **common))["pull"].displacement
        for links in (chain, long)
    )
    assert one == pytest.approx(other, rel=1e-9, abs=1e-12)


def test_links_on_held_points_hold_their_masters():
    """A rigid bar between a held point and a sheet is a clamp for the sheet."""
    mesh = grid(100, 20, 10, 2)
    n = len(mesh.points)
    mesh = replace(mesh, points=np.vstack([mesh.points, [[-30, 10, 0]]]))
    load = [fk.LoadCase("load", fk.LineLoad("right", fz=-0.1))]
    plate = fk.Plate(5.0, STEEL)
    clamped = fk.Model(mesh, plate, supports=[fk.Support("left", **CLAMP), fk.Support([n], ux=0)], load_cases=load)
    clamped = replace(clamped, links=[fk.RigidLink([n], [0])], supports=[fk.Support("left", **CLAMP)])
    linked = fk.Model(
        mesh, plate, supports=[fk.Support([n], **CLAMP)], load_cases=load, links=[fk.RigidLink("left", [n])]
    )
    one, other = (fk.solve_static(model)["load"] for model in (clamped, linked))
    assert other.displacement[:-1] == pytest.approx(one.displacement[:-1], rel=1e-8, abs=1e-12)
    assert other.reaction[n, 2] == pytest.approx(2.0)  # 0.1 N/mm on 20 mm
    assert np.abs(other.reaction[:-1]).max() == 0


@pytest.mark.parametrize("stiffness", [2e3, 2e5])
def test_a_seam_shares_force_as_a_lap_joint_does(stiffness):
    # O. Volkersen, Luftfahrtforschung 15 (1938) 41-47: two equal strips of stiffness EA joined over a length L by an
    # even shear stiffness k a length: flow q(x) = F w/2 cosh(w x) / sinh(w L/2) from the middle, w2 = 2 k / EA
    length, width, t, pitch, pull = 200.0, 10.0, 2.0, 10.0, 1000.0
    mesh = together(
        low=grid(length, width, 80, 2),
        high=grid(length, width, 60, 2),
    )
    seam = fk.Seam(
        "high middle", "low", along=stiffness, across=stiffness, normal=stiffness, pitch=pitch, source="invented"
    )
    middle = np.flatnonzero(np.isclose(mesh.points[:, 1], width / 2) & (np.arange(mesh.n_points) >= 81 * 3))
    mesh = replace(mesh, edge_sets={**mesh.edge_sets, "high middle": np.column_stack([middle[:-1], middle[1:]])})
    model = fk.Model(
        mesh,
        fk.Plate(t, replace(STEEL, nu=0.0)),
        supports=[fk.Support("low left", **CLAMP), fk.Support(np.arange(mesh.n_points), uy=0, uz=0, rx=0, ry=0, rz=0)],
        load_cases=[fk.LoadCase("pull", fk.LineLoad("high right", fx=pull, total=True))],
        links=[seam],
    )
    case = fk.solve_static(model)["pull"]
    points, force = case.seam_forces(seam)
    shares = seam.fasteners(mesh)
    assert (force[:, 0] * shares).sum() == pytest.approx(pull, rel=1e-9)
    w = np.sqrt(2 * stiffness / pitch / (210_000 * width * t))
    x = mesh.points[points, 0] - length / 2
    flow = pull * w / 2 * np.cosh(w * x) / np.sinh(w * length / 2)
    inner = np.abs(x) < 0.8 * length / 2  # at the ends the strips' own width spreads the force
    assert force[inner, 0] / pitch == pytest.approx(flow[inner], rel=0.02, abs=0.01 * flow.max())


def test_springs_to_the_ground_and_between_points():
    # F = k u; a beam on a spring in line: 1/k + L3/3EI
    mesh = grid(200, 20, 20, 2)
    n = len(mesh.points)
    mesh = replace(mesh, points=np.vstack([mesh.points, [[200, 10, 0]]]))
    model = fk.Model(
        mesh,
        fk.Plate(5.0, replace(STEEL, nu=0.0)),
        supports=[fk.Support([n], ux=0, uy=0, rx=0, ry=0, rz=0), fk.Support("left", **CLAMP)],
        load_cases=[fk.LoadCase("push", fk.PointLoad([n], fz=-50.0))],
        links=[fk.Spring(fk.near(200, 10), [n], uz=25.0)],
    )
    near = int(np.flatnonzero(np.all(mesh.points[:n] == [200, 10, 0], axis=1))[0])
    model = replace(model, links=[fk.Spring([n], [near], uz=25.0)])
    moved = fk.solve_static(model)["push"].displacement
    assert moved[n, 2] - moved[near, 2] == pytest.approx(-2.0, rel=1e-6)
    grounded = replace(
        model,
        supports=[fk.Support([n], **CLAMP), fk.Support("left", ux=0, uy=0, rx=0, ry=0, rz=0)],
        links=[fk.Spring("left", uz=10.0)],
        load_cases=[fk.LoadCase("push", fk.LineLoad("right", fz=-0.5))],
    )
    grounded = replace(grounded, mesh=replace(mesh, points=mesh.points[:n]), supports=grounded.supports[1:])
    case = fk.solve_static(grounded)["push"]
    # 10 N on three springs of 10 N/mm; the clamped rotation keeps the edge level
    assert case.displacement_at("left")[2] == pytest.approx(-10 / 30, rel=1e-3)
    table = case.reactions()
    assert table.loc["left", "Fz (N)"].tolist() == pytest.approx([0.0, 10.0], abs=1e-6)
    assert table["holds"].tolist()[-1] == "uz (spring)"


def test_what_springs_do_not_hold_can_move():
    mesh = grid(100, 50, 4, 2)
    model = fk.Model(
        mesh,
        fk.Plate(5.0, STEEL),
        supports=[fk.Support("left", ux=0, uy=0)],
        load_cases=[fk.LoadCase("load", fk.Gravity())],
        links=[fk.Spring("right", uz=10.0)],
    )
    with pytest.raises(fk.UnderSupportedError, match="can turn about the line along y"):
        fk.solve_static(model)
    fk.solve_static(replace(model, links=[fk.Spring("right", uz=10.0), fk.Spring("left", uz=10.0)]))


def test_a_part_on_a_seam_is_held_by_it():
    mesh = together(base=grid(100, 50, 4, 2), pad=shifted(grid(100, 50, 3, 2), 0, 0, 4))
    seam = dict(to="base", along=1e4, across=1e4, normal=1e4, pitch=20, source="invented", within=5)
    model = fk.Model(
        mesh,
        fk.Plate(5.0, STEEL),
        supports=[fk.Support("base left", **CLAMP)],
        load_cases=[fk.LoadCase("load", fk.Gravity())],
    )
    with pytest.raises(fk.UnderSupportedError, match=r"the part around \(50, 25, 4\) can move along"):
        fk.solve_static(model)
    one = replace(model, links=[fk.Seam("pad near", **seam)])
    with pytest.raises(fk.UnderSupportedError, match="can turn about the line along x"):  # one row of fasteners hinges
        fk.solve_static(one)
    fk.solve_static(replace(model, links=[fk.Seam("pad near", **seam), fk.Seam("pad far", **seam)]))


def test_what_is_wrong_with_links_is_said():
    far = butt([fk.JoinedLine("b right", "a")], load=fk.Gravity())
    assert 'joined line on "b right": 6 of its points lie too far' in far.check()[0]
    assert "is 100 mm away, where 6.847 mm are allowed" in far.check()[0]
    unknown = butt([fk.RigidLink("b lef", fk.near(0, 0))], load=fk.Gravity())
    assert 'Did you mean "b left"?' in unknown.check()[0]
    circle = [fk.RigidLink([20], [30]), fk.RigidLink([30], [40]), fk.RigidLink([40], [20])]
    with pytest.raises(fk.ModelError, match="follow each other in a circle"):
        fk.solve_static(butt([WELD, *circle], load=fk.Gravity()))
    with pytest.raises(fk.ModelError, match="source: its name is ''"):
        fk.Seam("b left", "a", along=1, across=1, normal=1, pitch=1, source="")
    with pytest.raises(fk.ModelError, match="all its stiffnesses are 0"):
        fk.Spring("b left")
    flat = replace(
        butt([WELD], load=fk.LineLoad("b right", fx=1.0)),
        behaviour="plane stress",
        supports=[fk.Support("a left", ux=0, uy=0)],
    )
    assert "plane stress has no links" in flat.check()[0]

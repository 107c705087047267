"""Meshes that are changed after reading: sets by place, zones out of other sets, openings along cell edges."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk
from femkit.mesh import free_edges
from femkit.verify.grids import grid as any_grid

KINDS = ("quad", "triangle", "quad8", "quad9", "triangle6")
WALL = Path(__file__).parents[2] / "meshes" / "side_wall_baseline.msh"


def sheet(kind="quad", **sets):
    """A sheet of 60 × 40 mm in cells of 10 mm."""
    mesh = any_grid(kind, 6, 4, lambda s, t: np.column_stack([60 * s, 40 * t]))
    return replace(mesh, cell_sets={"sheet": np.arange(mesh.n_cells)}, **sets)


HOLE = fk.inside(x=(20, 40), y=(10, 30))


def edge_length(mesh, name):
    return np.linalg.norm(np.diff(mesh.points[mesh.edge_sets[name]], axis=1), axis=2).sum()


@pytest.mark.parametrize("kind", KINDS)
def test_a_set_by_place_leaves_the_others_as_they_are(kind):
    mesh = sheet(kind).with_cells("pad", fk.inside(x=(0, 20), y=(0, 10)))
    # by hand: two cells of 10 × 10 mm
    assert mesh.areas[mesh.cell_sets["pad"]].sum() == pytest.approx(200)
    assert len(mesh.cell_sets["sheet"]) == mesh.n_cells
    assert mesh.with_cells("pad", "pad").fingerprint == mesh.fingerprint
    more = mesh.with_cells("pad", fk.inside(x=(20, 30), y=(0, 10)))
    assert more.areas[more.cell_sets["pad"]].sum() == pytest.approx(300)


@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_a_doubler_zone_leaves_every_cell_one_plate(kind):
    mesh = sheet(kind).with_cells("post", fk.inside(x=(0, 10)), out_of="sheet")
    mesh = mesh.with_cells("doubler-zone", fk.inside(x=(0, 30), y=(0, 20)), out_of=["sheet"])
    # by hand: the post keeps 10 × 40 mm, the zone has 20 × 20 mm beside it
    areas = {name: mesh.areas[cells].sum() for name, cells in mesh.cell_sets.items()}
    assert areas == pytest.approx({"sheet": 1600, "post": 400, "doubler-zone": 400})
    held = fk.Support("s=0", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    plates = {"sheet": fk.Plate(3, STEEL), "post": fk.Plate(3, STEEL)}
    model = fk.Model(mesh, plates, supports=[held]).with_plates({"doubler-zone": fk.Plate(6, STEEL, offset=1.5)})
    assert not model.check()
    assert model.mass == pytest.approx((2000 * 3 + 400 * 6) * STEEL.density)


def test_a_thickness_changes_alone():
    plates = {"sheet": fk.Plate(6, STEEL, offset=1.5, added_mass=1e-9)}
    model = fk.Model(sheet(), plates)
    thick = model.with_plates({"sheet": 8})
    assert thick.plates["sheet"].thickness == 8
    assert thick.plates["sheet"].offset == 1.5
    assert thick.plates["sheet"].added_mass == 1e-9
    assert model.plates["sheet"].thickness == 6
    with pytest.raises(fk.ModelError, match=r'plate "shet": there is none yet.*Did you mean "sheet"'):
        model.with_plates({"shet": 8})
    with pytest.raises(fk.ModelError, match=r'plate "sheet": thickness is 0.0 mm'):
        model.with_plates({"sheet": 0})


@pytest.mark.parametrize("kind", KINDS)
def test_an_opening_has_a_rim_and_takes_nothing_else(kind):
    whole = sheet(kind, point_sets={"near the middle": [0]}).with_cells("zone", fk.inside(x=(0, 30)))
    mesh = whole.without(HOLE, rim="opening-edge")
    # by hand: 20 × 20 mm cut out of 60 × 40 mm
    assert mesh.areas.sum() == pytest.approx(2000)
    assert edge_length(mesh, "opening-edge") == pytest.approx(80)
    assert mesh.areas[mesh.cell_sets["zone"]].sum() == pytest.approx(30 * 40 - 10 * 20)
    assert np.unique(mesh.points_of_cell[mesh.points_of_cell >= 0]).size == mesh.n_points
    for name in ("s=0", "s=1", "t=0", "t=1"):
        assert edge_length(mesh, name) == pytest.approx(edge_length(whole, name))
    assert len(free_edges(mesh)) > len(free_edges(whole))
    assert "Removed" in mesh.notes[-1]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("as_halves", (False, True))
def test_edge_sets_lose_what_no_cell_has_any_more(kind, as_halves):
    whole = sheet(kind)
    if as_halves:
        whole = replace(whole, edge_sets={n: fk.mesh.select_edges(whole, n) for n in whole.edge_sets})
    mesh = whole.without(fk.inside(x=(0, 20)), rim="t=1")
    # by hand: 20 mm of each long side are gone, all of the short one, and the cut of 40 mm joins the set of its name
    assert edge_length(mesh, "t=0") == pytest.approx(40)
    assert edge_length(mesh, "t=1") == pytest.approx(40 + 40)
    assert "s=0" not in mesh.edge_sets
    assert 'Left out, as nothing is in them any more: edge set "s=0".' in mesh.notes


def test_lines_and_points_that_no_cell_had_stay():
    whole = sheet()
    far = whole.n_points
    points = np.vstack([whole.points, [[100, 0, 0], [100, 50, 0], [0, 0, 99]]])
    whole = replace(
        whole, points=points, edge_sets={"rope": [[far, far + 1], [0, far]]}, point_sets={"hook": [far + 2]}
    )
    mesh = whole.without(fk.inside(x=(0, 10)))
    assert mesh.points[mesh.edge_sets["rope"]].tolist() == points[[[far, far + 1], [0, far]]].tolist()
    assert mesh.points[mesh.point_sets["hook"]].tolist() == [[0, 0, 99]]
    assert mesh.n_points == whole.n_points - 4  # of five points on the left edge the rope holds one


def test_a_cut_is_refused_that_takes_nothing_or_everything():
    mesh = sheet()
    with pytest.raises(fk.ModelError, match=r"cells to remove: the selection .* holds nothing"):
        mesh.without(fk.inside(x=(100, 200)))
    with pytest.raises(fk.UnknownSetError, match=r'no cell set of the name "shet". Did you mean "sheet"'):
        mesh.without("shet")
    with pytest.raises(fk.MeshError, match=r"removing sheet would leave none of 24 cells"):
        mesh.without("sheet")
    with pytest.raises(fk.ModelError, match=r'cell set "pad": the selection .* holds nothing'):
        mesh.with_cells("pad", fk.inside(x=(100, 200)))
    with pytest.raises(fk.UnknownSetError, match=r'"pad", to take out of: the mesh has no cell set .* "sheet"'):
        mesh.with_cells("pad", HOLE, out_of="shet")
    with pytest.raises(fk.MeshError, match=r'cell set "pad": no cell of post lies at the selection'):
        mesh.with_cells("post", fk.inside(x=(0, 10)), out_of="sheet").with_cells("pad", HOLE, out_of="post")


def test_a_set_that_gives_all_away_is_left_out():
    mesh = grid(20, 10, 2, 1).with_cells("zone", fk.inside(), out_of="sheet")
    assert list(mesh.cell_sets) == ["zone"]
    assert mesh.notes == ('Left out, as nothing is in them any more: cell set "sheet".',)


def test_the_demo_wall_still_hangs_together_with_an_opening_cut_along_its_cells():
    # invented: a doorway of about 1300 × 1700 mm through the sheets of the demo, with what crosses it
    whole = fk.read_mesh(WALL)
    door = fk.inside(x=(3050, 4350), z=(160, 1870), y=(-1, 200))
    mesh = whole.without(door, rim="door-edge")
    assert mesh.n_cells < whole.n_cells
    assert len(mesh.edge_sets["door-edge"]) > 100
    plates = {name: fk.Plate(3, STEEL) for name in mesh.cell_sets}
    held = fk.Support("floor-line", ux=0, uy=0, uz=0, rx=0)
    assert not fk.Model(mesh, plates, supports=[held]).check()

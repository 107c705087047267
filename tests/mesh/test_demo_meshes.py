"""The demo's side walls, read whole: counts by a direct walk over the parser's own blocks, and normals alike in all."""

import meshio
import numpy as np
import pytest

from femkit.mesh import free_edges, orient, parts, read_mesh, smooth_links

# free edges, and edges of three and of four cells, as counted by an independent program on the same files
EDGES = {"baseline": (1304, 1028, 36), "cut-out": (1450, 744, 24), "reinforced": (1482, 996, 32)}
# edges inside smooth sheets that both cells run along the same way, likewise
CLASHES = {"baseline": 0, "cut-out": 0, "reinforced": 8}


@pytest.fixture(scope="module")
def walls(demo):
    return {variant: read_mesh(path) for variant, path in demo.items()}


@pytest.fixture(scope="module")
def raws(demo):
    return {variant: meshio.gmsh.read(path) for variant, path in demo.items()}


@pytest.mark.parametrize("variant", EDGES)
def test_every_cell_and_every_member_of_a_set_is_there(walls, raws, variant):
    wall, raw = walls[variant], raws[variant]
    counts = {kind: sum(len(b.data) for b in raw.cells if b.type == kind) for kind in ("triangle", "quad")}
    assert {kind: len(cells) for kind, cells in wall.cells.items()} == counts
    assert wall.n_points == len(raw.points)
    for name, (_tag, dimension) in raw.field_data.items():
        n = sum(map(len, raw.cell_sets[name]))
        group = (wall.point_sets, wall.edge_sets, wall.cell_sets)[dimension]
        assert len(group[name]) == n > 0
    assert len(raw.cells) > 140  # a block an entity: what the reader has to join


def test_the_baseline_has_the_counts_that_others_found(walls):
    assert repr(walls["baseline"]).startswith("Mesh: 10,991 points, 656 triangles, 10,553 quads; 7200 × 70 × 2200 mm")
    assert repr(walls["cut-out"]).startswith("Mesh: 10,778 points, 404 triangles, 10,243 quads; 7200 × 70 × 2200 mm")


def test_the_variants_have_the_same_sets_and_the_new_parts(walls):
    names = {variant: set(wall.cell_sets) for variant, wall in walls.items()}
    assert names["baseline"] == names["cut-out"]
    new = {"door-pillar", "door-header", "doubler-zone", "sole-bar-doubler", "hoist-pad"}
    assert names["reinforced"] == names["baseline"] | new
    edges = {variant: set(wall.edge_sets) for variant, wall in walls.items()}
    assert edges["baseline"] | {"opening-edge"} == edges["cut-out"] == edges["reinforced"]
    pad, pillar = (walls["reinforced"].cell_sets[name] for name in ("hoist-pad", "door-pillar"))
    assert set(pad) < set(pillar)


def test_what_did_not_change_is_equal_in_all_variants(walls):
    for name in ("floor-line", "roof-line", "end-rear", "end-front", "bolster-rear", "bolster-front"):
        lengths, places = set(), set()
        for wall in walls.values():
            ends = wall.points[wall.edge_sets[name]]
            lengths.add(round(np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1).sum(), 6))
            places.add(tuple(np.round([ends.min(axis=(0, 1)), ends.max(axis=(0, 1))], 6).ravel()))
        assert len(lengths) == 1
        assert len(places) == 1


@pytest.mark.parametrize("variant", EDGES)
def test_edges_hang_together_as_an_independent_program_found(walls, variant):
    wall = walls[variant]
    count = np.bincount(wall.edges.count, minlength=5)
    assert (len(free_edges(wall)), count[3], count[4]) == EDGES[variant]
    assert len(count) == 5
    assert parts(wall)[0].max() == 0  # one part
    assert not any("Not joined" in note or "Dropped" in note or "no named set" in note for note in wall.notes)


@pytest.mark.parametrize("variant", EDGES)
def test_normals_agree_within_every_smooth_sheet(walls, demo, variant):
    as_is = read_mesh(demo[variant], normals=None)
    assert (~smooth_links(as_is)[2]).sum() == CLASHES[variant]
    assert smooth_links(walls[variant])[2].all()
    assert orient(walls[variant])[0] is walls[variant]  # nothing left to turn


def test_normals_are_the_same_in_all_variants(walls):
    for wall in walls.values():
        on_sheet = np.abs(wall.points[wall.corners][:, :3, 1]).max(axis=1) < 1e-9  # every sheet at y = 0 …
        assert on_sheet.sum() > 7000
        np.testing.assert_allclose(wall.normals[on_sheet], [[0, 1, 0]] * on_sheet.sum(), atol=1e-12)  # … faces inward
    for name in walls["baseline"].cell_sets:  # and every part faces the same ways in all three
        facings = [set(map(tuple, np.round(wall.normals[wall.cell_sets[name]], 6) + 0.0)) for wall in walls.values()]
        assert facings[0] == facings[1] == facings[2]

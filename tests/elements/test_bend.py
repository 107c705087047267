"""How strongly sheets bend over a cell: exact on cylinders, nothing on flat webs, whichever way normals point."""

import numpy as np
import pytest
from assembled import grid
from numpy.testing import assert_allclose

from femkit.elements import cell_bend


def cylinder(kind, n_around=12, n_along=4, turn=np.pi / 2):
    """Part of a cylinder, radius 100, whose chords turn by turn / n_around from cell to cell."""
    flat, cells = grid(kind, n_around, n_along)
    angle = turn * flat[:, 0]
    return np.column_stack([100 * np.cos(angle), 100 * np.sin(angle), 60 * flat[:, 1]]), cells


def test_a_cylinder_bends_by_the_angle_between_its_chords():
    points, cells = cylinder("quad")
    assert_allclose(cell_bend(points, {"quad": cells})["quad"], np.pi / 2 / 12, rtol=1e-12)


def test_triangles_of_a_cylinder_bend_about_as_much():
    # the mean at a point is weighted by corner angles: how a strip is cut matters little
    points, cells = cylinder("triangle")
    bend = cell_bend(points, {"triangle": cells})["triangle"]
    assert_allclose(bend, np.pi / 2 / 12, rtol=0.5)


def test_flat_sheets_do_not_bend():
    flat, cells = grid("triangle", 4, 4, shift=0.2)
    points = np.pad(flat, [(0, 0), (0, 1)])
    assert np.abs(cell_bend(points, {"triangle": cells})["triangle"]).max() < 1e-15


@pytest.mark.parametrize("kind", ["quad", "triangle"])
def test_the_way_normals_point_does_not_matter(kind):
    points, cells = cylinder(kind)
    is_turned = np.random.default_rng(1).random(len(cells)) < 0.5
    mixed = np.where(is_turned[:, None], cells[:, ::-1], cells)
    assert_allclose(cell_bend(points, {kind: mixed})[kind], cell_bend(points, {kind: cells})[kind], rtol=1e-12)


def test_the_order_of_cells_and_the_first_corner_do_not_matter():
    points, cells = cylinder("quad")
    points = points + np.random.default_rng(3).normal(scale=0.2, size=points.shape)
    bend = cell_bend(points, {"quad": cells})["quad"]
    order = np.random.default_rng(2).permutation(len(cells))
    assert_allclose(cell_bend(points, {"quad": np.roll(cells[order], 1, axis=1)})["quad"], bend[order], rtol=1e-12)


def tee(fold, n=6):
    """A flange `n` cells wide, bent by `fold` rad along its middle line, and a web of `n` cells below that line."""
    flat, cells = grid("quad", n, 2)
    across, along = 2 * flat[:, 0] - 1, 4 * flat[:, 1]
    half = np.where(across > 0, fold, 0.0)
    flange = np.column_stack([across * np.cos(half), along, across * np.sin(half)])
    web = np.column_stack([np.zeros(len(flat)), along, -flat[:, 0] - 0.0])
    points = np.concatenate([flange, web])
    _, kept, of_point = np.unique(np.round(points, 9) + 0.0, axis=0, return_index=True, return_inverse=True)
    of_point = of_point.ravel()
    return points[kept], of_point[cells], of_point[cells + len(flat)]


def test_a_flat_flange_goes_on_over_its_web_and_both_stay_flat():
    points, flange, web = tee(0.0)
    bend = cell_bend(points, {"quad": np.concatenate([flange, web])})["quad"]
    assert bend.max() < 1e-12


def test_a_flange_bent_gently_over_its_web_is_one_sheet():
    points, flange, web = tee(np.radians(10.0))
    bend = np.degrees(cell_bend(points, {"quad": np.concatenate([flange, web])})["quad"])
    assert sorted(set(np.round(bend[: len(flange)], 6))) == [0.0, 10.0]
    assert bend[len(flange) :].max() < 1e-9


def test_folds_are_where_sheets_end():
    points, flange, web = tee(np.radians(40.0))
    assert cell_bend(points, {"quad": np.concatenate([flange, web])})["quad"].max() < 1e-12
    gentle = cell_bend(points, {"quad": flange}, fold_angle=np.radians(50.0))["quad"]
    assert np.degrees(gentle.max()) == pytest.approx(40.0)


def test_a_sheet_folded_back_on_itself_is_two_sheets():
    # two strips of one plane that share an edge and lie on each other, as at a hem: their normals agree, they do not
    points = np.array([[0, 0, 0], [0, 1, 0], [1, 0, 0], [1, 1, 0], [1, 0, 0.05], [1, 1, 0.05]], dtype=float)
    cells = np.array([[0, 2, 3, 1], [0, 4, 5, 1]])
    assert cell_bend(points, {"quad": cells})["quad"].max() < 1e-12


def test_kinds_are_joined_and_empty_ones_stay_empty():
    points, cells = cylinder("quad")
    triangles = np.concatenate([cells[:20, [0, 1, 2]], cells[:20, [0, 2, 3]]])
    bend = cell_bend(points, {"triangle": triangles, "quad": cells[20:]})
    assert {kind: len(values) for kind, values in bend.items()} == {"triangle": 40, "quad": len(cells) - 20}
    assert bend["quad"].min() > 0.05
    empty = cell_bend(points, {"triangle": triangles[:0], "quad": cells})
    assert len(empty["triangle"]) == 0
    assert_allclose(empty["quad"], np.pi / 24, rtol=1e-12)
    assert cell_bend(points, {"quad": cells[:0]})["quad"].shape == (0,)

"""Size and shape of cells, against formulas and against VTK's own measures."""

import numpy as np
import pytest
import pyvista as pv

from femkit.errors import MeshQualityError
from femkit.mesh import Mesh, check_quality, mesh_quality, read_mesh

SQUARE = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], dtype=float)


def one(points):
    kind = {3: "triangle", 4: "quad"}[len(points)]
    return mesh_quality(Mesh(points, {kind: [list(range(len(points)))]}))


def test_a_rectangle_is_as_good_as_its_aspect():
    quality = one(SQUARE * [30, 10, 1])
    assert (quality.area[0], quality.aspect[0], quality.warp[0]) == (pytest.approx(300), pytest.approx(3), 0)
    assert quality.scaled_jacobian[0] == pytest.approx(1)


@pytest.mark.parametrize("angle", [15, 30, 60, 90, 120])
def test_a_rhombus_has_the_sine_of_its_angle(angle):
    side = [np.cos(np.radians(angle)), np.sin(np.radians(angle)), 0]
    quality = one([[0, 0, 0], [1, 0, 0], np.add([1, 0, 0], side), side])
    assert quality.scaled_jacobian[0] == pytest.approx(np.sin(np.radians(angle)))
    assert quality.aspect[0] == pytest.approx(1)


def test_three_equal_sides_are_1_and_a_right_angle_less():
    equal = one([[0, 0, 0], [1, 0, 0], [0.5, np.sqrt(0.75), 0]])
    assert equal.scaled_jacobian[0] == pytest.approx(1)
    right = one([[0, 0, 0], [1, 0, 0], [0, 1, 0]])
    assert right.scaled_jacobian[0] == pytest.approx(np.sin(np.pi / 4) * 2 / np.sqrt(3))
    assert right.aspect[0] == pytest.approx(np.sqrt(2))
    assert right.warp[0] == 0


def test_warp_is_the_angle_between_the_two_triangles():
    lifted = SQUARE.copy()
    lifted[2] = [0.5 - 0.5 * np.cos(0.3), 0.5 - 0.5 * np.cos(0.3), 0]  # folded over the diagonal 1-3 …
    for angle in (1, 10, 45):
        middle, out = np.array([0.5, 0.5, 0]), np.array([0.5, 0.5, 0])
        turned = np.cos(np.radians(angle)) * out + np.sin(np.radians(angle)) * np.array([0, 0, np.sqrt(0.5)])
        lifted[2] = middle + turned  # … by a known angle
        for first in range(4):
            quality = one(np.roll(lifted, first, axis=0))
            assert quality.warp[0] == pytest.approx(angle)


@pytest.mark.parametrize(("corner", "expected"), [([0.5, 0.5, 0], 0.0), ([0.2, 0.2, 0], None)])
def test_a_quadrilateral_that_is_not_convex_has_none_or_less(corner, expected):
    points = SQUARE.copy()
    points[2] = corner
    value = one(points).scaled_jacobian[0]
    assert value == pytest.approx(0, abs=1e-15) if expected == 0 else value < -0.3


def test_vtk_measures_the_same():
    # outside reference: VTK's cell quality, on squares and triangles with corners moved at random, many badly warped
    random = np.random.default_rng(3)
    quads = (SQUARE + random.normal(0, 0.3, (500, 4, 3))).reshape(-1, 3)
    triangles = random.normal(0, 1, (500 * 3, 3))
    points = np.concatenate([triangles, quads])
    cells = {"triangle": np.arange(1500).reshape(-1, 3), "quad": 1500 + np.arange(2000).reshape(-1, 4)}
    quality = mesh_quality(Mesh(points, cells))
    grid = pv.UnstructuredGrid({pv.CellType.TRIANGLE: cells["triangle"], pv.CellType.QUAD: cells["quad"]}, points)
    theirs = grid.cell_quality(["scaled_jacobian", "area"])
    np.testing.assert_allclose(quality.scaled_jacobian, theirs["scaled_jacobian"], atol=1e-12)
    assert quality.scaled_jacobian.min() < -0.5
    # VTK's area of a warped quadrilateral is that of its two triangles: only the triangles' and flat ones' compare
    np.testing.assert_allclose(quality.area[:500], theirs["area"][:500], rtol=1e-12)


def test_size_and_place_make_no_difference():
    random = np.random.default_rng(5)
    mesh = Mesh(SQUARE + random.normal(0, 0.2, (4, 3)), {"quad": [[0, 1, 2, 3]]})
    turn, _ = np.linalg.qr(random.normal(size=(3, 3)))
    moved = Mesh(1000 * mesh.points @ turn.T + 7, {"quad": [[2, 3, 0, 1]]})
    one, other = mesh_quality(mesh), mesh_quality(moved)
    for name, factor in (("area", 1e6), ("aspect", 1), ("warp", 1), ("scaled_jacobian", 1)):
        np.testing.assert_allclose(getattr(other, name), factor * getattr(one, name), rtol=1e-9)


@pytest.fixture
def mixed():
    """A good quadrilateral, a slim triangle, a dart; in sets."""
    points = [*SQUARE, [30, 0.02, 0], [0, 5, 0], [1, 5, 0], [0.2, 5.2, 0], [0, 6, 0]]
    return Mesh(
        points,
        {"triangle": [[1, 4, 2]], "quad": [[0, 1, 2, 3], [5, 6, 7, 8]]},
        cell_sets={"sheet": [0, 1], "patch": [1, 2], "door & frame": [2]},
    )


def test_the_worst_cells_are_listed_with_place_and_sets(mixed):
    table = mesh_quality(mixed).worst(2)
    assert table.index.tolist() == [2, 0]
    assert table["kind"].tolist() == ["quad", "triangle"]
    assert table["cell sets"].tolist() == ["patch, door & frame", "sheet"]
    assert table[["x, mm", "y, mm", "z, mm"]].loc[2].tolist() == pytest.approx([0.3, 5.3, 0])
    assert table["scaled Jacobian"].is_monotonic_increasing
    by_aspect = mesh_quality(mixed).worst(by="aspect")
    assert by_aspect.index[0] == 0
    assert len(by_aspect) == 3
    with pytest.raises(MeshQualityError, match='by is "beauty"; it must be one of scaled_jacobian, area, aspect, warp'):
        mesh_quality(mixed).worst(by="beauty")


def test_the_summary_says_what_is_poor(mixed):
    quality = mesh_quality(mixed)
    assert "Aspect 29" in quality.summary
    assert "1 cell above 10" in quality.summary
    assert "at worst, cell 2; 2 cells below 0.2" in quality.summary
    assert "none above 10" in quality.summary  # warp
    assert quality.summary in repr(quality)
    assert mesh_quality(Mesh([[0, 0, 0]], {})).summary == "The mesh has no cells."


def test_cells_that_can_not_be_calculated_with_are_an_error(mixed):
    sentence = (
        r"A scaled Jacobian of 0 or less in 1 cell: cell 2 at \(0.3, 5.3, 0\) mm in patch, door & frame has -0.\d+\."
    )
    with pytest.raises(MeshQualityError, match=sentence):
        check_quality(mixed)
    with pytest.raises(MeshQualityError, match=r"A scaled Jacobian of 0\.3 or less in 2 cells: cell 2 .*, cell 0 at"):
        check_quality(mixed, 0.3)
    good = Mesh(SQUARE, {"quad": [[0, 1, 2, 3]]})
    assert check_quality(good).scaled_jacobian.tolist() == [1.0]


def test_corners_in_one_point_are_as_bad_as_folded():
    mesh = Mesh(SQUARE, {"quad": [[0, 1, 2, 2]]})
    quality = mesh_quality(mesh)
    assert quality.aspect[0] == np.inf
    with pytest.raises(MeshQualityError, match="cell 0"):
        check_quality(mesh)


def test_the_arrays_are_read_only(mixed):
    quality = mesh_quality(mixed)
    for values in (quality.area, quality.aspect, quality.warp, quality.scaled_jacobian):
        assert not values.flags.writeable


def test_the_demo_is_sound(demo):
    # smallest scaled Jacobian of quadrilaterals and triangles, as VTK measures it too
    expected = {"baseline": (0.241, 0.345), "cut-out": (0.430, 0.345), "reinforced": (0.249, 0.345)}
    for variant, path in demo.items():
        mesh = read_mesh(path)
        quality = check_quality(mesh)
        n = len(mesh.cells["triangle"])
        smallest = quality.scaled_jacobian[n:].min(), quality.scaled_jacobian[:n].min()
        assert smallest == pytest.approx(expected[variant], abs=5e-4)
        assert quality.warp.max() == pytest.approx(0, abs=1e-4)  # flat sheets all of them

"""Straight lines over sheets: to the right place on flat ones of any cells, along the arc on curved ones."""

import numpy as np
import pytest
from sheets import grid

from femkit.mesh.closest import feet_of
from femkit.mesh.walk import Start, walk


def started(mesh, places, towards):
    n = len(places)
    return Start(feet_of(mesh, places).cell, places, towards, np.full(n, -1))


@pytest.mark.parametrize("kind", ["quad", "triangle", "mixed"])
def test_lines_on_a_flat_sheet_are_straight_until_its_border(kind):
    mesh, random = grid(50, 30, 12, 9, kind=kind, wobble=0.25), np.random.default_rng(5)
    places = np.column_stack([random.uniform(1, 49, 200), random.uniform(1, 29, 200), np.zeros(200)])
    angle = random.uniform(0, 2 * np.pi, 200)
    towards = np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
    until = np.where(towards > 0, [50, 30, 1] - places, -places)[:, :2] / towards[:, :2]  # to the border, by hand
    until = np.abs(until).min(axis=1)
    distances = until[:, None] * [0.0, 0.3, 0.999, 1.01]
    found = walk(mesh, started(mesh, places, towards), distances)
    assert (found.cell[:, :3] >= 0).all()
    exact = places[:, None] + distances[:, :3, None] * towards[:, None]
    grazes = np.abs(towards[:, :2]).min(axis=1) < 0.03  # such a line may run along the border
    assert found.place[:, :3] == pytest.approx(exact, abs=1e-9)
    assert all(why.startswith("leaves the plate after") for why in found.why[~grazes])
    feet = feet_of(mesh, found.place[:, 1])
    assert feet.distance == pytest.approx(0, abs=1e-9) and (feet.cell == found.cell[:, 1]).mean() > 0.95


def test_lines_through_points_and_along_edges_go_on():
    mesh = grid(40, 40, 8, 8)
    places = np.array([[0.0, 0, 0], [10, 0, 0], [0, 15, 0], [0, 40, 0], [40, 20, 0]])
    towards = np.array([[1.0, 1, 0], [0, 1, 0], [1, 0, 0], [1, 0, 0], [-2, -1, 0]])
    distances = np.tile([0.0, 10.0, 36.0], (5, 1))
    found = walk(mesh, started(mesh, places, towards), distances)
    towards /= np.linalg.norm(towards, axis=1, keepdims=True)
    assert (found.why == "").all()
    assert found.place == pytest.approx(places[:, None] + distances[:, :, None] * towards[:, None], abs=1e-9)


def test_lines_follow_a_curved_sheet():
    # a quarter of a tube of radius 100 in 30 facets: lengths along it are those of its chords
    radius, chord = 100.0, 2 * 100.0 * np.sin(np.pi / 120)
    to_space = lambda p: np.column_stack([radius * np.cos(p[:, 0]), p[:, 1], radius * np.sin(p[:, 0])])  # noqa: E731
    mesh = grid(np.pi / 2, 20, 30, 3, to_space=to_space)
    found = walk(
        mesh, started(mesh, np.array([[100.0, 7, 0]]), np.array([[0.0, 0, 1]])), np.array([[0, 10.5 * chord, 1e3]])
    )
    middle = radius * np.cos(np.pi / 120) * np.array([np.cos(10.5 * np.pi / 60), 0, np.sin(10.5 * np.pi / 60)])
    assert found.place[0, 1] == pytest.approx(middle + [0, 7, 0], abs=1e-6)
    assert found.why[0] == f"leaves the plate after {30 * chord:.3g} mm at (0, 7, 100)"


def test_barred_edges_and_other_plates_end_a_line():
    mesh = grid(40, 10, 4, 1)
    start = started(mesh, np.array([[5.0, 5, 0]]), np.array([[1.0, 0, 0]]))
    line = mesh.edges.points[(mesh.points[mesh.edges.points][:, :, 0] == 20).all(axis=1)]
    assert (
        walk(mesh, start, np.array([[30.0]]), barred={"a beam": line}).why[0].startswith("crosses a beam after 15 mm")
    )
    plate = np.array(["one", "one", "one", "two"])
    assert (
        walk(mesh, start, np.array([[30.0]]), plate=plate)
        .why[0]
        .startswith('runs from plate "one" into "two" after 25')
    )
    assert walk(mesh, start, np.array([[30.0]])).why[0] == ""


def test_no_lines_are_no_trouble():
    nothing = np.empty((0, 3))
    found = walk(grid(10, 10, 2, 2), Start(np.empty(0, int), nothing, nothing, np.empty(0, int)), np.empty((0, 2)))
    assert found.cell.shape == (0, 2) and len(found.why) == 0

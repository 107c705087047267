"""Supports as equations: what is held at which value, and means by the length or area that points stand for."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk
from femkit.model.support import constraints_of, point_weights

SHEET = replace(grid(400, 200, 4, 2), cell_sets={"sheet": np.arange(8), "corner": [0]}, point_sets={"ends": [0, 14]})
BENT = fk.Mesh(
    [[0, 0, 0], [30, 0, 0], [30, 10, 0], [0, 10, 0]],
    {"quad": [[0, 1, 2, 3]]},
    edge_sets={"bent": [[0, 1], [1, 2]], "spot": [[2, 2]]},
)


def test_held_unknowns_have_their_value():
    supports = [fk.Support("left", ux=0, uz=-2.5), fk.Support(fk.near(400, 200), rx=0.01)]
    constraints = constraints_of(SHEET, supports)
    assert np.argwhere(constraints.is_held).tolist() == [[0, 0], [0, 2], [1, 0], [1, 2], [2, 0], [2, 2], [14, 3]]
    assert constraints.value[1].tolist() == [0, 0, -2.5, 0, 0, 0] and constraints.value[14, 3] == 0.01
    assert constraints.means == ()


def test_one_unknown_may_be_held_twice_at_the_same_value():
    constraints = constraints_of(SHEET, [fk.Support("left", uy=0), fk.Support("near", uy=0)])
    assert constraints.is_held[:, 1].sum() == 3 + 5 - 1


def test_two_values_for_one_unknown_are_refused_with_both_supports_named():
    supports = [fk.Support("left", uy=0, rx=0), fk.Support("near", uy=1.5), fk.Support("ends", rx=0.1)]
    with pytest.raises(fk.ModelError) as caught:
        constraints_of(SHEET, supports)
    assert str(caught.value).split("\n") == [
        'support "near": uy of point 0 at (0, 0, 0) is to be 1.5 mm, but support "left" already holds it at 0 mm; '
        "take the points out of one of the two.",
        'support "ends": rx of point 0 at (0, 0, 0) is to be 0.1 rad, but support "left" already holds it at 0 rad; '
        "take the points out of one of the two.",
    ]


def test_a_mean_weighs_points_by_the_length_they_stand_for():
    # edges of 30 and 10 mm: 15, 20 and 5 of 40
    (mean,) = constraints_of(BENT, [fk.Support("bent", uz=1.0, mean=True)]).means
    assert mean.points.tolist() == [0, 1, 2]
    np.testing.assert_allclose(mean.weights, [15 / 40, 20 / 40, 5 / 40], rtol=1e-15)
    assert (mean.component, mean.value, mean.name) == (2, 1.0, "bent")


@pytest.mark.parametrize(
    "where, weights",
    [
        ("corner", [0.25] * 4),  # a square's corners
        ("ends", [0.5] * 2),
        ([3, 4, 5], [1 / 3] * 3),
        ("near", [1 / 8, 1 / 4, 1 / 4, 1 / 4, 1 / 8]),
    ],
)
def test_weights_of_sets(where, weights):
    np.testing.assert_allclose(point_weights(SHEET, where, "a mean")[1], weights, rtol=1e-14)


def test_weights_by_area_are_a_third_of_each_triangle():
    mesh = fk.Mesh([[0, 0], [6, 0], [0, 1], [6, 3]], {"triangle": [[0, 1, 2], [1, 3, 2]]}, cell_sets={"all": [0, 1]})
    # areas 3 and 9 by hand
    np.testing.assert_allclose(point_weights(mesh, "all", "a mean")[1], np.array([1, 4, 4, 3]) / 12, rtol=1e-14)


def test_a_mean_beside_held_points_keeps_its_weights():
    constraints = constraints_of(BENT, [fk.Support([1], uz=0), fk.Support("bent", uz=0, mean=True)])
    assert len(constraints.means[0].points) == 3


@pytest.mark.parametrize(
    "supports, sentence",
    [
        (
            [fk.Support("lefft", ux=0)],
            r'support "lefft": the mesh has no set of the name "lefft"\. Did you mean "left"',
        ),
        (
            [fk.Support(fk.on_plane(z=9), ux=0)],
            r'support "on plane z = 9": the selection .* holds nothing; it must hold',
        ),
        ([fk.Support([99], ux=0)], r'support "1 indices": index 99 lies outside the mesh, which has 15 points'),
        (
            [fk.Support("left", ux=0), fk.Support("left", ux=0, mean=True)],
            r'support "left": ux is held already at every point; leave one of the two supports out',
        ),
        (
            [fk.Support("spot", uz=0, mean=True)],
            r'support "spot": its edges have no length; it must hold edges between',
        ),
    ],
)
def test_supports_that_hold_nothing_are_refused(supports, sentence):
    mesh = replace(SHEET, edge_sets={**SHEET.edge_sets, "spot": [[2, 2]]})
    with pytest.raises(fk.ModelError, match=sentence):
        constraints_of(mesh, supports)


def test_all_unknown_sets_are_named_together():
    supports = [fk.Support("lefft", ux=0), fk.Support("farr", uy=0, mean=True)]
    with pytest.raises(
        fk.ModelError, match=r'"lefft"[^\n]*Did you mean "left"\?\nsupport "farr"[^\n]*Did you mean "far"'
    ):
        constraints_of(SHEET, supports)


def test_plane_stress_has_two_unknowns():
    with pytest.raises(fk.ModelError, match=r'support "left": plane stress has no rz; it has ux and uy'):
        constraints_of(SHEET, [fk.Support("left", ux=0, rz=0)], n_components=2)


@pytest.mark.parametrize("plane, sign", [(fk.symmetry, 1), (fk.antisymmetry, -1)])
def test_half_a_plate_on_its_plane_does_what_the_whole_does_under_an_even_or_odd_load(plane, sign):
    loads = [fk.PointLoad(fk.near(50, 30), fz=-20, fx=50), fk.PointLoad(fk.near(150, 30), fz=-20 * sign, fx=-50 * sign)]
    end = dict(uy=0, uz=0) if sign > 0 else dict(ux=0, uy=0, uz=0)
    middle = [fk.Support(fk.near(100, 30), ux=0)] if sign > 0 else []
    moved = []
    for mesh, supports, acting in (
        (grid(200, 60, 20, 6), [fk.Support("left", **end), fk.Support("right", **end), *middle], loads),
        (grid(100, 60, 10, 6), [fk.Support("left", **end), plane("right", "x")], loads[:1]),
    ):
        cases = [fk.LoadCase("load", acting)]
        model = fk.Model(mesh, fk.Plate(4.0, STEEL), supports=supports, load_cases=cases)
        moved.append(fk.solve_static(model)["load"].displacement_at(fk.near(50, 30)))
    assert moved[0] == pytest.approx(moved[1], rel=1e-9, abs=1e-12)


def test_a_plane_of_symmetry_is_square_to_an_axis():
    with pytest.raises(fk.ModelError, match="normal is 'w'; it must be"):
        fk.symmetry("left", "w")


def test_each_point_may_have_its_own_value():
    by_set = fk.Support("left", ux=[0.1, 0.2, 0.3], uz=0)
    by_index = fk.Support([2, 0, 1], ux=[0.3, 0.1, 0.2], uz=0)  # in the order of the indices
    for support in (by_set, by_index):
        constraints = constraints_of(SHEET, [support])
        assert constraints.value[:3, 0].tolist() == [0.1, 0.2, 0.3]
        assert constraints.is_held.sum() == 6
        assert not support.ux.flags.writeable
    assert by_set.words == ["ux = 0.1 … 0.3", "uz"]


@pytest.mark.parametrize(
    "supports, sentence",
    [
        ([fk.Support("left", ux=[0.1, 0.2])], r'support "left": ux has 2 values for 3 points; it must be one each'),
        (
            [fk.Support("left", ux=[0.1, 0.2, 0.3]), fk.Support(fk.near(0, 100), ux=0.5)],
            r"ux of point 1 at \(0, 100, 0\) is to be 0.5 mm, but support \"left\" already holds it at 0.2 mm",
        ),
        (
            [fk.Support(fk.near(0, 100), ux=0.5), fk.Support("left", ux=[0.1, 0.2, 0.3])],
            r"ux of point 1 at \(0, 100, 0\) is to be 0.2 mm, but support .* already holds it at 0.5 mm",
        ),
    ],
)
def test_values_that_do_not_fit_their_points_are_refused(supports, sentence):
    with pytest.raises(fk.ModelError, match=sentence):
        constraints_of(SHEET, supports)


def test_values_that_no_point_can_have_are_refused():
    with pytest.raises(fk.ModelError, match=r'support "left": uy is nan mm at its point 1 \(of 3, counted from 0\)'):
        fk.Support("left", uy=[0, np.nan, 1])
    with pytest.raises(fk.ModelError, match=r'support "left": ux and uy have many values; a mean has one'):
        fk.Support("left", ux=[0, 1, 2], uy=[0, 1, 2], mean=True)


def test_values_make_another_fingerprint_and_are_said_in_few_words():
    def model(values, **more):
        supports = [fk.Support("left", ux=values, uy=0, uz=0, rx=0, ry=0, rz=0)]
        return fk.Model(SHEET, fk.Plate(2, STEEL), supports=supports, load_cases=[fk.LoadCase("moved", [])], **more)

    assert model([0.1, 0.2, 0.3]).fingerprint == model(np.array([0.1, 0.2, 0.3])).fingerprint
    assert model([0.1, 0.2, 0.3]).fingerprint != model([0.1, 0.2, 0.4]).fingerprint
    assert "ux = 0.1 … 0.3, uy" in model([0.1, 0.2, 0.3])._repr_html_()
    assert model([0, 0, 0]).check() == ('load case "moved" holds no load; it must hold at least one.',)


def test_values_prescribed_in_two_load_cases_are_not_added_up():
    held = [fk.Support("left", ux=[0.1, 0.2, 0.3], uy=0, uz=0, rx=0, ry=0, rz=0)]
    cases = [fk.LoadCase(name, [fk.LineLoad("right", fx=1)]) for name in "ab"]
    both = fk.Combination("both", {"a": 1, "b": 1})
    model = fk.Model(SHEET, fk.Plate(2, STEEL), supports=held, load_cases=cases, combinations=[both])
    assert 'support "left" prescribes ux = 0.1 … 0.3 in 2 of its load cases' in model.check()[0]

"""Free motions are those of rigid bodies, and are said so that an engineer sees what moves and what would stop it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from model_parts import CLAMP, closed_box, fault, linkage, model_of, parts
from sheets import grid

import femkit as fk
from femkit.model.check import find_faults, rigid_motions
from femkit.model.motions import find_bodies, free_motions
from femkit.model.support import constraints_of

SHEET = grid(400, 200, 4, 2)
PIN = {"ux": 0, "uy": 0, "uz": 0}
CORNER = fk.near(0, 0)


def words(supports, mesh=SHEET, **more):
    return fault(model_of(mesh, supports=supports, **more))


@pytest.mark.parametrize(
    "supports, sentence",
    [
        (
            [],
            "the whole model can move along x, y and z and turn about x, y and z. "
            "There are no supports: Model(..., supports=[Support(...), ...]).",
        ),
        ([fk.Support("left", **{**CLAMP, "uy": None})], "the whole model can move along y. Hold uy somewhere."),
        (
            [fk.Support(CORNER, ux=0, uy=0, rx=0, ry=0), fk.Support("left", uz=0)],
            "the whole model can turn about the line along z through (0, 0, 0). Hold a point off that line.",
        ),
        (
            [fk.Support("left", **PIN)],
            "the whole model can turn about the line along y through (0, 100, 0). Hold a point off that line.",
        ),
        (
            [fk.Support("left", **PIN, mean=True), fk.Support("right", uy=0, uz=0, mean=True)],
            "the whole model can turn about the line along x through (200, 100, 0). Hold a point off that line.",
        ),
        (
            [fk.Support([0, 14], **PIN)],
            "the whole model can turn about the line along (0.894, 0.447, 0) through (200, 100, 0). "
            "Hold a point off that line.",
        ),
        (
            [fk.Support(CORNER, **PIN)],
            "the whole model can turn about lines along x, y and z through (0, 0, 0). "
            "Hold more points, away from there.",
        ),
        (
            [fk.Support("right", **PIN, mean=True)],
            "the whole model can turn about lines along x, y and z through (400, 100, 0). "
            "Hold more points, away from there.",
        ),
        (
            [fk.Support("left", ux=0, ry=0, rz=0), fk.Support(CORNER, uz=0)],
            "the whole model can move along y and turn about x. "
            "Hold uy, at points far enough apart to stop the turning as well.",
        ),
        (
            [fk.Support(fk.on_plane(z=0), uz=0)],
            "the whole model can move along x and y and turn about z. "
            "Hold ux and uy, at points far enough apart to stop the turning as well.",
        ),
        ([fk.Support("left", ux=0, uy=0, uz=0, ry=0)], None),
    ],
)
def test_free_motions_of_a_sheet_in_words(supports, sentence):
    model = model_of(SHEET, supports=supports)
    assert model.check() == (() if sentence is None else (sentence,))


def test_a_link_turns_about_its_instant_centre():
    # the hinge (200, 200) can only move square to the line y = x of the first link, so the second link's centre is on
    # that line; and where x is held at (300, 300), it is at y = 300 (theorem of instant centres)
    said = plane_words(linkage((0, 0), (100, 100), (200, 200)), [*GROUND, fk.Support(fk.near(300, 300), ux=0)])
    assert 'the part "link 2" around (250, 250, 0) can turn about the line along z through (300, 300, 0)' in said


def test_a_screw_is_said_by_its_direction():
    # turning (1, 1, 1) while shifting 100 (1, 1, 1) leaves ux where y = z + 100, uy where z = x + 100, and uz where
    # x = y + 100
    box = closed_box(np.zeros((26, 3)))
    still = {
        "ux": [(0, 200, 100), (0, 100, 0)],
        "uy": [(0, 0, 100), (100, 0, 200)],
        "uz": [(100, 0, 0), (200, 100, 0)],
    }
    supports = [fk.Support([point_at(box, p)], **{name: 0}) for name, places in still.items() for p in places]
    assert words(supports, box).startswith("the whole model can turn about (0.577, 0.577, 0.577). ")


def test_the_motion_comes_with_the_error_and_is_rigid():
    model = model_of(SHEET, supports=[fk.Support([0, 14], **PIN)])
    (found,) = find_faults(model)
    assert isinstance(found, fk.UnderSupportedError)
    motion = found.motion
    assert motion.shape == (15, 6) and np.abs(motion[:, :3]).max() == pytest.approx(1)
    np.testing.assert_allclose(motion[[0, 14], :3], 0, atol=1e-12)
    turning = motion[0, 3:]
    np.testing.assert_allclose(motion[:, :3], np.cross(turning, SHEET.points), atol=1e-12)
    np.testing.assert_allclose(np.abs(turning) / np.linalg.norm(turning), [2 / 5**0.5, 1 / 5**0.5, 0], atol=1e-12)


@settings(max_examples=60, deadline=None)
@given(held=st.lists(st.tuples(st.integers(0, 25), st.sampled_from(list(CLAMP))), min_size=1, max_size=8))
def test_as_many_motions_are_free_as_a_rigid_body_has_left(held):
    # rank of the supports' equations on the six motions of the body, written down without the kit
    box = closed_box(np.random.default_rng(5).uniform(-0.2, 0.2, (26, 3)))
    rows = []
    for point, name in held:
        axis = np.eye(3)["xyz".index(name[1])]
        rows.append([*axis, *np.cross(box.points[point] / 100, axis)] if name[0] == "u" else [0, 0, 0, *axis])
    n_free = 6 - np.linalg.matrix_rank(np.array(rows), tol=1e-9)
    supports = [fk.Support([point], **{name: 0}) for point, name in held]
    found = free_motions(box, find_bodies(box), constraints_of(box, supports))
    assert (found[0][1].shape[2] if found else 0) == n_free
    assert bool(n_free) == bool(model_of(box, supports=supports).check())


def test_rigid_motions_are_shifts_and_turns_about_the_origin():
    points = np.array([[1.0, 2.0, 3.0], [-4.0, 0.5, 2.0]])
    shift, turn = np.array([0.1, 0.2, 0.3]), np.array([1.0, -2.0, 0.5])
    motion = rigid_motions(points) @ np.concatenate([shift, turn])
    np.testing.assert_allclose(motion[:, :3], shift + np.cross(turn, points), rtol=1e-14)
    np.testing.assert_allclose(motion[:, 3:], np.tile(turn, (2, 1)))
    np.testing.assert_allclose(rigid_motions(points, 2), rigid_motions(points)[:, :2][:, :, [0, 1, 5]])


def test_each_group_of_supports_is_looked_at_and_named():
    lifted = [fk.LoadCase(name, [fk.Gravity()], supports=[fk.Support("left", **PIN)]) for name in ("lift", "tip")]
    cases = [fk.LoadCase("tare", [fk.Gravity()]), *lifted]
    model = model_of(SHEET, supports=[fk.Support("left", **CLAMP)], load_cases=cases)
    assert fault(model).startswith(
        'on the supports of load cases "lift" and "tip", the whole model can turn about the line along y through (0, '
    )


def test_a_free_part_is_named_with_its_gap_and_how_to_close_it():
    mesh = parts(low=(0, 0, 0), high=(400.02, 0, 0))
    said = words([fk.Support(fk.on_plane(x=0), **CLAMP)], mesh, by_set=True)
    assert said == (
        'the part "high" around (600.02, 100, 0) can move along x, y and z and turn about x, y and z. It shares no '
        'point with the rest: the nearest of the part "low" around (200, 100, 0) is 0.02 mm away, at (400, 0, 0), and '
        "3 points lie within 0.022 mm without being shared (read_mesh(..., merge_within=0.022) joins them). Let them "
        "share points where they meet, or support what moves. "
        "Hold ux, uy and uz, at points far enough apart to stop the turning as well."
    )


def test_a_part_far_off_is_not_to_be_merged():
    mesh = parts(low=(0, 0, 0), high=(0, 0, 30))
    said = words([fk.Support(fk.inside(x=(0, 0), z=(0, 1)), **CLAMP)], mesh, by_set=True)
    assert "is 30 mm away, at (0, 0, 0). Let them share points where they meet" in said
    assert "merge_within" not in said


def test_many_free_parts_are_counted():
    mesh = parts(**{f"part {i}": (0, 0, 50 * i) for i in range(9)})
    faults = model_of(mesh, by_set=True, supports=[fk.Support(fk.inside(x=(0, 0), z=(0, 1)), **CLAMP)]).check()
    assert len(faults) == 6
    assert faults[-1] == "3 more parts can move. So many were hardly meant: do their cells share points?"


def test_a_single_shared_point_joins_shells():
    # six unknowns a point: it passes moments, so the second square is held by the first
    assert model_of(linkage((0, 0), (100, 100)), supports=[fk.Support([0], **CLAMP)]).check() == ()


def plane_words(mesh, supports):
    return words(supports, mesh, by_set=True, behaviour="plane stress")


def point_at(mesh, place):
    return int(np.flatnonzero((mesh.points[:, : len(place)] == place).all(axis=1))[0])


GROUND = [fk.Support(fk.inside(x=(0, 0), y=(0, 100)), ux=0, uy=0)]


def test_a_single_shared_point_is_a_hinge_in_plane_stress():
    assert plane_words(linkage((0, 0), (100, 100)), GROUND) == (
        'the part "link 1" around (150, 150, 0) can turn about the line along z through (100, 100, 0). '
        "In plane stress a shared point is a hinge, as at (100, 100, 0): let the parts share an edge there. "
        "Hold a point off that line."
    )


def test_a_chain_of_hinges_moves_link_by_link():
    said = plane_words(linkage((0, 0), (100, 100), (200, 200)), GROUND)
    assert 'the part "link 1" around (150, 150, 0) can turn about the line along z through (100, 100, 0)' in said
    assert 'the part "link 2" around (250, 250, 0) can move along (0.707, -0.707, 0) and turn about z' in said
    assert "hinge, as at (100, 100, 0) and (200, 200, 0):" in said


@pytest.mark.parametrize(
    "places, held, freedom",
    [
        ([(0, 0), (100, 100)], [], 1),
        ([(0, 0), (100, 100), (200, 200)], [], 2),
        ([(0, 0), (100, 100)], [((200, 200), "ux")], 0),
        ([(0, 0), (100, 100)], [((200, 200), "ux"), ((200, 200), "uy")], 0),
        ([(0, 0), (100, 100), (200, 0)], [], 2),  # 2 links, hinged at (100, 100) and (200, 100)
        ([(0, 0), (100, 100), (200, 0), (100, -100)], [], 1),  # a ring of four links is one mechanism
        ([(0, 0), (100, 100), (200, 0), (100, -100)], [((300, 0), "uy")], 0),
    ],
)
def test_linkages_have_the_freedom_that_links_and_hinges_leave(places, held, freedom):
    # Chebychev, Gruebler, Kutzbach: 3 a link but the fixed one, less 2 a hinge, less 1 a roller, and not below 0
    mesh = linkage(*places)
    supports = [*GROUND, *(fk.Support([point_at(mesh, place)], **{name: 0}) for place, name in held)]
    bodies = find_bodies(mesh, 2)
    n_hinges = len(bodies.hinges)
    assert freedom == max(3 * (len(places) - 1) - 2 * n_hinges - len(held), 0)
    found = free_motions(mesh, bodies, constraints_of(mesh, supports, 2))
    assert (found[0][1].shape[2] if found else 0) == freedom
    model = model_of(mesh, supports=supports, behaviour="plane stress")
    assert bool(freedom) == bool(model.check())


def test_the_motion_of_a_mechanism_keeps_hinges_together_and_supports_still():
    mesh = linkage((0, 0), (100, 100), (200, 0), (100, -100))
    (found,) = find_faults(model_of(mesh, supports=GROUND, behaviour="plane stress"))
    motion = found.motion
    assert np.abs(motion[:, :2]).max() == pytest.approx(1) and np.abs(motion[:, 2:5]).max() < 1e-12
    for cell in mesh.cells["quad"]:  # no side or diagonal of any link gets longer
        for i, j in ((0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)):
            along = mesh.points[cell[j]] - mesh.points[cell[i]]
            assert (motion[cell[j], :3] - motion[cell[i], :3]) @ along == pytest.approx(0, abs=1e-9)


def test_very_long_chains_of_hinges_are_left_to_the_solver():
    chain = linkage(*((100 * i, 100 * i) for i in range(1001)))
    assert model_of(chain, supports=GROUND, behaviour="plane stress").check() == ()


def test_a_shared_edge_is_stiff_in_plane_stress():
    mesh = grid(400, 200, 4, 2, kind="mixed")
    assert len(find_bodies(mesh, 2).size) == 1
    model = model_of(mesh, supports=[fk.Support([0], ux=0, uy=0)], behaviour="plane stress")
    assert fault(model).startswith("the whole model can turn about the line along z through (0, 0, 0).")


def test_a_mean_over_two_parts_holds_them_only_together():
    # two plates, each free to turn about its own left edge; one equation for the mean of both leaves one motion
    mesh = parts(one=(0, 0, 0), other=(600, 0, 0))
    edges = [fk.Support(fk.on_plane(x=0), **PIN), fk.Support(fk.on_plane(x=600), **PIN)]
    tips = fk.Support([12, 13, 14, 27, 28, 29], uz=0, mean=True)
    said = words([*edges, tips], mesh, by_set=True)
    assert said.startswith('the part "one" around (200, 100, 0) can turn about the line along y through (0, 100, 0); ')
    assert 'the part "other" around (800, 100, 0) can turn about the line along y through (600, 100, 0)' in said
    assert "Only a mean support ties them; they share no point with the rest: the nearest of" in said
    assert 'the part "other" around (800, 100, 0) is 200 mm away, at (600,' in said
    assert model_of(mesh, by_set=True, supports=[*edges, tips, fk.Support([14], uz=0)]).check() == ()


def test_a_long_arm_and_a_short_one_are_told_apart():
    # a bearing 2 mm beside the axis of 400 mm holds; one on the axis does not
    axis = [fk.Support([0, 2], **PIN)]
    points = SHEET.points.copy()
    points[1, 0] = 2.0
    assert model_of(fk.Mesh(points, SHEET.cells), supports=[*axis, fk.Support([1], uz=0)]).check() == ()
    assert "along y" in words([*axis, fk.Support([1], uz=0)])

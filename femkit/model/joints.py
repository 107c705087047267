"""Parts of a model that are not held or not joined, in words: which ones, how they can move, how far they are apart."""

import numpy as np
from scipy.spatial import cKDTree

from ..errors import UnderSupportedError
from .motions import find_bodies, free_motions, motion_of_points
from .plate import EVERYWHERE
from .support import constraints_of
from .values import COMPONENTS, listed, place_words

__all__ = ["count_free_motions", "motion_faults", "motion_words", "unused_point_faults"]

SAID = 5  # parts that are described; the rest is counted
HAIR = 0.01  # of a cell's size: parts nearer than this were meant to be joined. Common practice, no source
MERGEABLE = 0.2  # of a cell's size: up to this, merging points does not crush cells. Common practice, no source
SAME = 1e-4  # of a body's size: what is smaller is 0 in words


def unused_point_faults(model):
    """Points that nothing has, in a sentence: nothing holds them, and what acts there goes nowhere."""
    mesh, is_unused = model.mesh, ~model.is_used
    if is_unused.any():
        named = [f'"{n}"' for sets in (mesh.edge_sets, mesh.point_sets) for n, p in sets.items() if is_unused[p].any()]
        within = f" (sets that hold some: {', '.join(named)})" if named else ""
        first = f"point {is_unused.argmax()} at {place_words(mesh.points[is_unused.argmax()])}"
        yield (
            f"no cell has {is_unused.sum()} of the points, the first is {first}{within}. The nearest point of a cell "
            f"is {_distance(mesh, is_unused, ~is_unused)[1]}. Mesh the sheet through them, or take them out."
        )


def motion_faults(model):
    """Parts that can move, as `UnderSupportedError`, or else parts that were meant to be joined; not raised."""
    springs = [one for one in model.attachments if one.stiffness is not None]
    bodies, found = find_bodies(model.mesh, model.n_components, _joined(model)), {}
    for supports, names in model.support_groups:
        free = free_motions(model.mesh, bodies, constraints_of(model.mesh, supports, model.n_components), springs)
        for number, (members, twists) in enumerate(free[: SAID + 1]):
            said = f"{len(free) - SAID} more parts can move. So many were hardly meant: do their cells share points?"
            if number < SAID:
                said = _sentence(model, bodies, members, twists, supports)
            found.setdefault(said, (motion_of_points(model.mesh, bodies, members, twists), []))[1].extend(names)
    faults = []
    for said, (motion, names) in found.items():
        if len(model.support_groups) > 1:
            cases = listed([f'"{name}"' for name in names])
            said = f"on the supports of load case{'s' * (len(names) > 1)} {cases}, {said}"
        faults.append(UnderSupportedError(said, motion))
    return faults or list(_unjoined_parts(model, bodies, springs))


def count_free_motions(model, supports):
    """How many independent motions without strain the parts of a model have on some supports."""
    springs = [one for one in model.attachments if one.stiffness is not None]
    bodies = find_bodies(model.mesh, model.n_components, _joined(model))
    constraints = constraints_of(model.mesh, supports, model.n_components)
    return sum(twists.shape[2] for _members, twists in free_motions(model.mesh, bodies, constraints, springs))


def _joined(model):
    """Pairs of points that beams and links join as a rigid body; points that belong to themselves alone, twice."""
    pairs = [model.beam_cells.points.astype(np.int64)]
    for one in model.attachments:
        taken = one.weights > 0
        points = np.repeat(one.points, taken.sum(axis=1))
        if one.stiffness is None:
            pairs.append(np.column_stack([points, one.masters[taken]]))
        else:  # springs join nothing, but their ends may be points by themselves
            pairs += [np.column_stack([end, end]) for end in (one.points, one.masters[taken])]
    return np.concatenate(pairs)


def motion_words(twists, centre, size):
    """What a body can do, such as ``move along x and turn about z``, and a sentence that says what to hold.

    `twists` (6, n) are its free motions: velocity at its centre, and turning times its size (mm).
    """
    rows = _echelon(twists[[3, 4, 5, 0, 1, 2]].T)  # turning first, so that what is left over are pure shifts
    is_turn = np.abs(rows[:, :3]).max(axis=1) > SAME
    turns, shifts = rows[is_turn], rows[~is_turn, 3:]
    if len(shifts) == 0:
        held = "a point off that line" if len(turns) == 1 else "more points, away from there"
        return f"turn about {_lines(turns, centre, size)}", f"Hold {held}."
    held = listed(sorted({COMPONENTS[k] for k in np.abs(shifts).argmax(axis=1)}))
    turning = f" and turn about {_directions(turns[:, :3])}" if len(turns) else ""
    where = ", at points far enough apart to stop the turning as well" if len(turns) else " somewhere"
    return f"move along {_directions(shifts)}{turning}", f"Hold {held}{where}."


def _sentence(model, bodies, members, twists, supports):
    """What a body, or several that hang together, can do, why, and what would stop it."""
    is_moving = np.abs(twists).max(axis=(1, 2)) > 1e-3
    moving = members[is_moving]
    each = [motion_words(t, bodies.centre[b], bodies.size[b]) for b, t in zip(moving[:SAID], twists[is_moving])]
    cure = each[0][1] if supports else "There are no supports: Model(..., supports=[Support(...), ...])."
    said = "; ".join(f"{_name(model, bodies, body)} can {words}" for body, (words, _cure) in zip(moving, each))
    if len(bodies.size) == 1:
        return f"{said}. {cure}"
    hinges = np.unique(bodies.hinges[np.isin(bodies.hinges[:, 1:], moving).any(axis=1), 0])
    if len(hinges):
        places = listed([place_words(point) for point in model.mesh.points[hinges[:SAID]]])
        advice = f"In plane stress a shared point is a hinge, as at {places}: let the parts share an edge there."
        return f"{said}. {advice} {cure}"
    is_ours = bodies.of_point == moving[0]
    other, distance = _distance(model.mesh, is_ours, (bodies.of_point >= 0) & ~is_ours)
    only = "It shares" if len(moving) == 1 else "Only a mean support ties them; they share"
    return (
        f"{said}. {only} no point with the rest: the nearest of {_name(model, bodies, bodies.of_point[other])} is "
        f"{distance}. Let them share points where they meet, or support what moves. {cure}"
    )


def _echelon(rows):
    """The same space of rows by a basis with leading ones, each in a column of its own where all others are 0."""
    n_done = 0
    for column in range(rows.shape[1]):
        left = np.abs(rows[n_done:, column])
        if left.max(initial=0) < SAME:
            continue
        pivot = n_done + left.argmax()
        rows[[n_done, pivot]] = rows[[pivot, n_done]]
        rows[n_done] /= rows[n_done, column]
        others = np.arange(len(rows)) != n_done
        rows[others] -= np.outer(rows[others, column], rows[n_done])
        n_done += 1
    return rows[:n_done]


def _lines(turns, centre, size):
    """Lines of turns (n, 6): directions, and the place on all, where ``shift + turn × arm = 0``, if there is one."""
    matrix = np.vstack([np.cross(turn, np.eye(3)).T for turn in turns[:, :3]])
    shift, directions = turns[:, 3:].ravel(), _directions(turns[:, :3])
    arm = -np.linalg.lstsq(matrix, shift, rcond=SAME)[0]
    if np.abs(matrix @ arm + shift).max() > SAME * max(1, np.abs(shift).max()):
        return directions  # of screws, or lines that do not meet
    place = place_words(centre + arm * size, SAME * size)
    return f"{'the line' if len(turns) == 1 else 'lines'} along {directions} through {place}"


def _directions(vectors):
    """``x and y`` for directions (n, 3), by their components where they are no global axes."""
    units = np.round(vectors / np.linalg.norm(vectors, axis=1, keepdims=True), 3) + 0.0
    return listed(
        "xyz"[u.argmax()] if np.count_nonzero(u) == 1 else f"({', '.join(f'{x:g}' for x in u)})" for u in units
    )


def _name(model, bodies, body):
    """A part by its plates, and where it is."""
    if len(bodies.size) == 1:
        return "the whole model"
    is_ours = bodies.of_cell == body
    names = [f'"{name}"' for name, cells in model.plate_cells.items() if is_ours[cells].any() and name != EVERYWHERE]
    beams = model.beam_cells
    ours = np.unique(beams.beam[bodies.of_point[beams.points[:, 0]] == body])
    names += [f'"{list(model.beams)[number]}"' for number in ours]
    names = [*names[:3], f"{len(names) - 3} more"] if len(names) > 4 else names
    place = place_words(bodies.centre[body], SAME * bodies.size[body])
    return f"the part {listed(names) + ' ' if names else ''}around {place}"


def _distance(mesh, is_ours, is_other):
    """The other point that is nearest to ours, and in words how far off, and how to join them if so meant."""
    distance, nearest = cKDTree(mesh.points[is_other]).query(mesh.points[is_ours])
    other = np.flatnonzero(is_other)[nearest[distance.argmin()]]
    said = f"{distance.min():.3g} mm away, at {place_words(mesh.points[other])}"
    rounding = 1e-7 * mesh.extent.max()
    near = distance[distance <= min(MERGEABLE * mesh.sizes.min(initial=np.inf), 10 * (distance.min() + rounding))]
    if len(near) == 0:
        return other, said
    reach = f"{1.1 * max(near.max(), rounding):.2g}"
    points = f"{len(near)} points lie within {reach} mm without being shared"
    return other, f"{said}, and {points} (read_mesh(..., merge_within={reach}) joins them)"


def _unjoined_parts(model, bodies, springs):
    """Parts that stand by themselves, but touch or nearly touch without sharing points, a sentence each.

    Those that springs join are meant to touch.
    """
    sprung = {
        tuple(sorted(pair))
        for spring in springs
        for pair in np.unique(bodies.of_point[np.column_stack([spring.points, spring.masters[:, 0]])], axis=0).tolist()
    }
    if len(bodies.size) > 1 and model.mesh.n_cells:
        mesh, hair = model.mesh, HAIR * np.median(model.mesh.sizes)
        used = np.flatnonzero(bodies.of_point >= 0)
        pairs = bodies.of_point[used[cKDTree(mesh.points[used]).query_pairs(hair, output_type="ndarray")]]
        touching = np.unique(np.sort(pairs[pairs[:, 0] != pairs[:, 1]], axis=1), axis=0)
        for one, other in [pair for pair in touching.tolist() if tuple(pair) not in sprung][:SAID]:
            distance = _distance(mesh, bodies.of_point == one, bodies.of_point == other)[1]
            yield (
                f"{_name(model, bodies, one)} is not joined to {_name(model, bodies, other)}: its nearest point is "
                f"{distance}. A gap that is meant must be wider than {hair:.2g} mm."
            )

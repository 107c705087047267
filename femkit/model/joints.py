"""Parts of a model that are not held or not joined: which ones, how far apart, and how they can move."""

import numpy as np
from scipy.spatial import cKDTree

from ..errors import ModelError, UnderSupportedError
from ..mesh.topology import parts
from .cells import EVERYWHERE
from .motion_words import describe_motion, listed, place_words
from .motions import find_bodies, free_motions, motion_of_points
from .support import constraints_of, point_weights

__all__ = ["motion_faults", "unused_point_faults"]

SAID = 5  # parts that are described; the rest is counted
HAIR = 0.01  # of a cell's size: parts nearer than this were meant to be joined. Common practice, no source
MERGEABLE = 0.2  # of a cell's size: up to this, merging points does not crush cells. Common practice, no source


def unused_point_faults(mesh):
    """Points that no cell has, as errors that were not raised: nothing holds them, and what acts there goes nowhere."""
    is_used = np.zeros(mesh.n_points, dtype=bool)
    is_used[mesh.corners[mesh.corners >= 0]] = True
    unused = np.flatnonzero(~is_used)
    if len(unused) == 0:
        return []
    named = [f'"{name}"' for name, edges in mesh.edge_sets.items() if (~is_used[edges]).any()]
    named += [f'"{name}"' for name, points in mesh.point_sets.items() if (~is_used[points]).any()]
    within = f" (sets that hold some: {', '.join(named)})" if named else ""
    which = "1 point belongs" if len(unused) == 1 else f"{len(unused)} points belong"
    return [
        ModelError(
            f"{which} to no cell, the first is point {unused[0]} at {place_words(mesh.points[unused[0]])}{within}. "
            + _gap(
                mesh,
                unused,
                np.flatnonzero(is_used),
                lambda _point: "a cell",
                "Mesh the sheet through them, or take them out.",
            )
        )
    ]


def motion_faults(model):
    """Parts that can move, or else parts so near each other that they were meant to be joined; not raised.

    Parameters
    ----------
    model : Model
        Sound otherwise.

    Returns
    -------
    faults : list of ModelError
        `UnderSupportedError` for what can move.
    """
    bodies = find_bodies(model.mesh, model.n_components)
    groups = model.support_groups or ((model.supports, ()),)
    found = {}
    for supports, names in groups:
        free = free_motions(model.mesh, bodies, constraints_of(model.mesh, supports, model.n_components))
        for fault in _in_words(model, bodies, free, supports):
            found.setdefault(str(fault), (fault, []))[1].extend(names)
    if len(groups) > 1:
        return [_on_supports_of(names, fault) for fault, names in found.values()] or _unjoined_parts(model)
    return [fault for fault, _names in found.values()] or _unjoined_parts(model)


def _on_supports_of(names, fault):
    quoted = listed([f'"{name}"' for name in names])
    cases = f"load case{'s' * (len(names) > 1)} {quoted}"
    return UnderSupportedError(f"on the supports of {cases}, {fault}", fault.motion)


def _in_words(model, bodies, free, supports):
    landmarks = _landmarks(model.mesh, supports) if free else {}
    faults = []
    for motion in free[:SAID]:
        describe_it = _one_body if len(motion.bodies) == 1 else _mechanism
        sentence = describe_it(model, bodies, motion, landmarks, has_supports=len(supports) > 0)
        faults.append(UnderSupportedError(sentence, motion_of_points(model.mesh, bodies, motion)))
    if len(free) > SAID:
        faults.append(
            UnderSupportedError(
                f"{len(free) - SAID} more parts can move. So many were hardly meant: do their cells share points?",
                motion_of_points(model.mesh, bodies, free[SAID]),
            )
        )
    return faults


def _landmarks(mesh, supports):
    """Middle of every support that has a name."""
    places = {}
    for support in supports:
        if isinstance(support.where, str):
            points, weights = point_weights(mesh, support.where, str(support))
            places[support.where] = weights @ mesh.points[points]
    return places


def _one_body(model, bodies, motion, landmarks, has_supports):
    body = motion.bodies[0]
    words, cure = describe_motion(motion.twists[0], bodies.centre[body], bodies.size[body], landmarks)
    cure = cure if has_supports else "There are no supports: Model(..., supports=[Support(...), ...])."
    if len(bodies) == 1:
        return f"the whole model can {words}. {cure}"
    cure = f"Or support it: {cure[0].lower()}{cure[1:]}" if has_supports else cure
    return (
        f"the part {_name(model, bodies, body)} can {words}. It shares no point with the rest. "
        f"{_gap_of_part(model, bodies, body)} {cure}"
    )


def _mechanism(model, bodies, motion, landmarks, has_supports):
    """Several bodies tied by hinges, or by a mean over all of them, that move together."""
    is_moving = np.abs(motion.twists).max(axis=(1, 2)) > 1e-3
    moving, said = motion.bodies[is_moving], []
    for body, twists in zip(moving[:SAID], motion.twists[is_moving]):
        _u, values, vectors = np.linalg.svd(twists)
        own = np.linalg.qr(twists @ vectors[: (values > 1e-6).sum()].T)[0]  # without what moves the others only
        words, _cure = describe_motion(own, bodies.centre[body], bodies.size[body], landmarks)
        said.append(f"{_name(model, bodies, body)} can {words}")
    said = "; ".join([*said, f"{len(moving) - SAID} more move with them"] if len(moving) > SAID else said)
    at_hinge = np.unique(bodies.hinges[np.isin(bodies.hinges[:, 1:], moving).any(axis=1), 0])
    if len(at_hinge) == 0:
        return (
            f"parts that only a mean support ties to each other can move: {said}. Hold each, or join them. "
            f"{_gap_of_part(model, bodies, moving[0])}"
        )
    hinges = [place_words(model.mesh.points[point]) for point in at_hinge[:SAID]]
    hinges += [f"{len(at_hinge) - SAID} more"] if len(at_hinge) > SAID else []
    return (
        f"parts that hang together only by single points, which are hinges in plane stress, can move: {said}. "
        f"The hinges: {listed(hinges)}. Let the parts share an edge there, or hold them."
    )


def _gap_of_part(model, bodies, body):
    points = bodies.points(body)
    return _gap(
        model.mesh,
        points,
        np.setdiff1d(bodies.member_point, points),
        lambda point: f"the part {_name(model, bodies, bodies.of_point[point])}",
        "Let them share points where they meet.",
    )


def _name(model, bodies, body):
    is_ours = bodies.of_cell == body
    names = [f'"{name}"' for name, cells in model.plate_cells.items() if is_ours[cells].any() and name != EVERYWHERE]
    names = [*names[:3], f"{len(names) - 3} more"] if len(names) > 4 else names
    points = bodies.points(body)
    return (
        f"{f'{listed(names)} ' if names else ''}"
        f"({len(points)} points around {place_words(bodies.centre[body], bodies.size[body])})"
    )


def _gap(mesh, points, others, whose, cure):
    """How far points lie from others, whose the nearest is, and whether merging would join them."""
    distance, nearest = cKDTree(mesh.points[others]).query(mesh.points[points])
    closest = distance.argmin()
    other = others[nearest[closest]]
    place = place_words(mesh.points[other])
    said = f"The nearest point of {whose(other)} is {distance[closest]:.3g} mm away, at {place}"
    limit = min(MERGEABLE * mesh.sizes.min(), 10 * distance[closest] + 1e-6 * mesh.extent.max())
    near = distance[distance <= limit]
    if len(near) == 0:
        return f"{said}. {cure}"
    reach = _rounded_up(max(near.max(), 1e-7 * mesh.extent.max()))
    return (
        f"{said}, and {len(near)} points lie within {reach:g} mm without being shared. If they are meant to be the "
        f"same points, read_mesh(..., merge_within={reach:g}) joins them. {cure}"
    )


def _rounded_up(length):
    """To two figures, and a hair more than it was."""
    step = 10.0 ** (np.floor(np.log10(length)) - 1)
    return float(f"{np.ceil(length / step * 1.001) * step:.2g}")


def _unjoined_parts(model):
    """Parts that stand by themselves, but touch or nearly touch without sharing points."""
    mesh = model.mesh
    part = parts(mesh)[1]
    if part.max() == 0:
        return []
    hair = HAIR * np.median(mesh.sizes)
    used = np.flatnonzero(part >= 0)
    pairs = used[cKDTree(mesh.points[used]).query_pairs(hair, output_type="ndarray")]
    pairs = pairs[part[pairs[:, 0]] != part[pairs[:, 1]]]
    between, which = np.unique(np.sort(part[pairs], axis=1), axis=0, return_inverse=True)
    bodies = find_bodies(mesh)  # by shared points, as the parts are
    faults = []
    for number, (one, other) in enumerate(between[:SAID]):
        mine = pairs[which == number]
        apart = np.linalg.norm(np.diff(mesh.points[mine], axis=1), axis=2).max()
        reach = _rounded_up(max(apart, 1e-7 * mesh.extent.max()))
        faults.append(
            ModelError(
                f"the parts {_name(model, bodies, one)} and {_name(model, bodies, other)} are not joined: "
                f"{len(mine)} of their points lie within {reach:g} mm of each other, the first at "
                f"{place_words(mesh.points[mine[0, 0]])}, without being shared. read_mesh(..., merge_within={reach:g}) "
                f"joins them; a gap that is meant must be wider than {hair:.2g} mm."
            )
        )
    return faults

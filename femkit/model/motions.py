"""Which parts of a model can move as rigid bodies, given what holds them and what joins them."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from ..mesh.topology import parts

__all__ = ["Bodies", "find_bodies", "free_motions", "motion_of_points", "rigid_motions"]

HELD = 1e-5  # of a body's size: a support's arm below this holds nothing; real arms are longer, rounding far shorter
LARGEST = 1500  # unknowns of bodies tied to each other; beyond, the solver is left to find out


@dataclass(frozen=True, eq=False)
class Bodies:
    """Cells that move together as one rigid body when nothing strains.

    In a shell, cells that share a point do. In plane stress a shared point alone is a hinge: bodies go by shared
    edges there, and a point between two of them ties their displacements, not their turning.
    """

    of_cell: np.ndarray  # (n_cells,)
    of_point: np.ndarray  # (n_points,) the first, at a hinge; -1 for a point without cells
    hinges: np.ndarray  # (n_hinges, 3) point, and two bodies that it joins
    centre: np.ndarray  # (n_bodies, 3) mean of its points, mm
    size: np.ndarray  # (n_bodies,) distance of its farthest point from the centre, mm


def rigid_motions(points, n_components=6):
    """Three small shifts along and turns about the global axes through the origin, (n_points, 6, 6); mm and rad.

    For plane stress (n_points, 2, 3): two components, two shifts and a turn.
    """
    x, y, z = points.T
    motions = np.zeros((len(points), 6, 6))
    motions[:, range(6), range(6)] = 1
    motions[:, 0, 4], motions[:, 0, 5] = z, -y
    motions[:, 1, 3], motions[:, 1, 5] = -z, x
    motions[:, 2, 3], motions[:, 2, 4] = y, -x
    return motions if n_components == 6 else motions[:, :2, [0, 1, 5]]


def find_bodies(mesh, n_components=6, joined=None):
    """The rigid bodies of a mesh; by shared points for shells, by shared edges for plane stress.

    `joined` (n, 2) are pairs of points that move together besides, as the ends of beams and links do.
    """
    of_cell, of_point = parts(mesh, joined)
    hinges = np.zeros((0, 3), dtype=np.int64)
    if n_components == 2:
        edges = mesh.edges
        is_shared = edges.edge[1:] == edges.edge[:-1]
        pairs = edges.cell[:-1][is_shared], edges.cell[1:][is_shared]
        graph = coo_array((np.ones(len(pairs[0])), pairs), shape=(mesh.n_cells, mesh.n_cells))
        of_cell = connected_components(graph, directed=False)[1].astype(np.int64)
        cell, place = np.nonzero(mesh.points_of_cell >= 0)
        key = mesh.points_of_cell[cell, place] * mesh.n_cells + of_cell[cell]
        point, body = np.divmod(np.unique(key), mesh.n_cells)
        of_point[point[::-1]] = body[::-1]  # the first body stays
        hinges = np.column_stack([point, of_point[point], body])[of_point[point] != body]
    point = np.concatenate([np.flatnonzero(of_point >= 0), hinges[:, 0]])
    body = np.concatenate([of_point[of_point >= 0], hinges[:, 2]])
    count = np.bincount(body)
    centre = np.column_stack([np.bincount(body, x) / count for x in mesh.points[point].T])
    size = np.zeros(len(count))
    np.maximum.at(size, body, np.linalg.norm(mesh.points[point] - centre[body], axis=1))
    return Bodies(of_cell, of_point, hinges, centre, np.where(size > 0, size, 1.0))  # a point alone has none


def free_motions(mesh, bodies, constraints, springs=()):
    """What bodies can still do on their supports: each alone, and those that hinges, means or springs tie together.

    A list of which bodies, (k,), and their independent motions, (k, 6, n): velocity at the centre, turning times size.
    """
    equation, body, terms = _equations(mesh, bodies, constraints, springs)
    n_bodies = len(bodies.size)
    squares = np.zeros((n_bodies, 6, 6))
    for i, j in np.ndindex(6, 6):
        squares[:, i, j] = np.bincount(body, terms[:, i] * terms[:, j], minlength=n_bodies)
    values, vectors = np.linalg.eigh(squares)
    is_free = values < _limit(values)
    is_tied = np.zeros(n_bodies, dtype=bool)
    is_tied[body[np.bincount(equation)[equation] > 1]] = True
    alone, tied = np.flatnonzero(~is_tied & is_free.any(axis=1)), np.flatnonzero(is_tied)
    free = [(np.array([one]), vectors[one][None, :, is_free[one]]) for one in alone]
    if 0 < 6 * len(tied) <= LARGEST:
        is_ours = is_tied[body]
        column = 6 * np.searchsorted(tied, body[is_ours])[:, None] + np.arange(6)
        at = np.repeat(equation[is_ours], 6), column.ravel()
        system = coo_array((terms[is_ours].ravel(), at)).tocsr()
        values, vectors = np.linalg.eigh((system.T @ system).toarray())
        if values[0] < _limit(values):
            free.append((tied, vectors[:, values < _limit(values)].reshape(len(tied), 6, -1)))
    return free


def motion_of_points(mesh, bodies, members, twists):
    """The first of some bodies' free motions at all points, shape (n_points, 6), its largest shift 1."""
    twist, centre = np.zeros((len(bodies.size) + 1, 6)), np.vstack([bodies.centre, np.zeros(3)])
    twist[members] = twists[:, :, 0]
    twist[:-1, 3:] /= bodies.size[:, None]  # the last body is for points without cells
    motions = rigid_motions(mesh.points - centre[bodies.of_point])
    shape = np.einsum("nij,nj->ni", motions, twist[bodies.of_point])
    return shape / max(np.abs(shape[:, :3]).max(), 1e-300)


def _equations(mesh, bodies, constraints, springs):
    """What supports, hinges, springs and means ask: number of the equation, a body in it, that body's coefficients (6).

    Coefficients are of motions about the body's centre, turns times its size, so that all are of order 1.
    """
    n_bodies, n_components = len(bodies.size), constraints.is_held.shape[1]

    def motions(points, body):
        return rigid_motions((mesh.points[points] - bodies.centre[body]) / bodies.size[body, None])

    points, component = np.nonzero(constraints.is_held & (bodies.of_point >= 0)[:, None])
    number, owner = np.arange(len(points)), bodies.of_point[points]
    found, n_found = [(number, owner, motions(points, owner)[number, component])], len(points)
    if n_components == 2:
        for component in (2, 3, 4):  # the plane is kept
            number = np.arange(n_found, n_found := n_found + n_bodies)
            found.append((number, np.arange(n_bodies), np.tile(np.eye(6)[component], (n_bodies, 1))))
        points, one, other = bodies.hinges.T
        for component in range(2):
            number = np.arange(n_found, n_found := n_found + len(points))
            found += [(number, one, motions(points, one)[:, component])]
            found += [(number, other, -motions(points, other)[:, component])]
    for spring in springs:
        for some, direction in _stiff_directions(spring, bodies):
            number = np.arange(n_found, n_found := n_found + len(some))
            is_there = spring.weights[some].sum(axis=1) > 0  # the ground is not
            ends = (1.0, spring.points[some], slice(None)), (-1.0, spring.masters[some, 0], is_there)
            for sign, points, chosen in ends:
                owner = bodies.of_point[points[chosen]]
                motion = rigid_motions((spring.at[some][chosen] - bodies.centre[owner]) / bodies.size[owner, None])
                motion[:, 3:] *= (bodies.size.max() / bodies.size[owner])[:, None, None]
                found.append((number[chosen], owner, sign * np.einsum("ni,nij->nj", direction[chosen], motion)))
    for number, mean in enumerate(constraints.means, n_found):
        is_used = bodies.of_point[mean.points] >= 0
        points, owner = mean.points[is_used], bodies.of_point[mean.points[is_used]]
        terms = mean.weights[is_used, None] * motions(points, owner)[:, mean.component]
        if mean.component >= 3:
            terms *= bodies.size[owner].max() / bodies.size[owner, None]
        body, place = np.unique(owner, return_inverse=True)
        found.append((np.full(len(body), number), body, np.column_stack([np.bincount(place, t) for t in terms.T])))
    return tuple(map(np.concatenate, zip(*found)))


def _stiff_directions(spring, bodies):
    """Six directions in turn: which springs between different bodies, or to the ground, resist one; and it."""
    is_ground = spring.weights.sum(axis=1) == 0
    is_between = is_ground | (bodies.of_point[spring.points] != bodies.of_point[spring.masters[:, 0]])
    for part in (slice(0, 3), slice(3, 6)):
        values, vectors = np.linalg.eigh(spring.stiffness[:, part, part])
        for k in range(3):
            some = np.flatnonzero(is_between & (values[:, k] > 1e-9 * np.abs(values).max(initial=0.0)))
            direction = np.zeros((len(some), 6))
            direction[:, part] = vectors[some, :, k]
            yield some, direction


def _limit(values):
    """Below it an eigenvalue is 0; with very many equations it is their rounding that sets it."""
    return np.maximum(HELD**2, 1e-15 * values[..., -1:])

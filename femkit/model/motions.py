"""Which parts of a model can move as rigid bodies, given what holds them and what joins them."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from ..mesh.topology import parts

__all__ = ["Bodies", "FreeMotion", "find_bodies", "free_motions", "rigid_motions"]

HELD = (
    1e-5  # of a body's size: a support's arm below this holds nothing. Real arms are far longer, rounding far shorter
)
LARGEST = 3000  # unknowns of hinged bodies looked at together; beyond, the solver is left to find out


@dataclass(frozen=True, eq=False)
class Bodies:
    """Cells that move together as one rigid body when nothing strains.

    In a shell, cells that share a point do. In plane stress a shared point alone is a hinge: bodies go by shared
    edges there, and a point between two of them ties their displacements, not their turning.

    Attributes
    ----------
    of_cell : ndarray of int64, shape (n_cells,)
    of_point : ndarray of int64, shape (n_points,)
        A body that the point is of (the first, at a hinge); -1 for a point without cells.
    member_body, member_point : ndarray of int64, shape (n_members,)
        All pairs of a body and a point of it, sorted by body.
    hinges : ndarray of int64, shape (n_hinges, 3)
        Point, and two bodies that it joins.
    centre : ndarray, shape (n_bodies, 3)
        Mean of its points, mm.
    size : ndarray, shape (n_bodies,)
        Distance of its farthest point from the centre, mm.
    """

    of_cell: np.ndarray
    of_point: np.ndarray
    member_body: np.ndarray
    member_point: np.ndarray
    hinges: np.ndarray
    centre: np.ndarray
    size: np.ndarray

    def __len__(self):
        return len(self.size)

    def points(self, body):
        """Point indices of one body."""
        return self.member_point[np.searchsorted(self.member_body, body) : np.searchsorted(self.member_body, body + 1)]


@dataclass(frozen=True, eq=False)
class FreeMotion:
    """What one body, or several that hang together, can do without strain.

    Attributes
    ----------
    bodies : ndarray of int64, shape (k,)
    twists : ndarray, shape (k, 6, n_free)
        Velocity at each body's centre, then turning about the global axes through it times the body's size.
    """

    bodies: np.ndarray
    twists: np.ndarray


def rigid_motions(points, n_components=6):
    """Small rigid motions: three shifts along and three turns about the global axes through the origin.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
    n_components : int
        6, or 2 for plane stress (two shifts, one turn).

    Returns
    -------
    motions : ndarray, shape (n, n_components, 6 or 3)
        mm and rad a mm and a rad.
    """
    x, y, z = points.T
    motions = np.zeros((len(points), 6, 6))
    motions[:, range(6), range(6)] = 1
    motions[:, 0, 4], motions[:, 0, 5] = z, -y
    motions[:, 1, 3], motions[:, 1, 5] = -z, x
    motions[:, 2, 3], motions[:, 2, 4] = y, -x
    return motions if n_components == 6 else motions[:, :2, [0, 1, 5]]


def find_bodies(mesh, n_components=6):
    """The rigid bodies of a mesh; by shared points for shells, by shared edges for plane stress."""
    of_cell = parts(mesh)[0] if n_components == 6 else _joined_by_edges(mesh)
    cell, corner = np.nonzero(mesh.corners >= 0)
    body, point = np.divmod(np.unique(of_cell[cell] * mesh.n_points + mesh.corners[cell, corner]), mesh.n_points)
    of_point = np.full(mesh.n_points, -1, dtype=np.int64)
    of_point[point[::-1]] = body[::-1]  # the first body stays
    is_further = of_point[point] != body
    hinges = np.column_stack([point, of_point[point], body])[is_further]
    n_bodies = int(of_cell.max(initial=-1)) + 1
    count = np.bincount(body, minlength=n_bodies)[:, None]
    centre = np.column_stack([np.bincount(body, x, minlength=n_bodies) for x in mesh.points[point].T]) / count
    size = np.zeros(n_bodies)
    np.maximum.at(size, body, np.linalg.norm(mesh.points[point] - centre[body], axis=1))
    return Bodies(of_cell, of_point, body, point, hinges, centre, size)


def free_motions(mesh, bodies, constraints):
    """What bodies can still do on their supports.

    Parameters
    ----------
    mesh : Mesh
    bodies : Bodies
    constraints : Constraints

    Returns
    -------
    free : list of FreeMotion
        One for each body, or group of bodies tied by hinges or by means over several of them, that is not held.
        Groups of more than a thousand hinged bodies are left to the solver, which finds a motion by factoring.
    """
    row, body, vector = _equations(mesh, bodies, constraints)
    n_bodies, n = len(bodies), vector.shape[1]
    gram = np.zeros((n_bodies, n, n))
    for i, j in np.ndindex(n, n):
        gram[:, i, j] = np.bincount(body, vector[:, i] * vector[:, j], minlength=n_bodies)
    values, vectors = np.linalg.eigh(gram)
    is_free = values < _limit(values)
    group = _tied(n_bodies, row, body)
    is_alone = np.bincount(group)[group] == 1
    found = [
        FreeMotion(np.array([one]), _full(vectors[one][None, :, is_free[one]]))
        for one in np.flatnonzero(is_alone & is_free.any(axis=1))
    ]
    for number in np.unique(group[~is_alone]):
        mine, is_ours = np.flatnonzero(group == number), group[body] == number
        if len(mine) * n <= LARGEST:
            twists = _free_together(row[is_ours], np.searchsorted(mine, body[is_ours]), vector[is_ours])
            found += [FreeMotion(mine, _full(twists))] if twists.shape[2] else []
    return sorted(found, key=lambda motion: motion.bodies[0])


def motion_of_points(mesh, bodies, motion):
    """The first of a free motion's shapes at all points, shape (n_points, 6), its largest shift 1."""
    shape = np.zeros((mesh.n_points, 6))
    for body, twist in zip(motion.bodies, motion.twists[:, :, 0]):
        points = bodies.points(body)
        twist = twist / np.repeat([1, bodies.size[body]], 3)
        shape[points] = rigid_motions(mesh.points[points] - bodies.centre[body]) @ twist
    return shape / max(np.abs(shape[:, :3]).max(), 1e-300)


def _joined_by_edges(mesh):
    edges = mesh.edges
    is_shared = edges.edge[1:] == edges.edge[:-1]
    pairs = edges.cell[:-1][is_shared], edges.cell[1:][is_shared]
    graph = coo_array((np.ones(len(pairs[0])), pairs), shape=(mesh.n_cells, mesh.n_cells))
    return connected_components(graph, directed=False)[1].astype(np.int64)


def _equations(mesh, bodies, constraints):
    """What supports and hinges ask: row numbers, bodies and coefficients (n, 6 or 3), one for each body in a row.

    Coefficients are of motions about the body's centre, turns times its size, so that all are of order 1.
    """
    n_components = constraints.is_held.shape[1]

    def motions(points, body):
        scaled = (mesh.points[points] - bodies.centre[body]) / bodies.size[body, None]
        return rigid_motions(scaled, n_components)

    points, components = np.nonzero(constraints.is_held & (bodies.of_point >= 0)[:, None])
    owner = bodies.of_point[points]
    rows, of_body = [np.arange(len(points))], [owner]
    vectors = [motions(points, owner)[np.arange(len(points)), components]]
    n_rows = len(points)
    if len(bodies.hinges):
        point, one, other = bodies.hinges.T
        for component in range(n_components):
            rows.append(np.tile(np.arange(len(point)), 2) + n_rows)
            of_body.append(np.concatenate([one, other]))
            vectors += [motions(point, one)[:, component], -motions(point, other)[:, component]]
            n_rows += len(point)
    for mean in constraints.means:
        owner = bodies.of_point[mean.points]
        which, place = np.unique(owner[owner >= 0], return_inverse=True)
        used, weights = mean.points[owner >= 0], mean.weights[owner >= 0]
        terms = weights[:, None] * motions(used, which[place])[:, mean.component]
        if mean.component >= 3:
            terms = terms / bodies.size[which[place], None] * bodies.size[which].max(initial=0)
        rows.append(np.full(len(which), n_rows))
        of_body.append(which)
        vectors.append(np.column_stack([np.bincount(place, t, minlength=len(which)) for t in terms.T]))
        n_rows += 1
    return np.concatenate(rows), np.concatenate(of_body), np.concatenate(vectors)


def _tied(n_bodies, row, body):
    """Number of the group that each body is in, with those that some equation ties it to."""
    n_rows = int(row.max(initial=-1)) + 1
    table = coo_array((np.ones(len(row)), (row, n_rows + body)), shape=(n_rows + n_bodies,) * 2)
    return np.unique(connected_components(table, directed=False)[1][n_rows:], return_inverse=True)[1]


def _free_together(row, body, vector):
    """Motions (k, n, n_free) of k bodies that no equation stops, neither of one of them nor between them."""
    _numbers, row = np.unique(row, return_inverse=True)
    n = vector.shape[1]
    system = np.zeros((row.max() + 1, body.max() + 1, n))
    system[row, body] = vector
    system = system.reshape(len(system), -1)
    values, vectors = np.linalg.eigh(system.T @ system)
    return vectors.reshape(-1, n, len(values))[:, :, values < _limit(values)]


def _limit(values):
    """Below it an eigenvalue is 0; with very many equations it is their rounding that sets it."""
    return np.maximum(HELD**2, 1e-15 * values[..., -1:])


def _full(twists):
    """Twists (k, n, n_free) with all six components, those of plane stress put in their places."""
    if twists.shape[1] == 6:
        return twists
    full = np.zeros((len(twists), 6, twists.shape[2]))
    full[:, [0, 1, 5]] = twists
    return full

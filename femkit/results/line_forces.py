"""Forces along a seam: what passes from one part to another through the line at which they meet, per length of it.

They are the cells' own forces at the line's points, which hold every cell in balance with loads and reactions to
rounding whatever the mesh, each divided by the length that belongs to its point: half of the edges it has, of quadratic
ones a sixth at their ends and the rest in their middle. So sums over the seam are exact, and an even force comes out
even. Where a linear course ends, the last point has the value of a third of an edge further in.
"""

from dataclasses import dataclass, replace

import numpy as np

from ..errors import ModelError
from ..mesh.selection import describe, edges_between, select_cells, select_edges
from ..mesh.topology import FOLD_ANGLE, edge_keys, half_sides, halves
from ..model.values import bad_number, place_words, refuse

__all__ = ["LineForces", "line_forces"]

STRAIGHT = np.cos(FOLD_ANGLE)  # a line that turns by more goes on as another one


@dataclass(frozen=True, eq=False)
class LineForces:
    """Forces and moments per length that act on the first part along its border.

    Rows are points, line by line; a point at which lines meet has a row in each, and a closed line ends with its first
    point.

    Attributes
    ----------
    name, case : str
        Of the seam, and of the load case or combination.
    line : ndarray of int, shape (n,)
        Which connected, smooth line a row is of.
    distance : ndarray, shape (n,)
        Along it, mm.
    share : ndarray, shape (n,)
        Length that belongs to the row, mm.
    places : ndarray, shape (n, 3)
        On the first part's middle plane, mm; moments are about them.
    axes : ndarray, shape (n, 3, 3)
        Rows are the directions *along* the line, *across* it (in the first part's plane, away from it) and *normal* to
        the first part, its top; global axes.
    force : ndarray, shape (n, 3)
        Along, across and normal, N/mm. Across is positive where the seam is pulled apart.
    moment : ndarray, shape (n, 3)
        About the same directions, N mm/mm. About the line it bends the first part; positive puts its top in
        compression.
    """

    name: str
    case: str
    line: np.ndarray
    distance: np.ndarray
    share: np.ndarray
    places: np.ndarray
    axes: np.ndarray
    force: np.ndarray
    moment: np.ndarray

    @property
    def length(self):
        """Of all lines, mm."""
        return float(self.share.sum())

    @property
    def lengths(self):
        """Of each line, mm, shape (n_lines,)."""
        return np.bincount(self.line, self.share)

    def mean(self, line, low, high):
        """Means of ``force moment`` over stretches of one line, shape (k, 6), N/mm and N mm/mm.

        Each point's stands for its share, so stretches that cover a line carry together what it carries.

        Parameters
        ----------
        line : int
        low, high : ndarray, shape (k,)
            Where along the line a stretch begins and ends, mm.
        """
        of_line = self.line == line
        ends = np.append(0.0, np.cumsum(self.share[of_line]))
        passed = np.hstack([self.force, self.moment])[of_line] * self.share[of_line, None]
        upto = np.vstack([np.zeros(6), np.cumsum(passed, axis=0)]).T
        stretch = [np.interp(high, ends, each) - np.interp(low, ends, each) for each in upto]
        return np.stack(stretch, axis=1) / (high - low)[:, None]

    def averaged(self, over):
        """The same with every value the mean over a length of its line around it, or its first or last such length.

        Parameters
        ----------
        over : float
            mm; a shorter line has its mean everywhere.
        """
        refuse(bad_number(self.name, "the length to average over", over, "mm", " above 0"))
        means = []
        for line, length in enumerate(self.lengths):
            width = min(over, length)
            low = np.clip(self.distance[self.line == line] - width / 2, 0, length - width)
            means.append(self.mean(line, low, low + width))
        means = np.concatenate(means)
        return replace(self, force=means[:, :3], moment=means[:, 3:])

    def total(self, about=(0.0, 0.0, 0.0)):
        """Force and moment about a point that pass through the whole seam onto the first part: N and N mm, each (3,).

        Parameters
        ----------
        about : 3 numbers
            mm.
        """
        force, moment = (
            self.share[:, None] * np.einsum("nij,ni->nj", self.axes, each) for each in (self.force, self.moment)
        )
        return force.sum(axis=0), (np.cross(self.places - np.asarray(about, dtype=float), force) + moment).sum(axis=0)

    def table(self):
        """One row a point: line, distance, place, forces and moments, as a pandas table."""
        import pandas as pd

        heads = [f"{way} (N/mm)" for way in ("along", "across", "normal")]
        heads += [f"moment about {way} (N mm/mm)" for way in ("along", "across", "normal")]
        table = pd.DataFrame(np.column_stack([self.force, self.moment]), columns=heads)
        table.insert(0, "at (mm)", [place_words(place, digits=0) for place in self.places])
        table.insert(0, "distance (mm)", self.distance)
        table.insert(0, "line", self.line)
        return table

    def __repr__(self):
        most = np.abs(self.force).max(axis=0)
        lines = f"{self.line[-1] + 1} line{'s' * bool(self.line[-1])}"
        return (
            f"LineForces {self.name}, {self.case}: {lines}, {self.length:.4g} mm; at most {most[0]:.4g} along, "
            f"{most[1]:.4g} across, {most[2]:.4g} N/mm normal"
        )


def line_forces(case, first, second=None, *, edges=None, name=None):
    """Forces and moments per length along the border of a part, as they act on it: also ``case.line_forces(…)``.

    What acts on the part at the line's points counts whatever it comes from: the second part, but loads, supports,
    beams and links at the very line too. Where the line ends but the part's border goes on, the last point's force is
    shared with it by length: so all lines of a border, each by itself, add up to what acts on the part.

    Parameters
    ----------
    case : CaseResult
    first : str, place or array of int
        Cells of the part that the forces act on, on one side of the line: where a sheet runs on through it, the part
        that stands on the sheet.
    second : str, place or array of int, optional
        Cells on the other side; all other cells without it.
    edges : str, place or array of int, optional
        Instead of `second`: the line, as an edge set's name or pairs of points, each the side of one of the first's
        cells.
    name : str, optional
        What tables are to call the seam.

    Returns
    -------
    forces : LineForces

    Raises
    ------
    UnknownSetError
        If there is no set of a name; the nearest is offered.
    ModelError
        If the parts share no edge (it says how far apart they are), an edge is not one of the first part, or the
        first part lies on both sides of the line.

    Examples
    --------
    A strip 10 mm wide under 200 N passes 20 N/mm from half to half:

    >>> import femkit as fk
    >>> points = [[0, 0], [50, 0], [100, 0], [0, 10], [50, 10], [100, 10]]
    >>> strip = fk.Mesh(points, {"quad": [[0, 1, 4, 3], [1, 2, 5, 4]]}, cell_sets={"left": [0], "right": [1]})
    >>> held = [fk.Support(fk.on_plane(x=0), ux=0), fk.Support([0], uy=0)]
    >>> pull = fk.LoadCase("pull", [fk.PointLoad(fk.on_plane(x=100), fx=200, total=True)])
    >>> model = fk.Model(strip, fk.Plate(2, fk.Material("steel", E=210_000, nu=0)), supports=held, load_cases=[pull],
    ...                  behaviour="plane stress")
    >>> fk.solve_static(model)["pull"].line_forces("left", "right").force.round(6) + 0.0
    array([[ 0., 20.,  0.],
           [ 0., 20.,  0.]])
    """
    mesh = case.model.mesh
    other = describe(edges if edges is not None else "the rest" if second is None else second)
    name = name or f"{describe(first)} to {other}"
    who = f'seam "{name}"'
    if edges is None:
        pairs = edges_between(mesh, first, second, who)
    elif second is None:
        pairs = np.unique(np.sort(select_edges(mesh, edges, who), axis=1), axis=0)
    else:
        raise ModelError(f"{who}: give the part on the other side or the line's edges, not both.")
    is_first = np.zeros(mesh.n_cells, dtype=bool)
    is_first[select_cells(mesh, first, who)] = True
    pairs, axes, cells = _directed(mesh, pairs, is_first, who)
    length, ends = np.linalg.norm(np.subtract(*mesh.points[pairs.T]), axis=1), _lengths_of_ends(mesh, pairs)
    of_point, taken, rows = _border_lengths(mesh, pairs, is_first), _taken(case, is_first), []
    raised = (case.model.behaviour == "shell") * case.model.per_cell.offset[cells, None] * axes[:, 2]
    for number, chain in enumerate(_chains(pairs, axes)):
        points, steps = np.append(pairs[chain, 0], pairs[chain[-1], 1]), length[chain]
        mean = _right_angled(_at_points(axes[chain], steps))
        lift, force = _at_points(raised[chain], steps), taken[points, :3] / of_point[points, None]
        moment = taken[points, 3:] / of_point[points, None] - np.cross(lift, force)
        force, moment = (np.einsum("nij,nj->ni", mean, each) for each in (force, moment))
        share = np.append(ends[chain, 0], 0.0) + np.append(0.0, ends[chain, 1])
        distance = np.append(0.0, np.cumsum(steps))
        rows.append((np.full(len(points), number), distance, share, mesh.points[points] + lift, mean, force, moment))
    return LineForces(name, case.name, *map(np.concatenate, zip(*rows)))


def _directed(mesh, pairs, is_first, who):
    """Pairs turned so that along, across (away from the first part) and its normal are right-handed; axes; cells."""
    whole, (sides, is_half) = pairs.copy(), half_sides(mesh, pairs)
    whole[is_half] = sides[:, [0, 2]]
    edges, wanted = mesh.edges, edge_keys(mesh, whole)
    is_mine = is_first[edges.cell]
    keys, cells = edge_keys(mesh, edges.points)[edges.edge[is_mine]], edges.cell[is_mine]  # ascending
    low, high = (np.searchsorted(keys, wanted, side=side) for side in ("left", "right"))
    for is_bad, words in (
        (high == low, "is no side of a cell of the first part"),
        (high > low + 1, "has more than one cell of the first part; take the other part first, or cells on one side"),
    ):
        if is_bad.any():
            middle = mesh.points[pairs[is_bad][0]].mean(axis=0)
            raise ModelError(f"{who}: the edge at {place_words(middle)} mm {words}.")
    normal, ends = mesh.normals[cells[low]], mesh.points[pairs]
    along = ends[:, 1] - ends[:, 0]
    is_back = (np.cross(normal, along) * (ends.mean(axis=1) - mesh.centres[cells[low]])).sum(axis=1) < 0
    along[is_back] *= -1
    axes = _right_angled(np.stack([along, along, normal], axis=1))
    return np.where(is_back[:, None], pairs[:, ::-1], pairs), axes, cells[low]


def _at_points(of_edges, lengths):
    """Means at a line's points of what its edges (m, …) have, by their lengths."""
    weights = lengths.reshape(-1, *[1] * (of_edges.ndim - 1))
    sums = lambda each: np.concatenate([each[:1], each[:-1] + each[1:], each[-1:]])  # noqa: E731
    return sums(of_edges * weights) / sums(weights)


def _right_angled(axes):
    """Unit directions along, across and normal from about those (n, 3, 3): along as it is, normal square to it."""
    along, normal = (axes[:, i] / np.linalg.norm(axes[:, i], axis=1, keepdims=True) for i in (0, 2))
    across = np.cross(normal, along)
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    return np.stack([along, across, np.cross(along, across)], axis=1)


def _chains(pairs, axes):
    """Edges in the order in which they follow one another, an array a line, which ends at corners and branches."""
    count = np.bincount(pairs.ravel(), minlength=pairs.max() + 1)
    first = dict(zip(pairs[:, 0].tolist(), range(len(pairs))))
    follower = np.array([first.get(end, -1) if count[end] == 2 else -1 for end in pairs[:, 1].tolist()])
    turns = np.einsum("nij,nij->ni", axes, axes[follower])[:, [0, 2]].min(axis=1) < STRAIGHT
    follower[turns | (follower == np.arange(len(pairs)))] = -1
    starts, is_left = np.setdiff1d(np.arange(len(pairs)), follower).tolist(), np.ones(len(pairs), dtype=bool)
    while starts or is_left.any():  # what is left then are closed lines
        edge = starts.pop(0) if starts else int(is_left.argmax())
        chain = []
        while edge >= 0 and is_left[edge]:
            chain.append(edge)
            is_left[edge] = False
            edge = int(follower[edge])
        yield np.array(chain)


def _lengths_of_ends(mesh, pairs):
    """How much of its length belongs to either end of each edge, (m, 2), mm: of an even force along it each's share."""
    share, (sides, is_half) = np.full(pairs.shape, 0.5), half_sides(mesh, pairs)
    share[is_half] = np.where(pairs[is_half] == sides[:, 1:2], 2 / 3, 1 / 3)
    return share * np.linalg.norm(np.subtract(*mesh.points[pairs.T]), axis=1)[:, None]


def _border_lengths(mesh, pairs, is_first):
    """What belongs to each point of the line and of the first part's border, (n_points,), mm."""
    edges = mesh.edges
    has_first, has_other = (
        np.bincount(edges.edge, chosen[edges.cell], len(edges.points)) > 0 for chosen in (is_first, ~is_first)
    )
    border = np.concatenate([pairs, halves(mesh, edges.points[has_first & has_other])])
    border = np.unique(np.sort(border, axis=1), axis=0)
    return np.bincount(border.ravel(), _lengths_of_ends(mesh, border).ravel(), minlength=mesh.n_points)


def _taken(case, is_first):
    """What the points put on the first part's cells, shape (n_points, 6), N and N mm."""
    mesh, size = case.model.mesh, case.model.n_components
    taken = np.zeros((mesh.n_points, 6))
    for kind, points, block in mesh.blocks():
        mine = is_first[block]
        np.add.at(taken[:, :size], points[mine], case.cell_forces[kind][mine])
    return taken

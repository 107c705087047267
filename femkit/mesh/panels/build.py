"""The mesh of a panel: faces of one lattice in x, y and z, with strips of cells around rounded corners.

Sheet, webs and flanges are faces of the same lattice, so they share their points wherever they meet, and nothing needs
joining. The lattice is laid out flat, and bent and placed at the end.
"""

from dataclasses import replace

import numpy as np

from ...errors import MeshError
from ..border import counted
from ..mesh import Mesh
from ..quality import mesh_quality
from .corners import corners_of, strip
from .lattice import SAME
from .plan import axes_of, pieces_of

__all__ = ["build"]

POOR = 0.4  # scaled Jacobian that common shapes stay above; common practice, no source


def build(panel):
    """The mesh of a panel whose numbers have been checked; `MeshError` for what shows only on the lattice."""
    corners, faults = corners_of(panel.openings, list(panel.segments()), panel.extent)
    pieces, more, notes = pieces_of(panel, corners)
    faults += more
    if faults:
        raise MeshError("The panel can't be built: " + "\n".join(dict.fromkeys(faults)))
    draft = _Draft(*axes_of(panel, corners, pieces))
    strips = [(corner, *draft.strip(corner)) for corner in corners]
    _add_sheet(draft, panel, strips)
    _add_rims(draft, panel, strips)
    for stiffener, legs in pieces:
        _add_stiffener(draft, stiffener, legs)
    for doubler in panel.doublers:
        _add_doubler(draft, doubler, panel.extent)
    return _finish(draft, panel, notes)


class _Draft:
    """Points, cells and sets of a panel as they are put together; lattice points are numbered by their three lines."""

    def __init__(self, x, z, y):
        self.x, self.z, self.y = x, z, y
        self.shape = (len(x.lines), len(z.lines), len(y.lines))
        self.n_points, self.extra = int(np.prod(self.shape)), []  # points off the lattice: x, y, z
        self.quads, self.n_cells, self.cell_sets, self.edge_sets, self.point_sets = [], 0, {}, {}, {}

    @property
    def ground(self):
        """The line y = 0."""
        return self.y.index(0.0)

    def point(self, i, j, k=None):
        """Numbers of lattice points."""
        k = self.ground if k is None else k
        return (np.asarray(i) * self.shape[1] + j) * self.shape[2] + k

    def new_points(self, places):
        """Numbers of points put anywhere, (n, 3)."""
        numbers = self.n_points + np.arange(len(places))
        self.extra.append(places)
        self.n_points += len(places)
        return numbers

    @property
    def places(self):
        """Coordinates of all points, x, y, z of the flat panel."""
        x, z, y = np.meshgrid(self.x.lines, self.z.lines, self.y.lines, indexing="ij")
        return np.concatenate([np.stack([x, y, z], axis=-1).reshape(-1, 3), *self.extra])

    def add(self, quads, *names):
        """Add cells to sets."""
        where = np.arange(self.n_cells, self.n_cells + len(quads))
        self.quads.append(quads)
        self.n_cells += len(quads)
        for name in names:
            self.cell_sets[name] = np.append(self.cell_sets.get(name, np.zeros(0, dtype=np.int64)), where)

    def add_edges(self, name, points):
        """Add the edges of a chain of points to a set."""
        pairs = np.stack([points[:-1], points[1:]], axis=1)
        self.edge_sets[name] = np.concatenate([self.edge_sets.get(name, pairs[:0]), pairs])

    def strip(self, corner):
        """Point numbers of the strip around a corner, (n_arc + 1, n_across + 1)."""
        lattice, places = strip(corner, self.x, self.z)
        numbers = self.point(lattice[..., 0], lattice[..., 1])
        is_new = lattice[..., 0] < 0
        x, z = places[is_new].T
        numbers[is_new] = self.new_points(np.stack([x, np.zeros_like(x), z], axis=1))
        return numbers, places


def _grid(numbers):
    """Cells of a table of points, counter-clockwise for the first index then the second."""
    a = numbers
    return np.stack([a[:-1, :-1], a[1:, :-1], a[1:, 1:], a[:-1, 1:]], axis=-1).reshape(-1, 4)


def _add_sheet(draft, panel, strips):
    """Lattice cells outside openings and their corners, and the strips; in the sets that zones make."""
    x, z = draft.x.lines, draft.z.lines
    i, j = draft.x.between(0.0, panel.length), draft.z.between(0.0, panel.height)
    numbers = draft.point(i[None, :], j[:, None])  # z first, so that the normal points inward
    quads, centres = _grid(numbers), _centres(x[i], z[j])
    holes = [[opening.box(a) for a in (0, 1)] for opening in panel.openings]
    holes += [[corner.box(a) for a in (0, 1)] for corner, _numbers, _places in strips]
    kept = ~np.any([_within(centres, box) for box in holes], axis=0) if holes else np.ones(len(quads), dtype=bool)
    quads, centres = [quads[kept]], [centres[kept]]
    for corner, points, places in strips:
        turned = points if corner.out[0] * corner.out[1] < 0 else points[::-1]
        quads.append(_grid(turned))
        turned = places if corner.out[0] * corner.out[1] < 0 else places[::-1]
        centres.append(((turned[:-1, :-1] + turned[1:, 1:]) / 2).reshape(-1, 2))
    quads, centres = np.concatenate(quads), np.concatenate(centres)
    owner = np.full(len(quads), "sheet", dtype=object)
    for name, box in (*((zone.name, zone.box(panel.extent)) for zone in panel.zones), *_feet(panel)):
        owner[_within(centres, box)] = name
    for name in dict.fromkeys(owner):
        draft.add(quads[owner == name], name)
    draft.sheet = np.concatenate(draft.quads)
    draft.sheet_centres = np.concatenate([centres[owner == name] for name in dict.fromkeys(owner)])
    edges = {"left-edge": (i[0], j), "right-edge": (i[-1], j), "lower-edge": (i, j[0]), "upper-edge": (i, j[-1])}
    for name, (a, b) in edges.items():
        draft.add_edges(name, draft.point(a, b))
    for name, a, b in (("lower-left", 0, 0), ("lower-right", -1, 0), ("upper-right", -1, -1), ("upper-left", 0, -1)):
        draft.point_sets[f"{name}-corner"] = [draft.point(i[a], j[b])]


def _feet(panel):
    """Rectangles of the sheet that feet of stiffeners lie on, with the names of their sets."""
    for stiffener in panel.stiffeners:
        for part, start, end in stiffener.section:
            for line in stiffener.lines if part == "foot" else ():
                across, along = sorted((line + start[0], line + end[0])), stiffener.reach(panel.extent)
                yield f"{stiffener.name}-{part}", (across, along) if stiffener.axis == 0 else (along, across)


def _centres(x, z):
    middle_x, middle_z = (x[:-1] + x[1:]) / 2, (z[:-1] + z[1:]) / 2
    return np.stack(np.meshgrid(middle_x, middle_z, indexing="xy"), axis=-1).reshape(-1, 2)


def _within(centres, box):
    (a, b), (c, d) = box
    return (centres[:, 0] > a) & (centres[:, 0] < b) & (centres[:, 1] > c) & (centres[:, 1] < d)


def _add_rims(draft, panel, strips):
    """Edge sets around openings, points at their square corners, and coamings."""
    for opening in panel.openings:
        chains = {}
        arcs = {corner.name: numbers[:, 0] for corner, numbers, _places in strips if corner.opening is opening}
        axes = (draft.x, draft.z)
        ends = {c.name: [axis.index(c.tangent(a)) for a, axis in enumerate(axes)] for c in opening.corners}
        at = [[axis.index(side) for side in opening.box(a)] for a, axis in enumerate(axes)]
        for name, here, there, axis, side in (
            ("lower", "lower-left", "lower-right", 0, at[1][0]),
            ("upper", "upper-left", "upper-right", 0, at[1][1]),
            ("left", "lower-left", "upper-left", 1, at[0][0]),
            ("right", "lower-right", "upper-right", 1, at[0][1]),
        ):
            run = np.arange(ends[here][axis], ends[there][axis] + 1)
            chains[name] = draft.point(run, side) if axis == 0 else draft.point(side, run)
        for corner in opening.corners:
            if corner.name in arcs:
                chains[corner.name] = arcs[corner.name]
            else:
                draft.point_sets[f"{opening.name}-{corner.name}"] = [draft.point(*ends[corner.name])]
        for name, chain in chains.items():
            if len(chain) > 1:
                draft.add_edges(f"{opening.name}-{name}", chain)
                draft.add_edges(f"{opening.name}-edge", chain)
        if opening.coaming:
            _add_coaming(draft, opening)


def _add_coaming(draft, opening):
    """A strip that stands on an opening's edge, its normals into the opening."""
    edges, levels = draft.edge_sets[f"{opening.name}-edge"], draft.y.between(*sorted((0.0, opening.coaming)))
    levels = levels if opening.coaming > 0 else levels[::-1]
    feet, place = np.unique(edges, return_inverse=True)
    places, is_lattice = draft.places[feet], feet < np.prod(draft.shape)
    numbers = np.zeros((len(levels), len(feet)), dtype=np.int64)
    numbers[0] = feet
    for row, level in enumerate(levels[1:], start=1):
        numbers[row, is_lattice] = feet[is_lattice] + level - draft.ground
        lifted = places[~is_lattice] + [0, draft.y.lines[level], 0]
        numbers[row, ~is_lattice] = draft.new_points(lifted)
    a, b = place.reshape(-1, 2).T
    inward = np.array([opening.x, opening.z]) - places[a][:, [0, 2]]
    run = places[b][:, [0, 2]] - places[a][:, [0, 2]]
    flipped = (run[:, 0] * inward[:, 1] - run[:, 1] * inward[:, 0] > 0) != (opening.coaming > 0)
    a, b = np.where(flipped, b, a), np.where(flipped, a, b)
    quads = np.stack([numbers[:-1, a], numbers[:-1, b], numbers[1:, b], numbers[1:, a]], axis=-1)
    draft.add(quads.reshape(-1, 4), f"{opening.name}-coaming")


def _add_stiffener(draft, stiffener, legs):
    """Strips of a stiffener."""
    axis, name = stiffener.axis, stiffener.name
    parts = {part for part, _ranges, _spans in legs}
    across, along = (draft.x, draft.z) if axis == 0 else (draft.z, draft.x)
    for part, (u, v), spans in legs:
        for span in spans:
            run, side, level = along.between(*span), across.between(*u), draft.y.between(*v)
            if part == "foot":
                continue  # the sheet's own cells
            if u[0] == u[1]:
                i, j = (side[0], run[None, :]) if axis == 0 else (run[None, :], side[0])
                numbers = draft.point(i, j, level[:, None])  # y first: its normal along x
                numbers = numbers if axis == 0 else numbers.T  # x first: its normal along z
                if v[0] <= 0 <= v[1]:
                    foot = draft.point(side[0], run) if axis == 0 else draft.point(run, side[0])
                    draft.add_edges(name if part == "line" else f"{name}-line", foot)
            else:
                i, j = (side[None, :], run[:, None]) if axis == 0 else (run[None, :], side[:, None])
                numbers = draft.point(i, j, level[0])  # z first: its normal inward
            if part == "line":
                continue
            draft.add(_grid(numbers), name, *([f"{name}-{part}"] if len(parts - {"foot"}) > 1 else []))


def _add_doubler(draft, doubler, extent):
    """A copy of the sheet's cells on points of its own, and its border."""
    cells = draft.sheet[_within(draft.sheet_centres, doubler.box(extent))]
    used, place = np.unique(cells, return_inverse=True)
    numbers = draft.new_points(draft.places[used] + [0, doubler.gap, 0])
    cells = numbers[place.reshape(-1, 4)]
    draft.add(cells, doubler.name)
    sides = np.stack([cells, np.roll(cells, -1, axis=1)], axis=-1).reshape(-1, 2)
    _, first, count = np.unique(np.sort(sides, axis=1), axis=0, return_index=True, return_counts=True)
    draft.edge_sets[f"{doubler.name}-weld"] = sides[first[count == 1]]


def _finish(draft, panel, notes):
    """Drop unused points and faces that a part before has, name the marks, bend and place the panel."""
    quads, flat = np.concatenate(draft.quads), draft.places
    _, first = np.unique(np.sort(quads, axis=1), axis=0, return_index=True)
    first = np.sort(first)
    cell_number = np.full(len(quads), -1)
    cell_number[first] = np.arange(len(first))
    quads = quads[first]
    cell_sets = {name: cell_number[cells] for name, cells in draft.cell_sets.items()}
    cell_sets = {name: cells[cells >= 0] for name, cells in cell_sets.items()}
    used, place = np.unique(quads, return_inverse=True)
    number = np.full(len(flat), -1)
    number[used] = np.arange(len(used))
    flat, quads = flat[used], place.reshape(-1, 4)
    edge_sets = {name: number[pairs] for name, pairs in draft.edge_sets.items()}
    edge_sets = {name: pairs[(pairs >= 0).all(axis=1)] for name, pairs in edge_sets.items()}
    point_sets = {name: number[points] for name, points in draft.point_sets.items()}
    plain = Mesh(flat, {"quad": quads})
    for mark in panel.marks:
        _name_mark(mark, plain, cell_sets, edge_sets, point_sets)
    mesh = Mesh(
        _placed(flat, panel),
        {"quad": quads},
        cell_sets={name: cells for name, cells in cell_sets.items() if len(cells)},
        edge_sets={name: pairs for name, pairs in edge_sets.items() if len(pairs)},
        point_sets={name: points for name, points in point_sets.items() if np.all(np.asarray(points) >= 0)},
    )
    shape = mesh_quality(mesh).scaled_jacobian
    poor = np.flatnonzero(shape < POOR)
    if len(poor):
        at = ", ".join(f"{c} = {p:.5g}" for c, p in zip("xyz", mesh.centres[shape.argmin()]))
        least = f"the least {shape.min():.2f} at {at}"
        notes = [*notes, f"Scaled Jacobian below {POOR:g} in {counted(len(poor), 'cell')}, {least}."]
    return replace(mesh, notes=tuple(dict.fromkeys(notes)))


def _name_mark(mark, plain, cell_sets, edge_sets, point_sets):
    low, high = np.array(mark.limits()).T
    is_there = ((plain.points > low - SAME) & (plain.points < high + SAME)).all(axis=1)
    cells = np.flatnonzero(is_there[plain.cells["quad"]].all(axis=1))
    edges = plain.edges.points[is_there[plain.edges.points].all(axis=1)]
    for group, found in ((cell_sets, cells), (edge_sets, edges), (point_sets, np.flatnonzero(is_there))):
        if len(found):
            group[mark.name] = np.concatenate([group.get(mark.name, found[:0]), found])
            break
    else:
        box = ", ".join(f"{c} = {a:g} … {b:g}" for c, a, b in zip("xyz", low, high))
        raise MeshError(f"The panel can't be built: {mark}: nothing lies at {box}.")


def _placed(flat, panel):
    """Where the points of the flat panel lie in space, (n, 3)."""
    x, y, z = flat.T
    if panel.curvature_radius:
        radius, turn = panel.curvature_radius, z / panel.curvature_radius
        y, z = radius - (radius - y) * np.cos(turn), (radius - y) * np.sin(turn)
    along, up = (np.array(axis, dtype=float) / np.linalg.norm(axis) for axis in (panel.along, panel.up))
    inward = np.cross(up, along)
    return np.array(panel.origin) + np.stack([x, y, z], axis=1) @ np.stack([along, inward, up])

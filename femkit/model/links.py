"""What joins points that share no cell: rigid links, lines joined without matching points, fasteners, springs.

All are one thing, an `Attachment`: a point meets a place that up to three other points carry, rigidly. Links and joined
lines let nothing move there, by elimination; seams and springs give, with a stiffness.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError
from ..mesh.closest import closest_on_cells
from ..mesh.selection import describe, select_cells, select_points
from .acting import Acting, length_shares
from .values import bad_name, place_words, refuse

__all__ = ["Attachment", "JoinedLine", "RigidLink", "Seam", "Spring", "attachments"]

WITHIN = 0.5  # of a cell's size: how far a joined line may lie off its sheet. Common practice, no source


@dataclass(frozen=True, eq=False)
class Attachment:
    """Points, each against a place that three others carry as a rigid body; a weight of 0 is for no such point."""

    points: np.ndarray  # (n,)
    masters: np.ndarray  # (n, 3)
    weights: np.ndarray  # (n, 3) of the masters, 1 in all; 0 in all for the ground
    at: np.ndarray  # (n, 3) where the two meet, mm
    stiffness: np.ndarray | None  # (n, 6, 6) against relative motion, global axes, N/mm and N mm; None for none at all
    is_tied: np.ndarray  # (6,) which components of the point follow, where there is no stiffness
    name: str

    def __len__(self):
        return len(self.points)


@dataclass(frozen=True, eq=False)
class RigidLink(Acting):
    """Points that move with one point as a rigid body.

    Parameters
    ----------
    where : str, place or array of int
        The points that follow.
    to : str, place or int
        The point they follow; it may belong to no cell.
    rotations : bool
        Whether their rotations follow as well, or stay free as at a pin.
    """

    where: object
    to: object
    _: KW_ONLY
    rotations: bool = True

    def attachment(self, mesh):
        to = _one_point(mesh, self.to, str(self))
        points = np.setdiff1d(select_points(mesh, self.where, str(self)), to)
        return _tied(self, mesh, points, *_carried_by(to, len(points)))


@dataclass(frozen=True, eq=False)
class JoinedLine(Acting):
    """A line of points joined to a sheet whose points do not match it: a doubler's edge, a new part on an old sheet.

    Each point follows the nearest place of the sheet as a rigid body does, so that forces and moments are in balance
    about any point. Let the finer mesh's line follow the coarser sheet. Displacements that are even along the line
    pass exactly; stresses within a cell of the line do not.

    Parameters
    ----------
    where : str, place or array of int
        The line's points.
    to : str, place or array of int
        The sheet's cells.
    within : float, optional
        How far the line may lie off the sheet, mm; half a cell's size if left out. A line farther off is refused.
    rotations : bool
        Whether rotations are joined too (welded), or left free (hinged).
    """

    where: object
    to: object
    _: KW_ONLY
    within: float | None = None
    rotations: bool = True

    def attachment(self, mesh):
        return _tied(self, mesh, *_on_sheet(self, mesh))


@dataclass(frozen=True, eq=False)
class Seam(Acting):
    """A line joined to a sheet by fasteners that give: rivets, bolts, spot welds.

    Each point of the line stands for the fasteners on its share of the length. The two parts are joined halfway
    between them, where forces act on both, so that moments are in balance. Rotations are not joined.

    Parameters
    ----------
    where : str
        The edge set of the line.
    to : str, place or array of int
        The sheet's cells.
    along, across, normal : float
        Stiffness of one fastener along the seam, across it in the sheet, and normal to the sheet, N/mm.
    pitch : float
        Distance from fastener to fastener, mm.
    source : str
        Where the stiffness comes from: a test, a standard, a paper. The kit assumes none.
    within : float, optional
        As in `JoinedLine`.
    """

    where: str
    to: object
    _: KW_ONLY
    along: float
    across: float
    normal: float
    pitch: float
    source: str
    within: float | None = None
    _units = (("along", "N/mm"), ("across", "N/mm"), ("normal", "N/mm"), ("pitch", "mm"))
    _rule = " above 0"

    def __post_init__(self):
        super().__post_init__()
        refuse(bad_name(f"{self}: source", self.source))

    def axes(self, mesh):
        """Along the seam, across it and normal to the sheet at each point that is attached, (n, 3, 3)."""
        points, *_rest, cells = _on_sheet(self, mesh)
        edges = mesh.edge_sets[self.where]
        side = mesh.points[edges[:, 1]] - mesh.points[edges[:, 0]]
        along = np.zeros((mesh.n_points, 3))
        for end in range(2):
            np.add.at(along, edges[:, end], side)
        along, normal = along[points], mesh.normals[cells]
        along -= (along * normal).sum(axis=1, keepdims=True) * normal
        size = np.linalg.norm(along, axis=1, keepdims=True)
        if not size.min() > 1e-9 * mesh.extent.max():
            place = place_words(mesh.points[points[size.argmin()]])
            raise ModelError(
                f"{self}: it has no direction along the sheet at {place} mm; let it run one way, on the sheet."
            )
        along /= size
        return np.stack([along, np.cross(normal, along), normal], axis=1)

    def fasteners(self, mesh):
        """How many fasteners each attached point stands for, (n,)."""
        return length_shares(mesh, self.where, str(self))[_on_sheet(self, mesh)[0]] / self.pitch

    def attachment(self, mesh):
        if self.where not in mesh.edge_sets:
            select_points(mesh, self.where, str(self))  # says so if there is no such set at all
            raise ModelError(f"{self}: it must stand on an edge set, whose length its fasteners share.")
        points, masters, weights, place, _cells = _on_sheet(self, mesh)
        axes, one = self.axes(mesh), np.array([self.along, self.across, self.normal])
        stiffness = np.zeros((len(points), 6, 6))
        shares = self.fasteners(mesh)[:, None, None]
        stiffness[:, :3, :3] = np.swapaxes(axes, 1, 2) @ (one[:, None] * axes) * shares
        at = (mesh.points[points] + place) / 2
        return Attachment(points, masters, weights, at, stiffness, np.zeros(6, dtype=bool), str(self))


@dataclass(frozen=True, eq=False)
class Spring(Acting):
    """A spring at each point of a selection, to the ground or to one other point.

    Between two points it resists the motion of the first against the second, which carries the spring's far end
    rigidly, so that moments are in balance.

    Parameters
    ----------
    where : str, place or array of int
    to : str, place or int, optional
        The other point; the ground if left out.
    ux, uy, uz : float
        Stiffness along the global axes, N/mm.
    rx, ry, rz : float
        Stiffness about the global axes, N mm.
    """

    where: object
    to: object = None
    _: KW_ONLY
    ux: float = 0.0
    uy: float = 0.0
    uz: float = 0.0
    rx: float = 0.0
    ry: float = 0.0
    rz: float = 0.0
    _units = (("ux", "N/mm"), ("uy", "N/mm"), ("uz", "N/mm"), ("rx", "N mm"), ("ry", "N mm"), ("rz", "N mm"))
    _rule = " of at least 0"

    def __post_init__(self):
        super().__post_init__()
        if not any(getattr(self, name) for name, _unit in self._units):
            raise ModelError(f"{self}: all its stiffnesses are 0; give at least one of ux, uy, uz, rx, ry, rz.")

    def attachment(self, mesh):
        points = select_points(mesh, self.where, str(self))
        masters, weights = points, np.zeros((len(points), 3))
        if self.to is not None:
            to = _one_point(mesh, self.to, str(self))
            points = np.setdiff1d(points, to)
            masters, weights = _carried_by(to, len(points))[:2]
        stiffness = np.tile(np.diag([getattr(self, name) for name, _unit in self._units]), (len(points), 1, 1))
        masters = np.broadcast_to(masters if masters.ndim == 2 else masters[:, None], (len(points), 3))
        return Attachment(points, masters, weights, mesh.points[points], stiffness, np.zeros(6, dtype=bool), str(self))


def attachments(mesh, links):
    """Every link's `Attachment`; all that is wrong is raised in one `ModelError`."""
    found, faults = [], []
    for link in links:
        try:
            found.append(link.attachment(mesh))
        except ModelError as fault:
            faults.append(fault)
    refuse(*faults)
    return tuple(found)


def _carried_by(to, n):
    return np.full((n, 3), to), np.tile([1.0, 0.0, 0.0], (n, 1))


def _tied(link, mesh, points, masters, weights, *_rest):
    is_tied = np.array([True] * 3 + [link.rotations] * 3)
    if len(points) == 0:
        raise ModelError(f"{link}: it joins nothing, since all its points are on the other side already; leave it out.")
    return Attachment(points, masters, weights, mesh.points[points], None, is_tied, str(link))


def _one_point(mesh, where, who):
    points = select_points(mesh, where, f"{who}, to")
    if len(points) != 1:
        raise ModelError(f'{who}: "{describe(where)}" to follow holds {len(points)} points; it must hold one.')
    return int(points[0])


def _on_sheet(link, mesh):
    """Points of a line that are not the sheet's own, three points of it that carry each, weights, place, cell."""
    points, cells = select_points(mesh, link.where, str(link)), select_cells(mesh, link.to, f"{link}, to")
    is_own = np.zeros(mesh.n_points + 1, dtype=bool)
    is_own[mesh.corners[cells]] = True  # the last entry takes the -1 of triangles
    points = points[~is_own[points]]
    cell, corners, weights = closest_on_cells(mesh, mesh.points[points], cells)
    place = np.einsum("nk,nki->ni", weights, mesh.points[corners])
    distance = np.linalg.norm(place - mesh.points[points], axis=1)
    allowed = WITHIN * mesh.sizes[cell] if link.within is None else np.full(len(points), float(link.within))
    if np.any(distance > allowed):
        worst = int((distance - allowed).argmax())
        n_far = int((distance > allowed).sum())
        raise ModelError(
            f"{link}: {n_far} of its points lie too far from the cells it is joined to, the farthest at "
            f"{place_words(mesh.points[points[worst]])} mm is {distance[worst]:.4g} mm away, where "
            f"{allowed[worst]:.4g} mm are allowed; mend the mesh, or say within=… (mm) if the gap is meant."
        )
    return points, corners, weights, place, cell

"""Rounded corners of openings: a strip of cells that turns around each, between the arc and the lattice outside.

A strip takes the place of the lattice in a box around the corner, from where the arc begins to a reach beyond the
opening's sides. Its inner side is the arc, its outer side the two sides of the box that face away from the opening, so
that an arc has as many cells as these. Nothing else may run through that box.
"""

from dataclasses import dataclass, replace

import numpy as np

from .lattice import SAME

__all__ = ["Corner", "Segment", "corners_of", "strip"]

REACH = 0.8  # of the radius: how far a strip goes beyond the opening, where there is room; tried for good cell shapes
NEARLY = 0.7  # of the reach: from there on a line that runs anyway is taken for it; common practice, no source
LOPSIDED = 3.0  # a reach along x at most so many times that along z, and the other way round


@dataclass(frozen=True)
class Segment:
    """A line on the sheet, along the other axis than `axis`, that cells must not cross."""

    axis: int  # 0: a line x = at; 1: a line z = at
    at: float
    low: float
    high: float
    owner: str
    may_stop: bool = False  # a stiffener that ends where the sheet does


@dataclass(frozen=True)
class Corner:
    """A rounded corner of an opening, and the box around it that its strip fills."""

    opening: object
    name: str  # "upper-left"
    place: tuple  # of the corner that it would be without rounding, (x, z)
    out: tuple  # (+-1, +-1): away from the opening
    radius: tuple  # along x, along z
    reach: tuple = (0.0, 0.0)  # beyond the opening's sides

    @property
    def sides(self):
        """The two lines that it lies on, the same for all openings that lie in a row."""
        return tuple((axis, round(self.place[axis], 6), self.out[axis]) for axis in (0, 1))

    def tangent(self, axis):
        """Coordinate at which the arc begins."""
        return self.place[axis] - self.out[axis] * self.radius[axis]

    def limit(self, axis):
        """Coordinate to which the strip goes beyond the opening."""
        return self.place[axis] + self.out[axis] * self.reach[axis]

    def box(self, axis):
        """What the strip takes of an axis, (low, high)."""
        return tuple(sorted((self.tangent(axis), self.limit(axis))))

    @property
    def n_arc(self):
        """How many cells the arc asks for."""
        a, b = self.radius  # Ramanujan's perimeter of an ellipse, a quarter of it
        length = np.pi / 4 * (3 * (a + b) - np.sqrt((3 * a + b) * (a + 3 * b)))
        return max(self.opening.arc_cells, int(np.ceil(length / self.opening.fine)))

    @property
    def size(self):
        """Cell size on the lattice beside the corner, mm."""
        return (sum(self.radius) + sum(self.reach)) / self.n_arc


def corners_of(openings, segments, extent):
    """Rounded corners with the room that they have; faults where there is none, as sentences.

    Parameters
    ----------
    openings : sequence of Opening
    segments : sequence of Segment
    extent : pair of float
        Length and height of the sheet, mm.
    """
    rounded = [c for opening in openings for c in opening.corners if min(c.radius) > 0]
    lines = [[segment.at for segment in segments if segment.axis == axis] for axis in (0, 1)]
    for axis in (0, 1):
        lines[axis] += [side for opening in openings for side in opening.box(axis)]
        lines[axis] += [corner.tangent(axis) for corner in rounded]
    rooms = [[_room(corner, axis, openings, segments, extent) for axis in (0, 1)] for corner in rounded]
    reach = {}  # by side: all strips along one line reach equally far
    for corner, room in zip(rounded, _alike(rounded, rooms)):
        for axis, side in enumerate(corner.sides):
            if side not in reach:
                reach[side] = _up_to_a_line(corner, axis, room[axis], lines[axis])
                lines[axis].append(corner.place[axis] + corner.out[axis] * reach[side])
    found = [replace(corner, reach=tuple(reach[side] for side in corner.sides)) for corner in rounded]
    return found, [_crossed(corner, one) for corner in found for one in segments if _crosses(corner, one)]


def _alike(corners, rooms):
    """Rooms (n, 2) cut down to be the same on sides that lie in one line, and not too lopsided.

    Strips of unlike reach from one line would ask the same cells to be two counts.
    """
    rooms = np.array(rooms, dtype=float).reshape(-1, 2)
    sides = [corner.sides for corner in corners]
    for _ in range(len(corners) + 1):
        before = rooms.copy()
        rooms = np.minimum(rooms, LOPSIDED * rooms[:, ::-1])
        for axis in (0, 1):
            for one in {each[axis] for each in sides}:
                same = [each[axis] == one for each in sides]
                rooms[same, axis] = rooms[same, axis].min()
        if (rooms == before).all():
            break
    return rooms


def _up_to_a_line(corner, axis, room, lines):
    """The reach beyond an opening's side: to a line that runs nearly there, so that no slivers arise."""
    beyond = corner.out[axis] * (np.array(lines) - corner.place[axis])
    near = beyond[(beyond > NEARLY * room) & (beyond < room + SAME)]
    return float(near.max(initial=0.0)) or room


def _room(corner, axis, openings, segments, extent):
    """How far a strip may go beyond the opening along an axis, mm."""
    other, out, place = 1 - axis, corner.out[axis], corner.place[axis]
    wanted = REACH * max(corner.radius)
    edge = extent[axis] - place if out > 0 else place
    far = corner.place[other] + corner.out[other] * wanted
    low, high = sorted((corner.tangent(other), far))
    room = min(wanted, edge)
    for segment in segments:
        beyond = out * (segment.at - place)
        if segment.axis == axis and beyond > SAME and segment.low < high - SAME and segment.high > low + SAME:
            room = min(room, beyond)
    for neighbour in openings:
        if neighbour is corner.opening:
            continue
        sides = neighbour.box(axis)
        gap = sides[0] - place if out > 0 else place - sides[1]
        beside = neighbour.box(other)
        if gap > 0 and beside[0] < high + wanted and beside[1] > low - wanted:
            room = min(room, gap / 2)
    return room


def _crosses(corner, segment):
    (low, high), (start, end) = corner.box(segment.axis), corner.box(1 - segment.axis)
    inside = low + SAME < segment.at < high - SAME and segment.low < end - SAME and segment.high > start + SAME
    return inside and not segment.may_stop


def _crossed(corner, segment):
    name, (low, high) = "xz"[segment.axis], corner.box(segment.axis)
    return (
        f"{segment.owner} at {name} = {segment.at:g} runs through the {corner.name} corner of "
        f'opening "{corner.opening.name}", which is rounded between {name} = {low:g} and {high:g}; '
        "keep it outside, or give the corner no radius."
    )


def strip(corner, x, z):
    """Cells around a rounded corner.

    Parameters
    ----------
    corner : Corner
    x, z : Axis
        With their lines drawn.

    Returns
    -------
    lattice : ndarray of int, shape (n_arc + 1, n_across + 1, 2)
        Grid lines along x and z that a point lies on; -1 where it lies on none.
    places : ndarray, shape (n_arc + 1, n_across + 1, 2)
        x and z of every point, mm; the first across lies on the arc, the first along on the side parallel to x.
    """
    axes = (x, z)
    steps = [_outward(axes[a], corner.place[a], corner.limit(a), corner.out[a]) for a in (0, 1)]  # beyond the opening
    back = [_outward(axes[a], corner.tangent(a), corner.place[a], corner.out[a]) for a in (0, 1)]  # within its radius
    across = len(steps[0])
    # the outer side: along x outward, around the box's corner, then along z inward
    along_x, along_z = np.append(back[0], steps[0][1:]), np.append(back[1], steps[1][1:])[::-1]
    outer = np.concatenate(
        [
            np.stack([along_x, np.full(len(along_x), steps[1][-1])], axis=1),
            np.stack([np.full(len(along_z) - 1, steps[0][-1]), along_z[1:]], axis=1),
        ]
    )
    lattice = np.full((len(outer), across, 2), -1)
    lattice[:, -1] = outer
    lattice[0, :, 0], lattice[0, :, 1] = back[0][0], steps[1]
    lattice[-1, :, 0], lattice[-1, :, 1] = steps[0], back[1][0]
    rim = np.stack([x.lines[outer[:, 0]], z.lines[outer[:, 1]]], axis=1)
    arc = _arc(corner, rim)
    share = [np.abs(axes[a].lines[steps[a]] - corner.place[a]) / corner.reach[a] for a in (0, 1)]
    turned = np.linspace(0, 1, len(outer))[:, None]
    share = (1 - turned) * share[1] + turned * share[0]  # (n_arc + 1, n_across + 1), from the arc outward
    places = arc[:, None] + share[:, :, None] * (rim - arc)[:, None]
    return lattice, places


def _outward(axis, start, end, out):
    """Grid lines from one station to another that lies in the direction `out` of it."""
    lines = axis.between(min(start, end), max(start, end))
    return lines if out > 0 else lines[::-1]


def _arc(corner, rim):
    """Points on the arc, one for each on the strip's outer side: midway between even steps and rays from its centre."""
    centre = np.array([corner.tangent(0), corner.tangent(1)])
    ray = np.abs(rim - centre) / corner.radius
    angle = np.arctan2(ray[:, 0], ray[:, 1])  # 0 at the side parallel to x
    angle = (angle + np.linspace(0, np.pi / 2, len(rim))) / 2
    turn = np.stack([np.sin(angle), np.cos(angle)], axis=1)
    turn[0], turn[-1] = (0, 1), (1, 0)
    return centre + np.array(corner.out) * corner.radius * turn

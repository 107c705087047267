"""What a panel is described with: openings, stiffeners, zones, doublers, and marks for places.

Coordinates are the sheet's own: x along it, z up it (along the arc, where it is curved), y from its points inward, to
the side on which stiffeners stand. All lengths in mm.
"""

from dataclasses import KW_ONLY, dataclass
from math import isfinite

import numpy as np

from ...errors import nearest_name
from .corners import Corner
from .lattice import SAME

__all__ = ["PROFILES", "Doubler", "Mark", "Opening", "Stiffener", "Zone", "bad_numbers"]

# Legs of a stiffener's section: part, from (u, y) to (u, y); u runs along the sheet from the stiffener's line, d is the
# depth, w the width, f the foot. Legs at y = 0 lie on the sheet and double it.
PROFILES = {
    "line": lambda d, w, f: (),
    "flat bar": lambda d, w, f: (("web", (0, 0), (0, d)),),
    "angle": lambda d, w, f: (("web", (0, 0), (0, d)), ("flange", (0, d), (w, d))),
    "tee": lambda d, w, f: (("web", (0, 0), (0, d)), ("flange", (-w / 2, d), (w / 2, d))),
    "channel": lambda d, w, f: (("foot", (0, 0), (w, 0)), ("web", (0, 0), (0, d)), ("flange", (0, d), (w, d))),
    "box": lambda d, w, f: (
        ("web", (-w / 2, 0), (-w / 2, d)),
        ("web", (w / 2, 0), (w / 2, d)),
        ("face", (-w / 2, d), (w / 2, d)),
    ),
    "hat": lambda d, w, f: (
        ("foot", (-w / 2 - f, 0), (-w / 2, 0)),
        *PROFILES["box"](d, w, f),
        ("foot", (w / 2, 0), (w / 2 + f, 0)),
    ),
}
CORNERS = {"lower-left": (-1, -1), "lower-right": (1, -1), "upper-right": (1, 1), "upper-left": (-1, 1)}


@dataclass(frozen=True)
class Opening:
    """An opening in the sheet: a rectangle whose corners are rounded, each by its own radius or not at all.

    Parameters
    ----------
    name : str
        Edge sets begin with it: ``-edge`` is all around, ``-left``, ``-right``, ``-lower`` and ``-upper`` are the
        straight sides, ``-upper-left`` and so on the arcs, or points where corners are square.
    x, z : float
        Its middle.
    width, height : float
        Along x and along z.
    radius : float, or 4 floats, or 4 pairs
        Of the corners; four go around from the lower left over the lower right. A pair is a quarter ellipse's two
        half axes, along x and along z.
    coaming : float
        Depth of a strip that stands on its edge, positive inward; cell set ``name-coaming``.
    fine : float, optional
        Cell size along its corners; the panel's, if left out.
    arc_cells : int, optional
        Cells that a corner has at least; the panel's, if left out.
    """

    name: str
    _: KW_ONLY
    x: float
    z: float
    width: float
    height: float
    radius: object = 0.0
    coaming: float = 0.0
    fine: float | None = None
    arc_cells: int | None = None

    @classmethod
    def circle(cls, name, *, x, z, diameter, **more):
        """A round opening."""
        return cls(name, x=x, z=z, width=diameter, height=diameter, radius=diameter / 2, **more)

    @classmethod
    def ellipse(cls, name, *, x, z, width, height, **more):
        """An elliptical opening."""
        return cls(name, x=x, z=z, width=width, height=height, radius=[(width / 2, height / 2)] * 4, **more)

    @classmethod
    def slot(cls, name, *, x, z, width, height, **more):
        """An opening with round ends, along the longer of its two sides."""
        return cls(name, x=x, z=z, width=width, height=height, radius=min(width, height) / 2, **more)

    def box(self, axis):
        """From where to where it reaches along x (0) or z (1)."""
        middle, size = ((self.x, self.width), (self.z, self.height))[axis]
        return middle - size / 2, middle + size / 2

    @property
    def radii(self):
        """Half axes of the corners, shape (4, 2), from the lower left over the lower right."""
        radii = np.array(self.radius, dtype=float)
        return np.broadcast_to(radii if radii.ndim != 1 else radii[:, None], (4, 2))

    @property
    def corners(self):
        """Its corners, without the room around them."""
        return [
            Corner(self, name, tuple(self.box(a)[(out[a] + 1) // 2] for a in (0, 1)), out, tuple(map(float, radius)))
            for (name, out), radius in zip(CORNERS.items(), self.radii)
        ]

    def __str__(self):
        return f'opening "{self.name}"'

    def faults(self, extent):
        """What is wrong with it, as sentences."""
        try:
            radii = self.radii
        except (TypeError, ValueError):
            yield f"{self}: radius is {self.radius!r}; it must be one number, four, or four pairs."
            return
        yield from bad_numbers(self, x=self.x, z=self.z, coaming=self.coaming)
        sizes = ("width", "height", "fine", "arc_cells")
        yield from bad_numbers(self, above=0, **{name: getattr(self, name) for name in sizes})
        if not (np.isfinite(radii).all() and (radii >= 0).all()):
            yield f"{self}: radius is {self.radius!r}; radii must be finite numbers of at least 0."
        for axis, size, pairs in ((0, "width", ((0, 1), (3, 2))), (1, "height", ((0, 3), (1, 2)))):
            total, room = max(radii[a, axis] + radii[b, axis] for a, b in pairs), (self.width, self.height)[axis]
            if total > room + SAME:
                yield (
                    f"{self}: two corners take {total:g} mm of its {size} of {room:g} mm; "
                    f"a radius can be at most half a side, {room / 2:g} mm."
                )
            low, high = self.box(axis)
            if low < SAME or high > extent[axis] - SAME:
                name, sheet = "xz"[axis], ("length", "height")[axis]
                yield (
                    f"{self} reaches from {name} = {low:g} to {high:g} mm, the sheet from 0 to {extent[axis]:g} mm; "
                    f"an opening must lie within the sheet's {sheet} and keep off its edges."
                )


@dataclass(frozen=True)
class Stiffener:
    """A bar along a straight line of the sheet, as strips of cells, or as a line for a `Beam`.

    Parameters
    ----------
    name : str
        Its cell set; several may share one. Where it has several parts they are sets too: ``-web``, ``-flange``,
        ``-face``; ``-foot`` is the sheet that a foot doubles, and takes these cells out of the sheet's sets.
        Edge set ``-line`` is where its webs stand; of the profile "line" the edge set has the bare name.
    x, z : float or sequence of float
        Where it stands: x for a post, z for a rail; several for several alike.
    span : pair of float, optional
        From where to where it goes; all of the sheet, if left out.
    profile : {"flat bar", "angle", "tee", "channel", "box", "hat", "line"}
        A channel stands on one of its flanges, its foot. A box is closed by the sheet; a hat is one with a foot on
        either side.
    depth : float
        How far it stands off the sheet; negative: on the outside.
    width : float
        Of the flange, or between the webs; negative: to the other side.
    foot : float
        Width of each foot of a hat.
    legs : sequence, optional
        Legs of a section of one's own instead of a profile: part, from (u, y), to (u, y); each along u or along y.
    at_openings : {"stop", "pass"}, optional
        What it does at an opening in its way; one or the other must be said.
    """

    name: str
    _: KW_ONLY
    x: object = None
    z: object = None
    span: tuple | None = None
    profile: str = "flat bar"
    depth: float = 0.0
    width: float = 0.0
    foot: float = 0.0
    legs: tuple = ()
    at_openings: str | None = None

    @property
    def axis(self):
        """The axis that its line is square to: 0 for a post, 1 for a rail."""
        return 0 if self.x is not None else 1

    @property
    def lines(self):
        """Where it stands, as a list."""
        return [float(at) for at in np.atleast_1d(self.x if self.axis == 0 else self.z)]

    @property
    def section(self):
        """Its legs: part, (u, y), (u, y)."""
        return tuple(self.legs) or PROFILES[self.profile](self.depth, self.width, self.foot)

    @property
    def feet(self):
        """Where its legs meet the sheet, u, as a sorted list."""
        ends = {float(end[0]) for part, *leg in self.section for end in leg if end[1] == 0}
        return sorted(ends) if self.section else [0.0]

    def reach(self, extent):
        """From where to where it goes."""
        return (0.0, float(extent[1 - self.axis])) if self.span is None else tuple(sorted(map(float, self.span)))

    def __str__(self):
        return f'stiffener "{self.name}"'

    def faults(self, extent):
        """What is wrong with it, as sentences."""
        if (self.x is None) == (self.z is None):
            yield f"{self}: it needs x for a post or z for a rail, one of the two; its ends are its span."
            return
        if not self.legs and self.profile not in PROFILES:
            yield f'{self}: there is no profile "{self.profile}". {nearest_name(self.profile, PROFILES)[1]}'
            return
        if self.at_openings not in (None, "stop", "pass"):
            yield f'{self}: at_openings is {self.at_openings!r}; it must be "stop" or "pass".'
        yield from bad_numbers(self, depth=self.depth, width=self.width, foot=self.foot)
        size = extent[self.axis]
        for at in self.lines:
            if not -SAME <= at <= size + SAME:
                yield f"{self} stands at {'xz'[self.axis]} = {at:g}; the sheet goes from 0 to {size:g} mm."
        low, high = self.reach(extent)
        if low < -SAME or high > extent[1 - self.axis] + SAME or high - low < SAME:
            yield f"{self}: its span is {low:g} to {high:g}; it must lie within 0 to {extent[1 - self.axis]:g} mm."
        for part, start, end in self.section:
            along = [k for k in (0, 1) if abs(start[k] - end[k]) > SAME]
            if len(along) != 1:
                yield (
                    f"{self}: its {part} goes from {tuple(map(float, start))} to {tuple(map(float, end))}; a leg must "
                    "run along the sheet or square to it, with a length: give depth and width, as its profile asks."
                )


@dataclass(frozen=True)
class Zone:
    """A rectangle of the sheet as a cell set of its own, taken out of those before it: a plate of another thickness.

    A doubler welded all round and acting as one with the sheet is a zone: its `Plate` has both thicknesses together,
    and half the doubler's as offset.

    Parameters
    ----------
    name : str
        Of the cell set; several zones of one name are one set.
    x, z : pair of float, optional
        From where to where; all of the sheet, if left out.
    """

    name: str
    _: KW_ONLY
    x: tuple | None = None
    z: tuple | None = None

    def box(self, extent):
        """Its limits, ((x, x), (z, z))."""
        return tuple(
            (0.0, size) if given is None else tuple(sorted(given)) for given, size in zip((self.x, self.z), extent)
        )

    def __str__(self):
        return f'zone "{self.name}"'

    def faults(self, extent):
        """What is wrong with it, as sentences."""
        for name, (low, high), size in zip("xz", self.box(extent), extent):
            if not (-SAME <= low < high - SAME and high <= size + SAME):
                yield f"{self}: {name} goes from {low:g} to {high:g}; it must go up, within 0 to {size:g} mm."


@dataclass(frozen=True)
class Doubler(Zone):
    """A second sheet beside the first, joined along its edges only: a cell set of its own, on its own points.

    Join it in the model: ``JoinedLine("name-weld", to="sheet")``, its points lying opposite the sheet's.

    Parameters
    ----------
    name : str
        Its cell set; the edge set ``name-weld`` is its border, along openings too.
    x, z : pair of float, optional
        From where to where.
    gap : float
        From the sheet's middle to its own, positive inward: half of both thicknesses.
    """

    _: KW_ONLY
    gap: float = 0.0

    def __str__(self):
        return f'doubler "{self.name}"'

    def faults(self, extent):
        """What is wrong with it, as sentences."""
        yield from super().faults(extent)
        if not (isfinite(self.gap) and self.gap):
            yield f"{self}: gap is {self.gap!r}; it must be a number other than 0, half of both thicknesses."


@dataclass(frozen=True)
class Mark:
    """A name for a place: what lies in a box whose sides are numbers or pairs.

    With three numbers it is a point set, with one pair an edge set, with two or three a cell set, or an edge set where
    no cell lies in the box. Cells stay in their other sets too. Several marks of one name are one set.

    Parameters
    ----------
    name : str
    x, z : float or pair of float
    y : float or pair of float
        Off the sheet, positive inward.
    """

    name: str
    _: KW_ONLY
    x: object
    z: object
    y: object = 0.0

    def __str__(self):
        return f'mark "{self.name}"'

    def faults(self, _extent):
        """What is wrong with it, as sentences."""
        for name in "xyz":
            sides = np.atleast_1d(getattr(self, name))
            if sides.dtype.kind not in "iuf" or len(sides) > 2 or not np.isfinite(sides).all():
                yield f"{self}: {name} is {getattr(self, name)!r}; it must be a finite number or a pair."

    def limits(self):
        """Its box: x, y, z, each (low, high)."""
        return [tuple(sorted(map(float, np.broadcast_to(side, 2)))) for side in (self.x, self.y, self.z)]


def bad_numbers(who, above=None, **numbers):
    """Sentences for what is not a finite number, or not above a limit; None is let pass."""
    for name, value in numbers.items():
        is_number = isinstance(value, (int, float, np.integer, np.floating)) and isfinite(value)
        if value is not None and not (is_number and (above is None or value > above)):
            rule = "" if above is None else f" above {above}"
            yield f"{who}: {name} is {value!r}; it must be a finite number{rule}."

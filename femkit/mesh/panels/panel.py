"""A stiffened panel in words and numbers, and the questions that are asked of it by changing one."""

from dataclasses import KW_ONLY, dataclass, replace
from functools import cached_property

import numpy as np

from ...errors import MeshError
from .build import build
from .corners import Segment
from .lattice import SAME
from .parts import Doubler, Mark, Opening, Stiffener, Zone, bad_numbers

__all__ = ["Panel"]

PARTS = {"openings": Opening, "stiffeners": Stiffener, "zones": Zone, "doublers": Doubler, "marks": Mark}


@dataclass(frozen=True)
class Panel:
    """A flat or singly curved sheet with openings and stiffeners, meshed with quadrilaterals alone.

    The same numbers give the same mesh, bit for bit; sets keep their names whatever the numbers are. Change one with
    ``dataclasses.replace`` and take its `mesh` again.

    Parameters
    ----------
    length, height : float
        Of the sheet along x and z.
    openings, stiffeners, zones, doublers, marks : sequences
        Zones and feet take cells out of the zones before them; what none has is the cell set "sheet". Where parts
        share a face it belongs to the first.
    fine, coarse : float
        Cell size along the corners of openings, and away from them.
    growth : float
        Size of a cell against its finer neighbour's, at most about this.
    arc_cells : int
        Cells that a rounded corner has at least.
    across : int
        Cells across a stiffener's leg at least.
    curvature_radius : float
        Of a sheet curved about an axis along x, whose centre lies on the inner side; negative: on the outer. 0 is flat.
    origin, along, up : 3 floats
        Where the sheet's corner x = z = 0 lies, and where its x and z (there) point. The inner side is the one of
        ``cross(up, along)``: a side wall has its inner side at positive y, a roof with ``up = (0, 1, 0)`` below.

    Raises
    ------
    MeshError
        From `mesh`, if it can't be built: openings that overlap or leave the sheet, radii above half a side, a
        stiffener through an opening that was not told to stop or pass; all faults in one message.

    Examples
    --------
    >>> hatch = Opening("hatch", x=600, z=500, width=400, height=300, radius=60)
    >>> panel = Panel(1200, 1000, openings=[hatch], stiffeners=[Stiffener("posts", x=[250, 950], depth=50)])
    >>> sorted(panel.mesh.cell_sets)
    ['posts', 'sheet']
    """

    length: float
    height: float
    _: KW_ONLY
    openings: tuple = ()
    stiffeners: tuple = ()
    zones: tuple = ()
    doublers: tuple = ()
    marks: tuple = ()
    fine: float = 10.0
    coarse: float = 40.0
    growth: float = 1.25
    arc_cells: int = 8
    across: int = 2
    curvature_radius: float = 0.0
    origin: tuple = (0.0, 0.0, 0.0)
    along: tuple = (1.0, 0.0, 0.0)
    up: tuple = (0.0, 0.0, 1.0)

    def __post_init__(self):
        for name, kind in PARTS.items():
            given = getattr(self, name)
            object.__setattr__(self, name, tuple(given) if isinstance(given, (list, tuple)) else (given,))
            for part in getattr(self, name):
                if type(part) is not kind:
                    raise MeshError(f"panel: {part!r} can't stand among its {name}; each must be a {kind.__name__}.")
        sized = (replace(o, fine=o.fine or self.fine, arc_cells=o.arc_cells or self.arc_cells) for o in self.openings)
        object.__setattr__(self, "openings", tuple(sized))

    @property
    def extent(self):
        """Length and height."""
        return float(self.length), float(self.height)

    @cached_property
    def mesh(self):
        """The panel's `Mesh`; its notes say which stiffeners stop short, and where cells are poor."""
        faults = list(self._faults())
        if faults:
            raise MeshError("The panel can't be built: " + "\n".join(faults))
        return build(self)

    def segments(self):
        """Lines on the sheet that cells must not cross."""
        for part in (*self.zones, *self.doublers):
            (x_low, x_high), (z_low, z_high) = part.box(self.extent)
            yield from (Segment(0, at, z_low, z_high, f"the border of {part}") for at in (x_low, x_high))
            yield from (Segment(1, at, x_low, x_high, f"the border of {part}") for at in (z_low, z_high))
        for stiffener in self.stiffeners:
            low, high = stiffener.reach(self.extent)
            may_stop = stiffener.at_openings == "stop"
            for at in stiffener.lines:
                for u in stiffener.feet:
                    yield Segment(stiffener.axis, at + u, low, high, str(stiffener), may_stop)

    def _faults(self):
        numbers = ("length", "height", "fine", "coarse", "arc_cells", "across")
        yield from bad_numbers(self, above=0, **{name: getattr(self, name) for name in numbers})
        yield from bad_numbers(self, above=1, growth=self.growth)
        yield from bad_numbers(self, curvature_radius=self.curvature_radius)
        if abs(np.dot(self.along, self.up)) > 1e-9 or not (np.any(self.along) and np.any(self.up)):
            yield f"panel: along is {self.along} and up is {self.up}; they must be square to each other, and not 0."
        for part in (*self.openings, *self.stiffeners, *self.zones, *self.doublers, *self.marks):
            yield from part.faults(self.extent)
        names = [part.name for part in (*self.openings, *self.doublers)]
        yield from (
            f'two parts are named "{name}"; each needs its own name.'
            for name in sorted(set(names))
            if names.count(name) > 1
        )
        for i, one in enumerate(self.openings):
            for other in self.openings[i + 1 :]:
                gaps = [max(one.box(a)[0] - other.box(a)[1], other.box(a)[0] - one.box(a)[1]) for a in (0, 1)]
                if max(gaps) < SAME:
                    yield f'openings "{one.name}" and "{other.name}" overlap or touch; move them apart.'

    def __str__(self):
        return "panel"

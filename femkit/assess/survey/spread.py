"""Thickness of every cell from the readings around it: inverse-distance means on one plate, within a stated reach."""

from dataclasses import dataclass, field, replace

import numpy as np

from ...errors import ModelError
from ...mesh.selection import select_cells
from ...model.values import bad_number, refuse
from .renewal import renewal

__all__ = ["REACH", "Worn", "spread"]

REACH = 250.0  # mm, as far as a reading counts: about the spacing of a survey's grid. Common practice, no source
FACES = {"outer": 1.0, "inner": -1.0}


def spread(readings, reach=REACH):
    """Thickness of the cells of the plates that were surveyed, a `Worn`.

    A cell has the mean of its plate's readings within `reach` (mm) of its centre, weighted by the inverse square of
    their distance (`Readings.around`): exact where thickness is even, never beyond its readings, and between two of
    them off a straight line by at most 15 % of their difference. A cell without any is not measured.
    """
    refuse(bad_number("spread", "reach", reach, "mm", " above 0"))
    model = readings.model
    thickness, original = np.full(model.mesh.n_cells, np.nan), np.array(model.per_cell.thickness)
    for new, (_old, thick) in readings.under.items():
        original[model.plate_cells[new]] = thick
    for rows, cells, apart in readings.around("thickness"):
        weights = np.where(apart <= reach, np.maximum(apart, 1.0) ** -2, 0.0)  # within 1 mm all are alike
        near = np.flatnonzero(weights.any(axis=1))
        thickness[cells[near]] = weights[near] @ [r.value for r in rows] / weights[near].sum(axis=1)
    for array in (thickness, original):
        array.setflags(write=False)
    return Worn(readings, thickness, original, float(reach))


@dataclass(frozen=True, eq=False)
class Worn:
    """A structure as measured."""

    readings: object
    thickness: np.ndarray = field(repr=False)  # (n_cells,) mm, of the old sheet alone under a doubler; NaN: none
    original: np.ndarray = field(repr=False)  # (n_cells,) of the same sheet as built, mm
    reach: float  # mm

    renewal = renewal

    @property
    def measured(self):
        """Whether a reading lies within reach, shape (n_cells,)."""
        return np.isfinite(self.thickness)

    @property
    def loss(self):
        """Share of the original that is gone, shape (n_cells,); NaN where nothing was measured."""
        return 1 - self.thickness / self.original

    def model(self, face="outer", *, renewed=()):
        """The model as measured, one thickness per cell; as built where nothing was measured, or is `renewed` (cells).

        Thickness goes from both faces alike, so that a plate's offset stays. Under a doubler the old sheet's free
        face is taken to rust (``face="outer"``), which moves the middle of both towards the doubler by half the loss,
        or the face between them (``"inner"``), and the doubler follows it. A plate has one offset: that of its mean.
        """
        if face not in FACES:
            raise ModelError(f'face is "{face}"; it must be "outer" or "inner".')
        built, gone, plates = self.readings.model, np.nan_to_num(self.original - self.thickness), {}
        gone[select_cells(built.mesh, renewed, "renewed") if len(renewed) else []] = 0.0
        for name, cells in built.plate_cells.items():
            plate = replace(built.plates[name], thickness=built.per_cell.thickness[cells] - gone[cells])
            if name in self.readings.under:
                half = np.average(gone[cells], weights=built.mesh.areas[cells]) / 2
                plate = replace(plate, offset=plate.offset + FACES[face] * np.sign(plate.offset) * half)
            plates |= {name: plate} if gone[cells].any() else {}
        return built.with_plates(plates)

    def zones(self, width=1300.0, height=None, *, holding=None):
        """Areas that could be renewed one by one: cells of each surveyed plate in bays, ascending, by name.

        Parameters
        ----------
        width, height : float
            Of a bay along the survey's first and last axis, mm, from the plate's end; without a height the whole.
        holding : ndarray of bool, shape (n_cells,), optional
            Bays that hold none of these cells are left out; without it those that hold no measured cell.

        Returns
        -------
        zones : dict of str to ndarray of int
            By names such as ``"lower-sheet, x 0 to 1300"``.
        """
        sizes = {"width": width} | ({} if height is None else {"height": height})
        refuse(*(bad_number("zones", name, size, "mm", " above 0") for name, size in sizes.items()))
        model, axes, found = self.readings.model, self.readings.axes, {}
        grid = [(axes[0], width), *([(axes[-1], height)] if height else [])]
        for plate, cells in model.plate_cells.items():
            corners = model.mesh.corners[cells]
            low = model.mesh.points[corners[corners >= 0]].min(axis=0)
            bay = np.stack([(model.mesh.centres[cells, axis] - low[axis]) // step for axis, step in grid], axis=1)
            for one in np.unique(bay, axis=0):
                begins = [(axis, low[axis] + i * step, step) for i, (axis, step) in zip(one, grid)]
                name = ", ".join([plate, *(f"{'xyz'[axis]} {at:.0f} to {at + step:.0f}" for axis, at, step in begins)])
                found[name] = cells[(bay == one).all(axis=1)]
        held = self.measured if holding is None else np.asarray(holding)
        if held.shape != self.measured.shape:
            raise ModelError(f"zones: holding has the shape {held.shape}; it must be a mask, one a cell.")
        return {name: cells for name, cells in found.items() if held[cells].any()}

"""What is to be renewed by the percentage that is lost: on the mean over an area, at single readings, at holes.

Common practice, no source: renew from 20 to 25 % mean loss, single pits from 30 to 35 % where less than 15 to 20 % of
the area is pitted, grooves along welds from 15 to 25 %; "substantial" from 75 % of what is allowed.
"""

from dataclasses import dataclass, field

import numpy as np

from ...mesh.topology import smooth_sheets
from ...model.values import bad_number, place_words, refuse
from ...results.averaging import Neighbourhood, Sheets
from ..verdict import Finding, judge

__all__ = ["MEAN_LIMIT", "PIT_LIMIT", "STATES", "SUBSTANTIAL", "Renewal", "pitted_thickness", "renewal"]

MEAN_LIMIT, PIT_LIMIT, SUBSTANTIAL, MOST_PITTED = 0.20, 0.30, 0.75, 0.15  # the stricter ends of the above
STATES = ("renew: hole", "renew: single reading", "renew: mean loss", "substantial", "may stay", "not measured")
AT = 1 - 1e-9  # 3.2 of 4 mm are 20 % less, but for rounding
FLAT = np.cos(np.radians(2.0))  # of a cell's normal to the sheet's: our own, no source
HOLE, PIT, MEAN, WATCH, STAYS, UNKNOWN = range(6)


def renewal(worn, *, mean=MEAN_LIMIT, pit=PIT_LIMIT, substantial=SUBSTANTIAL, over=300.0):
    """Which cells are renewed by percentage, a `Renewal`.

    Parameters
    ----------
    worn : Worn
    mean : float
        Share of the original that may be lost on the mean over the measured cells of the same plate and smooth sheet
        within half of `over` (mm) around.
    pit : float
        That a single reading may show. Where one shows as much, the cells that it is the nearest reading of are
        renewed, within half of `over`, and the one nearest to it in any case; so are those around a hole.
    substantial : float
        Share of either limit from which a place is named substantial.
    over : float
    """
    shares = {"mean": mean, "pit": pit, "substantial": substantial}
    refuse(*(bad_number("renewal", name, value, rule=" above 0 and at most 1") for name, value in shares.items()))
    refuse(bad_number("renewal", "over", over, "mm", " of at least 0"))
    readings, model, measured = worn.readings, worn.readings.model, worn.measured
    around = Neighbourhood.of(model, Sheets.of(model), over).weights
    with np.errstate(invalid="ignore"):
        mean_loss = np.where(measured, (around @ np.where(measured, worn.loss, 0)) / (around @ measured), np.nan)
    of_reading, is_hole = np.full((2, model.mesh.n_cells), np.nan)
    for rows, cells, apart in readings.around("thickness", "renew"):
        values = np.array([(1 - r.value / r.original, r.use == "renew") for r in rows])
        order = np.lexsort(-values.T)  # the worst first: of those at one place it counts
        values, apart = values[order], apart[:, order]
        nearest = np.where(apart.min(axis=1) <= over / 2, apart.argmin(axis=1), len(rows))
        np.minimum.at(nearest, apart.argmin(axis=0), np.arange(len(rows)))  # none is lost between coarse cells
        is_near = nearest < len(rows)
        of_reading[cells[is_near]], is_hole[cells[is_near]] = values[nearest[is_near]].T
    used = np.fmax(mean_loss / mean, of_reading / pit)
    steps = [is_hole == 1, of_reading >= AT * pit, mean_loss >= AT * mean, used >= AT * substantial, np.isfinite(used)]
    return Renewal(worn, np.select(steps, range(UNKNOWN), UNKNOWN), mean_loss, used)


def pitted_thickness(thickness, share, depth):
    """Even thickness that stands for a plate with scattered pits: less the pitted share of its area times their depth.

    Good for strength and buckling, not for fatigue, which sees the notch. Common practice, no source.

    Parameters
    ----------
    thickness, depth : float
        Between the pits; mean depth of the pits, mm.
    share : float
        Of the area that is pitted.

    Returns
    -------
    thickness : float
        mm; NaN where pits are no longer scattered, or through.
    why : str
        Why there is none.
    """
    if not 0 <= share <= MOST_PITTED:
        return np.nan, f"{share:.0%} of the area is pitted; beyond {MOST_PITTED:.0%} pits are not scattered any more"
    if not 0 <= depth < thickness:
        return np.nan, f"pits of {depth:g} mm are no pits in {thickness:g} mm"
    return thickness - share * depth, ""


@dataclass(frozen=True, eq=False)
class Renewal:
    """What is renewed by percentage, and what may stay."""

    worn: object
    state: np.ndarray = field(repr=False)  # (n_cells,) which of `STATES`
    mean_loss: np.ndarray = field(repr=False)  # (n_cells,) share of the original, over the area; NaN: not measured
    used: np.ndarray = field(repr=False)  # (n_cells,) of the limit that decides, 1 at it

    @property
    def cells(self):
        """Cells to renew, by plate; under a doubler the old sheet is meant."""
        found = {name: cells[self.state[cells] <= MEAN] for name, cells in self._model.plate_cells.items()}
        return {name: cells for name, cells in found.items() if len(cells)}

    @property
    def masses(self):
        """Of every cell's sheet as built, kg, shape (n_cells,); under a doubler of the old sheet alone."""
        return 1e3 * self._model.mesh.areas * self.worn.original * self._model.per_cell.density

    def table(self):
        """By plate what was measured, what uses most of its limit and where, and what is to be renewed.

        Verdicts are on what was measured; `why` says how much was not.
        """
        import pandas as pd

        square, rows = self._model.mesh.areas / 1e6, []
        for name, cells in self._model.plate_cells.items():
            state, found = self.state[cells], self._worst(cells)
            areas = [square[cells[chosen]].sum() for chosen in (state < UNKNOWN, state == WATCH, state <= MEAN)]
            largest = 100 * np.max(self.mean_loss[cells], initial=-np.inf, where=np.isfinite(self.mean_loss[cells]))
            kg = self.masses[cells[state <= MEAN]].sum()
            verdict = judge(found.value, limit=AT - 1e-9)  # what is at the limit is renewed
            words = (found.case, found.place, str(verdict), found.why)
            rows.append(
                (name, square[cells].sum(), *areas, kg, np.nan if largest < 0 else largest, found.value, *words)
            )
        heads = ["plate", "surface (m²)", "measured (m²)", "substantial (m²)", "renew (m²)", "renew (kg)"]
        heads += ["largest mean loss (%)", "used of the limit", "by", "near (mm)", "verdict", "why"]
        return pd.DataFrame(rows, columns=heads).set_index("plate")

    def governing(self):
        """The place that uses most of its limit, as a `Finding`; its `why` says how much was not measured."""
        return self._worst(np.arange(self._model.mesh.n_cells))

    def cutting_list(self, *, margin=25.0, grid=50.0):
        """Rectangles of new sheet that cover what is renewed, as a table; equal ones in one row, the largest first.

        One for each connected piece of a flat sheet, `margin` (mm) wider all round, rounded outward to a grid (mm)
        from the sheet's own corner, not beyond the sheet; rectangles that overlap become one. Sides of an inclined
        sheet are measured along it; those of a curved one are NaN.
        """
        import pandas as pd

        refuse(bad_number("cutting list", "margin", margin, "mm", " of at least 0"))
        refuse(bad_number("cutting list", "grid", grid, "mm", " above 0"))
        mesh, properties, plate = self._model.mesh, self._model.per_cell, self._model.per_cell.plate
        is_new = self.state <= MEAN
        sheet, piece = smooth_sheets(mesh, same=plate), smooth_sheets(mesh, same=np.where(is_new, plate, -1))
        found = {}
        for one in np.unique(sheet[is_new]):
            whole, new = np.flatnonzero(sheet == one), np.flatnonzero((sheet == one) & is_new)
            normal = mesh.normals[whole].mean(axis=0)
            along = np.sort(np.argsort(np.abs(normal))[:2])  # axes in its plane, or nearest to it
            is_flat = (mesh.normals[whole] @ normal >= FLAT).all()
            longer = np.sqrt(1 - normal[along] ** 2) if is_flat else np.nan  # than along the axis
            low, high = _box(mesh, whole)
            boxes = [_box(mesh, new[piece[new] == each]) for each in np.unique(piece[new])]
            steps = [((a - margin - low) // grid, -((low - b - margin) // grid)) for a, b in boxes]
            boxes = [np.clip((low + i * grid, low + k * grid), low, high) for i, k in steps]
            name, thick = self._model.plate_names[plate[new[0]]], self.worn.original[new].max()
            for a, b in _merged(boxes, along):
                key = (
                    name,
                    thick,
                    *sorted(np.round((b - a)[along] / longer, 6), reverse=True),
                    properties.density[new[0]],
                )
                place = ", ".join(f"{x} {p:.0f}" + f" to {q:.0f}" * bool(q > p) for x, p, q in zip("xyz", a, b))
                found.setdefault(key, []).append(place)
        rows = [
            (name, thick, len(places), *sides, area := len(places) * sides[0] * sides[1] / 1e6)
            + (1e9 * area * thick * density, "; ".join(places))
            for (name, thick, *sides, density), places in found.items()
        ]
        heads = ["plate", "thickness (mm)", "pieces", "length (mm)", "width (mm)", "sheet (m²)", "mass (kg)", "where"]
        return pd.DataFrame(rows, columns=heads).sort_values("sheet (m²)", ascending=False, ignore_index=True)

    @property
    def _model(self):
        return self.worn.readings.model

    def _worst(self, cells):
        is_bare = self.state[cells] == UNKNOWN
        if is_bare.all():
            return Finding(np.nan, why="not measured")
        share = np.average(is_bare, weights=self._model.mesh.areas[cells])
        why = f"not measured on {100 * share:.2g} % of the surface" if share else ""
        worst = cells[np.nanargmax(self.used[cells])]
        place = place_words(self._model.mesh.centres[worst], digits=0)
        return Finding(float(self.used[worst]), STATES[self.state[worst]], place, why)


def _box(mesh, cells):
    points = mesh.points[mesh.corners[cells][mesh.corners[cells] >= 0]]
    return points.min(axis=0), points.max(axis=0)


def _merged(boxes, flat):
    """Boxes of which no two overlap along the axes of their sheet."""
    done = []
    for low, high in boxes:
        while hit := [i for i, (a, b) in enumerate(done) if ((low < b) & (high > a))[flat].all()]:
            a, b = done.pop(hit[0])
            low, high = np.minimum(low, a), np.maximum(high, b)
        done.append((low, high))
    return done

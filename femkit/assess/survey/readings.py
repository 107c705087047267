"""Thickness readings as surveyors hand them in: every row is kept and judged by stated rules, and what is odd is named.

The rules, and a gauge's accuracy of 0.1 mm on clean plate, are common practice, no source.
"""

import re
from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
from scipy.spatial.distance import cdist

from ...errors import nearest_name
from ...model.values import bad_number, refuse
from ...units import inch
from .rates import rates
from .rows import AXES, read_rows
from .spread import spread

__all__ = ["Readings", "Survey", "read_survey"]

PLAUSIBLE = (0.2, 1.1)  # shares of the original between which a number in inches makes sense
ALIKE = (0.5, 2.0)  # times the model's thickness, between which a survey's original can be of the same plate
HOLE = "the place is renewed whatever the mean; it spreads no thickness"


def read_survey(path):
    """The rows of a thickness survey, a `Survey`.

    Parameters
    ----------
    path : str or Path
        Commas, semicolons or tabs between the columns ``reading, date, plate, original_mm, measured_mm``, two or all
        of ``x_mm, y_mm, z_mm``, and, if there is one, ``note``. Dates as 2026-05-12 or 12.05.2026.

    Raises
    ------
    RecordError
        If the file can't be read, columns are missing or not in mm, places or thicknesses look like metres, or rows
        have too many fields; all that is wrong in one message.
    """
    return Survey(*read_rows(path))


@dataclass(frozen=True)
class Survey:
    """The rows of a file, in its order; `on` judges them."""

    axes: tuple  # which global axes the places have: (0, 2) for x and z
    rows: tuple

    def on(self, model, *, under=None, gauge=0.1, paint=None, same_place=50.0, one_survey=180, on_plate=5.0):
        """Every row laid on a model as built, and judged.

        The newest survey gives the thickness, earlier ones rates alone. Of two readings of one name, day and place
        the safe one counts: the thinner now, the thicker in an earlier survey. A hole is renewed whatever the mean
        and spreads no thickness. Inches are converted where the note says inch and the result makes sense. An original
        that is not the model's counts for its own reading's loss; twice or half of the model's is another plate's.

        Parameters
        ----------
        model : Model
        under : dict of str to (str, float), optional
            Plates that are an old sheet and a doubler in one: by name the old sheet, whose readings count there, and
            how thick it was, mm: ``{"doubler-zone": ("lower-sheet", 3.0)}``. Readings given for both don't count.
        gauge : float
            A reading this far above the original is taken as the original, mm; farther above it is not used.
        paint : float, optional
            To take off readings whose note says paint, mm; without it they are not used.
        same_place, on_plate : float
            Two readings within it are of one place, mm; how far beside the circles around its plate's cells a reading
            may lie, mm.
        one_survey : float
            Readings this many days older than the newest are of an earlier survey.
        """
        under, numbers = dict(under or {}), {"gauge": gauge, "paint": paint or 0.0, "same_place": same_place}
        numbers |= {"one_survey": one_survey, "on_plate": on_plate}
        refuse(
            *(bad_number("readings", name, value, rule=" of at least 0") for name, value in numbers.items()),
            *(fault for new, old in under.items() for fault in _bad_under(model, new, old)),
        )
        rows = [_by_itself(r, gauge, paint) for r in self.rows]
        rows = list(_on_plates(rows, model, under, list(self.axes), on_plate))
        rows = _without_repeats(list(_by_time(rows, same_place, one_survey)), same_place)
        return Readings(model, tuple(rows), self.axes, under, gauge)


@dataclass(frozen=True, eq=False)
class Readings:
    """A survey's rows on a model; `spread` makes thicknesses of cells from them, `rates` years that are left."""

    model: object = field(repr=False)
    rows: tuple = field(repr=False)
    axes: tuple
    under: dict
    gauge: float

    spread, rates = spread, rates

    def by_plate(self, *uses):
        """By plate the rows of some uses."""
        found = defaultdict(list)
        for row in self.rows:
            if row.use in uses:
                found[row.plate].append(row)
        return found

    def around(self, *uses):
        """The same with the cells they count for, (n,), and how far each row is from each, (n, n_rows), mm.

        These are the plate's own cells, and those where it lies under a doubler. Distances are in the survey's own
        coordinates, so that all faces of a box at one place are alike.
        """
        for plate, rows in self.by_plate(*uses).items():
            names = [plate, *(new for new, (old, _) in self.under.items() if old == plate)]
            cells = np.concatenate([self.model.plate_cells[name] for name in names])
            yield rows, cells, cdist(self.model.mesh.centres[cells][:, self.axes], [row.place for row in rows])

    def table(self):
        """Every row of the file with its treatment and the value used."""
        import pandas as pd

        heads = ["reading", "date", "plate", *(f"{AXES[axis]} (mm)" for axis in self.axes), "original (mm)"]
        heads += ["as written", "note", "value used (mm)", "loss (%)", "used for", "what is odd", "treatment"]
        rows = [
            (r.name, r.date, r.plate, *r.place, r.original, r.written, r.note, r.value)
            + (100 * (1 - r.value / (r.original or np.nan)), r.use)
            + tuple("; ".join(words) for words in (zip(*r.odd) if r.odd else ([""], ["used as it is"])))
            for r in self.rows
        ]
        return pd.DataFrame(rows, columns=heads).set_index("reading")

    def odd(self):
        """What is odd about which rows, and what became of them; rows of the same words together."""
        import pandas as pd

        by_words = defaultdict(list)
        for row in self.rows:
            for words in row.odd:
                by_words[words].append(row.name)
        rows = [(", ".join(names), len(names), *words) for words, names in by_words.items()]
        return pd.DataFrame(rows, columns=["readings", "rows", "what is odd", "what became of it"])


def _bad_under(model, new, old):
    """What is wrong with a plate that is said to be an old sheet and a doubler in one, a sentence each."""
    if not isinstance(old, tuple) or len(old) != 2:
        yield f'under: "{new}" is given {old!r}; it must be the old sheet and its thickness, ("lower-sheet", 3.0).'
        return
    unknown = [name for name in (new, old[0]) if name not in model.plates]
    yield from (f'under: there is no plate "{n}". {nearest_name(n, model.plates)[1]}' for n in unknown)
    fault = bad_number(f'under "{new}"', "thickness", old[1], "mm", " above 0")
    yield fault
    if not unknown and not fault and old[1] >= (whole := model.per_cell.thickness[model.plate_cells[new]].min()):
        yield f'under "{new}": the old sheet is {old[1]:g} mm, but old sheet and doubler are {whole:g} mm together.'


def _by_itself(r, gauge, paint):
    """A row judged by what it says: the first that is decisive, then all that is mended."""
    note, written = r.note.lower(), f"{r.value:g}"
    says_inch, is_painted = bool(re.search(r"\binch(es)?\b", note)), "paint" in note
    is_holed = bool(re.search(r"\bholed?\b", note))
    is_inch = PLAUSIBLE[0] * r.original <= r.value * inch <= PLAUSIBLE[1] * r.original
    value = (r.value * inch if says_inch else r.value) - (paint or 0.0) * is_painted
    above, no_value = value - r.original, f'"{r.written}" is no reading' + f": {r.note}" * bool(note)
    decisive = (
        (r.date is None, "its date is not understood", "not used"),
        (np.isnan(r.place).any(), "its place is not a number", "not used"),
        (not r.original > 0, "its original thickness is not a number above 0", "not used"),
        (r.value == 0 or (np.isnan(r.value) and is_holed), "a hole", HOLE),
        (np.isnan(value), no_value, "not used; readings within reach count there"),
        (is_painted and paint is None, f"{written} mm, over paint", "not used: paint counts as steel"),
        (says_inch and not is_inch, f"{written} is in inches by its note, but makes no sense so", "not used"),
        (value <= 0, f"{value:.3g} mm is no thickness", "not used"),
        (value < PLAUSIBLE[0] * r.original and is_inch, f"{written} looks like inches, which nothing says", "not used"),
        (above > gauge + 1e-9, f"{above:.2g} mm above the original of {r.original:g} mm", "not used: paint, or a slip"),
    )
    for is_so, odd, treatment in decisive:
        if is_so:
            return r.but(odd, treatment, use="renew" if treatment is HOLE else "nothing", value=0.0)
    within = f"above the original of {r.original:g} mm by no more than the gauge's {gauge:g} mm"
    mended = (
        ("," in r.written, f'"{r.written}" has a decimal comma', f"taken as {written}", r.value),
        (is_holed, "its note tells of a hole, but it is a thickness", "used as a thickness: look there", r.value),
        (says_inch, f"{written} is in inches by its note", f"taken as {r.value * inch:.3g} mm", r.value * inch),
        (is_painted, f"{written} mm, over paint" if not says_inch else "over paint", f"{paint} mm taken off", value),
        (above > 1e-9, within, "taken as the original", r.original),
    )
    for is_so, odd, treatment, value in mended:
        r = r.but(odd, treatment, value=value) if is_so else r
    return r


def _on_plates(rows, model, under, axes, tolerance):
    """Rows with the plate's own name; those that don't lie on it are named."""
    mesh, plain = model.mesh, {_plain(name): name for name in model.plates}
    low, high = mesh.points[:, axes].min(axis=0) - tolerance, mesh.points[:, axes].max(axis=0) + tolerance
    corners = np.where(mesh.corners[:, :, None] >= 0, mesh.points[mesh.corners], mesh.centres[:, None])[:, :, axes]
    radius = np.linalg.norm(corners - mesh.centres[:, None, axes], axis=2).max(axis=1)
    for r in rows:
        name, place = plain.get(_plain(r.plate)), np.nan_to_num(r.place)
        if name is None:
            advice = nearest_name(r.plate, model.plates)[1]
            yield r.but(f'there is no plate "{r.plate}"', f"not used. {advice}", use="nothing")
            continue
        r = r if name == r.plate else r.but(f'its plate is written "{r.plate}"', f'taken as "{name}"', plate=name)
        parts = {name: None} | {new: thick for new, (old, thick) in under.items() if old == name}
        cells = np.concatenate([model.plate_cells[part] for part in parts])
        apart = np.linalg.norm(mesh.centres[cells][:, axes] - place, axis=1)
        on = cells[apart <= radius[cells] + tolerance]
        built = [parts[p] or t for p, t in zip(model.plate_of_cell[on], model.per_cell.thickness[on])]
        built = min(built, key=lambda t: abs(t - r.original), default=np.nan)
        if np.isnan(r.place).any() or not r.original > 0:
            pass
        elif name in under:
            r = r.but(f'"{name}" is old sheet and doubler in one', "not used: which was read?", use="nothing")
        elif ((place < low) | (place > high)).any():
            r = r.but("it lies outside the structure", "not used: check the place", use="nothing")
        elif not len(on):
            r = r.but(f'no "{name}" at its place', "not used: cut out in this mesh, or a wrong place", use="nothing")
        elif abs(built - r.original) > 1e-6:
            is_other = not ALIKE[0] < r.original / built < ALIKE[1]
            words = "its own loss is of the survey's, means are of the model's"
            words, use = ("not used: another plate, or another unit", "nothing") if is_other else (words, r.use)
            r = r.but(f"its original is {r.original:g} mm, the model's {built:g} mm", words, use=use)
        yield r


def _plain(name):
    return re.sub(r"[\s_-]+", "-", name.strip().lower())


def _by_time(rows, same_place, one_survey):
    """Rows of earlier surveys named, and kept for rates where something was read again."""
    newest = max((r.date for r in rows if r.use != "nothing"), default=None)
    is_old = [r.use != "nothing" and (newest - r.date).days > one_survey for r in rows]
    now = [r for r, old in zip(rows, is_old) if not old and r.use == "thickness"]
    for r, old in zip(rows, is_old):
        words, is_again = f"of an earlier survey, {r.date}", any(r.is_by(other, same_place) for other in now)
        if old and is_again and r.use == "thickness":
            r = r.but(words, "used for rates alone", use="rate")
        elif old and is_again:
            r = r.but(words, "not used: mended since", use="nothing")
        elif old and r.use == "thickness":
            r = r.but(words, "not used: nothing was read there since", use="nothing")
        yield r


def _without_repeats(rows, same_place):
    """Of rows with one name, day and place the one on the safe side."""
    groups = defaultdict(list)
    for i, r in enumerate(rows):
        if r.use in ("thickness", "rate"):
            groups[r.name, r.date, r.use].append(i)
    for (*_, use), same in groups.items():
        values = [rows[i].value for i in same]
        is_one = all(rows[same[0]].is_by(rows[i], same_place) for i in same)
        choose, word = (np.argmin, "thinner") if use == "thickness" else (np.argmax, "thicker")
        kept = same[int(choose(values))]
        words = f"read twice: {', '.join(f'{v:g}' for v in values)} mm" if np.ptp(values) else "it stands here twice"
        for i in same if len(same) > 1 else ():
            if not is_one:
                rows[i] = rows[i].but("its name stands for several places", "used")
            elif i != kept:
                rows[i] = rows[i].but(words, "left out" if np.ptp(values) else "counted once", use="nothing")
            elif np.ptp(values):
                rows[i] = rows[i].but(words, f"the {word} counts, which is on the safe side")
    return rows

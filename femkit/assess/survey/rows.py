"""The rows of a thickness survey's file, as they were written, once its columns can be trusted."""

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime

import numpy as np

from ...errors import RecordError
from ..delivered import head_and_unit, number, read_table

__all__ = ["AXES", "Reading", "read_rows"]

AXES, NAMES, LENGTHS = "xyz", ("reading", "date", "plate", "note"), (*"xyz", "original", "measured")
DATES = {"%Y-%m-%d": (), "%d.%m.%Y": (("its date is written day.month.year", "read so"),)}
FEWEST_MM, THINNEST_MM = 30.0, 0.1  # places all nearer to 0, originals all thinner than this are in metres


@dataclass(frozen=True)
class Reading:
    """One row: as it was written, and what becomes of it."""

    name: str
    date: date | None
    plate: str
    place: tuple  # mm, along the survey's axes; NaN where it was no number
    original: float  # mm
    written: str
    note: str
    value: float  # mm, the thickness that is used
    use: str = "thickness"  # or "renew" (a hole), "rate" (an earlier survey), "nothing"
    odd: tuple = ()  # pairs: what is odd, what becomes of it

    def but(self, odd, treatment, **changes):
        """The same row with one more oddity."""
        changes |= {"value": np.nan} if changes.get("use") == "nothing" else {}
        return replace(self, odd=(*self.odd, (odd, treatment)), **changes)

    def is_by(self, other, distance):
        """Whether it is of the same plate and, within a distance (mm), of the same place."""
        return self.plate == other.plate and np.linalg.norm(np.subtract(self.place, other.place)) <= distance


def read_rows(path):
    """Which global axes the places have, (0, 2) for x and z, and the rows; errors as of `read_survey`."""
    who = f"thickness survey {path}"
    table = read_table(path, "thickness survey")
    columns, faults = _columns([head.lower() for head in table.heads])
    faults += [table.too_long] * bool(table.too_long)
    axes = tuple(i for i, axis in enumerate(AXES) if axis in columns)
    rows = [] if faults else [_reading(i, row, columns, axes) for i, row in zip(table.lines, table.rows)]
    for what, fewest in {"place": FEWEST_MM, "original": THINNEST_MM}.items():
        largest = np.nan_to_num(np.abs([getattr(r, what) for r in rows])).max(initial=0.0)
        if 0 < largest < fewest:
            faults.append(f"{what}s up to {largest:g} look like metres; they must be in mm")
    if faults or not rows:
        raise RecordError(f"{who}: {'; '.join(faults or ['it holds no readings'])}.")
    return axes, tuple(rows)


def _columns(heads):
    """In which column what stands, and what is wrong with the heads."""
    columns, faults = {head: i for i, head in enumerate(heads) if head in NAMES}, []
    for i, head in enumerate(heads):
        what, unit = head_and_unit(head, LENGTHS)
        if what in LENGTHS and unit == "mm":
            columns[what] = i
        elif what in LENGTHS:
            words = f'in "{unit}"' if unit else "without a unit"
            faults.append(f'column "{head}" is {words}; lengths must be in mm')
    faults += [f'column "{head}" stands there twice' for head in dict.fromkeys(heads) if heads.count(head) > 1 and head]
    missing = [name for name in NAMES[:3] if name not in columns]
    missing += [f"{name}_mm" for name in LENGTHS[3:] if name not in columns]
    missing += ["x_mm, y_mm or z_mm (two of them)"] * (sum(axis in columns for axis in AXES) < 2)
    return columns, [*[f"there is no column {', '.join(missing)}"] * bool(missing), *faults]


def _reading(line, row, columns, axes):
    get = {name: row[i] for name, i in columns.items()}
    day, odd = None, ()
    for form, words in DATES.items():
        with suppress(ValueError):
            day, odd = datetime.strptime(get["date"], form).date(), words
    place, note = tuple(number(get[AXES[axis]]) for axis in axes), get.get("note", "")
    lengths = number(get["original"]), get["measured"], note, number(get["measured"])
    return Reading(get["reading"] or f"line {line}", day, get["plate"], place, *lengths, odd=odd)

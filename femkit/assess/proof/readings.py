"""Measured strains as a data logger hands them in: read whole, with all that could not be read named."""

from dataclasses import dataclass

import numpy as np

from ...errors import RecordError, nearest_name
from ...model.values import listed
from ..delivered import head_and_unit, number, read_table

__all__ = ["StrainReadings", "read_strains"]

NO_LOAD = 0.01  # of the full load; below it a row is a zero reading. Common practice, no source
UNITS = {"": 1, "µm/m": 1, "μm/m": 1, "um/m": 1, "microstrain": 1, "mm/m": 1e3}  # to µm/m; two letters look like µ


@dataclass(frozen=True, eq=False)
class StrainReadings:
    """Strains over the steps of a test.

    Attributes
    ----------
    channels : tuple of str
    load : ndarray, shape (n_rows,)
        Share of the full load.
    time : ndarray, shape (n_rows,)
        As in the file; the rows' numbers where it has none.
    raw : ndarray, shape (n_rows, n_channels)
        As read, µm/m; NaN where there is no number.
    notes : tuple of str
        What could not be read or has no gauge, in words.
    """

    channels: tuple
    load: np.ndarray
    time: np.ndarray
    raw: np.ndarray
    notes: tuple = ()

    @property
    def loaded(self):
        """Which rows are under load."""
        return np.abs(self.load) >= NO_LOAD

    @property
    def before(self):
        """Which rows are zero readings before the first loaded row."""
        return np.cumsum(self.loaded) == 0

    @property
    def after(self):
        """Which rows are zero readings after the last loaded row."""
        return np.cumsum(self.loaded[::-1])[::-1] == 0

    @property
    def largest(self):
        """The first row with the largest load."""
        return int(np.abs(self.load).argmax())

    @property
    def strain(self):
        """Readings less each channel's last zero reading before load, shape (n_rows, n_channels), µm/m."""
        return self.raw - _last(self.raw[self.before])

    @property
    def residual(self):
        """How far each channel's last zero reading after load lies from that before, (n_channels,), µm/m."""
        return _last(self.strain[self.after])


def _last(rows):
    """The last number in each column; NaN where there is none."""
    last = np.full(rows.shape[1], np.nan)
    for row in rows:
        last = np.where(np.isfinite(row), row, last)
    return last


def read_strains(path, channels, *, full, load=None, time=None):
    """Measured strains from a table of text: a row a step, a column a channel.

    Columns are parted by ``;``, tabs or commas; numbers may have decimal commas; lines that begin with ``#`` are
    remarks. Strains are in µm/m, or in the unit in the column's head: ``"G3 (mm/m)"``.

    Parameters
    ----------
    path : str or Path
    channels : sequence of str
        Of the gauges that are looked for: ``sheet.channels``.
    full : float
        The full load in the unit of the load's column: 100 for per cent, or kN.
    load, time : str, optional
        Heads of their columns; without them the first that begin with "load" and "time".

    Returns
    -------
    readings : StrainReadings
        A gauge without a column has no readings, and a note; so have columns without a gauge, and texts for numbers.

    Raises
    ------
    RecordError
        If there is no such file, no load's column or no zero reading before load, a row is torn, a unit unknown, or a
        load or time no number.
    """
    table = read_table(path, "strain readings")
    heads, rows, lines = table.heads, table.rows, table.lines
    torn = " and ".join(filter(None, (table.too_long, table.too_short)))
    if torn or not rows:
        raise RecordError(f"{path}: {torn or 'there are no readings in it'}.")
    parted = [(head, "") if head in channels else head_and_unit(head) for head in heads]
    names = [name for name, _ in parted]
    twice = [name for name in channels if names.count(name) > 1]
    if twice:
        raise RecordError(f'{path}: there are several columns "{twice[0]}"; each channel needs one of its own.')
    columns = dict(zip(names, zip(*rows)))
    scales = {name: _scale(path, unit) for name, unit in parted if name in channels}
    of_load, of_time = _column(path, heads, "load", load), _column(path, heads, "time", time)
    read = {
        what: np.array([number(row[i]) for row in rows]) for what, i in (("load", of_load), ("time", of_time)) if i >= 0
    }
    for what, numbers in read.items():
        if not np.isfinite(numbers).all():
            raise RecordError(f"{path}: the {what} in line {lines[np.isfinite(numbers).argmin()]} is no number.")
    raw, notes = np.full((len(rows), len(channels)), np.nan), []
    for i, name in enumerate(channels):
        if name not in columns:
            notes.append(f"{name}: there is no column of that name")
            continue
        raw[:, i] = [scales[name] * number(text) for text in columns[name]]
        texts = [f'"{text}" in line {line}' for text, line in zip(columns[name], lines) if np.isnan(number(text))]
        if texts:
            notes.append(f"{name}: no number but {listed(texts)}")
    for i, name in enumerate(names):
        if name not in channels and i not in (of_load, of_time):
            notes.append(f'column "{heads[i]}" is no gauge of the sheet. {nearest_name(name, channels)[1]}')
    time = read.get("time", np.arange(len(rows), dtype=float))
    readings = StrainReadings(tuple(channels), read["load"] / full, time, raw, tuple(notes))
    if not (readings.before.any() and readings.loaded.any()):
        what = "row under load" if readings.before.any() else "zero reading before the first row under load"
        raise RecordError(f"{path}: there is no {what}; the load's column is read as shares of {full:g}.")
    return readings


def _column(path, heads, what, given):
    """Which column holds loads or times; -1 for no times."""
    found = [i for i, head in enumerate(heads) if (head == given if given else head.lower().startswith(what))]
    if not found and (given or what == "load"):
        advice = nearest_name(given or what, heads)[1]
        raise RecordError(f'{path}: there is no column "{given or what}" for the {what}. {advice}')
    return found[0] if found else -1


def _scale(path, unit):
    """What turns a column in that unit into µm/m."""
    if unit not in UNITS:
        raise RecordError(f'{path}: strains in "{unit}" are not known; there are µm/m, um/m and mm/m.')
    return UNITS[unit]

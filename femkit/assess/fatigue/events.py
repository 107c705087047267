"""What happens how often: a spectrum of events, each from one state in equilibrium to another, and counted histories.

A state is a sum of load cases and combinations with factors, ``"0.97 tare + 0.97 payload"``. A range is the difference
of two states; it is taken of components of stress, before any principal value.
"""

import re
from dataclasses import dataclass

import numpy as np

from ...errors import ModelError, nearest_name
from ...model.cases import Combination
from ...model.support import footing
from ...model.values import bad_name, bad_number, refuse
from ..delivered import number, read_table
from .rainflow import rainflow

__all__ = ["Event", "History", "events_table", "read_events", "state"]

COLUMNS = ("event", "from_state", "to_state", "times_per_year")
NUMBER = r"(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?"
THOUSANDS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")


@dataclass(frozen=True)
class Event:
    """One range: from a state to another, and back.

    Parameters
    ----------
    name : str
    start, end : dict of str to float
        Load case to factor, as `state` reads them.
    per_year : float
    """

    name: str
    start: dict
    end: dict
    per_year: float

    def __post_init__(self):
        refuse(*_bad(self), *_bad_factors(self, self.start), *_bad_factors(self, self.end))

    def stress(self, spots):
        """Stress at some `Spots` in both states, shape (2, n, 3), MPa."""
        return np.stack([spots.stress(self.start), spots.stress(self.end)])

    def cycles(self, series):
        """Place (m,), both ends (2, m) and times a year (m,) of every cycle in series of one component (n_times, n)."""
        n = series.shape[1]
        return np.arange(n), series, np.full(n, float(self.per_year))


@dataclass(frozen=True, eq=False)
class History:
    """Factors of load cases over time; at each place the cycles of its own stress are counted by `rainflow`.

    Normal stress and shear are counted each by itself.

    Parameters
    ----------
    name : str
    factors : dict of str to array_like, shape (n_times,)
        By load case.
    per_year : float
        How often the whole history passes.
    """

    name: str
    factors: dict
    per_year: float

    def __post_init__(self):
        faults = list(filter(None, [*_bad(self), *_bad_factors(self, self.factors, many="instant")]))
        shapes = set() if faults else set(map(np.shape, self.factors.values()))
        if not faults and (len(shapes) != 1 or len(row := shapes.pop()) != 1 or not row[0]):
            shapes = {case: np.shape(series) for case, series in self.factors.items()}
            faults.append(f'event "{self.name}": factors have the shapes {shapes}; each must be a row of one length.')
        refuse(*faults)

    def stress(self, spots):
        """Stress at some `Spots` at every instant, shape (n_times, n, 3), MPa."""
        return spots.stress({case: np.asarray(f, dtype=float)[:, None, None] for case, f in self.factors.items()})

    def cycles(self, series):
        """As of an `Event`; places without stress have none."""
        known = np.flatnonzero(np.isfinite(series).all(axis=0))
        found = [rainflow(series[:, place]) for place in known]
        place = np.repeat(known, [len(each.count) for each in found])
        ends = [np.concatenate([np.empty(0, int), *(each[i] for each in found)]) for i in (0, 1)]
        count = np.concatenate([np.empty(0), *(each.count for each in found)])
        return place, series[ends, place], count * self.per_year


def state(text, model):
    """Load cases and factors of a state in words.

    Parameters
    ----------
    text : str
        Names of load cases and combinations with factors before them and ``+`` or ``-`` between; ``"0"`` is unloaded.
    model : Model
        Whose names are known. Names may hold blanks, signs and digits: the longest that fits is meant.

    Returns
    -------
    factors : dict of str to float
        By load case; combinations are expanded.

    Raises
    ------
    ModelError
        If a name is not known (the nearest is offered), or the cases stand on different supports and so are in no
        equilibrium together.
    """
    text = str(text).replace("\N{MINUS SIGN}", "-").strip()
    cases = {case.name: case for case in (*model.load_cases, *model.combinations)}
    names = "|".join(re.escape(name) for name in sorted(cases, key=len, reverse=True))
    term = re.compile(rf"\s*([+-]?)\s*(?:({NUMBER})\s*[*×]?\s*)??({names})\s*(?=[+-]|$)")
    factors, at = {}, len(text) if number(text) == 0 else 0
    while at < max(len(text), 1):
        found = term.match(text, at)
        if not found or (at and not found[1]):
            word = re.split(r"\s[+-]\s", text[at:].strip(" +-"))[0]
            word = re.sub(rf"^{NUMBER}\s*[*×]?\s*", "", word).strip()
            wrong = f'there is no load case or combination "{word}". {nearest_name(word, cases)[1]}'
            raise ModelError(f'state "{text}": {wrong if word else "a load case is missing."}')
        factor = number(f"{found[1]}{found[2] or 1}")
        case, at = cases[found[3]], found.end()
        for name, share in (case.factors if isinstance(case, Combination) else {case.name: 1.0}).items():
            factors[name] = factors.get(name, 0.0) + factor * share
    if len({footing(model.supports_of(cases[name]), values=False) for name in factors}) > 1:
        raise ModelError(f'state "{text}": {", ".join(factors)} do not all stand on the same supports.')
    return factors


def read_events(path, model):
    """The events of a table of text with the columns ``event, from_state, to_state, times_per_year``.

    Parameters
    ----------
    path : str or Path
        Columns parted by commas, semicolons or tabs; others are left alone, and so are lines that begin with ``#``.
    model : Model
        Whose load cases and combinations the states name.

    Returns
    -------
    events : tuple of Event

    Raises
    ------
    RecordError
        If the file can't be read.
    ModelError
        With all that is wrong in it, by line of the file.
    """
    table, faults, events, line_of = read_table(path, "events"), [], [], {}
    missing = [head for head in COLUMNS if head not in table.heads]
    refuse(
        *(f'{path}: there is no column "{head}". {nearest_name(head, table.heads)[1]}' for head in missing),
        *(f'{path}: column "{head}" stands there twice.' for head in COLUMNS if table.heads.count(head) > 1),
    )
    for line, row in zip(table.lines, table.rows):
        name, start, end, count = (row[table.heads.index(head)] for head in COLUMNS)
        who = f'{path}, line {line} ("{name}")'
        found = [
            _or_fault(faults, f"{who}, {h}", state, t, model) for h, t in (("from_state", start), ("to_state", end))
        ]
        found.append(_or_fault(faults, f"{who}, times_per_year", _times, count))
        if name in line_of:
            faults.append(f"{who}: line {line_of[name]} has an event of that name; each needs its own.")
        line_of.setdefault(name, line)
        if None not in found:
            events.append(_or_fault(faults, who, Event, name, *found))
    too_long = f"{path}: {table.too_long}; a comma in a text needs quotes." if table.too_long else ""
    refuse(*faults, too_long, "" if table.rows else f"{path}: there are no events in it.")
    return tuple(events)


def events_table(events):
    """One row an event: its states, and times a year, as a pandas table."""
    import pandas as pd

    said = lambda factors: " + ".join(f"{f:g} {name}" for name, f in factors.items()).replace("+ -", "- ") or "0"  # noqa: E731
    rows = [
        (event.name, said(event.start), said(event.end), event.per_year)
        if isinstance(event, Event)
        else (event.name, "a history of", ", ".join(event.factors), event.per_year)
        for event in events
    ]
    return pd.DataFrame(rows, columns=["event", "from", "to", "times a year"]).set_index("event")


def _bad(event):
    """What is wrong with an event's name and count."""
    count = bad_number(f'event "{event.name}"', "times a year", event.per_year, "", " of at least 0")
    return bad_name("event", event.name), count


def _bad_factors(event, factors, many=""):
    """What is wrong with factors by load case."""
    if not isinstance(factors, dict):
        return [f'event "{event.name}": {factors!r} can\'t stand there; it must be a dict of load cases and factors.']
    return [bad_number(f'event "{event.name}"', f'the factor of "{case}"', f, many=many) for case, f in factors.items()]


def _times(text):
    """Times a year; "61,000" is refused, which would be a thousandth elsewhere."""
    value = number(text)
    if np.isnan(value):
        raise ModelError(f"{text!r} is not a finite number.")
    if THOUSANDS.fullmatch(text):
        raise ModelError(f"{text!r} can be read in two ways; write it without a sign between thousands.")
    return value


def _or_fault(faults, who, function, *arguments):
    """What a function makes of a field, or None with what it raised added to the faults."""
    try:
        return function(*arguments)
    except ModelError as error:
        faults.append(f"{who}: {error}")
        return None

"""How fast plates lose thickness where a place was read twice, and the year in which a limit is reached.

Each reading is off by the gauge's accuracy; the difference of two that are independent by √2 of it.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np

from ...model.values import bad_number, place_words, refuse
from ..verdict import Finding
from .renewal import PIT_LIMIT

__all__ = ["Rates", "rates"]

DAYS = 365.25  # a year
JUST = 1e-9  # mm and share: at the limit, but for rounding


def rates(readings, *, limit=PIT_LIMIT):
    """Rates of loss, and the year in which each place has lost a share `limit` of its original, as `Rates`.

    A reading of an earlier survey is paired with the nearest of the newest one on its plate. Loss goes on as fast as
    it went between the two. A place that grew, or stayed, has no rate, and one whose loss is within the scatter of
    the gauge has one that is named so.
    """
    refuse(bad_number("rates", "limit", limit, rule=" above 0 and at most 1"))
    now, rows = readings.by_plate("thickness"), []
    for plate, earlier in readings.by_plate("rate").items():
        for old in earlier:
            new = min(now[plate], key=lambda r: np.linalg.norm(np.subtract(r.place, old.place)))
            rows.append(_row(new, old, limit, np.sqrt(2) * readings.gauge))
    return Rates(tuple(rows))


def _row(new, old, limit, scatter):
    years, gone = (new.date - old.date).days / DAYS, old.value - new.value
    left = new.value - (1 - limit) * new.original
    today = new.date.year + (new.date - date(new.date.year, 1, 1)).days / DAYS
    is_due = gone > 0 and left > JUST
    why = "the loss is within the gauge's scatter" if gone <= scatter else ""
    why = "the limit is reached already" if left <= JUST else "no thinner than before: no rate" if gone <= 0 else why
    return {
        "reading": new.name,
        "before": old.name,
        "plate": new.plate,
        "place (mm)": place_words(new.place, digits=0),
        "years": years,
        "was (mm)": old.value,
        "is (mm)": new.value,
        "rate (mm/year)": gone / years if gone > 0 else np.nan,
        "± (mm/year)": scatter / years,
        "reached in": np.floor(today + left * years / gone) if is_due else np.nan,
        "at the soonest": np.floor(today + left * years / (gone + scatter)) if is_due else np.nan,
        "used of the limit": (1 - new.value / new.original) / limit,
        "why": why,
    }


@dataclass(frozen=True)
class Rates:
    """Places that were read twice."""

    rows: tuple

    def table(self):
        """A row a place, the one that reaches the limit first on top; why, where it has no rate or a doubtful one."""
        import pandas as pd

        ranked = sorted(self.rows, key=_due)
        return pd.DataFrame(ranked, columns=list(ranked[0]) if ranked else ["reading"]).set_index("reading")

    def governing(self):
        """Of the places that were read twice the one that reaches the limit first, as a `Finding`."""
        if not self.rows:
            return Finding(np.nan, why="no place was read twice")
        row = min(self.rows, key=_due)
        when = "reached in {reached in:.0f}, {at the soonest:.0f} at the soonest".format(**row)
        event = when if np.isfinite(row["reached in"]) else row["why"]
        return Finding(row["used of the limit"], f"{row['reading']}: {event}", f"{row['plate']} {row['place (mm)']}")


def _due(row):
    is_reached = row["used of the limit"] >= 1 - JUST
    return not is_reached, -row["used of the limit"] if is_reached else np.nan_to_num(row["reached in"], nan=np.inf)

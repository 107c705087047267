"""How much of its life a detail uses up in a year: damage by event, years that are left, and what governs.

Damage is summed by Palmgren and Miner, ``D = Σ n/N``; direct stress and shear each by its own curve, and the two sums
added (EN 1993-1-9:2005, 8 and annex A, values from memory).
"""

from dataclasses import KW_ONLY, dataclass
from itertools import pairwise

import numpy as np

from ...errors import ModelError, nearest_name
from ...model.values import bad_number, place_words, refuse, sequence_of
from ...results.averaging import JUDGED_OVER
from ...results.spots import Spots
from ..verdict import Finding, Verdict, judge
from .curves import GAMMA_FF, GAMMA_MF, SNCurve, category
from .events import Event, History
from .hot_spot import HotSpots
from .ranges import damage_of_event

__all__ = ["MINER_VARYING_MEAN", "Life", "assess_life"]

MINER_VARYING_MEAN = 0.5  # limit on damage where mean stress varies: IIW 4.3.1 (value from memory)
RELIEVED = 0.6  # share of a range's compressive part that counts in relieved welds and plain plate: EN 1993-1-9, 7.2.1
WORST_FIRST = (Verdict.WORSE, Verdict.NOT_ASSESSED, Verdict.NO_WORSE, Verdict.MEETS)
WELD_IN_SHEAR = category(80, shear=True)
MOST_RANGE = 1.5  # times yield, the largest direct range the curves are for; shear by sqrt(3) less: EN 1993-1-9, 8(1)


@dataclass(frozen=True, eq=False)
class Life:
    """Damage of details under a spectrum. Places are those of all `Spots` one after another.

    Attributes
    ----------
    spots : tuple of Spots
    curves : tuple of SNCurve
        One for each of `spots`.
    events : tuple of str
    per_year : ndarray, shape (n_places, n_events)
        Damage of a year; NaN where not assessed.
    largest : ndarray, shape (n_places, n_events)
        Largest direct range of the event, MPa.
    used : ndarray, shape (n_places,)
        Damage before the first year.
    why : tuple of str
        For every place why it is not assessed, "" where it is.
    original : ndarray, shape (n_places,)
        Damage that the old structure would have reached at the end; NaN where it had no such place.
    years, limit : float
        Wanted, and the damage that may be reached by then.
    notes : tuple of str
        What was accepted at the spots or not checked, which of them are new, and which old ones are judged no more.
    """

    spots: tuple
    curves: tuple
    events: tuple
    per_year: np.ndarray
    largest: np.ndarray
    used: np.ndarray
    why: tuple
    original: np.ndarray
    _: KW_ONLY
    years: float
    limit: float
    notes: tuple = ()

    @property
    def damage(self):
        """At the end of the years wanted, with what was used before, shape (n_places,)."""
        return self.after(self.years)

    @property
    def years_left(self):
        """Until the limit is reached, shape (n_places,); 0 if it is already, ``inf`` if never."""
        with np.errstate(divide="ignore", invalid="ignore"):
            left = (self.limit - self.used) / self.per_year.sum(axis=1)
        return np.where(self.used >= self.limit, 0.0, np.maximum(left, 0.0))

    def after(self, years):
        """Damage after some years, shape (n_places,)."""
        return self.used + years * self.per_year.sum(axis=1)

    def of(self, name):
        """Slice of the places of the spots of that name; `ModelError` with the nearest name if there are none."""
        names = [spots.name for spots in self.spots]
        if name not in names:
            raise ModelError(f'there are no spots "{name}". {nearest_name(name, names)[1]}')
        return self._parts()[names.index(name)]

    def table(self):
        """One row for each of the spots, its worst place that was assessed, as a pandas table.

        The verdict is the worst of all its places'. `why` counts those that were not assessed.
        """
        import pandas as pd

        rows = []
        for spots, curve, part, worst in zip(self.spots, self.curves, self._parts(), self._worst()):
            event, total = self._costs_most(worst), self.per_year[worst].sum()
            found = zip(self.damage[part], self.original[part])
            verdicts = {judge(damage, limit=self.limit, original=original) for damage, original in found}
            rows.append(
                {
                    "detail": spots.name,
                    "curve": curve.name,
                    "category (MPa)": curve.category,
                    "at (mm)": self._place(worst),
                    "largest range (MPa)": self.largest[worst].max(),
                    "costs most": self.events[event],
                    "its share": self.per_year[worst, event] / total if total > 0 else np.nan,
                    "used before": self.used[worst],
                    f"damage after {self.years:g} years": self.damage[worst],
                    "years left": self.years_left[worst],
                    "verdict": str(min(verdicts, key=WORST_FIRST.index)),
                    "why": self._why(part),
                }
            )
        return pd.DataFrame(rows).set_index("detail")

    def by_event(self):
        """Damage of the years wanted by event, one column for each of the spots at its worst place, as a table."""
        import pandas as pd

        values = self.years * self.per_year[self._worst()].T
        return pd.DataFrame(values, index=list(self.events), columns=[s.name for s in self.spots]).rename_axis("event")

    def governing(self):
        """The `Finding` that governs: damage over its limit, the event that costs most, the place."""
        said = zip(self.spots, map(self._why, self._parts()))
        why = "; ".join(f"{spots.name}: {reason}" for spots, reason in said if reason)
        if np.isnan(self.damage).all():
            return Finding(np.nan, why=why)
        worst = max(np.flatnonzero(np.isfinite(self.damage)), key=lambda i: (self.damage[i], self.largest[i].max()))
        event = self.events[self._costs_most(worst)]
        name = np.repeat([spots.name for spots in self.spots], [len(s.places) for s in self.spots])[worst]
        return Finding(float(self.damage[worst] / self.limit), event, f"{name} {self._place(worst)}", why)

    def _place(self, number):
        return place_words(np.concatenate([spots.places for spots in self.spots])[number], digits=0)

    def _costs_most(self, place):
        """Index of the event that damages a place most; of the largest range where none does any harm."""
        does_harm = np.nan_to_num(self.per_year[place]).any()
        return int(np.nan_to_num(self.per_year[place] if does_harm else self.largest[place]).argmax())

    def _parts(self):
        """Slices of the places, one for each of the spots."""
        ends = np.cumsum([0, *(len(spots.places) for spots in self.spots)]).tolist()
        return [slice(*pair) for pair in pairwise(ends)]

    def _why(self, part):
        """How many places of a slice are not assessed, and why the first of them is not; "" if all are."""
        unknown = [reason for reason in self.why[part] if reason]
        return f"{len(unknown)} of {part.stop - part.start} places not assessed: {unknown[0]}" if unknown else ""

    def _worst(self):
        """Index of each of the spots' place that is damaged most, or has the largest range; assessed ones first."""
        size, largest = np.where(np.isnan(self.damage), -1.0, self.damage), self.largest.max(axis=1)
        return [part.start + int(np.lexsort((largest[part], size[part]))[-1]) for part in self._parts()]

    def __repr__(self):
        found = self.governing()
        return (
            f"Life: {found.value:.3g} of what is allowed in {self.years:g} years, {found.place}, most by {found.case}"
        )


def assess_life(
    spots,
    curves,
    events,
    *,
    years=25.0,
    shear=WELD_IN_SHEAR,
    gamma_mf=GAMMA_MF["safe life", "high consequence"],
    gamma_ff=GAMMA_FF,
    limit=1.0,
    stress_relieved=False,
    yield_strength=None,
    before=None,
    years_used=0.0,
):
    """Damage and years of life of details under a spectrum.

    Parameters
    ----------
    spots : Spots, or sequence of them
    curves : SNCurve, or sequence of one for each of `spots`
        For the stress across, or the principal stress: see `SNCurve`.
    events : sequence of Event, History
        Each event's range is that between its two states, component by component. Ranges from one event to another are
        not counted: the rarest and largest needs an event of its own.
    years : float
        That the details are wanted to last.
    shear : SNCurve, optional
        For the shear between across and along, where no principal stress took it in; the two damages add up. None
        leaves shear out.
    gamma_mf, gamma_ff : float
        Curves are divided by the first, ranges multiplied by the second; see `GAMMA_MF`.
    limit : float
        On the damage; `MINER_VARYING_MEAN` by the IIW where mean stress varies.
    stress_relieved : bool
        Relieved welds or plain plate: 60 % of the compressive part of a range count (EN 1993-1-9, 7.2.1).
    yield_strength : float, optional
        MPa; places with ranges above 1.5 times it are not assessed. Without it a note says that this was not looked at.
    before : Life, optional
        Of the old structure under its own spectrum. Spots of the same name and places are the same weld, which goes on
        with what it has used; others are new.
    years_used : float
        That the old structure has run.

    Returns
    -------
    life : Life

    Raises
    ------
    ModelError
        If numbers are out of range, counts do not fit, a load case is not known to the spots, or places of one name lie
        elsewhere in the old structure.
    """
    spots, curves = sequence_of("spots", spots, Spots), sequence_of("curves", curves, SNCurve)
    events = sequence_of("events", events, (Event, History))
    sequence_of("shear", () if shear is None else shear, SNCurve)
    sequence_of("before", () if before is None else before, Life)
    curves = curves * len(spots) if len(curves) == 1 else curves
    names = [each.name for each in spots]
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    above_0 = {"years": years, "gamma_mf": gamma_mf, "gamma_ff": gamma_ff, "limit": limit}
    above_0 |= {} if yield_strength is None else {"yield_strength": yield_strength}
    refuse(
        *(bad_number("life", name, value, "", " above 0") for name, value in above_0.items()),
        bad_number("life", "years_used", years_used, "", " of at least 0"),
        "" if before or years_used == 0 else f"life: years_used is {years_used}, but `before` is not given.",
        *(f'life: spots are named "{name}" more than once; each needs its own name.' for name in twice),
        "" if len(curves) == len(spots) else f"life: {len(spots)} spots have {len(curves)} curves; one each.",
        "" if spots and events else f"life: there are {len(spots)} spots and {len(events)} events; at least one each.",
    )
    factors = (gamma_ff, gamma_mf, RELIEVED if stress_relieved else 1.0)
    found = [
        np.stack([damage_of_event(event, each, curve, shear, *factors) for event in events], axis=-1)
        for each, curve in zip(spots, curves)
    ]
    per_year, direct, sheared = np.concatenate(found, axis=1)  # each (n_places, n_events)
    parts = zip(*(_used(each, before, years_used, years) for each in spots))
    used, original, unknown = map(np.concatenate, parts)
    why = [reason for each, curve in zip(spots, curves) for reason in _reasons(each, curve)]
    most = np.inf if yield_strength is None else MOST_RANGE * yield_strength
    is_beyond = (direct > most).any(axis=1) | (sheared > most / np.sqrt(3)).any(axis=1)
    beyond = f"a range is beyond {most:.0f} MPa, {MOST_RANGE:g} times yield (in shear divided by \u221a3)"
    why = tuple(a or (beyond if b else "") or str(c) for a, b, c in zip(why, is_beyond, unknown))
    per_year[[bool(each) for each in why]] = np.nan
    notes = [note for each in spots for note in each.notes]
    nominal = [n for n, s, c in zip(names, spots, curves) if c.principal_within and not isinstance(s, HotSpots)]
    notes += [f"{name}: a curve for hot spots, but nominal stress" for name in nominal]
    notes += ["ranges are not held against the yield strength, which is not given"] * (yield_strength is None)
    old = [] if before is None else [each.name for each in before.spots]
    notes += [f"{name}: not in the old structure, taken as new" for name in names if old and name not in old]
    notes += [f"{name}: in the old structure, judged no more" for name in old if name not in names]
    names = tuple(event.name for event in events)
    ends = {"years": float(years), "limit": float(limit), "notes": tuple(notes)}
    return Life(spots, curves, names, per_year, direct, used, why, original, **ends)


def _reasons(spots, curve):
    """For every place why it is not assessed, or "", as a list."""
    n = len(spots.places)
    known = np.all([np.isfinite(stress).all(axis=1) for stress in spots.by_case.values()], axis=0)
    found = zip(spots.why or [""] * n, known, spots.thickness)
    return [why or ("" if is_known else "there is no stress") or curve.outside(t) for why, is_known, t in found]


def _used(spots, before, years_used, years):
    """Damage used before, damage the old structure would have at the end, and why they are not known, by place."""
    n, old = len(spots.places), {} if before is None else {each.name: each for each in before.spots}
    if spots.name not in old:
        return np.zeros(n), np.full(n, np.nan), [""] * n
    places, part = old[spots.name].places, before.of(spots.name)
    if len(places) != n:
        raise ModelError(f"{spots.name}: it has {n} places, but {len(places)} in the old structure.")
    apart = np.linalg.norm(spots.places - places, axis=1).max()
    if apart > JUDGED_OVER:
        raise ModelError(
            f"{spots.name}: its places lie up to {apart:.0f} mm from those in the old structure; "
            f"at most {JUDGED_OVER:g} mm is the same place."
        )
    why = [f"before: {reason}" if reason else "" for reason in before.why[part]]
    return before.after(years_used)[part], before.after(years_used + years)[part], why

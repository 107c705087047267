"""The least thickness at which nothing exceeds 1, from few looks at demands over thickness.

Near a look every demand is taken for a power of the thickness: by its own derivative where that is known, else through
another look. The check that needs most leads to the next look, which has to lie above what failed and below what
passed; of a check that fails, only what fails tells the power, since a buckling factor has a kink where its shape
becomes another. Demands are taken to fall as thickness grows. Where a look contradicts that (something thicker than
what passed fails), even steps up to the thickest are looked at, and the thinnest above all that failed is found.
"""

from dataclasses import dataclass

import numpy as np

__all__ = ["Look", "find_least", "roots"]

STEPS = 8  # looks of a scan
INSENSITIVE = 1e-6  # of powers of the thickness: a demand that goes with less is not this thickness's to change


@dataclass(frozen=True, eq=False)
class Look:
    """Demands of all checks at one thickness; at most 1 is good, NaN was not looked at."""

    thickness: float  # mm
    demand: np.ndarray  # (n_checks,)
    power: np.ndarray | None = None  # (n_checks,) of the thickness by which it falls there; NaN where not known
    places: tuple = ()  # where each check has its value, in words

    @property
    def worst(self):
        """The largest demand."""
        return float(np.nanmax(self.demand))


def find_least(look, low, high, known, *, tolerance, scan=0):
    """The look at the least thickness that passes, None if the thickest does not, and all looks in their order.

    Parameters
    ----------
    look : callable
        Of a thickness, mm; returns a `Look`.
    low, high : float
        Bounds, mm.
    known : ndarray, shape (3, n_checks)
        What the search starts from: a thickness, the demand there, and the power by which it falls; NaN if unknown.
    tolerance : float
        mm.
    scan : int
        Even steps between what is found and `high` that are looked at in any case.
    """
    looks, is_scanned = [], False
    while True:
        failed, passed = _bracket(looks)
        root = max(roots(known, looks).max(), 0.0)
        is_odd = any(each.worst <= 1 and each.thickness < failed for each in looks)
        at = passed.thickness if passed else np.nan
        is_found = at <= max(low, failed + tolerance) or root <= at <= root + tolerance
        if not is_scanned and failed < high and (is_odd or (scan and is_found)):
            steps = np.linspace(failed if is_odd else at, high, (scan or STEPS) + 1)[1:]
            looks, is_scanned = looks + [look(float(step)) for step in steps], True
        elif is_found or failed >= high:
            return passed, looks
        else:
            looks.append(look(_next(root + 0.3 * tolerance, looks, low, high, tolerance)))


def roots(known, looks):
    """Where each demand is 1, (n_checks,), mm: 0 for what does not matter, infinite for what no thickness mends.

    From the thickest look that fails the least of what its own power, another failure and the thinnest look that passes
    promise: a curve with a kink lies below the last of these, a smooth one below the first. Where none fails, from the
    thinnest look, by its own power or else through another look.
    """
    at = np.log([known[0], *(np.full(known.shape[1], each.thickness) for each in looks)])
    blank = np.full(known.shape[1], np.nan)
    own = np.array([known[2], *(blank if each.power is None else each.power for each in looks)])
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        demand = np.array([known[1], *(each.demand for each in looks)])
        logs = np.log(np.where(np.isfinite(demand), np.maximum(demand, 1e-12), np.nan)) + 0 * at
        order = np.argsort(np.where(logs > 0, -1e6 - at, at + 0 * logs), axis=0, kind="stable")  # NaN comes last
        at, logs, own = (np.take_along_axis(each, order, axis=0) for each in (at, logs, own))
        passing = np.minimum((logs > 0).sum(axis=0), len(logs) - 1)[None]
        chords = [(logs[0] - logs[1:2]) / (at[1:2] - at[0])] if len(at) > 1 else []
        chords += [
            (logs[:1] - np.take_along_axis(logs, passing, axis=0)) / (np.take_along_axis(at, passing, 0) - at[:1])
        ]
        powers = np.concatenate([own[:1], *chords])
        ends = np.where(powers > INSENSITIVE, at[0] + logs[0] / powers, np.where(logs[0] > 0, np.inf, -np.inf))
        ends = np.where(np.isfinite(powers), ends, np.nan)
        first = np.where(np.isfinite(ends[0]), ends[0], ends[1])
        root = np.exp(np.minimum(np.where(logs[0] > 0, np.fmin.reduce(ends), first), 700.0))
    return np.where(np.isfinite(logs[0]) & ~np.isnan(root), root, 0.0)


def _bracket(looks):
    """The thickest that failed, 0 if none did, and the look at the thinnest above it that passed, None if none did."""
    failed = max((each.thickness for each in looks if not each.worst <= 1), default=0.0)
    return failed, min((x for x in looks if x.worst <= 1 and x.thickness > failed), key=_thickness, default=None)


def _thickness(look):
    return look.thickness


def _next(aim, looks, low, high, tolerance):
    """Where to look next: at the aim if it lies well within what is still open, and the last look closed half of it."""
    failed, passed = _bracket(looks)
    if not failed:
        return float(np.clip(aim, low, high))
    top = passed.thickness if passed else high
    if not passed and (top - failed <= tolerance or aim >= top):
        return float(top)
    before = _bracket(looks[:-1])
    is_slow = before[0] and before[1] and top - failed > (before[1].thickness - before[0]) / 2
    edge = 0.1 * (top - failed)
    return float(np.clip(aim, failed + edge, top - edge) if failed < aim < top and not is_slow else (failed + top) / 2)

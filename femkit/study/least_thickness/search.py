"""The least thickness at which nothing exceeds 1, from few looks at demands over thickness.

Between two looks every demand is taken for a power of the thickness; the check that needs most leads to the next look,
which has to lie above what failed and below what passed. Demands are taken to fall as thickness grows. Where a look
contradicts that (something thicker than what passed fails), even steps up to the thickest are looked at, and what is
found is the thinnest above all that failed.
"""

from dataclasses import dataclass

import numpy as np

__all__ = ["Look", "find_least"]

STEPS = 8  # looks of a scan
PATIENCE = 7  # looks after which the bracket is halved
INSENSITIVE = 1e-6  # of powers of the thickness: a demand that goes with less is not this thickness's to change


@dataclass(frozen=True, eq=False)
class Look:
    """Demands of all checks at one thickness; at most 1 is good, NaN was not looked at."""

    thickness: float  # mm
    demand: np.ndarray  # (n_checks,)
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
        root = _root(known, looks)
        is_odd = any(each.worst <= 1 and each.thickness < failed for each in looks)
        is_found = passed and (passed.thickness <= max(low, failed + tolerance, root + tolerance))
        if not is_scanned and failed < high and (is_odd or (scan and is_found)):
            steps = np.linspace(failed if is_odd else passed.thickness, high, (scan or STEPS) + 1)[1:]
            looks, is_scanned = looks + [look(float(step)) for step in steps], True
        elif is_found or failed >= high:
            return passed, looks
        else:
            looks.append(look(_next(root + 0.3 * tolerance, failed, passed, low, high, tolerance, len(looks))))


def _bracket(looks):
    """The thickest that failed, 0 if none did, and the look at the thinnest above it that passed, None if none did."""
    failed = max((each.thickness for each in looks if not each.worst <= 1), default=0.0)
    return failed, min((x for x in looks if x.worst <= 1 and x.thickness > failed), key=_thickness, default=None)


def _thickness(look):
    return look.thickness


def _next(aim, failed, passed, low, high, tolerance, count):
    """Where to look next: at the aim if it lies well within what is still open."""
    if not failed:
        return float(np.clip(aim, low, high))
    top = passed.thickness if passed else high
    if not passed and (top - failed <= tolerance or aim >= top):
        return float(top)
    edge = 0.1 * (top - failed)
    is_good = failed < aim < top and count < PATIENCE
    return float(np.clip(aim, failed + edge, top - edge) if is_good else (failed + top) / 2)


def _root(known, looks):
    """Where the demand that needs most is 1, by powers through the two thicknesses nearest to that, mm."""
    at = np.log([known[0], *(np.full(known.shape[1], each.thickness) for each in looks)])
    demand = np.array([known[1], *(each.demand for each in looks)])
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = np.log(np.where(np.isfinite(demand), np.maximum(demand, 1e-12), np.nan)) + 0 * at
        order = np.argsort(np.abs(logs), axis=0, kind="stable")  # NaN comes last
        at, logs = (np.take_along_axis(each, order, axis=0) for each in (at, logs))
        seen = -np.diff(logs[:2], axis=0) / np.diff(at[:2], axis=0)
        seen = seen[0] if len(seen) else np.full(known.shape[1], np.nan)
        power = np.where(np.isfinite(seen), seen, known[2])
        root = np.where(power > INSENSITIVE, at[0] + logs[0] / power, np.where(logs[0] > 0, np.inf, -np.inf))
    return float(np.exp(np.clip(np.nanmax(root, initial=-np.inf, where=np.isfinite(logs[0])), -700, 700)))

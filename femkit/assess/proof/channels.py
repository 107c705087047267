"""What is wrong with a measured channel, found from its own course and from what was predicted for it.

The bounds that tell a faulty channel from a structure that behaves otherwise are common practice, no source.
"""

from typing import NamedTuple

import numpy as np

from ...model.values import listed

__all__ = ["StraightLine", "fault_of", "missing_words", "outliers", "straight_line", "swapped"]

STILL = 5.0  # µm/m: a channel that moves by less stands still
GOOD_FIT = 0.9  # r² from which points are called a line
FAR_OUT = 3.5  # modified z-score of an outlier (B. Iglewicz, D. C. Hoaglin, How to Detect and Handle Outliers, 1993,
TO_SIGMA = 1.4826  # from memory), and from a median deviation to a standard one in a normal distribution


class StraightLine(NamedTuple):
    """A line through points by least squares."""

    slope: float
    offset: float
    r2: float
    scatter: float  # standard deviation of the points about it, with n - 2


def straight_line(x, y, least=0.0):
    """The line through points; NaN throughout with fewer than three, or where x spans no more than `least`.

    Examples
    --------
    >>> line = straight_line([0, 1, 2, 3], [1, 3, 5, 7])
    >>> round(line.slope, 12), round(line.offset, 12), round(line.r2, 12)
    (2.0, 1.0, 1.0)
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    is_there = np.isfinite(x) & np.isfinite(y)
    x, y = x[is_there], y[is_there]
    if len(x) < 3 or not np.ptp(x) > least:
        return StraightLine(*[np.nan] * 4)
    dx, dy = x - x.mean(), y - y.mean()
    slope = float(dx @ dy / (dx @ dx))
    left, whole = float(((dy - slope * dx) ** 2).sum()), float(dy @ dy)
    r2 = 1 - left / whole if whole else np.nan
    return StraightLine(slope, float(y.mean() - slope * x.mean()), r2, (left / (len(x) - 2)) ** 0.5)


def fault_of(readings, i, predicted, line, least):
    """Why channel `i` can't be assessed, in words; "" where it can.

    Parameters
    ----------
    readings : StrainReadings
    predicted : ndarray, shape (n_rows,)
        µm/m.
    line : StraightLine
        Measured over predicted.
    least : float
        What counts as a strain that must be seen, µm/m.
    """
    strain, loaded = readings.strain[:, i], readings.loaded
    raw = readings.raw[np.isfinite(readings.raw[:, i]), i]
    if not np.isfinite(strain[loaded]).any():
        return "dead: no readings under load, or none before it"
    if np.ptp(raw) < STILL and np.ptp(predicted) >= max(least, 2 * STILL):
        return f"dead: it moves by {np.ptp(raw):.2g} µm/m, where {np.abs(predicted).max():.3g} are predicted"
    under = np.where(loaded, strain, np.nan)
    extreme = under[np.nanargmax(np.abs(under))]
    at_end = np.flatnonzero(np.abs(under - extreme) < STILL / 10)
    if np.ptp(predicted[at_end]) > max(least, 0.1 * np.ptp(predicted)):
        since = f"{100 * np.abs(readings.load[at_end]).min():g} % of the load"
        asked = "is it the amplifier, or does steel give way?"
        return f"saturated: it stands at {extreme:.4g} µm/m from {since} on; {asked}"
    if line.slope < 0 and line.r2 > GOOD_FIT and abs(line.slope + 1) < 0.5:
        return f"wrong sign: slope {line.slope:.2f} with r² {line.r2:.3f}; are leads, direction or face mistaken?"
    return _drift(readings, strain, predicted, least)


def _drift(readings, strain, predicted, least):
    """Whether a channel moves steadily with time, and did so before the load came: what yields does not."""
    is_there, time = np.isfinite(strain), readings.time - readings.time[0]
    before = np.flatnonzero(readings.before & is_there)
    if len(before) < 2 or is_there.sum() < 5:
        return ""
    columns = np.column_stack([predicted, time, np.ones(len(time))])[is_there]
    slope, rate, _ = np.linalg.lstsq(columns, strain[is_there], rcond=None)[0]
    moved, early = rate * np.ptp(time[is_there]), strain[before[-1]] - strain[before[0]]
    if abs(moved) <= least or abs(early) < STILL or early * moved < 0:
        return ""
    return (
        f"drifts: its zero moved by {early:.3g} µm/m before the load and by {moved:.3g} over the test; "
        f"with that taken out its slope is {slope:.2f}"
    )


def swapped(measured, predicted, allowed):
    """Which channel, if one, each has perhaps been swapped with, (n,), else -1: either reads what the other should."""
    fits = np.abs(measured[:, None] - predicted) <= allowed  # i reads what is predicted for j
    own = np.diag(fits)
    is_pair = fits & fits.T & ~own[:, None] & ~own
    return np.where(is_pair.sum(axis=1) == 1, is_pair.argmax(axis=1), -1)


def outliers(slopes, least):
    """Which slopes stand far from the others', and further than `least`; none among fewer than five."""
    if np.isfinite(slopes).sum() < 5:
        return np.zeros(len(slopes), dtype=bool)
    away = np.abs(slopes - np.nanmedian(slopes))
    return away > max(FAR_OUT * TO_SIGMA * np.nanmedian(away), least)


def missing_words(readings, i):
    """Where a channel has no reading, in words; "" where it has one at every load and after it."""
    missing = readings.load[readings.loaded & ~np.isfinite(readings.strain[:, i])]
    words = [f"at {100 * share:g} %" for share in dict.fromkeys(missing)] + ["after the load"] * bool(
        np.isnan(readings.residual[i])
    )
    return f"no reading {listed(words)}" if words else ""

"""What a mean stress takes off the amplitude a plain part endures, and the one range that does the damage of many.

Textbook rules (values from memory) for plain parts; welds carry locked-in stress, and their curves know no mean.
"""

import numpy as np

from ...errors import ModelError, nearest_name
from ...model.values import bad_number, refuse

__all__ = ["equal_damage_range", "equivalent_amplitude", "mean_stress_use"]

MEAN_RULES = {"Goodman": 1, "Gerber": 2, "Soderberg": 1}  # power of mean over strength


def mean_stress_use(amplitude, mean, endurance, strength, rule="Goodman"):
    """What a stress amplitude about a mean uses of what is endured, 1 at the limit.

    Parameters
    ----------
    amplitude, mean, endurance : array_like
        Endured is the amplitude about a mean of 0, MPa.
    strength : array_like
        Ultimate strength for Goodman and Gerber, yield strength for Soderberg, MPa.
    rule : {"Goodman", "Gerber", "Soderberg"}
        A mean in compression is taken as 0.

    Examples
    --------
    >>> mean_stress_use(80, [120, 120], 200, [410, 275]).round(4)          # Goodman; with yield strength Soderberg
    array([0.6927, 0.8364])
    """
    kept = _kept(amplitude, mean, strength, rule)
    _refuse(" above 0", endurance=endurance)
    return np.abs(amplitude) / np.asarray(endurance, dtype=float) + 1 - kept


def equivalent_amplitude(amplitude, mean, strength, rule="Goodman"):
    """The amplitude about a mean of 0 that does as much harm, MPa; ``inf`` at the strength. See `mean_stress_use`."""
    kept = _kept(amplitude, mean, strength, rule)
    with np.errstate(divide="ignore"):
        return np.where(kept > 0, np.abs(amplitude) / np.maximum(kept, 0.0), np.inf)


def equal_damage_range(ranges, counts, slope=3.0):
    """The one range that, as often as all together, does the same damage on a line of one slope, MPa.

    Examples
    --------
    >>> round(equal_damage_range([100, 60, 40], [2e5, 1e6, 5e6]), 3)
    49.147
    """
    _refuse("", ranges=ranges)
    _refuse(" of at least 0", counts=counts)
    _refuse(" above 0", slope=slope)
    refuse("" if np.shape(ranges) == np.shape(counts) else "ranges and counts: there must be as many of both.")
    counts = np.atleast_1d(counts)
    if not counts.any():
        return 0.0
    return float((counts @ np.abs(np.atleast_1d(ranges)) ** slope / counts.sum()) ** (1 / slope))


def _kept(amplitude, mean, strength, rule):
    if rule not in MEAN_RULES:
        raise ModelError(f'there is no rule "{rule}" for mean stress. {nearest_name(rule, MEAN_RULES)[1]}')
    _refuse("", amplitude=amplitude, mean=mean)
    _refuse(" above 0", strength=strength)
    return 1 - (np.maximum(mean, 0.0) / np.asarray(strength, dtype=float)) ** MEAN_RULES[rule]


def _refuse(rule, **given):
    refuse(*(bad_number("mean stress and ranges", name, each, "", rule, many="value") for name, each in given.items()))

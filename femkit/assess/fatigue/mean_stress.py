"""What a mean stress takes off the amplitude a plain part endures, and the one range that does the damage of many.

Textbook rules (values from memory) for plain parts; welds carry locked-in stress, and their curves know no mean.
"""

import numpy as np

from ...errors import ModelError, nearest_name

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
    return np.abs(amplitude) / np.asarray(endurance, dtype=float) + 1 - _kept(mean, strength, rule)


def equivalent_amplitude(amplitude, mean, strength, rule="Goodman"):
    """The amplitude about a mean of 0 that does as much harm, MPa; ``inf`` at the strength. See `mean_stress_use`."""
    kept = _kept(mean, strength, rule)
    with np.errstate(divide="ignore"):
        return np.where(kept > 0, np.abs(amplitude) / np.maximum(kept, 0.0), np.inf)


def equal_damage_range(ranges, counts, slope=3.0):
    """The one range that, as often as all together, does the same damage on a line of one slope, MPa.

    Examples
    --------
    >>> round(equal_damage_range([100, 60, 40], [2e5, 1e6, 5e6]), 3)
    49.147
    """
    counts = np.asarray(counts, dtype=float)
    return float((counts @ np.abs(ranges) ** slope / counts.sum()) ** (1 / slope))


def _kept(mean, strength, rule):
    if rule not in MEAN_RULES:
        raise ModelError(f'there is no rule "{rule}" for mean stress. {nearest_name(rule, MEAN_RULES)[1]}')
    return 1 - (np.maximum(mean, 0.0) / np.asarray(strength, dtype=float)) ** MEAN_RULES[rule]

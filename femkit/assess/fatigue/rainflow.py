"""Which cycles are in a history of stress: rainflow counting as ASTM E1049-85 (2017), 5.4.4, has it."""

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from ...errors import ModelError
from ...model.values import as_numbers

__all__ = ["Counted", "rainflow"]


class Counted(NamedTuple):
    """Cycles of a history: indices of the two values that each is between, their range and mean, and 1 or 0.5."""

    first: np.ndarray
    second: np.ndarray
    range: np.ndarray
    mean: np.ndarray
    count: np.ndarray


def rainflow(history):
    """Cycles and half cycles of a history, in the order in which they are found.

    What is left at its end counts as half cycles. A history that repeats without end is to begin and end at its largest
    peak or lowest valley; half cycles then pair up.

    Parameters
    ----------
    history : array_like, shape (n,)
        Of stress or of anything else.

    Returns
    -------
    counted : Counted

    Raises
    ------
    ModelError
        If the history is not a row of finite numbers.

    Examples
    --------
    >>> rainflow([-2, 1, -3, 5, -1, 3, -4, 4, -2]).range          # the standard's own example
    array([3., 4., 4., 8., 9., 8., 6.])
    """
    values = as_numbers(history)
    if values is None or values.ndim != 1 or not np.isfinite(values).all():
        raise ModelError("rainflow: the history must be a row of finite numbers.")
    open_, found = [], []  # indices of reversals not yet used up; first, second, count
    for here in _reversals(values):
        open_.append(here)
        while len(open_) > 2:
            a, b, c = open_[-3:]
            if abs(values[c] - values[b]) < abs(values[b] - values[a]):  # X < Y
                break
            if len(open_) == 3:  # Y holds the starting point
                found.append((a, b, 0.5))
                open_.pop(0)
            else:
                found.append((a, b, 1.0))
                del open_[-3:-1]
    found += [(a, b, 0.5) for a, b in pairwise(open_)]
    first, second, count = np.array(found, dtype=float).reshape(-1, 3).T
    first, second = first.astype(int), second.astype(int)
    pair = values[first], values[second]
    return Counted(first, second, np.abs(pair[1] - pair[0]), (pair[0] + pair[1]) / 2, count)


def _reversals(values):
    """Indices of first and last value and of every peak and valley between, as a list; none of a flat history."""
    kept = np.append(0, np.flatnonzero(np.diff(values)) + 1) if len(values) else np.empty(0, dtype=int)
    if len(kept) < 2:  # nothing ever changes
        return []
    rises = np.diff(values[kept]) > 0
    return kept[np.concatenate([[True], rises[1:] != rises[:-1], [True]])].tolist()

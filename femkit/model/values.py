"""Small checks that return nothing or raise one sentence with the name, the value, its unit and what would be right."""

import numpy as np

from ..errors import ModelError

COMPONENTS = ("ux", "uy", "uz", "rx", "ry", "rz")
FORCES = ("fx", "fy", "fz", "mx", "my", "mz")


def finite(who, field, value, unit, *, above=None, least=None, below=None):
    """Refuse a value that is not a finite number in its range."""
    try:
        numbers = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        raise ModelError(f"{who}: {field} is {value!r}; it must be a number.") from None
    limits = [
        (above, "above", np.greater),
        (least, "of at least", np.greater_equal),
        (below, "below", np.less),
    ]
    is_good = np.isfinite(numbers)
    for limit, _word, holds in limits:
        if limit is not None:
            is_good = is_good & holds(numbers, limit)
    if not np.all(is_good):
        rule = " and ".join(f"{word} {limit:g}" for limit, word, _holds in limits if limit is not None)
        first = numbers if numbers.ndim == 0 else numbers[~is_good][0]
        where = "" if numbers.ndim == 0 else f" at its cell {int(np.argmin(is_good))}"
        raise ModelError(
            f"{who}: {field} is {f'{first:g} {unit}'.strip()}{where}; "
            f"it must be a finite number{' ' + rule if rule else ''}."
        )


def direction(who, field, vector):
    """A unit vector from three numbers, refused where it has no length."""
    values = np.asarray(vector, dtype=float)
    if values.shape != (3,) or not np.isfinite(values).all() or not values.any():
        raise ModelError(f"{who}: {field} is {vector!r}; it must be three finite numbers, not all 0.")
    return tuple(float(v) for v in values / np.linalg.norm(values))

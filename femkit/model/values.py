"""Small checks that raise one sentence with the name, the value, its unit and what would be right."""

import numpy as np

from ..errors import ModelError

COMPONENTS = ("ux", "uy", "uz", "rx", "ry", "rz")
FORCES = ("fx", "fy", "fz", "mx", "my", "mz")


def finite(who, field, value, unit, *, above=None, least=None, below=None, shape=()):
    """Refuse a value that is not a finite number in its range.

    Parameters
    ----------
    who, field, unit : str
        For the sentence: ``'material "S235"'``, ``"E"``, ``"MPa"``.
    value : float or array_like
    above, least, below : float, optional
        Limits; `least` is allowed itself.
    shape : tuple or None
        What shape the value must have; None allows one number or a list of them.
    """
    limits = [(above, "above", np.greater), (least, "of at least", np.greater_equal), (below, "below", np.less)]
    limits = [limit for limit in limits if limit[0] is not None]
    rule = " ".join(["finite number", " and ".join(f"{word} {limit:g}" for limit, word, _holds in limits)]).strip()
    one = f"three finite numbers{f', {unit}' if unit else ''}" if shape == (3,) else f"a {rule}"
    numbers = as_numbers(value)
    if numbers is None or (shape is not None and numbers.shape != shape) or numbers.ndim > 1:
        raise ModelError(f"{who}: {field} is {_shortened(value)}; it must be {one}.")
    is_good = np.isfinite(numbers)
    for limit, _word, holds in limits:
        is_good = is_good & holds(numbers, limit)
    if np.all(is_good):
        return
    if shape == (3,):
        raise ModelError(f"{who}: {field} is {_shortened(value)}; it must be {one}.")
    first = numbers if numbers.ndim == 0 else numbers[~is_good][0]
    where = "" if numbers.ndim == 0 else f" at its cell {int(np.argmin(is_good))} (of {len(numbers)}, counted from 0)"
    said = f"{first:.1f}" if first == 0 else f"{first:g}"
    raise ModelError(f"{who}: {field} is {f'{said} {unit}'.strip()}{where}; it must be a {rule}.")


def direction(who, field, vector):
    """A unit vector from three numbers, refused where it has no length."""
    values = as_numbers(vector)
    if values is None or values.shape != (3,) or not np.isfinite(values).all() or not values.any():
        raise ModelError(f"{who}: {field} is {_shortened(vector)}; it must be three finite numbers, not all 0.")
    return tuple(float(v) for v in values / np.linalg.norm(values))


def own_selection(where):
    """A selection that nobody can change any more: index arrays are copied and made read-only."""
    if not isinstance(where, (list, tuple, np.ndarray)):
        return where
    try:
        indices = np.array(where)
    except ValueError:
        raise ModelError(
            f"a selection is {_shortened(where)}, with rows of different length; it must be a set's name, a place, "
            "a row of indices, or pairs of them for edges."
        ) from None
    if indices.dtype.kind not in "iub":
        return where
    indices.setflags(write=False)
    return indices


def sequence_of(who, values, kind):
    """A tuple of things of one kind (or of several: ``A | B``), from one or a sequence; anything else is refused."""
    if isinstance(values, kind):
        return (values,)
    words = " or ".join(one.__name__ for one in getattr(kind, "__args__", (kind,)))
    if not isinstance(values, (list, tuple)):
        raise ModelError(f"{who}: {_shortened(values)} is not a list of {words}.")
    wrong = [value for value in values if not isinstance(value, kind)]
    raise_all([ModelError(f"{who}: {_shortened(value)} can't stand there; it must be a {words}.") for value in wrong])
    return tuple(values)


def named(who, name):
    """Refuse a name that is no text, or an empty one."""
    if not isinstance(name, str) or not name.strip():
        raise ModelError(f"{who}: its name is {_shortened(name)}; it must be a text that is not empty.")


def collect(*calls):
    """The `ModelError` of each call that raises one."""
    faults = []
    for call in calls:
        try:
            call()
        except ModelError as fault:
            faults.append(fault)
    return faults


def raise_all(faults):
    """Raise what was collected, if anything: a single fault as it is, several in one message, a line each."""
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise ModelError("\n".join(map(str, faults)))


def as_numbers(value):
    """A copy as an array of floats; None for what is not numbers, truth values and numbers in quotes among it."""
    try:
        numbers = np.asarray(value)
    except ValueError:
        return None
    return numbers.astype(float) if numbers.dtype.kind in "iuf" else None


def _shortened(value):
    text = repr(value)
    return text if len(text) <= 80 else f"{text[:77]}…"

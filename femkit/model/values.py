"""Values as they come in: what is wrong with one, in a sentence with name, value, unit and rule; and their content.

Checks named ``bad_…`` return that sentence, or nothing; `refuse` raises all that were found together.
"""

from hashlib import sha256

import numpy as np

from ..errors import ModelError

COMPONENTS = ("ux", "uy", "uz", "rx", "ry", "rz")
FORCES = ("fx", "fy", "fz", "mx", "my", "mz")
RULES = {  # what may be asked of a number besides being finite
    "": np.isfinite,
    " above 0": lambda x: x > 0,
    " of at least 0": lambda x: x >= 0,
    " above 0 and at most 1": lambda x: (x > 0) & (x <= 1),
    " above -1 and below 0.5": lambda x: (x > -1) & (x < 0.5),
}


def bad_number(who, field, value, unit="", rule="", *, many=""):
    """What is wrong with a finite number under one of the `RULES`; `who` is ``'plate "web"'``.

    `many` says what there may be a row of numbers for: ``"cell"``.
    """
    numbers, right = as_numbers(value), f"it must be a finite number{rule}."
    if numbers is None or numbers.ndim > bool(many):
        return f"{who}: {field} is {shortened(value)}; {right}"
    is_good = np.isfinite(numbers) & RULES[rule](numbers)
    if np.all(is_good):
        return ""
    first = int(np.argmin(is_good))
    said = f"{numbers.flat[first]:g}" if numbers.flat[first] else "0.0"
    where = f" at its {many} {first} (of {len(numbers)}, counted from 0)" if numbers.ndim else ""
    return f"{who}: {field} is {f'{said} {unit}'.strip()}{where}; {right}"


def bad_vector(who, field, value, *, may_be_0=True):
    """What is wrong with three finite numbers."""
    numbers = as_numbers(value)
    if numbers is not None and numbers.shape == (3,) and np.isfinite(numbers).all() and (may_be_0 or numbers.any()):
        return ""
    return f"{who}: {field} is {shortened(value)}; it must be three finite numbers{'' if may_be_0 else ', not all 0'}."


def bad_name(who, name):
    """What is wrong with a name."""
    is_text = isinstance(name, str) and name.strip()
    return "" if is_text else f"{who}: its name is {shortened(name)}; it must be a text that is not empty."


def refuse(*faults):
    """Raise what is wrong, if anything is: one error as it is, several (or sentences) in one message, a line each."""
    faults = [fault for fault in faults if fault]
    if len(faults) == 1 and isinstance(faults[0], ModelError):
        raise faults[0]
    if faults:
        raise ModelError("\n".join(map(str, faults)))


def sequence_of(who, values, kind):
    """A tuple of things of one kind, from one or a sequence; anything else is refused."""
    values = tuple(values) if isinstance(values, (list, tuple)) else (values,)
    wrong = [value for value in values if not isinstance(value, kind)]
    kinds = " or ".join(each.__name__ for each in (kind if isinstance(kind, tuple) else (kind,)))
    refuse(*(f"{who}: {shortened(value)} can't stand there; it must be a {kinds}." for value in wrong))
    return values


def as_numbers(value):
    """A copy as an array of floats; None for what is not numbers, truth values and numbers in quotes among it."""
    try:
        numbers = np.asarray(value)
    except ValueError:
        return None
    return numbers.astype(float) if numbers.dtype.kind in "iuf" else None


def content(thing):
    """Nested things as text, the same for the same values, in any process, order of a dict or kind of sequence."""
    if isinstance(thing, dict):
        return "{" + ",".join(f"{key!r}:{content(thing[key])}" for key in sorted(thing)) + "}"
    if isinstance(thing, (str, bool, type(None))):
        return repr(thing)
    numbers = as_numbers(thing)
    if numbers is not None:  # exact for indices up to 2**53; adding 0.0 makes -0.0 the same as 0.0
        return f"{numbers.shape}{sha256(np.ascontiguousarray(numbers + 0.0).tobytes()).hexdigest()}"
    if isinstance(thing, (tuple, list, np.ndarray)):
        return "(" + ",".join(map(content, thing)) + ")"
    return f"{type(thing).__name__}{content(vars(thing))}"


def place_words(point, grain=0.0, *, digits=None):
    """``(1, 2.5, 0)``; what is below the grain (mm) is said as 0, and no more digits behind the point than wished."""
    numbers = point if digits is None else np.round(point, digits)
    return "(" + ", ".join(f"{0.0 if abs(x) < grain else x + 0.0:.6g}" for x in numbers) + ")"


def each_of(values):
    """A tuple of what can be gone through, such as the keys of a dict; a text, or one thing, as it is."""
    return tuple(values) if np.iterable(values) and not isinstance(values, str) else values


def span_words(values):
    """``3``, or the least and the largest of a row: ``2.5 … 3``."""
    low, high = np.min(values), np.max(values)
    return f"{low:g}" if low == high else f"{low:.4g} … {high:.4g}"


def listed(words):
    """``a, b and c``."""
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def shortened(value):
    """How a value is written, cut off after 80 letters."""
    text = repr(value)
    return text if len(text) <= 80 else f"{text[:77]}…"

"""What a model is made of, as text that depends on content alone: same content, same text, in any process."""

from dataclasses import fields, is_dataclass
from hashlib import sha256

import numpy as np

from .values import as_numbers

__all__ = ["content"]


def content(thing):
    """A nested dataclass, dict, sequence, array or number as text.

    ``0`` and ``0.0``, a list and an array of the same numbers, and a dict in another order are the same content.

    Examples
    --------
    >>> content({"a": [1, 2.5], "b": None}) == content({"b": None, "a": np.array([1.0, 2.5])})
    True
    """
    if isinstance(thing, dict):
        return "{" + ",".join(f"{key!r}:{content(thing[key])}" for key in sorted(thing)) + "}"
    if is_dataclass(thing):
        held = ",".join(f"{field.name}={content(getattr(thing, field.name))}" for field in fields(thing))
        return f"{type(thing).__name__}({held})"
    if isinstance(thing, (str, bool, type(None))):
        return repr(thing)
    numbers = as_numbers(thing)
    if numbers is not None:  # exact for indices up to 2**53; adding 0.0 makes -0.0 the same as 0.0
        return f"{numbers.shape}{sha256(np.ascontiguousarray(numbers + 0.0).tobytes()).hexdigest()}"
    if isinstance(thing, np.ndarray):
        return content(thing.tolist())
    if isinstance(thing, (tuple, list)):
        return "(" + ",".join(map(content, thing)) + ")"
    return f"{type(thing).__name__}{content(vars(thing))}"

"""Every error the kit raises, and when.

::

    FemkitError
    ├─ MeshError      (also a ValueError)    a mesh that can't be used
    │  ├─ MeshReadError                      a file that can't be read
    │  └─ MeshQualityError                   cells too distorted to trust
    ├─ ModelError     (also a ValueError)    a model that can't be solved as it stands
    │  ├─ UnderSupportedError  .motion       it can still move as a rigid body
    │  └─ UnknownSetError      .name .nearest
    ├─ SolveError     (also a RuntimeError)  a solve that did not prove itself
    │  ├─ MechanismError       .motion       a part can move without strain
    │  ├─ UnbalancedError      .residual
    │  └─ NotConvergedError    .found
    └─ RecordError    (also an OSError)      a result or record that can't be written or read
"""

from difflib import get_close_matches

__all__ = [
    "FemkitError",
    "FemkitWarning",
    "MechanismError",
    "MeshError",
    "MeshQualityError",
    "MeshReadError",
    "ModelError",
    "NotConvergedError",
    "RecordError",
    "SolveError",
    "UnbalancedError",
    "UnderSupportedError",
    "UnknownSetError",
    "nearest_name",
]


class FemkitError(Exception):
    """The root of all errors of the kit: catch this one to catch them all."""


class FemkitWarning(UserWarning):
    """Something the user should act on, though the numbers could be computed."""


class MeshError(FemkitError, ValueError):
    """A mesh that can't be used: points, cells or sets do not fit together."""


class MeshReadError(MeshError):
    """A mesh file that is missing, empty, cut off, foreign or damaged."""


class MeshQualityError(MeshError):
    """Cells too distorted to trust: no area, turned inside out, folded."""


class ModelError(FemkitError, ValueError):
    """A model that can't be solved as it stands; found before any solving."""


class UnderSupportedError(ModelError):
    """The model can still move without strain. `motion` (n_points, 6) is that motion, ready to be drawn."""

    def __init__(self, message, motion=None):
        super().__init__(message)
        self.motion = motion


class UnknownSetError(ModelError):
    """A set of that `name` does not exist; `nearest` is the likeliest meant, or None."""

    def __init__(self, message, name=None, nearest=None):
        super().__init__(message)
        self.name, self.nearest = name, nearest


class SolveError(FemkitError, RuntimeError):
    """The solver failed, or the solution did not prove itself."""


class MechanismError(SolveError):
    """A part can move without strain, or nearly so, within a model that is supported as a whole.

    `motion` (n_points, 6) is that motion, ready to be drawn.
    """

    def __init__(self, message, motion=None):
        super().__init__(message)
        self.motion = motion


class UnbalancedError(SolveError):
    """Loads and reactions do not balance. `residual` is what is left over."""

    def __init__(self, message, residual=None):
        super().__init__(message)
        self.residual = residual


class NotConvergedError(SolveError):
    """An iteration gave up. `found` is what it had found by then."""

    def __init__(self, message, found=None):
        super().__init__(message)
        self.found = found


class RecordError(FemkitError, OSError):
    """A result or record that can't be written or read."""


def nearest_name(name, names):
    """The likeliest name meant by a mistyped one, as the end of a sentence.

    Parameters
    ----------
    name : str
    names : iterable of str

    Returns
    -------
    nearest : str or None
    advice : str
        ``Did you mean "…"?``, or the list of what there is.

    Examples
    --------
    >>> nearest_name("bolster-rare", ["bolster-rear", "floor-line"])
    ('bolster-rear', 'Did you mean "bolster-rear"?')
    """
    names = sorted(map(str, names))
    close = get_close_matches(str(name), names, n=1, cutoff=0.6)
    if close:
        return close[0], f'Did you mean "{close[0]}"?'
    return None, f"There are: {', '.join(names)}." if names else "There are none."

"""What becomes of one variant: its model made, known again or solved, and measured, in whatever process."""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from traceback import extract_tb

import numpy as np

from ...errors import FemkitError, ModelError
from ...model.model import Model
from .fingerprint import fingerprint_of, is_installed, kit_fingerprint

__all__ = ["Outcome", "Task", "failed", "outcome_of", "sendable"]


@dataclass(frozen=True, eq=False)
class Outcome:
    """What became of one variant.

    Attributes
    ----------
    parameters : dict of str to value
    values : dict of str to float
        By quantity; empty where the variant failed.
    error : str
        Why it failed, in one line; empty where it did not.
    notes : tuple of str
        What the result said of itself, as that linear theory has left its ground.
    key : str
        Of the model and of the code that solves and measures it: the name of its files.
    is_kept : bool
        Whether it was taken from the folder instead of being solved anew.
    """

    parameters: dict
    values: dict
    _: KW_ONLY
    error: str = ""
    notes: tuple = ()
    key: str = ""
    is_kept: bool = False


@dataclass(frozen=True, eq=False)
class Task:
    """What is done with every variant."""

    model_of: object
    solve: object
    quantities: object
    variants: list  # of dict of argument to value
    kept: frozenset  # keys of what has been measured before
    folder: str  # for fields; empty where none are asked for

    @cached_property
    def measure(self):
        """Fingerprint of how models are solved and measured, found where it is done and with the code that is there."""
        return fingerprint_of(kit_fingerprint(), self.solve, self.quantities)

    def outcome(self, i):
        """One variant, solved unless it is kept; without parameters, nor values if kept, which the caller has."""
        try:
            model = self.model_of(**self.variants[i])
            if not isinstance(model, Model):
                raise ModelError(f"the function gives {model!r:.80}; it must give a Model.")
            key = f"{self.measure}-{model.fingerprint}"
            file = Path(self.folder, f"{key}.vtu") if self.folder else None
            if key in self.kept and (file is None or file.exists()):
                return Outcome({}, {}, key=key, is_kept=True)
            result = self.solve(model)
            values = _numbers(self.quantities, result)
            if file is not None:
                result.write(file)
            return Outcome({}, values, key=key, notes=tuple(getattr(result, "notes", ())))
        except Exception as error:  # the user's functions may raise anything, and the other variants go on
            return failed(error)


def _numbers(quantities, result):
    values = quantities(result) if callable(quantities) else {name: of(result) for name, of in quantities.items()}
    for name, value in values.items():
        if np.ndim(value) or not isinstance(value, (int, float, np.number)):
            raise ModelError(f'quantity "{name}" gives {value!r:.80}; it must give one number.')
    return {name: float(value) for name, value in values.items()}


def failed(error):
    """The outcome of an error: its words in one line; if it is not the kit's, also its kind and the user's line."""
    words = " ".join(str(error).split())
    if isinstance(error, FemkitError):
        return Outcome({}, {}, error=words)
    places = [at for at in extract_tb(error.__traceback__) if not is_installed(at.filename)]
    where = f" ({places[-1].name}, line {places[-1].lineno})" if places else ""
    return Outcome({}, {}, error=f"{type(error).__name__}: {words}{where}")


def sendable(task):
    """A task as bytes, functions of a notebook's cells included, which Python's own pickle can't send."""
    import cloudpickle

    try:
        return cloudpickle.dumps(task)
    except Exception as error:  # whatever an object's own way of being sent raises
        raise ModelError(
            f"sweep: what is given can't be sent to another process ({error}); let the functions make or read it."
        ) from error


@lru_cache(maxsize=1)
def _loaded(payload):
    """Once a process, so that what a mesh has found out about itself serves all its variants."""
    import cloudpickle

    return cloudpickle.loads(payload)


def outcome_of(payload, i):
    """One variant of a task that was sent."""
    return _loaded(payload).outcome(i)

"""Load cases, and sums of load cases with factors."""

from dataclasses import KW_ONLY, dataclass

from ..errors import ModelError
from .support import Support
from .values import finite, named, raise_all, sequence_of

__all__ = ["Combination", "LoadCase"]


@dataclass(frozen=True, eq=False)
class LoadCase:
    """Loads that act together, without factors.

    Parameters
    ----------
    name : str
    loads : sequence
        Gravity, LineLoad, Pressure, …; empty where the supports prescribe displacements and nothing else acts.
    supports : sequence of Support, optional
        Instead of the model's own, where this case stands on something else (jacks, slings).

    Raises
    ------
    ModelError
        If something is no load, or no support.
    """

    name: str
    loads: tuple
    _: KW_ONLY
    supports: tuple | None = None

    def __post_init__(self):
        named("load case", self.name)
        loads = tuple(self.loads) if isinstance(self.loads, (list, tuple)) else (self.loads,)
        wrong = [load for load in loads if not hasattr(load, "point_forces")]
        raise_all([ModelError(f'load case "{self.name}": {_what_it_is(thing)}') for thing in wrong])
        object.__setattr__(self, "loads", loads)
        if self.supports is not None:
            supports = sequence_of(f'load case "{self.name}": supports', self.supports, Support)
            object.__setattr__(self, "supports", supports)


@dataclass(frozen=True, eq=False)
class Combination:
    """A sum of load cases times factors.

    All its load cases must stand on the same supports. Prescribed displacements are factored like loads.

    Parameters
    ----------
    name : str
    factors : dict of str to float
        Load case to factor.

    Raises
    ------
    ModelError
        If there is no factor, or one is not finite.
    """

    name: str
    factors: dict

    def __post_init__(self):
        named("combination", self.name)
        who = f'combination "{self.name}"'
        if not isinstance(self.factors, dict):
            raise ModelError(f'{who}: factors are {self.factors!r}; they must be a dict, such as {{"tare": 1.3}}.')
        if not self.factors:
            raise ModelError(f"{who} holds no load case; it must hold at least one.")
        for case, factor in self.factors.items():
            finite(who, f'factor of "{case}"', factor, "")
        object.__setattr__(self, "factors", dict(self.factors))


def _what_it_is(thing):
    if hasattr(thing, "point_masses"):
        return f"{thing} is a mass, not a load; give it to Model(..., masses=[...]) and let Gravity() act on it."
    return f"{thing!r} is not a load; it must be one of Gravity, PointLoad, LineLoad, SpreadLoad, Pressure, …"

"""Load cases, and sums of load cases with factors."""

from dataclasses import KW_ONLY, dataclass

from ..errors import ModelError
from .values import finite

__all__ = ["Combination", "LoadCase"]


@dataclass(frozen=True, eq=False)
class LoadCase:
    """Loads that act together, without factors.

    Parameters
    ----------
    name : str
    loads : sequence
        Gravity, LineLoad, Pressure, …
    supports : sequence of Support, optional
        Instead of the model's own, where this case stands on something else (jacks, slings).
    """

    name: str
    loads: tuple
    _: KW_ONLY
    supports: tuple | None = None

    def __post_init__(self):
        loads = tuple(self.loads) if isinstance(self.loads, (list, tuple)) else (self.loads,)
        wrong = [load for load in loads if not hasattr(load, "point_forces")]
        if wrong:
            raise ModelError(f'load case "{self.name}": {wrong[0]!r} is not a load.')
        object.__setattr__(self, "loads", loads)
        if self.supports is not None:
            object.__setattr__(self, "supports", tuple(self.supports))


@dataclass(frozen=True, eq=False)
class Combination:
    """A sum of load cases times factors.

    Parameters
    ----------
    name : str
    factors : dict of str to float
        Load case to factor.
    """

    name: str
    factors: dict

    def __post_init__(self):
        if not self.factors:
            raise ModelError(f'combination "{self.name}" holds no load case; it must hold at least one.')
        for case, factor in self.factors.items():
            finite(f'combination "{self.name}"', f'factor of "{case}"', factor, "")
        object.__setattr__(self, "factors", dict(self.factors))

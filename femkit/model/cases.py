"""Load cases, and sums of load cases with factors."""

from dataclasses import KW_ONLY, dataclass

from ..errors import ModelError
from .support import Support
from .values import bad_name, bad_number, refuse, sequence_of

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
    balanced : bool
        Balanced by the model's own inertia: where its supports leave the model free to move as a whole, it is
        accelerated, and the inertia of its masses acts besides the loads. Give ``supports=[]`` for a free body, as a
        coach that is pushed at one end, or planes of symmetry for the half of one. The model is at rest when the loads
        begin to act; displacements are those against the mean motion of its mass.
    """

    name: str
    loads: tuple
    _: KW_ONLY
    supports: tuple | None = None
    balanced: bool = False

    def __post_init__(self):
        refuse(bad_name("load case", self.name))
        if not isinstance(self.balanced, bool):
            raise ModelError(f'load case "{self.name}": balanced is {self.balanced!r}; it must be True or False.')
        who = f'load case "{self.name}"'
        loads = tuple(self.loads) if isinstance(self.loads, (list, tuple)) else (self.loads,)
        advice = "it must be one of Gravity, PointLoad, LineLoad, …; masses go to Model(..., masses=[...])"
        refuse(*(f"{who}: {load!r} is not a load; {advice}." for load in loads if not hasattr(load, "point_forces")))
        object.__setattr__(self, "loads", loads)
        if self.supports is not None:
            object.__setattr__(self, "supports", sequence_of(f"{who}: supports", self.supports, Support))


@dataclass(frozen=True, eq=False)
class Combination:
    """A sum of load cases times factors.

    All its load cases must stand on the same supports. Prescribed displacements are factored like loads.

    Parameters
    ----------
    name : str
    factors : dict of str to float
        Load case to factor.
    """

    name: str
    factors: dict

    def __post_init__(self):
        refuse(bad_name("combination", self.name))
        who = f'combination "{self.name}"'
        if not isinstance(self.factors, dict) or not self.factors:
            raise ModelError(f'{who}: factors are {self.factors!r}; they must be a dict, such as {{"tare": 1.3}}.')
        refuse(*(bad_number(who, f'factor of "{case}"', factor) for case, factor in self.factors.items()))
        object.__setattr__(self, "factors", dict(self.factors))

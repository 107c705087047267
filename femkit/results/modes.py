"""Natural modes of a model: frequencies, shapes, and the mass that takes part in each."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError
from ..model.model import Model
from ..solve.matrix import NotPositiveError
from ..solve.modes import EigenSolution, solve_eigenmodes
from .buckling import buckled_already, loaded
from .static import StaticResult

__all__ = ["ModesResult", "solve_modes"]


def solve_modes(model, count=6, *, load=None, mass="consistent", supports=None, solver="auto"):
    """Lowest natural modes of a model on its supports, or free; with or without what a load's membrane forces add.

    Parameters
    ----------
    model : Model or StaticResult
        Its masses count, its loads do not, but for `load`. Where supports leave a rigid motion free, that is a mode
        at 0 Hz. A result that is at hand is not solved again.
    count : int
        How many, from the lowest.
    load : str, optional
        A load case or combination whose membrane forces stay while the model shakes: pull raises frequencies,
        compression lowers them, down to 0 where it buckles the model.
    mass : {"consistent", "lumped"}
        By the shape functions, or lumped at the points, which gives lower frequencies.
    supports : sequence of Support, optional
        Instead of the model's own; an empty one for the free body.
    solver : {"auto", "pardiso", "superlu"}

    Returns
    -------
    modes : ModesResult
        Proven by a count of inertia: none below the highest was missed.

    Raises
    ------
    ModelError
        If the model has faults or no mass, no such load case, or the load brings other supports.
    SolveError
        If the load buckles the model, with the factor at which; or if the modes do not prove themselves.
    """
    force = None
    if load is not None:
        if supports is not None:
            raise ModelError(f'supports can\'t be given beside load="{load}": modes stand on what the load stands on.')
        model, case = loaded(model, load, "a load on modes", solver)
        force, supports = case.carried, case.supports
    bare = model.model if isinstance(model, StaticResult) else model
    try:
        found = solve_eigenmodes(bare, count, mass=mass, carried=force, supports=supports, solver=solver)
    except NotPositiveError as error:
        raise buckled_already(model, load, solver) from error
    return ModesResult(bare, found, load=load)


@dataclass(frozen=True, eq=False)
class ModesResult:
    """Modes in ascending order of frequency.

    Attributes
    ----------
    model : Model
    solution : femkit.solve.modes.EigenSolution
    load : str or None
        The load case or combination they are under.
    """

    model: Model
    solution: EigenSolution
    _: KW_ONLY
    load: str | None = None

    @property
    def is_rigid(self):
        """Which modes are motions without strain of parts that nothing holds, shape (count,): the lowest ones."""
        return np.arange(len(self.solution.value)) < self.solution.n_rigid

    @property
    def frequency(self):
        """Natural frequencies, ascending, shape (count,), Hz; 0 for rigid motions."""
        return np.sqrt(np.where(self.is_rigid, 0.0, np.maximum(self.solution.value, 0.0))) / (2 * np.pi)

    @property
    def shape(self):
        """Mode shapes (count, n_points, 6), mm and rad at a modal mass of 1 tonne; plane stress has 0 behind ux uy."""
        shape = self.solution.shape
        return np.pad(shape, ((0, 0), (0, 0), (0, 6 - shape.shape[2])))

    def table(self):
        """Frequency, and the share of the whole mass that takes part along x, y and z, as a pandas table."""
        import pandas as pd

        share = self.solution.effective_mass / self.model.mass
        heads = ["frequency (Hz)", "mass along x", "mass along y", "mass along z", "residual"]
        rows = np.column_stack([self.frequency, share, self.solution.residual])
        table = pd.DataFrame(rows, columns=heads, index=pd.RangeIndex(1, len(rows) + 1, name="mode"))
        return table.assign(motion=np.where(self.is_rigid, "rigid", "elastic"))

    def effective_mass(self):
        """Mass that takes part in shifts along x, y and z, and its sums, as a pandas table.

        The sums are shares of the mass that can move in that direction (``solution.moving_mass``), and reach 1 with
        all modes: what stands on supports takes part in none.
        """
        import pandas as pd

        mass, moving = self.solution.effective_mass, self.solution.moving_mass
        sums = np.cumsum(mass, axis=0) / np.where(moving > 0, moving, np.inf)
        heads = [f"mass along {axis} (kg)" for axis in "xyz"] + [f"sum along {axis}" for axis in "xyz"]
        rows = np.column_stack([mass * 1e3, sums])
        return pd.DataFrame(rows, columns=heads, index=pd.RangeIndex(1, len(rows) + 1, name="mode"))

    def __repr__(self):
        under = f" under {self.load}" if self.load else ""
        return f"ModesResult{under}: {', '.join(f'{f:.4g}' for f in self.frequency)} Hz"

    def _repr_html_(self):
        return self.table().to_html(float_format="%.3g")

"""Natural modes of a model: frequencies, shapes, and the mass that takes part in each."""

from dataclasses import dataclass

import numpy as np

from ..model.model import Model
from ..solve.modes import EigenSolution, solve_eigenmodes

__all__ = ["ModesResult", "solve_modes"]


def solve_modes(model, count=6, *, supports=None, solver="auto"):
    """Lowest natural modes of a model on its supports, or free.

    Parameters
    ----------
    model : Model
        Its loads are left out, its masses are not. Where supports leave a rigid motion free, that is a mode at 0 Hz.
    count : int
        How many, from the lowest.
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
        If the model has faults or no mass.
    SolveError
        If the modes do not prove themselves.
    """
    return ModesResult(model, solve_eigenmodes(model, count, supports=supports, solver=solver))


@dataclass(frozen=True, eq=False)
class ModesResult:
    """Modes in ascending order of frequency.

    Attributes
    ----------
    model : Model
    solution : femkit.solve.modes.EigenSolution
    """

    model: Model
    solution: EigenSolution

    @property
    def frequency(self):
        """Natural frequencies, ascending, shape (count,), Hz; what rounding puts below 0 is 0."""
        return np.sqrt(np.maximum(self.solution.value, 0.0)) / (2 * np.pi)

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
        return pd.DataFrame(rows, columns=heads, index=pd.RangeIndex(1, len(rows) + 1, name="mode"))

    def __repr__(self):
        return f"ModesResult: {', '.join(f'{f:.4g}' for f in self.frequency)} Hz"

    def _repr_html_(self):
        return self.table().to_html(float_format="%.3g")

"""Linear buckling of a model under a load case: by which factor its loads may grow before a sheet gives way sideways.

A factor is for the ideal sheet: flat, elastic, without imperfection. Thin sheets carry more after buckling, curved ones
fail well before; which limit applies is the code's to say.
"""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError
from ..solve.buckling import BucklingSolution, solve_eigenbuckling
from .case import CaseResult
from .static import StaticResult, solve_static

__all__ = ["BucklingResult", "solve_buckling"]


def solve_buckling(model, name, count=4, *, solver="auto"):
    """Lowest buckling factors of a load case or combination.

    Parameters
    ----------
    model : Model or StaticResult
        A shell; a result that is at hand is not solved again.
    name : str
        Of the load case or combination, all of whose loads grow together.
    count : int
        How many factors, from the lowest positive one. Negative ones, of the load reversed, are left out.
    solver : {"auto", "pardiso", "superlu"}

    Returns
    -------
    buckled : BucklingResult
        Proven by a count of inertia: none below the highest was missed.

    Raises
    ------
    ModelError
        If the model can't be solved, has no such load case, or is not a shell.
    NotConvergedError
        If fewer factors are positive than asked for: too little is in compression.
    """
    result = model if isinstance(model, StaticResult) else solve_static(model, solver=solver)
    if result.model.behaviour != "shell":
        raise ModelError('buckling needs behaviour="shell"; a plane stress model has no displacement out of its plane.')
    case = result[name]
    supports = result.model.supports_of(result.model.case(next(iter(case.factors))))
    force = case.resultants[:, 1:, :3]
    return BucklingResult(case, solve_eigenbuckling(result.model, force, supports, count, solver=solver))


@dataclass(frozen=True, eq=False)
class BucklingResult:
    """Buckling factors in ascending order, with their shapes.

    Attributes
    ----------
    case : CaseResult
        The load case whose membrane forces buckle the model.
    solution : femkit.solve.buckling.BucklingSolution
    """

    case: CaseResult
    solution: BucklingSolution

    @property
    def model(self):
        """The model that was solved."""
        return self.case.model

    @property
    def factor(self):
        """Factors on the load case, positive, ascending, shape (count,)."""
        return self.solution.factor

    @property
    def shape(self):
        """Buckling shapes, shape (count, n_points, 6); largest displacement 1 mm."""
        return self.solution.shape

    def table(self):
        """Factor, and the plate and place that move most, as a pandas table."""
        import pandas as pd

        rows = []
        for factor, shape in zip(self.factor, self.shape):
            moved = np.linalg.norm(shape[:, :3], axis=1)
            point = int(moved.argmax())
            cell = int((self.model.mesh.corners == point).any(axis=1).argmax())
            place = "(" + ", ".join(f"{x:.0f}" for x in self.model.mesh.points[point]) + ")"
            rows.append((factor, self.model.plate_of_cell[cell], place))
        heads = ["factor", "plate", "moves most at (mm)"]
        return pd.DataFrame(rows, columns=heads, index=pd.RangeIndex(1, len(rows) + 1, name="buckle"))

    def __repr__(self):
        return f"BucklingResult {self.case.name}: factors {', '.join(f'{f:.4g}' for f in self.factor)}"

    def _repr_html_(self):
        return self.table().to_html(float_format="%.4g")

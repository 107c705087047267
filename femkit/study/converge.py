"""Is the mesh fine enough? One quantity over a ladder of meshes: its order, its limit, its band, and what has no limit.

Of three meshes with cells h₁ < h₂ < h₃ and values f₁, f₂, f₃ the order p follows from::

    (f₃ - f₂) / (f₂ - f₁) = (h₃ᵖ - h₂ᵖ) / (h₂ᵖ - h₁ᵖ)

the limit from L. F. Richardson's extrapolation, and the band from the grid convergence index (P. J. Roache,
*Perspective: a method for uniform reporting of grid refinement studies*, J. Fluids Eng. 116 (1994) 405-413)::

    limit = f₁ + (f₁ - f₂) / (rᵖ - 1)        band = F |f₁ - f₂| / (rᵖ - 1)        r = h₂ / h₁

with F = 1.25 where the order was observed, and 3 where it was assumed. In both formulas p is at most 2, the order of
the kit's cells: a higher one is chance, or not yet the last word.
"""

from dataclasses import KW_ONLY, dataclass
from enum import StrEnum
from html import escape

import numpy as np

from ..errors import FemkitError, ModelError
from ..results.static import solve_static

__all__ = ["Convergence", "Trend", "converge"]

CELLS_ORDER = 2.0  # of displacements, and of stress at best
LEAST_ORDER = 0.3  # a peak that grows as log(h) has order 0, and 0.25 was seen on coarse meshes: tests/study/
LEAST_GROWTH = 0.01  # of the value from mesh to mesh: a singular peak of order -0.05 grows by 3 % as cells are halved
ROUNDING = 1e-9  # of the value: what changes by less does not change
ORDERS = np.linspace(-10, 10, 2000)  # 0, where the formula is a limit, is not among them


class Trend(StrEnum):
    """What a ladder of meshes says of a quantity."""

    CONVERGES = "converges"
    BOTH_SIDES = "converges, from both sides (oscillating): band from spread"
    GROWS = (
        "grows without bound: a stress peak at a re-entrant corner / point load / bearing end has no limit; "
        "judge the averaged stress"
    )
    UNSETTLED = "does not settle: differences between meshes do not shrink; refine further, and alike everywhere"
    TOO_FEW = "too few meshes: three tell whether it converges"


@dataclass(frozen=True)
class Convergence:
    """A quantity on finer and finer meshes.

    Parameters
    ----------
    sizes : sequence of float
        Sizes of cell, mm, the coarsest first.
    values : sequence of float
    unknowns : sequence of int, optional
    assumed : float, optional
        The order to go by in place of the observed one.

    Raises
    ------
    ModelError
        If sizes are fewer than two, not above 0, or do not fall; if there is not one finite value for each.

    Examples
    --------
    >>> Convergence([4, 2, 1], [0.96178, 0.96854, 0.97050])
    Convergence: 3 meshes, 4 to 1 mm: converges; 0.9705 ± 0.001, limit 0.9713, order 1.79
    """

    sizes: tuple
    values: tuple
    _: KW_ONLY
    unknowns: tuple = ()
    assumed: float | None = None

    def __post_init__(self):
        for name in ("sizes", "values", "unknowns"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        _check(self.sizes, self.assumed)
        if len(self.values) != len(self.sizes) or not np.isfinite(self.values).all():
            raise ModelError(f"converge: values are {self.values}; there must be one finite number for each size.")

    @property
    def _steps(self):
        """The last two changes, the latest first; those within rounding are 0."""
        steps = np.diff(self.values)[::-1][:2]
        return np.where(np.abs(steps) > ROUNDING * np.abs(self.values).max(), steps, 0.0)

    @property
    def order(self):
        """Observed from the last three meshes: 2 is a fourth of the error for half the cell, below 0 is growth.

        NaN where there are fewer, or where the value moves to and fro or not at all.
        """
        steps = self._steps
        if len(steps) < 2 or not steps[0] * steps[1] > 0:
            return np.nan
        wide, narrow = -np.diff(np.log(self.sizes[-3:]))
        ratio = narrow * ORDERS + np.log(np.expm1(wide * ORDERS) / np.expm1(narrow * ORDERS))  # rises with the order
        return float(np.interp(np.log(steps[1] / steps[0]), ratio, ORDERS))

    @property
    def verdict(self):
        """What the ladder says: a `Trend`, whose text is for the user."""
        steps, order = np.abs(self._steps), self.order
        if len(steps) < 2:
            return Trend.TOO_FEW
        if order >= LEAST_ORDER or not steps.any():
            return Trend.CONVERGES
        if np.isnan(order):
            return Trend.BOTH_SIDES if steps[0] < steps[1] else Trend.UNSETTLED
        growth = np.diff(np.abs(self.values[-3:])).min()
        return Trend.GROWS if growth > LEAST_GROWTH * abs(self.values[-1]) else Trend.UNSETTLED

    @property
    def grows(self):
        """Whether the value grows without bound as the mesh gets finer."""
        return self.verdict is Trend.GROWS

    @property
    def _to_limit(self):
        """From the finest value to the limit, by Richardson; NaN where there is no limit or no order is known."""
        step, order = self._steps[0], self.assumed or self.order
        if self.verdict in (Trend.GROWS, Trend.UNSETTLED):
            return np.nan
        if self.verdict is Trend.BOTH_SIDES or (step == 0 and len(self.values) > 2):
            return 0.0
        return float(step / ((self.sizes[-2] / self.sizes[-1]) ** min(order, CELLS_ORDER) - 1))

    @property
    def extrapolated(self):
        """The limit; NaN where there is none or no order is known, the finest value where it is neared to and fro."""
        return self.values[-1] + self._to_limit

    @property
    def band(self):
        """Half the width of the band about the finest value in which the limit is expected; NaN where there is none.

        Where the limit is neared to and fro, the spread of the last three values (common practice, no source).
        """
        if self.verdict is Trend.BOTH_SIDES:
            return float(np.ptp(self.values[-3:]))
        return (3.0 if self.assumed else 1.25) * abs(self._to_limit)

    def table(self):
        """Size, unknowns, value and change from mesh to mesh, as a table."""
        import pandas as pd

        change = np.diff(self.values, prepend=np.nan)
        columns = {"unknowns": self.unknowns} if self.unknowns else {}
        columns |= {"value": self.values, "change": change}
        return pd.DataFrame(columns, index=pd.Index(self.sizes, name="size of cell (mm)"))

    def __repr__(self):
        parts = [f"{self.values[-1]:.5g}"]
        if not np.isnan(self.band):
            parts = [f"{self.values[-1]:.5g} ± {self.band:.2g}", f"limit {self.extrapolated:.5g}"]
        if not np.isnan(self.order):
            parts.append(f"order {self.order:.3g}")
        sizes = f"{len(self.sizes)} meshes, {self.sizes[0]:g} to {self.sizes[-1]:g} mm"
        return f"Convergence: {sizes}: {self.verdict}; {', '.join(parts)}"

    def _repr_html_(self):
        return f"<p>{escape(repr(self))}</p>{self.table().to_html(float_format='%.5g')}"


def converge(model_of_size, quantity, sizes, *, order=None):
    """Solve finer and finer meshes of one structure and say whether a quantity converges, and to what.

    Parameters
    ----------
    model_of_size : callable
        Of a size of cell, mm; returns the `Model`.
    quantity : callable
        Of the `StaticResult`; returns one number: a displacement, an averaged stress, a reaction.
    sizes : sequence of float
        Sizes of cell, mm, the coarsest first; two at least, and three to see an order. Cells must become smaller by
        that much everywhere, and keep their shapes.
    order : float, optional
        Known beforehand, and assumed for limit and band in place of the observed order.

    Returns
    -------
    convergence : Convergence

    Raises
    ------
    ModelError
        If sizes do not fall; or, for all sizes at once, if a mesh can't be made, solved or measured.
    """
    sizes = tuple(map(float, sizes))
    _check(sizes, order)
    found, faults = [], {}
    for size in sizes:
        try:
            result = solve_static(model_of_size(size))
            found.append((_number(quantity(result)), result.solution.counts.unknowns))
        except FemkitError as fault:
            faults[size] = fault
    if faults:
        said = "\n".join(f"size {size:g} mm: {fault}" for size, fault in faults.items())
        raise ModelError(f"converge: {len(faults)} of {len(sizes)} meshes failed.\n{said}") from faults[max(faults)]
    values, unknowns = zip(*found)
    return Convergence(sizes, values, unknowns=unknowns, assumed=order)


def _number(given):
    if np.ndim(given) or not np.isreal(given) or not np.isfinite(given):
        raise ModelError(f"quantity gives {given!r}; it must give one finite number.")
    return float(given)


def _check(sizes, order):
    values = np.array(sizes, dtype=float)
    if len(values) < 2 or not (np.isfinite(values) & (values > 0)).all() or not (np.diff(values) < 0).all():
        raise ModelError(
            f"converge: sizes of cell are {values.tolist()} mm; "
            "they must be two or more finite numbers above 0, the coarsest first."
        )
    if order is not None and not 0 < order < np.inf:
        raise ModelError(f"converge: order is {order}; it must be a finite number above 0.")

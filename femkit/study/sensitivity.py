"""Where does a millimetre of steel help most? What every cell's thickness does to quantities of a solved model.

The derivative of a quantity with respect to every thickness costs one more solution, by the adjoint method; see
`femkit.solve.adjoint`. Derivatives of element matrices are exact to rounding, by complex steps through the kernels.
"""

from contextlib import closing, nullcontext
from dataclasses import dataclass

import numpy as np

from ..errors import ModelError, nearest_name
from ..model.values import refuse
from ..results import StaticSolver
from ..results.averaging import Neighbourhood, Sheets
from ..solve.adjoint import thickness_work

__all__ = ["Sensitivity", "sensitivities", "sensitivity"]

PATCH = 200.0  # mm; steel comes as doublers, not as cells
SQUARE = 100.0**2  # mm2
SIDES = {"both": 0.0, "top": 0.5, "bottom": -0.5}  # change of the offset by that of the thickness


@dataclass(frozen=True, eq=False)
class Sensitivity:
    """A quantity of a solved model, and its derivative with respect to the thickness of every cell.

    Attributes
    ----------
    quantity : object
        Such as `Displacement`.
    model : Model
    value : float
    per_cell : ndarray, shape (n_cells,)
        Change of the quantity by a millimetre on that cell alone.
    """

    quantity: object
    model: object
    value: float
    per_cell: np.ndarray

    @property
    def per_plate(self):
        """Change of the quantity by a millimetre on every cell of a plate, by name."""
        return {name: float(self.per_cell[cells].sum()) for name, cells in self.model.plate_cells.items()}

    @property
    def kg_per_mm(self):
        """Mass of a millimetre on each cell, shape (n_cells,), kg."""
        return 1e3 * self.model.mesh.areas * self.model.per_cell.density

    def density(self, per="kg", over=PATCH):
        """Change of the quantity by steel on a patch around each cell, whatever the cells' sizes.

        Parameters
        ----------
        per : {"kg", "mm"}
            By a kilogram; or by a millimetre's thickness on a square of 100 × 100 mm.
        over : float
            Size of the patch, mm, within the cell's plate and smooth sheet; 0 for the cell alone. At a single point
            that is held, loaded or looked at the cells alone grow without bound as the mesh gets finer.

        Returns
        -------
        density : ndarray, shape (n_cells,)
        """
        if per not in ("kg", "mm"):
            raise ModelError(f'per is "{per}"; it must be "kg" or "mm".')
        if per == "kg" and not self.kg_per_mm.all():
            raise ModelError('a plate has no density, so that nothing can be said by the kilogram; take per="mm".')
        patches = Neighbourhood.of(self.model, Sheets.of(self.model), over).weights
        return patches @ (self.per_cell / (self.kg_per_mm if per == "kg" else self.model.mesh.areas / SQUARE))

    def table(self):
        """One row a plate, what a kilogram changes most first, as a pandas table."""
        import pandas as pd

        unit, per_plate, rows = self.quantity.unit, self.per_plate, []
        for name, cells in self.model.plate_cells.items():
            mass, change = self.kg_per_mm[cells].sum(), per_plate[name]
            thickness = self.model.per_cell.thickness[cells].mean()
            rows.append((name, thickness, change, mass, change / mass if mass else np.nan))
        heads = ["plate", "thickness (mm)", f"{unit} per mm", "mass (kg per mm)", f"{unit} per kg"]
        table = pd.DataFrame(rows, columns=heads).set_index("plate")
        return table.sort_values(heads[4] if self.kg_per_mm.any() else heads[2], key=np.abs, ascending=False)

    def __repr__(self):
        return f"Sensitivity: {self.quantity} = {self.value:.4g} {self.quantity.unit}"

    def _repr_html_(self):
        return f"<p>{self!r}</p>{self.table().to_html(float_format='%.4g')}"


def sensitivity(result, quantity, *, grows=None, solver=None):
    """What every cell's thickness does to one quantity: `sensitivities` of it alone."""
    return sensitivities(result, [quantity], grows=grows, solver=solver)[0]


def sensitivities(result, quantities, *, grows=None, solver=None):
    """What every cell's thickness does to some quantities, by the adjoint method.

    All quantities of load cases on the same supports are one solution with as many right-hand sides. Gravity,
    acceleration and temperature grow with thickness as the stiffness does; stress also depends on it by itself.

    Parameters
    ----------
    result : StaticResult
    quantities : sequence of Displacement, Distance, JudgedStress or Mass
    grows : dict of str to {"both", "top", "bottom"}, optional
        By plate: where steel is added. On both sides (if left out) the offset stays; on top it grows by half of what is
        added, as with a doubler, and with it the arms of the forces.
    solver : StaticSolver, optional
        The one that made the result last: its factor serves. Without, one more factorisation is made.

    Returns
    -------
    sensitivities : tuple of Sensitivity
        In the order of the quantities.

    Raises
    ------
    ModelError
        If a load case, plate or side is not there, a load case is balanced by inertia, or another model was solved
        by the solver since.

    Examples
    --------
    A cantilever strip: its deflection goes with the inverse cube of the thickness, so ``dδ/dt = -3 δ / t``.

    >>> import femkit as fk
    >>> mesh = fk.Mesh([[0, 0, 0], [90, 0, 0], [90, 9, 0], [0, 9, 0]], {"quad": [[0, 1, 2, 3]]})
    >>> model = fk.Model(
    ...     mesh,
    ...     fk.Plate(2.0, fk.Material("steel", E=210_000, nu=0.3)),
    ...     supports=[fk.Support([0, 3], ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)],
    ...     load_cases=[fk.LoadCase("tip", [fk.PointLoad([1, 2], fz=0.1)])],
    ... )
    >>> found = fk.sensitivity(fk.solve_static(model), fk.Displacement([1, 2], "uz", "tip"))
    >>> round(found.per_plate["all cells"] * 2.0 / found.value, 2)
    -3.0
    """
    model = result.model
    side = _sides(model, grows or {})
    if solver is not None and solver.solved is not model:
        raise ModelError(
            "sensitivity: the solver has solved another model since; give it the result of its last solve."
        )
    bare = [quantity for quantity in quantities if not hasattr(quantity, "change")]
    refuse(*(f'sensitivity: "{quantity}" has no derivatives.' for quantity in bare))
    made = [(quantity, quantity.value(result), *quantity.change(result, side)) for quantity in quantities]
    cases = [_load_case(result, quantity) for quantity in quantities]
    per_cell = [own for _quantity, _value, _moved, own in made]
    with closing(StaticSolver(model)) if solver is None else nullcontext(solver) as solver:
        for _supports, names in model.support_groups:
            mine = [i for i, case in enumerate(cases) if case in names]
            if mine:
                adjoint = solver.respond(np.stack([made[i][2] for i in mine], axis=2), names[0])
                work = _work(model, [result[made[i][0].load_case] for i in mine], adjoint, side)
                for i, column in zip(mine, work.T):
                    per_cell[i] = per_cell[i] + column
    return tuple(Sensitivity(q, model, value, field) for (q, value, _moved, _own), field in zip(made, per_cell))


def _sides(model, grows):
    """Change of every cell's offset by that of its thickness."""
    side = np.zeros(model.mesh.n_cells)
    for name, where in grows.items():
        if name not in model.plates:
            raise ModelError(f'sensitivity: there is no plate "{name}". {nearest_name(name, model.plates)[1]}')
        if where not in SIDES:
            raise ModelError(f'sensitivity: plate "{name}" grows at "{where}". {nearest_name(where, SIDES)[1]}')
        side[model.plate_cells[name]] = SIDES[where]
    if side.any() and model.behaviour != "shell":
        raise ModelError('sensitivity: in plane stress plates grow on "both" sides alone.')
    return side


def _load_case(result, quantity):
    """The first load case that a quantity is of, None if it is of none."""
    if quantity.load_case is None:
        return None
    factors = result[quantity.load_case].factors
    for name in factors:
        if result.model.case(name).balanced:
            raise ModelError(
                f'sensitivity: load case "{name}" is balanced by inertia; take one that stands on supports.'
            )
    return next(iter(factors))


def _work(model, cases, adjoint, side):
    """`thickness_work` of one load case or combination for each adjoint solution."""
    moved = np.stack([case.displacement[:, : model.n_components] for case in cases], axis=2)
    strain, field = np.stack([case.strain for case in cases], axis=1), np.zeros((3, len(cases)))
    for column, case in zip(field.T, cases):
        for name, factor in case.factors.items():
            for load in model.case(name).loads:
                column += factor * getattr(load, "field", 0.0)
    return thickness_work(model, moved, strain, field, adjoint, side)

"""Linear buckling of a model under a load case: by which factor its loads may grow before a sheet gives way sideways.

A factor is for the ideal sheet: flat, elastic, without imperfection. Thin sheets carry more after buckling, curved ones
fail well before; which limit applies is the code's to say.
"""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property

import numpy as np

from ..elements.beam import stiffness
from ..errors import ModelError, SolveError
from ..model.acting import integrate
from ..model.support import footing
from ..model.values import place_words
from ..solve.buckling import BucklingSolution, solve_eigenbuckling
from ..solve.matrix import NotPositiveError
from .case import CaseResult
from .error import twice_strain_energy
from .static import StaticResult, solve_static
from .stress import cell_resultants

__all__ = ["BucklingResult", "buckled_already", "loaded", "solve_buckling"]

# Our own bounds, set on the panels of tests/results/test_buckling.py; no source
LOCAL = 0.3  # of the strain energy that the rest of the model would have by its volume
MOVES, SPREAD = 0.1, 0.5  # of the largest displacement; of the model's area


def solve_buckling(model, name, count=4, *, constant=None, reverse=False, solver="auto"):
    """Lowest buckling factors of a load case or combination.

    Parameters
    ----------
    model : Model or StaticResult
        A shell; a result that is at hand is not solved again.
    name : str
        Of the load case or combination, all of whose loads grow together.
    count : int
        How many factors, from the lowest positive one. Negative ones, of the load reversed, are left out.
    constant : str, optional
        A load case or combination that is there from the start and does not grow: factors are on `name` alone.
    reverse : bool
        Let the growing loads act the other way round: the factors, positive again, are those that were left out.
    solver : {"auto", "pardiso", "superlu"}

    Returns
    -------
    buckled : BucklingResult
        Proven by a count of inertia: none below the highest was missed.

    Raises
    ------
    ModelError
        If the model can't be solved, has no such load case, is not a shell, or the constant part stands on other
        supports.
    NotConvergedError
        If fewer factors are positive than asked for: too little is in compression.
    SolveError
        If the constant part alone buckles the model, with the factor at which.
    """
    result, case = loaded(model, name, "buckling", solver)
    force, held = tuple(-part if reverse else part for part in case.carried), None
    if constant is not None:
        held = loaded(result, constant, "buckling", solver)[1]
        if footing(held.supports, values=False) != footing(case.supports, values=False):
            raise ModelError(f'constant "{constant}" and "{name}" stand on different supports; they must share them.')
        held = held.carried
    try:
        found = solve_eigenbuckling(result.model, force, case.supports, count, constant=held, solver=solver)
    except NotPositiveError as error:
        raise buckled_already(result, constant, solver) from error
    return BucklingResult(case, found, constant=constant, reverse=reverse)


def loaded(model, name, user, solver):
    """A static result and its load case of a name, fit to stiffen or soften a shell; `user` is who asks, for errors."""
    bare = model.model if isinstance(model, StaticResult) else model
    if bare.behaviour != "shell":
        raise ModelError(f'{user} needs behaviour="shell"; a plane stress model has no displacement out of its plane.')
    case = bare.case(name)  # a name that is wrong need not be solved for
    balanced = [each for each in getattr(case, "factors", [name]) if bare.case(each).balanced]
    if balanced:
        raise ModelError(
            f'{user} can\'t use "{balanced[0]}", which inertia balances: how its forces turn with it is not said. '
            "Put it on supports."
        )
    result = model if isinstance(model, StaticResult) else solve_static(model, solver=solver)
    return result, result[name]


def buckled_already(result, name, solver):
    """The error to be raised where a load that is to stay as it is buckles the model by itself."""
    factor = solve_buckling(result, name, 1, solver=solver).factor[0]
    return SolveError(
        f'"{name}" alone buckles the model at {factor:.4g} times its size: beyond, there is nothing to shake or to '
        f"load further. Make it less than that, or the model stiffer."
    )


@dataclass(frozen=True, eq=False)
class BucklingResult:
    """Buckling factors in ascending order, with their shapes.

    Attributes
    ----------
    case : CaseResult
        The load case whose membrane forces buckle the model.
    solution : femkit.solve.buckling.BucklingSolution
    constant : str or None
        The load case or combination that did not grow.
    reverse : bool
        Whether the load case acted the other way round.
    """

    case: CaseResult
    solution: BucklingSolution
    _: KW_ONLY
    constant: str | None = None
    reverse: bool = False

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

    @cached_property
    def shares(self):
        """Each plate's bending, and all of each beam, as a share of a shape's strain energy: name to shape (count,)."""
        model, shares = self.model, []
        unheated = np.zeros((len(self.shape), model.mesh.n_cells))
        for shape, resultants in zip(self.shape, cell_resultants(model, self.shape, unheated)):
            corners = resultants[:, 1:]
            whole = twice_strain_energy(corners, model)
            bending = twice_strain_energy(np.where(np.arange(8) < 3, 0.0, corners), model)
            moved = shape[model.beam_cells.points].reshape(-1, 12, 1)
            of_beams = (moved * (stiffness(model.beam_cells) @ moved)).sum(axis=(1, 2))
            parts = [bending[cells].sum() for cells in model.plate_cells.values()]
            parts += [of_beams[model.beam_cells.beam == number].sum() for number in range(len(model.beams))]
            shares.append(np.array(parts) / (whole.sum() + of_beams.sum()))
        return dict(zip([*model.plates, *model.beams], np.transpose(shares)))

    def table(self):
        """Factor, the plate or beam that bends most and its share of energy, extent and place, as a pandas table.

        A buckle is "local" if all but the bending of that plate has less than 0.3 times the strain energy that it
        would have by its share of the volume: where stiffeners move along, their membrane strain and the plates beside
        them have more. In a model of one plate it is local if no more than half of the area moves by a tenth of the
        largest displacement. Else it is "overall". (Our own rule, no source: what it says is a help for
        the eye, not a verdict.)
        """
        import pandas as pd

        rows, mesh = [], self.model.mesh
        areas = integrate(mesh, np.ones((mesh.n_cells, 1)))[:, 0] if mesh.n_cells else np.ones(mesh.n_points)
        beams, of_cells = self.model.beam_cells, mesh.areas * self.model.per_cell.thickness
        volume = {name: of_cells[cells].sum() for name, cells in self.model.plate_cells.items()}
        for number, (name, beam) in enumerate(self.model.beams.items()):
            volume[name] = beam.section.area * beams.length[beams.beam == number].sum()
        for number, (factor, shape) in enumerate(zip(self.factor, self.shape)):
            moved = np.linalg.norm(shape[:, :3], axis=1)
            part = max(self.shares, key=lambda name: self.shares[name][number])
            share = self.shares[part][number]
            beside = 1 - volume[part] / sum(volume.values())
            spread = areas[moved > MOVES * moved.max()].sum() / areas.sum()
            is_local = 1 - share <= LOCAL * beside if len(self.shares) > 1 else spread <= SPREAD
            place = place_words(mesh.points[moved.argmax()], digits=0)
            rows.append((factor, part, share, "local" if is_local else "overall", place))
        heads = ["factor", "plate", "its bending, share of energy", "extent", "moves most at (mm)"]
        return pd.DataFrame(rows, columns=heads, index=pd.RangeIndex(1, len(rows) + 1, name="buckle"))

    def __repr__(self):
        beside = f" beside {self.constant}" if self.constant else ""
        turned = " reversed" if self.reverse else ""
        factors = ", ".join(f"{f:.4g}" for f in self.factor)
        return f"BucklingResult {self.case.name}{turned}{beside}: factors {factors}"

    def _repr_html_(self):
        return self.table().to_html(float_format="%.4g")

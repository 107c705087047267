"""Displacements and reactions of all load cases of a model, each with its proof."""

from collections import Counter
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from ..errors import ModelError, SolveError
from ..model.check import find_faults
from ..model.support import constraints_of, footing
from .assemble import assemble_stiffness
from .cases import Group, acting_in, prove_all, relative
from .constraints import pattern_of, reduce_matrix, reduction_of
from .factorise import choose_solver, one_thread_for_numpy
from .kept import Factor, changed_cells, pattern_key, stiff_cells
from .matrix import NotPositiveError
from .mechanism import mechanism
from .numbering import describe_unknown

__all__ = ["Counts", "DisplacementSolver", "Solution", "solve_displacements"]


@dataclass(frozen=True)
class Counts:
    """How much work a solve was.

    Attributes
    ----------
    unknowns, free : int
        All, and those that no support decides (of the first set of supports).
    cells, nonzeros : int
        Cells, and entries in the matrix's upper triangle.
    formed : int
        Cells whose stiffness is another than at the solve before, all at the first.
    factorisations, right_hand_sides, refinements : int
        One factorisation for all load cases that hold the same unknowns; refinements counted by right-hand side.
    iterations : int
        Of conjugate gradients, where a factor that was kept took the place of a new one.
    """

    unknowns: int
    free: int
    cells: int
    nonzeros: int
    formed: int
    factorisations: int
    right_hand_sides: int
    refinements: int
    iterations: int


@dataclass(frozen=True, eq=False)
class Solution:
    """Displacements of all load cases.

    Attributes
    ----------
    displacement, reaction, loads : dict of str to ndarray, shape (n_points, n_components)
        By load case. mm and rad; N and N mm on the model. A mean support's reaction lies on its points by their
        weights; loads hold no thermal forces, which are in balance by themselves.
    proof : dict of str to Proof
    acceleration : dict of str to ndarray, shape (6,)
        Of the centre of gravity, mm/s2, and angular, rad/s2; 0 but where inertia balances the loads, among which it
        then is.
    counts : Counts
    seconds : dict of str to float
        Wall time by phase.
    solver : str
        Name of the direct solver that was used.
    """

    displacement: dict
    reaction: dict
    loads: dict
    proof: dict
    acceleration: dict
    counts: Counts
    seconds: dict
    solver: str


def solve_displacements(model, *, solver="auto", progress=None):
    """Solve all load cases of a model by linear theory.

    The stiffness is assembled once; it is factored once for all load cases on the same supports. Every solution is
    refined once and proves itself before it is handed out.

    Parameters
    ----------
    model : Model
    solver : {"auto", "pardiso", "superlu"}
        ``"auto"`` takes the fastest that can be loaded; the others are for comparison.
    progress : callable, optional
        Called with the name of each phase as it starts: check, number, assemble, order, factorise, solve, prove.

    Returns
    -------
    solution : Solution

    Raises
    ------
    ModelError
        If the model has faults (all of them in one message; a single one as it is), or no load case.
    MechanismError
        If the matrix can't be factored, or so nearly not that the displacements have no certain digit.
    SolveError
        If numbers are not finite, or a solution does not prove itself.
    """
    with closing(DisplacementSolver(solver=solver, progress=progress, keeps_factors=False)) as one:
        return one.displacements(model)


class DisplacementSolver:
    """Displacements of one model after another: what a change leaves as it was is not done again.

    Attributes
    ----------
    model : Model or None
        That was solved last.
    name : str
        Of the direct solver.

    Parameters
    ----------
    solver, progress
        As of `solve_displacements`.
    keeps_factors : bool
        One for each set of supports. Else all share the memory of one, and the last alone can be used again.
    """

    def __init__(self, *, solver="auto", progress=None, keeps_factors=True):
        self.name = choose_solver(solver)[0]
        self._progress, self._keeps_factors, self._factors = progress, keeps_factors, {}
        self.close()

    def close(self):
        """Forget all that is kept, and give its memory back."""
        for factor in self._factors.values():
            factor.engine.close()
        self.model = self._key = self._pattern = self._cells = self._stiffness = None
        self._factors, self._held, self._groups = {}, set(), []

    def displacements(self, model):
        """Solve all load cases of a model, as `solve_displacements` does."""
        clock = _Clock(self._progress)
        with one_thread_for_numpy():
            with clock("check"):
                _refuse(model)
            try:
                return self._solve(model, clock)
            except Exception:  # whatever is kept may be half changed
                self.close()
                raise

    def respond(self, forces, name):
        """Displacements of the model that was solved last, on the supports of a load case, all held at 0.

        Parameters
        ----------
        forces : ndarray, shape (n_unknowns, n)
        name : str
            Of the load case.
        """
        group = next(group for group in self._groups if name in (case.name for case in group.cases))
        group = replace(group, reduction=replace(group.reduction, values=np.zeros_like(group.reduction.values)))
        with one_thread_for_numpy():
            return self._solve_group(self.model, group, forces, _Clock(self._progress), Counter())[0]

    def _solve(self, model, clock):
        with clock("number"):
            self._find_pattern(model)
        with clock("assemble"):
            n_formed = self._fill(model)
        found, work = {}, Counter()
        for group in self._groups:
            with clock("assemble"):
                acting = acting_in(model, self._cells, group, self._pattern)
            u, inner = self._solve_group(model, group, acting.loads + acting.thermal, clock, work)
            with clock("prove"):
                u, inner = relative(self._stiffness, acting, u, inner)
                found |= prove_all(model, self._stiffness, group, acting, u, inner)
        counts = Counts(
            self._pattern.n_unknowns,
            int(self._groups[0].reduction.is_free.sum()),
            model.mesh.n_cells,
            self._pattern.n_entries,
            n_formed,
            work["factorisations"],
            len(found),
            work["refinements"],
            work["iterations"],
        )
        in_order = {case.name: found[case.name] for case in model.load_cases}
        columns = ({case: values[i] for case, values in in_order.items()} for i in range(5))
        self.model = model
        return Solution(*columns, counts, clock.seconds, self.name)

    def _find_pattern(self, model):
        """Groups of load cases, and a pattern for them; what is kept goes where it can't be theirs."""
        groups, key = _group(model), pattern_key(model)
        if key != self._key or not self._held.issuperset(group.held for group in groups):
            self.close()
            self._key, self._held = key, {group.held for group in groups}
            self._pattern = pattern_of(model, [group.reduction for group in groups])
        self._groups = groups

    def _fill(self, model):
        """The stiffness of a model on the pattern; how many cells were formed for it."""
        former, old, cells = self._stiffness, self._cells, stiff_cells(model)
        is_changed = None if old is None else changed_cells(old, cells)
        n_formed = sum(map(len, cells.values())) if old is None else sum(int(m.sum()) for m in is_changed.values())
        if n_formed or former is None:
            self._stiffness = assemble_stiffness(model, self._pattern, cells, former=former, is_changed=is_changed)
            _refuse_infinite(model, self._stiffness)
        self._cells = cells
        return n_formed

    def _solve_group(self, model, group, right, clock, work):
        """Displacements and ``K u`` of a group, by a factor that is kept where that is less work, else by a new one."""
        stiffness, factor = self._stiffness, self._factor_of(group)
        if factor.serves(stiffness, self._cells, right.shape[1]):
            try:
                with clock("solve"):
                    return factor.solve(stiffness, group.reduction, right, work)
            except NotPositiveError:
                pass  # a new factor will tell
        with clock("assemble"):
            reduced = reduce_matrix(stiffness, group.reduction)
        if not factor.is_ordered:
            with clock("order"):
                factor.order(reduced)
        try:
            with clock("factorise"):
                factor.factorise(reduced, stiffness, self._cells, work)
            with clock("solve"):
                return factor.solve(stiffness, group.reduction, right, work)
        except NotPositiveError as error:
            raise mechanism(model, factor.engine, reduced, group.reduction) from error

    def _factor_of(self, group):
        if group.held not in self._factors:
            if self._factors and not self._keeps_factors:
                factor = Factor(self._factors.popitem()[1].engine, is_ordered=True)
            else:
                factor = Factor(choose_solver(self.name)[1])
            self._factors[group.held] = factor
        return self._factors[group.held]


def _refuse(model):
    faults = find_faults(model)
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise ModelError("\n".join(map(str, faults)))
    if not model.load_cases:
        raise ModelError("the model has no load case; give it at least one: Model(..., load_cases=[LoadCase(...)]).")


def _refuse_infinite(model, stiffness):
    if np.isfinite(stiffness.blocks.sum()):
        return
    block, row, _column = np.argwhere(~np.isfinite(stiffness.blocks))[0]
    unknown = stiffness.pattern.rows[block] * model.n_components + row
    raise SolveError(
        f"the stiffness is not finite at {describe_unknown(model, unknown)}; look for extreme thickness, E or cell "
        "shape."
    )


def _group(model):
    """Load cases by the supports they stand on; those that hold the same unknowns, at other values, in a row."""
    by_supports, first = {}, {}
    for case in model.load_cases:
        supports = model.supports_of(case)
        by_supports.setdefault(id(supports), (supports, []))[1].append(case)
    groups = []
    for supports, cases in by_supports.values():
        constraints = constraints_of(model.mesh, supports, model.n_components)
        groups.append(Group(cases, footing(supports, values=False), reduction_of(model, constraints)))
        first.setdefault(groups[-1].held, len(first))
    return sorted(groups, key=lambda group: first[group.held])


class _Clock:
    """Wall time by phase, and word of each phase as it starts."""

    def __init__(self, progress):
        self.seconds, self._progress = {}, progress

    @contextmanager
    def __call__(self, phase):
        if self._progress is not None:
            self._progress(phase)
        start = perf_counter()
        try:
            yield
        finally:
            self.seconds[phase] = self.seconds.get(phase, 0.0) + perf_counter() - start

"""Displacements and reactions of all load cases of a model, each with its proof."""

from contextlib import closing, contextmanager
from dataclasses import dataclass
from time import perf_counter

import numpy as np

from ..errors import ModelError, SolveError
from ..model.check import find_faults
from ..model.support import constraints_of, footing
from .assemble import assemble_stiffness
from .balance import Balance
from .cells import cell_arrays
from .constraints import Reduction, pattern_of, reduce_matrix, reduction_of
from .factorise import choose_solver, one_thread_for_numpy
from .forces import ground_forces, thermal_loads
from .line_loads import side_moments
from .mass import assemble_mass
from .matrix import NotPositiveError
from .mechanism import mechanism
from .numbering import describe_unknown
from .proof import prove
from .refine import REFINEMENTS, solve_refined

__all__ = ["Counts", "Solution", "solve_displacements"]


@dataclass(frozen=True)
class Counts:
    """How much work a solve was.

    Attributes
    ----------
    unknowns, free : int
        All, and those that no support decides (of the first set of supports).
    cells, nonzeros : int
        Cells, and entries in the matrix's upper triangle.
    factorisations, right_hand_sides, refinements : int
        One factorisation for all load cases that hold the same unknowns; refinements counted by right-hand side.
    """

    unknowns: int
    free: int
    cells: int
    nonzeros: int
    factorisations: int
    right_hand_sides: int
    refinements: int


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


@dataclass(frozen=True, eq=False)
class _Group:
    """Load cases that stand on the same supports."""

    cases: list
    reduction: Reduction
    holds: frozenset  # what the supports hold, at whatever values


@dataclass(frozen=True, eq=False)
class _Acting:
    """What acts in a group's load cases."""

    loads: np.ndarray  # (n_unknowns, n_cases), N and N mm
    thermal: np.ndarray  # the same, of free expansions
    held_energy: list  # of `thermal_loads`, N mm
    balances: list  # None, or a Balance for a case whose loads hold inertia too
    accelerations: list


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
    name, engine = choose_solver(solver)
    clock = _Clock(progress)
    with closing(engine), one_thread_for_numpy():
        with clock("check"):
            _refuse(model)
        with clock("number"):
            groups = _group(model)
            pattern = pattern_of(model, [group.reduction for group in groups])
        with clock("assemble"):
            arrays = cell_arrays(model)
            stiffness = assemble_stiffness(model, pattern, arrays)
            _refuse_infinite(model, stiffness)
        found, factored = {}, []
        for group in groups:
            with clock("assemble"):
                acting = _acting(model, arrays, group, stiffness.pattern)
            try:
                if group.holds not in factored[-1:]:  # else the same unknowns are held, at other values
                    with clock("assemble"):
                        reduced = reduce_matrix(stiffness, group.reduction)
                    if not factored:
                        with clock("order"):
                            engine.order(reduced)
                    with clock("factorise"):
                        engine.factorise(reduced)
                    factored.append(group.holds)
                with clock("solve"):
                    u, inner = solve_refined(engine, stiffness, group.reduction, acting.loads + acting.thermal)
                    u, inner = _relative(stiffness, acting, u, inner)
            except NotPositiveError as error:
                raise mechanism(model, engine, reduced, group.reduction) from error
            with clock("prove"):
                found |= _prove(model, stiffness, group, acting, u, inner)
    n_free = int(groups[0].reduction.is_free.sum())
    counts = Counts(
        pattern.n_unknowns,
        n_free,
        model.mesh.n_cells,
        pattern.n_entries,
        len(factored),
        len(found),
        REFINEMENTS * len(found),
    )
    in_order = {case.name: found[case.name] for case in model.load_cases}
    columns = ({case: values[i] for case, values in in_order.items()} for i in range(5))
    return Solution(*columns, counts, clock.seconds, name)


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
        groups.append(_Group(cases, reduction_of(model, constraints), footing(supports, values=False)))
        first.setdefault(groups[-1].holds, len(first))
    return sorted(groups, key=lambda group: first[group.holds])


def _acting(model, arrays, group, pattern):
    loads, thermal, held_energy, balances, accelerations = [], [], [], [], []
    balanced = [case for case in group.cases if case.balanced]
    if balanced:
        inertia = Balance.of(model, assemble_mass(model, pattern, arrays), balanced[0])
    for case in group.cases:
        strain = sum(load.cell_strain(model) for load in case.loads if hasattr(load, "cell_strain"))
        forces, energy = thermal_loads(model, arrays, np.broadcast_to(strain, model.mesh.n_cells))
        applied = model.point_forces(case)[:, : model.n_components] + side_moments(model, case)
        applied = applied.ravel()
        balances.append(inertia if case.balanced else None)
        accelerations.append(inertia.acceleration(applied) if case.balanced else np.zeros(6))
        loads.append(applied + inertia.force(applied) if case.balanced else applied)
        thermal.append(forces.ravel())
        held_energy.append(energy)
    return _Acting(np.stack(loads, axis=1), np.stack(thermal, axis=1), held_energy, balances, accelerations)


def _relative(stiffness, acting, u, inner):
    """Displacements of balanced cases against the mean motion, and ``K u`` of all."""
    if not any(acting.balances):
        return u, inner
    columns = [balance.relative(column) if balance else column for balance, column in zip(acting.balances, u.T)]
    u = np.stack(columns, axis=1)
    return u, stiffness.dot(u)


def _prove(model, stiffness, group, acting, u, inner):
    reduction, shape = group.reduction, (model.mesh.n_points, model.n_components)
    ground = ground_forces(model, u)
    reaction = reduction.reactions(inner - acting.loads - acting.thermal) - ground
    inner = inner - ground  # of the model alone: springs to the ground are supports
    sizes = stiffness.absolute_dot(u) + np.abs(acting.loads) + np.abs(acting.thermal)
    found = {}
    for i, case in enumerate(group.cases):
        proof = prove(
            model,
            case.name,
            displacement=u[:, i],
            inner=inner[:, i],
            sizes=sizes[:, i],
            loads=acting.loads[:, i],
            thermal=acting.thermal[:, i],
            reaction=reaction[:, i],
            reduction=reduction,
            held_energy=acting.held_energy[i],
            unheld=acting.balances[i] and acting.balances[i].motions,
        )
        fields = [np.ascontiguousarray(field[:, i]).reshape(shape) for field in (u, reaction, acting.loads)]
        for field in (*fields, acting.accelerations[i]):
            field.setflags(write=False)
        found[case.name] = (*fields, proof, acting.accelerations[i])
    return found


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

"""Natural modes: the lowest eigenvalues of stiffness against mass, with a proof that none was missed.

Shift-invert Lanczos (ARPACK, through SciPy) on a factor of ``K + s M``, with a shift just below 0: small enough not to
matter, and a model that can move freely is factored all the same. Afterwards ``K - s M`` is factored for an s above the
highest mode that was found: by Sylvester's law of inertia it has as many negative pivots as there are modes below s.
"""

from contextlib import closing
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from ..elements import plane_mass, shell_mass
from ..errors import ModelError, NotConvergedError, SolveError
from ..model.check import find_faults
from ..model.support import constraints_of
from .assemble import assemble, assemble_stiffness
from .cells import cell_arrays
from .constraints import pattern_of, reduce_matrix, reduction_of
from .factorise import choose_solver, one_thread_for_numpy
from .matrix import SymmetricMatrix

__all__ = [
    "EigenSolution",
    "assemble_mass",
    "combined",
    "first_vector",
    "inverse_of",
    "solve_eigenmodes",
    "subspace",
    "until_gap",
    "without_held",
]

SHIFT = 1e-9  # of the matrices' own ratio: far below any mode, far above the rounding of the lowest
EXTRA = (3, 9, 27)  # more modes than asked for, until a gap is found to count in
GAP = 1e-4  # relative: narrower than this, two modes may be one that is counted twice
RESIDUAL = 1e-6  # of each mode's own forces
SEED = 1  # of the first vector, so that the same model has the same modes


@dataclass(frozen=True, eq=False)
class EigenSolution:
    """Modes as solved.

    Attributes
    ----------
    value : ndarray, shape (count,)
        Squared circular frequency, 1/s2, ascending.
    shape : ndarray, shape (count, n_points, n_components)
        Each with a modal mass of 1 tonne, mm and rad; the largest displacement is positive.
    effective_mass : ndarray, shape (count, 3)
        Mass that takes part in a shift along x, y and z, tonne.
    residual : ndarray, shape (count,)
        ``|K u - w² M u|`` over the size of its terms.
    counted : int
        Modes below the gap above the highest that was found, by inertia; as many as were found.
    solver : str
    """

    value: np.ndarray
    shape: np.ndarray
    effective_mass: np.ndarray
    residual: np.ndarray
    counted: int
    solver: str


def assemble_mass(model, pattern, arrays=None):
    """Consistent mass of a model without its supports, masses that are not structure included.

    Parameters
    ----------
    model : Model
    pattern : Pattern
    arrays : dict of str to CellArrays, optional

    Returns
    -------
    mass : SymmetricMatrix
        tonne, tonne mm and tonne mm2.
    """
    arrays = cell_arrays(model) if arrays is None else arrays
    kernel = shell_mass if model.behaviour == "shell" else plane_mass
    per_area = {kind: model.per_cell.area_mass[block] for kind, _corners, block in model.mesh.blocks()}
    matrix = assemble(pattern, lambda kind, some: kernel(arrays[kind][some], per_area[kind][some]))
    moves = range(min(3, model.n_components))
    for mass in model.masses:
        for component in moves:
            matrix.blocks[pattern.diagonal, component, component] += mass.point_masses(model)
    return matrix


def solve_eigenmodes(model, count=6, *, supports=None, solver="auto"):
    """Lowest natural modes of a model.

    Parameters
    ----------
    model : Model
        Loads are left out. It may be free to move: its rigid motions are then the first modes, at frequencies of 0.
    count : int
        How many modes.
    supports : sequence of Support, optional
        Instead of the model's own.
    solver : {"auto", "pardiso", "superlu"}

    Returns
    -------
    solution : EigenSolution

    Raises
    ------
    ModelError
        If the model has faults, no mass, or fewer modes than asked for.
    NotConvergedError
        If the iteration gave up; `found` holds what it had.
    SolveError
        If modes were missed, by the count of inertia, or a residual is too large.
    """
    supports = model.supports if supports is None else tuple(supports)
    _refuse(model, count)
    name, engine = choose_solver(solver)
    with closing(engine), one_thread_for_numpy():
        reduction = reduction_of(model, constraints_of(model.mesh, supports, model.n_components))
        pattern = pattern_of(model, [reduction])
        arrays = cell_arrays(model)
        stiffness, mass = assemble_stiffness(model, pattern, arrays), assemble_mass(model, pattern, arrays)
        held, moving = reduce_matrix(stiffness, reduction), without_held(reduce_matrix(mass, reduction), reduction)
        n_moving = int((moving.diagonal > 0).sum())
        if count + EXTRA[0] >= n_moving:
            raise ModelError(
                f"count is {count}; the model has mass at {n_moving} unknowns, and {EXTRA[0]} must be left over."
            )
        ratio = held.diagonal[moving.diagonal > 0] / moving.diagonal[moving.diagonal > 0]
        shift = -SHIFT * np.median(ratio)
        shifted = combined(held, moving, shift)
        engine.order(shifted)
        engine.factorise(shifted)
        find = partial(_lanczos, engine, held.whole, moving.whole, shift)
        values, vectors, below, at = until_gap(find, count, n_moving - 1, floor=-shift)
        counted = type(engine).negative_pivots(combined(held, moving, at))
    if counted is not None and counted != below:
        raise SolveError(f"{below} modes were found where {counted} are, by their count; ask for a few more modes.")
    return _solution(model, reduction, stiffness, mass, values[:count], vectors[:, :count], counted, name)


def _refuse(model, count):
    faults = find_faults(model, may_move=True)
    if faults:
        raise faults[0] if len(faults) == 1 else ModelError("\n".join(map(str, faults)))
    if not isinstance(count, (int, np.integer)) or count < 1:
        raise ModelError(f"count is {count!r}; it must be a whole number of at least 1.")
    if not model.mass > 0:
        raise ModelError("the model has no mass; give its materials a density (steel: 7.85e-9 t/mm3), or masses.")


def without_held(mass, reduction):
    """The reduced mass with nothing where an unknown is not free."""
    pattern, blocks = mass.pattern, mass.blocks.copy()
    point, unknown = np.nonzero(~reduction.is_free.reshape(-1, pattern.n_components))
    blocks[pattern.diagonal[point], unknown, unknown] = 0.0
    return SymmetricMatrix(pattern, blocks)


def combined(held, moving, shift):
    """``K - shift M`` on the same pattern."""
    return SymmetricMatrix(held.pattern, held.blocks - shift * moving.blocks)


def until_gap(find, count, most, floor=0.0):
    """Ask for more and more values than are wanted, until there is a gap above them to count in.

    Parameters
    ----------
    find : callable
        ``find(n)`` gives the n lowest values, ascending, and their vectors; fewer only where there are no more.
    count, most : int
        How many are wanted, and how many may be asked for.
    floor : float
        Values that differ by less than this times `GAP` are one.

    Returns
    -------
    values, vectors : ndarray
    below : int
        How many of the values lie below the gap.
    at : float
        In the gap.
    """
    for extra in EXTRA:
        wanted = min(count + extra, most)
        values, vectors = find(wanted)
        gaps = np.diff(values) > GAP * np.maximum(np.abs(values[1:]), floor)
        wide = count - 1 + np.flatnonzero(gaps[count - 1 :])
        if len(wide):
            return values, vectors, wide[0] + 1, values[wide[0] : wide[0] + 2].mean()
        if len(values) < wanted:
            return values, vectors, len(values), 1.5 * values[-1]
    raise NotConvergedError(f"{len(values)} values lie too close together to be counted; ask for more.", values)


def _lanczos(engine, held, moving, shift, count):
    """Lowest eigenvalues (count,) and vectors (n_unknowns, count) of the reduced matrices, ascending."""
    try:
        values, vectors = eigsh(
            held,
            count,
            moving,
            sigma=shift,
            OPinv=inverse_of(engine, held.shape),
            v0=first_vector(engine, moving),
            ncv=subspace(count, moving),
        )
    except ArpackNoConvergence as error:
        found = error.eigenvalues
        raise NotConvergedError(
            f"only {len(found)} of {count} modes came out; ask for fewer or more.", found
        ) from error
    order = np.argsort(values)
    return values[order], vectors[:, order]


def inverse_of(engine, shape):
    """The factored matrix's inverse as SciPy's eigensolver wants it."""
    return LinearOperator(shape, matvec=lambda x: engine.solve(x.reshape(-1, 1))[:, 0], dtype=float)


def first_vector(engine, matrix):
    """A start that is the same every time, and has nothing in what the matrix does not touch."""
    return engine.solve(matrix @ np.random.default_rng(SEED).standard_normal((matrix.shape[0], 1)))[:, 0]


def subspace(count, matrix):
    """Vectors to keep: more than usual, since plates have many values close together and solutions cost most.

    Fewer than the unknowns that the second matrix touches, which may be few.
    """
    return min(max(2 * count + 1, 40), int((matrix.diagonal() != 0).sum()) - 1)


def _solution(model, reduction, stiffness, mass, values, vectors, counted, name):
    shapes = reduction.expand(vectors)
    inertia = mass.dot(shapes)
    length = np.sqrt((shapes * inertia).sum(axis=0))
    shapes, inertia = shapes / length, inertia / length
    residual = reduction.reduce(stiffness.dot(shapes) - values * inertia)
    terms = reduction.sizes(stiffness.absolute_dot(shapes) + np.abs(values * inertia))
    relative = np.linalg.norm(residual, axis=0) / np.linalg.norm(terms, axis=0)
    if not relative.max() <= RESIDUAL:
        worst = int(relative.argmax())
        raise SolveError(
            f"mode {worst + 1} leaves a residual of {relative[worst]:.1e}; at most {RESIDUAL:g} is accepted."
        )
    by_point = shapes.T.reshape(len(values), model.mesh.n_points, model.n_components)
    moves = by_point[:, :, : min(3, model.n_components)].reshape(len(values), -1)
    largest = np.take_along_axis(moves, np.abs(moves).argmax(axis=1)[:, None], axis=1)
    n = min(3, model.n_components)
    taking = inertia.T.reshape(by_point.shape)[:, :, :n].sum(axis=1) ** 2
    return EigenSolution(
        values,
        by_point * np.sign(largest)[:, :, None],
        np.pad(taking, ((0, 0), (0, 3 - n))),
        relative,
        counted,
        name,
    )

"""What modes and buckling share: matrices on their supports, Lanczos's parts, a gap to count in, and the residual."""

import numpy as np
from scipy.sparse.linalg import LinearOperator

from ..elements import beam, geometric_stiffness
from ..errors import ModelError, NotConvergedError, SolveError
from ..model.support import constraints_of
from .assemble import assemble, assemble_stiffness
from .cells import cell_arrays
from .constraints import pattern_of, reduction_of
from .matrix import SymmetricMatrix

__all__ = [
    "TOLERANCE",
    "assemble_geometric",
    "combined",
    "first_vector",
    "inverse_of",
    "refuse_count",
    "residuals",
    "stiffness_on",
    "subspace",
    "until_gap",
    "without_held",
]

EXTRA = (3, 9, 27)  # more modes than asked for, until a gap is found to count in
GAP = 1e-4  # relative: narrower than this, two modes may be one that is counted twice
RESIDUAL = 1e-6  # of each mode's own forces
TOLERANCE = 1e-9  # of a value by the iteration's own measure: a quarter fewer solutions than with 0, the same residuals
SEED = 1  # of the first vector, so that the same model has the same modes


def refuse_count(count):
    """Refuse what is no number of modes."""
    if not isinstance(count, (int, np.integer)) or count < 1:
        raise ModelError(f"count is {count!r}; it must be a whole number of at least 1.")


def stiffness_on(model, supports, carried=None):
    """The stiffness of a model, with what forces in it that stay as they are add to it.

    Parameters
    ----------
    model : Model
    supports : sequence of Support
    carried : pair of ndarray, optional
        For `assemble_geometric`.

    Returns
    -------
    reduction : Reduction
    arrays : dict of str to CellArrays
    stiffness : SymmetricMatrix
        Not reduced; it has the pattern.
    """
    reduction = reduction_of(model, constraints_of(model.mesh, supports, model.n_components))
    pattern = pattern_of(model, [reduction])
    arrays = cell_arrays(model)
    stiffness = assemble_stiffness(model, pattern, arrays)
    if carried is not None:
        stiffness = combined(stiffness, assemble_geometric(model, pattern, arrays, carried), -1.0)
    return reduction, arrays, stiffness


def assemble_geometric(model, pattern, arrays, carried):
    """Geometric stiffness of a shell and its beams.

    Parameters
    ----------
    model : Model
    pattern : Pattern
    arrays : dict of str to CellArrays
    carried : pair of ndarray
        ``nx ny nxy`` at the cells' corners, shape (n_cells, 4, 3), N/mm, the fourth of a triangle is not looked at; and
        the axial force of the beam cells, shape (n,), N. Tension is positive.
    """
    membrane_force, tension = carried
    blocks = {kind: (block, corners.shape[1]) for kind, corners, block in model.mesh.blocks()}

    def matrices(kind, some):
        if kind == "spring":
            return None
        if kind == "beam":
            return beam.geometric_stiffness(model.beam_cells[some], tension[some])
        block, k = blocks[kind]
        return geometric_stiffness(arrays[kind][some], membrane_force[block][some, :k])

    return assemble(pattern, matrices)


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


def inverse_of(engine, shape):
    """The factored matrix's inverse as SciPy's eigensolver wants it."""
    return LinearOperator(shape, matvec=lambda x: engine.solve(x.reshape(-1, 1))[:, 0], dtype=float)


def first_vector(engine, matrix):
    """A start that is the same every time, and has nothing in what the matrix does not touch."""
    return engine.solve(matrix @ np.random.default_rng(SEED).standard_normal((matrix.shape[0], 1)))[:, 0]


def subspace(count, matrix):
    """Vectors to keep: the usual number, but fewer than the unknowns that the second matrix touches."""
    return min(max(2 * count + 1, 20), int((matrix.diagonal() != 0).sum()) - 1)


def residuals(reduction, first, second, values, shapes, name):
    """``|A u - λ B u|`` of every shape over the size of its terms; `SolveError` where one is too large."""
    left = reduction.reduce(first.dot(shapes) - values * second.dot(shapes))
    terms = reduction.sizes(first.absolute_dot(shapes) + np.abs(values) * second.absolute_dot(shapes))
    relative = np.linalg.norm(left, axis=0) / np.linalg.norm(terms, axis=0)
    if not relative.max() <= RESIDUAL:
        worst = int(relative.argmax())
        raise SolveError(
            f"{name} {worst + 1} leaves a residual of {relative[worst]:.1e}; at most {RESIDUAL:g} is accepted."
        )
    return relative

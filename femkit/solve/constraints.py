"""Supports by elimination: ``u = T u_free + values``, in which every other unknown follows from the free ones.

Held unknowns have a value. Every mean gives up one of its free unknowns, the one of largest weight, which then
follows from the rest of its set. What is not free stays in the matrix as an equation of its own, so that blocks and
pattern stay whole; the pattern needs the pairs of `joined_points`, since a mean ties its points to each other.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array

from ..errors import ModelError
from ..model.values import COMPONENTS
from .matrix import SymmetricMatrix
from .numbering import is_used, neighbours

__all__ = ["Reduction", "joined_points", "reduce_matrix", "reduction_of"]

NOTHING_LEFT = 1e-9  # of a mean's largest weight: what elimination of other means leaves below this is rounding


@dataclass(frozen=True, eq=False)
class Reduction:
    """Which unknowns are free and how the others follow from them.

    Attributes
    ----------
    is_free : ndarray of bool, shape (n_unknowns,)
    values : ndarray, shape (n_unknowns,)
        Of the unknowns that are not free, when all free ones are 0; mm and rad.
    dependent : ndarray of int, shape (n_means,)
        The unknown that each mean gives up.
    shares : scipy.sparse.csr_array, shape (n_means, n_unknowns)
        What each dependent unknown takes from the free ones.
    """

    is_free: np.ndarray
    values: np.ndarray
    dependent: np.ndarray
    shares: csr_array

    def expand(self, free):
        """``T @ free``: all unknowns (n_unknowns, ...) from the free ones, prescribed values left out."""
        whole = np.where(_along(self.is_free, free), free, 0.0)
        whole[self.dependent] = self.shares @ whole
        return whole

    def reduce(self, forces):
        """``T^T @ forces``: what forces (n_unknowns, ...) do to the free unknowns, 0 elsewhere."""
        return np.where(_along(self.is_free, forces), forces + self.shares.T @ forces[self.dependent], 0.0)

    def sizes(self, sizes):
        """``|T|^T @ sizes``: sizes of the terms that `reduce` adds up."""
        return np.where(_along(self.is_free, sizes), sizes + np.abs(self.shares).T @ sizes[self.dependent], 0.0)

    def reactions(self, imbalance):
        """What the supports put on the model where ``K u - f = imbalance``: all of it where held, means by weight."""
        reactions = np.where(_along(self.is_free, imbalance), 0.0, imbalance)
        return reactions - self.shares.T @ imbalance[self.dependent]


def reduction_of(model, constraints):
    """Turn the supports of a load case into a reduction.

    Parameters
    ----------
    model : Model
    constraints : Constraints
        From `femkit.model.support.constraints_of`.

    Returns
    -------
    reduction : Reduction
        Points that no cell has are held at 0.

    Raises
    ------
    ModelError
        If means contradict each other.
    """
    unused = ~is_used(model.mesh)
    is_held = (constraints.is_held | unused[:, None]).ravel()
    values = constraints.value.ravel().copy()
    dependent, shares = _solve_means(constraints.means, is_held, values, model.n_components)
    is_free = ~is_held
    is_free[dependent] = False
    return Reduction(is_free, values, dependent, shares)


def joined_points(mesh, reductions, n_components):
    """Pairs of points that supports tie together: the pattern needs them besides those of cells.

    Parameters
    ----------
    mesh : Mesh
    reductions : sequence of Reduction
    n_components : int

    Returns
    -------
    pairs : ndarray of int, shape (n, 2)
    """
    pairs = [np.zeros((0, 2), dtype=np.int64)]
    for reduction in reductions:
        if len(reduction.dependent) == 0:
            continue
        row, column = reduction.shares.nonzero()
        giver, taker = reduction.dependent[row] // n_components, column // n_components
        shape = (mesh.n_points,) * 2
        share = coo_array((np.ones(len(giver)), (giver, taker)), shape=shape).tocsr()  # giver -> takers
        near = neighbours(mesh, np.unique(giver))
        near = coo_array((np.ones(len(near)), (near[:, 0], near[:, 1])), shape=shape).tocsr()
        takes = share.T @ near  # takers feel the neighbours of the point that gives up
        pairs += [np.stack(product.nonzero(), axis=1) for product in (takes, takes @ share)]
    return np.concatenate(pairs)


def reduce_matrix(matrix, reduction):
    """``T^T K T`` on the same pattern, with an equation of its own for every unknown that is not free.

    Parameters
    ----------
    matrix : SymmetricMatrix
    reduction : Reduction

    Returns
    -------
    reduced : SymmetricMatrix
        Rows and columns of unknowns that are not free are 0 but for the diagonal, which keeps its size.
    """
    pattern, blocks, size = matrix.pattern, matrix.blocks.copy(), matrix.pattern.n_components
    is_free = reduction.is_free.reshape(-1, size)
    some = pattern.touching(~is_free.all(axis=1))
    blocks[some] *= is_free[pattern.rows[some], :, None] & is_free[pattern.columns[some], None, :]
    point, unknown = np.nonzero(~is_free)
    own = np.abs(matrix.diagonal)
    own[own == 0] = own.mean()
    blocks[pattern.diagonal[point], unknown, unknown] = own.reshape(-1, size)[point, unknown]
    if len(reduction.dependent):
        rows = matrix.rows(reduction.dependent)
        among = rows[:, reduction.dependent]
        half = reduction.shares.T @ (rows.multiply(reduction.is_free) + 0.5 * among @ reduction.shares)
        _add_entries(pattern, blocks, coo_array(half + half.T))
    return SymmetricMatrix(pattern, blocks)


def _add_entries(pattern, blocks, added):
    """Add the entries of a symmetric SciPy array to those blocks that are stored."""
    (row, column), size = added.coords, pattern.n_components
    is_stored = row // size <= column // size
    row, column = row[is_stored], column[is_stored]
    block = pattern.find(row // size, column // size)
    blocks[block, row % size, column % size] += added.data[is_stored]


def _solve_means(means, is_held, values, n_components):
    """Solve the means for one unknown each, by elimination with the largest coefficient of each as pivot.

    Puts the constant part of the chosen unknowns into `values`; returns them and their shares of the free ones.
    """
    unknowns = [mean.points * n_components + mean.component for mean in means]
    columns = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *unknowns]))
    equations = np.zeros((len(means), len(columns)))
    for row, (mean, mine) in enumerate(zip(means, unknowns)):
        equations[row, np.searchsorted(columns, mine)] = mean.weights
    right = np.array([mean.value for mean in means]) - equations @ np.where(is_held[columns], values[columns], 0.0)
    equations[:, is_held[columns]] = 0.0
    size, pivots = np.abs(equations).max(axis=1, initial=0.0), []
    for row, mean in enumerate(means):
        pivot = int(np.abs(equations[row]).argmax())
        if not abs(equations[row, pivot]) > NOTHING_LEFT * size[row]:
            _refuse_repeated(mean, right[row])
            pivots.append(-1)
            continue
        right[row] /= equations[row, pivot]
        equations[row] /= equations[row, pivot]
        others = np.arange(len(means)) != row
        right[others] -= equations[others, pivot] * right[row]
        equations[others] -= np.outer(equations[others, pivot], equations[row])
        equations[others, pivot] = 0.0
        pivots.append(pivot)
    kept = np.array([row for row, pivot in enumerate(pivots) if pivot >= 0], dtype=np.int64)
    dependent = columns[[pivots[row] for row in kept]] if len(kept) else np.zeros(0, dtype=np.int64)
    values[dependent] = right[kept]
    shares = coo_array(-equations[kept])
    row, column = shares.coords
    is_other = columns[column] != dependent[row]
    shape = (len(kept), len(is_held))
    shares = coo_array((shares.data[is_other], (row[is_other], columns[column[is_other]])), shape=shape)
    return dependent, shares.tocsr()


def _refuse_repeated(mean, left):
    if abs(left) > NOTHING_LEFT * max(abs(mean.value), 1e-300):
        raise ModelError(
            f'support "{mean.name}": its mean {COMPONENTS[mean.component]} of {mean.value:g} contradicts other '
            "supports on the same points; leave one of them out."
        )


def _along(mask, array):
    return mask if array.ndim == 1 else mask[:, None]

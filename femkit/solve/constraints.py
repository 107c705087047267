"""Supports and links by elimination: ``u = T u_free + values``, where all other unknowns follow from the free ones.

Held unknowns have a value. Linked unknowns follow from those of the points they are linked to. Every mean gives up one
of its free unknowns, the one of largest weight, which then follows from the rest of its set; so does every link whose
own unknown is held, or follows from another link already. What is not free stays in the matrix as an equation of its
own, so that blocks and pattern stay whole; the pattern needs the pairs of points that all this ties to each other.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array, diags_array, vstack
from scipy.sparse.linalg import splu

from .cells import connectivity_of
from .elimination import eliminate, followed, link_equations, with_means, without
from .matrix import SymmetricMatrix
from .numbering import neighbours
from .pattern import find_pattern

__all__ = ["Reduction", "joined_points", "pattern_of", "reduce_matrix", "reduction_of"]


@dataclass(frozen=True, eq=False)
class Reduction:
    """Which unknowns are free and how the others follow from them.

    Attributes
    ----------
    is_free : ndarray of bool, shape (n_unknowns,)
    values : ndarray, shape (n_unknowns,)
        Of the unknowns that are not free, when all free ones are 0; mm and rad.
    dependent : ndarray of int, shape (n,)
        The unknowns that links and means give up.
    shares : scipy.sparse.csr_array, shape (n, n_unknowns)
        What each dependent unknown takes from the free ones.
    equations : scipy.sparse.csr_array, shape (n, n_unknowns)
        What links and means ask, ``equations @ u`` = 0 or the mean's value, in the order of `dependent`.
    is_link : ndarray of bool, shape (n,)
        Which of them are links.
    """

    is_free: np.ndarray
    values: np.ndarray
    dependent: np.ndarray
    shares: csr_array
    equations: csr_array
    is_link: np.ndarray

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
        """What the supports put on the model where ``K u - f = imbalance``: all of it where held, means by weight.

        What links pass on is taken out: it acts between points.
        """
        is_held = self.is_free.copy()
        is_held[self.dependent] = True
        is_held = _along(~is_held, imbalance)
        if not len(self.dependent):
            return np.where(is_held, imbalance, 0.0)
        own = self.equations[:, self.dependent].T.tocsc()
        forces = splu(own).solve(np.ascontiguousarray(imbalance[self.dependent]))  # along each equation's row
        forces += self._shared_rounding(imbalance - self.equations.T @ forces)
        is_link = _along(self.is_link, forces)
        of_links = self.equations.T @ np.where(is_link, forces, 0.0)
        of_means = self.equations.T @ np.where(is_link, 0.0, forces)
        return np.where(is_held, imbalance - of_links, of_means)

    def _shared_rounding(self, left):
        """What least squares over all points of each mean add to its force: its pivot's rounding alone is not its own.

        One point's force over its small weight is a mean's: rounding there would be as many times larger in the sum.
        """
        is_plain = self.is_free.copy()
        is_plain[self.dependent[~self.is_link]] = True
        is_plain[np.unique(self.equations[self.is_link].indices)] = False
        rows = self.equations[~self.is_link] @ diags_array(is_plain.astype(float))
        added = np.zeros((len(self.is_link), *left.shape[1:]))
        if rows.shape[0]:
            added[~self.is_link] = np.linalg.lstsq((rows @ rows.T).toarray(), rows @ left, rcond=None)[0]
        return added


def reduction_of(model, constraints):
    """Turn the supports of a load case, and the model's links, into a reduction.

    Parameters
    ----------
    model : Model
    constraints : Constraints
        From `femkit.model.support.constraints_of`.

    Returns
    -------
    reduction : Reduction
        Points that nothing has are held at 0.

    Raises
    ------
    ModelError
        If means or links contradict each other or the supports, or links run in a circle.
    """
    is_held = (constraints.is_held | ~model.is_used[:, None]).ravel()
    values = constraints.value.ravel().copy()
    asked = link_equations(model, is_held)
    n_plain = int(asked.is_plain.sum())
    plain = followed(asked, is_held)
    if constraints.means:
        asked = with_means(asked, constraints.means, model.n_components)
    is_hard = ~asked.is_plain
    rows = asked.rows[is_hard]
    if n_plain:
        own = asked.own[asked.is_plain]
        rows = without(rows, own) + rows[:, own] @ plain
    chosen, shares, kept = eliminate(rows, asked, np.flatnonzero(is_hard), is_held, values)
    if n_plain:
        held = np.where(is_held, values, 0.0)
        values[own] = plain @ held
        plain = without(plain, np.flatnonzero(is_held))
        values[own] += plain[:, chosen] @ values[chosen]
        plain = without(plain, chosen) + plain[:, chosen] @ shares
        chosen, shares = np.concatenate([own, chosen]), vstack([plain, shares]).tocsr()
    kept = np.concatenate([np.flatnonzero(asked.is_plain), kept])
    is_free = ~is_held
    is_free[chosen] = False
    return Reduction(is_free, values, chosen, shares, asked.rows[kept].tocsr(), asked.is_link[kept])


def pattern_of(model, reductions):
    """The pattern of a model's matrices on its supports.

    Parameters
    ----------
    model : Model
    reductions : sequence of Reduction
    """
    tables = connectivity_of(model)
    joined = joined_points(tables, model.mesh.n_points, reductions, model.n_components)
    return find_pattern(model.mesh, model.n_components, joined, tables)


def joined_points(tables, n_points, reductions, n_components):
    """Pairs of points that supports and links tie together: the pattern needs them besides those of cells.

    Parameters
    ----------
    tables : dict of str to ndarray of int, shape (n, k)
        Points of all cells by kind.
    n_points : int
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
        shape = (n_points,) * 2
        share = coo_array((np.ones(len(giver)), (giver, taker)), shape=shape).tocsr()  # giver -> takers
        near = neighbours(tables.values(), n_points, np.unique(reduction.dependent // n_components))
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


def _along(mask, array):
    return mask if array.ndim == 1 else mask[:, None]

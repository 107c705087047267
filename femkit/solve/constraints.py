"""Supports and links by elimination: ``u = T u_free + values``, where all other unknowns follow from the free ones.

Held unknowns have a value. Linked unknowns follow from those of the points they are linked to. Every mean gives up one
of its free unknowns, the one of largest weight, which then follows from the rest of its set; so does every link whose
own unknown is held, or follows from another link already. What is not free stays in the matrix as an equation of its
own, so that blocks and pattern stay whole; the pattern needs the pairs of points that all this ties to each other.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array, vstack
from scipy.sparse.linalg import splu

from ..elements import relative_motion
from ..errors import ModelError
from ..model.values import COMPONENTS, place_words
from .cells import connectivity_of
from .matrix import SymmetricMatrix
from .numbering import neighbours
from .pattern import find_pattern

__all__ = ["Reduction", "joined_points", "pattern_of", "reduce_matrix", "reduction_of"]

NOTHING_LEFT = 1e-9  # of a mean's largest weight: what elimination of other means leaves below this is rounding
LONGEST_CHAIN = 30  # links that follow one another; more can only run in a circle


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
        is_link = _along(self.is_link, forces)
        of_links = self.equations.T @ np.where(is_link, forces, 0.0)
        of_means = self.equations.T @ np.where(is_link, 0.0, forces)
        return np.where(is_held, imbalance - of_links, of_means)


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
    asked = _links(model, is_held)
    n_plain = int(asked.is_plain.sum())
    plain = _followed(asked, is_held)
    if constraints.means:
        asked = _with_means(asked, constraints.means, model.n_components)
    is_hard = ~asked.is_plain
    rows = asked.rows[is_hard]
    if n_plain:
        own = asked.own[asked.is_plain]
        rows = _without(rows, own) + rows[:, own] @ plain
    chosen, shares, kept = _eliminate(rows, asked, np.flatnonzero(is_hard), is_held, values)
    if n_plain:
        held = np.where(is_held, values, 0.0)
        values[own] = plain @ held
        plain = _without(plain, np.flatnonzero(is_held))
        values[own] += plain[:, chosen] @ values[chosen]
        plain = _without(plain, chosen) + plain[:, chosen] @ shares
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


@dataclass(frozen=True, eq=False)
class _Asked:
    """Equations between unknowns, a row each."""

    rows: csr_array  # (n, n_unknowns)
    right: np.ndarray  # (n,)
    own: np.ndarray  # (n,) the unknown that a link asks for, with a coefficient of 1; -1 for a mean
    is_plain: np.ndarray  # (n,) whether that unknown simply follows: it is free, and no other row asks for it
    is_link: np.ndarray  # (n,)
    said: list  # (n,) each row in words


def _links(model, is_held):
    """The equations of all links: what a point does, less what the place it is linked to does, is 0."""
    data, unknowns, own, said = [], [], [], []
    size = model.n_components
    for tie in (one for one in model.attachments if one.stiffness is None):
        motion = relative_motion(tie, model.mesh.points)[:, tie.is_tied]  # (n, c, 24)
        points = np.column_stack([tie.points, tie.masters])
        columns = (points[:, :, None] * size + np.arange(6)).reshape(len(tie), 1, 24)
        data.append(motion.reshape(-1, 24))
        unknowns.append(np.broadcast_to(columns, motion.shape).reshape(-1, 24))
        own.append((tie.points[:, None] * size + np.flatnonzero(tie.is_tied)).ravel())
        places = [f"{tie.name} at {place_words(model.mesh.points[p])} mm" for p in tie.points]
        said += [place for place in places for _ in range(tie.is_tied.sum())]
    if not own:
        none = np.zeros(0, dtype=np.int64)
        return _Asked(csr_array((0, len(is_held))), np.zeros(0), none, none > 0, none > 0, said)
    own = np.concatenate(own)
    row = np.repeat(np.arange(len(own)), 24)
    rows = coo_array(
        (np.concatenate(data).ravel(), (row, np.concatenate(unknowns).ravel())), shape=(len(own), len(is_held))
    ).tocsr()
    rows.eliminate_zeros()
    is_first = np.zeros(len(own), dtype=bool)
    is_first[np.unique(own, return_index=True)[1]] = True
    is_plain = is_first & ~is_held[own]
    return _Asked(rows, np.zeros(len(own)), own, is_plain, np.ones(len(own), dtype=bool), said)


def _with_means(asked, means, n_components):
    """The same with the means' equations behind."""
    row = np.repeat(np.arange(len(means)), [len(mean.points) for mean in means])
    column = np.concatenate([mean.points * n_components + mean.component for mean in means])
    weights = np.concatenate([mean.weights for mean in means])
    rows = coo_array((weights, (row, column)), shape=(len(means), asked.rows.shape[1]))
    said = [f'support "{mean.name}": its mean {COMPONENTS[mean.component]} of {mean.value:g}' for mean in means]
    no = np.zeros(len(means), dtype=bool)
    return _Asked(
        vstack([asked.rows, rows]).tocsr(),
        np.append(asked.right, [mean.value for mean in means]),
        np.append(asked.own, np.full(len(means), -1)),
        np.append(asked.is_plain, no),
        np.append(asked.is_link, no),
        asked.said + said,
    )


def _followed(asked, is_held):
    """What the plain rows' own unknowns take from unknowns that follow no others, (n_plain, n_unknowns)."""
    own = asked.own[asked.is_plain]
    takes = -_without(asked.rows[asked.is_plain], own, only_diagonal=True)
    for _ in range(LONGEST_CHAIN):
        through = takes[:, own]
        if through.nnz == 0:
            return takes
        takes = _without(takes, own) + through @ takes
        takes.eliminate_zeros()
    circle = np.array(asked.said, dtype=object)[asked.is_plain][np.unique(through.nonzero()[0])[0]]
    raise ModelError(f"{circle}: links follow each other in a circle; let one of its points follow none.")


def _without(rows, columns, only_diagonal=False):
    """Rows with some columns emptied; with `only_diagonal`, of each row only the column of its own place among them."""
    rows = rows.tocoo()
    (row, column), data = rows.coords, rows.data
    if only_diagonal:
        is_kept = column != np.asarray(columns)[row]
    else:
        is_left = np.ones(rows.shape[1], dtype=bool)
        is_left[columns] = False
        is_kept = is_left[column]
    return coo_array((data[is_kept], (row[is_kept], column[is_kept])), shape=rows.shape).tocsr()


def _eliminate(rows, asked, numbers, is_held, values):
    """Solve rows for one unknown each, by elimination with the largest coefficient of each as pivot.

    Puts the constant part of the chosen unknowns into `values`; returns them, their shares of the free ones, and the
    numbers of the rows that ask for something new.
    """
    right = asked.right[numbers] - rows @ np.where(is_held, values, 0.0)
    rows = _without(rows, np.flatnonzero(is_held))
    original = np.abs(asked.rows[numbers]).max(axis=1).toarray().ravel() if len(numbers) else np.zeros(0)
    left = np.abs(rows).max(axis=1).toarray().ravel() if len(numbers) else np.zeros(0)
    is_open = left > NOTHING_LEFT * original
    for row in np.flatnonzero(~is_open):
        _refuse_repeated(asked, numbers[row], right[row])
    rows, right, numbers = rows[np.flatnonzero(is_open)], right[is_open], numbers[is_open]
    columns = np.unique(rows.tocoo().coords[1])
    equations, pivots = rows[:, columns].toarray(), []
    size = np.abs(equations).max(axis=1, initial=0.0)
    for row in range(len(equations)):
        pivot = int(np.abs(equations[row]).argmax())
        if not abs(equations[row, pivot]) > NOTHING_LEFT * size[row]:
            _refuse_repeated(asked, numbers[row], right[row])
            pivots.append(-1)
            continue
        right[row] /= equations[row, pivot]
        equations[row] /= equations[row, pivot]
        others = np.flatnonzero(equations[:, pivot])
        others = others[others != row]
        right[others] -= equations[others, pivot] * right[row]
        equations[others] -= np.outer(equations[others, pivot], equations[row])
        equations[others, pivot] = 0.0
        pivots.append(pivot)
    kept = np.array([row for row, pivot in enumerate(pivots) if pivot >= 0], dtype=np.int64)
    chosen = columns[[pivots[row] for row in kept]] if len(kept) else np.zeros(0, dtype=np.int64)
    values[chosen] = right[kept]
    shares = coo_array(-equations[kept])
    row, column = shares.coords
    is_other = columns[column] != chosen[row]
    shape = (len(kept), len(is_held))
    shares = coo_array((shares.data[is_other], (row[is_other], columns[column[is_other]])), shape=shape)
    return chosen, shares.tocsr(), numbers[kept]


def _refuse_repeated(asked, row, left):
    if abs(left) > NOTHING_LEFT * max(abs(asked.right[row]), 1e-300):
        raise ModelError(
            f"{asked.said[row]} contradicts other supports or links on the same points; leave one of them out."
        )


def _along(mask, array):
    return mask if array.ndim == 1 else mask[:, None]

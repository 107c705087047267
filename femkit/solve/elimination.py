"""Equations between unknowns that links and means ask for, solved for one unknown each.

A link whose own unknown is free, and asked for by no other, says what that unknown follows from; links may follow
one another. All other rows, means among them, are eliminated with the largest coefficient of each as pivot.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array, vstack

from ..elements import relative_motion
from ..errors import ModelError
from ..model.values import COMPONENTS, place_words

__all__ = ["Asked", "eliminate", "followed", "link_equations", "with_means", "without"]

NOTHING_LEFT = 1e-9  # of a row's largest coefficient: what elimination of other rows leaves below this is rounding
LONGEST_CHAIN = 30  # links that follow one another; more can only run in a circle


@dataclass(frozen=True, eq=False)
class Asked:
    """Equations between unknowns, a row each."""

    rows: csr_array  # (n, n_unknowns)
    right: np.ndarray  # (n,)
    own: np.ndarray  # (n,) the unknown that a link asks for, with a coefficient of 1; -1 for a mean
    is_plain: np.ndarray  # (n,) whether that unknown simply follows: it is free, and no other row asks for it
    is_link: np.ndarray  # (n,)
    said: list  # (n,) each row in words


def link_equations(model, is_held):
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
        return Asked(csr_array((0, len(is_held))), np.zeros(0), none, none > 0, none > 0, said)
    own = np.concatenate(own)
    row = np.repeat(np.arange(len(own)), 24)
    rows = coo_array(
        (np.concatenate(data).ravel(), (row, np.concatenate(unknowns).ravel())), shape=(len(own), len(is_held))
    ).tocsr()
    rows.eliminate_zeros()
    is_first = np.zeros(len(own), dtype=bool)
    is_first[np.unique(own, return_index=True)[1]] = True
    is_plain = is_first & ~is_held[own]
    return Asked(rows, np.zeros(len(own)), own, is_plain, np.ones(len(own), dtype=bool), said)


def with_means(asked, means, n_components):
    """The same with the means' equations behind."""
    row = np.repeat(np.arange(len(means)), [len(mean.points) for mean in means])
    column = np.concatenate([mean.points * n_components + mean.component for mean in means])
    weights = np.concatenate([mean.weights for mean in means])
    rows = coo_array((weights, (row, column)), shape=(len(means), asked.rows.shape[1]))
    said = [f'support "{mean.name}": its mean {COMPONENTS[mean.component]} of {mean.value:g}' for mean in means]
    no = np.zeros(len(means), dtype=bool)
    return Asked(
        vstack([asked.rows, rows]).tocsr(),
        np.append(asked.right, [mean.value for mean in means]),
        np.append(asked.own, np.full(len(means), -1)),
        np.append(asked.is_plain, no),
        np.append(asked.is_link, no),
        asked.said + said,
    )


def followed(asked, is_held):
    """What the plain rows' own unknowns take from unknowns that follow no others, (n_plain, n_unknowns)."""
    own = asked.own[asked.is_plain]
    takes = -without(asked.rows[asked.is_plain], own, only_diagonal=True)
    for _ in range(LONGEST_CHAIN):
        through = takes[:, own]
        if through.nnz == 0:
            return takes
        takes = without(takes, own) + through @ takes
        takes.eliminate_zeros()
    circle = np.array(asked.said, dtype=object)[asked.is_plain][np.unique(through.nonzero()[0])[0]]
    raise ModelError(f"{circle}: links follow each other in a circle; let one of its points follow none.")


def without(rows, columns, only_diagonal=False):
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


def eliminate(rows, asked, numbers, is_held, values):
    """Solve rows for one unknown each, by elimination with the largest coefficient of each as pivot.

    Puts the constant part of the chosen unknowns into `values`; returns them, their shares of the free ones, and the
    numbers of the rows that ask for something new.
    """
    right = asked.right[numbers] - rows @ np.where(is_held, values, 0.0)
    rows = without(rows, np.flatnonzero(is_held))
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

"""Where a model gives way that can't be factored: the motion that strains it least."""

from dataclasses import replace

import numpy as np

from ..errors import MechanismError
from .matrix import NotPositiveError
from .numbering import describe_unknown

__all__ = ["least_strained_motion", "mechanism"]

SHIFTS = (1e-13, 1e-11, 1e-9, 1e-7)  # of the diagonal: just above what rounding takes from it
N_VECTORS, N_ROUNDS = 6, 3


def mechanism(model, engine, matrix, reduction):
    """The error to be raised for a matrix that is not positive definite, or nearly not.

    Parameters
    ----------
    model : Model
    engine : Pardiso or SuperLU
    matrix : SymmetricMatrix
        Reduced stiffness.
    reduction : Reduction

    Returns
    -------
    error : MechanismError
        Names the place that moves most and carries the motion.
    """
    motion = reduction.expand(least_strained_motion(engine, matrix)).reshape(model.mesh.n_points, -1)
    whole = np.zeros((model.mesh.n_points, 6))
    whole[:, : model.n_components] = motion
    shifts, turns = np.abs(whole[:, :3]), np.abs(whole[:, 3:]) * model.mesh.sizes.mean()
    moves = shifts if shifts.max() > 1e-3 * turns.max() else turns  # a turn of points alone shifts none
    point, component = np.unravel_index(moves.argmax(), moves.shape)
    unknown = point * model.n_components + component + (3 if moves is turns else 0)
    return MechanismError(
        f"a part can move without strain, or nearly so; what moves most is {describe_unknown(model, unknown)}. "
        "Support it, or join it to the rest.",
        whole / moves.max(),
    )


def least_strained_motion(engine, matrix):
    """The vector of least ``u K u / u D u``, D the diagonal: a few rounds of subspace iteration on a shifted matrix.

    Bathe, *Finite Element Procedures*, 1996, section 11.6.
    """
    weight = matrix.diagonal[:, None]
    _factorise_shifted(engine, matrix)
    vectors = np.random.default_rng(0).normal(size=(len(weight), min(N_VECTORS, len(weight))))
    for _ in range(N_ROUNDS):
        vectors = np.linalg.qr(engine.solve(weight * vectors))[0]
    _values, shares = np.linalg.eigh(vectors.T @ matrix.dot(vectors))
    return vectors @ shares[:, 0]


def _factorise_shifted(engine, matrix):
    diagonal = matrix.pattern.diagonal
    for shift in SHIFTS:
        blocks = matrix.blocks.copy()
        blocks[diagonal] += shift * blocks[diagonal] * np.eye(blocks.shape[1])
        try:
            return engine.factorise(replace(matrix, blocks=blocks))
        except NotPositiveError as error:
            failure = error
    raise failure

"""A model that its own inertia balances: which motions are left to it, and what holds it while it is solved.

Loads and the inertia of the acceleration they cause are in balance, so whatever holds the model takes nothing. Which
unknowns are held changes no strain: it only says which of all displacements that differ by a rigid motion comes out.
"""

import numpy as np
from scipy.linalg import qr

from .motions import HELD, rigid_motions
from .support import Support, constraints_of
from .values import COMPONENTS

__all__ = ["balance_fault", "holding", "motions_left"]


def motions_left(model, supports):
    """Motions of the whole as one rigid body that supports and springs to the ground leave free.

    Returns
    -------
    motions : ndarray, shape (n_points, n_components, n)
        mm and rad.
    twists : ndarray, shape (6, n)
        The same as three shifts of the global origin and three turns about it, mm and rad.
    """
    mesh, size = model.mesh, max(model.mesh.extent.max(), 1e-300)
    middle = (mesh.points.max(axis=0) + mesh.points.min(axis=0)) / 2
    scaled = rigid_motions((mesh.points - middle) / size)[:, : model.n_components]  # turns times the size
    held = constraints_of(mesh, supports, model.n_components)
    rows = [scaled[held.is_held]]
    rows += [mean.weights[None] @ scaled[mean.points, mean.component] for mean in held.means]
    for spring in model.attachments:
        if spring.stiffness is not None:
            is_ground = spring.weights.sum(axis=1) == 0
            rows.append((spring.stiffness[is_ground] @ scaled[spring.points[is_ground]]).reshape(-1, 6))
    rows = np.concatenate(rows)
    rows = rows / np.maximum(np.linalg.norm(rows, axis=1, keepdims=True), 1e-300)
    possible = np.eye(6)[:, range(6) if model.n_components == 6 else (0, 1, 5)]
    values, vectors = np.linalg.eigh((rows @ possible).T @ (rows @ possible))
    twists = possible @ vectors[:, values < np.maximum(HELD**2, 1e-15 * values[-1:])]
    motions = scaled @ twists
    motions[:, 3:] /= size
    twists[3:] /= size
    twists[:3] -= np.cross(twists[3:].T, middle).T  # of the origin
    return motions, twists


def holding(model, supports):
    """Supports that stop the motions left by others, and no more: at two points far from each other."""
    motions, points = motions_left(model, supports)[0], model.mesh.points
    if not motions.size:
        return ()
    is_own = model.is_used.copy()
    for one in model.attachments:
        is_own[one.points] &= one.stiffness is not None  # points that follow others can't be held
    own = np.flatnonzero(is_own)
    first = own[np.linalg.norm(points[own] - points[own].mean(axis=0), axis=1).argmin()]
    far = own[np.linalg.norm(points[own] - points[first], axis=1).argmax()]
    pair = motions[[first, far]].reshape(-1, motions.shape[2])
    chosen = np.sort(qr(pair.T, mode="r", pivoting=True)[1][: pair.shape[1]])
    return tuple(
        Support([point], **{COMPONENTS[k]: 0.0 for k in chosen - start if 0 <= k < model.n_components})
        for point, start in ((first, 0), (far, model.n_components))
        if ((chosen >= start) & (chosen < start + model.n_components)).any()
    )


def balance_fault(model, case):
    """What is wrong with a load case that is to be balanced by inertia, or nothing."""
    own = model.supports if case.supports is None else case.supports
    if not model.mass > 0:
        return "there is no mass to balance it; give its materials a density (steel: 7.85e-9 t/mm3), or masses."
    if not motions_left(model, own)[1].size:
        return "its supports hold the model already, so inertia has nothing to balance; give it supports=[]."
    return ""

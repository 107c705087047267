"""Does a solution hold: balance of loads and reactions, residual, and energy against work."""

from dataclasses import dataclass

import numpy as np

from ..errors import SolveError, UnbalancedError
from ..model.check import rigid_motions

__all__ = ["LARGEST_RESIDUAL", "Proof", "prove", "residual_measure"]

LARGEST_RESIDUAL = 1e-12  # componentwise; below 1e-15 is usual after one step of refinement
ROUNDINGS = 2  # of every term; sheets from flat to curved and 20 to 0.05 mm thick showed a sixteenth of it at most
EPS = np.finfo(float).eps
AXES = ("force in x", "force in y", "force in z", "moment about x", "moment about y", "moment about z")


@dataclass(frozen=True, eq=False)
class Proof:
    """What shows that the solution of a load case holds.

    Attributes
    ----------
    balance : ndarray, shape (6,)
        Loads and reactions added up: three forces (N) and three moments about the model's centre (N mm).
    allowed : ndarray, shape (6,)
        How far from 0 rounding may leave them: two units in the last place of all the forces ``|K| |u| + |f|`` that
        cancel each other at the points, each with its lever. Their sizes are added, since rounding on a regular
        mesh is alike in all cells and need not average out. As a part of the load it grows with the square of span
        to thickness: 1e-8 on common parts, 1e-2 on a sheet of 0.05 mm that spans 3 m.
    residual : float
        Largest ``|r| / (|K| |u| + |f|)`` over the free unknowns: relative to the terms that were added up (W. Oettli,
        W. Prager, Numer. Math. 6 (1964) 405-409).
    relative_residual : float
        Plain ``|r| / |f|``, with the reactions among the forces. On soft thin shells rounding of the displacements
        alone makes it 1e-4.
    energy : float
        Strain energy of the model, ``u K u / 2`` less what free thermal expansion takes, N mm.
    work : float
        Half of what loads and reactions do along the displacements, and heat's share alike, N mm. Equals `energy`.
    """

    balance: np.ndarray
    allowed: np.ndarray
    residual: float
    relative_residual: float
    energy: float
    work: float


def residual_measure(left, sizes):
    """Largest componentwise residual of each column, 0 where nothing acts at all."""
    return np.max(np.abs(left) / np.where(sizes > 0, sizes, 1.0), axis=0, initial=0.0)


def prove(model, name, *, displacement, inner, sizes, loads, thermal, reaction, reduction, held_energy, unheld=None):
    """Check a load case and say how well it holds.

    Parameters
    ----------
    model : Model
    name : str
        Of the load case.
    displacement, inner, loads, thermal, reaction : ndarray, shape (n_unknowns,)
        u, ``K u``, and the forces that act.
    sizes : ndarray, shape (n_unknowns,)
        ``|K| |u|`` and sizes of loads and thermal forces.
    reduction : Reduction
    held_energy : float
        From `thermal_loads`.
    unheld : ndarray, shape (n_unknowns, n), optional
        Motions that only inertia balances: what holds the model meanwhile must take nothing.

    Returns
    -------
    proof : Proof

    Raises
    ------
    SolveError
        If the residual is above `LARGEST_RESIDUAL`.
    UnbalancedError
        If loads and reactions are further from balance than rounding explains.
    """
    left = inner - loads - thermal - reaction
    residual = float(residual_measure(reduction.reduce(left), reduction.sizes(sizes)))
    if not residual <= LARGEST_RESIDUAL:
        raise SolveError(
            f'load case "{name}": the solution leaves a componentwise residual of {residual:.1e}; at most '
            f"{LARGEST_RESIDUAL:.0e} is accepted. A part of the model can nearly move without strain, or stiffnesses "
            "lie too far apart."
        )
    motions = _motions(model)
    balance = _six(model, motions.T @ (loads + reaction))
    allowed = _six(model, ROUNDINGS * EPS * (np.abs(motions).T @ (sizes + np.abs(reaction))))
    if not np.all(np.abs(balance) <= allowed):
        _refuse_unbalanced(name, balance, allowed)
    if unheld is not None:
        taken = np.abs(unheld.T @ reaction)
        if not np.all(taken <= ROUNDINGS * EPS * (np.abs(unheld).T @ (sizes + np.abs(reaction)))):
            raise UnbalancedError(f'load case "{name}": inertia leaves {taken.max():.3g} N unbalanced.', taken)
    forces = np.linalg.norm(loads + thermal + reaction) or 1.0
    return Proof(
        balance,
        allowed,
        residual,
        float(np.linalg.norm(reduction.reduce(left)) / forces),
        float(0.5 * displacement @ inner - displacement @ thermal + held_energy),
        float(0.5 * displacement @ (loads + reaction) - 0.5 * displacement @ thermal + held_energy),
    )


def _refuse_unbalanced(name, balance, allowed):
    differences = [
        f"{balance[i]:.3g} {'N' if i < 3 else 'N mm'} ({AXES[i]}; {allowed[i]:.1g} is explained by rounding)"
        for i in np.flatnonzero(~(np.abs(balance) <= allowed))
    ]
    raise UnbalancedError(f'load case "{name}": loads and reactions differ by {", ".join(differences)}.', balance)


def _motions(model):
    """Rigid motions about the middle of the model's bounding box, shape (n_unknowns, 6 or 3)."""
    points = model.mesh.points
    centre = (points.min(axis=0) + points.max(axis=0)) / 2
    motions = rigid_motions(points - centre, model.n_components)
    return motions.reshape(-1, motions.shape[-1])


def _six(model, sums):
    if model.n_components == 6:
        return sums
    six = np.zeros(6)
    six[[0, 1, 5]] = sums
    return six

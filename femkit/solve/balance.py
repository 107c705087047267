"""Loads balanced by the inertia of what they accelerate: ``f - M B a`` with ``B^T (f - M B a) = 0``, B rigid motions.

The body is at rest as the loads begin to act: velocities, and forces that grow with them, are none. Displacements are
those against the mean motion of its mass, ``B^T M u = 0``, which makes them the same whatever holds it.
"""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError
from ..model.balance import motions_left

__all__ = ["Balance"]


@dataclass(frozen=True, eq=False)
class Balance:
    """Inertia against the motions that some supports leave."""

    motions: np.ndarray  # (n_unknowns, n) B
    momentum: np.ndarray  # (n_unknowns, n) M B
    twists: np.ndarray  # (6, n) three shifts of the centre of gravity, three turns, mm and rad

    @classmethod
    def of(cls, model, mass, case):
        """For a load case, with the `mass` of the model, a SymmetricMatrix."""
        own = model.supports if case.supports is None else case.supports
        motions, twists = motions_left(model, own)
        motions = motions.reshape(-1, motions.shape[2])
        twists[:3] += np.cross(twists[3:].T, model.centre_of_gravity).T
        momentum = mass.dot(motions)
        values = np.linalg.eigvalsh(motions.T @ momentum)
        if not values[0] > 1e-12 * values[-1]:
            raise ModelError(
                f'load case "{case.name}": the model\'s masses have no inertia about a line; give plates or beams a '
                "density, or more than two points a mass."
            )
        return cls(motions, momentum, twists)

    def _shares(self, of):
        return np.linalg.solve(self.motions.T @ self.momentum, of)

    def acceleration(self, loads):
        """What loads (n_unknowns,) cause: of the centre of gravity, mm/s2, and angular, rad/s2; shape (6,)."""
        return self.twists @ self._shares(self.motions.T @ loads)

    def force(self, loads):
        """What the accelerated masses put on the model under loads (n_unknowns,)."""
        return -self.momentum @ self._shares(self.motions.T @ loads)

    def relative(self, displacement):
        """Displacements (n_unknowns,) against the mean motion of the mass."""
        return displacement - self.motions @ self._shares(self.momentum.T @ displacement)

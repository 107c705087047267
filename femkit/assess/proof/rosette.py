"""Principal strain and stress from three gauges on one place.

Strain along a grid at the angle θ from the first is ``εx cos²θ + εy sin²θ + γ sin θ cos θ``; three grids give the
state, Hooke's law for a free face the stress (J. W. Dally, W. F. Riley, Experimental Stress Analysis, from memory).
One gauge is not a stress unless the state is uniaxial.
"""

from typing import NamedTuple

import numpy as np

from ...errors import ModelError, nearest_name
from ...model.values import as_numbers, bad_number, refuse, shortened
from ...results.gauges import ROSETTES
from ...results.stress import principal, von_mises

__all__ = ["RosetteState", "rosette"]


class RosetteState(NamedTuple):
    """Principal values, largest first; each an array of the readings' shape without the last axis."""

    e1: np.ndarray  # as the readings were given
    e2: np.ndarray
    angle: np.ndarray  # from the first grid to the largest, degrees, counter-clockwise, -90 < angle <= 90
    s1: np.ndarray  # MPa
    s2: np.ndarray
    von_mises: np.ndarray


def rosette(readings, *, E, nu, kind="0/45/90"):
    """Principal strain and stress from the three readings of a rosette.

    Parameters
    ----------
    readings : array_like, shape (..., 3)
        Strain along its grids in order, µm/m.
    E : float
        MPa.
    nu : float
    kind : {"0/45/90", "0/60/120"}

    Returns
    -------
    state : RosetteState
        Strains in µm/m, stresses in MPa.

    Examples
    --------
    >>> state = rosette([800, 500, -200], E=210_000, nu=0.3)
    >>> [round(float(value), 4) for value in state[:5]]
    [838.5165, -238.5165, 10.9007, 176.9911, 3.0089]
    """
    if str(kind) not in ROSETTES:
        raise ModelError(f'there is no rosette "{kind}". {nearest_name(kind, ROSETTES)[1]}')
    refuse(
        bad_number("rosette", "E", E, "MPa", " above 0"), bad_number("rosette", "nu", nu, "", " above -1 and below 0.5")
    )
    numbers = as_numbers(readings)
    if numbers is None or numbers.shape[-1:] != (3,):
        raise ModelError(f"a rosette has three readings, in numbers; these are {shortened(readings)}.")
    readings = numbers
    angle = np.radians(ROSETTES[kind])
    operator = np.stack([np.cos(angle) ** 2, np.sin(angle) ** 2, np.sin(angle) * np.cos(angle)], axis=1)
    x, y, shear = np.moveaxis(readings @ np.linalg.inv(operator).T, -1, 0)
    largest, angle = principal(np.stack([x, y, shear / 2], axis=-1))
    e1, e2 = np.moveaxis(largest, -1, 0)
    s1, s2 = ((a + nu * b) * 1e-6 * E / (1 - nu**2) for a, b in ((e1, e2), (e2, e1)))
    return RosetteState(e1, e2, np.degrees(angle), s1, s2, von_mises(np.stack([s1, s2, 0 * s1], axis=-1)))

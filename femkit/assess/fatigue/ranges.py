"""Which ranges of stress an event has at a weld, in which direction, and the damage that they do."""

import numpy as np

from ...results.stress import principal

__all__ = ["damage_of_event"]


def damage_of_event(event, spots, curve, shear, gamma_ff, gamma_mf, compressive):
    """Damage of a year, largest direct range and largest shear range of an event at some `Spots`, each (n,).

    `compressive` is the share of a range's compressive part that counts; for the rest see `assess_life`.
    """
    stress, n = event.stress(spots), len(spots.places)  # (n_times, n, 3)
    angle, is_principal = _direction(_widest(stress), curve.principal_within)
    damage, direct, sheared = np.zeros((3, n))
    for direction in (0.0, angle)[: 1 + is_principal.any()]:  # the largest range's may not be that of most damage
        place, ends, count = event.cycles(_normal_stress(stress, direction))
        size = gamma_ff * np.abs(np.subtract(*np.where(ends < 0, compressive * ends, ends)))
        cycles = curve.cycles(gamma_mf / curve.size_factor(spots.thickness[place]) * size)
        damage = np.maximum(damage, np.bincount(place, count / cycles, minlength=n))
        np.fmax.at(direct, place, size)
    if shear is not None:
        place, ends, count = event.cycles(np.where(is_principal, 0.0, stress[:, :, 2]))
        size = gamma_ff * np.abs(np.subtract(*ends))
        damage += np.bincount(place, count / shear.cycles(gamma_mf * size), minlength=n)
        np.fmax.at(sheared, place, size)
    return damage, direct, sheared


def _widest(stress):
    """The largest change of normal stress in any direction between two instants, as components (n, 3)."""
    if len(stress) == 2:
        return stress[1] - stress[0]
    size, change, places = np.zeros(stress.shape[1]), np.zeros(stress.shape[1:]), np.arange(stress.shape[1])
    for angle in np.radians(np.arange(0, 180, 15)):
        series = _normal_stress(stress, angle)
        is_wider = np.ptp(series, axis=0) > size
        size = np.maximum(size, np.ptp(series, axis=0))
        found = stress[series.argmax(axis=0), places] - stress[series.argmin(axis=0), places]
        change = np.where(is_wider[:, None], found, change)
    return change


def _direction(change, within):
    """Angle of the stress that counts to the weld's normal, rad, and whether it is the principal one."""
    values, angle = principal(change)
    angle = np.where(np.abs(values[:, 1]) > np.abs(values[:, 0]), angle + np.pi / 2, angle)
    angle = (angle + np.pi / 2) % np.pi - np.pi / 2
    is_principal = (np.abs(angle) <= np.radians(within)) & (within > 0)
    return np.where(is_principal, angle, 0.0), is_principal


def _normal_stress(stress, angle):
    c, s = np.cos(angle), np.sin(angle)
    return stress[..., 0] * c**2 + stress[..., 1] * s**2 + 2 * stress[..., 2] * s * c

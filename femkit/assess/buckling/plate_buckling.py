"""Buckling of flat plates by formulas: critical stresses, their interaction, and what is carried after buckling.

Compression is positive throughout. Plates are simply supported along every side that is not free. Values are from
memory of the documents named: S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 2nd ed., ch. 9 (TGe), and
EN 1993-1-5:2006; check them against your own copy.
"""

import numpy as np

from ...model.values import bad_number, refuse

__all__ = ["combined_factor", "compression_factor", "effective_width", "euler_stress", "resistance", "shear_factor"]

COLUMN = 0.21  # imperfection of columns made of a strip of plate: EN 1993-1-5, 4.5.3(5)
ETA = 1.0  # of webs in shear: the safe one of the values that EN 1993-1-5, 5.1 allows


def euler_stress(modulus, poisson, thickness, width):
    """``π² E / 12(1 - ν²) · (t / b)²``, MPa."""
    return np.pi**2 * modulus / (12 * (1 - poisson**2)) * (thickness / width) ** 2


def compression_factor(psi=1.0, aspect=np.inf, free=0):
    """k of compression along a plate: the critical largest stress is k times `euler_stress` of its width.

    Parameters
    ----------
    psi : array_like
        Least over largest stress across the width, compression positive; below -1 it counts as -1, on the safe side.
    aspect : array_like
        Length over width.
    free : array_like
        0: both long sides are held. 1: one is free, and there the stress is largest. -1: one is free, and there it is
        least.

    Returns
    -------
    k : ndarray
        The larger of two that both are safe: of the long plate with that `psi` (EN 1993-1-5, tables 4.1 and 4.2), and
        of even compression as large as the largest: ``(m b/a + a/(m b))²`` (G. H. Bryan, 1891; TGe 9.2). With a free
        side ``0.425 + (b/a)²`` in even compression (TGe 9.4; up to 1.7 % high for squares); where stress is largest
        there, times what the long plate has more at that `psi` (4/(3 + ψ), as it turns about its held side); where it
        is least there, that of the long plate and ``(b/a)²``, which is low.
    """
    psi, aspect, free = np.clip(psi, -1.0, 1.0), np.asarray(aspect, dtype=float), np.asarray(free)
    held = np.where(psi > 0, 8.2 / (1.05 + np.abs(psi)), 7.81 - 6.29 * psi + 9.78 * psi**2)
    most_at_edge = 0.57 - 0.21 * psi + 0.07 * psi**2
    most_at_root = np.where(psi > 0, 0.578 / (np.abs(psi) + 0.34), 1.7 - 5 * psi + 17.1 * psi**2)
    long = np.select([free == 0, free == 1], [held, most_at_edge], most_at_root)
    with np.errstate(invalid="ignore"):  # of plates without end
        below = np.maximum(np.floor(aspect), 1.0)
        even = np.min([(m / aspect + aspect / m) ** 2 for m in (below, below + 1)], axis=0)
    even = np.where(np.isinf(aspect), 4.0, even)
    at_edge, at_root = (0.425 + 1 / aspect**2) * most_at_edge / 0.43, most_at_root - 0.006 + 1 / aspect**2
    return np.maximum(long, np.select([free == 0, free == 1], [even, at_edge], at_root))


def shear_factor(aspect):
    """k of even shear, by the shorter side: ``5.34 + 4 (b/a)²``, all sides held (TGe 9.7; 3 % low at a/b = 2)."""
    return 5.34 + 4 / np.asarray(aspect, dtype=float) ** 2


def combined_factor(along, psi_along, across, psi_across, shear):
    """The factor at which stress along, across and in shear buckle a plate together: EN 1993-1-5, 10(5), eq. 10.6.

    Even compression with shear is ``R_c + R_s² = 1`` in it, bending with shear ``R_b² + R_s² = 1`` (up to 10 % high by
    Ritz sums). Both ways it is ``R_x + R_y = 1``, bent or not, which is safe, since a domain of stability is convex:
    there eq. 10.6 takes the root of squares of what is bent, up to 28 % above the same sums.

    Parameters
    ----------
    along, across, shear : array_like
        Stress over its critical stress when it acts alone; tension counts as 0.
    psi_along, psi_across : array_like
        As in `compression_factor`.

    Returns
    -------
    factor : ndarray
        Infinite where nothing buckles the plate.
    """
    parts = [(np.maximum(r, 0.0), np.clip(psi, -1, 1)) for r, psi in ((along, psi_along), (across, psi_across))]
    linear, rest = (sum((a + sign * psi) / 4 * r for r, psi in parts) for a, sign in ((1, 1), (3, -1)))  # their sum: R
    rate = linear + np.sqrt(rest**2 + np.square(shear))
    with np.errstate(divide="ignore"):
        return 1 / rate


def reduction(slenderness, psi=1.0, is_outstand=False):
    """ρ of effective width: EN 1993-1-5, 4.4(2), eq. 4.2 and 4.3."""
    psi, s = np.clip(psi, -1.0, 1.0), np.maximum(slenderness, 1e-9)
    held = np.where(s <= 0.5 + np.sqrt(0.085 - 0.055 * psi), 1.0, (s - 0.055 * (3 + psi)) / s**2)
    return np.minimum(np.where(is_outstand, np.where(s <= 0.748, 1.0, (s - 0.188) / s**2), held), 1.0)


def between_column(plate, slenderness, excess):
    """ρ between that of a plate and χ of a column: EN 1993-1-5, 4.5.4, eq. 4.13.

    `slenderness` is the column's; `excess` is the critical stress of the plate over that of the column, less 1.
    """
    size = 0.5 * (1 + COLUMN * (slenderness - 0.2) + slenderness**2)
    column = np.minimum(1 / (size + np.sqrt(np.maximum(size**2 - slenderness**2, 0.0))), 1.0)
    share = np.clip(excess, 0.0, 1.0)
    return np.minimum((plate - column) * share * (2 - share) + column, 1.0)


def shear_reduction(slenderness):
    """χ_w of the web alone, end posts not rigid: EN 1993-1-5, table 5.1; η = 1."""
    return np.minimum(ETA, 0.83 / np.maximum(slenderness, 1e-9))


def resistance(stress, reduced, allowed):
    """Utilisation after buckling: EN 1993-1-5, 10(5), eq. 10.5.

    Parameters
    ----------
    stress : tuple of three array_like
        Along, across, shear, MPa, compression positive.
    reduced : tuple of three array_like
        ρ along, ρ across (1 for tension), χ_w.
    allowed : array_like
        Yield strength over its factor, MPa.

    Notes
    -----
    Where both are compression their product is not divided by ρ, as later national annexes have it (V = ρ_x ρ_z).
    """
    x, y, shear = (s / r for s, r in zip(stress, reduced))
    both = np.where((x > 0) & (y > 0), reduced[0] * reduced[1], 1.0)
    return np.sqrt(np.maximum(x**2 + y**2 - both * x * y + 3 * shear**2, 0.0)) / allowed


def effective_width(width, thickness, yield_strength, psi=1.0, *, is_outstand=False, modulus=210_000.0):
    """Slenderness, ρ and effective width of a long plate in compression, by hand: EN 1993-1-5, 4.4.

    Parameters
    ----------
    width, thickness : float
        mm.
    yield_strength : float
        MPa.
    psi : float
        As in `compression_factor`; of an outstand 1 only is taken.
    is_outstand : bool
        One long side is free: k = 0.43.
    modulus : float
        E, MPa.

    Returns
    -------
    slenderness, reduction, effective : float
        ``b/t / (28.4 ε √k)``, ρ, and ρ b in mm; for ψ < 0 b is the part in compression, ``b / (1 - ψ)``.

    Examples
    --------
    >>> [float(round(x, 4)) for x in effective_width(500, 6, 355)]
    [1.8032, 0.4869, 243.4513]
    """
    sizes = {"width": (width, "mm"), "thickness": (thickness, "mm"), "yield_strength": (yield_strength, "MPa")}
    sizes["modulus"] = modulus, "MPa"
    refuse(*(bad_number("effective width", name, *each, " above 0") for name, each in sizes.items()))
    refuse(bad_number("effective width", "psi", psi))
    k = 0.43 if is_outstand else compression_factor(psi)
    epsilon = np.sqrt(235 / yield_strength * modulus / 210_000)
    slenderness = width / thickness / (28.4 * epsilon * np.sqrt(k))
    rho = reduction(slenderness, psi, is_outstand)
    return slenderness, rho, rho * width / (1 - min(psi, 0.0))

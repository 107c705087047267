"""Section forces, stresses, von Mises and principal values in shell and plane-stress cells, from displacements.

Recovery
--------
A cell's strains follow from its points' displacements by the operator of its own formulation, less the free thermal
strain; its section stiffness turns them into

* membrane forces ``nx ny nxy`` (N/mm), tension positive,
* bending moments ``mx my mxy`` (N mm/mm), positive where they put the top in tension,
* transverse shears ``qx qy`` (N/mm),

all in the cell's own axes. Stress over the thickness t is linear, ``n/t + 12 m z/t³``, so at top and bottom it is
``n/t ± 6 m/t²`` (Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., ch. 2 and 4).
"""

import numpy as np

from ..errors import ModelError, nearest_name
from ..solve.cells import by_chunks, cell_arrays, element_family

__all__ = [
    "SURFACES",
    "cell_resultants",
    "principal",
    "surface_stress",
    "to_cell_axes",
    "to_global",
    "von_mises",
]

SURFACES = {"top": 1.0, "middle": 0.0, "bottom": -1.0}  # z over t/2


def cell_resultants(model, displacements, strains):
    """Section forces at the centre and the corners of every cell, for several load cases at once.

    Parameters
    ----------
    model : Model
    displacements : ndarray, shape (n_cases, n_points, n_components)
        mm and rad.
    strains : ndarray, shape (n_cases, n_cells)
        Free thermal strain, 1.

    Returns
    -------
    resultants : ndarray, shape (n_cases, n_cells, 5, 8)
        Place 0 is the centre, 1 to 4 the corners (the fourth NaN for triangles); ``nx ny nxy`` N/mm, ``mx my mxy``
        N mm/mm, ``qx qy`` N/mm in the cell's axes. Plane stress has zeros behind the first three.
    """
    n_cases = len(displacements)
    out = np.full((n_cases, model.mesh.n_cells, 5, 8), np.nan)
    arrays = cell_arrays(model)
    for kind, connectivity, block in model.mesh.blocks():
        family = element_family(model, kind)

        def force_of(part, family=family, cells=arrays[kind], connectivity=connectivity, strains=strains[:, block]):
            some = cells[part]
            moved = displacements[:, connectivity[part]].reshape(n_cases, len(some), -1)  # (c, e, a)
            operator = family.strain_operator(some)  # (e, p, s, a)
            n, places, n_strains, unknowns = operator.shape
            strain = operator.reshape(n, places * n_strains, unknowns) @ moved.transpose(1, 2, 0)
            strain = strain.reshape(n, places, n_strains, n_cases)
            strain[:, :, :2] -= strains[:, part].T[:, None, None, :]
            return family.section_stiffness(some)[:, None] @ strain  # (e, p, s, c)

        for part, force in by_chunks(force_of, len(connectivity)):
            _n, places, n_strains, _n_cases = force.shape
            where = slice(block.start + part.start, block.start + part.stop)
            out[:, where, :places, n_strains:] = 0.0
            out[:, where, :places, :n_strains] = force.transpose(3, 0, 1, 2)
    return out


def surface_stress(resultants, thickness, surface):
    """Stress in the cell's axes on one surface.

    Parameters
    ----------
    resultants : ndarray, shape (n_cells, ..., 8)
    thickness : ndarray, shape (n_cells,)
        mm.
    surface : {"top", "middle", "bottom"}

    Returns
    -------
    stress : ndarray, shape (n_cells, ..., 3)
        ``sx sy txy``, MPa.
    """
    if surface not in SURFACES:
        raise ModelError(f'there is no surface "{surface}". {nearest_name(surface, SURFACES)[1]}')
    t = thickness.reshape(-1, *[1] * (resultants.ndim - 1))
    return resultants[..., :3] / t + SURFACES[surface] * 6 * resultants[..., 3:6] / t**2


def von_mises(stress):
    """Von Mises stress of a plane state: ``√(sx² − sx sy + sy² + 3 txy²)``, MPa.

    Parameters
    ----------
    stress : ndarray, shape (..., 3)

    Examples
    --------
    >>> von_mises(np.array([[120.0, -40.0, 60.0]]))      # √(120² + 120 · 40 + 40² + 3 · 60²) = √31 600
    array([177.76388835])
    """
    sx, sy, txy = np.moveaxis(np.asarray(stress), -1, 0)
    return np.sqrt(np.maximum(sx**2 - sx * sy + sy**2 + 3 * txy**2, 0.0))


def principal(stress):
    """Largest and smallest stress of a plane state, and the direction of the largest.

    Parameters
    ----------
    stress : ndarray, shape (..., 3)
        ``sx sy txy``, MPa; or membrane forces, N/mm.

    Returns
    -------
    values : ndarray, shape (..., 2)
        Largest first.
    angle : ndarray, shape (...)
        From local x to the largest, rad, in (-pi/2, pi/2], positive towards local y.

    Examples
    --------
    >>> principal(np.array([120.0, -40.0, 60.0]))[0]
    array([140., -60.])
    """
    sx, sy, txy = np.moveaxis(np.asarray(stress), -1, 0)
    middle, radius = (sx + sy) / 2, np.hypot((sx - sy) / 2, txy)
    return np.stack([middle + radius, middle - radius], axis=-1), 0.5 * np.arctan2(2 * txy, sx - sy)


def to_global(stress, frames):
    """A plane state in the cells' axes as a global tensor.

    Parameters
    ----------
    stress : ndarray, shape (n_cells, ..., 3)
    frames : ndarray, shape (n_cells, 3, 3)

    Returns
    -------
    tensor : ndarray, shape (n_cells, ..., 6)
        ``xx yy zz xy yz xz``, VTK's order for symmetric tensors.
    """
    x, y = (frames[:, i].reshape(-1, *[1] * (stress.ndim - 2), 3) for i in (0, 1))
    pairs = ((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (0, 2))
    return np.stack(
        [
            stress[..., 0] * x[..., i] * x[..., j]
            + stress[..., 1] * y[..., i] * y[..., j]
            + stress[..., 2] * (x[..., i] * y[..., j] + x[..., j] * y[..., i])
            for i, j in pairs
        ],
        axis=-1,
    )


def to_cell_axes(tensor, frames):
    """The in-plane part of a global tensor in the cells' axes: `to_global` backwards."""
    x, y = (frames[:, i].reshape(-1, *[1] * (tensor.ndim - 2), 3) for i in (0, 1))
    xx, yy, zz, xy, yz, xz = np.moveaxis(tensor, -1, 0)
    full = np.stack([np.stack(row, axis=-1) for row in ((xx, xy, xz), (xy, yy, yz), (xz, yz, zz))], axis=-2)
    along = lambda a, b: np.einsum("...i,...ij,...j->...", a, full, b)  # noqa: E731
    return np.stack([along(x, x), along(y, y), along(x, y)], axis=-1)

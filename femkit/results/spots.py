"""Stress at chosen places in axes of their own, by load case, so that states are summed before a range is taken.

A weld's life depends on the direction of stress against it, and a range is the difference of two states: so what is
kept are components, never principal or von Mises values, and sums of load cases are formed from them.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np
from scipy.spatial import cKDTree

from ..errors import ModelError, nearest_name
from ..mesh.selection import select_cells
from .averaging import JUDGED_OVER
from .stress import to_cell_axes, to_global

__all__ = ["Spots", "nominal_spots"]


@dataclass(frozen=True, eq=False)
class Spots:
    """Stress at some places, by load case.

    Parameters
    ----------
    name : str
        As tables and errors are to name them: ``"doorway, rear sill, toe of the doubler"``.
    places : ndarray, shape (n, 3)
        mm.
    by_case : dict of str to ndarray, shape (n, 3)
        By load case: stress across the weld or line, along it, and shear between the two, MPa, tension positive.
    thickness : ndarray, shape (n,)
        Of the plate there, mm.
    why : tuple of str, optional
        For every place why it has no stress (its values are NaN), "" where it has.
    """

    name: str
    places: np.ndarray
    by_case: dict
    thickness: np.ndarray
    _: KW_ONLY
    why: tuple = ()

    def stress(self, factors):
        """Stress in a sum of load cases, shape (n, 3), MPa.

        Parameters
        ----------
        factors : dict of str to float
            Load case to factor.

        Raises
        ------
        ModelError
            If a load case is not known here.
        """
        unknown = [name for name in factors if name not in self.by_case]
        if unknown:
            raise ModelError(
                f'{self.name}: there is no load case "{unknown[0]}". {nearest_name(unknown[0], self.by_case)[1]}'
            )
        return sum((factor * self.by_case[name] for name, factor in factors.items()), np.zeros(self.places.shape))


def nominal_spots(result, name, at, across, *, cells=None, distance=JUDGED_OVER, surfaces=("top", "bottom")):
    """Judged stress at chosen places in a direction of one's own: nominal stress, for welds and edges far from peaks.

    Parameters
    ----------
    result : StaticResult
    name : str
        As tables are to name the weld.
    at : array_like, shape (3,) or (n, 3)
        mm; the stress is that of the cell with the nearest centre.
    across : array_like, shape (3,) or (n, 3)
        Direction of the stress that counts, for instance square to the weld; its part in the plate is taken.
    cells : str, place or array of int, optional
        Only these: the plate that is meant where several meet.
    distance : float
        Averaged over, mm, on one plate and smooth sheet: see `CaseResult.judged_stress`. 0 is the cell alone.
    surfaces : sequence of {"top", "middle", "bottom"}
        All places are repeated for each.

    Returns
    -------
    spots : Spots
        A place with no such cell within `distance` of its border has no stress, and says so.

    Raises
    ------
    ModelError
        If a direction has no part in the plate, or a selection is not there.
    """
    mesh = result.model.mesh
    at = np.atleast_2d(np.asarray(at, dtype=float))
    chosen = np.arange(mesh.n_cells) if cells is None else select_cells(mesh, cells, name)
    gap, nearest = cKDTree(mesh.centres[chosen]).query(at)
    cell = chosen[nearest]
    weights = result.neighbourhood(float(distance)).weights[cell]  # (n, n_cells)
    frames, axes = result.model.per_cell.frames, _weld_axes(name, across, mesh.normals[cell])
    why = tuple(
        f"no cell there: the nearest one's centre is {far:.0f} mm away" if far > distance + size else ""
        for far, size in zip(gap, mesh.sizes[cell])
    )
    is_there = np.array([not each for each in why])[:, None]

    def stress(case):
        parts = [weights @ to_global(result[case].stress(side), frames) for side in surfaces]
        return np.concatenate([np.where(is_there, to_cell_axes(part, axes), np.nan) for part in parts])

    by_case = {case.name: stress(case.name) for case in result.model.load_cases}
    times = len(surfaces)
    thickness = result.model.per_cell.thickness[cell]
    return Spots(name, np.tile(at, (times, 1)), by_case, np.tile(thickness, times), why=why * times)


def _weld_axes(name, across, normals):
    """Axes across, along and square to the plate at every place, shape (n, 3, 3)."""
    across = np.broadcast_to(np.asarray(across, dtype=float), normals.shape)
    flat = across - np.einsum("ni,ni->n", across, normals)[:, None] * normals
    length = np.linalg.norm(flat, axis=1, keepdims=True)
    if not (length > 0.1 * np.linalg.norm(across, axis=1, keepdims=True)).all():
        raise ModelError(f"{name}: the direction across must be finite and lie in the plate, or nearly so.")
    flat = flat / length
    return np.stack([flat, np.cross(normals, flat), normals], axis=1)

"""Stress at chosen places in axes of their own, by load case, so that states are summed before a range is taken.

A weld's life depends on the direction of stress against it, and a range is the difference of two states: so what is
kept are components, never principal or von Mises values, and sums of load cases are formed from them.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.closest import feet_of
from ..mesh.selection import select_cells
from ..model.values import as_numbers, bad_name, bad_number, refuse
from .averaging import JUDGED_OVER
from .places import stress_at_feet
from .static import StaticResult
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
    notes : tuple of str
        What was accepted in reading them.

    Raises
    ------
    ModelError
        If arrays are not of these shapes, or there is no place.
    """

    name: str
    places: np.ndarray
    by_case: dict
    thickness: np.ndarray
    _: KW_ONLY
    why: tuple = ()
    notes: tuple = ()

    def __post_init__(self):
        n, who = np.shape(self.places)[:1] or (0,), f'spots "{self.name}"'
        wanted = [("places", self.places, (*n, 3)), ("thickness", self.thickness, n)]
        wanted += [(f'stress of "{case}"', stress, (*n, 3)) for case, stress in self.by_case.items()]
        wanted += [("why", self.why, n)] * bool(self.why)
        refuse(
            bad_name("spots", self.name),
            *(
                f"{who}: {what} has the shape {np.shape(given)}; it must be {shape}."
                for what, given, shape in wanted
                if np.shape(given) != shape
            ),
            "" if n[0] and self.by_case else f"{who}: there must be a place and a load case at least.",
        )

    def stress(self, factors):
        """Stress in a sum of load cases by their factors, shape (n, 3), MPa; `ModelError` if one is not known here."""
        unknown = [name for name in factors if name not in self.by_case]
        if unknown:
            raise ModelError(
                f'{self.name}: there is no load case "{unknown[0]}". {nearest_name(unknown[0], self.by_case)[1]}'
            )
        return sum((factor * self.by_case[name] for name, factor in factors.items()), np.zeros(self.places.shape))


def nominal_spots(result, name, at, across, *, cells=None, distance=JUDGED_OVER, surfaces=("top", "bottom")):
    """Judged stress at chosen places in directions of one's own: for welds away from peaks, and for cut edges.

    Parameters
    ----------
    result : StaticResult
    name : str
        As tables are to name the weld.
    at : array_like, shape (3,) or (n, 3)
        mm; the nearest place on the cells is taken.
    across : array_like, shape (3,) or (n, 3)
        Direction of the stress that counts, for instance square to the weld; its part in the plate is taken.
    cells : str, place or array of int, optional
        Only these: the plate that is meant where several meet.
    distance : float or None
        Averaged over, mm, on one plate and smooth sheet: see `CaseResult.judged_stress`; 0 is the cell alone. None is
        the place itself, by corner stress averaged between cells: for cut edges, whose own peak counts.
    surfaces : sequence of {"top", "middle", "bottom"}
        All places are repeated for each.

    Returns
    -------
    spots : Spots
        A place farther than 25 mm off such cells has no stress, and says so.

    Raises
    ------
    ModelError
        If a place or direction is not three finite numbers, a direction has no part in the plate, or a selection is
        not there.
    """
    if not isinstance(result, StaticResult):
        raise ModelError(f"{name}: the result is {result!r}; it must be what solve_static gives.")
    surfaces = (surfaces,) if isinstance(surfaces, str) else tuple(surfaces)
    refuse(
        distance is not None and bad_number(name, "distance", distance, "mm", " of at least 0"),
        "" if surfaces else f"{name}: there is no surface; at least one of top, middle and bottom.",
    )
    model, at = result.model, _vectors(name, "the places", at)
    feet = feet_of(model.mesh, at, None if cells is None else select_cells(model.mesh, cells, name))
    axes = _weld_axes(name, across, model.mesh.normals[feet.cell])
    why = [f"there is no such plate within {d:.0f} mm" if d > JUDGED_OVER else "" for d in feet.distance]
    is_off = (feet.distance > JUDGED_OVER)[:, None]

    def stress(case, surface):
        if distance is None:
            tensor = stress_at_feet(case, feet, surface, averaged=True)
        else:
            around = result.neighbourhood(float(distance)).weights[feet.cell]  # (n, n_cells)
            tensor = around @ to_global(case.stress(surface), model.per_cell.frames)
        return np.where(is_off, np.nan, to_cell_axes(tensor, axes))

    by_case = {
        case.name: np.concatenate([stress(result[case.name], surface) for surface in surfaces])
        for case in model.load_cases
    }
    thickness, times = model.per_cell.thickness[feet.cell], len(surfaces)
    return Spots(name, np.tile(at, (times, 1)), by_case, np.tile(thickness, times), why=tuple(why * times))


def _weld_axes(name, across, normals):
    """Axes across, along and square to the plate at every place, shape (n, 3, 3)."""
    across = _vectors(name, "the direction across", across)
    if len(across) not in (1, len(normals)):
        raise ModelError(f"{name}: there are {len(normals)} places and {len(across)} directions; one, or one each.")
    across = np.broadcast_to(across, normals.shape)
    flat = across - np.einsum("ni,ni->n", across, normals)[:, None] * normals
    length = np.linalg.norm(flat, axis=1, keepdims=True)
    if not (length > 0.1 * np.linalg.norm(across, axis=1, keepdims=True)).all():
        raise ModelError(f"{name}: the direction across must lie in the plate, or have a tenth of its length there.")
    flat = flat / length
    return np.stack([flat, np.cross(normals, flat), normals], axis=1)


def _vectors(name, what, given):
    """Vectors (n, 3) from one or several."""
    vectors = as_numbers(given)
    if vectors is None or vectors.ndim not in (1, 2) or vectors.shape[-1] != 3 or not np.isfinite(vectors).all():
        raise ModelError(f"{name}: {what} must be three finite numbers, or rows of three.")
    return np.atleast_2d(vectors)

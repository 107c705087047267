"""What strain gauges on a solved model would read: each averages over its grid, on one face of one plate.

Strain follows from the stress at the face by Hooke's law, so free thermal expansion is not in it: that is what a gauge
reads whose temperature compensation fits the material. One gauge is not a stress unless the state is uniaxial.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.closest import Feet, closest_on_cells, feet_of
from ..mesh.selection import select_cells
from ..mesh.topology import FOLD_ANGLE
from ..model.values import bad_name, bad_number, bad_vector, place_words, refuse, sequence_of
from .averaging import Sheets
from .places import stress_at_feet
from .stress import to_cell_axes

__all__ = ["ROSETTES", "Gauge", "PlacedGauges", "Rosette", "place_gauges"]

ROSETTES = {"0/45/90": (0, 45, 90), "0/60/120": (0, 60, 120)}  # degrees
MICRO = 1e6
GAUSS, WEIGHTS = np.polynomial.legendre.leggauss(5)
NUDGE = 1.0  # mm, by which a gauge is moved to see how its strain changes from place to place
NEAR = 1.0  # mm from the plate's face that still count as on it: what a tape measure gives. Common practice, no source
OVER = 0.1  # of the grid's length, by which a straight grid may pass a curved edge. Common practice, no source
STEEP = 0.1  # sine: what lies within 6 degrees of the normal has no direction on a plate, as for `Plate.reference`
SHIFTS = NUDGE * np.array([(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)])  # along and across


@dataclass(frozen=True)
class Gauge:
    """A strain gauge.

    Parameters
    ----------
    name : str
        Of its channel.
    at : 3 numbers
        The middle of its grid, on the plate's face or its middle plane, mm.
    direction : 3 numbers
        Along its grid; laid on the plate.
    surface : {"top", "bottom"} or 3 numbers
        The face it is glued to; by a direction: the face that looks that way, ``(0, -1, 0)``.
    length : float
        Of its grid, mm; its width, mostly half of that or less, is left out.
    on : str, place or array of int, optional
        Cells it is on, where plates meet.
    """

    name: str
    at: tuple
    direction: tuple
    _: KW_ONLY
    surface: str | tuple = "top"
    length: float = 6.0
    on: object = None

    @property
    def angles(self):
        """Of its grids, by the name of each grid's channel: degrees from `direction`."""
        return {self.name: 0}


@dataclass(frozen=True)
class Rosette(Gauge):
    """Three gauges on one place: channels ``"name a"``, ``"name b"``, ``"name c"``.

    Parameters
    ----------
    kind : {"0/45/90", "0/60/120"}
        Degrees of its grids from `direction`, counter-clockwise as seen by who looks at the face.
    name, at, direction, surface, length, on
        As of a `Gauge`; all grids lie over each other.
    """

    _: KW_ONLY
    kind: str = "0/45/90"

    @property
    def angles(self):
        """Of its grids, by the name of each grid's channel: degrees from `direction`."""
        return dict(zip((f"{self.name} {letter}" for letter in "abc"), ROSETTES[self.kind]))


@dataclass(frozen=True, eq=False)
class PlacedGauges:
    """Gauges on a model, one row a channel.

    Attributes
    ----------
    model : Model
    gauges : tuple of Gauge
    channels : tuple of str
    cell : ndarray of int, shape (n,)
        Under the middle of each grid.
    place, direction, normal : ndarray, shape (n, 3)
        The grid's middle on the mesh, mm; along it on the plate; out of the face it is glued to.
    why : tuple of str
        Why a grid has no strain, "" where it has.
    """

    model: object
    gauges: tuple
    channels: tuple
    cell: np.ndarray
    place: np.ndarray
    direction: np.ndarray
    normal: np.ndarray
    why: tuple
    _feet: Feet  # of all grids, shifts and places along the grid in a row
    _axes: np.ndarray  # (n, shifts, places, 3, 3) rows along, across, out of the face
    _is_on: np.ndarray  # (n, shifts)

    def mean_strain(self, case, *, averaged=True):
        """Strain along, across, and shear between the two (the angle's change), mean over each grid, (n, 3), 1.

        NaN with a `why`. From stress averaged between cells of one plate and smooth sheet, or from the cells' own.
        """
        return self._means(case, averaged)[0][:, 0]

    def mean_stress(self, case):
        """Stress along, across, and shear between the two, mean over each grid, (n, 3), MPa."""
        return self._means(case)[1][:, 0]

    def gradient(self, case):
        """How much the strain along changes with the place, (n,), 1/mm: the most of 1 mm along or across."""
        strain = self._means(case)[0][:, :, 0]
        change = np.fmax.reduce(np.abs(strain[:, 1:] - strain[:, :1]), axis=1)  # where a shifted grid is on the plate
        return change / NUDGE

    def table(self, result, names=None):
        """Strain along each grid in load cases and combinations, all or some, with its place, as a table."""
        names = result.names if names is None else names
        strains = {f"{name} (µm/m)": MICRO * self.mean_strain(result[name])[:, 0] for name in names}
        return self.places().assign(**strains, why=self.why)

    def places(self):
        """Where each channel's grid is, as a table."""
        import pandas as pd

        words = lambda rows, digits: [place_words(row, digits=digits) for row in rows]  # noqa: E731
        is_top = np.einsum("ni,ni->n", self.normal, self.model.mesh.normals[self.cell]) > 0
        table = {
            "plate": self.model.plate_of_cell[self.cell],
            "at (mm)": words(self.place, 1),
            "direction": words(self.direction, 3),
            "face": np.where(is_top, "top", "bottom"),
            "looks to": words(self.normal, 2),
            "grid (mm)": [gauge.length for gauge in self.gauges for _ in gauge.angles],
        }
        return pd.DataFrame(table, index=pd.Index(self.channels, name="gauge"))

    def _means(self, case, averaged=True):
        """Strain and stress in the grids' axes, mean over each grid as it is and shifted, both (n, shifts, 3)."""
        cells, axes = self._feet.cell, self._axes.reshape(-1, 3, 3)
        is_top = np.einsum("ni,ni->n", axes[:, 2], self.model.mesh.normals[cells]) > 0
        tensors = [stress_at_feet(case, self._feet, side, averaged=averaged) for side in ("top", "bottom")]
        stress = to_cell_axes(np.where(is_top[:, None], *tensors), axes)
        E, nu = self.model.per_cell.youngs_modulus[cells], self.model.per_cell.poissons_ratio[cells]
        along, across, shear = stress.T
        strain = np.stack([along - nu * across, across - nu * along, 2 * (1 + nu) * shear], axis=1) / E[:, None]
        means = (np.einsum("nskc,k->nsc", of.reshape(self._axes.shape[:4]), WEIGHTS / 2) for of in (strain, stress))
        return [np.where(self._is_on[:, :, None], mean, np.nan) for mean in means]


def place_gauges(model, gauges):
    """Gauges laid on a model.

    Parameters
    ----------
    model : Model
    gauges : sequence of Gauge or Rosette

    Returns
    -------
    placed : PlacedGauges
        A grid that runs over a fold, an edge or onto another plate has no strain, and a `why`.

    Raises
    ------
    ModelError
        If a gauge lies beside the structure (by how much), along the plate's normal, on several plates at once, or
        two have one name; all such gauges are named.
    """
    gauges = sequence_of("gauges", gauges, Gauge)
    refuse("" if gauges else "there are no gauges; give at least one.")
    refuse(*(fault for gauge in gauges for fault in _faults(gauge)))
    channels = [channel for gauge in gauges for channel in gauge.angles]
    twice = dict.fromkeys(name for name in channels if channels.count(name) > 1)
    refuse(*(f'gauge "{name}": the name is given twice; each channel needs its own.' for name in twice))
    sheets, found, faults = Sheets.of(model).of_cell, [], []
    for gauge in gauges:
        try:
            found += _placed(model, gauge, sheets)
        except ModelError as fault:
            faults.append(fault)
    refuse(*faults)
    cell, place, direction, normal, why, feet, axes, is_on = zip(*found)
    joined = Feet(*(np.concatenate([getattr(each, name) for each in feet]) for name in Feet.__dataclass_fields__))
    arrays = map(np.array, (cell, place, direction, normal))
    return PlacedGauges(model, gauges, tuple(channels), *arrays, why, joined, np.array(axes), np.array(is_on))


def _faults(gauge):
    who = f'gauge "{gauge.name}"'
    kind, surface = getattr(gauge, "kind", "0/45/90"), gauge.surface
    is_side = (
        surface in ("top", "bottom") if isinstance(surface, str) else not bad_vector(who, "", surface, may_be_0=False)
    )
    return [
        bad_name(who, gauge.name),
        bad_vector(who, "at", gauge.at),
        bad_vector(who, "direction", gauge.direction, may_be_0=False),
        bad_number(who, "length", gauge.length, "mm", " above 0"),
        "" if str(kind) in ROSETTES else f'{who}: there is no rosette "{kind}". {nearest_name(kind, ROSETTES)[1]}',
        "" if is_side else f'{who}: surface is {surface!r}; it must be "top", "bottom" or three numbers, not all 0.',
    ]


def _placed(model, gauge, sheets):
    """The fields of a `PlacedGauges` for each grid of a gauge."""
    mesh, who, at = model.mesh, f'gauge "{gauge.name}"', np.array([gauge.at], dtype=float)
    cells = np.arange(mesh.n_cells) if gauge.on is None else select_cells(mesh, gauge.on, who)
    (cell,), (foot,), (beside,) = _nearest(mesh, at, cells)
    plate, up = model.plate_of_cell[cell], mesh.normals[cell]
    far, half = np.linalg.norm(at[0] - foot), model.per_cell.thickness[cell] / 2
    if beside > OVER * gauge.length or far > abs(model.per_cell.offset[cell]) + half + NEAR:
        where = place_words(foot, digits=1)
        raise ModelError(f'{who}: it lies {far:.4g} mm off the nearest place, {where} mm on plate "{plate}".')
    others = cells[sheets[cells] != sheets[cell]]
    if len(others):
        (other,), (there,), _ = _nearest(mesh, at, others)
        if np.linalg.norm(at[0] - there) < far + 1e-3 * mesh.sizes[cell]:
            raise ModelError(
                f'{who}: it lies where plates "{plate}" and "{model.plate_of_cell[other]}" meet, or one is folded; '
                "move it, or say with on= which cells it is on."
            )
    towards = {"top": up, "bottom": -up}.get(gauge.surface) if isinstance(gauge.surface, str) else gauge.surface
    normal = up * np.sign(up @ towards)
    along = np.array(gauge.direction) - (up @ gauge.direction) * up
    for what, vector, share in (
        ("surface looks along", towards, abs(up @ towards)),
        ("direction is the normal of", gauge.direction, np.linalg.norm(along)),
    ):
        if share < STEEP * np.linalg.norm(vector):
            raise ModelError(f'{who}: its {what} plate "{plate}" there, whose normal is {place_words(up, digits=3)}.')
    along /= np.linalg.norm(along)
    sheet, grids = np.flatnonzero(sheets == sheets[cell]), []
    for angle in np.radians(list(gauge.angles.values())):
        turned = np.cos(angle) * along + np.sin(angle) * np.cross(normal, along)
        grids.append((cell, foot, turned, normal, *_grid(model, gauge, sheet, foot, turned, normal)))
    return grids


def _grid(model, gauge, sheet, middle, along, normal):
    """Why a grid has no strain, and its feet, axes, and whether it is on the sheet where it is and shifted."""
    mesh, across = model.mesh, np.cross(normal, along)
    reach = np.append(GAUSS, (-1, 1)) * gauge.length / 2  # the ends only show where the grid lies
    places = middle + SHIFTS @ np.array([along, across])  # (shifts, 3)
    places = places[:, None] + reach[:, None] * along
    _cell, foot, beside = _nearest(mesh, places.reshape(-1, 3), sheet)
    is_off = (beside > OVER * gauge.length).reshape(len(SHIFTS), -1)
    feet = feet_of(mesh, places[:, :-2].reshape(-1, 3), sheet)
    normals = mesh.normals[feet.cell]
    normals = normals * np.sign(normals @ normal)[:, None]
    x = along - (normals @ along)[:, None] * normals
    x /= np.linalg.norm(x, axis=1, keepdims=True)
    axes = np.stack([x, np.cross(normals, x), normals], axis=1).reshape(len(SHIFTS), -1, 3, 3)
    why = ""
    if is_off[0].any():
        border = foot[: len(reach)][is_off[0]][np.abs(reach[is_off[0]]).argmin()]
        away = np.linalg.norm(border - middle)
        why = f"its grid of {gauge.length:g} mm {_beyond(model, sheet, border)}, {away:.2g} mm from its middle"
    return why, feet, axes, ~is_off.any(axis=1)


def _beyond(model, sheet, border):
    """What lies beyond a place on the border of a sheet, in words."""
    mesh, plates = model.mesh, model.plate_of_cell
    (here,), _, _ = _nearest(mesh, border[None], sheet)
    others = np.setdiff1d(np.arange(mesh.n_cells), sheet)
    if len(others):
        (there,), (foot,), _ = _nearest(mesh, border[None], others)
        if np.linalg.norm(foot - border) < 1e-3 * mesh.sizes[here]:
            is_fold = abs(mesh.normals[here] @ mesh.normals[there]) < np.cos(FOLD_ANGLE)
            return f'runs {"over a fold" if is_fold else "on"} to plate "{plates[there]}"'
    return f'runs over the edge of plate "{plates[here]}"'


def _nearest(mesh, places, cells):
    """The nearest cells, the places on them, and how far these lie sideways, along the cells' planes, mm."""
    cell, corners, weights = closest_on_cells(mesh, places, cells)
    foot = np.einsum("nk,nki->ni", weights, mesh.points[corners])
    gap, normal = places - foot, mesh.normals[cell]
    return cell, foot, np.linalg.norm(gap - np.einsum("ni,ni->n", gap, normal)[:, None] * normal, axis=1)

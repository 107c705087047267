"""What can be shown of a load case: every quantity by name, with its label, unit and sign."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError, nearest_name
from ..results.averaging import JUDGED_OVER
from ..results.stress import SURFACES
from ..results.stress import von_mises as von_mises_of
from .colours import FlatColours
from .picture import number

__all__ = ["QUANTITIES", "Field", "field_of", "field_of_array"]

CELLS, CORNERS, AVERAGED, POINTS = ("centres",), ("centres", "corners"), ("centres", "corners", "averaged"), ("points",)
SIDES = tuple(SURFACES)


@dataclass(frozen=True, eq=False)
class Field:
    """Values to show, or numbers of classes."""

    values: np.ndarray  # (n_cells,), (n_points,) or (n_cells, 4), the last NaN for the fourth corner of a triangle
    at: str  # "centres", "points" or "corners"
    label: str  # holds the surface where there is one
    _: KW_ONLY
    unit: str = ""
    is_signed: bool = False  # shown diverging from 0
    from_zero: bool = True  # whether a rising scale begins at 0
    low_is_worst: bool = False  # whether the low end is dark, and the smallest value marked
    flat: FlatColours | None = None  # of classes
    notes: tuple = ()  # what must be said beside it

    @property
    def heading(self):
        """Label and unit: ``von Mises stress, top, MPa``."""
        return f"{self.label}, {self.unit}" if self.unit else self.label

    def worded(self, value):
        """A value with its unit."""
        return f"{number(value)} {self.unit}".strip()


@dataclass(frozen=True)
class Quantity:
    """How to get a named quantity: `values` is called with case, surface and place."""

    label: str
    unit: str
    values: object
    places: tuple = CELLS  # the usual one first
    surfaces: tuple = ()
    _: KW_ONLY
    is_signed: bool = True
    from_zero: bool = True


def _mises(case, surface, at):
    if at != "averaged":
        return case.von_mises(surface, at=at)
    surfaces = SURFACES if surface == "worst" else (surface,)
    return np.max([von_mises_of(case.averaged_stress(each)[0]) for each in surfaces], axis=0)


def _jump(case, surface, at):
    return np.nanmax(case.averaged_stress(surface)[1], axis=1)


def _error(case, surface, at):
    return case.error_estimate().per_cell


def _moved(case, surface, at):
    return np.linalg.norm(case.displacement[:, :3], axis=1)


def _component(i):
    return lambda case, surface, at: case.displacement[:, i]


def _stress(i):
    return lambda case, surface, at: case.stress(surface, at=at)[..., i]


def _principal(i):
    return lambda case, surface, at: case.principal_stress(surface)[0][:, i]


def _resultant(i):
    return lambda case, surface, at: case.resultants[:, 0 if at == "centres" else slice(1, None), i]


_JUDGED = f"von Mises stress averaged over {JUDGED_OVER:g} mm, worse of top and bottom"
QUANTITIES = {
    "von_mises": Quantity("von Mises stress", "MPa", _mises, AVERAGED, (*SIDES, "worst"), is_signed=False),
    "judged_stress": Quantity(_JUDGED, "MPa", lambda case, *_: case.judged_stress(), is_signed=False),
    "principal_largest": Quantity("largest principal stress", "MPa", _principal(0), CELLS, SIDES),
    "principal_smallest": Quantity("smallest principal stress", "MPa", _principal(1), CELLS, SIDES),
    "jump": Quantity("jump of stress between cells (error indicator)", "MPa", _jump, CELLS, SIDES, is_signed=False),
    "error": Quantity("estimated error of the stress, energy norm", "√(N mm)", _error, is_signed=False),
    "displacement": Quantity("displacement", "mm", _moved, POINTS, is_signed=False),
    "thickness": Quantity(
        "thickness", "mm", lambda case, *_: case.model.per_cell.thickness, is_signed=False, from_zero=False
    ),
    **{f"u{a}": Quantity(f"displacement along {a}", "mm", _component(i), POINTS) for i, a in enumerate("xyz")},
    **{f"r{a}": Quantity(f"rotation about {a}", "rad", _component(3 + i), POINTS) for i, a in enumerate("xyz")},
    "sx": Quantity("stress along the cells' x", "MPa", _stress(0), CORNERS, SIDES),
    "sy": Quantity("stress along the cells' y", "MPa", _stress(1), CORNERS, SIDES),
    "txy": Quantity("shear stress in the cells' axes", "MPa", _stress(2), CORNERS, SIDES),
    "nx": Quantity("membrane force nx, cells' axes", "N/mm", _resultant(0), CORNERS),
    "ny": Quantity("membrane force ny, cells' axes", "N/mm", _resultant(1), CORNERS),
    "nxy": Quantity("membrane shear nxy, cells' axes", "N/mm", _resultant(2), CORNERS),
    "mx": Quantity("bending moment mx, cells' axes", "N mm/mm", _resultant(3), CORNERS),
    "my": Quantity("bending moment my, cells' axes", "N mm/mm", _resultant(4), CORNERS),
    "mxy": Quantity("twisting moment mxy, cells' axes", "N mm/mm", _resultant(5), CORNERS),
    "qx": Quantity("transverse shear qx, cells' axes", "N/mm", _resultant(6), CORNERS),
    "qy": Quantity("transverse shear qy, cells' axes", "N/mm", _resultant(7), CORNERS),
}


def field_of(case, quantity, surface="top", at=None, label=None, unit=None):
    """A quantity of a load case by name, or an array of one's own; parameters and errors as in `plot_case`."""
    if not isinstance(quantity, str):
        return field_of_array(case.model.mesh, quantity, label, unit, at)
    if quantity not in QUANTITIES:
        raise ModelError(f'there is no quantity "{quantity}" to show. {nearest_name(quantity, QUANTITIES)[1]}')
    chosen = QUANTITIES[quantity]
    if chosen.surfaces and surface not in chosen.surfaces:
        advice = nearest_name(surface, chosen.surfaces)[1]
        raise ModelError(f'quantity "{quantity}" has no surface "{surface}". {advice}')
    at = at or chosen.places[0]
    if at not in chosen.places:
        raise ModelError(f'quantity "{quantity}" has no values at "{at}"; it has them at {", ".join(chosen.places)}.')
    values, words, notes = np.asarray(chosen.values(case, surface, at)), [label or chosen.label], ()
    if chosen.surfaces:
        words.append("worst of top, middle and bottom" if surface == "worst" else surface)
    if at == "corners":
        words.append("at the cells' corners, raw")
    if at == "averaged":
        at = "corners"
        words.append("averaged at points of one sheet")
        apart = np.nanmax(np.abs(case.von_mises(surface, at="corners") - values), initial=0.0)
        notes = (f"averaging has taken away up to {apart:.3g} MPa",)
    kind = {"is_signed": chosen.is_signed, "from_zero": chosen.from_zero}
    return Field(values, at, ", ".join(words), unit=chosen.unit if unit is None else unit, notes=notes, **kind)


def field_of_array(mesh, values, label=None, unit=None, at=None):
    """An array of values at cells, points or cells' corners, told apart by its shape."""
    values = np.asarray(values, dtype=float)
    shapes = {"centres": (mesh.n_cells,), "points": (mesh.n_points,), "corners": (mesh.n_cells, 4)}
    fits = [place for place, shape in shapes.items() if shape == values.shape and at in (None, place)]
    if len(fits) != 1:
        said = "; ".join(f"{place}: {shape}" for place, shape in shapes.items())
        what = "fits two places; say at=" if fits else "fits none of"
        raise ModelError(f"the values to show have shape {values.shape}, which {what} {said}.")
    is_signed = bool(np.nanmin(values, initial=0.0) < 0)
    return Field(values, fits[0], label or "value", unit=unit or "", is_signed=is_signed)

"""What can be shown of a load case: every quantity by name, with its label, unit and sign."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError, nearest_name
from ..results.averaging import JUDGED_OVER
from ..results.stress import SURFACES
from ..results.stress import von_mises as von_mises_of

__all__ = ["QUANTITIES", "Field", "field_of", "field_of_array"]

PLACES = ("centres", "corners", "averaged", "points")


@dataclass(frozen=True, eq=False)
class Field:
    """Values to show.

    Attributes
    ----------
    values : ndarray, shape (n_cells,), (n_points,) or (n_cells, 4)
        The last are each cell's own corner values, NaN for the fourth of a triangle.
    at : {"centres", "points", "corners"}
    label, unit : str
        The label holds the surface where there is one.
    is_signed : bool
        Shown diverging from 0.
    from_zero : bool
        Whether a rising scale begins at 0.
    low_is_worst : bool
        Whether the low end is the one to look at: it is dark then, and the smallest value is marked.
    note : str
        What must be said beside it.
    """

    values: np.ndarray
    at: str
    label: str
    _: KW_ONLY
    unit: str = ""
    is_signed: bool = False
    from_zero: bool = True
    low_is_worst: bool = False
    note: str = ""

    @property
    def heading(self):
        """Label and unit: ``von Mises stress, top, MPa``."""
        return f"{self.label}, {self.unit}" if self.unit else self.label


@dataclass(frozen=True)
class Quantity:
    """How to get a named quantity: `values` is called with case, surface and ``"centres"`` or ``"corners"``."""

    label: str
    unit: str
    values: object
    _: KW_ONLY
    at: str = "centres"
    is_signed: bool = True
    surfaces: tuple = ()
    has_corners: bool = False
    from_zero: bool = True


def _component(which, label, unit):
    return Quantity(label, unit, lambda case, surface, at: case.displacement[:, which], at="points")


def _stress(which, label):
    def values(case, surface, at):
        return case.stress(surface, at=at)[..., which]

    return Quantity(label, "MPa", values, surfaces=tuple(SURFACES), has_corners=True)


def _resultant(which, label, unit):
    def values(case, surface, at):
        return case.resultants[:, 0, which] if at == "centres" else case.resultants[:, 1:, which]

    return Quantity(label, unit, values, has_corners=True)


def _averaged_mises(case, surface):
    if surface == "worst":
        return np.max([_averaged_mises(case, each) for each in SURFACES], axis=0)
    return von_mises_of(case.averaged_stress(surface)[0])


QUANTITIES = {
    "von_mises": Quantity(
        "von Mises stress",
        "MPa",
        lambda case, surface, at: case.von_mises(surface, at=at),
        is_signed=False,
        surfaces=(*SURFACES, "worst"),
        has_corners=True,
    ),
    "judged_stress": Quantity(
        f"von Mises stress averaged over {JUDGED_OVER:g} mm, worse of top and bottom",
        "MPa",
        lambda case, surface, at: case.judged_stress(),
        is_signed=False,
    ),
    "principal_largest": Quantity(
        "largest principal stress",
        "MPa",
        lambda case, surface, at: case.principal_stress(surface)[0][:, 0],
        surfaces=tuple(SURFACES),
    ),
    "principal_smallest": Quantity(
        "smallest principal stress",
        "MPa",
        lambda case, surface, at: case.principal_stress(surface)[0][:, 1],
        surfaces=tuple(SURFACES),
    ),
    "jump": Quantity(
        "jump of stress between cells (error indicator)",
        "MPa",
        lambda case, surface, at: np.nanmax(case.averaged_stress(surface)[1], axis=1),
        is_signed=False,
        surfaces=tuple(SURFACES),
    ),
    "error": Quantity(
        "estimated error of the stress, energy norm",
        "√(N mm)",
        lambda case, surface, at: case.error_estimate().per_cell,
        is_signed=False,
    ),
    "displacement": Quantity(
        "displacement",
        "mm",
        lambda case, surface, at: np.linalg.norm(case.displacement[:, :3], axis=1),
        at="points",
        is_signed=False,
    ),
    "thickness": Quantity(
        "thickness",
        "mm",
        lambda case, surface, at: case.model.per_cell.thickness,
        is_signed=False,
        from_zero=False,
    ),
    **{f"u{a}": _component(i, f"displacement along {a}", "mm") for i, a in enumerate("xyz")},
    **{f"r{a}": _component(3 + i, f"rotation about {a}", "rad") for i, a in enumerate("xyz")},
    "sx": _stress(0, "stress along the cells' x"),
    "sy": _stress(1, "stress along the cells' y"),
    "txy": _stress(2, "shear stress in the cells' axes"),
    "nx": _resultant(0, "membrane force nx, cells' axes", "N/mm"),
    "ny": _resultant(1, "membrane force ny, cells' axes", "N/mm"),
    "nxy": _resultant(2, "membrane shear nxy, cells' axes", "N/mm"),
    "mx": _resultant(3, "bending moment mx, cells' axes", "N mm/mm"),
    "my": _resultant(4, "bending moment my, cells' axes", "N mm/mm"),
    "mxy": _resultant(5, "twisting moment mxy, cells' axes", "N mm/mm"),
    "qx": _resultant(6, "transverse shear qx, cells' axes", "N/mm"),
    "qy": _resultant(7, "transverse shear qy, cells' axes", "N/mm"),
}


def field_of(case, quantity, surface="top", at=None, label=None, unit=None):
    """A quantity of a load case by name, or an array of one's own.

    Parameters
    ----------
    case : CaseResult
    quantity : str or array_like
    surface : {"top", "middle", "bottom", "worst"}
        Looked at where the quantity has surfaces; "worst" goes with the von Mises stress only.
    at : {"centres", "corners", "averaged"}, optional
        One value a cell; each cell's own corner values; or, for the von Mises stress, corner values averaged at each
        point within one plate and smooth sheet.

    Raises
    ------
    ModelError
        If there is no such quantity (the nearest name is offered), or it has no such surface or place.
    """
    if not isinstance(quantity, str):
        return field_of_array(case.model.mesh, quantity, label, unit, at)
    if quantity not in QUANTITIES:
        raise ModelError(f'there is no quantity "{quantity}" to show. {nearest_name(quantity, QUANTITIES)[1]}')
    chosen = QUANTITIES[quantity]
    if chosen.surfaces and surface not in chosen.surfaces:
        advice = nearest_name(surface, chosen.surfaces)[1]
        raise ModelError(f'quantity "{quantity}" has no surface "{surface}". {advice}')
    at = at or chosen.at
    offered = [chosen.at, *["corners"] * chosen.has_corners, *["averaged"] * (quantity == "von_mises")]
    if at not in offered:
        raise ModelError(f'quantity "{quantity}" has no values at "{at}"; it has them at {", ".join(offered)}.')
    side = "worst of top, middle and bottom" if surface == "worst" else surface
    words = [label or chosen.label, *[side] * bool(chosen.surfaces)]
    note = ""
    if at == "averaged":
        values, at = _averaged_mises(case, surface), "corners"
        words.append("averaged at points of one sheet")
        apart = np.nanmax(np.abs(case.von_mises(surface, at="corners") - values), initial=0.0)
        note = f"averaging has taken away up to {apart:.3g} MPa"
    else:
        values = chosen.values(case, surface, at)
        words += ["at the cells' corners, raw"] * (at == "corners")
    return Field(
        np.asarray(values),
        at,
        ", ".join(words),
        unit=chosen.unit if unit is None else unit,
        is_signed=chosen.is_signed,
        from_zero=chosen.from_zero,
        note=note,
    )


def field_of_array(mesh, values, label=None, unit=None, at=None, from_zero=True):
    """An array of values at cells, points or cells' corners, told apart by its shape."""
    values = np.asarray(values, dtype=float)
    shapes = {"centres": (mesh.n_cells,), "points": (mesh.n_points,), "corners": (mesh.n_cells, 4)}
    fits = [place for place, shape in shapes.items() if shape == values.shape and at in (None, place)]
    if len(fits) != 1:
        said = "; ".join(f"{place}: {shape}" for place, shape in shapes.items())
        what = "fits two places; say at=" if fits else "fits none of"
        raise ModelError(f"the values to show have shape {values.shape}, which {what} {said}.")
    is_signed = bool(np.nanmin(values, initial=0.0) < 0)
    return Field(values, fits[0], label or "value", unit=unit or "", is_signed=is_signed, from_zero=from_zero)

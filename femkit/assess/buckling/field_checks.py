"""Each field of sheet by itself, by formulas: a second way to what buckles locally, and what is carried after that.

The factor 1.1 on what is carried after buckling is γ_M1 of EN 1993-2 (value from memory); the user's own comes first.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np

from ...errors import ModelError, nearest_name
from ...model.values import bad_number, refuse, sequence_of
from ..strength import asked_names
from ..verdict import Finding
from . import plate_buckling as plates
from .factors import STABILITY_FACTOR
from .field_stress import SHORT, Pieces, SideStress, states
from .fields import PanelFields, panel_fields

__all__ = ["FieldBuckling", "field_buckling"]

RESISTANCE_FACTOR = 1.1  # γ_M1 of plates after buckling: EN 1993-2 (value from memory)
# Of an outstand's critical stress: what shear and compression across may be for its formulas to hold, which know
# neither; they would lower its factor by some 5 %. Our own bounds, no source
SHEARED, CROSSED = 0.2, 0.05
FIELDS_ONLY = ["varies (mm)", "share of its rectangle", "why not assessed"]  # of the fields' own table


@dataclass(frozen=True, eq=False)
class FieldBuckling:
    """Each field of sheet under each combination, by formulas. Arrays are (n_combinations, n_fields) unless said.

    NaN is "not assessed"; `why` says why.

    Attributes
    ----------
    fields : PanelFields
    combinations : tuple of str
    limit, resistance_factor : float
    factor : ndarray
        By which the combination's stress buckles the field: a second way to what an eigenvalue says of a local buckle,
        with sides simply supported. Infinite in tension.
    stress : ndarray, shape (n_combinations, n_fields, 5)
        Where that is: largest along, ψ, largest across, ψ, shear; MPa, compression positive.
    rho, chi : ndarray
        Effective share of the width (the worse of both directions), and of the web's strength in shear.
    by_width : ndarray
        Utilisation after buckling in compression alone: largest stress over ``ρ fy / γ``. Even compression makes that
        the force over ``ρ A fy / γ``.
    by_shear : ndarray
        The same in shear alone: τ over ``χ_w fy / (√3 γ)``.
    together : ndarray
        Utilisation after buckling under all three: EN 1993-1-5, section 10.
    why : ndarray of str
    """

    fields: PanelFields
    combinations: tuple
    limit: float
    resistance_factor: float
    factor: np.ndarray
    stress: np.ndarray
    rho: np.ndarray
    chi: np.ndarray
    by_width: np.ndarray
    by_shear: np.ndarray
    together: np.ndarray
    why: np.ndarray

    @property
    def utilisation(self):
        """Limit over `factor`."""
        return self.limit / self.factor

    @property
    def reserve(self):
        """What a field carries after buckling over what buckles it; below 1 where it yields first."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return 1 / (self.together * self.factor)

    def table(self, combination=None):
        """One row a field, under one combination, or under that which is worst for it, as a pandas table."""
        import pandas as pd

        of, fields = np.arange(len(self.fields)), self.fields
        if combination is None:
            row = np.nan_to_num(self.utilisation, nan=-1.0).argmax(axis=0)
        else:
            row = np.full(len(fields), self._number(combination))
        stress = self.stress[row, of]
        columns = fields.table().drop(columns=FIELDS_ONLY).to_dict("series")
        columns |= {"combination": np.array(self.combinations, dtype=object)[row]}
        heads = ["compression along (MPa)", "ψ along", "compression across (MPa)", "ψ across", "shear (MPa)"]
        columns |= dict(zip(heads, stress.T))
        columns |= {
            "elastic factor": self.factor[row, of],
            f"utilisation ({self.limit:g} / factor)": self.utilisation[row, of],
            "effective share of width": self.rho[row, of],
            "utilisation, compression alone": self.by_width[row, of],
            "utilisation, shear alone": self.by_shear[row, of],
            "utilisation after buckling": self.together[row, of],
            "reserve after buckling": self.reserve[row, of],
            "why not assessed": self._why(row),
        }
        return pd.DataFrame(columns).rename_axis("field")

    def _why(self, row):
        """Why a field is not assessed, or under which of the other combinations it is not."""
        of = np.arange(len(self.fields))
        words = self.why[row, of]
        for name, why in zip(self.combinations, np.where(np.isnan(self.factor), self.why, "")):
            is_hidden = (why != "") & ~np.isnan(self.factor[row, of])
            words = np.where(is_hidden, words + [f"{'; ' * bool(w)}{name}: {y}" for w, y in zip(words, why)], words)
        return words

    def governing(self, after_buckling=False):
        """What governs, as a Finding of either utilisation; its `why` says how many fields are not assessed."""
        values = self.together if after_buckling else self.utilisation
        is_missing = np.isnan(values)
        if is_missing.all():
            return Finding(np.nan, why="; ".join(dict.fromkeys(self.why.ravel())))
        n = int(is_missing.any(axis=0).sum())
        said = f"{n} of {len(self.fields)} fields are not assessed, or not under all: see table()" * (n > 0)
        case, field = np.unravel_index(np.nanargmax(values), values.shape)
        return Finding(float(values[case, field]), self.combinations[case], self.fields.place(field), said)

    def per_cell(self, combination=None, *, after_buckling=False):
        """A utilisation for every cell, that of its field, (n_cells,): the worst of all combinations, or of one.

        NaN where the field is not assessed, under any one of them.
        """
        values = self.together if after_buckling else self.utilisation
        rows = slice(None) if combination is None else [self._number(combination)]
        return values[rows].max(axis=0)[self.fields.of_cell]

    def _number(self, combination):
        if combination not in self.combinations:
            advice = nearest_name(combination, self.combinations)[1]
            raise ModelError(f'fields were not assessed under "{combination}". {advice}')
        return self.combinations.index(combination)

    def __repr__(self):
        n = int(np.isnan(self.factor).any(axis=0).sum())
        found = self.governing()
        return (
            f"FieldBuckling: {len(self.fields)} fields, {n} of them not assessed under some combination; "
            f"highest {self.limit:g} / factor {found.value:.4g} ({found.case}) at {found.place}"
        )

    def _repr_html_(self):
        return self.table().to_html(float_format="%.4g")


def field_buckling(
    result, fields=None, combinations=None, *, limit=STABILITY_FACTOR, resistance_factor=RESISTANCE_FACTOR
):
    """Each field of sheet by itself, simply supported along its held sides: elastic buckling, and what comes after.

    A field's stress is its membrane force over its thickness, fitted linearly (by area) over pieces of it: along and
    in shear no longer than its width, across than three widths. It is taken where EN 1993-1-5, 4.6(3) says: 0.4 of the
    piece's length or half the width from the more highly stressed end. The worst piece counts, wherever it lies.
    Bending of the field and its offset are left out. On the demo's bays the factor is 0.5 to 0.93 of that of the field
    cut out with its true forces, simply supported: low where a field is bent both ways or has its peak at an edge.

    Parameters
    ----------
    result : StaticResult
    fields : PanelFields, optional
        Those of the result's model without it.
    combinations : sequence of str, optional
        Names of load cases and combinations; all combinations, or all load cases where there are none, without it.
    limit : float
        What an elastic factor has to reach.
    resistance_factor : float
        γ on what is carried after buckling. Plates without a yield strength are not assessed for that.

    Returns
    -------
    FieldBuckling

    Raises
    ------
    ModelError
        If a name is not there, a factor is not above 0, or the fields are of another mesh.
    """
    names = asked_names(result, combinations)
    fields = panel_fields(result.model) if fields is None else fields
    sequence_of("fields", (fields,), PanelFields)
    if fields.model.mesh is not result.model.mesh:
        raise ModelError("the fields are of another mesh than the result; take panel_fields(result.model).")
    factors = {"limit": limit, "resistance_factor": resistance_factor}
    refuse(*(bad_number("field buckling", name, value, "", " above 0") for name, value in factors.items()))
    pieces, whole = Pieces.of(fields, SHORT), Pieces.of(fields)
    found = []
    for name in names:
        fit = pieces.stress(result[name])
        fit[:, 1] = whole.stress(result[name])[pieces.part_of, 1]
        found.append(_assess(pieces, fit, resistance_factor))
    arrays = {key: np.stack([one[key] for one in found]) for key in found[0]}
    return FieldBuckling(fields, names, **factors, **arrays)


@dataclass(frozen=True, eq=False)
class _Places:
    """Stress at many places of fields, and what it may be; every array is (n_places,) unless said."""

    field: np.ndarray
    along: SideStress
    across: SideStress
    shear: np.ndarray
    free: np.ndarray  # see `PanelFields.free_side`
    critical: np.ndarray  # (3, n_places) along, across, in shear
    ratio: np.ndarray  # (2, n_places) of that to the critical stress of a strip of the plate
    strength: np.ndarray

    @classmethod
    def of(cls, pieces, fit):
        field, along, across, shear = states(pieces, fit)
        fields, materials = pieces.fields, [plate.material for plate in pieces.fields.model.plates.values()]
        modulus, poisson, strength = (
            fields.least([np.nan if getattr(m, key) is None else getattr(m, key) for m in materials])[field]
            for key in ("E", "nu", "yield_strength")
        )
        thickness, width, length, free = (
            values[field] for values in (fields.thickness, fields.width, fields.length, fields.free_side)
        )
        by_width, by_length = (plates.euler_stress(modulus, poisson, thickness, side) for side in (width, length))
        towards = np.where(along.slope * free >= 0, 1, -1) * np.abs(free)  # whether most is at the free edge
        critical = np.stack(
            [
                plates.compression_factor(along.psi, length / width, towards) * by_width,
                plates.compression_factor(across.psi, width / length) * by_length,
                plates.shear_factor(length / width) * by_width,
            ]
        )
        ratio = critical[:2] / np.stack([by_length, by_width])
        return cls(field, along, across, shear, free, critical, ratio, strength)

    @property
    def is_beyond(self):
        """Whether an outstand has more shear or compression across than its formulas can leave out."""
        along = self.critical[0]
        return (self.free != 0) & ((self.shear > SHEARED * along) | (self.across.largest > CROSSED * along))

    @property
    def factor(self):
        """Of elastic buckling."""
        across, shear = (np.where(self.free, 0.0, stress) for stress in (self.across.largest, self.shear))
        shares = np.stack([self.along.largest, across, shear]) / self.critical
        return plates.combined_factor(shares[0], self.along.psi, shares[1], self.across.psi, shares[2])

    def rho(self, slenderness):
        """ρ along and across, (2, n_places), by slenderness alike or for each."""
        found = []
        for stress, s, free, ratio in zip((self.along, self.across), slenderness, (self.free, 0), self.ratio):
            plate = plates.reduction(s, stress.psi, free != 0)
            rho = plates.between_column(plate, s * np.sqrt(ratio), ratio - 1)
            found.append(np.where(stress.largest > 0, rho, 1.0))
        found[1] = np.where(self.free, 1.0, found[1])
        return np.stack(found)

    def chi(self, slenderness):
        """χ_w."""
        return np.where(self.free, 1.0, plates.shear_reduction(slenderness))


def _assess(pieces, fit, gamma):
    """All arrays of `FieldBuckling` under one combination: the worst place of each field."""
    at, fields = _Places.of(pieces, fit), pieces.fields
    factor, allowed = at.factor, at.strength / gamma
    rho = at.rho(np.sqrt(at.strength / at.critical[:2]))
    chi = at.chi(0.76 * np.sqrt(at.strength / at.critical[2]))
    alone = np.maximum(np.stack([at.along.largest, at.across.largest]), 0.0) / rho / allowed
    most = (at.along.largest, at.across.largest, at.shear)
    yielding = plates.resistance(most, (1.0, 1.0, 1.0), at.strength)  # over which the load grows to yield
    slenderness = np.sqrt(1 / np.maximum(yielding * factor, 1e-12))  # 10(2), of the whole state
    reduced, chi_there = at.rho([slenderness] * 2), at.chi(slenderness)
    together = np.max(
        [  # at all corners of what acts: the side in tension may be nearer to yield than that in compression
            plates.resistance((x, y, at.shear), (*np.where([x > 0, y > 0], reduced, 1.0), chi_there), allowed)
            for x, y in product(at.along.ends, at.across.ends)
        ],
        axis=0,
    )
    values = {
        "factor": 1 / factor,
        "by_width": alone.max(axis=0),
        "by_shear": np.sqrt(3) * at.shear / chi / allowed,
        "together": together,
    }
    is_out = np.tile(pieces.is_left_out, 2)
    worst = {key: _worst(at.field, np.where(is_out, -1.0, value), len(fields)) for key, value in values.items()}
    out = {key: value[worst[key]] for key, value in (values | {"factor": factor}).items()}
    stress = (at.along.largest, at.along.psi, at.across.largest, at.across.psi, at.shear)
    out["stress"] = np.stack(stress, axis=1)[worst["factor"]]
    out["rho"] = np.where(alone[0] >= alone[1], *rho)[worst["by_width"]]
    out["chi"] = chi[worst["by_shear"]]
    return _said(fields, out, np.bincount(at.field, at.is_beyond & ~is_out, len(fields)) > 0)


def _worst(field, values, n):
    """Index of the largest value of each field, shape (n,)."""
    order = np.lexsort((values, field))
    return order[np.searchsorted(field[order], np.arange(n), side="right") - 1]


def _said(fields, out, is_apart):
    """The arrays with NaN where a field is not assessed, and why not."""
    why = np.array(fields.why, dtype=object).reshape(len(fields))
    why[is_apart] = "an outstand in shear, or compressed across: the formulas for one free edge know neither"
    for value in out.values():
        value[why != ""] = np.nan
    bare = (why == "") & np.isnan(out["together"])
    why[bare] = "after buckling: its material has no yield strength"
    return out | {"why": why}

"""Numbers that steel and aluminium can't have in N, mm and tonne: the usual slips of unit, found before solving."""

import numpy as np

from ..errors import ModelError
from ..units import GPa, Pa, cm, degree, foot, gram, inch, kg, ksi, lb, m, mm, psi
from .loads import Temperature

__all__ = ["implausible_numbers", "implausible_strains"]

STRESSES = {"Pa": Pa, "psi": psi, "ksi": ksi}
DENSITIES = {
    "kg / m**3": kg / m**3,
    "gram / cm**3": gram / cm**3,
    "kg / mm**3": kg / mm**3,
    "lb / inch**3": lb / inch**3,
}
# Lowest, highest, unit, and the units that the number may have been meant in, as one writes them with `femkit.units`.
# The limits are common practice, no source: wide enough for cast iron and magnesium, for foils, slabs and bridges.
PLAUSIBLE = {
    "E": (40_000, 250_000, "MPa", STRESSES | {"GPa": GPa}),
    "density": (1e-9, 10e-9, "t/mm3", DENSITIES),
    "yield strength": (10, 3_000, "MPa", STRESSES),
    "ultimate strength": (10, 3_000, "MPa", STRESSES),
    "thickness": (0.1, 250, "mm", {"m": m, "inch": inch}),
    "extent": (10, 500_000, "mm", {"m": m, "inch": inch, "foot": foot}),
    "acceleration": (50, 500_000, "mm/s2", {"m": m}),
    "prescribed rotation": (0, 0.2, "rad", {"degree": degree}),
}
STRAIN = 0.01  # several times the yield strain of structural steel and aluminium; linear theory ends before
PRESCRIBED = 0.1  # of the extent: no displacement that is prescribed to a stiff structure is as large
MEANT = 'If the number is meant, say Model(..., units="any").'


def implausible_numbers(model):
    """Single numbers out of all proportion, as errors that were not raised; none for ``units="any"``."""
    if model.units == "any":
        return []
    return [_out_of_range(*one) for one in dict.fromkeys(_numbers(model)) if not _is_plausible(*one[1:])]


def implausible_strains(model):
    """Loads, temperatures and prescribed displacements that would strain the model out of all proportion.

    The model must be sound otherwise, since its loads are summed up. None for ``units="any"``.
    """
    if model.units == "any":
        return []
    return [*_thermal_strains(model), *_prescribed_strains(model), *_strains_of_loads(model)]


def _numbers(model):
    """Who, which quantity of the table, its value."""
    yield "the mesh", "extent", float(model.mesh.extent.max())
    for name, plate in model.plates.items():
        yield f'plate "{name}"', "thickness", float(np.min(plate.thickness))
        yield f'plate "{name}"', "thickness", float(np.max(plate.thickness))
    for material in dict.fromkeys(plate.material for plate in model.plates.values()):
        for field in ("E", "density", "yield_strength", "ultimate_strength"):
            if getattr(material, field):
                yield f'material "{material.name}"', field.replace("_", " "), float(getattr(material, field))
    for case in model.load_cases:
        for load in case.loads:
            if getattr(load, "magnitude", 0) > 0:
                yield f'load case "{case.name}": {load}', "acceleration", load.magnitude
    for supports in _all_supports(model):
        for support in supports:
            for name, value in support.held.items():
                if name[0] == "r":
                    yield f"{support}: {name}", "prescribed rotation", abs(float(value))


def _is_plausible(quantity, value):
    low, high, _unit, _meant = PLAUSIBLE[quantity]
    return low <= value <= high


def _out_of_range(who, quantity, value):
    low, high, unit, meant = PLAUSIBLE[quantity]
    guesses = [
        f"{value:g} * {name} is {value * factor:.4g} {unit}"
        for name, factor in meant.items()
        if low <= value * factor <= high
    ]
    hint = f" Was another unit meant? {', '.join(guesses)} (femkit.units)." if guesses else ""
    if quantity == "extent" and guesses:
        hint += ' read_mesh(..., unit="m") turns metres into mm as it reads.'
    return ModelError(
        f"{who}: {quantity} is {value:g} {unit}; for steel and aluminium in N, mm and tonne it lies between {low:g} "
        f"and {high:g} {unit}.{hint} {MEANT}"
    )


def _all_supports(model):
    return [model.supports, *(case.supports for case in model.load_cases if case.supports is not None)]


def _thermal_strains(model):
    for case in model.load_cases:
        for load in case.loads:
            strain = np.abs(load.cell_strain(model)).max() if isinstance(load, Temperature) else 0
            if strain > STRAIN:
                yield ModelError(
                    f'load case "{case.name}": {load}: {load.change:g} K strain the material by {strain:.2g}; '
                    f"linear theory ends below {STRAIN:g}. Look at the change (K) and at the material's expansion "
                    f"(1/K; steel about 12e-6). {MEANT}"
                )


def _prescribed_strains(model):
    extent = model.mesh.extent.max()
    for support in (support for supports in _all_supports(model) for support in supports):
        for name, value in support.held.items():
            if name[0] == "u" and abs(value) > PRESCRIBED * extent:
                yield ModelError(
                    f"{support}: {name} is {value:g} mm, more than a tenth of the model's extent of {extent:.4g} mm; "
                    f"linear theory is for small displacements. Was another unit meant? {MEANT}"
                )


def _strains_of_loads(model):
    """Loads so large that even as plain tension in the whole model's section they would tear it."""
    strongest = np.max(model.per_cell.youngs_modulus * model.per_cell.thickness) * model.mesh.extent.max()
    for case in model.load_cases:
        force = np.linalg.norm(model.point_forces(case)[:, :3], axis=1).sum()
        if force > STRAIN * strongest:
            yield ModelError(
                f'load case "{case.name}": its loads of {force:.4g} N in all, put on one section through the whole '
                f"model as tension, would strain it by {force / strongest:.2g}; linear theory ends below {STRAIN:g}. "
                f"Look at the loads' units (N, N/mm, MPa). {MEANT}"
            )

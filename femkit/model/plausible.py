"""Numbers that steel and aluminium can't have in N, mm and tonne: the usual slips of unit, found before solving."""

import numpy as np

from ..units import GPa, Pa, cm, degree, foot, gram, inch, kg, ksi, lb, m, psi
from .loads import Acceleration, Gravity

__all__ = ["implausible_numbers"]

# Lowest, highest, unit. Common practice, no source: wide enough for cast iron and magnesium, foils, slabs and bridges.
PLAUSIBLE = {
    "E": (40_000, 250_000, "MPa"),
    "density": (1e-9, 10e-9, "t/mm3"),
    "yield strength": (10, 3_000, "MPa"),
    "ultimate strength": (10, 3_000, "MPa"),
    "thickness": (0.1, 250, "mm"),
    "extent": (10, 500_000, "mm"),
    "acceleration": (50, 500_000, "mm/s2"),
    "prescribed rotation": (0, 0.2, "rad"),
}
MEANT = {  # what a number may have been meant in, as one writes it with `femkit.units`
    "MPa": {"GPa": GPa, "Pa": Pa, "psi": psi, "ksi": ksi},
    "t/mm3": {"kg / m**3": kg / m**3, "gram / cm**3": gram / cm**3, "kg / mm**3": kg, "lb / inch**3": lb / inch**3},
    "mm": {"m": m, "inch": inch, "foot": foot},
    "mm/s2": {"m": m},
    "rad": {"degree": degree},
}


def implausible_numbers(model):
    """Numbers out of all proportion, a sentence each; none for ``units="any"``."""
    for who, quantity, value in dict.fromkeys(_numbers(model) if model.units != "any" else ()):
        low, high, unit = PLAUSIBLE[quantity]
        if not low <= value <= high:
            meant = [(name, value * factor) for name, factor in MEANT[unit].items() if low <= value * factor <= high]
            guesses = ", ".join(f"{value:g} * {name} is {right:.4g} {unit}" for name, right in meant)
            hint = f" Was another unit meant? {guesses} (femkit.units)." if meant else ""
            if quantity == "extent" and meant:
                hint += ' read_mesh(..., unit="m") turns metres into mm as it reads.'
            yield (
                f"{who}: {quantity} is {value:g} {unit}; for steel and aluminium in N, mm and tonne it lies between "
                f'{low:g} and {high:g} {unit}.{hint} If the number is meant, say Model(..., units="any").'
            )


def _numbers(model):
    """Who, which quantity of the table, its value."""
    yield "the mesh", "extent", float(model.mesh.extent.max())
    for name, plate in model.plates.items():
        for value in (np.min(plate.thickness), np.max(plate.thickness)):
            yield f'plate "{name}"', "thickness", float(value)
        for quantity in ("E", "density", "yield strength", "ultimate strength"):
            value = getattr(plate.material, quantity.replace(" ", "_"))
            if value:
                yield f'material "{plate.material.name}"', quantity, float(value)
    for name, beam in model.beams.items():
        for quantity in ("E", "density"):
            if value := getattr(beam.material, quantity):
                yield f'material "{beam.material.name}" of beam "{name}"', quantity, float(value)
    for case in model.load_cases:
        for load in case.loads:
            if isinstance(load, Gravity | Acceleration) and load.field.any():
                yield f'load case "{case.name}": {load}', "acceleration", float(np.linalg.norm(load.field))
    for supports, _names in ((model.supports, ()), *model.support_groups):
        for support in supports:
            for name in [name for name in support.held if name[0] == "r"]:
                yield f"{support}: {name}", "prescribed rotation", float(np.abs(support.held[name]).max())

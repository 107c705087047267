"""Which plates of a model may change, between which bounds, and what of that is in stock."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ...errors import ModelError, nearest_name
from ...model.values import as_numbers, refuse, shortened
from ..sensitivity import SIDES

__all__ = ["FreePlate", "free_plates", "mass_per_mm", "whole_stock"]


@dataclass(frozen=True)
class FreePlate:
    """A plate whose thickness is to be found.

    Parameters
    ----------
    low, high : float
        Bounds, mm.
    on : float
        Thickness of a sheet that stays, mm: what is found is that of a doubler on it, and the plate is both.
    side : {"top", "bottom"}
        Of the sheet, where the doubler lies; the middle of the plate moves there by half of the doubler.

    Examples
    --------
    >>> FreePlate(2, 10, on=3.0).plate_of(4.0)
    (7.0, 2.0)
    """

    low: float
    high: float
    _: KW_ONLY
    on: float = 0.0
    side: str = "top"

    def faults(self, who):
        """What is wrong with its values, a sentence each."""
        numbers = as_numbers([self.low, self.high, self.on])
        if numbers is None or not np.isfinite(numbers).all() or not 0 <= self.low < self.high or self.on < 0:
            yield (
                f"{who}: bounds are {shortened(self.low)} and {shortened(self.high)} mm on {shortened(self.on)} mm; "
                "they must be finite numbers of at least 0, the lower one first."
            )
        elif self.low + self.on <= 0:
            yield f"{who}: the lower bound is 0 mm; it must be above 0 where no sheet lies below."
        if self.side not in ("top", "bottom"):
            yield f'{who}: side is "{self.side}"; it must be "top" or "bottom".'

    @property
    def grows(self):
        """Change of the plate's offset by that of its thickness."""
        return SIDES[self.side] if self.on else 0.0

    def plate_of(self, size):
        """Thickness and offset of the plate, mm; the offset is None where the plate's own stays."""
        return self.on + size, self.grows * size if self.on else None


def mass_per_mm(model, free):
    """Of every free plate, kg/mm."""
    areas = model.mesh.areas
    return np.array([1e3 * model.plates[n].material.density * areas[model.plate_cells[n]].sum() for n in free])


def free_plates(model, free):
    """By name; all that is wrong in one error."""
    found, faults = {}, []
    for name, given in dict(free).items():
        who = f'free plate "{name}"'
        if name not in model.plates:
            faults.append(f"{who}: the model has no such plate. {nearest_name(name, model.plates)[1]}")
            continue
        if not isinstance(given, FreePlate) and np.size(given) != 2:
            faults.append(f"{who}: {shortened(given)} can't stand there; give (low, high) or a FreePlate.")
            continue
        found[name] = given if isinstance(given, FreePlate) else FreePlate(*given)
        faults += found[name].faults(who)
        if np.ndim(model.plates[name].thickness):
            faults.append(f"{who}: it has one thickness a cell; it must have one for all.")
        if not model.plates[name].material.density > 0:
            faults.append(f"{who}: its material has no density, so that it weighs nothing; give it one.")
    if not free:
        faults.append("size_plates: no plate is free; name one at least.")
    refuse(*faults)
    return found


def whole_stock(free, stock):
    """Whole thicknesses in stock of every free plate, ascending."""
    numbers = as_numbers(stock)
    if numbers is None or numbers.ndim != 1 or not len(numbers) or not (np.isfinite(numbers) & (numbers > 0)).all():
        raise ModelError(f"stock is {shortened(stock)}; it must be a row of finite numbers above 0, mm.")
    found = []
    for name, one in free.items():
        own = np.unique([*numbers, *([0.0] if one.on and not one.low else [])])
        own = own[(own >= one.low) & (own <= one.high)]
        if not len(own):
            raise ModelError(f'free plate "{name}": nothing in stock lies between {one.low:g} and {one.high:g} mm.')
        found.append(one.on + own)
    return found

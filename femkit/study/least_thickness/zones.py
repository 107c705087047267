"""What may become thinner: groups of cells of one plate, as measured, with the bounds of what is looked at."""

from dataclasses import dataclass

import numpy as np

from ...errors import ModelError, nearest_name
from ...mesh.selection import select_cells
from ...model.model import Model
from ...model.values import as_numbers, bad_number, place_words, refuse, shortened

__all__ = ["Zone", "with_thickness", "zones_of"]


@dataclass(frozen=True, eq=False)
class Zone:
    """Cells of one plate; thicknesses in mm."""

    name: str
    cells: np.ndarray
    plate: str
    original: float  # NaN where it was not given
    mean: float  # as measured, by area
    minimum: float
    low: float
    high: float
    bound: str  # what the lower bound is, in words


def zones_of(model, zones, *, least, lowest, original):
    """Zones by name; all that is wrong in one error, before anything is solved."""
    if not isinstance(zones, dict) or not zones:
        raise ModelError(f"zones are {shortened(zones)}; it must be a dict of name to cells, with one zone at least.")
    built, faults = _original(model, original), [fault for fault in _bad_bounds(zones, least, lowest) if fault]
    owner, found = np.full(model.mesh.n_cells, -1), {}
    for number, (name, where) in enumerate(zones.items()):
        try:
            cells = select_cells(model.mesh, where, f'zone "{name}"')
        except ModelError as fault:
            faults.append(fault)
            continue
        for other in np.setdiff1d(owner[cells], [-1]):
            both = cells[owner[cells] == other]
            faults.append(
                f'zones "{list(zones)[other]}" and "{name}" overlap in {len(both)} cell{"s" * (len(both) > 1)}, the '
                f"first at {place_words(model.mesh.centres[both[0]], digits=0)}; a cell may be in one zone."
            )
        owner[cells] = number
        plates = list(dict.fromkeys(model.plate_of_cell[cells]))
        if len(plates) > 1:
            names = " and ".join(f'"{plate}"' for plate in plates)
            faults.append(f'zone "{name}" lies in the plates {names}; it must be of one plate: make one zone for each.')
        if not faults:
            limit = (least or {}).get(name) if isinstance(least, dict) else least
            found[name] = _zone(model, name, cells, limit, lowest, built)
            if not found[name].low <= found[name].high:
                kind = "measured at its thickest" if np.isnan(found[name].original) else "original"
                thick = found[name].high
                faults.append(f'zone "{name}": least is {limit:g} mm, more than its {thick:.4g} mm, {kind}.')
    refuse(*faults)
    return found


def _zone(model, name, cells, limit, lowest, built):
    thickness, areas = model.per_cell.thickness[cells], model.mesh.areas[cells]
    original = np.nan if built is None else float(built[cells].max())
    high = float(max(thickness.max(), np.nan_to_num(original)))
    low, bound = lowest * high, f"nothing thinner than {lowest:g} of the whole was looked at"
    if limit is not None and limit >= low:
        low, bound = float(limit), f"too thin to weld to below {limit:g} mm"
    mean = float(np.average(thickness, weights=areas))
    return Zone(name, cells, model.plate_of_cell[cells[0]], original, mean, float(thickness.min()), low, high, bound)


def _original(model, original):
    """Thickness of every cell as built, None where it was not given."""
    if original is None:
        return None
    given = original.per_cell.thickness if isinstance(original, Model) else as_numbers(original)
    n = model.mesh.n_cells
    if given is None or given.shape != (n,) or not (np.isfinite(given) & (given > 0)).all():
        what = f"has {len(given)} cells" if isinstance(original, Model) else f"is {shortened(original)}"
        raise ModelError(
            f"original {what}; it must be the model as built on the same mesh, or the {n} cells' thicknesses then, "
            "finite and above 0, mm."
        )
    return given


def _bad_bounds(zones, least, lowest):
    """What is wrong with the lower bounds, a sentence each."""
    each = least if isinstance(least, dict) else {} if least is None else {"all zones": least}
    for name, value in each.items():
        if isinstance(least, dict) and name not in zones:
            yield f'least: there is no zone "{name}". {nearest_name(name, zones)[1]}'
        yield bad_number("least thickness", f'least of "{name}"', value, "mm", " above 0")
    yield bad_number("least thickness", "lowest", lowest, rule=" above 0 and at most 1")


def with_thickness(model, cells, sizes):
    """The model with an even thickness on each of some groups of cells; offsets stay as they are."""
    thickness = np.array(model.per_cell.thickness)
    for some, size in zip(cells, sizes):
        thickness[some] = size
    changed = np.unique(model.per_cell.plate[np.concatenate(cells)])
    names = [model.plate_names[number] for number in changed]
    return model.with_plates({name: thickness[model.plate_cells[name]] for name in names})

"""How much of its yield strength each plate uses under each load case, from stress averaged over a stated distance.

The factor 1.15 on yield for structures shown by calculation only is that of EN 12663-1:2010 (value from memory); the
user's own code and factor come first.
"""

import numpy as np

from ..errors import ModelError
from ..results.averaging import JUDGED_OVER

__all__ = ["YIELD_FACTOR", "strength_table", "utilisation"]

YIELD_FACTOR = 1.15  # on yield strength, calculation only: EN 12663-1:2010 (value from memory)


def utilisation(case, *, factor=YIELD_FACTOR, distance=JUDGED_OVER):
    """Judged von Mises stress over the allowed one, in every cell.

    Parameters
    ----------
    case : CaseResult
    factor : float
        The allowed stress is the yield strength divided by it.
    distance : float
        That stress is averaged over, mm.

    Returns
    -------
    utilisation : ndarray, shape (n_cells,)
        1 at the limit.

    Raises
    ------
    ModelError
        If a plate's material has no yield strength, or the factor is not above 0.
    """
    return case.judged_stress(distance) / allowed_stress(case.model, factor)


def allowed_stress(model, factor=YIELD_FACTOR):
    """Yield strength over the factor in every cell, shape (n_cells,), MPa."""
    if not (np.isfinite(factor) and factor > 0):
        raise ModelError(f"the factor on yield strength is {factor}; it must be a finite number above 0.")
    missing = [name for name, plate in model.plates.items() if plate.material.yield_strength is None]
    if missing:
        names = ", ".join(f'"{name}"' for name in missing)
        raise ModelError(
            f"the material of the plates {names} has no yield strength; give it Material(yield_strength=...)."
        )
    by_plate = np.array([plate.material.yield_strength for plate in model.plates.values()])
    return by_plate[model.per_cell.plate] / factor


def strength_table(result, combinations=None, *, factor=YIELD_FACTOR, distance=JUDGED_OVER):
    """Largest utilisation of every plate under every combination, with the place and the raw peak beside it.

    Parameters
    ----------
    result : StaticResult
    combinations : sequence of str, optional
        Names of load cases and combinations; all combinations without it.
    factor, distance : float
        As in `utilisation`.

    Returns
    -------
    table : pandas.DataFrame
        One row a plate and combination.
    """
    import pandas as pd

    model = result.model
    names = list(combinations) if combinations is not None else [c.name for c in model.combinations]
    allowed = allowed_stress(model, factor)
    rows = []
    for name in names:
        judged = result[name].judged_stress(distance)
        peak = np.nanmax(result[name].von_mises("worst", at="corners"), axis=1)
        for plate, cells in model.plate_cells.items():
            worst = cells[(judged[cells] / allowed[cells]).argmax()]
            rows.append(
                {
                    "plate": plate,
                    "combination": name,
                    f"judged over {distance:g} mm (MPa)": judged[worst],
                    "allowed (MPa)": allowed[worst],
                    "utilisation": judged[worst] / allowed[worst],
                    "near (mm)": "(" + ", ".join(f"{x:.0f}" for x in model.mesh.centres[worst]) + ")",
                    "raw peak (MPa)": peak[cells].max(),
                }
            )
    return pd.DataFrame(rows)

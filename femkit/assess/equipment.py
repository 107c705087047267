"""Equipment hung on the body, such as a hoist or a lift: its rated load alone, with factors on the ultimate strength.

The factors are those of the US rule for platform lifts, 49 CFR 38.23(b): parts that work and wear, and on which the
load depends, 6; parts that don't, such as frames and what attaches them, 3; a design load of at least 600 lbf (values
from memory). For other equipment they are an analogy that the user decides on. A calculation aid: the codes that apply
and a licensed engineer's judgement come first.
"""

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.selection import describe, select_cells
from ..model.values import bad_number, place_words, refuse, sequence_of
from ..results.averaging import JUDGED_OVER
from ..results.case import CaseResult
from ..units import lbf
from .strength import allowed_stress
from .verdict import Assessment, Finding

__all__ = ["equipment"]

FACTORS = {"working": 6.0, "not working": 3.0}  # on ultimate strength: 49 CFR 38.23(b) (values from memory)
LEAST_LOAD = 600 * lbf  # N, the least design load of 49 CFR 38.23(b) (value from memory)


def equipment(case, parts, *, factors=FACTORS, least_load=LEAST_LOAD, distance=JUDGED_OVER):
    """Judged stress of parts under the rated load alone, times their factor, over the ultimate strength.

    Parameters
    ----------
    case : CaseResult
        The rated load and nothing else, without factors.
    parts : dict of str to list
        By kind ("working" for parts that wear and carry, "not working"): plate or cell set names, or places.
    factors : dict of str to float
        Kind to factor on the ultimate strength.
    least_load : float
        N: under a rated load (the case's total force) below it the rule does not hold and nothing is assessed. 0 for
        equipment that the rule is not about.
    distance : float
        Stress is averaged over, mm.

    Returns
    -------
    equipment : Assessment
        A row a part: judged stress, the factor that it has and the one wanted, utilisation, place, `why`.

    Raises
    ------
    ModelError
        If a kind has no factor, a factor is not above 0, or a part does not exist.

    References
    ----------
    .. [1] 49 CFR 38.23(b), also named by 38.83(b) for light rail vehicles (values from memory).
    """
    for what, given, kind in (("case", case, CaseResult), ("parts", parts, dict), ("factors", factors, dict)):
        sequence_of(f"equipment, {what}", (given,), kind)
    refuse(bad_number("equipment", "least_load", least_load, "N", " of at least 0"))
    model, rows, findings = case.model, [], []
    rated, too_little = float(np.linalg.norm(case.load[:, :3].sum(axis=0))), ""
    judged, ultimate = case.judged_stress(distance), allowed_stress(model, 1.0, "ultimate")
    if rated < least_load * (1 - 1e-9):  # a rated load of just 600 lbf may be rounded
        too_little = f"the rated load is {rated:.4g} N; the rule is for at least {least_load:.4g} N"
    for kind, wheres in parts.items():
        if kind not in factors:
            raise ModelError(f'equipment: there is no factor for parts "{kind}". {nearest_name(kind, factors)[1]}')
        used = judged / allowed_stress(model, factors[kind], "ultimate")
        for where in wheres if isinstance(wheres, (list, tuple)) else [wheres]:
            name, cells = describe(where), select_cells(model.mesh, where, f"equipment, {kind} parts")
            bare = sorted(set(model.plate_of_cell[cells[np.isnan(used[cells])]]))
            why = too_little or (f"no ultimate strength in {', '.join(bare)}" if bare else "")
            at = cells[np.argmax(judged[cells] if why else used[cells])]
            value, place = np.nan if why else float(used[at]), place_words(model.mesh.centres[at], digits=0)
            rows.append(
                {
                    "part": name,
                    "kind": kind,
                    f"judged over {distance:g} mm (MPa)": judged[at],
                    "ultimate (MPa)": ultimate[at],
                    "factor there": ultimate[at] / judged[at] if judged[at] else np.inf,
                    "factor wanted": factors[kind],
                    "utilisation": value,
                    "near (mm)": place,
                    "why": why,
                }
            )
            findings.append(Finding(value, case.name, f"{name} near {place}", why))
    if not rows:
        raise ModelError("equipment: no parts were given; give plate or cell set names by kind.")
    return Assessment(tuple(rows), tuple(findings))

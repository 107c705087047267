"""Does it buckle? The lowest buckling factor of every combination against a limit.

The limit 1.5 is S3 of EN 12663-1:2010 (value from memory); the user's own code and factors come first.
"""

import numpy as np

from ...errors import ModelError, NotConvergedError
from ...model.values import bad_number, refuse
from ...results.buckling import BucklingResult, solve_buckling
from ...results.static import StaticResult
from ..strength import asked_names
from ..verdict import Assessment, Finding

__all__ = ["STABILITY_FACTOR", "stability"]

STABILITY_FACTOR = 1.5  # on instability: EN 12663-1:2010, S3 (value from memory)
PLACE = "moves most at (mm)"
NO_FACTOR = "no positive factor: it can't buckle under this load"


def stability(buckles, combinations=None, *, limit=STABILITY_FACTOR):
    """Are all combinations far enough from buckling?

    Parameters
    ----------
    buckles : dict of str to BucklingResult, or StaticResult
        Of the dict's results the lowest factor counts; None says that none is positive. A static result is solved for
        its lowest factors here.
    combinations : sequence of str, optional
        Which of a static result's; all combinations, or all load cases where there are none, without it.
    limit : float
        What a factor has to reach.

    Returns
    -------
    found : Assessment
        A row a combination: lowest factor, limit over it, and which plate buckles where, locally or overall. Under a
        load that can't buckle the model the factor is infinite and the utilisation 0, and a `remark` says so.

    Raises
    ------
    ModelError
        If a name is not there, there is nothing to assess, or the limit is not above 0.
    """
    refuse(bad_number("stability", "limit", limit, "", " above 0"))
    if isinstance(buckles, StaticResult):
        buckles = {name: _lowest(buckles, name) for name in asked_names(buckles, combinations)}
    elif not isinstance(buckles, dict) or not buckles:
        raise ModelError(f"stability was given {buckles!r}; it must be a StaticResult, or a dict of BucklingResults.")
    rows, findings = [], []
    for name, buckled in buckles.items():
        if buckled is not None and not isinstance(buckled, BucklingResult):
            raise ModelError(f'stability of "{name}" is {buckled!r}; it must be a BucklingResult, or None.')
        lowest = {"factor": np.inf, "remark": NO_FACTOR} if buckled is None else buckled.table().iloc[0].to_dict()
        used, place = limit / lowest["factor"], lowest.get(PLACE, "")
        row = {"combination": name, "factor": lowest["factor"], f"utilisation ({limit:g} / factor)": used}
        rows.append(row | {head: lowest.get(head, "") for head in ("plate", "extent", PLACE, "remark")})
        findings.append(Finding(float(used), name, place))
    return Assessment(tuple(rows), tuple(findings))


def _lowest(result, name):
    try:
        return solve_buckling(result, name, 1)
    except NotConvergedError as error:
        if len(error.found):
            raise
        return None  # nothing is in compression, as a count has proven

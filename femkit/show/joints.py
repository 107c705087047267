"""What passes through a joint, and what it uses of what it can carry, along one of its lines."""

import numpy as np

from ..errors import ModelError, nearest_name
from ..model.values import place_words
from .charts import chart

__all__ = ["plot_joint", "plot_line_forces"]


def plot_line_forces(forces, line=0, *, over=0.0, title=""):
    """The three forces per length along one line.

    Parameters
    ----------
    forces : LineForces
    line : int
    over : float
        Means over this length, mm; the mesh's own values without it.
    title : str
        The question.

    Returns
    -------
    Picture
    """
    of_line = _of_line(forces.line, line)
    force = (forces.averaged(over) if over else forces).force[of_line]
    curves = dict(zip(("along the line", "across it, tension positive", "normal to the part"), force.T))
    words = f"N/mm, mean over {over:g} mm" if over else "force per length, N/mm"
    title = title or f"What passes through {forces.name}, {forces.case}?"
    x_label = _span(forces.places[of_line])
    return chart(forces.distance[of_line], curves, x_label=x_label, y_label=words, title=title)


def plot_joint(use, line=0, *, joint=None, title=""):
    """Utilisation along one line, a curve for every load case, beside the limit.

    Parameters
    ----------
    use : JointUse
    line : int
    joint : str, optional
        Whose line, where several joints were assessed; the first one's without it.
    title : str
        The question.

    Returns
    -------
    Picture

    Raises
    ------
    ModelError
        If nothing along the line was assessed; it says why.
    """
    joint = use.joint[0] if joint is None else joint
    if joint not in use.joint:
        raise ModelError(f'{use.what}: there is no joint "{joint}". {nearest_name(joint, dict.fromkeys(use.joint))[1]}')
    of_line = _of_line(np.where(use.joint == joint, use.line, -1), line)
    if not np.isfinite(use.utilisation[of_line]).any():
        raise ModelError(f"{use.what}: nothing to draw along line {line}: {use.governing().why or 'not assessed'}.")
    first = of_line & (use.case == use.case[of_line][0])
    x = use.distance[first]
    curves = {case: use.utilisation[of_line & (use.case == case)] for case in dict.fromkeys(use.case[of_line])}
    curves["limit"] = np.ones(len(x))
    title = title or f"Do the {use.what} hold along {joint}?"
    x_label = _span(use.places[first])
    return chart(x, curves, x_label=x_label, y_label="utilisation, 1 at the limit", title=title)


def _of_line(lines, line):
    if line not in range(lines.max() + 1):
        raise ModelError(f"there is no line {line}; there are 0 … {lines.max()}.")
    return lines == line


def _span(places):
    start, end = (place_words(place, digits=0) for place in places[[0, -1]])
    return f"mm along the line from {start} to {end}"

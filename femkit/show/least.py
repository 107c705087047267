"""Pictures of what may become thinner: verdicts, margins or least thicknesses of zones."""

from collections import Counter

import numpy as np

from ..errors import ModelError, nearest_name
from ..study.least_thickness import STATES
from .body import Body, chosen_cells
from .layout import drawn
from .quantities import Field
from .sheet import sheet_of
from .worn import GREY, plot_classes

__all__ = ["plot_least"]

SHOWS = ("verdict", "margin", "least")
# renewed by both, by percentage, by calculation; stays; not assessed; no zone: of P. Tol's "light" (see colours.py)
VERDICTS = ("#882255", "#EE8866", "#FFAABB", "#44BB99", "#EEDD88", GREY)


@drawn
def plot_least(found, show="verdict", *, percentage=None, measured=None, by="mean", cells=None, **options):
    """Which zones are renewed and which may stay, or how much may still be lost of each.

    Parameters
    ----------
    found : LeastThickness
    show : {"verdict", "margin", "least"}
        Verdicts as a few flat colours; what may still be lost of the measured thickness, mm, negative where too much is
        gone; the least thickness of each zone together with all others, mm.
    percentage, measured, by
        As of `LeastThickness.verdicts`.
    cells, **options
        As in `plot_field`.
    """
    if show not in SHOWS:
        raise ModelError(f'least thicknesses can\'t show "{show}". {nearest_name(show, SHOWS)[1]}')
    mesh = found.model.mesh
    if show == "verdict":
        states = {name: state for name, (state, _why) in found.verdicts(percentage, measured, by).items()}
        counts = Counter(states.values())
        words = [*(f"{state} ({counts[state]})" for state in STATES), "no zone"]
        number = _spread(found, {name: STATES.index(state) for name, state in states.items()}, len(STATES))
        options = {"title": "Which zones are renewed, and which may stay?", "label": "zones, and how many"} | options
        return plot_classes.sheet(mesh, number, words, VERDICTS, cells=cells, **options)
    values, is_margin = found.together, show == "margin"
    if is_margin:
        values = {name: size - values[name] for name, size in found.of_zones(by).items()}
    words = {"margin": f"measured {by} less least thickness", "least": "least thickness, all zones together"}[show]
    title = {"margin": "How much may each zone still lose?", "least": "How thin may each zone become?"}[show]
    values = _spread(found, values, np.nan)
    field = Field(values, "centres", words, unit="mm", is_signed=is_margin, from_zero=False)
    body = Body(mesh, field, chosen_cells(mesh, cells), plate_of_cell=found.model.plate_of_cell)
    return sheet_of([body], **{"title": title} | options)


def _spread(found, of_zone, none):
    values = np.full(found.model.mesh.n_cells, none)
    for name, value in of_zone.items():
        values[found.zones[name].cells] = value
    return values

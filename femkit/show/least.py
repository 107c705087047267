"""Pictures of what may become thinner: verdicts, margins or least thicknesses of zones."""

import numpy as np

from ..errors import ModelError, nearest_name
from ..study.least_thickness import STATES
from .body import Body, chosen_cells
from .colours import FlatColours
from .layout import drawn
from .quantities import Field
from .sheet import sheet_of

__all__ = ["plot_least"]

SHOWS = ("verdict", "margin", "least")
# renewed by both, by percentage, by calculation; stays; not assessed: of P. Tol's "light" (see colours.py)
VERDICTS = FlatColours(("#882255", "#EE8866", "#FFAABB", "#44BB99", "#EEDD88"))


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
    mesh, legend = found.model.mesh, ()
    if show == "verdict":
        states = {name: state for name, (state, _why) in found.verdicts(percentage, measured, by).items()}
        of_zone = {name: STATES.index(state) for name, state in states.items()}
        there = dict(enumerate(STATES))
        counts = {number: sum(each == number for each in of_zone.values()) for number in there}
        legend = [VERDICTS.entry(i, f"{words} ({counts[i]})") for i, words in there.items() if counts[i]]
        legend.append(VERDICTS.entry(-1, "no zone"))
        options = {"title": "Which zones are renewed, and which may stay?"} | options
        field = Field(_spread(found, of_zone, -1), "centres", "zones, and how many", flat=VERDICTS)
    else:
        least = {name: found.together[name] for name in found.zones}
        if show == "margin":
            least = {name: size - least[name] for name, size in found.of_zones(by).items()}
        words = {"margin": f"measured {by} less least thickness", "least": "least thickness, all zones together"}[show]
        title = {"margin": "How much may each zone still lose?", "least": "How thin may each zone become?"}[show]
        options, is_margin = {"title": title} | options, show == "margin"
        values = _spread(found, least, np.nan)
        field = Field(values, "centres", words, unit="mm", is_signed=is_margin, from_zero=False)
    body = Body(mesh, field, chosen_cells(mesh, cells), plate_of_cell=found.model.plate_of_cell, legend=legend)
    return sheet_of([body], **options)


def _spread(found, of_zone, none):
    values = np.full(found.model.mesh.n_cells, none)
    for name, value in of_zone.items():
        values[found.zones[name].cells] = value
    return values

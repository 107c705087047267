"""Pictures of worn plates: how much is lost, and what is to be renewed, in a few flat colours; not measured in grey."""

from itertools import pairwise

import numpy as np

from ..assess.survey.renewal import MEAN_LIMIT, PIT_LIMIT, STATES, SUBSTANTIAL
from ..errors import ModelError
from ..model.values import as_numbers, shortened
from .body import Body, chosen_cells
from .colours import FlatColours
from .layout import drawn
from .quantities import Field
from .sheet import sheet_of

__all__ = ["plot_classes", "plot_renewal", "plot_worn"]

GREY = "#B8BCC2"  # of what was not measured
STEPS = (0.05, 0.10, SUBSTANTIAL * MEAN_LIMIT, MEAN_LIMIT, PIT_LIMIT)
LOSSES = ("#FCEFD2", "#F9C58A", "#EE8866", "#C0405A", "#7A2170", "#2D1140")  # darker is more, also in grey
RENEWAL = ("#2D1140", "#882255", "#CC6677", "#EEDD88", "#44BB99")  # in the order of `STATES`


@drawn
def plot_classes(mesh, number, words, colours, *, label, cells=None, notes=(), **options):
    """Cells in the flat colours of a few classes, with the area of each in the legend.

    Parameters
    ----------
    mesh : Mesh
    number : array_like of int, shape (n_cells,)
        Of the class, from 0.
    words, colours : sequence of str
        What each class is, and its colour, ``"#44BB99"``.
    label : str
        What the classes are of.
    cells
        As in `plot_case`.
    notes : sequence of str
        What must be said beside it.
    **options
        `view`, `title`, `edges` and `width` of `plot_case`.
    """
    number, chosen, flat = np.asarray(number), chosen_cells(mesh, cells), FlatColours(tuple(colours))
    is_whole = number.shape == (mesh.n_cells,) and number.dtype.kind in "iu"
    if not is_whole or number.min() < 0 or number.max() >= min(len(words), len(colours)):
        raise ModelError(
            f"classes: there must be one whole number a cell, {mesh.n_cells} in all, from 0 to "
            f"{min(len(words), len(colours)) - 1}, a class for each word and colour."
        )
    areas = np.bincount(number[chosen], mesh.areas[chosen] / 1e6, minlength=len(words))
    legend = [flat.entry(i, f"{words[i]}: {areas[i]:.2f} m²") for i in range(len(words)) if areas[i]]
    field = Field(number, "centres", label, flat=flat, notes=tuple(notes))
    return sheet_of([Body(mesh, field, chosen, legend=tuple(legend))], **options)


def plot_worn(worn, steps=STEPS, **options):
    """How much of the original each place has lost, in steps; places without a reading within reach in grey.

    Parameters
    ----------
    worn : femkit.assess.Worn
    steps : sequence of float
        Shares of the original at which a darker colour begins, five at most.
    **options
        As in `plot_classes`.
    """
    given, steps = steps, as_numbers(steps)
    if steps is None or steps.ndim != 1 or not 0 < len(steps) < len(LOSSES) or not (np.diff(steps) > 0).all():
        raise ModelError(f"steps are {shortened(given)}; they must be one to {len(LOSSES) - 1} shares, rising.")
    ends = [f"{100 * step:g}" for step in steps]
    words = [f"below {ends[0]} %", *(f"{a} to {b} %" for a, b in pairwise(ends)), f"{ends[-1]} % and more"]
    number = np.where(worn.measured, np.searchsorted(steps, worn.loss, side="right"), len(words))
    colours = [*LOSSES[-len(words) :], GREY]
    options = {"label": "loss of the original thickness", "notes": _notes(worn), **options}
    return plot_classes(worn.readings.model.mesh, number, [*words, "not measured"], colours, **options)


def plot_renewal(renewal, **options):
    """What is renewed by percentage, what may stay, and what nobody measured (grey).

    Parameters
    ----------
    renewal : femkit.assess.Renewal
    **options
        As in `plot_classes`.
    """
    mesh = renewal.worn.readings.model.mesh
    options = {"label": "renewal by percentage", "notes": _notes(renewal.worn), **options}
    return plot_classes(mesh, renewal.state, STATES, [*RENEWAL, GREY], **options)


def _notes(worn):
    return (f"readings count within {worn.reach:g} mm on their plate",)

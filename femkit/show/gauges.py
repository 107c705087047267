"""Where the gauges of a proof test are, and what they read beside what they should read."""

from dataclasses import replace

import numpy as np

from .actions import Action
from .camera import view_axes
from .charts import LINES, new_axes
from .colours import DARK, LegendEntry
from .drawing import in_drawing_thread
from .layout import drawn
from .models import plot_model
from .page import SMALL, in_style, png_of
from .picture import Peak, Picture, number

__all__ = ["plot_gauges", "plot_proof_test"]

SEEN, BEHIND = LINES[0][0], LINES[1][0]


@drawn
def plot_gauges(placed, *, title="Where are the gauges?", view=None, **options):
    """Gauges on their model: an arrow along each, its name beside it.

    Parameters
    ----------
    placed : PlacedGauges
    title, view, **options
        As in `plot_model`: `cells`, `show`, `edges`, `width`.
    """
    sheet = plot_model.sheet(placed.model, **{"show": "plain", "title": title, "view": view, **options})
    points = placed.model.mesh.points
    is_seen = placed.normal @ view_axes(view, points)[2] > 0
    actions, legend = [], []
    for is_there, colour, words in ((is_seen, SEEN, "on the face seen"), (~is_seen, BEHIND, "on the face behind")):
        if is_there.any():
            where, along = placed.place[is_there], placed.direction[is_there]
            actions.append(Action("force", where, along, np.ones(len(where), dtype=bool), colour))
            legend.append(LegendEntry("arrow", colour, f"gauge {words}"))
    firsts = np.cumsum([0, *(len(gauge.angles) for gauge in placed.gauges)])[:-1]
    marks = [(placed.place[i], gauge.name) for i, gauge in zip(firsts, placed.gauges)]
    body = replace(sheet.bodies[0], actions=(*sheet.bodies[0].actions, *actions))
    alt = f"{sheet.alt}. Gauges: {', '.join(name for _place, name in marks)}"
    return replace(sheet, bodies=[body], marks=[marks], legend=[*sheet.legend, *legend], alt=alt)


def plot_proof_test(test, *, title="Do the gauges read what they should?", size=(1400, 900)):
    """Measured over predicted strain of every row and channel, with the band that is allowed.

    Parameters
    ----------
    test : ProofTest
    title : str
    size : pair of int
        Pixels.

    Returns
    -------
    Picture
        Its `peaks` hold what governs.
    """
    worst, overall = test.governing(), test.overall
    said = [
        title,
        f"overall slope {number(overall.slope)}, r² {number(overall.r2)}",
        *(f"{name}: {words}" for name, words in test.said.items()),
    ]
    peaks = (Peak(worst.value, np.zeros(3), worst.place, 0),)
    return Picture(in_drawing_thread(_draw, test, title, *size), ". ".join(said), peaks=peaks)


@in_style
def _draw(test, title, width, height):
    labels = {"xlabel": f"predicted strain, {test.sheet.case}, µm/m", "ylabel": "measured strain, µm/m"}
    page, axes = new_axes(title, width, height, **labels)
    rows = ~test.readings.after
    x, y = test.predicted[rows], test.readings.strain[rows]
    low, high = np.nanmin(x, initial=0), np.nanmax(x, initial=0)
    room = 0.08 * max(high - low, test.least)
    across = np.linspace(low - room, high + room, 401)
    allowed = np.maximum(test.band * np.abs(across), test.least)
    axes.fill_between(across, across - allowed, across + allowed, color="#DDE1E6", zorder=0)
    axes.plot(across, across, color=DARK)
    words = f"allowed: ±{100 * test.band:g} %, at least ±{test.least:g} µm/m"
    handles, labels = [axes.collections[0]], [words]
    for is_there, colour, mark, what in (
        (test.is_assessed & ~(test.utilisation > 1), SEEN, "o", "assessed"),
        (test.utilisation > 1, LINES[4][0], "s", "misses a limit"),
        (~test.is_assessed, BEHIND, "x", "not assessed: named beside it"),
    ):
        if is_there.any():
            handles += axes.plot(x[:, is_there].ravel(), y[:, is_there].ravel(), mark, color=colour, markersize=9)
            labels.append(what)
    last = np.abs(test.readings.load).argmax()
    for i in np.flatnonzero(~test.is_assessed | (test.utilisation > 1)):
        spot = test.predicted[last, i], test.readings.strain[last, i]
        if np.isfinite(spot).all():
            axes.annotate(test.sheet.channels[i], spot, (8, 8), textcoords="offset points", size=SMALL)
    line = test.overall
    if np.isfinite(line.slope):
        handles += axes.plot(across, line.offset + line.slope * across, "--", color=SEEN, linewidth=2.6)
        labels.append(f"all assessed: slope {number(line.slope)}, r² {line.r2:.3f}")
    axes.set(xlim=across[[0, -1]])
    axes.legend(handles, labels, fontsize=SMALL, framealpha=0.9, loc="lower right")
    return png_of(page)

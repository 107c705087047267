"""Curves along a line and bars beside a limit, as pictures. Need no OpenGL."""

from itertools import cycle

import numpy as np

from ..errors import ModelError
from .colours import DARK
from .drawing import in_drawing_thread
from .page import BOLD, PAD, SMALL, TITLE, in_style, new_page, png_of, wrapped, write
from .picture import Peak, Picture, number

__all__ = ["LINES", "chart", "chart_convergence", "new_axes", "plot_deflection", "plot_sizing"]

# told apart by lightness and by dashes too, so that a grey print is still read
LINES = (("#0077BB", "-"), ("#EE7733", "--"), ("#222222", ":"), ("#009988", "-."), ("#CC3311", "-"), ("#AA3377", "--"))
LEFT, LOW = 120, 84  # pixels beside and below the axes
LEAST = 1e-4  # %: an error below it is drawn there


def chart(x, curves, *, x_label, y_label, title, size=(1400, 560)):
    """Curves over one axis.

    Parameters
    ----------
    x : array_like, shape (n,)
    curves : dict of str to array_like, shape (n,)
        By the name that the legend gives them; NaN leaves a gap.
    x_label, y_label : str
        With units.
    title : str
        The question that the chart answers.
    size : pair of int
        Pixels.

    Returns
    -------
    Picture
        Its `peaks` hold the value furthest from 0 of each curve, at ``place[0]`` on the axis.

    Raises
    ------
    ModelError
        If a curve has not as many values as `x`; all such curves are named.
    """
    x = np.asarray(x, dtype=float).ravel()
    curves = {str(name): np.asarray(y, dtype=float).ravel() for name, y in curves.items()}
    wrong = [f'"{name}" has {len(y)}' for name, y in curves.items() if len(y) != len(x)]
    if wrong or not curves or not len(x):
        raise ModelError(f"chart: there are {len(x)} places, but {', '.join(wrong) or 'no values'}; one value a place.")
    peaks, said = [], [str(title), f"{y_label} over {x_label}"]
    for name, y in curves.items():
        if not np.isfinite(y).any():
            said.append(f"{name}: no values")
            continue
        i = int(np.nanargmax(np.abs(y)))
        peaks.append(Peak(float(y[i]), np.array([x[i], 0.0, 0.0]), name, i))
        said.append(f"{name}: largest {number(y[i])} at {number(x[i])}")
    png = in_drawing_thread(_draw, x, curves, x_label, y_label, title, *size)
    return Picture(png, ". ".join(said), peaks=tuple(peaks))


def chart_convergence(outcomes, *, title, size=(1400, 700)):
    """Errors of verification cases over their ladders of meshes, double logarithmic.

    Parameters
    ----------
    outcomes : sequence of femkit.verify.Outcome
        One thin line each; the thick lines are the medians of each kind of cell.
    title : str
    size : pair of int
        Pixels.

    Returns
    -------
    Picture
        Its `peaks` hold the largest error on a finest mesh of each kind of cell, named by its case.
    """
    by_kind = {}
    for outcome in outcomes:
        by_kind.setdefault(outcome.kind, []).append(outcome)
    peaks, said = [], [str(title)]
    for kind, group in by_kind.items():
        worst = max(group, key=lambda outcome: np.nan_to_num(abs(outcome.error)))
        peaks.append(Peak(100 * abs(worst.error), np.zeros(3), worst.case.name, 0))
        said.append(f"{kind}: largest error on the finest mesh {number(100 * abs(worst.error))} %, {worst.case.name}")
    png = in_drawing_thread(_draw_convergence, by_kind, title, *size)
    return Picture(png, ". ".join(said), peaks=tuple(peaks))


def plot_deflection(line, **options):
    """A rail's deflection against the chord between its supports, a curve a load case or combination.

    Parameters
    ----------
    line : DeflectionLine
    **options
        `title` and `size` of `chart`.
    """
    labels = {"x_label": "from the first support, mm", "y_label": "below the chord, mm"}
    title = f"How far does {line.name} sag below the chord between its supports?"
    return chart(line.along, dict(zip(line.names, line.deflection)), **{**labels, "title": title, **options})


def plot_sizing(sizing, most=14, *, title="", size=(1400, 900)):
    """What the hardest checks use of what is allowed, at the start and with the plates that were found.

    Parameters
    ----------
    sizing : Sizing
    most : int
        Checks at most.
    title : str
        The question; without it what was found, in words.
    size : pair of int
        Pixels.

    Returns
    -------
    Picture
        Its `peaks` hold the hardest check at the start and at the end.
    """
    table = sizing.checks_table().head(most)
    rows = [f"{name} *" if decides else name for name, decides in zip(table.index, table["decides"])]
    bars = {"at the start": table["demand at start"], "with the plates found": table["demand"]}
    bars = {name: x.to_numpy() for name, x in bars.items()}
    peaks, said = [], [repr(sizing)]
    for name, x in bars.items():
        i = int(np.nanargmax(x))
        peaks.append(Peak(float(x[i]), np.zeros(3), f"{name}: {table.index[i]}", i))
        said.append(f"{name}: {int((x > 1).sum())} checks missed, the hardest uses {number(x[i])}, {table.index[i]}")
    png = in_drawing_thread(_draw_bars, rows, bars, title or repr(sizing), *size)
    return Picture(png, ". ".join(said), peaks=tuple(peaks))


def new_axes(title, width, height, **options):
    """A page with its title, and axes below it."""
    page = new_page(width, height)
    head = wrapped(title, width - 2 * PAD, BOLD * TITLE, lines=2)
    top = write(page, PAD, height - PAD, head, TITLE, weight="bold") - 14
    box = (LEFT / width, LOW / height, 1 - (LEFT + 2 * PAD) / width, (top - LOW) / height)
    axes = page.figure.add_axes(box, **options)
    axes.grid(color="#DDDDDD")
    axes.tick_params(labelsize=SMALL)
    return page, axes


@in_style
def _draw(x, curves, x_label, y_label, title, width, height):
    page, axes = new_axes(title, width, height, xlabel=x_label, ylabel=y_label, xmargin=0.01)
    axes.axhline(0, color=DARK)
    for (name, y), (colour, dashes) in zip(curves.items(), cycle(LINES)):
        axes.plot(x, y, color=colour, linestyle=dashes, linewidth=2.6, label=name)
    if any(curves):  # a single nameless curve needs no legend
        axes.legend(axes.lines[1:], list(curves), fontsize=SMALL, framealpha=0.9)
    return png_of(page)


@in_style
def _draw_bars(rows, bars, title, width, height):
    page, axes = new_axes(title, width, height, xlabel="value over what is allowed; beyond 1 is hatched; * decides")
    left, box = 0.36 * width, axes.get_position()
    axes.set_position((left / width, box.y0, 1 - (left + 2 * PAD) / width, box.height))
    places, thick = np.arange(len(rows)), 0.8 / len(bars)
    drawn = [
        axes.barh(places + (k + 0.5) * thick - 0.4, x, thick, color=colour, label=name)
        for k, ((name, x), (colour, _dashes)) in enumerate(zip(bars.items(), LINES))
    ]
    axes.legend(fontsize=SMALL, framealpha=0.9, loc="lower right")  # before the hatches: it has none
    for bar in (bar for each in drawn for bar in each):
        bar.set(hatch="//" if bar.get_width() > 1 else None, edgecolor="white", linewidth=0)
    axes.set_axisbelow(True)
    axes.axvline(1, color=DARK, linewidth=2.6)
    words = ["\n".join(wrapped(row, left - 2 * PAD, SMALL, lines=2)) for row in rows]
    axes.set(yticks=places, yticklabels=words, ylim=(len(rows) - 0.5, -0.5))
    return png_of(page)


@in_style
def _draw_convergence(by_kind, title, width, height):
    labels = {"xlabel": "mesh, times as fine as the coarsest", "ylabel": "error, %"}
    page, axes = new_axes(title, width, height, xscale="log", yscale="log", **labels)
    finest, handles = 1.0, []
    for (_kind, outcomes), (colour, dashes) in zip(by_kind.items(), cycle(LINES)):
        errors = {}
        for outcome in outcomes:
            x = np.array(outcome.meshes) / outcome.meshes[0]
            y = np.maximum(100 * np.abs(outcome.errors), LEAST)
            axes.plot(x, y, color=colour, linewidth=1, alpha=0.35)
            finest = max(finest, x[-1])
            for step, error in zip(x, y):
                errors.setdefault(step, []).append(error)
        steps = sorted(step for step, found in errors.items() if len(found) > len(outcomes) / 3)
        medians = [np.nanmedian(errors[step]) for step in steps]
        handles += axes.plot(steps, medians, color=colour, linestyle=dashes, linewidth=4, marker="o", markersize=9)
    low, high = axes.get_ylim()
    for order in (1, 2):
        axes.plot(
            [1, finest], [high / 2, high / 2 / finest**order], color=DARK, linestyle=(0, (1, 2)), linewidth=3, zorder=5
        )
        axes.annotate(f"order {order}", (finest, high / 2 / finest**order), size=SMALL, ha="right", va="top")
    axes.set_ylim(low, high)
    axes.set_xticks(ticks := [2**k for k in range(int(np.log2(finest)) + 1)], [f"{tick}" for tick in ticks])
    axes.minorticks_off()
    axes.yaxis.set_major_formatter(lambda value, _place: f"{value:g}")
    axes.legend(handles, [f"{kind}, median of {len(found)}" for kind, found in by_kind.items()], fontsize=SMALL)
    return png_of(page)

"""Curves along a line: a quantity beside its estimate, as a picture. Needs no OpenGL."""

from itertools import cycle

import numpy as np

from ..errors import ModelError
from .colours import DARK
from .drawing import in_drawing_thread
from .page import BOLD, PAD, SMALL, TITLE, in_style, new_page, png_of, wrapped, write
from .picture import Peak, Picture, number

__all__ = ["chart"]

# told apart by lightness and by dashes too, so that a grey print is still read
LINES = (("#0077BB", "-"), ("#EE7733", "--"), ("#222222", ":"), ("#009988", "-."), ("#CC3311", "-"), ("#AA3377", "--"))
LEFT, LOW = 120, 84  # pixels beside and below the axes


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


@in_style
def _draw(x, curves, x_label, y_label, title, width, height):
    page = new_page(width, height)
    head = wrapped(title, width - 2 * PAD, BOLD * TITLE, lines=2)
    top = write(page, PAD, height - PAD, head, TITLE, weight="bold") - 14
    box = (LEFT / width, LOW / height, 1 - (LEFT + 2 * PAD) / width, (top - LOW) / height)
    axes = page.figure.add_axes(box, xlabel=x_label, ylabel=y_label, xmargin=0.01)
    axes.grid(color="#DDDDDD")
    axes.axhline(0, color=DARK)
    for (name, y), (colour, dashes) in zip(curves.items(), cycle(LINES)):
        axes.plot(x, y, color=colour, linestyle=dashes, linewidth=2.6, label=name)
    axes.tick_params(labelsize=SMALL)
    if any(curves):  # a single nameless curve needs no legend
        axes.legend(axes.lines[1:], list(curves), fontsize=SMALL, framealpha=0.9)
    return png_of(page)

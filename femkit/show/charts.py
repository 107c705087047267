"""Curves along a line: a quantity beside its estimate, as a picture. Needs no OpenGL."""

from io import BytesIO

import numpy as np

from ..errors import ModelError
from .colours import DARK
from .drawing import in_drawing_thread
from .layout import BOLD, FONT, PAD, SMALL, TEXT, TITLE, wrapped
from .picture import Peak, Picture, number

__all__ = ["chart"]

# told apart by lightness and by dashes too, so that a grey print is still read
LINES = (("#0077BB", "-"), ("#EE7733", "--"), ("#222222", ":"), ("#009988", "-."), ("#CC3311", "-"), ("#AA3377", "--"))


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
    peaks, said = [], []
    for name, y in curves.items():
        if not np.isfinite(y).any():
            said.append(f"{name}: no values")
            continue
        i = int(np.nanargmax(np.abs(y)))
        peaks.append(Peak(float(y[i]), np.array([x[i], 0.0, 0.0]), name, i))
        said.append(f"{name}: largest {number(y[i])} at {number(x[i])}")
    alt = ". ".join([str(title), f"{y_label} over {x_label}", *said])
    return Picture(in_drawing_thread(_draw, x, curves, x_label, y_label, title, size), alt, peaks=tuple(peaks))


def _draw(x, curves, x_label, y_label, title, size):
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    width, height = size
    figure = Figure(figsize=(width / 72, height / 72), dpi=72, facecolor="white")
    canvas = FigureCanvasAgg(figure)
    plain = {"family": FONT, "color": DARK, "parse_math": False, "usetex": False}
    head = wrapped(title, width - 2 * PAD, BOLD * TITLE, lines=2)
    for i, line in enumerate(head):
        figure.text(PAD / width, 1 - (PAD + 35 * i) / height, line, fontsize=TITLE, weight="bold", va="top", **plain)
    top = 1 - (PAD + 35 * len(head) + 14) / height
    axes = figure.add_axes(
        (120 / width, 84 / height, 1 - (120 + 2 * PAD) / width, top - 84 / height), facecolor="white"
    )
    axes.grid(visible=True, color="#DDDDDD", linewidth=1, linestyle="-")
    axes.axhline(0, color=DARK, linewidth=1)
    for i, (name, y) in enumerate(curves.items()):
        colour, dashes = LINES[i % len(LINES)]
        axes.plot(x, y, color=colour, linestyle=dashes, linewidth=2.6, marker="None", label=name)
    axes.set_xlabel(x_label, fontsize=TEXT, **plain)
    axes.set_ylabel(y_label, fontsize=TEXT, **plain)
    axes.tick_params(labelsize=SMALL, labelfontfamily=FONT, colors=DARK)
    axes.margins(x=0.01)
    if len(curves) > 1 or next(iter(curves)):
        legend = axes.legend(
            handles=axes.lines[1:],
            labels=list(curves),
            prop={"family": FONT, "size": SMALL},
            facecolor="white",
            framealpha=0.9,
            loc="best",
        )
        for words in legend.get_texts():
            words.set(parse_math=False, usetex=False)
    out = BytesIO()
    canvas.print_png(out, metadata={"Software": None})
    return out.getvalue()

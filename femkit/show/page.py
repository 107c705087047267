"""A page that counts pixels from its lower left corner, on which matplotlib draws words, lines and symbols.

Nothing shifts, overlaps or leaves its box whatever the words are, and whatever a user's own matplotlib settings are.
"""

import textwrap
import warnings
from functools import wraps
from io import BytesIO

import numpy as np

from .colours import DARK

__all__ = ["BOLD", "GAP", "LETTER", "PAD", "SMALL", "STEP", "TEXT", "TITLE", "arrows", "arrows_end_on", "in_style"]
__all__ += ["new_page", "png_of", "wrapped", "write"]

PAD, GAP = 24, 10  # pixels
TITLE, TEXT, SMALL = 27, 20, 18  # pixels high: still to be read at half size
STEP = {TITLE: 35, TEXT: 27, SMALL: 24}  # from line to line
LETTER = 0.54  # mean width of a letter over its height, a little on the safe side
BOLD = 1.15  # how much wider bold letters are
STYLE = {
    "figure.dpi": 72,  # one point is one pixel
    "font.family": "DejaVu Sans",  # comes with matplotlib, so that a picture is the same everywhere
    "font.size": TEXT,
    "text.parse_math": False,  # words as they are: no formulas in dollar signs
    "lines.linewidth": 1,
    **dict.fromkeys(("text.color", "axes.labelcolor", "xtick.color", "ytick.color", "patch.edgecolor"), DARK),
}


def in_style(draw):
    """A function that draws with matplotlib's defaults and the style of this page."""

    @wraps(draw)
    def styled(*args):
        from matplotlib import style

        with style.context(["default", STYLE]):
            return draw(*args)

    return styled


def new_page(width, height):
    """Axes that fill a page and count its pixels."""
    from matplotlib.figure import Figure

    axes = Figure(figsize=(width / 72, height / 72)).add_axes((0, 0, 1, 1), xlim=(0, width), ylim=(0, height))
    axes.set_axis_off()
    axes.set_autoscale_on(False)
    return axes


def png_of(page):
    """A page as PNG bytes."""
    out = BytesIO()
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing", category=UserWarning)  # drawn as a box
        page.figure.savefig(out, format="png", metadata={"Software": None})
    return out.getvalue()


def wrapped(words, width, size, lines):
    """Words on one line each, cut after so many lines."""
    per_line = max(int(width / (LETTER * size)), 8)
    words = " ".join(str(words).split())
    return textwrap.wrap(words, per_line, max_lines=lines, placeholder=" …", break_on_hyphens=False)


def write(page, x, top, lines, size, **options):
    """Write lines, the first one's upper edge at `top`; returns where the next thing below may begin."""
    for i, line in enumerate(lines):
        page.text(x, top - STEP[size] * i, line, size=size, va="top", **options)
    return top - STEP[size] * len(lines)


def arrows(page, tails, along, colour=DARK):
    """Arrows from their tails (n, 2), as long as `along` (n, 2)."""
    head = {"width": 2.6, "headwidth": 4.5, "headlength": 6, "headaxislength": 5}
    units = {"angles": "xy", "scale_units": "xy", "scale": 1, "units": "xy"}
    page.quiver(*np.transpose(tails), *np.transpose(along), color=colour, zorder=4, **head, **units)


def arrows_end_on(page, xy, is_towards, colour=DARK):
    """Arrows along the line of sight: a dot towards the eye, a cross away from it."""
    options = {"linestyle": "None", "color": colour, "markeredgewidth": 1.6, "zorder": 4}
    page.plot(*xy.T, marker="o", markersize=13, markerfacecolor="white", **options)
    page.plot(*xy[is_towards].T, marker=".", markersize=6, **options)
    page.plot(*xy[~is_towards].T, marker="x", markersize=6, **options)

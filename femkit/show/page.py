"""A page that counts pixels from its lower left corner, on which matplotlib draws words, lines and symbols.

Nothing shifts, overlaps or leaves its box whatever the words are, and a user's own matplotlib settings are left alone.
"""

import textwrap
import warnings
from io import BytesIO

import numpy as np

from .colours import DARK

__all__ = ["BOLD", "FONT", "GAP", "PAD", "SMALL", "STEP", "TEXT", "TITLE", "Page", "wrapped"]

PAD, GAP = 24, 10  # pixels
TITLE, TEXT, SMALL = 27, 20, 18  # pixels high: still to be read at half size
STEP = {TITLE: 35, TEXT: 27, SMALL: 24}  # from line to line
LETTER = 0.54  # mean width of a letter over its height, a little on the safe side
BOLD = 1.15  # how much wider bold letters are
FONT = "DejaVu Sans"  # comes with matplotlib, so that a picture is the same everywhere


class Page:
    """A matplotlib figure in pixels."""

    def __init__(self, width, height):
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self.width, self.height = width, height
        self.figure = Figure(figsize=(width / 72, height / 72), dpi=72, facecolor="white")  # one point is one pixel
        self.canvas = FigureCanvasAgg(self.figure)
        self.axes = self.figure.add_axes((0, 0, 1, 1))
        self.axes.set_axis_off()
        self.axes.set(xlim=(0, width), ylim=(0, height), autoscale_on=False)
        self.axes.patch.set_visible(False)

    def text(self, x, y, words, size, **options):
        """Words as they are: no formulas in dollar signs."""
        options = {"color": DARK, "va": "center"} | options
        self.axes.text(x, y, words, fontsize=size, family=FONT, parse_math=False, usetex=False, **options)

    def lines(self, x, top, lines, size, **options):
        """Lines of words, the first one's upper edge at `top`; returns where the next thing below may begin."""
        for i, line in enumerate(lines):
            self.text(x, top - STEP[size] * i, line, size, va="top", **options)
        return top - STEP[size] * len(lines)

    def image(self, pixels, left, low, width=None, height=None):
        """Pixels one to one, or stretched to a width and height."""
        extent = (left, left + (width or pixels.shape[1]), low, low + (height or pixels.shape[0]))
        self.axes.imshow(pixels, extent=extent, aspect="auto", interpolation="nearest", zorder=0)

    def line(self, xy, **options):
        """A line through points (n, 2)."""
        options = {"color": DARK, "linewidth": 1, "linestyle": "-", "marker": "None"} | options
        self.axes.plot(*np.transpose(xy), **options)

    def polygons(self, xy, colour, *, edge=DARK, width=0.8, zorder=1):
        """Filled polygons, shape (n, n_corners, 2)."""
        from matplotlib.collections import PolyCollection

        look = {"facecolors": colour, "edgecolors": edge, "linewidths": width}
        self.axes.add_collection(PolyCollection(np.asarray(xy), zorder=zorder, **look), autolim=False)

    def symbols(self, xy, marker, size, colour=DARK, *, face=None, width=1.5, zorder=3):
        """A matplotlib marker at each of the points (n, 2)."""
        look = {"markeredgecolor": colour, "markerfacecolor": face or colour, "markeredgewidth": width}
        self.line(xy, linestyle="None", marker=marker, markersize=size, zorder=zorder, **look)

    def arrows(self, tails, along, colour, zorder=4):
        """Arrows from their tails (n, 2)."""
        head = {"width": 2.6, "headwidth": 4.5, "headlength": 6, "headaxislength": 5}
        units = {"angles": "xy", "scale_units": "xy", "scale": 1, "units": "xy"}
        self.axes.quiver(*np.transpose(tails), *np.transpose(along), color=colour, zorder=zorder, **head, **units)

    def arrows_end_on(self, xy, is_towards, colour, zorder=4):
        """Arrows along the line of sight: a dot towards the eye, a cross away from it."""
        self.symbols(xy, "o", 12, colour, face="white", zorder=zorder)
        self.symbols(xy[is_towards], ".", 6, colour, width=2, zorder=zorder)
        self.symbols(xy[~is_towards], "x", 6, colour, width=2, zorder=zorder)

    def png(self):
        """The page as PNG bytes."""
        out = BytesIO()
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", message="Glyph .* missing", category=UserWarning)  # drawn as a box
            self.canvas.print_png(out, metadata={"Software": None})
        return out.getvalue()


def wrapped(words, width, size, lines):
    """Words on one line each, cut after so many lines."""
    per_line = max(int(width / (LETTER * size)), 8)
    words = " ".join(str(words).split())
    return textwrap.wrap(words, per_line, max_lines=lines, placeholder=" …", break_on_hyphens=False)

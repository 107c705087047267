"""Everything in a picture but the body itself: title, facts, marks, bar, legend, axes with their length.

Drawn by matplotlib on one set of axes that counts pixels from the lower left corner, so that nothing shifts, overlaps
or leaves its box whatever the words are.
"""

import textwrap
import warnings
from dataclasses import KW_ONLY, dataclass
from functools import wraps
from io import BytesIO

import numpy as np

from .actions import draw_actions
from .camera import Camera
from .colours import DARK, ColourScale
from .drawing import drawing_fault, in_drawing_thread, render
from .picture import Picture, number

__all__ = ["LegendEntry", "Sheet", "bar_ticks", "drawn", "wrapped"]

PAD, GAP = 24, 10  # pixels
TITLE, TEXT, SMALL = 27, 20, 18  # pixels high: still to be read at half size
LETTER = 0.54  # mean width of a letter over its height, a little on the safe side
BOLD = 1.15  # how much wider bold letters are
FONT = "DejaVu Sans"  # comes with matplotlib, so that a picture is the same everywhere
CORNER = 190  # width of the lower left corner, where the axes stand
BAR_HEIGHT, BAR_ROOM = 22, 92


@dataclass(frozen=True)
class LegendEntry:
    """A sample and what it means; the kind is "patch", "arrow" or "support"."""

    kind: str
    colour: str
    text: str


@dataclass(frozen=True, eq=False)
class Sheet:
    """All that a picture is composed of.

    Attributes
    ----------
    title : str
    facts : tuple of str
        Lines below the title.
    panels : tuple of Panel
    camera : Camera
        The same for all panels, so that they can be compared by eye and by rule.
    scale : ColourScale or None
        Of the one bar.
    alt : str
        The whole picture in words.
    peaks : tuple of Peak
    legend : tuple of LegendEntry
    width : int
        Pixels.
    """

    title: str
    facts: tuple
    panels: tuple
    camera: Camera
    _: KW_ONLY
    alt: str
    scale: ColourScale | None = None
    peaks: tuple = ()
    legend: tuple = ()
    width: int = 1400


def drawn(compose):
    """A function that draws what `compose` puts on a sheet; the latter stays at hand as its attribute ``sheet``."""

    @wraps(compose)
    def plot(*args, **options):
        sheet = compose(*args, **options)
        known = {"limits": sheet.scale and (sheet.scale.low, sheet.scale.high), "peaks": sheet.peaks}
        if fault := drawing_fault():
            return Picture(None, sheet.alt, fault=fault, **known)
        return Picture(in_drawing_thread(_draw, sheet), sheet.alt, **known)

    plot.sheet = compose
    return plot


def _draw(sheet):
    rendered = [render(panel, sheet.camera) for panel in sheet.panels]
    inside = sheet.width - 2 * PAD
    title = wrapped(sheet.title, inside, BOLD * TITLE, lines=2)
    facts = [line for fact in sheet.facts for line in wrapped(fact, inside, TEXT, lines=2)]
    panel_width, panel_height = sheet.camera.size
    captions = [wrapped(panel.name, panel_width - 2 * PAD, BOLD * TEXT, lines=3) for panel in sheet.panels]
    caption_height = 26 * max(map(len, captions)) + 8 * any(captions)
    columns = (sheet.width + GAP) // (panel_width + GAP)
    rows = -(-len(sheet.panels) // columns)
    legend_columns = _legend_columns(sheet)
    foot = max(120, BAR_ROOM * (sheet.scale is not None) + 28 * -(-len(sheet.legend) // legend_columns) + PAD)
    head = PAD + 35 * len(title) + 27 * len(facts) + GAP
    page = _Page(sheet.width, head + rows * (panel_height + caption_height) + foot + GAP)

    page.lines(PAD, page.height - PAD, title, TITLE, step=35, weight="bold")
    page.lines(PAD, page.height - PAD - 35 * len(title), facts, TEXT, step=27)
    for i, (panel, caption, (image, is_hidden)) in enumerate(zip(sheet.panels, captions, rendered)):
        row, column = divmod(i, columns)
        left, top = column * (panel_width + GAP), page.height - head - row * (panel_height + caption_height)
        page.lines(left + PAD, top, caption, TEXT, step=26, weight="bold")
        corner = np.array([left, top - caption_height - panel_height])
        page.image(image, corner)
        draw_actions(page, panel.actions, sheet.camera, corner)
        _draw_marks(page, panel.marks, is_hidden, sheet.camera, corner)
    _draw_axes(page, sheet.camera, foot)
    room = (CORNER + PAD, sheet.width - 2 * PAD)
    if sheet.scale is not None:
        _draw_bar(page, sheet.scale, room)
    _draw_legend(page, sheet.legend, legend_columns, room, top=foot - GAP)
    return page.png()


class _Page:
    """A matplotlib figure in pixels, with text that is taken as it is."""

    def __init__(self, width, height):
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self.width, self.height = width, height
        self.figure = Figure(figsize=(width / 72, height / 72), dpi=72, facecolor="white")  # one point is one pixel
        self.canvas = FigureCanvasAgg(self.figure)
        self.axes = self.figure.add_axes((0, 0, 1, 1))
        self.axes.set_axis_off()
        self.axes.set(xlim=(0, width), ylim=(0, height))
        self.axes.patch.set_visible(False)

    def text(self, x, y, words, size, **options):
        """Words as they are: no formulas in dollar signs, no user's font settings."""
        options = {"color": DARK, "va": "center"} | options
        return self.axes.text(x, y, words, fontsize=size, family=FONT, parse_math=False, usetex=False, **options)

    def lines(self, x, top, lines, size, step, **options):
        """Lines of words, the first one's upper edge at `top`."""
        for i, line in enumerate(lines):
            self.text(x, top - step * i, line, size, va="top", **options)

    def image(self, pixels, corner):
        """Pixels one to one, the lower left one at a corner."""
        height, width = pixels.shape[:2]
        extent = (corner[0], corner[0] + width, corner[1], corner[1] + height)
        self.axes.imshow(pixels, extent=extent, aspect="auto", interpolation="nearest", zorder=0)
        self.axes.set(xlim=(0, self.width), ylim=(0, self.height))

    def line(self, xy, **options):
        """A line through points (n, 2)."""
        options = {"color": DARK, "linewidth": 1.5, "linestyle": "-", "marker": "None"} | options
        self.axes.plot(*np.transpose(xy), **options)

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


def _draw_marks(page, marks, is_hidden, camera, corner):
    taken = []  # boxes of words so far
    for mark, hidden in zip(marks, is_hidden):
        x, y = camera.project(mark.place[None])[0] + corner
        words = mark.text + (" (behind)" if hidden else "")
        width = 0.62 * TEXT * len(words) + 12
        step = 30 if y - corner[1] < 0.6 * camera.size[1] else -30
        begin = x + 34 if x + 34 + width < corner[0] + camera.size[0] - 4 else x - 34 - width
        begin = max(begin, corner[0] + 4)
        middle = y + step
        while any(abs(middle - m) < 32 and begin < b + w and b < begin + width for b, m, w in taken):
            middle -= 34 * np.sign(step)  # away from the edge of the picture
        middle = float(np.clip(middle, corner[1] + 16, corner[1] + camera.size[1] - 16))
        taken.append((begin, middle, width))
        end = begin if begin > x else begin + width
        rim = np.array([np.sign(end - x), np.sign(middle - y)]) * 5.5  # where the line leaves the ring
        page.line([(x, y) + rim, (end, middle)], color="white", linewidth=4, zorder=6)
        page.line([(x, y) + rim, (end, middle)], zorder=6)
        for colour, thick in (("white", 4), (DARK, 2)):
            ring = {"marker": "o", "markersize": 15, "markerfacecolor": "none", "markeredgecolor": colour}
            page.line([(x, y)], markeredgewidth=thick, zorder=6, **ring)
        box = {"boxstyle": "square,pad=0.25", "facecolor": "white", "edgecolor": DARK, "linewidth": 1}
        page.text(begin + width / 2, middle, words, TEXT, ha="center", bbox=box, zorder=7)


def _draw_bar(page, scale, room):
    left, right = room[0] + 20, room[1] - 40
    low, high = PAD + 28, PAD + 28 + BAR_HEIGHT
    page.image(np.repeat(scale.steps[None], 2, axis=0), (left, low))  # sets the colours; stretched below
    strip = page.axes.images[-1]
    strip.set_extent((left, right, low, high))
    frame = [(left, low), (right, low), (right, high), (left, high), (left, low)]
    page.line(frame, linewidth=1)
    for beyond, x, tip, colour in (
        (scale.goes_below, left, left - 18, scale.steps[0]),
        (scale.goes_above, right, right + 18, scale.steps[-1]),
    ):
        if beyond:
            page.axes.fill(
                (x, tip, x), (low, (low + high) / 2, high), facecolor=colour / 255, edgecolor=DARK, linewidth=1
            )
    for value in bar_ticks(scale.low, scale.high):
        x = left + (value - scale.low) / (scale.high - scale.low) * (right - left)
        page.line([(x, low), (x, low - 6)], linewidth=1)
        page.text(x, low - 9, number(value), SMALL, ha="center", va="top")
    (label,) = wrapped(scale.label, right - left, TEXT, lines=1) or [""]
    page.text((left + right) / 2, high + 8, label, TEXT, ha="center", va="bottom")


def bar_ticks(low, high):
    """Both ends of the bar, and round numbers between them that keep clear of the ends."""
    from matplotlib.ticker import MaxNLocator

    round_ones = MaxNLocator(nbins=7, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    clear = 0.07 * (high - low)
    inner = round_ones[(round_ones > low + clear) & (round_ones < high - clear)]
    return [low, *np.where(np.abs(inner) < 1e-9 * (high - low), 0.0, inner), high]


def _draw_axes(page, camera, foot):
    """The global axes as the camera sees them, each arm as long as the words say."""
    longest = 62 / max(np.linalg.norm(camera.axes[:2], axis=0).max() * camera.scale, 1e-300)  # mm in 62 pixels
    length = _round_down(longest)
    arms = np.vstack([np.zeros(2), camera.axes[:2].T * length * camera.scale])
    low, high = arms.min(axis=0), arms.max(axis=0)
    base = np.array([CORNER / 2, (foot + 28) / 2]) - (low + high) / 2  # in the middle of its corner
    base[1] = max(base[1], 48 - low[1])  # and above the words
    for axis, name in enumerate("xyz"):
        arm = camera.axes[:2, axis] * length * camera.scale
        pixels = np.linalg.norm(arm)
        if pixels < 4:  # along the line of sight: a dot towards the eye, a cross away from it
            page.line([base], marker="o", markersize=11, markerfacecolor="white", markeredgecolor=DARK)
            page.line([base], marker="." if camera.axes[2, axis] > 0 else "x", markersize=7, markeredgecolor=DARK)
            page.text(*(base + [-16, -14]), name, SMALL, ha="center")
        else:
            page.axes.annotate(
                "",
                base + arm,
                base,
                arrowprops={"arrowstyle": "-|>", "color": DARK, "linewidth": 1.8, "shrinkA": 0, "shrinkB": 0},
            )
            page.text(*(base + arm * (1 + 14 / pixels)), name, SMALL, ha="center")
    page.text(PAD, 14, f"axes: {length:g} mm each", SMALL - 3, va="center")


def _round_down(value):
    """The largest of 1, 2, 5 times a power of ten that is not above a value."""
    power = 10.0 ** np.floor(np.log10(value))
    return float(max(m * power for m in (1, 2, 5) if m * power <= value * (1 + 1e-9)))


def _legend_columns(sheet):
    if not sheet.legend:
        return 1
    longest = max(len(entry.text) for entry in sheet.legend)
    return max(int((sheet.width - CORNER - 2 * PAD) / (0.6 * SMALL * longest + 60)), 1)


def _draw_legend(page, legend, columns, room, top):
    step = (room[1] - room[0]) / columns
    rows = -(-len(legend) // columns) if legend else 0
    for i, entry in enumerate(legend):
        column, row = divmod(i, rows)
        x, y = room[0] + column * step, top - 14 - 28 * row
        if entry.kind == "patch":
            page.axes.fill(
                (x, x + 28, x + 28, x),
                (y - 8, y - 8, y + 8, y + 8),
                facecolor=entry.colour,
                edgecolor=DARK,
                linewidth=0.8,
            )
        elif entry.kind == "arrow":
            page.axes.annotate(
                "", (x + 30, y), (x, y), arrowprops={"arrowstyle": "-|>", "color": entry.colour, "linewidth": 2.5}
            )
        else:
            page.axes.fill(
                (x + 6, x + 24, x + 15), (y - 8, y - 8, y + 8), facecolor=entry.colour, edgecolor=DARK, linewidth=0.8
            )
        page.lines(x + 40, y + 9, wrapped(entry.text, step - 60, SMALL, lines=1), SMALL, step=0)

"""Everything in a picture but the body itself: title, facts, marks, bar, legend, axes with their length."""

from functools import wraps

import numpy as np

from .actions import draw_actions
from .colours import DARK
from .drawing import drawing_fault, in_drawing_thread, render
from .page import (
    BOLD,
    GAP,
    PAD,
    SMALL,
    STEP,
    TEXT,
    TITLE,
    arrows,
    arrows_end_on,
    in_style,
    new_page,
    png_of,
    wrapped,
    write,
)
from .picture import Picture, number

__all__ = ["drawn"]

CORNER = 190  # width of the lower left corner, where the axes stand
BAR_HEIGHT, BAR_ROOM = 22, 92
ENTRY = 28  # height of a line of the legend


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


@in_style
def _draw(sheet):
    inside = sheet.width - 2 * PAD
    title = wrapped(sheet.title, inside, BOLD * TITLE, lines=2)
    facts = [line for fact in sheet.facts for line in wrapped(fact, inside, TEXT, lines=2)]
    panel_width, panel_height = sheet.camera.size
    captions = [wrapped(words, panel_width - 2 * PAD, BOLD * TEXT, lines=3) for words in sheet.captions]
    caption_height = STEP[TEXT] * max(map(len, captions)) + 8 * any(captions)
    columns = (sheet.width + GAP) // (panel_width + GAP)
    rows = -(-len(sheet.bodies) // columns)
    longest = max((len(entry.text) for entry in sheet.legend), default=0)
    legend_columns = max(int((inside - CORNER) / (0.6 * SMALL * longest + 60)), 1)
    legend_rows = -(-len(sheet.legend) // legend_columns)
    head = PAD + STEP[TITLE] * len(title) + STEP[TEXT] * len(facts) + GAP
    foot = max(120, BAR_ROOM * (sheet.scale is not None) + ENTRY * legend_rows + PAD)
    height = head + rows * (panel_height + caption_height) + foot + GAP

    page = new_page(sheet.width, height)
    top = write(page, PAD, height - PAD, title, TITLE, weight="bold")
    write(page, PAD, top, facts, TEXT)
    for i, (body, caption) in enumerate(zip(sheet.bodies, captions)):
        row, column = divmod(i, columns)
        left, top = column * (panel_width + GAP), height - head - row * (panel_height + caption_height)
        write(page, left + PAD, top, caption, TEXT, weight="bold")
        corner = np.array([left, top - caption_height - panel_height])
        image, is_hidden = render(sheet, i)
        extent = (corner[0], corner[0] + panel_width, corner[1], corner[1] + panel_height)
        page.imshow(image, extent=extent, aspect="auto", interpolation="nearest", zorder=0)
        draw_actions(page, body.actions, sheet.camera, corner)
        _draw_marks(page, sheet.marks[i], is_hidden, sheet.camera, corner)
    _draw_axes(page, sheet.camera, foot)
    left, right = CORNER + PAD, sheet.width - 2 * PAD
    if sheet.scale is not None:
        _draw_bar(page, sheet.scale, left + 20, right - 40)
    _draw_legend(page, sheet.legend, legend_rows, left, (right - left) / legend_columns, top=foot - GAP)
    return png_of(page)


def _draw_marks(page, marks, is_hidden, camera, corner):
    """A ring round each place, and its words beside it where they cover neither each other nor the edge."""
    from matplotlib.patheffects import withStroke

    halo = [withStroke(linewidth=4, foreground="white")]
    low, high = corner, corner + camera.size
    taken = []  # where words are so far
    for (place, words), hidden in zip(marks, is_hidden):
        x, y = camera.project(place[None])[0] + corner
        words += " (behind)" if hidden else ""
        width = 0.62 * TEXT * len(words) + 12
        step = 30 if y - low[1] < 0.6 * camera.size[1] else -30
        begin = x + 34 if x + 34 + width < high[0] - 4 else max(x - 34 - width, low[0] + 4)
        middle = y + step
        while any(abs(middle - m) < 32 and begin < b + w and b < begin + width for b, m, w in taken):
            middle -= 34 * np.sign(step)  # away from the edge of the picture
        middle = float(np.clip(middle, low[1] + 16, high[1] - 16))
        taken.append((begin, middle, width))
        page.plot(x, y, "o", markersize=15, mfc="none", mec=DARK, mew=1.8, path_effects=halo, zorder=6)
        box = {"boxstyle": "square,pad=0.25", "facecolor": "white"}
        leader = {"arrowstyle": "-", "color": DARK, "linewidth": 1.8, "shrinkB": 8, "path_effects": halo}
        spot = {"xytext": (begin + width / 2, middle), "ha": "center", "va": "center", "zorder": 7}
        page.annotate(words, (x, y), bbox=box, arrowprops=leader, **spot)


def _draw_bar(page, scale, left, right):
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import ListedColormap, Normalize

    width, height = page.figure.bbox.size
    axes = page.figure.add_axes((left / width, (PAD + 28) / height, (right - left) / width, BAR_HEIGHT / height))
    colours = ScalarMappable(Normalize(scale.low, scale.high), ListedColormap(scale.steps / 255))
    beyond = ("neither", "min", "max", "both")[scale.goes_below + 2 * scale.goes_above]
    look = {"orientation": "horizontal", "extend": beyond, "extendfrac": 18 / (right - left)}
    look |= {"ticks": _ticks(scale.low, scale.high), "format": lambda value, _position: number(value)}
    bar = page.figure.colorbar(colours, cax=axes, **look)
    bar.ax.tick_params(labelsize=SMALL, length=6, width=1)
    bar.ax.set_title("".join(wrapped(scale.label, right - left, TEXT, lines=1)), size=TEXT, pad=8)
    bar.minorticks_off()


def _ticks(low, high):
    """Both ends of the bar, and round numbers between them that keep clear of the ends."""
    from matplotlib.ticker import MaxNLocator

    round_ones = MaxNLocator(nbins=7, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    clear = 0.07 * (high - low)
    inner = round_ones[(round_ones > low + clear) & (round_ones < high - clear)]
    return [low, *np.where(np.abs(inner) < 1e-9 * (high - low), 0.0, inner), high]


def _draw_axes(page, camera, foot):
    """The global axes as the camera sees them, each arm as long as the words say."""
    across = camera.axes[:2].T * camera.scale  # (3, 2), pixels a mm along each axis
    longest = 62 / np.linalg.norm(across, axis=1).max()  # mm in 62 pixels
    power = 10.0 ** np.floor(np.log10(longest))
    length = max(m * power for m in (1, 2, 5) if m * power <= longest * (1 + 1e-9))
    arms = across * length
    low, high = np.minimum(arms.min(axis=0), 0), np.maximum(arms.max(axis=0), 0)
    base = np.array([CORNER / 2, (foot + 28) / 2]) - (low + high) / 2  # in the middle of its corner
    base[1] = max(base[1], 48 - low[1])  # and above the words
    for name, arm, towards in zip("xyz", arms, camera.axes[2]):
        pixels = np.linalg.norm(arm)
        if pixels < 4:
            arrows_end_on(page, base[None], np.array([towards > 0]))
            beside = np.array([-16, -14])
        else:
            arrows(page, [base], [arm])
            beside = arm * (1 + 14 / pixels)
        page.text(*(base + beside), name, size=SMALL, ha="center", va="center")
    page.text(PAD, 14, f"axes: {length:g} mm each", size=SMALL - 3, va="center")


def _draw_legend(page, legend, rows, left, step, top):
    for i, (kind, colour, words) in enumerate(legend):
        column, row = divmod(i, rows)
        x, y = left + column * step, top - ENTRY * (row + 0.5)
        look = {"facecolor": colour, "edgecolor": DARK, "linewidth": 0.8}
        if kind == "patch":
            page.fill([x, x + 28, x + 28, x], [y - 8, y - 8, y + 8, y + 8], **look)
        elif kind == "support":
            page.fill([x + 6, x + 24, x + 15], [y - 8, y - 8, y + 8], **look)
        else:
            arrows(page, [(x, y)], [(30, 0)], colour)
        write(page, x + 40, y + 9, wrapped(words, step - 60, SMALL, lines=1), SMALL)

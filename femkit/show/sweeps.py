"""What does a quantity depend on? Its means over every parameter of a sweep, and a map where there are two."""

from math import prod

import numpy as np

from ..errors import ModelError, nearest_name
from .charts import LINES
from .colours import DARK, ColourScale
from .drawing import in_drawing_thread
from .page import BOLD, LETTER, PAD, SMALL, TITLE, in_style, new_page, png_of, wrapped, write
from .picture import Peak, Picture, number

__all__ = ["plot_sweep"]

BESIDE, BELOW = 96, 76  # pixels beside and below each panel
MAP_SHARE = 1.9  # width of the map over that of a panel
EACH = "#8A8F98"
LONGEST = 14  # letters of a name below a panel


def plot_sweep(sweep, quantity=None, *, title="", size=(1400, 560)):
    """Main effects: a panel a parameter with every variant and the means over all others; for two also a map.

    Parameters
    ----------
    sweep : Sweep
    quantity : str, optional
        As it was named; may be left out where there is only one.
    title : str, optional
        The question that the picture answers.
    size : pair of int
        Pixels.

    Returns
    -------
    Picture
        Its `peaks` hold the largest value, named by its variant. Failed variants are counted, not drawn.

    Raises
    ------
    ModelError
        If there is no such quantity, or no variant has it.
    """
    names = sweep.quantities
    quantity = names[0] if quantity is None and len(names) == 1 else quantity
    if quantity not in names:
        raise ModelError(f'sweep: there is no quantity "{quantity}". {nearest_name(quantity, names)[1]}')
    good = [one for one in sweep.outcomes if np.isfinite(one.values.get(quantity, np.nan))]
    if not good:
        raise ModelError(f'sweep: no variant has a value of "{quantity}".')
    values = np.array([one.values[quantity] for one in good])
    levels = {name: _levels([one.parameters[name] for one in good]) for name in sweep.parameters}
    title, largest = title or f"What does {quantity} depend on?", int(values.argmax())
    said = ["Points are variants, lines the means of all that share a value."] if len(levels) > 1 else []
    if len(good) < len(sweep.outcomes):
        said.append(f"Without a value: {len(sweep.outcomes) - len(good)} of {len(sweep.outcomes)} variants.")
    if len(good) != prod(len(found) for found, _of in levels.values()):
        said.append("Not each combination is there once, so that means differ by what they are taken over, too.")
    png = in_drawing_thread(_draw, levels, values, quantity, title, " ".join(said), *size)
    where = ", ".join(f"{name} {_text(value)}" for name, value in good[largest].parameters.items())
    effects = []
    for name, (found, of) in levels.items():
        means = (f"{number(mean)} at {_text(at)}" for at, mean in zip(found, _means(of, values)))
        effects.append(f"means over {name}: {', '.join(means)}")
    alt = ". ".join([title, *effects, f"largest {number(values[largest])} at {where}"])
    return Picture(png, alt, peaks=(Peak(float(values[largest]), np.zeros(3), where, largest),))


def _levels(given):
    """Values of a parameter, ascending where they are numbers, and which of them each variant has."""
    found = list(dict.fromkeys(map(_plain, given)))
    if all(isinstance(value, (int, float)) for value in found):
        found.sort()
    return found, np.array([found.index(_plain(value)) for value in given])


def _plain(value):
    return float(value) if isinstance(value, (int, float, np.number)) else str(value)


def _text(value):
    if isinstance(value, (int, float, np.number)):
        return f"{value:.4g}".replace("-", "−")
    return value if len(value := str(value)) <= LONGEST else f"{value[: LONGEST - 1]}…"


def _means(of, values):
    return np.bincount(of, values) / np.bincount(of)


def _name_places(axes, at, found, room, *, may_be_round=False):
    """Ticks at the levels, at every second or third where there is no room (pixels); or round numbers instead."""
    words = [_text(value) for value in found]
    step = int(np.ceil(LETTER * SMALL * (max(map(len, words)) + 1) / room))
    if step == 1 or not may_be_round:
        axes.set_xticks(at[::step], words[::step])


@in_style
def _draw(levels, values, quantity, title, said, width, height):
    page = new_page(width, height)
    top = write(page, PAD, height - PAD, wrapped(title, width - 2 * PAD, BOLD * TITLE, 2), TITLE, weight="bold")
    top = write(page, PAD, top - 4, wrapped(said, width - 2 * PAD, SMALL, 2), SMALL) - 14
    shares = ([MAP_SHARE] if len(levels) == 2 else []) + [1] * len(levels)
    unit = (width - PAD - BESIDE * len(shares)) / sum(shares)
    boxes, left = [], 0
    for share in shares:
        boxes.append(((left + BESIDE) / width, BELOW / height, share * unit / width, (top - BELOW) / height))
        left += BESIDE + share * unit
    if len(levels) == 2:
        _draw_map(page.figure.add_axes(boxes.pop(0)), levels, values)
    shared = None
    for (name, (found, of)), box in zip(levels.items(), boxes):
        axes = shared = page.figure.add_axes(box, sharey=shared, xlabel=name)
        axes.grid(color="#DDDDDD")
        axes.tick_params(labelsize=SMALL)
        at = np.array(found) if isinstance(found[0], float) else np.arange(len(found))
        axes.plot(at[of], values, "o", color=EACH, markersize=7, alpha=0.6)
        axes.plot(at, _means(of, values), "-o", color=LINES[0][0], linewidth=3, markersize=10)
        if len(found) > 1:
            room = np.diff(at).min() / np.ptp(at) * axes.get_window_extent().width
            _name_places(axes, at, found, room, may_be_round=isinstance(found[0], float))
        axes.margins(x=0.12)
    page.figure.axes[1 + (len(levels) == 2)].set_ylabel(quantity)
    return png_of(page)


def _draw_map(axes, levels, values):
    (x_name, (x, of_x)), (y_name, (y, of_y)) = levels.items()
    table = np.full((len(y), len(x)), np.nan)
    for row, column in set(zip(of_y, of_x)):
        table[row, column] = values[(of_y == row) & (of_x == column)].mean()
    scale = ColourScale.over([values], None, "", bool(values.min() < 0 < values.max()), from_zero=False)
    colours = scale.rgb(table.ravel()).reshape(len(y), len(x), 3)
    axes.imshow(colours, origin="lower", aspect="auto")
    box = axes.get_window_extent()
    size = min(SMALL, box.width / len(x) / 3.8, box.height / len(y) / 1.3)  # to stay within the cells
    for row, column in np.ndindex(table.shape):
        is_dark = colours[row, column] @ (0.299, 0.587, 0.114) < 140  # lightness by ITU-R BT.601
        words = number(table[row, column]) if np.isfinite(table[row, column]) else "–"
        axes.text(column, row, words, size=size, ha="center", va="center", color="white" if is_dark else DARK)
    axes.set(xlabel=x_name, ylabel=y_name)
    _name_places(axes, range(len(x)), x, box.width / len(x))
    axes.set_yticks(range(len(y)), map(_text, y))
    axes.tick_params(labelsize=SMALL, length=0)

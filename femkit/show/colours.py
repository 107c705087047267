"""Colours: continuous, perceptually even scales for values, and a few flat ones for classes."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..errors import ModelError

__all__ = ["ACTION_COLOURS", "CLASS_COLOURS", "DARK", "NO_VALUE", "ColourScale", "FlatColours", "LegendEntry", "rgb_of"]

# matplotlib's maps of even steps in lightness. Light is low, so that outlines and the few high places stand out on a
# white page; the ends, which are nearly white and nearly black, are left out.
SEQUENTIAL, SEQUENTIAL_PART = "magma_r", (0.02, 0.9)
DIVERGING = "coolwarm"  # blue below, red above, grey at 0
# P. Tol, Colour schemes, SRON/EPS/TN/09-002, made for colour-blind eyes too (values from memory): "light", then "muted"
CLASS_COLOURS = (
    *("#77AADD", "#EE8866", "#EEDD88", "#44BB99", "#FFAABB", "#BBCC33", "#99DDFF", "#882255"),
    *("#332288", "#117733", "#AA4499", "#AAAA00", "#CC6677", "#999933"),
)
# mostly "vibrant" of the same source (values from memory)
ACTION_COLOURS = tuple("#CC3311 #0077BB #EE7733 #009988 #AA3377 #33BBEE #117733 #663333".split())
NO_VALUE, PALE, DARK = "#FFFFFF", "#DDE1E6", "#222222"


class LegendEntry(NamedTuple):
    """A sample and what it means; the kind is "patch", "arrow" or "support"."""

    kind: str
    colour: str
    text: str


@dataclass(frozen=True)
class FlatColours:
    """Which colour a class has, by its number; -1 is no class."""

    colours: tuple = CLASS_COLOURS

    def entry(self, number, text):
        """The class in a legend."""
        colour = PALE if number < 0 else self.colours[number % len(self.colours)]
        return LegendEntry("patch", colour, text)

    def rgb(self, numbers):
        """Colour of each class, shape (n, 3) of uint8."""
        numbers = np.asarray(numbers, dtype=int)
        table = np.array([rgb_of(colour) for colour in (*self.colours, PALE)])
        return table[np.where(numbers < 0, -1, numbers % len(self.colours))]


@dataclass(frozen=True)
class ColourScale:
    """Which colour a value has. Values beyond the ends have the end colours, which the bar says by an arrow."""

    low: float
    high: float
    is_signed: bool  # diverging from 0 instead of rising
    label: str  # quantity, surface and unit
    goes_below: bool = False  # whether values lie beyond the ends
    goes_above: bool = False
    low_is_dark: bool = False  # for values whose low end is the one to look at

    @classmethod
    def over(cls, fields, limits, label, is_signed, *, from_zero=True, low_is_dark=False):
        """The one scale of several arrays of values, over their whole range unless limits are given."""
        found = [values[np.isfinite(values)] for values in fields]
        low = min((values.min() for values in found if values.size), default=0.0)
        high = max((values.max() for values in found if values.size), default=0.0)
        if limits is not None:
            first, last = _checked(limits)
        elif is_signed:
            last = max(-low, high)
            first = -last
        else:
            first, last = (min(0.0, low) if from_zero else low), high
        if not last > first:  # one value everywhere still needs a bar with two ends
            first, last = (first - 0.5, last + 0.5) if is_signed or not from_zero or last else (0.0, 1.0)
        return cls(float(first), float(last), is_signed, label, bool(low < first), bool(high > last), low_is_dark)

    def rgb(self, values):
        """Colour of each value, shape (n, 3) of uint8; white where there is none."""
        from matplotlib import colormaps

        values = np.asarray(values, dtype=float)
        within = np.clip(np.nan_to_num(values), self.low, self.high)
        if self.is_signed:  # 0 stays grey whatever the ends are
            place = 0.5 + 0.5 * within / max(abs(self.low), abs(self.high))
        else:
            place = (within - self.low) / (self.high - self.low)
            first, last = SEQUENTIAL_PART
            place = first + (last - first) * (1 - place if self.low_is_dark else place)
        rgb = colormaps[DIVERGING if self.is_signed else SEQUENTIAL](place, bytes=True)[:, :3]
        return np.where(np.isfinite(values)[:, None], rgb, rgb_of(NO_VALUE)).astype(np.uint8)

    @property
    def steps(self):
        """256 colours from the lower end to the upper one."""
        return self.rgb(np.linspace(self.low, self.high, 256))


def rgb_of(colour):
    """The three bytes of a colour such as ``"#77AADD"``."""
    return np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)], dtype=np.uint8)


def _checked(limits):
    try:
        low, high = (float(limit) for limit in limits)
    except (TypeError, ValueError) as error:
        raise ModelError(f"limits are {limits!r}; they must be two numbers, the lower first.") from error
    if not (np.isfinite([low, high]).all() and low < high):
        raise ModelError(f"limits are {low:g} and {high:g}; they must be finite, the lower first.")
    return low, high

"""A picture's sheet: bodies in one size and on one range, and everything that is said about them."""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError
from .actions import room_for
from .camera import Camera, view_axes
from .colours import ColourScale
from .page import GAP
from .picture import number, place_words

__all__ = ["Sheet", "sheet_of"]

STACKED = 1.5  # a body this much wider than high stands above the next one, not beside it
DEFORMED_SHARE = 0.03  # of the extent: what an automatic scale makes of the largest displacement


@dataclass(frozen=True, eq=False)
class Sheet:
    """All that a picture is composed of."""

    title: str
    facts: tuple  # lines below the title
    panels: tuple
    camera: Camera  # the same for all panels, so that they can be compared by eye and by rule
    alt: str  # the whole picture in words
    scale: ColourScale | None  # of the one bar
    peaks: tuple
    legend: tuple
    width: int  # pixels


def sheet_of(
    bodies,
    load_case="",
    *,
    scale=None,
    limits=None,
    view=None,
    title=None,
    edges="outline",
    width=1400,
    legend=(),
):
    """The sheet with one or several bodies; options as in `plot_case`, the legend's entries as in `Sheet`."""
    field = bodies[0].field
    factor = _factor(scale, bodies)
    camera = _camera(bodies, view, factor, width)
    is_signed = any(body.field.is_signed for body in bodies)
    bar = None if field.flat else _bar(bodies, limits, is_signed)
    signs = () if field.flat else (1, -1) if is_signed else (-1,) if field.low_is_worst else (1,)
    found = [body.extremes(signs) for body in bodies]
    said = [_words(each, signs, body) for each, body in zip(found, bodies)]
    is_several = len(bodies) > 1
    if is_several:
        said = [f"{body.name}: {words}" for body, words in zip(bodies, said)]
    facts, heading = _facts(bodies, factor), []
    if title:  # the usual title names the quantity, and the load case too
        facts, heading = [*[f'load case "{load_case}"'] * bool(load_case), *facts], [field.heading]
    title = title or ", ".join(filter(None, [field.heading, load_case]))
    alt = [title, *heading, *facts, *said, "; ".join(entry.text for entry in legend)]
    if bar:
        alt.append(f"range of the bar {number(bar.low)} to {field.worded(bar.high)}")
    panels = tuple(
        body.panel(caption, bar or field.flat, factor, edges, each, camera.axes[2])
        for body, caption, each in zip(bodies, said if is_several else [""], found)
    )
    return Sheet(
        title,
        tuple(filter(None, [" · ".join(facts), *([] if is_several else said)])),
        panels,
        camera,
        alt=". ".join(filter(None, alt)),
        scale=bar,
        peaks=tuple(peak for each in found for peak, _around in each),
        legend=tuple(legend),
        width=width,
    )


def _bar(bodies, limits, is_signed):
    field, values = bodies[0].field, [body.values for body in bodies]
    options = {"from_zero": field.from_zero, "low_is_dark": field.low_is_worst}
    return ColourScale.over(values, limits, field.heading, is_signed, **options)


def _facts(bodies, factor):
    facts = [f"deformed × {number(factor)}, grey lines: unloaded"] if factor else []
    facts += ["white: no value"] if any(np.isnan(body.values).any() for body in bodies) else []
    return [*facts, *dict.fromkeys(note for body in bodies for note in body.field.notes)]


def _factor(scale, bodies):
    """How many times larger displacements are drawn; 0 for the unloaded shape."""
    if scale is None:
        return 0.0
    if any(body.displacement is None for body in bodies):
        raise ModelError(f"scale is {scale!r}, but there are no displacements to draw; give displacement=.")
    if scale != "auto":
        if isinstance(scale, str) or not np.isfinite(scale):
            raise ModelError(f'scale is {scale!r}; it must be a number, "auto" or None.')
        return float(scale)
    largest = max(np.linalg.norm(body.displacement[body.used_points], axis=1).max() for body in bodies)
    if not largest > 0:
        return 1.0
    wanted = DEFORMED_SHARE * max(body.mesh.extent.max() for body in bodies) / largest
    power = 10.0 ** np.floor(np.log10(wanted))
    return float(min((1, 2, 5, 10), key=lambda step: abs(np.log(step * power / wanted))) * power)


def _words(found, signs, body):
    """The extremes with their places; empty for classes."""
    words = []
    for sign, (peak, _around) in zip(signs, found):
        value = f"{'largest' if sign > 0 else 'smallest'} {body.field.worded(peak.value)}"
        plate = f", {peak.plate}" if peak.plate else ""
        words.append(f"{value} at {place_words(peak.place, body.mesh.extent.max())}{plate}")
    return "; ".join(words) or "no values" * bool(signs)


def _camera(bodies, view, factor, width):
    """The one camera that has every body in the picture, loaded and unloaded, and what acts on it."""
    points = np.concatenate([body.mesh.points[body.used_points] for body in bodies])
    axes = view_axes(view, points)
    shown = [body.points(factor)[body.used_points] for body in bodies] if factor else []
    acting = [action.places for body in bodies for action in body.actions]
    points = np.concatenate([points, *shown, *acting])
    if len(bodies) == 1:
        return Camera.around(points, axes, width, margin=room_for(bodies[0].actions))
    wide, high = np.ptp(points @ axes[:2].T, axis=0)
    if wide > STACKED * high:
        return Camera.around(points, axes, width, heights=(160, 520))
    columns = min(len(bodies), 3)
    return Camera.around(points, axes, (width - GAP * (columns - 1)) // columns)

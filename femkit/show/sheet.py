"""A picture's sheet: bodies in one size and on one range, and everything that is said about them."""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError
from .actions import room_for
from .camera import Camera, view_axes
from .colours import ColourScale, FlatColours
from .page import GAP
from .picture import number, place_words

__all__ = ["Sheet", "sheet_of"]

EDGES = ("outline", "mesh", None)
STACKED = 1.5  # a body this much wider than high stands above the next one, not beside it
DEFORMED_SHARE = 0.03  # of the extent: what an automatic scale makes of the largest displacement


@dataclass(frozen=True, eq=False)
class Sheet:
    """All that a picture is composed of."""

    title: str
    facts: list  # lines below the title
    bodies: list
    captions: list  # above each body, where there are several
    marks: list  # for each body, places to be ringed and the words beside them
    colours: ColourScale | FlatColours
    camera: Camera  # the same for all bodies, so that they can be compared by eye and by rule
    factor: float  # displacements are drawn this many times larger; 0 for the unloaded shape
    edges: str | None
    legend: list
    alt: str  # the whole picture in words
    peaks: tuple
    width: int  # pixels

    @property
    def scale(self):
        """What the one bar shows; None for classes."""
        return self.colours if isinstance(self.colours, ColourScale) else None


def sheet_of(bodies, load_case="", *, scale=None, limits=None, view=None, title=None, edges="outline", width=1400):
    """The sheet with one or several bodies; options as in `plot_case`."""
    if edges not in EDGES:
        raise ModelError(f'edges is {edges!r}; it must be "outline", "mesh" or None.')
    field, is_several = bodies[0].field, len(bodies) > 1
    factor = _factor(scale, bodies)
    is_signed = any(body.field.is_signed for body in bodies)
    colours = field.flat or ColourScale.over(
        [body.values for body in bodies],
        limits,
        field.heading,
        is_signed,
        from_zero=field.from_zero,
        low_is_dark=field.low_is_worst,
    )
    signs = () if field.flat else (1, -1) if is_signed else (-1,) if field.low_is_worst else (1,)
    found = [body.extremes(signs, factor) for body in bodies]
    said = [_peak_words(each, signs, body) for each, body in zip(found, bodies)]
    captions = [f"{body.name}: {words}" for body, words in zip(bodies, said)] if is_several else [""]
    facts, heading = _facts(bodies, factor), []
    if title:  # the usual title names the quantity, and the load case too
        facts, heading = [*[f'load case "{load_case}"'] * bool(load_case), *facts], [field.heading]
    title = title or ", ".join(filter(None, [field.heading, load_case]))
    legend = [entry for body in bodies for entry in body.legend]
    alt = [title, *heading, *facts, *(captions if is_several else said), "; ".join(entry.text for entry in legend)]
    if not field.flat:
        alt.append(f"range of the bar {number(colours.low)} to {field.worded(colours.high)}")
    return Sheet(
        title=title,
        facts=list(filter(None, [" · ".join(facts), *([] if is_several else said)])),
        bodies=bodies,
        captions=captions,
        marks=[[(place, field.worded(peak.value)) for peak, place in each] for each in found],
        colours=colours,
        camera=_camera(bodies, view, factor, width),
        factor=factor,
        edges=edges,
        legend=legend,
        alt=". ".join(filter(None, alt)),
        peaks=tuple(peak for each in found for peak, _place in each),
        width=width,
    )


def _facts(bodies, factor):
    facts = [f"deformed × {number(factor)}, grey lines: unloaded"] if factor else []
    facts += ["white: no value"] if any(np.isnan(body.values).any() for body in bodies) else []
    return [*facts, *dict.fromkeys(note for body in bodies for note in body.field.notes)]


def _peak_words(found, signs, body):
    """The extremes with their places; empty for classes."""
    words = []
    for sign, (peak, _place) in zip(signs, found):
        value = f"{'largest' if sign > 0 else 'smallest'} {body.field.worded(peak.value)}"
        plate = f", {peak.plate}" if peak.plate else ""
        words.append(f"{value} at {place_words(peak.place, body.mesh.extent.max())}{plate}")
    return "; ".join(words) or "no values" * bool(signs)


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


def _camera(bodies, view, factor, width):
    """The one camera that has every body in the picture, loaded and unloaded, and what acts on it."""
    points = np.concatenate([body.mesh.points[body.used_points] for body in bodies])
    axes = view_axes(view, points)
    loaded = [body.points(factor)[body.used_points] for body in bodies]
    points = np.concatenate([points, *loaded, *(action.places for body in bodies for action in body.actions)])
    if len(bodies) == 1:
        return Camera.around(points, axes, width, margin=room_for(bodies[0].actions))
    wide, high = np.ptp(points @ axes[:2].T, axis=0)
    if wide > STACKED * high:
        return Camera.around(points, axes, width, heights=(160, 520))
    columns = min(len(bodies), 3)
    return Camera.around(points, axes, (width - GAP * (columns - 1)) // columns)

"""Pictures of values: a field on a mesh, a quantity of a load case, several variants on one range."""

import numpy as np

from ..errors import ModelError
from .actions import room_for
from .body import Body, chosen_cells, panel_of
from .camera import Camera, view_axes
from .colours import ColourScale
from .layout import GAP, Sheet, drawn
from .picture import number, place_words
from .quantities import Field, field_of, field_of_array

__all__ = ["plot_buckle", "plot_case", "plot_field", "plot_mode", "plot_variants", "sheet_of"]

STACKED = 1.5  # a body this much wider than high stands above the next one, not beside it
DEFORMED_SHARE = 0.03  # of the extent: what an automatic scale makes of the largest displacement


@drawn
def plot_field(
    mesh,
    values,
    *,
    label="value",
    unit="",
    at=None,
    displacement=None,
    scale=None,
    limits=None,
    view=None,
    cells=None,
    title=None,
    edges="outline",
    width=1400,
):
    """Any values on a mesh, drawn over it or over its deformed shape.

    Parameters
    ----------
    mesh : Mesh
    values : array_like, shape (n_cells,), (n_points,) or (n_cells, 4)
        Values at cells stay flat, values at corners stay broken between cells. Where some are negative, the colours
        diverge from 0.
    label, unit : str
        What the values are.
    at : {"centres", "points", "corners"}, optional
        Needed where the shape alone does not tell.
    displacement : ndarray, shape (n_points, 3 or more), optional
        To draw the deformed shape with, mm: a result's, a mode's, or the `motion` of an `UnderSupportedError`.
    scale, limits, view, cells, title, edges, width
        As in `plot_case`.

    Returns
    -------
    Picture
    """
    field = values if isinstance(values, Field) else field_of_array(mesh, values, label, unit, at)
    moved = None if displacement is None else np.asarray(displacement, dtype=float)[:, :3]
    body = Body(mesh, field, chosen_cells(mesh, cells), displacement=moved)
    return sheet_of([body], "", scale=scale, limits=limits, view=view, title=title, edges=edges, width=width)


@drawn
def plot_case(
    case,
    quantity="von_mises",
    *,
    surface="top",
    at=None,
    scale=None,
    limits=None,
    view=None,
    cells=None,
    title=None,
    edges="outline",
    label=None,
    unit=None,
    width=1400,
):
    """A quantity of a load case, on the model or on its deformed shape.

    Parameters
    ----------
    case : CaseResult
    quantity : str or array_like
        One of `femkit.show.QUANTITIES`: "von_mises", "judged_stress", "displacement", "ux" … "rz", "sx", "sy", "txy",
        "nx", "mx", "principal_largest", "jump", "thickness", …; or values of shape (n_cells,) or (n_points,).
    surface : {"top", "middle", "bottom", "worst"}
        For stresses. "worst", the largest of the three, is for the von Mises stress only.
    at : {"centres", "corners", "averaged"}, optional
        Corner values are each cell's own and stay broken across cells; averaged ones only across folds and plates.
    scale : float or "auto", optional
        Displacements are drawn this many times larger, beside the outline of the unloaded shape; "auto" makes the
        largest about 3 % of the extent. None draws the unloaded shape.
    limits : pair of float, optional
        Ends of the bar; values beyond keep its end colours.
    view : str or 3 numbers, optional
        "side" (from -y), "inside" (from +y), "front" (from +x), "rear", "above", "below", "iso", "iso inside", or a
        direction from the model to the eye. None looks square at a thin body.
    cells : str, place, array of int, or a list of names, optional
        Draw these only.
    title : str, optional
        The question that the picture answers.
    edges : {"outline", "mesh", None}
        Free edges, folds and junctions; also the edges of all cells; none.
    label, unit : str, optional
        For values of one's own.
    width : int
        Pixels.

    Returns
    -------
    Picture
        Without OpenGL it holds the words only, and how to install it.

    Raises
    ------
    ModelError
        If quantity, surface, view or cells are not there (the nearest name is offered), or limits are no range.
    """
    field = field_of(case, quantity, surface, at, label, unit)
    body = _body(case, field, cells)
    return sheet_of([body], case.name, scale=scale, limits=limits, view=view, title=title, edges=edges, width=width)


def plot_mode(modes, number=1, **options):
    """A natural mode's shape, deformed so that it can be seen, over the unloaded outline.

    Parameters
    ----------
    modes : ModesResult
    number : int
        Counted from 1.
    **options
        As in `plot_field`.
    """
    shape = _of_number(modes.shape, number, "mode")
    label = f"shape of mode {number} at {modes.frequency[number - 1]:.4g} Hz"
    return _plot_shape(modes.model, shape, label, options)


def plot_buckle(buckled, number=1, **options):
    """A buckling shape, deformed so that it can be seen, over the unloaded outline.

    Parameters
    ----------
    buckled : BucklingResult
    number : int
        Counted from 1.
    **options
        As in `plot_field`.
    """
    shape = _of_number(buckled.shape, number, "buckling shape")
    label = f"buckling shape {number} at {buckled.factor[number - 1]:.4g} times {buckled.case.name}"
    return _plot_shape(buckled.model, shape, label, options)


def _of_number(shapes, number, what):
    if not 1 <= number <= len(shapes):
        raise ModelError(f"there is no {what} {number}; there are 1 to {len(shapes)}.")
    return shapes[number - 1]


def _plot_shape(model, shape, label, options):
    size = np.linalg.norm(shape[:, :3], axis=1)
    values = size / size.max()
    options = {"label": f"{label}, largest 1", "displacement": shape, "scale": "auto", **options}
    return plot_field(model.mesh, values, **options)


@drawn
def plot_variants(
    cases,
    quantity="von_mises",
    *,
    surface="top",
    at=None,
    scale=None,
    limits=None,
    view=None,
    cells=None,
    title=None,
    edges="outline",
    label=None,
    unit=None,
    width=1400,
):
    """The same quantity of several variants side by side, in one size and on one range.

    Parameters
    ----------
    cases : dict of str to CaseResult
        By the variant's name.
    quantity : str, or dict of str to array_like
        As in `plot_case`; arrays of one's own by the variant's name.
    surface, at, scale, limits, view, cells, title, edges, label, unit, width
        As in `plot_case`. Wide bodies are stacked.

    Returns
    -------
    Picture
    """
    if not cases:
        raise ModelError("plot_variants was given no variants; give it a dict of name to load case.")
    bodies = []
    for name, case in cases.items():
        own = quantity[name] if isinstance(quantity, dict) else quantity
        bodies.append(_body(case, field_of(case, own, surface, at, label, unit), cells, name))
    load_cases = list(dict.fromkeys(case.name for case in cases.values()))
    return sheet_of(
        bodies, " / ".join(load_cases), scale=scale, limits=limits, view=view, title=title, edges=edges, width=width
    )


def sheet_of(bodies, load_case, *, scale, limits, view, title, edges, width, legend=()):
    """The sheet with one or several bodies in one size and on one range."""
    factor = _factor(scale, bodies)
    camera = _camera(bodies, view, factor, width)
    field = bodies[0].field
    is_signed = any(body.field.is_signed for body in bodies)
    colours = ColourScale.over(
        [body.shown for body in bodies],
        limits,
        field.heading,
        is_signed,
        from_zero=field.from_zero,
        low_is_dark=field.low_is_worst,
    )
    signs = (1, -1) if is_signed else (-1,) if field.low_is_worst else (1,)
    extremes = [body.extremes(signs) for body in bodies]
    peaks = [[body.peak(index) for index in found] for body, found in zip(bodies, extremes)]
    said = [_peak_words(found, signs, body) for found, body in zip(peaks, bodies)]
    captions = [f"{body.name}: {words}" for body, words in zip(bodies, said)] if len(bodies) > 1 else [""]
    facts = _facts(bodies, factor)
    heading = [field.heading] if title else []  # the usual title names the quantity, and the load case too
    facts = [f'load case "{load_case}"', *facts] if title and load_case else facts
    title = title or ", ".join(filter(None, [field.heading, load_case]))
    lines = (" · ".join(facts), *said[: len(bodies) == 1])
    span = f"range of the bar {number(colours.low)} to {number(colours.high)} {field.unit}".strip()
    alt = ". ".join([title, *heading, *facts, *(captions if len(bodies) > 1 else said), span])
    panels = tuple(
        panel_of(body, caption, colours, factor, edges, found, camera.axes[2])
        for body, caption, found in zip(bodies, captions, extremes)
    )
    return Sheet(
        title,
        tuple(filter(None, lines)),
        panels,
        camera,
        alt=alt,
        scale=colours,
        peaks=tuple(peak for found in peaks for peak in found),
        legend=legend,
        width=width,
    )


def _facts(bodies, factor):
    facts = [f"deformed × {number(factor)}, grey lines: unloaded"] if factor else []
    facts += ["white: no value"] if any(body.has_gaps for body in bodies) else []
    return [*facts, *dict.fromkeys(body.field.note for body in bodies if body.field.note)]


def _body(case, field, cells, name=""):
    mesh = case.model.mesh
    return Body(
        mesh,
        field,
        chosen_cells(mesh, cells),
        name=name,
        displacement=case.displacement[:, :3],
        plate_of_cell=case.model.plate_of_cell,
    )


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


def _peak_words(peaks, signs, body):
    words = []
    for sign, peak in zip(signs, peaks):
        value = f"{'largest' if sign > 0 else 'smallest'} {number(peak.value)} {body.field.unit}".strip()
        plate = f", {peak.plate}" if peak.plate else ""
        words.append(f"{value} at {place_words(peak.place, body.mesh.extent.max())}{plate}")
    return "; ".join(words) or "no values"


def _camera(bodies, view, factor, width):
    points = np.concatenate([body.mesh.points[body.used_points] for body in bodies])
    axes = view_axes(view, points)
    if factor:
        points = np.concatenate([points, *(body.points(factor)[body.used_points] for body in bodies)])
    camera = Camera.around(points, axes, width, margin=max(room_for(body.actions) for body in bodies))
    if len(bodies) == 1:
        return camera
    wide, high = np.ptp(points @ axes[:2].T, axis=0)
    if wide > STACKED * high:
        return Camera.around(points, axes, width, heights=(160, 520))
    columns = min(len(bodies), 3)
    return Camera.around(points, axes, (width - GAP * (columns - 1)) // columns)

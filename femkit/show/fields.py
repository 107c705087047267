"""Pictures of values: a field on a mesh, a quantity of a load case, several variants on one range."""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError
from ..mesh.selection import select_cells
from .actions import ARROW
from .camera import Camera, view_axes
from .colours import ColourScale
from .drawing import drawing_fault
from .layout import Sheet, draw_sheet, panel_columns
from .panel import Lines, Mark, Panel, Surface, chosen_part, outline_pairs
from .picture import Peak, Picture, number, place_words
from .quantities import Field, field_of, field_of_array

__all__ = ["Body", "plot_case", "plot_field", "plot_variants"]

DEFORMED_SHARE = 0.03  # of the extent: what an automatic scale makes of the largest displacement
EDGES = ("outline", "mesh", None)


@dataclass(frozen=True, eq=False)
class Body:
    """What one panel is to show: values on a mesh, some of its cells, perhaps displaced.

    Attributes
    ----------
    name : str
    mesh : Mesh
    field : Field
    cells : ndarray of int, sorted
    displacement : ndarray, shape (n_points, 3), or None
        mm.
    plate_of_cell : ndarray of str, shape (n_cells,), or None
    actions : tuple of femkit.show.actions.Action
        Loads and supports to draw with it.
    """

    name: str
    mesh: object
    field: Field
    cells: np.ndarray
    displacement: np.ndarray | None = None
    plate_of_cell: np.ndarray | None = None
    actions: tuple = ()

    def shown(self):
        """The values of the chosen cells or of their points; NaN elsewhere."""
        if self.field.at != "points":
            shown = np.full(self.field.values.shape, np.nan)
            shown[self.cells] = self.field.values[self.cells]
            return shown
        points = self.mesh.corners[self.cells]
        shown = np.full(self.mesh.n_points, np.nan)
        shown[points[points >= 0]] = self.field.values[points[points >= 0]]
        return shown

    def peak(self, sign=1):
        """The largest value shown (or, with -1, the smallest) and its place; None where there is no value."""
        values = sign * self.shown()
        if not np.isfinite(values).any():
            return None
        index = np.unravel_index(np.nanargmax(np.where(np.isfinite(values), values, np.nan)), values.shape)
        corners = self.mesh.corners
        if self.field.at == "centres":
            place, cells = self.mesh.centres[index], index
        elif self.field.at == "corners":
            place, cells = self.mesh.points[corners[index]], index[:1]
        else:
            place = self.mesh.points[index]
            cells = self.cells[(corners[self.cells] == index[0]).any(axis=1)]
        return Peak(float(self.field.values[index]), place, self._plates(cells), int(index[0]))

    def _plates(self, cells):
        if self.plate_of_cell is None:
            return ""
        return " and ".join(dict.fromkeys(str(self.plate_of_cell[cell]) for cell in cells))

    def points(self, scale):
        """Where the points are drawn, shape (n_points, 3)."""
        return self.mesh.points if not scale else self.mesh.points + scale * self.displacement

    def used_points(self):
        """Indices of the points of the chosen cells."""
        points = np.unique(self.mesh.corners[self.cells])
        return points[points >= 0]


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
    body = Body("", mesh, field, chosen_cells(mesh, cells), moved)
    return picture_of([body], "", scale=scale, limits=limits, view=view, title=title, edges=edges, width=width)


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
    return picture_of([body], case.name, scale=scale, limits=limits, view=view, title=title, edges=edges, width=width)


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
    return picture_of(
        bodies, " / ".join(load_cases), scale=scale, limits=limits, view=view, title=title, edges=edges, width=width
    )


def picture_of(bodies, load_case, *, scale, limits, view, title, edges, width, mark="largest", legend=()):
    """The picture of one or several bodies on one range; `mark` chooses which end of the values is marked."""
    if edges not in EDGES:
        raise ModelError(f'edges is {edges!r}; it must be "outline", "mesh" or None.')
    first = bodies[0].field
    is_signed = any(body.field.is_signed for body in bodies)
    colours = ColourScale.over([b.shown() for b in bodies], limits, first.heading, is_signed, first.from_zero)
    factor = _scale(scale, bodies)
    signs = {"largest": (1, -1) if is_signed else (1,), "smallest": (-1,)}[mark]
    peaks = [[peak for sign in signs if (peak := body.peak(sign))] for body in bodies]
    extent = max(body.mesh.extent.max() for body in bodies)
    says = [_peak_words(found, first.unit, extent, mark) for found in peaks]
    facts = [f"load case {load_case}"] if load_case else []
    facts += [f"deformed × {number(factor)}, thin lines: unloaded"] if factor else []
    facts += dict.fromkeys(body.field.note for body in bodies if body.field.note)
    title = title or ", ".join([first.heading, *[load_case] * bool(load_case)])
    lines = [" · ".join(facts), *says[:1] * (len(bodies) == 1)]
    names = [f"{body.name}: {said}" for body, said in zip(bodies, says)] if len(bodies) > 1 else [""]
    alt = ". ".join(
        [title, first.heading, *facts, *(names if len(bodies) > 1 else says)]
        + [f"range of the bar {number(colours.low)} to {number(colours.high)} {first.unit}".strip()]
    )
    common = {"limits": (colours.low, colours.high), "peaks": tuple(p for found in peaks for p in found)}
    if fault := drawing_fault():
        view_axes(view, bodies[0].mesh.points)  # a wrong view is an error with or without pictures
        return Picture(None, alt, fault=fault, **common)
    panels = tuple(_panel(body, name, colours, factor, edges, found) for body, name, found in zip(bodies, names, peaks))
    sheet = Sheet(
        title,
        tuple(filter(None, lines)),
        panels,
        _camera(bodies, view, factor, width),
        scale=colours,
        legend=legend,
        width=width,
    )
    return Picture(draw_sheet(sheet), alt, **common)


def _body(case, field, cells, name=""):
    mesh = case.model.mesh
    return Body(name, mesh, field, chosen_cells(mesh, cells), case.displacement[:, :3], case.model.plate_of_cell)


def chosen_cells(mesh, cells):
    """Indices of the cells that a picture is to show, sorted."""
    if cells is None:
        return np.arange(mesh.n_cells)
    if isinstance(cells, (list, tuple)) and cells and all(isinstance(name, str) for name in cells):
        return np.unique(np.concatenate([select_cells(mesh, name, "picture") for name in cells]))
    return select_cells(mesh, cells, "picture")


def _scale(scale, bodies):
    """How many times displacements are drawn; 0 for the unloaded shape."""
    if scale is None:
        return 0.0
    if any(body.displacement is None for body in bodies):
        raise ModelError(f"scale is {scale!r}, but there are no displacements to draw; give displacement=.")
    if isinstance(scale, str) and scale != "auto" or not isinstance(scale, str) and not np.isfinite(scale):
        raise ModelError(f'scale is {scale!r}; it must be a number, "auto" or None.')
    if scale != "auto":
        return float(scale)
    largest = max(np.linalg.norm(b.displacement[b.used_points()], axis=1).max() for b in bodies)
    wanted = DEFORMED_SHARE * max(body.mesh.extent.max() for body in bodies) / max(largest, 1e-300)
    if largest == 0:
        return 1.0
    power = 10.0 ** np.floor(np.log10(wanted))
    return float(min((1, 2, 5, 10), key=lambda step: abs(np.log(step * power / wanted))) * power)


def _peak_words(peaks, unit, extent, mark):
    if not peaks:
        return "no values"
    said = []
    for i, peak in enumerate(peaks):
        plate = f", {peak.plate}" if peak.plate else ""
        name = "smallest" if i or mark == "smallest" else "largest"
        said.append(f"{name} {number(peak.value)} {unit}".strip() + f" at {place_words(peak.place, extent)}{plate}")
    return "; ".join(said)


def _camera(bodies, view, factor, width):
    points = np.concatenate([body.mesh.points[body.used_points()] for body in bodies])
    axes = view_axes(view, points)
    if factor:
        points = np.concatenate([points, *(body.points(factor)[body.used_points()] for body in bodies)])
    camera = Camera.around(points, axes, width, margin=(ARROW + 12) * any(body.actions for body in bodies))
    columns = panel_columns(len(bodies), camera.size)
    if columns == 1:
        return camera if len(bodies) == 1 else Camera.around(points, axes, width, heights=(160, 520))
    return Camera.around(points, axes, width // columns)


def _panel(body, name, colours, factor, edges, peaks):
    part = chosen_part(body.mesh, body.cells)
    points = body.points(factor)
    edge_width = 0.6 if edges == "mesh" else 0.0
    blocks = tuple(part.cells.values())
    if body.field.at == "centres":
        rgb = colours.rgb(body.field.values[body.cells])
        surface = Surface(points, blocks, rgb=rgb, edge_width=edge_width)
    elif body.field.at == "points":
        surface = Surface(points, blocks, values=body.field.values, scale=colours, edge_width=edge_width)
    else:
        surface = _separated(body, part, points, colours, edge_width)
    lines = []
    if edges:
        pairs = outline_pairs(part, edges)
        if factor:
            lines.append(Lines(body.mesh.points, pairs, colour="#888888", width=0.8))
        lines.append(Lines(points, pairs, width=1.0))
    marks = tuple(_mark(body, peak, factor) for peak in peaks)
    return Panel(name, (surface,), lines=tuple(lines), marks=marks, actions=body.actions)


def _separated(body, part, points, colours, edge_width):
    """Every cell with points of its own, so that corner values stay broken between cells."""
    corners = body.mesh.corners[body.cells]
    is_corner = corners >= 0
    own = np.full(corners.shape, -1)
    own[is_corner] = np.arange(is_corner.sum())
    sizes = is_corner.sum(axis=1)
    blocks = tuple(own[sizes == k, :k] for k in np.unique(sizes))
    values = body.field.values[body.cells][is_corner]
    return Surface(points[corners[is_corner]], blocks, values=values, scale=colours, edge_width=edge_width)


def _mark(body, peak, factor):
    place = np.array(peak.place)
    if factor:
        if body.field.at == "centres":
            corners = body.mesh.corners[peak.index]
            place = body.points(factor)[corners[corners >= 0]].mean(axis=0)
        else:
            point = np.flatnonzero((body.mesh.points == peak.place).all(axis=1))[0]
            place = body.points(factor)[point]
    return Mark(place, f"{number(peak.value)} {body.field.unit}".strip())

"""Pictures of what is there before anything is solved: sets, quality, plates, thickness, sides, loads and supports."""

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.quality import mesh_quality
from ..mesh.topology import smooth_sheets
from .actions import actions_of, room_for
from .body import Body, chosen_cells
from .camera import Camera, view_axes
from .colours import CLASS_COLOURS, PALE, rgb_of
from .fields import sheet_of
from .layout import LegendEntry, Sheet, drawn
from .panel import Panel, Surface, chosen_part, edge_lines, points_of
from .quantities import Field

__all__ = ["plot_mesh", "plot_model"]

MESH_COLOURS = ("plate sets", "sheets", "quality", "size", "normals")
MODEL_SHOWS = ("plates", "thickness", "normals", "plain")
SIDES = (("top", "#77AADD"), ("bottom", "#EE8866"))
MANY_CELLS = 30_000  # from here on the edges of all cells would make a picture black


@drawn
def plot_mesh(mesh, *, color_by="plate sets", view=None, cells=None, title=None, edges=None, width=1400):
    """A mesh with its cells coloured by set, smooth sheet, quality, size or side.

    Parameters
    ----------
    mesh : Mesh
    color_by : str
        "plate sets": cell sets in flat colours (the smaller of two sets of the same cells lies on top); "sheets":
        smooth sheets, which end at folds and junctions; "quality": scaled Jacobian, 1 is best; "size": square root
        of the area, mm; "normals": whether the top or the bottom is seen.
    view, cells, title, width
        As in `plot_case`.
    edges : {"outline", "mesh"}, optional
        Without it the edges of all cells, up to 30,000 cells; beyond, the outline.

    Returns
    -------
    Picture
    """
    if color_by not in MESH_COLOURS:
        advice = nearest_name(color_by, MESH_COLOURS)[1]
        raise ModelError(f'a mesh can\'t be coloured by "{color_by}". {advice}')
    chosen = chosen_cells(mesh, cells)
    edges = edges or ("mesh" if len(chosen) <= MANY_CELLS else "outline")
    options = {"view": view, "title": title, "edges": edges, "width": width}
    if color_by in ("quality", "size"):
        label, unit, values = "cell size", "mm", mesh.sizes
        if color_by == "quality":
            label, unit, values = "scaled Jacobian (1 is best)", "", mesh_quality(mesh).scaled_jacobian
        field = Field(values, "centres", label, unit=unit, from_zero=False, low_is_worst=True)
        body = Body(mesh, field, chosen, plate_of_cell=_set_names(mesh))
        return sheet_of([body], "", scale=None, limits=None, **options)
    if color_by == "normals":
        return _sheet_of_sides(mesh, chosen, **options)
    if color_by == "sheets":
        sheet = smooth_sheets(mesh)
        return _sheet_of_classes(mesh, chosen, sheet, {}, "smooth sheets", f"{len(set(sheet))} in all", **options)
    number = np.full(mesh.n_cells, -1)
    names = _largest_first(mesh)
    for i, name in enumerate(names):
        number[mesh.cell_sets[name]] = i
    classes = {f"{name} ({len(mesh.cell_sets[name]):,})": i for i, name in enumerate(names)}
    return _sheet_of_classes(mesh, chosen, number, classes, "cell sets and how many cells they hold", **options)


@drawn
def plot_model(model, *, show=None, load_case=None, view=None, cells=None, title=None, edges="outline", width=1400):
    """A model's plates, thickness or sides, and what acts on it.

    Parameters
    ----------
    model : Model
    show : {"plates", "thickness", "normals", "plain"}, optional
        Flat colours by plate; thickness on a scale; whether a plate's top or bottom is seen; one pale colour, which is
        what a load case is shown on unless said otherwise.
    load_case : str, optional
        A load case or combination: its loads as arrows, its supports as markers, with the totals in the legend.
    view, cells, title, edges, width
        As in `plot_case`.

    Returns
    -------
    Picture

    Raises
    ------
    ModelError
        If `show` or the load case is not there; the nearest name is offered.
    """
    show = show or ("plain" if load_case else "plates")
    if show not in MODEL_SHOWS:
        raise ModelError(f'a model can\'t show "{show}". {nearest_name(show, MODEL_SHOWS)[1]}')
    mesh, chosen = model.mesh, chosen_cells(model.mesh, cells)
    actions, said = actions_of(model, load_case) if load_case else ((), ())
    options = {"view": view, "title": title, "edges": edges, "width": width, "load_case": load_case or ""}
    options["legend"] = tuple(LegendEntry(*entry) for entry in said)
    if show == "thickness":
        field = Field(model.per_cell.thickness, "centres", "thickness", unit="mm", from_zero=False)
        body = Body(mesh, field, chosen, plate_of_cell=model.plate_of_cell, actions=tuple(actions))
        return sheet_of([body], scale=None, limits=None, **options)
    options["actions"] = tuple(actions)
    if show == "normals":
        return _sheet_of_sides(mesh, chosen, **options)
    if show == "plain":
        what = "loads and supports" if load_case else "model"
        return _sheet_of_classes(mesh, chosen, np.full(mesh.n_cells, -1), {}, what, **options)
    classes = {_plate_words(name, plate): i for i, (name, plate) in enumerate(model.plates.items())}
    return _sheet_of_classes(mesh, chosen, model.per_cell.plate, classes, "plates", **options)


def _count(n, thing):
    return f"{n:,} {thing}{'' if n == 1 else 's'}"


def _plate_words(name, plate):
    low, high = np.min(plate.thickness), np.max(plate.thickness)
    thickness = f"{low:g}" if low == high else f"{low:g} … {high:g}"
    return f"{name}: {thickness} mm {plate.material.name}"


def _largest_first(mesh):
    """Names of the cell sets; a small one lies over a large one, so that both are seen."""
    return sorted(mesh.cell_sets, key=lambda name: -len(mesh.cell_sets[name]))


def _set_names(mesh):
    """The name of the smallest cell set each cell is in."""
    names = np.full(mesh.n_cells, "", dtype=object)
    for name in _largest_first(mesh):
        names[mesh.cell_sets[name]] = name
    return names


def _sheet_of_classes(mesh, chosen, number, classes, what, *facts, legend=(), **options):
    """Flat colours by class number (-1: none); `classes` gives words and number of those that the legend names."""
    colours = np.array([rgb_of(colour) for colour in CLASS_COLOURS])
    rgb = np.where(number[:, None] < 0, rgb_of(PALE), colours[number % len(colours)]).astype(np.uint8)
    present = set(number[chosen])
    entries = [
        LegendEntry("patch", CLASS_COLOURS[i % len(CLASS_COLOURS)], words)
        for words, i in classes.items()
        if i in present
    ]
    if classes and -1 in present:
        entries.append(LegendEntry("patch", PALE, "none"))
    return _flat_sheet(mesh, chosen, rgb, what, facts, legend=(*entries, *legend), **options)


def _sheet_of_sides(mesh, chosen, *, view, legend=(), **options):
    is_top = mesh.normals @ view_axes(view, mesh.points)[2] > 0
    rgb = np.where(is_top[:, None], *(rgb_of(colour) for _, colour in SIDES)).astype(np.uint8)
    entries = (LegendEntry("patch", colour, f"the {side} is seen") for side, colour in SIDES)
    facts = (f"the top of {is_top[chosen].mean():.0%} of the cells faces the eye",)
    what = "which side of each plate is seen"
    return _flat_sheet(mesh, chosen, rgb, what, facts, view=view, legend=(*entries, *legend), **options)


def _flat_sheet(mesh, chosen, rgb, what, facts, *, view, title, edges, width, legend, load_case="", actions=()):
    facts = [_count(len(chosen), "cell"), *facts]
    heading = [what] if title else []  # the usual title names it, and the load case too
    facts = [f'load case "{load_case}"', *facts] if title and load_case else facts
    title = title or ", ".join(filter(None, [what, load_case]))
    alt = ". ".join(filter(None, [title, *heading, *facts, "; ".join(entry.text for entry in legend)]))
    points = mesh.points[points_of(mesh, chosen)]
    fitted = np.concatenate([points, *(action.places for action in actions)])
    camera = Camera.around(fitted, view_axes(view, points), width, margin=room_for(actions))
    part = chosen_part(mesh, chosen)
    surface = Surface(
        mesh.points,
        tuple(part.cells.values()),
        rgb=rgb[chosen],
        is_lit=True,
    )
    panel = Panel("", (surface,), lines=edge_lines(part, edges, mesh.points), actions=actions)
    return Sheet(title, (" · ".join(facts),), (panel,), camera, alt=alt, legend=legend, width=width)

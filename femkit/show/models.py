"""Pictures of what is there before anything is solved: sets, quality, plates, thickness, sides, loads and supports."""

from dataclasses import replace

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.quality import mesh_quality
from ..mesh.topology import smooth_sheets
from .actions import ARROW, actions_of
from .camera import Camera, view_axes
from .colours import CLASS_COLOURS, DARK, PALE, rgb_of
from .drawing import drawing_fault
from .fields import Body, chosen_cells, picture_of
from .layout import LegendEntry, Sheet, draw_sheet
from .panel import Lines, Panel, Surface, chosen_part, outline_pairs
from .picture import Picture
from .quantities import field_of_array

__all__ = ["plot_mesh", "plot_model"]

MESH_COLOURS = ("plate sets", "sheets", "quality", "size", "normals")
MODEL_SHOWS = ("plates", "thickness", "normals", "plain")
SIDES = (("top", "#77AADD"), ("bottom", "#EE8866"))
MANY_CELLS = 30_000  # from here on the edges of all cells would make a picture black


def plot_mesh(mesh, *, color_by="plate sets", view=None, cells=None, title=None, edges=None, width=1400):
    """A mesh with its cells coloured by set, smooth sheet, quality, size or side.

    Parameters
    ----------
    mesh : Mesh
    color_by : str
        "plate sets": cell sets in flat colours (a later set of the same cells lies on top); "sheets": smooth sheets,
        which end at folds and junctions; "quality": scaled Jacobian, 1 is best; "size": square root of the area, mm;
        "normals": whether the top or the bottom is seen.
    view, cells, title, width
        As in `plot_case`.
    edges : {"outline", "mesh", None}, optional
        The edges of all cells without it, up to 30,000 cells; beyond, the outline.

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
        quality, size = color_by == "quality", color_by == "size"
        values = mesh_quality(mesh).scaled_jacobian if quality else mesh.sizes
        field = field_of_array(mesh, values, "scaled Jacobian (1 is best)" if quality else "cell size", "mm" * size)
        body = Body("", mesh, replace(field, is_signed=False, from_zero=False), chosen, None, _set_names(mesh))
        return picture_of([body], "", scale=None, limits=None, mark="smallest", **options)
    if color_by == "normals":
        return _picture_of_sides(mesh, chosen, (), (), **options)
    if color_by == "sheets":
        sheet = smooth_sheets(mesh)
        classes = {f"{sheet.max(initial=-1) + 1} smooth sheets": None}
        return _picture_of_classes(mesh, chosen, sheet, classes, "smooth sheets", **options)
    number, names = np.full(mesh.n_cells, -1), sorted(mesh.cell_sets, key=lambda n: -len(mesh.cell_sets[n]))
    for i, name in enumerate(names):  # the smallest last, so that it stays to be seen
        number[mesh.cell_sets[name]] = i
    classes = {f"{name} ({len(mesh.cell_sets[name]):,})": i for i, name in enumerate(names)}
    return _picture_of_classes(mesh, chosen, number, classes, "cell sets (cells)", **options)


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
    legend = tuple(LegendEntry(*entry) for entry in said)
    options = {"view": view, "title": title, "edges": edges, "width": width, "load_case": load_case or ""}
    if show == "normals":
        return _picture_of_sides(mesh, chosen, actions, legend, **options)
    if show == "thickness":
        field = replace(field_of_array(mesh, model.per_cell.thickness, "thickness", "mm"), from_zero=False)
        body = Body("", mesh, field, chosen, None, model.plate_of_cell, tuple(actions))
        return picture_of([body], scale=None, limits=None, legend=legend, **options)
    classes = {} if show == "plain" else {_plate_words(name, p): i for i, (name, p) in enumerate(model.plates.items())}
    number = np.full(mesh.n_cells, -1) if show == "plain" else model.per_cell.plate
    what = "model" if show == "plain" else "plates"
    return _picture_of_classes(mesh, chosen, number, classes, what, actions, legend, **options)


def _plate_words(name, plate):
    low, high = np.min(plate.thickness), np.max(plate.thickness)
    thickness = f"{low:g}" if low == high else f"{low:g} … {high:g}"
    return f"{name}: {thickness} mm {plate.material.name}"


def _set_names(mesh):
    """The name of the smallest cell set each cell is in."""
    names = np.full(mesh.n_cells, "", dtype=object)
    for name in sorted(mesh.cell_sets, key=lambda n: -len(mesh.cell_sets[n])):
        names[mesh.cell_sets[name]] = name
    return names


def _picture_of_classes(mesh, chosen, number, classes, what, actions=(), legend=(), **options):
    colours = np.array([rgb_of(colour) for colour in CLASS_COLOURS])
    rgb = np.where(number[:, None] < 0, rgb_of(PALE), colours[number % len(colours)]).astype(np.uint8)
    present = set(np.unique(number[chosen]))
    entries = tuple(
        LegendEntry("patch", CLASS_COLOURS[i % len(CLASS_COLOURS)], words)
        for words, i in classes.items()
        if i in present
    )
    if (number[chosen] < 0).any() and classes and None not in classes.values():
        entries += (LegendEntry("patch", PALE, "no plate" if what == "plates" else "in no set"),)
    words = [what, *(entry.text for entry in entries + legend), *(w for w, i in classes.items() if i is None)]
    return _flat_picture(mesh, chosen, rgb, entries + legend, words, actions, **options)


def _picture_of_sides(mesh, chosen, actions, legend, view, **options):
    towards = view_axes(view, mesh.points)[2]
    is_top = mesh.normals @ towards > 0
    rgb = np.where(is_top[:, None], *(rgb_of(colour) for _, colour in SIDES)).astype(np.uint8)
    share = is_top[chosen].mean()
    entries = tuple(LegendEntry("patch", colour, f"{side} of the sheet is seen") for side, colour in SIDES)
    words = ["side of each plate that is seen", f"top on {share:.0%} of the cells", *(entry.text for entry in legend)]
    return _flat_picture(mesh, chosen, rgb, entries + legend, words, actions, view=view, **options)


def _flat_picture(mesh, chosen, rgb, legend, words, actions, *, view, title, edges, width, load_case=""):
    title = title or ", ".join([words[0], *[load_case] * bool(load_case)])
    facts = ([f"load case {load_case}"] if load_case else []) + [f"{len(chosen):,} cells, lengths in mm"]
    alt = ". ".join([title, *facts, "; ".join(words)])
    points = mesh.points[np.unique(mesh.corners[chosen][mesh.corners[chosen] >= 0])]
    axes = view_axes(view, points)
    if fault := drawing_fault():
        return Picture(None, alt, fault=fault)
    camera = Camera.around(points, axes, width, margin=(ARROW + 12) * bool(actions))
    part = chosen_part(mesh, chosen)
    surface = Surface(
        mesh.points,
        tuple(part.cells.values()),
        rgb=rgb[chosen],
        is_lit=True,
        edge_width=0.6 if edges == "mesh" else 0.0,
    )
    lines = (Lines(mesh.points, outline_pairs(part, edges), colour=DARK),) if edges else ()
    panel = Panel("", (surface,), lines=lines, actions=tuple(actions))
    return Picture(draw_sheet(Sheet(title, (" · ".join(facts),), (panel,), camera, legend=legend, width=width)), alt)

"""Pictures of what is there before anything is solved: sets, quality, plates, thickness, sides, loads and supports."""

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.quality import mesh_quality
from ..mesh.topology import smooth_sheets
from ..model.values import span_words
from .actions import actions_of
from .body import Body, chosen_cells
from .camera import view_axes
from .colours import FlatColours
from .layout import drawn
from .quantities import Field
from .sheet import sheet_of

__all__ = ["plot_mesh", "plot_model"]

MESH_COLOURS = ("plate sets", "sheets", "quality", "size", "normals")
MODEL_SHOWS = ("plates", "thickness", "normals", "plain")
PLATES = FlatColours()
SIDES = FlatColours(("#77AADD", "#EE8866"))
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
    """
    if color_by not in MESH_COLOURS:
        advice = nearest_name(color_by, MESH_COLOURS)[1]
        raise ModelError(f'a mesh can\'t be coloured by "{color_by}". {advice}')
    chosen, legend = chosen_cells(mesh, cells), ()
    names = sorted(mesh.cell_sets, key=lambda name: -len(mesh.cell_sets[name]))  # a small one lies over a large one
    set_of_cell = np.full(mesh.n_cells, -1)
    for i, name in enumerate(names):
        set_of_cell[mesh.cell_sets[name]] = i
    if color_by == "quality":
        values = mesh_quality(mesh).scaled_jacobian
        field = Field(values, "centres", "scaled Jacobian (1 is best)", from_zero=False, low_is_worst=True)
    elif color_by == "size":
        field = Field(mesh.sizes, "centres", "cell size", unit="mm", from_zero=False, low_is_worst=True)
    elif color_by == "sheets":
        sheet = smooth_sheets(mesh)
        field, legend = _classes(chosen, sheet, (), "smooth sheets", f"{len(set(sheet))} in all")
    elif color_by == "normals":
        field, legend = _sides(mesh, chosen, view)
    else:
        classes = [f"{name} ({len(mesh.cell_sets[name]):,})" for name in names]
        field, legend = _classes(chosen, set_of_cell, classes, "cell sets and how many cells they hold")
    body = Body(mesh, field, chosen, plate_of_cell=np.array([*names, ""])[set_of_cell], legend=legend)
    edges = edges or ("mesh" if len(chosen) <= MANY_CELLS else "outline")
    return sheet_of([body], view=view, title=title, edges=edges, width=width)


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
    mesh, chosen, legend = model.mesh, chosen_cells(model.mesh, cells), ()
    actions, acting = actions_of(model, load_case) if load_case else ((), ())
    if show == "thickness":
        field = Field(model.per_cell.thickness, "centres", "thickness", unit="mm", from_zero=False)
    elif show == "normals":
        field, legend = _sides(mesh, chosen, view)
    elif show == "plates":
        classes = [_plate_words(name, plate) for name, plate in model.plates.items()]
        beams = [f"beam {name}: {beam.section.name}, drawn as a line" for name, beam in model.beams.items()]
        field, legend = _classes(chosen, model.per_cell.plate, classes, "plates", *beams)
    else:
        what = "loads and supports" if load_case else "model"
        field, legend = _classes(chosen, np.full(mesh.n_cells, -1), (), what)
    said = {"actions": actions, "legend": (*legend, *acting)}
    body = Body(mesh, field, chosen, plate_of_cell=model.plate_of_cell, beams=model.beam_cells, **said)
    return sheet_of([body], load_case or "", view=view, title=title, edges=edges, width=width)


def _plate_words(name, plate):
    return f"{name}: {span_words(plate.thickness)} mm {plate.material.name}"


def _classes(chosen, numbers, classes, what, *facts, flat=PLATES):
    """Class numbers of cells (-1: none) as a field, and a legend of those classes that have words and are there."""
    present = set(numbers[chosen])
    legend = [flat.entry(i, words) for i, words in enumerate(classes) if i in present]
    if classes and -1 in present:
        legend.append(flat.entry(-1, "none"))
    cells = f"{len(chosen):,} cell{'' if len(chosen) == 1 else 's'}"
    return Field(numbers, "centres", what, flat=flat, notes=(cells, *facts)), legend


def _sides(mesh, chosen, view):
    corners = mesh.corners[chosen]
    is_top = mesh.normals @ view_axes(view, mesh.points[corners[corners >= 0]])[2] > 0
    fact = f"the top of {is_top[chosen].mean():.0%} of the cells faces the eye"
    field, _ = _classes(chosen, np.where(is_top, 0, 1), (), "which side of each plate is seen", fact, flat=SIDES)
    return field, [SIDES.entry(0, "the top is seen"), SIDES.entry(1, "the bottom is seen")]

"""Pictures of values: a field on a mesh, a quantity of a load case, several variants on one range."""

import numpy as np

from ..errors import ModelError
from .body import Body, chosen_cells
from .layout import drawn
from .quantities import field_of, field_of_array
from .sheet import sheet_of

__all__ = [
    "plot_buckle", "plot_case", "plot_field", "plot_field_buckling", "plot_mode", "plot_sensitivity", "plot_stages",
    "plot_strength", "plot_variants",
]  # fmt: skip


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
    body = _body(case, field_of(case, quantity, surface, at, label, unit), cells)
    return sheet_of([body], case.name, scale=scale, limits=limits, view=view, title=title, edges=edges, width=width)


@drawn
def plot_variants(cases, quantity="von_mises", *, surface="top", at=None, cells=None, label=None, unit=None, **options):
    """The same quantity of several variants side by side, in one size and on one range.

    Parameters
    ----------
    cases : dict of str to CaseResult
        By the variant's name. Wide bodies are stacked.
    quantity : str, or dict of str to array_like
        As in `plot_case`; arrays of one's own by the variant's name.
    surface, at, cells, label, unit
        As in `plot_case`.
    **options
        `scale`, `limits`, `view`, `title`, `edges` and `width` of `plot_case`.
    """
    if not cases:
        raise ModelError("plot_variants was given no variants; give it a dict of name to load case.")
    bodies = []
    for name, case in cases.items():
        own = quantity[name] if isinstance(quantity, dict) else quantity
        bodies.append(_body(case, field_of(case, own, surface, at, label, unit), cells, name))
    load_cases = dict.fromkeys(case.name for case in cases.values())
    return sheet_of(bodies, " / ".join(load_cases), **options)


def plot_stages(sequence, quantity="judged_stress", **options):
    """The same quantity after every stage of a sequence, side by side on one range.

    Parameters
    ----------
    sequence : StagesResult
    quantity, **options
        As in `plot_variants`.
    """
    return plot_variants({state.name: state for state in sequence}, quantity, **options)


@drawn
def plot_field(mesh, values, *, label="value", unit="", at=None, displacement=None, cells=None, **options):
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
    cells
        As in `plot_case`.
    **options
        `scale`, `limits`, `view`, `title`, `edges` and `width` of `plot_case`.
    """
    moved = None if displacement is None else np.asarray(displacement, dtype=float)[:, :3]
    field = field_of_array(mesh, values, label, unit, at)
    return sheet_of([Body(mesh, field, chosen_cells(mesh, cells), displacement=moved)], **options)


def plot_mode(modes, number=1, **options):
    """A natural mode's shape, counted from 1, deformed so that it can be seen, over the unloaded outline.

    Parameters
    ----------
    modes : ModesResult
    number : int
    **options
        As in `plot_field`.
    """
    return _plot_shape(modes, number, "mode shape", modes.frequency, "Hz", options)


def plot_buckle(buckled, number=1, **options):
    """A buckling shape, counted from 1, deformed so that it can be seen, over the unloaded outline.

    Parameters
    ----------
    buckled : BucklingResult
    number : int
    **options
        As in `plot_field`.
    """
    return _plot_shape(buckled, number, "buckling shape", buckled.factor, f"times {buckled.case.name}", options)


def plot_sensitivity(found, per="kg", over=200.0, **options):
    """Where steel changes a quantity most, as colours that end where a hundredth of the area is beyond.

    Parameters
    ----------
    found : Sensitivity
    per, over
        What is added, and on how large a patch: see `Sensitivity.density`.
    **options
        As in `plot_field`.
    """
    values, areas = found.density(per, over), found.model.mesh.areas
    order = np.argsort(np.abs(values))
    end = float(f"{np.abs(values)[order[np.searchsorted(np.cumsum(areas[order]), 0.99 * areas.sum())]]:.2g}")
    words = "a kilogram more" if per == "kg" else "a millimetre more on 100 × 100 mm"
    label = f"change of {found.quantity} by {words}" + f", spread over {over:g} mm" * (over > 0)
    options = {"label": label, "unit": found.quantity.unit, "limits": (-end, end) if end else None, **options}
    return plot_field(found.model.mesh, values, **options)


def plot_strength(found, **options):
    """The largest utilisation of every cell over all load cases and combinations that were looked at.

    Parameters
    ----------
    found : Strength
    **options
        As in `plot_field`.
    """
    plate = found.result.model.plate_of_cell[found.utilisation.argmax()]
    title = f"Where is the strength used most? In {plate}, under {found.governing().case}"
    label = f"utilisation over {found.distance:g} mm, largest of {len(found.names)} combinations, 1 at the limit"
    return plot_field(found.result.model.mesh, found.utilisation, **{"label": label, "title": title, **options})


def plot_field_buckling(found, combination=None, *, after_buckling=False, **options):
    """How much of what it may carry each field of sheet carries; white fields are not assessed.

    Parameters
    ----------
    found : FieldBuckling
    combination : str, optional
        The worst of all for each field without it.
    after_buckling : bool
        The utilisation after buckling instead of limit over elastic factor.
    **options
        As in `plot_field`.
    """
    what = "utilisation after buckling" if after_buckling else f"{found.limit:g} / elastic buckling factor"
    of = combination or "the combination worst for each"
    title = f"Which fields of sheet {'carry least after buckling' if after_buckling else 'buckle first'}? Under {of}"
    values = found.per_cell(combination, after_buckling=after_buckling)
    labels = {"label": f"{what} of each field; white: not assessed", "title": title, "at": "centres"}
    return plot_field(found.fields.model.mesh, values, **(labels | options))


def _plot_shape(result, number, what, sizes, of, options):
    if not 1 <= number <= len(result.shape):
        raise ModelError(f"there is no {what} {number}; there are 1 to {len(result.shape)}.")
    shape = result.shape[number - 1]
    size = np.linalg.norm(shape[:, :3], axis=1)
    label = f"{what} {number} at {sizes[number - 1]:.4g} {of}, largest 1"
    options = {"label": label, "displacement": shape, "scale": "auto", **options}
    return plot_field(result.model.mesh, size / size.max(), **options)


def _body(case, field, cells, name=""):
    model, mesh, moved = case.model, case.model.mesh, case.displacement[:, :3]
    more = {"plate_of_cell": model.plate_of_cell, "beams": model.beam_cells}
    return Body(mesh, field, chosen_cells(mesh, cells), name=name, displacement=moved, **more)

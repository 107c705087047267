"""A view that turns with the mouse: plain HTML in the notebook, which needs no network and no widget.

pyvista exports the scene as one self-contained page (the ``interactive`` extra of the installation). It leaves words
out, so title, facts and bar stand around it.
"""

import tempfile
from contextlib import closing
from dataclasses import dataclass
from html import escape
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from ..errors import ModelError
from ..mesh.mesh import Mesh
from ..model.model import Model
from ..results.case import CaseResult
from ..results.export import checked_path, replacing
from .drawing import add_body, drawing_fault, new_plotter
from .fields import plot_case
from .models import plot_mesh, plot_model
from .picture import number

__all__ = ["View", "view"]

PACKAGE = "trame_pyvista"
STANDS_STILL = '<p>This picture stands still: pip install "pyvista[jupyter]" lets it turn with the mouse.</p>'
CHOICES = (
    (CaseResult, plot_case, "quantity", "von_mises"),
    (Model, plot_model, "show", "plates"),
    (Mesh, plot_mesh, "color_by", "plate sets"),
)


@dataclass(frozen=True)
class View:
    """A view that turns with the mouse; a notebook shows it when it ends a cell.

    Attributes
    ----------
    page : str
        HTML, with nothing fetched from elsewhere.
    alt : str
        What it shows, in words.
    """

    page: str
    alt: str

    def save(self, path):
        """Write the page to a .html file that any browser opens, beside its place and renamed in."""
        path = checked_path(path, ".html", "views")
        with replacing(path) as beside:
            beside.write_text(f'<!doctype html><meta charset="utf-8"><body>{self.page}</body>', encoding="utf-8")
        return path

    def _repr_html_(self):
        return self.page

    def __repr__(self):
        return f"View: {self.alt}"


def view(thing, quantity=None, *, height=520, **options):
    """An interactive view of a load case, a model or a mesh.

    Parameters
    ----------
    thing : CaseResult, Model or Mesh
    quantity : str or array_like, optional
        For a load case as in `plot_case`; for a model "plates", "thickness" or "normals"; for a mesh as `color_by` in
        `plot_mesh`.
    height : int
        Pixels.
    **options
        As in `plot_case`, `plot_model` or `plot_mesh`. Loads and supports are drawn in static pictures only.

    Returns
    -------
    View
        Where the packages or the OpenGL library for it are missing, the static picture, and a sentence that says so.

    Raises
    ------
    ModelError
        If it is none of these things.
    """
    if "load_case" in options:
        raise ModelError("view draws no loads and supports; model.plot(load_case=...) does.")
    for kind, plot, name, usual in CHOICES:
        if isinstance(thing, kind):
            options[name] = usual if quantity is None else quantity
            has_package = find_spec(PACKAGE) is not None
            if has_package and not drawing_fault():
                return _view_of(plot.sheet(thing, **options), height)
            picture, words = plot(thing, **options), "" if has_package else STANDS_STILL
            return View(words + picture.html, picture.alt)
    raise ModelError(f"view was given a {type(thing).__name__}; it takes a load case's result, a Model or a Mesh.")


def _view_of(sheet, height):
    # made and used in this thread, not in the drawing thread: the export runs a server, which wants the caller's
    with closing(new_plotter((900, height))) as plotter, tempfile.TemporaryDirectory() as folder:
        add_body(plotter, sheet, sheet.bodies[0])
        for actor in plotter.actors.values():
            actor.prop.line_width, actor.prop.point_size = 1.0, 1.0
        sheet.camera.aim(plotter)
        path = Path(folder) / "scene.html"
        plotter.trame.export_html(str(path))
        scene = path.read_text(encoding="utf-8")
    frame = f'width="100%" height="{height}" style="border:0;display:block" sandbox="allow-scripts"'
    head = f"<b>{escape(sheet.title)}</b>" + "".join(f"<br>{escape(fact)}" for fact in sheet.facts)
    scene = f'<iframe title="{escape(sheet.alt)}" {frame} srcdoc="{escape(scene)}"></iframe>'
    foot = _bar(sheet.scale) if sheet.scale else ""
    return View(f'<div style="font-family:sans-serif">{head}{scene}{foot}{_legend(sheet.legend)}</div>', sheet.alt)


def _bar(scale):
    stops = ", ".join(f"rgb({r},{g},{b})" for r, g, b in scale.steps[::15])
    ticks = "".join(f"<span>{number(value)}</span>" for value in np.linspace(scale.low, scale.high, 5))
    strip = f'<div style="height:12px;background:linear-gradient(to right, {stops})"></div>'
    return f'{escape(scale.label)}{strip}<div style="display:flex;justify-content:space-between">{ticks}</div>'


def _legend(entries):
    swatch = '<i style="display:inline-block;width:12px;height:12px;margin:0 4px 0 12px;background:'
    return "".join(f'{swatch}{entry.colour}"></i>{escape(entry.text)}' for entry in entries)

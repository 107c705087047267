"""A view that turns with the mouse: plain HTML in the notebook, which needs no network, no widget, no OpenGL here.

The browser draws it, so it also works where pictures can't be drawn, and it still turns in a saved notebook or in a
file of its own. (pyvista's own HTML export starts a web server in the notebook's main thread first, and wants packages
that a plain installation has not.)
"""

import json
from base64 import b64encode
from dataclasses import dataclass
from html import escape
from pathlib import Path

import numpy as np

from ..errors import ModelError, RecordError
from ..mesh.mesh import Mesh
from ..model.model import Model
from ..results.export import replacing
from ..results.case import CaseResult
from .colours import rgb_of
from .fields import plot_case
from .layout import bar_ticks
from .models import plot_mesh, plot_model
from .picture import number
from .viewer_page import PAGE

__all__ = ["View", "view"]


@dataclass(frozen=True)
class View:
    """A view that turns with the mouse; a notebook shows it when it ends a cell.

    Attributes
    ----------
    page : str
        The whole HTML page.
    alt : str
        What it shows, in words.
    height : int
        Pixels on the notebook's page.
    """

    page: str
    alt: str
    height: int

    def save(self, path):
        """Write the page to a .html file that any browser opens, beside its place and renamed in."""
        path = Path(path)
        if path.suffix != ".html":
            raise RecordError(f'{path}: views are written as .html, not "{path.suffix}".')
        if not path.parent.is_dir():
            raise RecordError(f"{path}: the folder {path.parent} does not exist; make it first.")
        with replacing(path) as beside:
            beside.write_text(self.page, encoding="utf-8")
        return path

    def _repr_html_(self):
        frame = f'width="100%" height="{self.height}" style="border:0" sandbox="allow-scripts"'
        return f'<iframe title="{escape(self.alt)}" {frame} srcdoc="{escape(self.page)}"></iframe>'

    def __repr__(self):
        return f"View: {self.alt}"


def view(thing, quantity=None, *, height=640, **options):
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

    Raises
    ------
    ModelError
        If it is none of these things.
    """
    sheets = (
        (CaseResult, plot_case.sheet, "quantity", "von_mises"),
        (Model, plot_model.sheet, "show", "plates"),
        (Mesh, plot_mesh.sheet, "color_by", "plate sets"),
    )
    if "load_case" in options:
        raise ModelError("view draws no loads and supports; model.plot(load_case=...) does.")
    for kind, compose, name, usual in sheets:
        if isinstance(thing, kind):
            return _view_of(compose(thing, **{name: usual if quantity is None else quantity}, **options), height)
    raise ModelError(f"view was given a {type(thing).__name__}; it takes a load case's result, a Model or a Mesh.")


def _view_of(sheet, height):
    (panel,) = sheet.panels
    (surface,) = panel.surfaces
    triangles = _triangles(surface.blocks)
    used = np.unique(triangles)
    low, high = surface.points[used].min(axis=0), surface.points[used].max(axis=0)
    centre, half = (low + high) / 2, np.max(high - low) / 2
    place = lambda points: (points - centre) / half  # noqa: E731
    seen = place(surface.points[used]) @ sheet.camera.axes.T
    per_point = surface.rgb is None
    data = {
        "points": _packed(place(surface.points), np.float32),
        "triangles": _packed(triangles, np.uint32),
        "colours": _packed(surface.scale.rgb(surface.values) if per_point else _per_triangle(surface), np.uint8),
        "perPoint": per_point,
        "lit": surface.is_lit,
        "lines": [
            {
                "colour": rgb_of(lines.colour).tolist(),
                "opacity": lines.opacity,
                "pairs": _packed(lines.pairs, np.uint32),
                "points": _packed(place(lines.points), np.float32),
            }
            for lines in panel.lines
        ],
        "axes": sheet.camera.axes.tolist(),
        "span": np.maximum(np.ptp(seen, axis=0)[:2], 1e-3).tolist(),
        "marks": [{"text": mark.text, "place": place(mark.place).tolist()} for mark in panel.marks],
    }
    words = {
        "title": escape(sheet.title),
        "facts": "<br>".join(escape(fact) for fact in sheet.facts),
        "foot": _bar(sheet.scale) + _legend(sheet.legend),
        "data": json.dumps(data).replace("</", "<\\/"),  # a text must not end the script
    }
    page = PAGE
    for name in ("data", "foot", "facts", "title"):  # the user's own words last, so that nothing is filled into them
        page = page.replace("{{" + name + "}}", words[name])
    return View(page, sheet.alt, height)


def _triangles(blocks):
    """All cells as triangles, shape (n, 3): first every cell's first, then the second ones of the quadrilaterals."""
    return np.concatenate(
        [block[:, :3] for block in blocks] + [block[:, [0, 2, 3]] for block in blocks if block.shape[1] == 4]
    )


def _per_triangle(surface):
    sizes = np.concatenate([np.full(len(block), block.shape[1]) for block in surface.blocks])
    return np.concatenate([surface.rgb, surface.rgb[sizes == 4]])


def _packed(array, kind):
    return b64encode(np.ascontiguousarray(array, dtype=kind).tobytes()).decode("ascii")


def _bar(scale):
    if scale is None:
        return ""
    stops = ", ".join(f"rgb({r},{g},{b})" for r, g, b in scale.steps[::15])
    share = lambda value: 100 * (value - scale.low) / (scale.high - scale.low)  # noqa: E731
    ticks = bar_ticks(scale.low, scale.high)
    marks = "".join(f'<span style="left: {share(value):.2f}%">{number(value)}</span>' for value in ticks)
    beyond = " (values go beyond the ends)" if scale.goes_below or scale.goes_above else ""
    strip = f'<div class="strip" style="background: linear-gradient(to right, {stops})"></div>'
    return f'<p>{escape(scale.label)}{beyond}</p>{strip}<div class="bar">{marks}</div>'


def _legend(entries):
    items = (f'<span><i style="background: {e.colour}"></i>{escape(e.text)}</span>' for e in entries)
    return f'<div class="legend">{"".join(items)}</div>' if entries else ""

"""Views that turn with the mouse: one page of HTML that fetches nothing."""

import json
import re
import subprocess
import sys
from base64 import b64decode
from html.parser import HTMLParser

import numpy as np
import pytest

from femkit.errors import ModelError, RecordError
from femkit.show import plot_case, view


def data_of(page):
    return json.loads(re.search(r"^const data = (.*);$", page, re.MULTILINE).group(1))


def unpacked(text, kind, columns=3):
    return np.frombuffer(b64decode(text), dtype=kind).reshape(-1, columns)


def test_every_cell_is_there_as_triangles_in_its_own_colour(case, model):
    data, mesh = data_of(view(case).page), model.mesh
    triangles, colours = unpacked(data["triangles"], np.uint32), unpacked(data["colours"], np.uint8)
    assert len(triangles) == len(mesh.cells["triangle"]) + 2 * len(mesh.cells["quad"]) == len(colours)
    meant = plot_case.sheet(case).scale.rgb(case.von_mises("top"))
    owner = {frozenset(corners) - {-1}: i for i, corners in enumerate(mesh.corners.tolist())}
    cell_of = [next(i for corners, i in owner.items() if set(t) <= corners) for t in triangles.tolist()]
    assert (colours == meant[cell_of]).all()
    points = unpacked(data["points"], np.float32)
    assert np.ptp(points, axis=0) == pytest.approx([2, 1, 0], abs=1e-6)  # the longer side from -1 to 1


def test_the_largest_value_is_marked_at_its_place(case, model):
    data = data_of(view(case, "displacement", scale=10).page)
    moved = np.linalg.norm(case.displacement[:, :3], axis=1)
    (mark,) = data["marks"]
    assert mark["text"] == f"{moved.max():.4g} mm" and data["perPoint"]
    points = unpacked(data["points"], np.float32)
    assert mark["place"] == pytest.approx(points[moved.argmax()].tolist(), abs=1e-5)


def test_the_page_fetches_nothing(case, model):
    for page in (view(case).page, view(model).page, view(model.mesh, "quality").page):
        assert not re.search(r"https?:|src=|<link|@import|import\(|fetch\(|XMLHttp", page)
        assert "{{" not in page


def test_the_notebook_gets_the_whole_page_in_a_frame(model):
    made = view(model, "thickness", height=400)
    found = {}
    parser = HTMLParser()
    parser.handle_starttag = lambda tag, attributes: found.update({tag: dict(attributes)})
    parser.feed(made._repr_html_())
    assert found["iframe"]["srcdoc"] == made.page and found["iframe"]["height"] == "400"
    assert "thickness, mm" in repr(made)


def test_words_from_the_user_are_text_only(model):
    words = "</script><script>alert(1)</script> {{data}} & more"
    page = view(model, title=words).page
    assert page.count("<script>") == page.count("</script>") == 1
    assert "{{data}} &amp; more" in page and data_of(page)["lit"]


def test_views_are_saved_as_pages(model, tmp_path):
    path = view(model).save(tmp_path / "wall.html")
    assert path.read_text("utf-8").startswith("<!doctype html>")
    for name, words in (("wall.png", "written as .html"), ("none/wall.html", "does not exist")):
        with pytest.raises(RecordError, match=words):
            view(model).save(tmp_path / name)


def test_what_can_not_be_viewed_is_refused(model):
    with pytest.raises(ModelError, match="given a int; it takes"):
        view(3)
    with pytest.raises(ModelError, match="draws no loads"):
        view(model, load_case="press")


def test_a_view_needs_no_drawing_library():
    code = """
import sys, femkit as fk
mesh = fk.Mesh([[0, 0], [1, 0], [1, 1], [0, 1]], {"quad": [[0, 1, 2, 3]]})
assert "webgl2" in fk.show.view(mesh).page
print([name for name in ("pyvista", "vtkmodules", "IPython") if name in sys.modules])
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"

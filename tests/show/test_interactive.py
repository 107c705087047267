"""Views that turn with the mouse: one page of HTML around pyvista's own export, and what stands there without it."""

import re
from importlib.util import find_spec

import pytest

from femkit.errors import ModelError, RecordError
from femkit.show import interactive, view

needs_export = pytest.mark.skipif(find_spec(interactive.PACKAGE) is None, reason="no packages for views")


@needs_export
@pytest.mark.picture
def test_a_view_holds_the_scene_the_title_and_the_bar(case, model):
    made = view(case, "displacement", scale=10, title="How far?")
    assert "How far?" in made.page and "displacement, mm" in made.page
    assert len(re.search(r'srcdoc="([^"]*)"', made.page).group(1)) > 100_000  # the whole scene, not a link to it
    assert made._repr_html_() == made.page and "displacement" in repr(made)
    assert "thickness, mm" in view(model, "thickness").page


@needs_export
@pytest.mark.picture
def test_words_from_the_user_are_text_only(model):
    page = view(model, title="</iframe><script>alert(1)</script> & more").page
    assert "<script>alert" not in page and "&lt;script&gt;alert(1)&lt;/script&gt; &amp; more" in page


def test_without_the_packages_the_picture_stands_still_and_says_so(case, monkeypatch):
    monkeypatch.setattr(interactive, "find_spec", lambda name: None)
    made = view(case)
    assert "stands still" in made.page and "pyvista[jupyter]" in made.page
    assert "data:image/png;base64," in made.page or "von Mises" in made.page  # the latter without an OpenGL library


def test_views_are_saved_as_pages(model, tmp_path, monkeypatch):
    monkeypatch.setattr(interactive, "find_spec", lambda name: None)
    path = view(model).save(tmp_path / "wall.html")
    assert path.read_text("utf-8").startswith("<!doctype html>")
    for name, words in (("wall.png", r"written as \.html"), ("none/wall.html", "does not exist")):
        with pytest.raises(RecordError, match=words):
            view(model).save(tmp_path / name)


def test_what_can_not_be_viewed_is_refused(model):
    with pytest.raises(ModelError, match="given a int; it takes"):
        view(3)
    with pytest.raises(ModelError, match="draws no loads"):
        view(model, load_case="press")

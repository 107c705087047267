"""The model as a notebook shows it: what is wrong first, then plates, supports, load cases and their totals."""

import re
from html.parser import HTMLParser

import numpy as np
from model_parts import CLAMP, model_of
from sheets import STEEL, grid

import femkit as fk

SHEET = grid(400, 200, 4, 2)


class Page(HTMLParser):
    """Texts of table cells and list items, and whether every tag is closed."""

    def __init__(self, html):
        super().__init__()
        self.texts, self.open = [], []
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        if tag != "br":
            self.open.append(tag)
            self.texts.append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.texts:
            self.texts[-1] += data


def page_of(model):
    page = Page(model._repr_html_())
    assert page.open == []
    return [text.strip() for text in page.texts]


def good_model(name="tare"):
    cases = [
        fk.LoadCase(name, [fk.Gravity(), fk.LineLoad("right", fz=-1.5)]),
        fk.LoadCase("lifted", [fk.Temperature("sheet", 20.0)], supports=[fk.Support([0, 2], **CLAMP)]),
        fk.LoadCase("settled", [], supports=[fk.Support("left", **{**CLAMP, "uz": -2.0}, mean=True)]),
    ]
    return model_of(
        SHEET,
        supports=[fk.Support("left", **CLAMP)],
        load_cases=cases,
        combinations=[fk.Combination("full", {name: 1.3})],
        masses=[fk.PointMass("right", 1e-3, total=True)],
    )


def test_a_model_says_in_a_line_what_it_is():
    assert repr(good_model()) == "Model (shell): 15 points, 8 cells, 1 plates, 3 load cases, 1 combinations"


def test_the_page_shows_what_acts_and_what_it_adds_up_to():
    texts = page_of(good_model())
    # by hand: 1.884 kg of sheet and 1 kg, 28.283 N; 200 mm of 1.5 N/mm
    assert "-328.28" in texts and "-426.77" in texts
    for text in (
        'gravity: g = 9806.65 mm/s2 along (0, 0, -1); line load on "right": fz = -1.5 N/mm',
        'temperature on "sheet": change = 20 K',
        "1.3 × tare",
        "ux, uy, uz, rx, ry, rz",
        "ux, uy, uz = -2, rx, ry, rz of the mean",
        "Mass in all, with what is not structure: 2.884 kg.",
        "steel",
    ):
        assert any(text in shown for shown in texts), text
    assert not any("What is wrong" in shown for shown in texts)


def test_names_are_escaped():
    html = good_model("<script>alert('&')</script>")._repr_html_()
    assert "<script>" not in html and "&lt;script&gt;alert('&amp;')" in html


def test_a_wrong_model_is_shown_with_what_is_wrong():
    cases = [fk.LoadCase("tare", [fk.Gravity()]), fk.LoadCase("<push>", [fk.LineLoad("rihgt", fx=1)])]
    texts = page_of(fk.Model(SHEET, {"shet": fk.Plate(3.0, STEEL)}, load_cases=cases))
    assert any("What is wrong" in shown for shown in texts)
    assert any('plate "shet": the mesh has no cell set of the name "shet". Did you mean' in shown for shown in texts)
    assert any('load case "<push>": line load on "rihgt"' in shown for shown in texts)


def test_every_load_says_how_much():
    loads = [
        fk.PointLoad("right", fx=2.0, mz=-3.0),
        fk.LineLoad("right", fz=-1.5),
        fk.LineLoad("right", fz=-1.5, total=True),
        fk.SpreadLoad("right", fz=-1200.0, at=(1, 2.5, 3)),
        fk.Pressure("sheet", 0.01),
        fk.Acceleration(x=1000.0),
        fk.PointLoad("right"),
    ]
    assert [load.amount for load in loads] == [
        "fx = 2 N, mz = -3 N mm",
        "fz = -1.5 N/mm",
        "fz = -1.5 N",
        "fz = -1200 N at (1, 2.5, 3)",
        "pressure = 0.01 MPa",
        "x = 1000 mm/s2",
        "0",
    ]


def test_large_and_small_figures_are_readable():
    case = fk.LoadCase("push", [fk.PointLoad("right", fx=1234567.0 / 3, total=True), fk.PointLoad([0], fy=1e-3)])
    texts = page_of(model_of(SHEET, supports=[fk.Support("left", **CLAMP)], load_cases=[case]))
    assert "411,520" in texts and "0.001" in texts
    assert not any(re.search(r"\de[+-]\d", text) for text in texts), np.array(texts)

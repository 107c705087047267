"""Lines, ratios, verdicts and words of a comparison. All values invented."""

import numpy as np
import pytest
from sheets import STEEL, cantilever

import femkit as fk
from femkit.assess import Finding


@pytest.fixture
def compared():
    lines = [
        fk.Line("mass", {"as built": 100, "cut": 90, "mended": 104}, unit="kg", assessed=False),
        fk.Line("sag", {"as built": 2.0, "cut": 4.0, "mended": 1.9}, unit="mm"),
        fk.Line("stress <peak>", {"as built": 1.2, "cut": 1.5, "mended": 1.2}, unit="", limit=1.0),
        fk.Line("new part", {"cut": np.nan, "mended": 0.7}, unit="", limit=1.0),
    ]
    return fk.Comparison(lines, original="as built")


def test_table_holds_values_ratios_and_verdicts(compared):
    table = compared.table()
    assert list(table.index) == ["mass (kg)", "sag (mm)", "stress <peak>", "new part"]
    assert table.loc["sag (mm)", "cut / as built"] == 2.0
    assert list(table["mended: verdict"]) == [
        "not assessed",
        "meets the limit",
        "misses it but no worse than the original",
        "meets the limit",
    ]
    assert list(table["cut: verdict"]) == ["not assessed", "worse", "worse", "not assessed: cut has no value"]


def test_what_decides_and_why_not_are_said():
    found = {
        "as built": Finding(0.8, "full load", "(10, 0, 5)"),
        "mended": Finding(np.nan, why="the weld is thinner than the rule's data"),
    }
    line = fk.Line("weld", found, unit="", limit=1.0, group="joints")
    assert line.number("as built") == 0.8
    compared = fk.Comparison([line, fk.Line("new", {"mended": 2.0}, unit="mm")], original="as built")
    assert compared.words(line, "mended") == "not assessed: the weld is thinner than the rule's data"
    assert compared.words(compared.lines[1], "mended") == "not assessed: there is no limit, and as built has no value"
    assert compared.table().loc["weld", "as built: decided by"] == "full load, near (10, 0, 5)"
    assert "the weld is thinner" in compared._repr_html_()


def test_words_name_what_is_worse(compared):
    assert compared.sentence("cut") == "cut: 0 of 2 quantities meet the limit. 2 are worse: sag; stress <peak>."
    mended = "2 of 3 quantities meet the limit. 1 misses it but is no worse than the original: stress <peak>."
    assert compared.sentence("mended") == f"mended: {mended}"
    assert fk.Comparison(compared.lines[:1], original="cut").sentence("mended") == "mended: nothing was assessed."
    for variant, group in (("mendet", None), ("mended", "strength")):
        with pytest.raises(fk.ModelError, match=f'comparison: there is no "{group or variant}"'):
            compared.sentence(variant, group)


def test_lines_of_one_quantity_in_two_groups_both_count():
    values = ({"as built": 1.0, "cut": 2.0}, {"as built": 1.0, "cut": 0.5})
    lines = [fk.Line("sag", v, unit="mm", group=group) for v, group in zip(values, ("rail", "sill"))]
    words = fk.Comparison(lines, original="as built").sentence("cut")
    assert words == "cut: 1 of 2 quantities meet the limit. 1 is worse: sag."


def test_what_is_endless_in_the_original_leaves_a_page_and_bad_lines_are_named():
    page = fk.Comparison([fk.Line("damage", {"as built": np.inf, "cut": 2.0}, unit="", limit=1.0)], original="as built")
    assert page.words(page.lines[0], "cut") == "misses it but no worse than the original"
    assert page.words(page.lines[0], "as built") == "misses it but no worse than the original"
    bad = ("x", 1.0, "must be a dict"), ({"a": "b"}, 1.0, "'b' can"), ({}, np.nan, "limit is nan")
    for values, limit, words in bad:
        with pytest.raises(fk.ModelError, match=f'line "sag".*{words}'):
            fk.Line("sag", values, unit="mm", limit=limit)
    with pytest.raises(fk.ModelError, match="comparison: 3 can't stand there; it must be a Line"):
        fk.Comparison(3, original="a")


def test_page_shows_names_with_markup_as_they_are(compared):
    page = compared._repr_html_()
    assert "stress &lt;peak&gt;" in page
    assert "<peak>" not in page


def test_an_original_without_values_is_named(compared):
    with pytest.raises(fk.ModelError, match='original "as was" has no values; there are as built, cut, mended'):
        fk.Comparison(compared.lines, original="as was")


def test_strength_lines_of_two_thicknesses():
    # by hand: half the thickness, twice the stress, under the same force
    def solved(thickness):
        model = cantilever(loads=[fk.LineLoad("right", fx=5000, total=True)])
        return fk.solve_static(
            fk.Model(model.mesh, fk.Plate(thickness, STEEL), supports=model.supports, load_cases=model.load_cases)
        )

    (line,) = fk.compare_strength({"thick": solved(6.0), "thin": solved(3.0)}, combinations=["load"])
    assert line.quantity == "utilisation of all cells, load"
    assert line.number("thin") / line.number("thick") == pytest.approx(2, rel=1e-6)
    assert line.limit == 1.0
    assert len(fk.compare_strength({"thick": solved(6.0)}, combinations="load")) == 1
    with pytest.raises(fk.ModelError, match="none has the combinations laod"):
        fk.compare_strength({"thick": solved(6.0)}, combinations=["load", "laod"])

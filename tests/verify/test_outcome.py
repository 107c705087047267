"""How a ladder of meshes is judged, and how outcomes are kept. All numbers are invented."""

import csv
import json
import math

import pytest

from femkit.errors import ModelError
from femkit.verify import Case, Outcome, Verification, choose, run_case, verify
from femkit.verify.case import rows


def case(name="beam", measure=lambda kind, n: 1.0, **own):
    described = {"group": "plane stress", "claim": "bends", "source": "invented", "evidence": "from memory"}
    usual = {"reference": 1.0, "ladder": (4, 8, 16), "precision": 1e-3, "limit": 0.05, "reason": "invented"}
    return Case(name, measure=measure, **(described | usual | own))


def converging(seen, share, **own):
    """An outcome whose error is `share` on a mesh of one cell and falls at an order."""
    return run_case(case(measure=lambda kind, n: 1 + share * float(n) ** -seen, **own), "quad")


@pytest.mark.parametrize("order", [1.0, 2.0, 4.0])
def test_order_is_seen_on_three_meshes(order):
    assert converging(order, 0.5).order == pytest.approx(order, rel=1e-6)


@pytest.mark.parametrize("ladder", [(4,), (4, 8), (4, 8, 12)])
def test_order_needs_three_meshes_in_even_steps(ladder):
    assert math.isnan(converging(2.0, 0.5, ladder=ladder).order)


@pytest.mark.parametrize("values", [(1.2, 0.9, 1.05), (1.1, 1.1, 1.1), (1.1, 1.1 + 1e-12, 1.1 + 2e-12)])
def test_no_order_where_values_turn_or_stand_still(values):
    assert math.isnan(Outcome(case(), "quad", (4, 8, 16), values).order)


@pytest.mark.parametrize("order", [1.0, 2.0])
def test_at_the_order_of_theory_the_band_is_the_true_error_and_a_quarter_more(order):
    outcome = converging(order, 0.2, order=order)
    assert outcome.discretisation == pytest.approx(1.25 * outcome.error)
    assert outcome.band == pytest.approx(1e-3 + 1.25 * outcome.error)


def test_another_order_makes_a_wider_band_by_the_order_seen_but_none_above_theory():
    slow, fast = converging(1.0, 0.1), converging(4.0, 0.1)
    assert slow.discretisation == pytest.approx(3 * slow.error)
    # the change before last, as far as order 2 lets it fall, is larger than the last; and order 2 for what remains
    assert fast.discretisation == pytest.approx(3 * 0.1 * (4**-4 - 8**-4) / 4 / 3)


def test_two_meshes_that_agree_by_luck_make_no_narrow_band():
    outcome = Outcome(case(), "quad", (4, 8, 16), (0.98, 1.008, 1.007))
    assert outcome.discretisation == pytest.approx(3 * 0.028 / 4)


def test_one_mesh_leaves_what_the_reference_leaves_open():
    outcome = Outcome(case(), "quad", (4,), (1.0005,))
    assert outcome.band == 1e-3 and outcome.passed


def test_a_band_never_passes_the_limit_which_may_go_by_kind():
    wild = (0.5, 1.5, 1.04)
    assert Outcome(case(), "quad", (4, 8, 16), wild).band == 0.05
    by_kind = case(limit={"quad": 0.01, "triangle": 0.06})
    assert not Outcome(by_kind, "quad", (4, 8, 16), wild).passed
    assert Outcome(by_kind, "triangle", (4, 8, 16), wild).passed


def test_other_meshes_have_their_aims_which_may_go_by_kind():
    aiming = case(aims={4: {"quad": 0.01}, 8: 0.02, 64: 0.0})  # 64 is not on the ladder
    values = (1.05, 1.015, 1.0)
    outcome = Outcome(aiming, "quad", (4, 8, 16), values)
    assert outcome.missed == [4] and not outcome.passed and outcome.verdict == "misses its aim on 4"
    assert Outcome(aiming, "triangle", (4, 8, 16), values).passed


def test_verdict_is_in_words():
    assert Outcome(case(), "quad", (4,), (1.0,)).verdict == "within the band"
    assert Outcome(case(), "quad", (4,), (1.1,)).verdict == "out of the band"


def refuse(kind, n):
    raise ModelError("there is nothing to solve.")


def test_a_refused_case_has_not_passed_and_says_why():
    outcome = run_case(case(measure=refuse), "quad")
    assert not outcome.passed and outcome.verdict == "refused: there is nothing to solve."
    assert all(math.isnan(value) for value in outcome.values) and len(outcome.values) == 3


def test_longer_adds_the_finer_meshes():
    assert run_case(case(longer=(32, 64)), "quad", longer=True).meshes == (4, 8, 16, 32, 64)


def test_rows_ask_one_problem_several_things():
    bends, stiff = rows(
        "beam", lambda kind, n: {"tip": 1.0, "root": 2.0}, {"tip": 1.0, "root": (2.0, {"unit": "MPa"})},
        group="plane stress", claim="bends", source="invented", evidence="from memory",
    )  # fmt: skip
    assert (bends.name, stiff.name, stiff.unit) == ("beam: tip", "beam: root", "MPa")
    assert (bends.measure("quad", 4), stiff.measure("quad", 4)) == (1.0, 2.0)


def test_cases_are_chosen_by_name_problem_or_group():
    cases = case("beam: tip"), case("beam: root"), case("plate", group="plates and shells")
    assert choose(cases, []) == cases
    assert choose(cases, ["beam"]) == cases[:2]
    assert choose(cases, ["beam: root", "plates and shells"]) == cases[1:]
    with pytest.raises(ModelError, match=r'no case or group "beem"\. Did you mean "beam"\?'):
        choose(cases, ["beem"])


def test_progress_is_told_before_every_run_and_at_the_end():
    told = []
    result = verify([case(), case("plate")], progress=lambda *heard: told.append(heard))
    assert result.passed
    assert told == [
        ("beam (quad)", 0, 4),
        ("beam (triangle)", 1, 4),
        ("plate (quad)", 2, 4),
        ("plate (triangle)", 3, 4),
        ("all cases", 4, 4),
    ]


@pytest.fixture
def verification():
    return Verification((converging(2.0, 0.2, printed=1.01), run_case(case("plate", measure=refuse), "triangle")))


def test_table_has_a_row_for_each_case_and_kind(verification):
    table = verification.table()
    assert list(table.index) == [("beam", "quad"), ("plate", "triangle")]
    assert table.loc[("beam", "quad"), "verdict"] == "within the band"
    assert len(verification.table("plates and shells")) == 0
    assert "within the band" in verification._repr_html_()
    assert not verification.passed


def test_json_keeps_numbers_and_writes_null_for_none(verification, tmp_path):
    beam, plate = json.loads(verification.write(tmp_path / "cases.json").read_text(encoding="utf-8"))
    assert beam["values"] == list(verification.outcomes[0].values) and beam["meshes"] == [4, 8, 16]
    assert beam["printed"] == 1.01 and beam["order"] == pytest.approx(2.0)
    assert plate["values"] == [None] * 3 and plate["error (%)"] is None and plate["printed"] is None


def test_csv_is_read_back(verification, tmp_path):
    path = verification.write(tmp_path / "cases.csv")
    with path.open(newline="", encoding="utf-8") as file:
        beam, plate = csv.DictReader(file)
    assert [float(x) for x in beam["values"].split()] == pytest.approx(verification.outcomes[0].values, rel=1e-8)
    assert float(beam["band (%)"]) == pytest.approx(100 * verification.outcomes[0].band)
    assert plate["verdict"] == "refused: there is nothing to solve."
    assert [file.name for file in tmp_path.iterdir()] == ["cases.csv"]


def test_another_suffix_is_refused(verification, tmp_path):
    with pytest.raises(ModelError, match=r"written as \.csv or \.json"):
        verification.write(tmp_path / "cases.xlsx")

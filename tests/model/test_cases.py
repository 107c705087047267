"""Which load cases stand on which supports, and which of them may be added."""

from dataclasses import replace

import numpy as np
import pytest
from model_parts import CLAMP, fault, model_of
from sheets import grid

import femkit as fk

SHEET = replace(grid(400, 200, 4, 2), point_sets={"jacks": [0, 2, 12, 14]})
LOADS = [fk.LineLoad("right", fz=-1.0)]
CLAMPED = [fk.Support("left", **CLAMP)]
JACKED = [fk.Support("jacks", **CLAMP)]


def combined(*cases, factors=None, supports=CLAMPED):
    factors = factors or {case.name: 1.0 for case in cases}
    return model_of(SHEET, supports=supports, load_cases=cases, combinations=[fk.Combination("sum", factors)])


def test_a_load_case_stands_on_the_models_supports_or_its_own():
    plain, lifted = fk.LoadCase("plain", LOADS), fk.LoadCase("lifted", LOADS, supports=JACKED)
    model = model_of(SHEET, supports=CLAMPED, load_cases=[plain, lifted])
    assert model.supports_of(plain) == tuple(CLAMPED) and model.supports_of(lifted) == tuple(JACKED)
    assert model.support_groups == ((tuple(CLAMPED), ("plain",)), (tuple(JACKED), ("lifted",)))


@pytest.mark.parametrize(
    "supports",
    [
        JACKED,  # the very same support, in another list
        [fk.Support("jacks", **CLAMP)],
        [fk.Support("jacks", ux=0.0, uy=0, uz=0, rx=0), fk.Support("jacks", ry=0, rz=0)],
    ],
    ids=["same object", "same content", "same content in two"],
)
def test_supports_of_the_same_content_are_one_group(supports):
    first = fk.LoadCase("first", LOADS, supports=JACKED)
    cases = [first, fk.LoadCase("plain", LOADS), fk.LoadCase("second", LOADS, supports=supports)]
    model = combined(*cases, factors={"first": 1.3, "second": 1.3})
    if len(supports) == 1:
        assert model.supports_of(cases[0]) is model.supports_of(cases[2])
        assert [names for _supports, names in model.support_groups] == [("first", "second"), ("plain",)]
    assert model.check() == ()


def test_the_order_of_supports_does_not_matter():
    a, b = fk.Support("left", ux=0), fk.Support("right", **CLAMP)
    cases = [fk.LoadCase("one", LOADS, supports=[a, b]), fk.LoadCase("two", LOADS, supports=[b, a])]
    assert len(model_of(SHEET, load_cases=cases).support_groups) == 1


def test_load_cases_on_different_supports_are_not_added():
    cases = [fk.LoadCase("tare", LOADS), fk.LoadCase("push", LOADS), fk.LoadCase("lifted", LOADS, supports=JACKED)]
    assert fault(combined(*cases)) == (
        'combination "sum": its load cases stand on different supports ("tare" and "push"; "lifted"), so they '
        "can't be added; put their loads into one load case with the supports that hold then."
    )


def test_a_mean_is_another_support_than_all_points():
    mean = [fk.Support("left", **CLAMP, mean=True), fk.Support("left", rx=0)]
    cases = [fk.LoadCase("tare", LOADS), fk.LoadCase("rocking", LOADS, supports=mean)]
    assert any("stand on different supports" in said for said in combined(*cases).check())


@pytest.mark.parametrize(
    "factors, sentence",
    [
        ({"tare": 1.3, "pay": 1.3}, r'combination "sum": there is no load case "pay"\. Did you mean "payload"\?'),
        ({"wind": 1.5}, r'combination "sum": there is no load case "wind"\. There are: payload, tare\.'),
        ({"tare": 1.0, "sum": 1.0}, r'"sum" is a combination itself; name its load cases and multiply their factors'),
    ],
)
def test_combinations_of_what_is_no_load_case(factors, sentence):
    model = combined(fk.LoadCase("tare", LOADS), fk.LoadCase("payload", LOADS), factors=factors)
    with pytest.raises(fk.ModelError, match=sentence):
        raise fk.ModelError(fault(model))


def test_a_settlement_is_a_load_case_of_its_own_and_may_be_added():
    settled = [fk.Support("left", **{**CLAMP, "uz": -2.0})]
    cases = [fk.LoadCase("tare", LOADS), fk.LoadCase("settlement", [], supports=settled)]
    assert combined(*cases).check() == ()


def test_a_displacement_prescribed_in_several_cases_is_not_added_up():
    settled = [fk.Support("left", **{**CLAMP, "uz": -2.0})]
    model = combined(
        fk.LoadCase("tare", LOADS), fk.LoadCase("push", LOADS), factors={"tare": 1.3, "push": 1.3}, supports=settled
    )
    assert fault(model) == (
        'combination "sum": support "left" prescribes uz = -2 in 2 of its load cases, which would be added up; '
        "prescribe it in a load case of its own, with supports that hold 0 in the others."
    )


def test_a_load_case_without_loads_is_a_fault():
    assert fault(model_of(SHEET, supports=CLAMPED, load_cases=[fk.LoadCase("tare", [])])) == (
        'load case "tare" holds no load; it must hold at least one.'
    )


def test_forces_of_a_combination_are_the_factored_sum():
    model = combined(fk.LoadCase("one", LOADS), fk.LoadCase("two", [fk.Gravity()]), factors={"one": 1.5, "two": -2.0})
    one, two = (model.point_forces(case) for case in model.load_cases)
    np.testing.assert_allclose(model.point_forces(model.case("sum")), 1.5 * one - 2.0 * two, rtol=1e-14)

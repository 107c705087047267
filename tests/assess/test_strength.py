"""Verdicts and utilisations against figures by hand."""

import numpy as np
import pytest
from sheets import STEEL, cantilever

import femkit as fk
from femkit.assess import Verdict, judge, strength_table, utilisation


@pytest.mark.parametrize(
    ("value", "limit", "original", "verdict"),
    [
        (1.0, 1.0, None, Verdict.MEETS),
        (1.01, 1.0, None, Verdict.WORSE),  # nothing to be no worse than
        (1.2, 1.0, 1.3, Verdict.NO_WORSE),
        (1.2, 1.0, 1.0, Verdict.WORSE),
        (0.9, 1.0, 0.1, Verdict.MEETS),  # more than the original, but within the limit
        (-1.2, 1.0, 1.3, Verdict.NO_WORSE),  # the size counts
        (2.0, None, 2.0, Verdict.MEETS),  # as good as the original is the limit
        (2.3, None, 2.0, Verdict.WORSE),
        (np.nan, 1.0, 1.0, Verdict.NOT_ASSESSED),
        (2.3, None, None, Verdict.NOT_ASSESSED),
        (2.3, None, np.nan, Verdict.NOT_ASSESSED),
    ],
)
def test_each_verdict_is_reached_as_said(value, limit, original, verdict):
    assert judge(value, limit=limit, original=original) is verdict


def test_verdicts_are_the_sentences_a_reader_sees():
    assert [str(v) for v in Verdict] == [
        "meets the limit",
        "misses it but no worse than the original",
        "worse",
        "not assessed",
    ]


def pulled(material=STEEL):
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    model = cantilever(loads=[fk.LineLoad("right", fx=10_000, total=True)])
    return fk.solve_static(
        fk.Model(model.mesh, fk.Plate(5.0, material), supports=[clamp], load_cases=model.load_cases,
                 combinations=[fk.Combination("twice", {"load": 2})])
    )  # fmt: skip


def test_utilisation_is_stress_times_factor_over_yield():
    # by hand: 10 kN over 20 x 5 mm2 is 100 MPa; 100 x 1.15 / 235 = 0.489
    result = pulled()
    x = result.model.mesh.centres[:, 0]
    assert utilisation(result["load"])[x > 100] == pytest.approx(100 * 1.15 / 235, rel=1e-4)
    table = strength_table(result)
    assert list(table["combination"]) == ["twice"]
    assert table["allowed (MPa)"][0] == pytest.approx(235 / 1.15)
    assert table["utilisation"][0] == pytest.approx(utilisation(result["twice"]).max())
    assert table["raw peak (MPa)"][0] >= table.iloc[0, 2]


def test_a_material_without_yield_and_a_factor_of_zero_are_named():
    with pytest.raises(fk.ModelError, match='plates "all cells" has no yield strength'):
        utilisation(pulled(fk.Material("bare", E=210_000, nu=0.3))["load"])
    with pytest.raises(fk.ModelError, match=r"factor on yield strength is 0\.0; it must be a finite number above 0"):
        utilisation(pulled()["load"], factor=0)

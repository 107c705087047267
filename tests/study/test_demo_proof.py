"""The demo's proof test: the invented readings belong to the wall's predictions, and their faults are found."""

import pandas as pd
import pytest

import femkit as fk
from femkit.assess import Verdict, compare_strains, predict_strains, read_strains

demo, proof = pytest.importorskip("side_wall"), pytest.importorskip("wall_proof")
pd.reset_option("display.float_format")  # which the demo sets for its notebooks


@pytest.mark.filterwarnings("ignore::femkit.FemkitWarning")
def test_the_three_bad_channels_are_named_and_the_others_meet_their_limits(tmp_path):
    sheet = predict_strains(fk.solve_static(demo.model("reinforced")), proof.ALL, "push")
    assert "Invented" in proof.READINGS.read_text(encoding="utf-8").splitlines()[0]
    again = proof.invent_readings(sheet, tmp_path / "again.csv")
    kept, again = (read_strains(path, sheet.channels, full=proof.FULL) for path in (proof.READINGS, again))
    assert kept.raw == pytest.approx(again.raw, abs=0.15)  # written to a tenth
    test = compare_strains(sheet, kept, least=10)
    assert {name: words.split(":")[0] for name, words in test.said.items()} == {
        "G4": "wrong sign",
        "G7": "dead",
        "G10": "drifts",
    }
    assert test.verdict == Verdict.MEETS and test.overall.slope == pytest.approx(1, abs=0.03)


@pytest.mark.picture
@pytest.mark.filterwarnings("ignore::femkit.FemkitWarning")
def test_pictures_say_what_they_show():
    sheet = predict_strains(fk.solve_static(demo.model("reinforced")), proof.ALL, "push")
    test = compare_strains(sheet, read_strains(proof.READINGS, sheet.channels, full=proof.FULL), least=10)
    words = fk.show.plot_gauges(sheet.placed).alt
    assert "Gauges: G1, G2" in words and "R2" in words
    picture = fk.show.plot_proof_test(test)
    assert picture.png and "wrong sign" in picture.alt and picture.peaks[0].plate == test.governing().place

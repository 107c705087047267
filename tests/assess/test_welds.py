"""Welds: published strengths of fillets, hand formulas for bending, what is not assessed."""

import numpy as np
import pandas as pd
import pytest
import side_wall
from even_lines import even_line

import femkit as fk
from femkit.assess import butt_welds, fillet_welds

pd.reset_option("display.float_format")

# SCI P363, Steel Building Design: Design Data, fillet welds with throat 4.2 mm in S275 (fu 410, βw 0.85, γM2 1.25):
# 0.94 kN/mm along, 1.15 kN/mm across (from memory)
S275 = {"throat": 4.2, "thickness": 8, "ultimate": 410, "beta": 0.85}


@pytest.mark.parametrize(("force", "strength"), [((1, 0, 0), 940), ((0, 1, 0), 1150), ((0, 0, -1), 1150)])
@pytest.mark.parametrize("sides", (1, 2))
def test_fillets_have_their_published_strength(force, strength, sides):
    line = even_line(np.array(force) * strength * sides)
    use = fillet_welds(line, **S275, sides=sides, eccentric=False)
    assert use.uses["directional"] == pytest.approx(1, rel=0.005)


def test_stress_on_the_throat_by_hand():
    # a T-joint in tension, both sides: σ⊥ = τ⊥ = F / 2√2 a; with shear along: τ∥ = F / 2a
    use = fillet_welds(even_line((400, 600, 0)), throat=5, thickness=10, grade="S355")
    across, along = 600 / (2 * np.sqrt(2) * 5), 400 / 10
    assert np.abs(use.values["σ⊥ (MPa)"]) == pytest.approx(across)
    assert np.abs(use.values["τ⊥ (MPa)"]) == pytest.approx(across)
    compared = np.sqrt(across**2 + 3 * (across**2 + along**2))
    assert use.values["compared (MPa)"] == pytest.approx(compared)
    # S355: fu 490, βw 0.9
    assert use.uses["directional"] == pytest.approx(compared / (490 / 0.9 / 1.25))
    assert use.uses["σ⊥"] == pytest.approx(across / (0.9 * 490 / 1.25))
    assert use.governing().place == "web to flange, directional, (0, 0, 0)"


def test_two_welds_take_a_moment_as_a_couple():
    # the middles of the throats stand t + a/√2 apart; a normal force presses one weld's throat and shears the other's
    line = even_line((0, 0, 0), (3000, 0, 0))
    pull = 3000 / (10 + 5 / np.sqrt(2))
    assert fillet_welds(line, throat=5, thickness=10).values["compared (MPa)"] == pytest.approx(
        2 * pull / np.sqrt(2) / 5
    )
    # tension takes from one and adds to the other: the worse counts
    both = fillet_welds(even_line((0, 200, 0), (3000, 0, 0)), throat=5, thickness=10)
    assert both.values["compared (MPa)"] == pytest.approx(2 * (100 + pull) / np.sqrt(2) / 5)


def test_one_weld_is_bent_in_its_throat():
    # 6 m / a² with the middle plane's distance from the middle of the throat, t/2 + a/2√2, by hand
    line = even_line((0, 100, 0), (200, 0, 0))
    use = fillet_welds(line, throat=6, thickness=8, sides=1)
    bending = 6 * (200 + 100 * (4 + 3 / np.sqrt(2))) / 36
    assert use.values["σ⊥ (MPa)"] == pytest.approx(100 / np.sqrt(2) / 6 + bending)
    straight = fillet_welds(line, throat=6, thickness=8, sides=1, eccentric=False)
    assert straight.values["σ⊥ (MPa)"] == pytest.approx(100 / np.sqrt(2) / 6)


@pytest.mark.parametrize(
    ("change", "length", "why"),
    [
        ({"thickness": (5, 3)}, 200, "plate of 3 mm is below 4 mm: EN 1993-1-3 is for it"),
        ({"throat": 2.5}, 200, "throat of 2.5 mm is below 3 mm"),
        ({}, 35, "line shorter than 30 mm and two throats"),
        ({"throat": 10}, 75, "line shorter than 60 mm and two throats"),
    ],
)
def test_outside_its_scope_a_weld_is_not_assessed(change, length, why):
    use = fillet_welds(even_line((10, 0, 0), length=length), **{"throat": 4, "thickness": 6} | change)
    assert np.isnan(use.utilisation).all()
    assert np.isnan(use.governing().value)
    assert use.governing().why == why
    assert set(use.table()["verdict"]) == {"not assessed"}
    with pytest.raises(fk.ModelError, match=f"nothing to draw along line 0: {why}"):
        use.plot()


def test_a_butt_weld_is_the_plate():
    # across N/t with 6 m / t² at one face, shear along: von Mises by hand
    use = butt_welds(even_line((90, 300, 0), (-120, 0, 0)), thickness=6, yield_strength=235, gamma=1.15)
    across, shear = 300 / 6 + 6 * 120 / 36, 90 / 6
    assert use.uses["plate"] == pytest.approx(np.hypot(across, np.sqrt(3) * shear) * 1.15 / 235)
    # twist 6 m / t² and bending, together at the worse face: σ = ∓6 m∥ / t², τ = ±6 m⊥ / t²
    use = butt_welds(even_line((15, 60, 0), (0, 60, 0)), thickness=6, yield_strength=235)
    assert use.values["stress (MPa)"] == pytest.approx(np.hypot(10, np.sqrt(3) * (2.5 + 10)))
    thin = butt_welds(even_line((15, 60, 0)), thickness=3, yield_strength=235).governing()
    assert np.isnan(thin.value) and thin.why == "plate of 3 mm is below 4 mm: EN 1993-1-3 is for it"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"throat": -3}, r"fillet welds: throat is -3; it must be a finite number above 0"),
        (
            {"grade": "S236"},
            r'the grade "S236" has no fu and βw here\. Did you mean "S235"\? Or give ultimate and beta',
        ),
        ({"sides": 3}, r"sides is 3; it must be 1 or 2"),
        ({"thickness": (5, 0)}, r"thickness 1 is 0"),
        ({"over": 0}, r"the length to average over is 0.0 mm"),
        ({"over": None}, r"the length to average over is None"),
        ({"grade": ["S235"]}, r"has no fu and βw here"),
    ],
)
def test_wrong_numbers_are_named(change, said):
    with pytest.raises(fk.ModelError, match=said):
        fillet_welds(even_line((10, 0, 0)), **{"throat": 4, "thickness": 6} | change)


def test_the_demos_sheet_is_too_thin_for_a_weld_by_the_code():
    # invented data; 3 mm sheet: EN 1993-1-8 begins at 4 mm
    case = fk.solve_static(side_wall.model("reinforced"))["twisted track"]
    line = case.line_forces("door-pillar", "lower-sheet")
    assert line.lengths == pytest.approx([840, 840, 840, 840])
    found = fillet_welds(line, throat=3, thickness=(5, 3)).governing()
    assert np.isnan(found.value)
    assert found.why == "plate of 3 mm is below 4 mm: EN 1993-1-3 is for it"
    # on 4 mm it could be assessed
    assert fillet_welds(line, throat=3, thickness=(5, 4)).governing().value < 1

"""S-N curves against the printed knees, cut-offs and lives."""

import numpy as np
import pytest

import femkit as fk
from femkit.assess.fatigue import CATEGORIES, DETAILS, GAMMA_MF, SNCurve, category, detail, fat

# EN 1993-1-9:2005, fig. 7.1: 0.737 and 0.549 times; computed to six digits from the exact powers
KNEES = [117.889, 103.153, 92.1008, 82.5223, 73.6806, 66.3126, 58.9445, 52.3132, 46.4188, 41.2612, 36.8403, 33.1563]
CUT_OFFS = [64.7541, 56.6598, 50.5891, 45.3279, 40.4713, 36.4242, 32.3771, 28.7346, 25.4969, 22.6639, 20.2357, 18.2121]


def test_categories_have_the_knees_and_cut_offs_of_the_standard():
    curves = [category(each) for each in CATEGORIES]
    assert [c.range_at_knee for c in curves] == pytest.approx([*KNEES, 29.4723, 26.5250], rel=5e-6)
    assert [c.range_at_cut_off for c in curves] == pytest.approx([*CUT_OFFS, 16.1885, 14.5697], rel=5e-6)
    assert category(80, shear=True).range_at_cut_off == pytest.approx(0.4573050 * 80, rel=1e-6)


@pytest.mark.parametrize(
    ("factor", "cycles"),
    [  # category 71, worked with the formulas of EN 1993-1-9, 7.1
        (1.0, [715_822, 3_313_990.7, 19_130_593, np.inf]),
        (1.15, [470_664.58, 2_179_002.7, 9_511_286, 99_733_062]),
        (1.35, [290_940.2, 1_346_945.4, 4_545_940.7, 44_736_244]),
    ],
)
def test_lives_of_category_71_under_every_safety_factor(factor, cycles):
    assert category("71").cycles(factor * np.array([100, 60, 40, 25])) == pytest.approx(cycles, rel=5e-7)
    assert factor in GAMMA_MF.values()


@pytest.mark.parametrize("curve", [category(36), category(80, shear=True), fat(90), fat(90, variable=False)])
def test_curves_run_on_through_the_knee_and_end_at_the_cut_off(curve):
    # definition of the curves: the category at 2 million cycles, the knee on both lines
    assert curve.cycles(curve.category) == pytest.approx(2e6)
    assert curve.cycles(curve.range_at_knee * (1 + 1e-9)) == pytest.approx(curve.knee, rel=1e-6)
    if curve.cut_off > curve.knee:
        assert curve.cycles(curve.range_at_knee * (1 - 1e-9)) == pytest.approx(curve.knee, rel=1e-6)
    if np.isfinite(curve.cut_off):
        assert curve.cycles(curve.range_at_cut_off * 1.000001) == pytest.approx(curve.cut_off, rel=1e-4)
        assert np.isinf(curve.cycles(curve.range_at_cut_off * 0.999999))
    assert np.isinf(curve.cycles(0.0))


def test_hot_spot_class_gives_the_worked_life_and_size_factor():
    # IIW recommendations: FAT 100, slope 3, 200.1 MPa; (25/40)^0.3
    assert fat(100).cycles(200.1) == pytest.approx(249_625.37, rel=1e-7)
    assert fat(100, size_exponent=0.3).size_factor(40) == pytest.approx(0.86848837, rel=1e-7)
    assert fat(100, size_exponent=0.3).size_factor(8) == 1
    # beyond the knee at 1e7: half the range there lasts 2^5 times as long, or 2^22 times if it is the only range
    half = fat(100).range_at_knee / 2
    assert fat(100).cycles(half) == pytest.approx(32e7)
    assert fat(100, variable=False).cycles(half) == pytest.approx(2**22 * 1e7)


def test_every_detail_is_a_category_of_the_standard():
    for name, (value, fields) in DETAILS.items():
        assert value in CATEGORIES, name
        assert detail(name).name == name
        assert detail(name).slope == (5 if "shear" in fields else 3)
    assert detail("hot spot: butt weld").principal_within == 60


def test_cover_plates_as_thick_as_their_plate_last_less():
    # EN 1993-1-9 table 8.5, detail 6, t up to 20 mm (values from memory): 56 where the cover plate is thinner, else 50
    assert detail("end of cover plate").category == 50
    assert detail("end of cover plate, thinner than its plate").category == 56


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: fat("ninety"), "hot-spot class: FAT is 'ninety'"),
        (lambda: fat(-90), "FAT is -90 MPa"),
        (lambda: detail(["end of cover plate"]), "there is no detail"),
        (lambda: category(None), "no category None"),
        (lambda: category(71, cut_off="never"), "cut_off must not be below knee"),
    ],
)
def test_what_is_no_category_is_refused(make, said):
    with pytest.raises(fk.ModelError, match=said):
        make()


def test_unknown_names_are_answered_with_the_nearest():
    with pytest.raises(fk.ModelError, match=r"no category 70\. The nearest is 71"):
        category(70)
    with pytest.raises(fk.ModelError, match=r"no category 'seventy'\. There are: 160"):
        category("seventy")
    with pytest.raises(fk.ModelError, match='Did you mean "end of cover plate"'):
        detail("end of coverplate")
    with pytest.raises(fk.ModelError, match=r"(?s)category is 0.0 MPa.*slope is nan"):
        SNCurve("own", 0.0, slope=np.nan)
    with pytest.raises(fk.ModelError, match="cut_off must not be below knee"):
        category(71, cut_off=1e6)


def test_plates_outside_a_category_are_told_so():
    ends = detail("end of cover plate")
    assert ends.outside(8.0) == ""
    assert "3 mm thick; end of cover plate, category 50, is for plates from 4 mm to 20 mm" in ends.outside(3.0)
    assert "25 mm thick" in ends.outside(25.0)
    assert detail("end of cover plate", least_thickness=2.5).outside(3.0) == ""

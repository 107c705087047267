"""Damage and years against worked examples, a strip pulled by hand, and closed forms."""

import numpy as np
import pytest
from sheets import cantilever
from strip import strip

import femkit as fk
from femkit.assess import Verdict
from femkit.assess.fatigue import (
    Event,
    History,
    assess_life,
    category,
    equal_damage_range,
    equivalent_amplitude,
    fat,
    mean_stress_use,
    rainflow,
    read_events,
)
from femkit.results import Spots, nominal_spots

EVENTS = """event,from_state,to_state,times_per_year
whole,0,pull,2e5
most,0.2 pull,0.8 pull,1e6
about full,pull - 0.5 side-pull 2,pull + 0.5 side-pull 2,5e6
little,pull,1.25 pull,1e7
"""
PLAIN = {"gamma_mf": 1.0, "years": 1.0}


@pytest.fixture(scope="module")
def pulled():
    return fk.solve_static(strip())


@pytest.fixture(scope="module")
def events(pulled, tmp_path_factory):
    path = tmp_path_factory.mktemp("events") / "counts.csv"
    path.write_text(EVENTS, encoding="utf-8")
    return read_events(path, pulled.model)


def spots_of(**by_case):
    """One place with components across, along, shear by case; 10 mm thick."""
    by_case = {name: np.array([value], dtype=float) for name, value in by_case.items()}
    return Spots("weld", np.zeros((1, 3)), by_case, np.array([10.0]))


@pytest.mark.parametrize(("gamma", "damage"), [(1.0, 0.84251153), (1.15, 1.5098155), (1.35, 2.7532619)])
def test_a_strip_under_a_spectrum_is_damaged_as_worked_by_hand(gamma, damage, pulled, events):
    # EN 1993-1-9, category 71 by hand: 100 MPa 2e5 times, 60 1e6, 40 5e6, 25 1e7; the strip is pulled by 100 and 40 MPa
    spots = nominal_spots(pulled, "butt weld", (105, 10, 0), (1, 0, 0))
    life = assess_life(spots, category(71), events, gamma_mf=gamma, years=1)
    assert life.largest[0] == pytest.approx([100, 60, 40, 25], rel=1e-6)
    assert life.damage == pytest.approx([damage, damage], rel=1e-6)
    assert life.years_left == pytest.approx([1 / damage] * 2, rel=1e-6)
    assert life.governing().value == pytest.approx(damage, rel=1e-6)
    row = life.table().loc["butt weld"]
    assert row["verdict"] == (Verdict.MEETS if damage <= 1 else Verdict.WORSE)
    assert row["costs most"] == life.by_event()["butt weld"].idxmax()


def test_stress_is_turned_to_the_direction_across(pulled):
    # Mohr's circle: a weld at 30 degrees sees cos^2, sin^2 and sin cos of the pull
    c, s = np.cos(np.radians(30)), np.sin(np.radians(30))
    spots = nominal_spots(pulled, "slanting", [(105, 10, 0)], (c, s, 0.05), surfaces=("middle",))
    across, along, shear = spots.by_case["pull"][0]
    assert (across, along, abs(shear)) == pytest.approx((100 * c * c, 100 * s * s, 100 * s * c), rel=1e-6)
    assert spots.stress({"pull": 1, "side-pull 2": 0.5})[0, 0] == pytest.approx(120 * c * c, rel=1e-6)
    # nominal: two sums; a hot spot takes the principal range, which lies within 60 degrees; and none where it does not
    whole = [Event("whole", {}, {"pull": 1}, 1e5)]
    curve, welds = category(71), category(80, shear=True)
    nominal = assess_life(spots, curve, whole, shear=welds, **PLAIN)
    by_hand = 1e5 / curve.cycles(100 * c * c) + 1e5 / welds.cycles(100 * s * c)
    assert nominal.damage == pytest.approx(by_hand, rel=1e-5)
    hot = assess_life(spots, fat(90), whole, shear=welds, **PLAIN)
    assert hot.damage == pytest.approx(1e5 / fat(90).cycles(100), rel=1e-5)
    steep = nominal_spots(pulled, "steep", (105, 10, 0), (s * 0.8, c, 0), surfaces=("middle",))
    stress = steep.by_case["pull"][0]
    by_hand = 1e5 / fat(90).cycles(stress[0]) + 1e5 / welds.cycles(stress[2])
    assert assess_life(steep, fat(90), whole, **PLAIN).damage == pytest.approx(by_hand)


def test_states_are_subtracted_before_principal_values_are_taken():
    # by hand: shear turned round is a range of twice its size; von Mises stress is the same in both states
    spots = spots_of(shear=[0, 0, 50], across=[100, 0, 0], along=[0, 100, 0])
    turned = Event("turned", {"shear": -1}, {"shear": 1}, 1)
    swapped = Event("swapped", {"along": 1}, {"across": 1}, 1)
    life = assess_life(spots, fat(100), [turned, swapped], **PLAIN)
    assert life.largest[0] == pytest.approx([100, 100])


def test_compression_counts_for_60_percent_in_relieved_welds():
    # EN 1993-1-9, 7.2.1: from -100 to 50 MPa 50 + 0.6 x 100; all in compression 0.6; all in tension 1
    spots = spots_of(one=[50, 0, 0])
    swings = [Event("through 0", {"one": -2}, {"one": 1}, 1), Event("below", {"one": -2}, {"one": -1}, 1)]
    swings.append(Event("above", {"one": 3}, {"one": 1}, 1))
    life = assess_life(spots, category(71), swings, stress_relieved=True, **PLAIN)
    assert life.largest[0] == pytest.approx([110, 30, 100])
    assert assess_life(spots, category(71), swings, **PLAIN).largest[0] == pytest.approx([150, 50, 100])


def test_a_history_is_damaged_by_its_counted_cycles():
    # ranges of the example of ASTM E1049, ten MPa a unit, direct and in shear, each counted by itself
    spots = spots_of(direct=[10, 0, 0], sheared=[0, 0, 10])
    series = np.array([-2, 1, -3, 5, -1, 3, -4, 4, -2])
    day = History("day", {"direct": series, "sheared": series[::-1]}, 1000)
    curve, welds = category(36), category(80, shear=True)
    counts, sizes = np.array([0.5, 1.5, 0.5, 1.0, 0.5]), np.array([30, 40, 60, 80, 90])
    by_hand = 1000 * (counts / curve.cycles(sizes) + counts / welds.cycles(sizes)).sum()
    assert assess_life(spots, curve, [day], **PLAIN).damage == pytest.approx(by_hand)
    # one swing there and back is one cycle: the same as an event
    swing = [History("swing", {"direct": [0, 4, 0]}, 7e5), Event("the same", {}, {"direct": 4}, 7e5)]
    assert np.ptp(assess_life(spots, curve, swing, **PLAIN).per_year) == 0
    assert rainflow(series).range.max() * 10 == assess_life(spots, curve, [day], **PLAIN).largest.max()


def test_a_history_at_a_hot_spot_is_counted_in_the_direction_of_its_largest_change():
    spots = spots_of(direct=[10, 0, 0], sheared=[0, 0, 10], both=[10, 0, 10])
    series = np.array([-2, 1, -3, 5, -1, 3, -4, 4, -2])
    sizes, counts = np.array([30, 40, 60, 80, 90]), np.array([0.5, 1.5, 0.5, 1.0, 0.5])

    def damage(**factors):
        return assess_life(spots, fat(90), [History("day", factors, 1e5)], **PLAIN).damage[0]

    def by_hand(factor):
        return 1e5 * (counts / fat(90).cycles(factor * sizes)).sum()

    # Mohr's circle: pure shear is a principal stress of its size; across and shear alike (1 + root 5) / 2, at 31.7 deg
    assert damage(sheared=series) == pytest.approx(by_hand(1))
    assert damage(both=series) == pytest.approx(by_hand((1 + np.sqrt(5)) / 2))
    # one swing in shear, greater than all others, takes no damage from those across
    assert damage(direct=np.append(series, [0, 0]), sheared=np.r_[0 * series, 10, 0]) > by_hand(1)
    # stress that never changes has no cycles
    assert damage(direct=[3, 3, 3]) == 0


def test_the_verdict_is_that_of_the_worst_place_even_if_another_is_damaged_more():
    # by hand: 71 MPa 2e6 times are a damage of 1; 3 years after 1: the first place 4 as it was, the other 2, not 0
    old = Spots("weld", np.zeros((2, 3)), {"one": np.array([[71.0, 0, 0], [0, 0, 0]])}, np.full(2, 10.0))
    new = Spots("weld", np.zeros((2, 3)), {"one": np.array([[71.0, 0, 0], [62.0, 0, 0]])}, np.full(2, 10.0))
    happens = [Event("e", {}, {"one": 1}, 2e6)]
    before = assess_life(old, category(71), happens, **PLAIN)
    row = assess_life(new, category(71), happens, gamma_mf=1.0, years=3, before=before, years_used=1).table()
    assert row["damage after 3 years"].item() == pytest.approx(4) and row["verdict"].item() == Verdict.WORSE
    same = assess_life(old, category(71), happens, gamma_mf=1.0, years=3, before=before, years_used=1).table()
    assert same["verdict"].item() == Verdict.NO_WORSE


def test_what_was_accepted_or_not_looked_at_is_noted():
    one, happens = {"one": np.array([[10.0, 0, 0]])}, [Event("e", {}, {"one": 1}, 1)]
    make = lambda name, *notes: Spots(name, np.zeros((1, 3)), one, np.full(1, 10.0), notes=notes)  # noqa: E731
    before = assess_life([make("gone"), make("stays")], category(71), happens)
    life = assess_life([make("stays", "coarse cells"), make("new")], category(71), happens, before=before)
    assert life.notes == (
        "coarse cells",
        "ranges are not held against the yield strength, which is not given",
        "new: not in the old structure, taken as new",
        "gone: in the old structure, judged no more",
    )
    assert assess_life(make("new"), category(71), happens, yield_strength=235).notes == ()
    (note,) = assess_life(make("new"), fat(90), happens, yield_strength=235).notes
    assert note == "new: a curve for hot spots, but nominal stress"


def test_thick_plates_last_less_and_plates_outside_a_category_are_not_assessed():
    whole = [Event("whole", {}, {"one": 1}, 1e4)]
    spots = Spots("weld", np.zeros((3, 3)), {"one": np.full((3, 3), [100.0, 0, 0])}, np.array([8.0, 40.0, 3.0]))
    life = assess_life(spots, fat(100, size_exponent=0.3), whole, **PLAIN)
    # IIW: the category falls by 0.86848837 at 40 mm, the life by its cube
    assert life.damage[1] / life.damage[0] == pytest.approx(0.86848837**-3, rel=1e-6)
    assert np.isnan(life.damage[2]) and "3 mm thick" in life.why[2]
    row = life.table().loc["weld"]  # a place that is not assessed can't meet a limit
    assert row["verdict"] == Verdict.NOT_ASSESSED and row["damage after 1 years"] == life.damage[1]
    assert row["why"].startswith("1 of 3 places not assessed: the plate is 3 mm thick")
    assert life.governing().why == f"weld: {row['why']}" and life.governing().value == life.damage[1]
    beyond = assess_life(spots, fat(100), whole, yield_strength=60, **PLAIN)
    assert "beyond 90 MPa, 1.5 times yield" in beyond.why[0] and np.isnan(beyond.governing().value)


def test_old_welds_go_on_with_what_they_have_used_and_new_ones_start_at_0():
    # by hand: 1e5 cycles of 2e6 a year is 0.05; 10 years use 0.5 up; afterwards, at twice the count, 0.1 a year
    spots, new = spots_of(one=[71, 0, 0]), spots_of(one=[71, 0, 0])
    object.__setattr__(new, "name", "new weld")
    old = assess_life(spots, category(71), [Event("e", {}, {"one": 1}, 1e5)], gamma_mf=1.0, years=10)
    assert old.damage == pytest.approx([0.5])
    busy = [Event("e", {}, {"one": 1}, 2e5)]
    life = assess_life([spots, new], category(71), busy, gamma_mf=1.0, years=4, before=old, years_used=10)
    assert life.used == pytest.approx([0.5, 0])
    assert life.damage == pytest.approx([0.9, 0.4])
    assert life.years_left == pytest.approx([5, 10])
    assert life.original == pytest.approx([0.7, np.nan], nan_ok=True)
    longer = assess_life(spots, category(71), busy, gamma_mf=1.0, years=8, before=old, years_used=16)
    assert longer.table()["verdict"].item() == Verdict.WORSE and longer.damage == pytest.approx([1.6])
    spent = assess_life(spots, category(71), busy, gamma_mf=1.0, before=old, years_used=30)
    assert spent.years_left == pytest.approx([0])
    no_worse = assess_life(
        spots, category(71), [Event("e", {}, {"one": 1}, 1e5)], gamma_mf=1, before=old, years_used=30
    )
    assert no_worse.table()["verdict"].item() == Verdict.NO_WORSE


def test_what_does_no_harm_lasts_for_ever():
    life = assess_life(spots_of(one=[10, 0, 0]), category(71), [Event("e", {}, {"one": 1}, 1e9)])
    assert np.isinf(life.years_left).all() and life.damage == 0 and life.governing().case == "e"


def test_stress_at_a_cut_edge_is_that_of_the_edge_and_less_where_it_is_averaged():
    # beam theory: a strip bent in its plane, 6 F (L - x) / (t b^2) at the edge; half of that at a quarter of the depth
    model = cantilever(length=400, width=80, n_length=40, n_width=8, loads=[fk.LineLoad("right", fy=1000, total=True)])
    bent = fk.solve_static(model)
    edge = 6 * 1000 * 200 / (5 * 80**2)
    at = [(200, 0, 0), (200, 80, 0), (200, 20, 0)]
    stress = nominal_spots(bent, "edge", at, (1, 0, 0), distance=None, surfaces=("middle",)).by_case["load"]
    assert stress[:, 0] == pytest.approx([edge, -edge, edge / 2], rel=0.02)  # 8 cells deep
    # over 25 mm: the mean of two of the rows of 10 mm, whose middles lie 35 and 25 mm off the axis
    judged = nominal_spots(bent, "edge", (195, 1, 0), (1, 0, 0), surfaces=("top", "bottom")).by_case["load"]
    assert judged[:, 0] == pytest.approx([edge * 205 / 200 * (3 * 35 + 25) / 4 / 40] * 2, rel=0.02)


def test_a_place_off_the_plate_says_so(pulled, events):
    spots = nominal_spots(pulled, "far off", [(105, 10, 0), (105, 10, 300)], (1, 0, 0))
    life = assess_life(spots, category(71), events)
    assert life.why[0] == "" and "there is no such plate within 300 mm" in life.why[1]
    with pytest.raises(fk.ModelError, match="far off: the direction across must lie in the plate"):
        nominal_spots(pulled, "far off", (105, 10, 0), (0, 0, 1))


def test_wrong_numbers_are_refused_together(events):
    spots = spots_of(one=[10, 0, 0])
    with pytest.raises(fk.ModelError, match=r"(?s)years is -1.*gamma_mf is 0.*1 spots have 2 curves"):
        assess_life(spots, [category(71), category(36)], events, years=-1, gamma_mf=0)
    with pytest.raises(fk.ModelError, match='weld: there is no load case "pull"'):
        assess_life(spots, category(71), events)
    with pytest.raises(fk.ModelError, match="years_used is 40, but `before` is not given"):
        assess_life(spots, category(71), events, years_used=40)
    with pytest.raises(fk.ModelError, match='spots are named "weld" more than once'):
        assess_life([spots, spots], category(71), events)
    two = Spots("weld", np.zeros((2, 3)), {"one": np.zeros((2, 3))}, np.full(2, 10.0))
    happens = [Event("e", {}, {"one": 1}, 1)]
    moved = Spots("weld", np.full((1, 3), 20.0), {"one": np.zeros((1, 3))}, np.full(1, 10.0))
    with pytest.raises(fk.ModelError, match="weld: its places lie up to 35 mm from those in the old structure"):
        assess_life(moved, category(71), happens, before=assess_life(spots, category(71), happens))
    with pytest.raises(fk.ModelError, match="weld: it has 2 places, but 1 in the old structure"):
        assess_life(two, category(71), happens, before=assess_life(spots, category(71), happens))


def test_things_of_the_wrong_kind_are_refused(pulled):
    spots, happens = spots_of(one=[10, 0, 0]), [Event("e", {}, {"one": 1}, 1)]
    for wrong in ({"events": [3]}, {"before": 3}, {"shear": "80"}, {"curves": "71"}, {"spots": None}):
        (name,) = wrong
        with pytest.raises(fk.ModelError, match=f"{name}: .* can't stand there"):
            assess_life(**({"spots": spots, "curves": category(71), "events": happens} | wrong))
    with pytest.raises(fk.ModelError, match="yield_strength is 0"):
        assess_life(spots, category(71), happens, yield_strength=0)
    assert assess_life(spots, category(71), happens[0]).damage == 0


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"places": np.zeros((2, 3))}, r'stress of "one" has the shape \(1, 3\); it must be \(2, 3\)'),
        ({"thickness": 5.0}, r"thickness has the shape \(\); it must be \(1,\)"),
        ({"by_case": {}}, "there must be a place and a load case"),
        ({"why": ("", "")}, r"why has the shape \(2,\)"),
        ({"name": ""}, "its name is ''"),
    ],
)
def test_spots_of_ones_own_are_checked(wrong, said):
    right = {"name": "weld", "places": np.zeros((1, 3)), "by_case": {"one": np.zeros((1, 3))}, "thickness": np.ones(1)}
    with pytest.raises(fk.ModelError, match=said):
        Spots(**(right | wrong))


def test_a_place_whose_thickness_is_not_known_is_not_assessed():
    spots = Spots("weld", np.zeros((1, 3)), {"one": np.zeros((1, 3))}, np.array([np.nan]))
    assert "nan mm thick" in assess_life(spots, category(71), Event("e", {}, {"one": 1}, 1)).why[0]


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"at": (105, np.nan, 0)}, "the places must be three finite numbers"),
        ({"at": (105, 10)}, "the places must be three finite numbers"),
        ({"at": []}, "the places must be three finite numbers"),
        ({"across": ("a", "b", "c")}, "the direction across must be three finite numbers"),
        ({"across": [(1, 0, 0)] * 3}, "1 places and 3 directions"),
        ({"surfaces": ()}, "there is no surface"),
        ({"distance": "far"}, "distance is 'far'"),
        ({"result": None}, "must be what solve_static gives"),
    ],
)
def test_places_that_are_none_are_refused(pulled, wrong, said):
    with pytest.raises(fk.ModelError, match=f"weld: .*{said}"):
        nominal_spots(**({"result": pulled, "name": "weld", "at": (105, 10, 0), "across": (1, 0, 0)} | wrong))
    assert len(nominal_spots(pulled, "weld", (105, 10, 0), (1, 0, 0), surfaces="top").places) == 1


def test_mean_stress_by_the_textbook_rules():
    # worked by hand: amplitude 80 about 120 MPa, endured 200, ultimate 410, yield 275
    assert mean_stress_use(80, 120, 200, 410) == pytest.approx(0.69268293, rel=1e-7)
    assert mean_stress_use(80, 120, 200, 410, "Gerber") == pytest.approx(0.4856633, rel=1e-6)
    assert mean_stress_use(80, 120, 200, 275, "Soderberg") == pytest.approx(0.83636364, rel=1e-7)
    assert equivalent_amplitude(80, 120, 410) == pytest.approx(113.10345, rel=1e-7)
    assert equivalent_amplitude(80, 120, 410, "Gerber") == pytest.approx(87.49512, rel=1e-6)
    assert np.isinf(equivalent_amplitude(80, 410, 410))
    with pytest.raises(fk.ModelError, match='Did you mean "Goodman"'):
        mean_stress_use(80, 120, 200, 410, "Godman")


def test_equal_damage_range_of_three_blocks():
    # by hand with slope 3: (sum n s^3 / sum n)^(1/3) over 6.2e6 cycles
    assert equal_damage_range([100, 60, 40], [2e5, 1e6, 5e6]) == pytest.approx(49.146815, rel=1e-7)
    assert equal_damage_range([100, 60], [0, 0]) == 0
    for ranges, counts, said in (([100, 60], [1, -1], "counts is -1"), ([100, 60], [1], "as many of both")):
        with pytest.raises(fk.ModelError, match=said):
            equal_damage_range(ranges, counts)
    with pytest.raises(fk.ModelError, match="amplitude is 'high'"):
        mean_stress_use("high", 120, 200, 410)
    with pytest.raises(fk.ModelError, match="strength is 0"):
        mean_stress_use(80, 120, 200, 0)

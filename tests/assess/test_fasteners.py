"""Fasteners: hand formulas, published resistances of bolts, eccentric groups, what is not assessed."""

import numpy as np
import pytest
from even_lines import even_line

import femkit as fk
from femkit.assess import en_resistance, fastener_group, fasteners

ALLOWED = {"shear": 80, "bearing": 200, "tear-out": 90, "net section": 140}
M20 = {"diameter": 20, "hole": 22, "thickness": 10, "ultimate": 410, "pitch": 66, "edge_distance": 33}


def test_shear_flow_at_a_pitch_is_a_force_on_each_rivet():
    # q 80 N/mm, pitch 50, d 10, t 3: 4000 N, shear 50.929582, bearing 133.33333 MPa (references: worked-7)
    use = fasteners(even_line((80, 0, 0)), diameter=10, pitch=50, thickness=3, edge_distance=20, allowed=ALLOWED)
    assert len(use.distance) == 4
    assert use.values["shear force (N)"] == pytest.approx(4000)
    assert use.values["shear (MPa)"] == pytest.approx(50.929582)
    assert use.values["bearing (MPa)"] == pytest.approx(133.33333)
    # F / 2 (e - d/2) t by hand
    assert use.values["tear-out (MPa)"] == pytest.approx(4000 / (2 * 15 * 3))
    assert use.uses["shear"] == pytest.approx(50.929582 / 80)
    found = use.governing()
    assert found.value == pytest.approx(133.33333 / 200)
    assert (found.case, found.place, found.why) == ("load", "web to flange, bearing, (25, 0, 0)", "")
    assert set(use.table()["verdict"]) == {"meets the limit"}


def test_rows_share_a_force_and_all_fasteners_together_carry_the_line():
    line = even_line((30, 40, 12), (600, 0, 0), length=210)
    use = fasteners(line, diameter=8, pitch=50, thickness=4, rows=2, planes=2, lever=20)
    assert use.values["along (N)"].sum() * 2 == pytest.approx(30 * 210)
    share = 210 / 4
    assert use.values["shear force (N)"] == pytest.approx(50 * share / 2)
    assert use.values["shear (MPa)"] == pytest.approx(50 * share / 2 / (2 * np.pi * 16))
    # tension: normal force and moment over its lever, by hand
    assert use.values["tension (N)"] == pytest.approx((12 + 600 / 20) * share / 2)
    # between holes, which stand no farther apart than the pitch: across force of a pitch over (p - d) t
    assert use.values["net section (MPa)"] == pytest.approx(40 * 50 / ((50 - 8) * 4))


@pytest.mark.parametrize(
    ("diameter", "bolt_class", "shear", "tension"),
    # SCI P363, Steel Building Design: Design Data, non-preloaded bolts, threads in shear, kN (from memory)
    [(16, "8.8", 60.3, 90.4), (20, "8.8", 94.1, 141), (24, "8.8", 136, 203), (20, "10.9", 98.0, 176)],
)
def test_bolts_have_their_published_resistance(diameter, bolt_class, shear, tension):
    size = M20 | {"diameter": diameter, "hole": diameter + 2, "pitch": 100, "edge_distance": 60}
    found = en_resistance(**size, bolt_class=bolt_class)
    assert found.shear / 1e3 == pytest.approx(shear, rel=0.005)
    assert found.tension / 1e3 == pytest.approx(tension, rel=0.005)
    assert found.why == ""


def test_bearing_is_the_less_of_both_directions():
    # table 3.4 by hand. Across: e1/3d0 = 0.5, k1 = min(1.4 · 3 - 1.7, 2.5): 2.5 · 0.5 · 410 · 20 · 10 / 1.25 = 82 kN
    assert en_resistance(**M20, bolt_class="8.8").bearing == pytest.approx(82_000)
    # along with a short pitch: 55/66 - 0.25 = 0.5833 above 0.5, but k1 = 1.4 · 2.5 - 1.7 = 1.8: 59.04 kN
    assert en_resistance(**M20 | {"pitch": 55}, bolt_class="8.8").bearing == pytest.approx(59_040)


def test_bearing_across_a_line_heeds_single_laps_and_the_next_row():
    # EN 1993-1-8:2005 by hand (from memory). 3.6.1 (10), one row in a single lap: 1.5 · 410 · 20 · 10 / 1.25
    wide = M20 | {"pitch": 100, "edge_distance": 70, "bolt_class": "8.8"}
    assert en_resistance(**wide).bearing == pytest.approx(98_400)
    assert en_resistance(**wide, planes=2).bearing == pytest.approx(2.5 * 410 * 200 / 1.25)
    # between rows 55/66 - 0.25 = 0.5833, k1 = 2.5; along the line k1 = 1.4 · 2.5 - 1.7 = 1.8
    assert en_resistance(**wide, rows=2, row_spacing=55).bearing == pytest.approx(2.5 * (55 / 66 - 0.25) * 65_600)


def test_rivets_count_with_the_hole_they_fill():
    # 0.6 fur A0 / γM2 by hand, for shear and for tension
    found = en_resistance(**M20, rivet_ultimate=400, planes=2)
    assert found.tension == pytest.approx(0.6 * 400 * np.pi * 121 / 1.25)
    assert found.shear == pytest.approx(2 * found.tension)


def test_shear_and_tension_add_up_by_the_code():
    code = en_resistance(**M20, bolt_class="8.8")
    use = fasteners(even_line((500, 0, 700)), diameter=20, pitch=66, thickness=10, hole=22, resistance=code)
    force, pull = 500 * 200 / 3, 700 * 200 / 3
    assert use.uses["shear and tension, code"] == pytest.approx(force / code.shear + pull / (1.4 * code.tension))
    assert use.uses["bearing, code"] == pytest.approx(force / 82_000)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"edge_distance": 26}, "edge distance 26 mm is below 1.2 holes of 22 mm"),
        ({"pitch": 45}, "pitch 45 mm is below 2.2 holes"),
        ({"rows": 2, "row_spacing": 50}, "row spacing 50 mm is below 2.4 holes"),
        ({"thickness": 2}, "plate of 2 mm is below 3 mm"),
        ({"diameter": 21}, "no stress area is known here of a bolt M21"),
    ],
)
def test_outside_the_codes_scope_nothing_is_given_but_the_reason(change, why):
    found = en_resistance(**M20 | change, bolt_class="8.8")
    assert np.isnan([found.shear, found.bearing, found.tension]).all()
    assert why in found.why
    use = fasteners(even_line((5, 0, 0)), diameter=20, pitch=66, thickness=10, resistance=found)
    assert np.isnan(use.governing().value)
    assert why in use.governing().why
    assert set(use.table()["verdict"]) == {"not assessed"}


def test_what_governs_says_what_was_not_assessed():
    line, size = even_line((80, 0, 0)), {"diameter": 10, "pitch": 50, "thickness": 3}
    use = fasteners(line, **size, allowed={"shear": 80, "tear-out": 90})
    assert use.governing().value == pytest.approx(50.929582 / 80)
    assert use.governing().why == "tear-out: no edge distance was given"
    assert set(use.table()["verdict"]) == {"not assessed"}  # a row passes by all its checks only
    assert fasteners(line, **size).governing().why == "no limits were given"


def test_a_moment_that_nothing_takes_is_said_where_tension_is_assessed():
    line, size = even_line((0, 0, 8), (600, 0, 0)), {"diameter": 10, "pitch": 50, "thickness": 3}
    words = "tension is without the moment about the line, for which no lever was given"
    assert fasteners(line, **size, allowed={"tension": 80}).governing().why == words
    assert fasteners(line, **size, allowed={"tension": 80}, lever=15).governing().why == ""
    assert fasteners(line, **size, allowed={"shear": 80}).governing().why == ""


def test_a_line_shorter_than_the_pitch_is_not_assessed():
    long, short = even_line((80, 0, 0)), even_line((90, 0, 0), length=30, name="bracket")
    use = fasteners([long, short], diameter=10, pitch=50, thickness=3, allowed={"shear": 80})
    assert use.why.tolist() == [""] * 4 + ["the line is shorter than the pitch"]
    assert np.isnan(use.utilisation).tolist() == [False] * 4 + [True]


def test_the_worst_of_several_cases_governs():
    lines = [even_line((q, 0, 0), case=name) for q, name in ((20, "calm"), (80, "storm"), (50, "breeze"))]
    use = fasteners(lines, diameter=10, pitch=50, thickness=3, allowed={"shear": 80})
    assert use.governing().case == "storm"
    assert "storm: largest 0.6366" in use.plot(title="How hard do the rivets work?").alt


def test_an_eccentric_group_by_the_elastic_method():
    # 6 rivets at x ±30, y -50, 0, 50 with 30 kN at 120: Σr² 15 400, largest 16 760.921 N (references: worked-7)
    group = [(x, y) for x in (-30, 30) for y in (-50, 0, 50)]
    forces = fastener_group(group, (0, -30_000), (120, 0))
    assert np.linalg.norm(forces, axis=1).max() == pytest.approx(16_760.921)
    assert forces.sum(axis=0) == pytest.approx([0, -30_000, 0])
    moment = np.cross(np.pad(group, ((0, 0), (0, 1))), forces).sum(axis=0)
    assert moment == pytest.approx([0, 0, -30_000 * 120])


def test_a_pure_moment_turns_a_square_group():
    # M / n r
    forces = fastener_group([(-30, -30), (30, -30), (30, 30), (-30, 30)], (0, 0), (0, 0), 1e6)
    assert np.linalg.norm(forces, axis=1) == pytest.approx(1e6 / 4 / np.hypot(30, 30))
    # out of the plane: M y / Σy²
    forces = fastener_group([(-30, -30), (30, -30), (30, 30), (-30, 30)], (0, 0, 0), (0, 0, 0), (1e6, 0, 0))
    assert forces[:, 2] == pytest.approx(np.array([-1, -1, 1, 1]) * 1e6 * 30 / 3600)


def test_groups_that_can_take_no_moment_are_refused():
    with pytest.raises(fk.ModelError, match="one place or line"):
        fastener_group([(0, 0)], (0, 5), (10, 0))
    with pytest.raises(fk.ModelError, match="points must be numbers"):
        fastener_group([1, 2], (0, 5), (10, 0))
    with pytest.raises(fk.ModelError, match=r"force is nan at its place 1"):
        fastener_group([(0, 0), (1, 0)], (0, np.nan), (10, 0))
    for moment, words in ((np.nan, "moment is nan"), ("x", "moment must be numbers"), ((1, 2, 3, 4), "moment must be")):
        with pytest.raises(fk.ModelError, match=words):
            fastener_group([(0, 0), (1, 0), (0, 1)], (0, 5), (10, 0), moment)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"pitch": -50}, r"fasteners: pitch is -50; it must be a finite number above 0"),
        ({"pitch": 300}, r"pitch is 300 mm; the longest line has 200 mm"),
        ({"hole": 60}, r"pitch is 50 mm and the hole 60 mm; holes would meet"),
        ({"edge_distance": 4}, r"edge distance is 4 mm; it must be above half a hole, 5 mm"),
        ({"diameter": np.nan}, r"diameter is nan"),
        ({"allowed": {"shaer": 80}}, r'there is no check "shaer"\. Did you mean "shear"'),
        ({"allowed": {"shear": 0}}, r"allowed shear is 0"),
    ],
)
def test_wrong_numbers_are_named(change, said):
    with pytest.raises(fk.ModelError, match=said):
        fasteners(even_line((80, 0, 0)), **{"diameter": 10, "pitch": 50, "thickness": 3} | change)


def test_wrong_things_are_named():
    with pytest.raises(fk.ModelError, match=r'bolt_class is "8.9"\. Did you mean "8.8"'):
        en_resistance(**M20, bolt_class="8.9")
    with pytest.raises(fk.ModelError, match="either bolt_class or rivet_ultimate"):
        en_resistance(**M20)
    with pytest.raises(fk.ModelError, match="the hole can't be smaller"):
        en_resistance(**M20 | {"hole": 18}, bolt_class="8.8")
    with pytest.raises(fk.ModelError, match="with 2 rows row_spacing is needed"):
        en_resistance(**M20, bolt_class="8.8", rows=2)
    line, size = even_line((80, 0, 0)), {"diameter": 10, "pitch": 50, "thickness": 3}
    for lines in (["web"], None, 5):
        with pytest.raises(fk.ModelError, match=r"fasteners: .* can't stand there; it must be a LineForces"):
            fasteners(lines, **size)
    with pytest.raises(fk.ModelError, match="there is no line; give what"):
        fasteners([], **size)
    with pytest.raises(fk.ModelError, match='two seams "web to flange" in "load"; give each a name'):
        fasteners([line, line], **size)
    with pytest.raises(fk.ModelError, match="allowed is 200; it must be a dict"):
        fasteners(line, **size, allowed=200)
    with pytest.raises(fk.ModelError, match="resistance is 5; it must be a FastenerResistance"):
        fasteners(line, **size, resistance=5)


def test_a_picture_needs_a_joint_and_line_that_are_there():
    lines = [even_line((80, 0, 0)), even_line((90, 0, 0), name="bracket", lines=2)]
    use = fasteners(lines, diameter=10, pitch=50, thickness=3, allowed={"shear": 80})
    with pytest.raises(fk.ModelError, match=r'there is no joint "braket"\. Did you mean "bracket"'):
        use.plot(joint="braket")
    with pytest.raises(fk.ModelError, match="there is no line 1; there are 0 … 0"):
        use.plot(1)

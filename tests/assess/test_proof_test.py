"""Proof tests: rosettes and lines against figures by hand, logger files, channels with faults. Invented readings."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import linregress
from sheets import STEEL, grid

import femkit as fk
from femkit.assess import Verdict, compare_strains, predict_strains, read_strains, rosette
from femkit.assess.proof.channels import straight_line

LOADS = np.array([0, 0, 0, 25, 50, 75, 100, 100, 0, 0])  # per cent, every ten minutes
NAMES = ("G1", "G2", "G3", "G4", "G5", "G6", "G7", "R a", "R b", "R c")


def test_rosettes_give_principal_strain_and_stress():
    # reference solutions: the formulas of the textbooks (J. W. Dally, W. F. Riley, from memory), computed apart
    state = rosette([800, 500, -200], E=210e3, nu=0.3)
    assert state[:3] == pytest.approx([838.51648, -238.51648, 10.900705], rel=1e-7)
    assert [state.s1, state.s2] == pytest.approx([176.99112, 3.0088762], rel=1e-7)
    state = rosette([500, 100, -150], E=210e3, nu=0.3, kind="0/60/120")
    assert state[:3] == pytest.approx([528.59389, -228.59389, 11.205455], rel=1e-7)


def test_a_rosette_finds_the_state_it_was_made_from():
    e1, e2, turn = 300.0, -100.0, 70.0
    for kind, angles in {"0/45/90": (0, 45, 90), "0/60/120": (0, 60, 120)}.items():
        away = np.radians(np.array(angles) - turn)
        state = rosette(e1 * np.cos(away) ** 2 + e2 * np.sin(away) ** 2, E=210e3, nu=0.3, kind=kind)
        assert state[:3] == pytest.approx([e1, e2, turn])
    assert state.von_mises == pytest.approx(np.sqrt(state.s1**2 - state.s1 * state.s2 + state.s2**2))
    for wrong in ([1, 2], "abc", [[1, 2, 3], [1, 2]]):
        with pytest.raises(fk.ModelError, match="three readings"):
            rosette(wrong, E=210e3, nu=0.3)
    with pytest.raises(fk.ModelError, match=r"(?s)E is 0.0 MPa.*nu is 1;"):
        rosette([1, 2, 3], E=0, nu=1)


def test_a_line_is_that_of_scipy():
    rng = np.random.default_rng(1)
    x, y = rng.normal(size=(2, 20))
    line, other = straight_line(x, y), linregress(x, y)
    assert [line.slope, line.offset, line.r2] == pytest.approx([other.slope, other.intercept, other.rvalue**2])
    # the standard error of the slope is the scatter over the root of the sum of squares
    assert line.scatter / np.sqrt(((x - x.mean()) ** 2).sum()) == pytest.approx(other.stderr)


@pytest.fixture(scope="module")
def sheet():
    """Of a plate that is pulled: seven gauges that are turned by 5° each, and a rosette."""
    held = [fk.Support("left", ux=0), fk.Support(fk.near(0, 0), uy=0)]
    load = fk.LoadCase("pull", [fk.LineLoad("right", fx=300)])
    model = fk.Model(
        grid(200, 40, 20, 4), fk.Plate(5, STEEL), supports=held, load_cases=[load], behaviour="plane stress"
    )
    turned = np.radians(5 * np.arange(7))
    gauges = [fk.Gauge(n, (100, 20, 0), (np.cos(a), np.sin(a), 0)) for n, a in zip(NAMES, turned)]
    return predict_strains(fk.solve_static(model), [*gauges, fk.Rosette("R", (90, 20, 0), (1, 0, 0))], "pull")


def readings(sheet, tmp_path, change=None, *, name="log.csv", **options):
    """Readings 2 % above what is predicted, each channel from a zero of its own, changed and read back from a file."""
    read = 1.02 * LOADS[:, None] / 100 * sheet.full + 100.0 * np.arange(len(NAMES))
    if change:
        change(read)
    rows = [";".join(["time (min)", "load (%)", *(f"{n} (µm/m)" for n in NAMES)])]
    for i, (load, row) in enumerate(zip(LOADS, read)):
        rows.append(";".join([f"{10 * i}", f"{load}", *(f"{value:.2f}" for value in row)]))
    (tmp_path / name).write_text("\n".join(rows), encoding="utf-8")
    return read_strains(tmp_path / name, sheet.channels, full=100, **options)


def judged(sheet, tmp_path, change=None, **limits):
    return compare_strains(sheet, readings(sheet, tmp_path, change), **limits)


def test_the_sheet_has_units_places_and_what_one_gauge_is_worth(sheet, tmp_path):
    table = sheet.table()
    assert table.loc["G1", "100 % (µm/m)"] == pytest.approx(1e6 * 60 / 210e3)
    assert table.loc["G1", "25 % (µm/m)"] == pytest.approx(0.25e6 * 60 / 210e3)
    assert table.loc["G1", "stress along (MPa)"] == pytest.approx(60) == table.loc["G1", "E × strain (MPa)"]
    # across the pull there is no stress, but strain
    assert table.loc["R c", "stress along (MPa)"] == pytest.approx(0, abs=1e-9)
    assert table.loc["R c", "E × strain (MPa)"] == pytest.approx(-0.3 * 60)
    assert table["changes by (µm/m per mm)"].to_numpy() == pytest.approx(0, abs=1e-6)
    # (1 + nu) / E s sin(2 · 30°) a radian
    assert table.loc["G7", "changes by (µm/m per °)"] == pytest.approx(
        np.radians(1) * 1.3e6 * 60 / 210e3 * np.sin(np.pi / 3)
    )
    text = sheet.write(tmp_path / "sheet.csv").read_text(encoding="utf-8")
    assert "at (mm)" in text and "changes by (µm/m per mm)" in text and "(100, 20, 0)" in text


def test_good_readings_meet_the_limits(sheet, tmp_path):
    test = judged(sheet, tmp_path)
    assert test.said == {} and test.readings.notes == ()
    assert np.array([line.slope for line in test.lines]) == pytest.approx(1.02, abs=1e-3)
    assert test.overall.slope == pytest.approx(1.02, abs=1e-3) and test.overall.r2 == pytest.approx(1, abs=1e-5)
    assert test.verdict == Verdict.MEETS
    found = test.governing()
    assert found.value == pytest.approx(0.2, abs=1e-2) and found.why == ""  # 2 % of 10 %
    assert found.case.startswith("pull, ") and found.place == "G1 (100, 20, 0)"


def test_a_rosette_is_compared_by_principal_values(sheet, tmp_path):
    table = judged(sheet, tmp_path).rosettes()
    assert table.loc[("R", "predicted"), ["s1 (MPa)", "s2 (MPa)", "angle (°)"]].to_numpy() == pytest.approx(
        [60, 0, 0], abs=1e-6
    )
    assert table.loc[("R", "measured"), "s1 (MPa)"] == pytest.approx(1.02 * 60, rel=1e-3)
    dead = judged(sheet, tmp_path, put(8, 7.0)).rosettes()
    assert dead.loc[("R", "measured")].isna().all() and dead.loc[("R", "predicted")].notna().all()


def put(channel, values):
    """A change that gives a channel other readings."""

    def change(read):
        read[:, channel] = values

    return change


def add(channel, values):
    """A change that adds to a channel's readings."""

    def change(read):
        read[:, channel] += values

    return change


@pytest.mark.parametrize(
    ("change", "channel", "words"),
    [
        (put(3, np.nan), "G4", "dead: no readings under load"),
        (put(3, np.where(LOADS > 0, 5, np.nan)), "G4", "dead: no readings under load, or none before it"),
        (put(3, 4.0 + 0.1 * np.arange(10)), "G4", "dead: it moves by 0.9 µm/m, where 2"),
        (add(3, np.linspace(0, 90, 10)), "G4", "drifts: its zero moved by 20 µm/m before the load and by 90 over the"),
        (lambda read: np.multiply(read, [1, 1, 1, -1, *[1] * 6], out=read), "G4", "wrong sign: slope -1.02 with r² 1"),
        (lambda read: np.minimum(read, [9e9] * 3 + [300 + 140] + [9e9] * 6, out=read), "G4",
         "saturated: it stands at 140 µm/m from 75 % of the load on"),
    ],
)  # fmt: skip
def test_a_channel_that_can_not_be_assessed_is_named_and_kept(sheet, tmp_path, change, channel, words):
    test = judged(sheet, tmp_path, change)
    assert list(test.said) == [channel] and test.said[channel].startswith(words)
    table = test.table()
    assert list(table.index) == list(NAMES)
    assert table.loc[channel, "verdict"] == "not assessed" and table.loc[channel, "what is said"].startswith(words)
    assert test.verdict == Verdict.MEETS and test.governing().why == f"not assessed: {channel}"


def test_a_gauge_without_a_prediction_is_kept_and_named(sheet, tmp_path):
    gauges = [fk.Gauge("G1", (100, 20, 0), (1, 0, 0)), fk.Gauge("G2", (199, 20, 0), (1, 0, 0))]
    edge = predict_strains(fk.solve_static(sheet.placed.model), gauges, "pull")
    test = compare_strains(edge, log(tmp_path, PLAIN.replace("101.5", "143.5")))
    assert test.said["G2"].startswith("nothing predicted: its grid of 6 mm runs over the edge of plate")
    assert test.table().loc["G2", "verdict"] == "not assessed" and test.verdict == Verdict.MEETS


def test_a_drift_that_is_taken_out_leaves_the_slope(sheet, tmp_path):
    said = judged(sheet, tmp_path, add(3, np.linspace(0, 90, 10))).said["G4"]
    assert said.endswith("its slope is 1.02")


def test_a_gauge_that_does_not_return_is_worse_and_no_drift(sheet, tmp_path):
    test = judged(sheet, tmp_path, add(3, np.where(np.arange(10) >= 6, 40.0, 0)))  # it yields at the full load
    found = test.governing()
    assert test.faults[3] == "" and test.verdict == Verdict.WORSE
    assert test.readings.residual[3] == pytest.approx(40, abs=0.02)
    assert (found.case, found.place) == ("pull, after the load", "G4 (100, 20, 0)")
    assert found.value == pytest.approx(2, abs=1e-2)  # 40 of 20 µm/m


def test_a_reading_beyond_the_band_is_worse_at_its_step(sheet, tmp_path):
    test = judged(sheet, tmp_path, add(1, np.where(np.arange(10) == 5, 50.0, 0)), least=5, band=0.1)
    assert test.verdict == Verdict.WORSE and test.governing().case == "pull, 75 %"
    p = 0.75 * sheet.full[1]
    assert test.governing().value == pytest.approx((0.02 * p + 50) / (0.1 * p), rel=1e-2)


def test_an_outlier_and_a_pair_that_was_swapped_are_named_and_judged(sheet, tmp_path):
    test = judged(sheet, tmp_path, add(1, LOADS))
    assert "an outlier" in test.said["G2"] and test.verdict == Verdict.WORSE

    def swap(read):
        read[:, [0, 9]] = read[:, [9, 0]]

    test = judged(sheet, tmp_path, swap)
    assert 'perhaps swapped with "R c"' in test.said["G1"] and 'perhaps swapped with "G1"' in test.said["R c"]
    assert test.verdict == Verdict.WORSE


def test_without_a_reading_after_the_load_nothing_is_signed(sheet, tmp_path):
    test = judged(sheet, tmp_path, lambda read: read[-2:].fill(np.nan))
    assert np.isnan(test.returned).all() and test.verdict == Verdict.NOT_ASSESSED
    assert set(test.table()["verdict"]) == {"not assessed"} and test.said["G1"] == "no reading after the load"
    assert test.governing().why.startswith("no reading at the largest load, or none after it: G1, G2")


def test_a_channel_without_a_reading_at_the_largest_load_meets_nothing(sheet, tmp_path):
    test = judged(sheet, tmp_path, lambda read: read[6:8, 3].fill(np.nan))
    assert test.said == {"G4": "no reading at 100 %"} and test.verdict == Verdict.NOT_ASSESSED
    assert test.table().loc["G4", "verdict"] == "not assessed" and test.table().loc["G3", "verdict"] == str(
        Verdict.MEETS
    )
    assert test.governing().why.endswith(": G4")
    once = judged(sheet, tmp_path, lambda read: read[6:7, 3].fill(np.nan))
    assert once.verdict == Verdict.MEETS and once.said == {"G4": "no reading at 100 %"}


def test_a_test_that_stops_below_the_full_load_says_so(sheet, tmp_path):
    part = readings(sheet, tmp_path)
    part = replace(part, load=part.load / 2, raw=part.raw / 2)
    assert compare_strains(sheet, part).governing().why == "no more than 50 % of the full load was put on"


def test_a_reading_that_is_largest_after_the_load_is_no_crash(sheet, tmp_path):
    found = judged(sheet, tmp_path, add(3, np.where(np.arange(10) >= 8, 5000.0, 0))).governing()
    assert found.case == "pull, after the load" and found.place.startswith("G4") and found.value > 100


def test_a_small_strain_that_is_read_as_predicted_is_not_dead(tmp_path, sheet):
    small = replace(sheet, full=sheet.full / 100)
    strain = LOADS[:, None] / 100 * small.full
    test = compare_strains(small, replace(readings(sheet, tmp_path), raw=strain), least=1)
    assert test.said == {} and test.verdict == Verdict.MEETS


def test_a_strain_too_small_for_a_slope_is_still_compared(sheet, tmp_path):
    test = judged(sheet, tmp_path, least=400)
    assert np.isnan([line.slope for line in test.lines]).all() and test.verdict == Verdict.MEETS
    assert test.utilisation == pytest.approx(0.02 * np.abs(sheet.full) / 400, abs=1e-3)


def test_limits_and_channels_are_checked(sheet, tmp_path):
    reads = readings(sheet, tmp_path)
    with pytest.raises(fk.ModelError, match=r"band is 0\.0; it must be a finite number above 0"):
        compare_strains(sheet, reads, band=0)
    with pytest.raises(fk.ModelError, match="least is 'x'"):
        compare_strains(sheet, reads, least="x")
    with pytest.raises(fk.ModelError, match="the share is nan at its place 1"):
        predict_strains(fk.solve_static(sheet.placed.model), sheet.placed.gauges, "pull", steps=(0.5, np.nan))
    with pytest.raises(fk.ModelError, match="other channels"):
        compare_strains(sheet, read_strains(tmp_path / "log.csv", ["G1"], full=100))


# -- files ----------------------------------------------------------------------------------------------------


def log(tmp_path, text, channels=("G1", "G2"), **options):
    path = tmp_path / "log.csv"
    path.write_text(text, encoding=options.pop("encoding", "utf-8"))
    return read_strains(path, channels, **{"full": 100, **options})


PLAIN = "time,load (kN),G1 (µm/m),G2\n0,0,1.5,-2\n1,50,101.5,-52\n2,0,2.5,-2\n"


@pytest.mark.parametrize(
    "text",
    [
        PLAIN,
        "# made up\n\n" + PLAIN.replace(",", ";").replace(".", ","),
        PLAIN.replace(",", "\t").replace(".", ","),
        PLAIN.replace(",1.5", ',"1,5"').replace("101.5", '"101,5"'),
        PLAIN.replace("(µm/m)", "(mm/m)").replace("101.5", "0.1015").replace("1.5", "0.0015").replace("2.5", "0.0025")
        .replace("0.100.0015", "0.1015"),
        PLAIN.replace("µ", "u"),
        PLAIN.replace("-", "−"),
        PLAIN.replace("G1 (µm/m)", "G1 (microstrain)"),
    ],
)  # fmt: skip
def test_loggers_write_as_they_like(tmp_path, text):
    reads = log(tmp_path, text)
    assert reads.load == pytest.approx([0, 0.5, 0]) and reads.time == pytest.approx([0, 1, 2])
    assert reads.strain == pytest.approx(np.array([[0, 0], [100, -50], [1, 0]]))
    assert reads.residual == pytest.approx([1, 0]) and reads.notes == ()


def test_nothing_is_dropped_silently(tmp_path):
    text = "step;load (kN);G1;G3;spare\na;0;1;2;3\nb;50;OVFL;52;3\nc;0;;2;3\n"
    reads = log(tmp_path, text, ("G1", "G2", "G3"))
    assert reads.time.tolist() == [0, 1, 2]
    assert reads.notes[:2] == (
        'G1: no number but "OVFL" in line 3 and "" in line 4',
        "G2: there is no column of that name",
    )
    assert 'column "spare" is no gauge' in reads.notes[3] and 'column "step"' in reads.notes[2]
    assert np.isnan(reads.strain[:, 1]).all() and reads.strain[1, 2] == 50


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no table in it"),
        (PLAIN.replace("load", "force"), 'no column "load" for the load'),
        (PLAIN.replace("50,101.5", "50,101,5"), "the head has 4 columns, but line 3 has 5; decimal commas need"),
        (PLAIN.replace(",50,", ",fifty,"), "the load in line 3 is no number"),
        (PLAIN.replace("\n1,", "\nlater,"), "the time in line 3 is no number"),
        (PLAIN.replace("0,0,1.5,-2\n", ""), "no zero reading before the first row under load"),
        (PLAIN.replace(",50,", ",0,"), "no row under load"),
        (PLAIN.replace("µm/m", "V"), 'strains in "V" are not known'),
        (PLAIN.replace("G2", "G1"), 'several columns "G1"'),
    ],
)
def test_files_that_can_not_be_used_say_why(tmp_path, text, words):
    with pytest.raises(fk.RecordError, match=words):
        log(tmp_path, text)


def test_a_file_that_is_not_there_or_no_text_is_named(tmp_path):
    with pytest.raises(fk.RecordError, match="nowhere"):
        read_strains(tmp_path / "nowhere.csv", ["G1"], full=100)
    with pytest.raises(fk.RecordError, match="no table of text"):
        log(tmp_path, PLAIN, encoding="utf-16")


def test_a_logger_may_write_latin_1(tmp_path):
    assert log(tmp_path, PLAIN, encoding="latin-1").strain[1] == pytest.approx([100, -50])


def test_a_column_may_be_named(tmp_path):
    assert log(tmp_path, PLAIN.replace("load (kN)", "F"), load="F").load[1] == 0.5
    with pytest.raises(fk.RecordError, match=r'no column "load \(kM\)".*Did you mean "load \(kN\)"'):
        log(tmp_path, PLAIN, load="load (kM)")

"""Thickness surveys: every blemish with its sentence; spreading, renewal and rates against figures by hand."""

from pathlib import Path

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk
from femkit.assess import Verdict, pitted_thickness, read_survey
from femkit.assess.survey import STATES

HEADS = "reading,date,plate,x_mm,z_mm,original_mm,measured_mm,note"
DEMO = Path(__file__).parents[2] / "notebooks" / "data" / "thickness_survey.csv"


def upright(points):
    """x and y of a flat grid as x and z, as a wall stands."""
    return np.column_stack([points[:, 0], np.zeros(len(points)), points[:, 1]])


def wall(length=1000, height=400, n_length=20, n_height=8, *, thickness=4.0, kind="quad", **more):
    """The model of a wall of one sheet, not held."""
    mesh = grid(length, height, n_length, n_height, kind=kind, to_space=upright)
    return fk.Model(mesh, {"sheet": fk.Plate(thickness, STEEL)}, **more)


def survey(folder, *rows, heads=HEADS):
    path = folder / "survey.csv"
    path.write_text("\n".join([heads, *rows]) + "\n", encoding="utf-8")
    return read_survey(path)


def evenly(folder, model, value):
    """The wall as measured with one value all over."""
    rows = [
        f"R{x}-{z},2026-05-12,sheet,{x},{z},4,{value},".replace("-,", ",")
        for x in range(0, 1001, 200)
        for z in (100, 300)
    ]
    return survey(folder, *rows).on(model).spread(300)


# -- reading and judging ---------------------------------------------------------------------------------------------

GOOD = "R1,2026-05-12,sheet,100,100,4,3.50,"
BLEMISHES = {
    'R2,2026-05-12,sheet,200,100,4,"3,71",': ('"3,71" has a decimal comma', "taken as 3.71", "thickness", 3.71),
    "R2,12.05.2026,sheet,200,100,4,3.7,": ("its date is written day.month.year", "read so", "thickness", 3.7),
    "R2,5/12/2026,sheet,200,100,4,3.7,": ("its date is not understood", "not used", "nothing", np.nan),
    "R2,2026-05-12,sheet,here,100,4,3.7,": ("its place is not a number", "not used", "nothing", np.nan),
    "R2,2026-05-12,sheet,200,100,,3.7,": (
        *("its original thickness is not a number above 0", "not used", "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,200,100,4,,heavy scale": (
        *('"" is no reading: heavy scale', "not used; readings within reach count there", "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,200,100,4,-,": (
        *('"-" is no reading', "not used; readings within reach count there", "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,200,100,4,-,hole": (
        *("a hole", "the place is renewed whatever the mean; it spreads no thickness", "renew", 0.0),
    ),
    "R2,2026-05-12,sheet,200,100,4,-2,": ("-2 mm is no thickness", "not used", "nothing", np.nan),
    "R2,2026-05-12,sheet,200,100,4,4.41,over paint": (
        *("4.41 mm, over paint", "not used: paint counts as steel", "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,200,100,4,0.13,inch gauge": (
        *("0.13 is in inches by its note", "taken as 3.3 mm", "thickness", 3.302),
    ),
    "R2,2026-05-12,sheet,200,100,4,3.1,inch gauge": (
        *("3.1 is in inches by its note, but makes no sense so", "not used", "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,200,100,4,0.125,": (
        *("0.125 looks like inches, which nothing says", "not used", "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,200,100,4,4.06,": (
        *("above the original of 4 mm by no more than the gauge's 0.1 mm", "taken as the original", "thickness", 4.0),
    ),
    "R2,2026-05-12,sheet,200,100,4,4.31,": (
        *("0.31 mm above the original of 4 mm", "not used: paint, or a slip", "nothing", np.nan),
    ),
    "R2,2026-05-12,Sheet ,200,100,4,3.7,": ('its plate is written "Sheet"', 'taken as "sheet"', "thickness", 3.7),
    "R2,2026-05-12,shed,200,100,4,3.7,": (
        *('there is no plate "shed"', 'not used. Did you mean "sheet"?', "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,9150,100,4,3.7,check position": (
        *("it lies outside the structure", "not used: check the place", "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,200,100,5,3.7,": (
        *(
            "its original is 5 mm, the model's 4 mm",
            "its own loss is of the survey's, means are of the model's",
            "thickness",
            3.7,
        ),
    ),
    "R2,2026-05-12,sheet,200,100,0.157,0.15,": (
        *("its original is 0.157 mm, the model's 4 mm", "not used: another plate, or another unit", "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,200,100,0,3.7,": (
        *("its original thickness is not a number above 0", "not used", "nothing", np.nan),
    ),
    "R2,2026-05-12,sheet,200,100,4,3.7,beside a hole": (
        *("its note tells of a hole, but it is a thickness", "used as a thickness: look there", "thickness", 3.7),
    ),
    "R1,2026-05-12,sheet,100,100,4,3.50,repeat": ("it stands here twice", "counted once", "nothing", np.nan),
    "R1,2026-05-12,sheet,900,100,4,3.50,": ("its name stands for several places", "used", "thickness", 3.5),
    "E1,2016-04-20,sheet,100,100,4,3.8,": ("of an earlier survey, 2016-04-20", "used for rates alone", "rate", 3.8),
    "E1,2016-04-20,sheet,800,100,4,3.8,": (
        *("of an earlier survey, 2016-04-20", "not used: nothing was read there since", "nothing", np.nan),
    ),
    "E1,2016-04-20,sheet,100,100,4,-,hole": (
        *("of an earlier survey, 2016-04-20", "not used: mended since", "nothing", np.nan),
    ),
}


def test_a_survey_without_a_single_good_row_still_names_them_all(tmp_path):
    readings = survey(tmp_path, "R1,,,,,,,", "R2,2026-05-12,sheet,here,there,4,3.5,").on(wall())
    assert [row.use for row in readings.rows] == ["nothing"] * 2
    assert not readings.spread().measured.any() and readings.odd()["rows"].sum() == 3


@pytest.mark.parametrize("row", BLEMISHES)
def test_every_blemish_is_kept_named_and_treated(tmp_path, row):
    odd, treatment, use, value = BLEMISHES[row]
    readings = survey(tmp_path, GOOD, row).on(wall())
    assert len(readings.rows) == 2
    assert readings.rows[1].odd[-1] == (odd, treatment)
    assert readings.rows[1].use == use
    assert readings.rows[1].value == pytest.approx(value, nan_ok=True)
    table, named = readings.table(), readings.odd()
    assert len(table) == 2 and table.iloc[1]["treatment"].endswith(treatment)
    assert (odd, treatment) in list(zip(named["what is odd"], named["what became of it"]))
    assert readings.rows[0].value == 3.5  # the good row is as it was


def test_of_two_readings_the_safe_one_counts(tmp_path):
    rows = [GOOD, GOOD.replace("3.50", "3.42"), *(f"E1,2016-04-20,sheet,100,100,4,{t}," for t in (3.8, 3.9))]
    now, thinner, before, thicker = survey(tmp_path, *rows).on(wall()).rows
    assert [r.use for r in (now, thinner, before, thicker)] == ["nothing", "thickness", "nothing", "rate"]
    assert thinner.odd == (("read twice: 3.5, 3.42 mm", "the thinner counts, which is on the safe side"),)
    assert thicker.odd[-1] == ("read twice: 3.8, 3.9 mm", "the thicker counts, which is on the safe side")


def test_rules_are_the_users(tmp_path):
    rows = (
        "R2,2026-05-12,sheet,200,100,4,4.31,",
        "R3,2026-05-12,sheet,300,100,4,3.9,paint",
        "R4,2025-05-12,sheet,100,300,4,3,",
    )
    made = survey(tmp_path, GOOD, *rows)
    assert [r.use for r in made.on(wall()).rows] == ["thickness", "nothing", "nothing", "nothing"]
    readings = made.on(wall(), gauge=0.4, paint=0.3, one_survey=400)
    assert [r.value for r in readings.rows] == pytest.approx([3.5, 4.0, 3.6, 3.0])


def test_paint_is_taken_off_a_reading_in_inches_too(tmp_path):
    rows = ("R2,2026-05-12,sheet,200,100,4,0.13,inch gauge, over paint", "R3,2026-05-12,sheet,200,100,4,0.2,paint")
    made = survey(tmp_path, rows[0].replace("gauge,", "gauge"), rows[1]).on(wall(), paint=0.3).rows
    assert made[0].value == pytest.approx(0.13 * 25.4 - 0.3)  # 3.302 mm less the paint
    assert [treatment for _odd, treatment in made[0].odd] == ["taken as 3.3 mm", "0.3 mm taken off"]
    assert made[1].odd == (("-0.1 mm is no thickness", "not used"),)


def test_a_row_that_is_not_used_does_not_make_the_others_an_earlier_survey(tmp_path):
    readings = survey(tmp_path, GOOD, "R2,2062-05-12,shed,200,100,4,3.7,").on(wall())
    assert [r.use for r in readings.rows] == ["thickness", "nothing"]


def test_semicolons_decimal_commas_and_a_byte_order_mark_are_read(tmp_path):
    heads = "\ufeff" + HEADS.replace(",", ";")
    made = survey(
        tmp_path, "R1;2026-05-12;sheet;100,5;100;4;3,50;", "", "R2;2026-05-12;sheet;200;100;4;3.6", heads=heads
    )
    assert [r.value for r in made.rows] == [3.5, 3.6] and made.rows[0].place == (100.5, 100.0)
    assert made.axes == (0, 2)


@pytest.mark.parametrize(
    ("heads", "row", "words"),
    [
        ("reading,x_mm,note", "R1,3,", "there is no column date, plate, original_mm, measured_mm, x_mm, y_mm or z_mm"),
        (HEADS + ",x_in", GOOD + ",4", 'column "x_in" is in "in"; lengths must be in mm'),
        (HEADS.replace("measured_mm", "measured (inch)"), GOOD, 'column "measured \\(inch\\)" is in "inch"'),
        (HEADS.replace("z_mm", "z"), GOOD, 'column "z" is without a unit'),
        (HEADS, GOOD.replace("100,100", "7.2,1.5"), "places up to 7.2 look like metres; they must be in mm"),
        (HEADS, GOOD.replace(",4,3.50", ",0.004,0.0035"), "originals up to 0.004 look like metres"),
        (HEADS, GOOD.replace("3.50", "3,50") + ",", "the head has 8 columns, but line 2 has 10; decimal commas need"),
        (HEADS, "", "it holds no readings"),
        ("", "", "there is no table in it"),
        (HEADS + ",note", GOOD, 'column "note" stands there twice'),
    ],
)
def test_a_file_that_cannot_be_trusted_is_refused(tmp_path, heads, row, words):
    with pytest.raises(fk.RecordError, match=rf"thickness survey .*survey\.csv: .*{words}"):
        survey(tmp_path, row, heads=heads)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(fk.RecordError, match=r"thickness survey .*none\.csv: it can't be read: .*No such file"):
        read_survey(tmp_path / "none.csv")


# -- readings to cells -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["quad", "triangle"])
def test_an_even_field_is_spread_exactly_and_the_rest_is_not_measured(tmp_path, kind):
    model = wall(kind=kind)
    worn = survey(tmp_path, GOOD, "R2,2026-05-12,sheet,300,100,4,3.5,").on(model).spread(200)
    apart = np.min([np.hypot(model.mesh.centres[:, 0] - x, model.mesh.centres[:, 2] - 100) for x in (100, 300)], axis=0)
    assert (worn.measured == (apart <= 200)).all()
    assert worn.thickness[worn.measured] == pytest.approx(3.5) and np.isnan(worn.thickness[~worn.measured]).all()
    thickness = worn.model().per_cell.thickness  # as built where nothing was measured
    assert thickness == pytest.approx(np.where(apart <= 200, 3.5, 4.0))


def test_a_linear_field_keeps_to_its_readings_and_is_exact_midway(tmp_path):
    # readings on a line, thickness 3 + x / 1000; by hand at distances a and b of two: (t1/a² + t2/b²) / (1/a² + 1/b²)
    model = wall(1000, 100, 100, 1)  # centres at x = 5, 15, …, z = 50
    rows = [f"R{x},2026-05-12,sheet,{x},50,4,{3 + x / 1000}," for x in range(5, 1000, 100)]
    worn = survey(tmp_path, *rows).on(model).spread(99)
    x = model.mesh.centres[:, 0]
    at = lambda place: worn.thickness[np.abs(x - place).argmin()]  # noqa: E731
    assert at(405) == pytest.approx(3.405, abs=2e-4)  # on a reading: the others, 100 mm off, are beyond reach
    assert at(455) == pytest.approx(3.455)  # midway of two
    assert at(425) == pytest.approx((3.405 / 20**2 + 3.505 / 80**2) / (1 / 20**2 + 1 / 80**2))
    # between two the share s² / (s² + (1 - s)²) is at most 0.1502 from s, at s = 0.258
    assert np.abs(worn.thickness - (3 + np.clip(x, 5, 905) / 1000)).max() <= 0.1503 * 100 / 1000


def test_under_a_doubler_the_old_sheet_counts_and_the_middle_moves(tmp_path):
    # by hand: sheet 4 on -2 … 2, doubler 3 on 2 … 5; outer face 0.5 off: -1.5 … 5, middle 1.75; inner: -2 … 4.5, 1.25
    mesh = wall().mesh.with_cells("double", fk.inside(x=(0, 300)), out_of="sheet")
    plates = {"sheet": fk.Plate(4.0, STEEL), "double": fk.Plate(7.0, STEEL, offset=1.5)}
    rows = [f"R{x}.{z},2026-05-12,sheet,{x},{z},4,3.5," for x in range(100, 1000, 200) for z in (100, 300)]
    made = survey(tmp_path, *rows)
    bare = made.on(fk.Model(mesh, plates))
    assert bare.odd().iloc[0, 1:].tolist() == [
        2,
        'no "sheet" at its place',
        "not used: cut out in this mesh, or a wrong place",
    ]
    worn = made.on(fk.Model(mesh, plates), under={"double": ("sheet", 4.0)}).spread(200)
    assert worn.measured.all() and not len(worn.readings.odd())
    assert worn.loss == pytest.approx(0.125) and worn.original == pytest.approx(4)
    for face, offset in (("outer", 1.75), ("inner", 1.25)):
        model = worn.model(face)
        assert model.plates["double"].offset == pytest.approx(offset) and model.plates["sheet"].offset == 0
        assert np.unique(model.plates["double"].thickness) == pytest.approx(6.5)
    for new in ("double", mesh.cell_sets["double"], np.isin(np.arange(160), mesh.cell_sets["double"])):
        model = worn.model(renewed=new)
        assert model.plates["double"].offset == 1.5 and model.per_cell.thickness.max() == pytest.approx(7)
    for under, words in (
        (("shed", 4.0), 'there is no plate "shed"\\. Did you mean "sheet"'),
        ("sheet", '"double" is given .sheet.; it must be the old sheet and its thickness'),
        (("sheet", 7.0), 'under "double": the old sheet is 7 mm, but old sheet and doubler are 7 mm together'),
        (("sheet", np.nan), 'under "double": thickness is nan mm'),
    ):
        with pytest.raises(fk.ModelError, match=words):
            made.on(fk.Model(mesh, plates), under={"double": under})
    both = survey(tmp_path, *rows, "R2,2026-05-12,double,100,100,7,6.8,")
    worn = both.on(fk.Model(mesh, plates), under={"double": ("sheet", 4.0)}).spread(200)
    assert worn.readings.rows[-1].odd == (('"double" is old sheet and doubler in one', "not used: which was read?"),)
    assert worn.loss == pytest.approx(0.125)


def test_zones_share_out_all_cells_of_surveyed_plates(tmp_path):
    zones = evenly(tmp_path, wall(), 3.5).zones(500, 200)
    assert next(iter(zones)) == "sheet, x 0 to 500, z 0 to 200" and len(zones) == 4
    assert (np.sort(np.concatenate(list(zones.values()))) == np.arange(160)).all()


# -- what wear does at fixed force -----------------------------------------------------------------------------------


def strip(**more):
    """A strip 1000 × 100 mm, x = 0 clamped."""
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    bent = fk.LoadCase("bent", [fk.LineLoad("right", fy=0.001)])
    pulled = fk.LoadCase("pulled", [fk.LineLoad("right", fx=100)])
    pressed = fk.LoadCase("pressed", [fk.LineLoad("right", fx=-1)])
    return wall(1000, 400, 20, 8, supports=[clamp], load_cases=[pulled, bent, pressed], **more)


# worked check at fixed force: membrane 1/r, bending 1/r², buckling 1/r³ with r what remains (closed forms: N/t,
# 6 M/t², Euler's load with t³)
@pytest.mark.parametrize(
    ("loss", "membrane", "bending", "buckling"),
    [
        (0.1, 1.1111111, 1.2345679, 1.3717421),
        (0.2, 1.25, 1.5625, 1.953125),
        (0.3, 1.4285714, 2.0408163, 2.9154519),
    ],
)
def test_loss_raises_stress_and_buckling_as_the_closed_forms_say(tmp_path, loss, membrane, bending, buckling):
    built = strip()
    worn = evenly(tmp_path, built, 4 * (1 - loss)).model()
    before, after = fk.solve_static(built), fk.solve_static(worn)
    cell = np.abs(built.mesh.centres - (525, 0, 225)).sum(axis=1).argmin()
    stress = [(r["pulled"].stress("middle")[cell, 0], r["bent"].stress("top")[cell, 0]) for r in (before, after)]
    assert np.divide(*stress[::-1]) == pytest.approx([membrane, bending], rel=5e-5)  # plates give in shear: 3e-5
    factors = [fk.solve_buckling(r, "pressed", 1).factor[0] for r in (before, after)]
    assert factors[0] / factors[1] == pytest.approx(buckling, rel=5e-5)


# -- renewal ---------------------------------------------------------------------------------------------------------


def test_mean_loss_single_readings_and_holes_are_renewed_with_area_and_mass(tmp_path):
    # 1000 × 400 of 4 mm: x < 500 at 3.1 mm (22.5 %), beyond at 3.9 mm (2.5 %); 0.5 × 0.4 m² × 4 mm × 7.85 = 6.28 kg
    model = wall()
    rows = [
        f"R{x}{z},2026-05-12,sheet,{x},{z},4,{3.1 if x < 500 else 3.9},"
        for x in range(25, 1000, 50)
        for z in range(25, 400, 50)
    ]
    worn = survey(tmp_path, *rows).on(model).spread(30)
    found = worn.renewal(over=0)
    assert {STATES[i] for i in found.state} == {"renew: mean loss", "may stay"}
    assert (np.sort(found.cells["sheet"]) == np.flatnonzero(model.mesh.centres[:, 0] < 500)).all()
    row = found.table().loc["sheet"]
    assert row["renew (m²)"] == pytest.approx(0.2) and row["renew (kg)"] == pytest.approx(6.28)
    assert row["measured (m²)"] == pytest.approx(0.4) and row["largest mean loss (%)"] == pytest.approx(22.5)
    assert row["used of the limit"] == pytest.approx(1.125) and row["verdict"] == Verdict.WORSE
    assert found.governing().value == pytest.approx(1.125) and found.governing().case == "renew: mean loss"
    # 25 mm more, rounded to 50 mm from the sheet's corner, not beyond it: 550 × 400, 0.22 m², 6.908 kg
    cut = found.cutting_list()
    assert len(cut) == 1
    assert cut.iloc[0, 1:7].tolist() == pytest.approx([4, 1, 550, 400, 0.22, 6.908])
    assert cut.iloc[0, 7] == "x 0 to 550, y 0, z 0 to 400"
    # 22.5 % meets 25 %, and is substantial from 75 % of it, 18.75 %
    assert set(worn.renewal(mean=0.25, over=0).state) == {STATES.index("substantial"), STATES.index("may stay")}
    # a mean over the whole sheet: 12.5 % everywhere
    assert worn.renewal(over=3000).mean_loss == pytest.approx(0.125)


def test_a_pit_and_a_hole_take_their_places_and_overlapping_rectangles_become_one(tmp_path):
    rows = [
        f"R{x},2026-05-12,sheet,{x},200,4,{t},{note}"
        for x, t, note in ((100, 3.9, ""), (400, 2.7, ""), (600, "-", "hole"))
    ]
    found = survey(tmp_path, *rows).on(wall()).spread(1000).renewal(over=150, mean=0.9)
    pit, hole = (found.state == STATES.index(f"renew: {word}") for word in ("single reading", "hole"))
    x, z = found.worn.readings.model.mesh.centres[:, [0, 2]].T
    assert (pit == (np.hypot(x - 400, z - 200) <= 75)).all() and (hole == (np.hypot(x - 600, z - 200) <= 75)).all()
    assert found.governing().case == "renew: hole" and found.governing().value == pytest.approx(1 / 0.3)
    cut = found.cutting_list(margin=0)
    assert cut["pieces"].tolist() == [2] and cut["length (mm)"].tolist() == [100]
    # 350 … 450 and 550 … 650 with 60 mm more are 290 … 510 and 490 … 710, on the grid 250 … 550 and 450 … 750: one
    wide = found.cutting_list(margin=60)
    assert wide.iloc[0, 2:5].tolist() == [1, 500, 300] and len(wide) == 1


@pytest.mark.parametrize("over", [0, 150])
@pytest.mark.parametrize("order", [1, -1])
def test_no_hole_is_lost_at_the_place_of_a_reading_or_between_coarse_cells(tmp_path, over, order):
    rows = ["R1,2026-05-12,sheet,300,200,4,3.9,", "R2,2026-05-12,sheet,300,200,4,-,hole"]
    found = survey(tmp_path, *rows[::order]).on(wall(1000, 400, 2, 1)).spread().renewal(over=over)
    assert [STATES[i] for i in found.state] == ["renew: hole", "not measured"]


@pytest.mark.parametrize(
    ("value", "state"), [(3.2, "renew: mean loss"), (3.21, "substantial"), (2.8, "renew: single reading")]
)
def test_what_lies_at_a_limit_is_renewed(tmp_path, value, state):
    found = evenly(tmp_path, wall(), value).renewal(over=300)
    near = np.hypot(*(found.worn.readings.model.mesh.centres[:, [0, 2]] - (200, 100)).T) < 100
    assert {STATES[i] for i in found.state[near]} == {state}
    is_worse = state.startswith("renew")
    assert found.table().loc["sheet", "verdict"] == (Verdict.WORSE if is_worse else Verdict.MEETS)


def test_what_was_measured_in_part_says_so(tmp_path):
    found = survey(tmp_path, GOOD).on(wall()).spread(100).renewal(over=0)  # 13 % less
    assert found.table().loc["sheet", ["verdict", "why"]].tolist() == ["meets the limit", found.governing().why]
    measured = found.worn.measured.mean()  # cells are of one size
    assert found.governing().why == f"not measured on {100 * (1 - measured):.2g} % of the surface"


def test_the_cutting_list_measures_inclined_sheets_along_them_and_curved_ones_not_at_all(tmp_path):
    # 400 mm up a slope of 45 degrees
    rows = [f"R{x}{z},2026-05-12,sheet,{x},{z},4,2,".replace("-,", ",") for x in (0, 500, 1000) for z in (0, 140, 280)]
    for rise, sides in ((lambda s: (s, s), [1000, 400]), (lambda s: (200 * np.sin(s), 200 * np.cos(s)), [np.nan] * 2)):
        half = np.sqrt(0.5) if not np.isnan(sides[0]) else np.pi / 1600
        to_space = lambda p: np.column_stack([p[:, 0], *rise(p[:, 1] * half)])  # noqa: B023, E731
        model = fk.Model(grid(1000, 400, 20, 8, to_space=to_space), {"sheet": fk.Plate(4.0, STEEL)})
        cut = survey(tmp_path, *rows).on(model, on_plate=99).spread(500).renewal().cutting_list()
        assert cut.iloc[0, 3:5].tolist() == pytest.approx(sides, nan_ok=True)


@pytest.mark.parametrize(
    ("zones", "words"),
    [
        ({"width": 0}, "zones: width is 0.0 mm"),
        ({"height": np.nan}, "zones: height is nan mm"),
        ({"holding": [True]}, r"zones: holding has the shape \(1,\)"),
    ],
)
def test_zones_refuse_what_makes_none(tmp_path, zones, words):
    with pytest.raises(fk.ModelError, match=words):
        evenly(tmp_path, wall(), 3.5).zones(**zones)


def test_what_was_not_measured_is_not_assessed(tmp_path):
    found = survey(tmp_path, GOOD.replace("3.50", "-")).on(wall()).spread().renewal()
    assert {STATES[i] for i in found.state} == {"not measured"}
    assert found.table().loc["sheet", "verdict"] == Verdict.NOT_ASSESSED
    assert found.governing().why == "not measured" and np.isnan(found.governing().value)
    assert not found.cells and not len(found.cutting_list())


def test_scattered_pits_leave_a_thickness_and_a_pitted_field_says_so_instead():
    # t - share × depth, common practice, no source: 3 - 0.1 × 1 = 2.9
    assert pitted_thickness(3.0, 0.1, 1.0) == (pytest.approx(2.9), "")
    thickness, why = pitted_thickness(3.0, 0.4, 1.0)
    assert np.isnan(thickness) and why == "40% of the area is pitted; beyond 15% pits are not scattered any more"
    assert pitted_thickness(3.0, 0.1, 3.0)[1] == "pits of 3 mm are no pits in 3 mm"


# -- rates -----------------------------------------------------------------------------------------------------------


def test_rates_and_years_left_are_those_by_hand(tmp_path):
    # 2016-01-01 to 2026-01-01 are 3653 days, 10.0014 years: 3.6 to 3.2 mm is 0.039995 mm/year; 30 % off 4 mm is 2.8 mm,
    # 0.4 mm away: in 10.0014 years; with ±0.1 mm a reading, ±0.1414 mm: in 0.4 × 10.0014 / 0.5414 = 7.389 years
    rows = [
        *("A,2026-01-01,sheet,100,100,4,3.2,", "A0,2016-01-01,sheet,120,100,4,3.6,"),
        *("B,2026-01-01,sheet,400,100,4,3.8,", "B0,2016-01-01,sheet,400,100,4,3.9,"),  # within the scatter
        *("C,2026-01-01,sheet,700,100,4,3.8,", "C0,2016-01-01,sheet,700,100,4,3.7,"),  # grew
        *("D,2026-01-01,sheet,900,100,4,2.7,", "D0,2016-01-01,sheet,900,100,4,3.1,"),  # there already
    ]
    readings = survey(tmp_path, *rows).on(wall())
    table = readings.rates().table()
    assert list(table.index) == ["D", "A", "B", "C"]
    assert table.loc["A", ["rate (mm/year)", "± (mm/year)", "reached in", "at the soonest"]].tolist() == pytest.approx(
        [0.039995, 0.0141401, 2036, 2033], abs=1e-4
    )
    assert table["why"].tolist() == [
        *("the limit is reached already", ""),
        *("the loss is within the gauge's scatter", "no thinner than before: no rate"),
    ]
    assert np.isnan(table.loc["C", ["rate (mm/year)", "reached in"]].astype(float)).all()
    assert readings.rates(limit=0.4).governing().case == "D: reached in 2033, 2031 at the soonest"
    found = readings.rates().governing()
    assert (found.case, found.place) == (
        "D: the limit is reached already",
        "sheet (900, 100)",
    ) and found.value == pytest.approx(1.3 / 4 / 0.3)
    assert survey(tmp_path, GOOD).on(wall()).rates().governing().why == "no place was read twice"


# -- the demo, and bad input -----------------------------------------------------------------------------------------


def test_every_row_of_the_demo_is_accounted_for():
    import pandas as pd
    import side_wall as demo

    pd.reset_option("display.float_format")
    model = demo.model("reinforced")
    readings = read_survey(DEMO).on(model, under={"doubler-zone": ("lower-sheet", 3.0)})
    uses = [row.use for row in readings.rows]
    assert len(uses) == 163 and [uses.count(use) for use in ("thickness", "renew", "rate", "nothing")] == [
        118,
        1,
        14,
        30,
    ]
    named = readings.odd().set_index("readings")["what is odd"]
    assert (
        named["R071"] == "it lies outside the structure"
        and named["R121, R122, R123"] == 'no "upper-sheet" at its place'
    )
    worn = readings.spread()
    assert not worn.measured[model.plate_cells["cant-rail"]].any()
    found = worn.renewal()
    assert found.governing().case == "renew: hole"
    assert found.cutting_list()["sheet (m²)"].sum() > found.table()["renew (m²)"].sum() > 0
    assert len(found.plot().png) > 10_000 and "not measured: 8.31 m²" in worn.plot().alt


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda worn: worn.readings.spread(0), "spread: reach is 0.0 mm; it must be a finite number above 0"),
        (lambda worn: worn.model("both"), 'face is "both"; it must be "outer" or "inner"'),
        (lambda worn: worn.renewal(mean=20), "renewal: mean is 20; it must be a finite number above 0 and at most 1"),
        (
            lambda worn: worn.readings.rates(limit=0),
            "rates: limit is 0.0; it must be a finite number above 0 and at most 1",
        ),
        (lambda worn: worn.renewal(over=-1), "renewal: over is -1 mm; it must be a finite number of at least 0"),
        (lambda worn: worn.renewal().cutting_list(grid=0), "cutting list: grid is 0.0 mm"),
        (lambda worn: worn.plot(steps=(0.2, 0.1)), "steps are .* rising"),
        (lambda worn: worn.plot(steps="a"), "steps are 'a'; .* rising"),
        (
            lambda worn: fk.show.plot_classes(
                worn.readings.model.mesh, np.full(160, 0.5), ["a", "b"], ["#000000"] * 2, label="x"
            ),
            "one whole number a cell",
        ),
        (
            lambda worn: fk.show.plot_classes(worn.readings.model.mesh, [1], ["a"], ["#000000"], label="x"),
            "one whole number a cell",
        ),
    ],
)
def test_bad_input_is_named(tmp_path, ask, words):
    with pytest.raises(fk.ModelError, match=words):
        ask(evenly(tmp_path, wall(), 3.5))

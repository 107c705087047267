"""What is wrong by itself is refused at once: by name, with the value, its unit and what would be right."""

import numpy as np
import pytest
from model_parts import model_of
from sheets import STEEL, grid

import femkit as fk

SHEET = grid(400, 200, 4, 2)
GOOD = {"E": 210_000, "nu": 0.3}


@pytest.mark.parametrize(
    "given, sentence",
    [
        ({"E": 0}, r'material "steel": E is 0\.0 MPa; it must be a finite number above 0\.'),
        ({"E": np.nan}, r'material "steel": E is nan MPa'),
        ({"E": "210000"}, r"""material "steel": E is '210000'; it must be a finite number above 0\."""),
        ({"E": [210_000, 70_000]}, r'material "steel": E is \[210000, 70000\]; it must be a finite number'),
        ({"nu": 0.5}, r"nu is 0\.5; it must be a finite number above -1 and below 0\.5"),
        ({"nu": -1}, r"nu is -1; "),
        ({"density": -7.85e-9}, r"density is -7\.85e-09 t/mm3; it must be a finite number of at least 0"),
        ({"expansion": np.inf}, r"expansion is inf 1/K"),
        ({"yield_strength": 0}, r"yield_strength is 0\.0 MPa; it must be a finite number above 0"),
        ({"yield_strength": 360, "ultimate_strength": 235}, r"ultimate strength 235 MPa is less than .* 360 MPa"),
    ],
)
def test_material_values(given, sentence):
    with pytest.raises(fk.ModelError, match=sentence):
        fk.Material("steel", **{**GOOD, **given})


@pytest.mark.parametrize(
    "given, sentence",
    [
        ({"thickness": 0}, r'plate "lower-sheet": thickness is 0\.0 mm; it must be a finite number above 0\.'),
        ({"thickness": -3}, r'plate "lower-sheet": thickness is -3 mm'),
        ({"thickness": np.nan}, r'plate "lower-sheet": thickness is nan mm'),
        ({"thickness": "3 mm"}, r"""plate "lower-sheet": thickness is '3 mm'"""),
        ({"thickness": [3, 3, 0, 3, 3, 3, 3, 3]}, r"thickness is 0\.0 mm at its cell 2 \(of 8, counted from 0\)"),
        ({"thickness": [[3], [3, 3]]}, r"thickness is \[\[3\], \[3, 3\]\]; it must be a finite number above 0"),
        ({"thickness": [[3.0, 3.0]]}, r"thickness is array\(\[\[3\., 3\.\]\]\); it must be a finite number above 0"),
        ({"offset": np.inf}, r'plate "lower-sheet": offset is inf mm; it must be a finite number\.'),
        ({"added_mass": -1e-9}, r"added mass is -1e-09 t/mm2; it must be a finite number of at least 0"),
        ({"reference": (0, 0, 0)}, r"reference is \(0, 0, 0\); it must be three finite numbers, not all 0"),
        ({"reference": (1, 0)}, r"reference is \(1, 0\); it must be three finite numbers"),
        ({"material": "S235"}, r"""plate "lower-sheet": material is 'S235'; it must be a Material\."""),
    ],
)
def test_plate_values_are_refused_by_the_name_of_the_set(given, sentence):
    plate = fk.Plate(**{"thickness": 3.0, "material": STEEL, **given})
    with pytest.raises(fk.ModelError, match=sentence):
        fk.Model(SHEET, {"lower-sheet": plate})


def test_all_wrong_plates_are_named_together():
    plates = {"posts": fk.Plate(0, STEEL), "waist-rail": fk.Plate(-2, STEEL, offset=np.nan)}
    with pytest.raises(fk.ModelError) as caught:
        fk.Model(SHEET, plates)
    lines = str(caught.value).split("\n")
    assert [line.split(" is ")[0] for line in lines] == [
        'plate "posts": thickness',
        'plate "waist-rail": thickness',
        'plate "waist-rail": offset',
    ]


@pytest.mark.parametrize(
    "given, sentence",
    [
        ({}, r'support "floor-line": nothing is held; give at least one of ux, uy, uz, rx, ry, rz, 0 for held fast'),
        ({"uy": np.nan}, r'support "floor-line": uy is nan mm; it must be a finite number'),
        ({"rx": np.inf}, r'support "floor-line": rx is inf rad'),
        ({"ux": True}, r'support "floor-line": ux is True; it must be a finite number'),
        ({"ux": np.nan, "rz": "0"}, r"ux is nan mm[^\n]*\n[^\n]*rz is '0'"),
        (
            {"where": [[0, 1], [2]], "ux": 0},
            r"a selection is \[\[0, 1\], \[2\]\]; it must be a name, a place or one row of indices",
        ),
    ],
)
def test_support_values(given, sentence):
    with pytest.raises(fk.ModelError, match=sentence):
        fk.Support(**{"where": "floor-line", **given})


@pytest.mark.parametrize("where", [[0.5], ["left", "right"], np.array(["left"]), None, 2.5])
def test_what_is_no_selection_is_found_by_the_check(where):
    model = model_of(SHEET, supports=[fk.Support(where, ux=0)])
    assert "a selection must be a set's name, a place, a row of indices or a mask over all points" in model.check()[0]
    assert len(model.fingerprint) == 16


@pytest.mark.parametrize(
    "load, sentence",
    [
        (lambda: fk.PointLoad("tip", fz=np.nan), r'point load on "tip": fz is nan N; it must be a finite number'),
        (lambda: fk.PointLoad("tip", mx=np.inf), r"mx is inf N mm;"),
        (lambda: fk.PointLoad("tip", fx="1 kN", my=None), r"fx is '1 kN'[^\n]*\n[^\n]*my is None"),
        (lambda: fk.LineLoad("edge", fz=np.nan), r'line load on "edge": fz is nan N/mm'),
        (lambda: fk.LineLoad("edge", mz=np.nan), r"mz is nan N mm/mm"),
        (lambda: fk.LineLoad("edge", fz=np.nan, total=True), r"fz is nan N;"),
        (lambda: fk.SpreadLoad("pad", fz=-1, at=(0, 0)), r'spread load on "pad": at is \(0, 0\); it must be three fin'),
        (lambda: fk.SpreadLoad("pad", fz=-1, at=(0, np.nan, 0)), r"at is \(0, nan, 0\); it must be three finite numb"),
        (lambda: fk.Pressure("top", np.nan), r'pressure on "top": pressure is nan MPa'),
        (lambda: fk.Gravity(g=np.inf), r"gravity: g is inf mm/s2"),
        (
            lambda: fk.Gravity(direction=(0, 0, 0)),
            r"gravity: direction is \(0, 0, 0\); it must be three finite numbers",
        ),
        (lambda: fk.Acceleration(x=np.nan, z=np.inf), r"acceleration: x is nan mm/s2[^\n]*\n[^\n]*z is inf mm/s2"),
        (lambda: fk.Temperature("sheet", np.nan), r'temperature on "sheet": change is nan K'),
        (
            lambda: fk.PointMass("tip", -1),
            r'point mass on "tip": mass is -1 t; it must be a finite number of at least 0',
        ),
        (lambda: fk.LineMass("edge", -1), r'line mass on "edge": mass is -1 t/mm'),
        (lambda: fk.AreaMass("sheet", -1), r'area mass on "sheet": mass is -1 t/mm2'),
    ],
)
def test_load_and_mass_values(load, sentence):
    with pytest.raises(fk.ModelError, match=sentence):
        load()


def test_forces_go_by_name_only():
    # PointLoad("tip", -100) would otherwise be read as some other field
    for kind in (fk.PointLoad, fk.LineLoad, fk.SpreadLoad):
        with pytest.raises(TypeError, match="positional argument"):
            kind("tip", -100)


@pytest.mark.parametrize(
    "case, sentence",
    [
        (lambda: fk.LoadCase("", [fk.Gravity()]), r"load case: its name is ''; it must be a text that is not empty"),
        (lambda: fk.LoadCase("tare", [9.81]), r'load case "tare": 9\.81 is not a load; it must be one of Gravity'),
        (
            lambda: fk.LoadCase("tare", fk.PointMass("tip", 1)),
            r'load case "tare": PointMass.*"?tip.* is not a load; .* masses go to Model\(\.\.\., masses=',
        ),
        (
            lambda: fk.LoadCase("lifted", [fk.Gravity()], supports=["jacks"]),
            r"""load case "lifted": supports: 'jacks' can't stand there; it must be a Support""",
        ),
        (lambda: fk.LoadCase("lifted", [], supports=4), r'load case "lifted": supports: 4 .* it must be a Support'),
        (lambda: fk.Combination("full", {}), r'combination "full": factors are \{\}; they must be a dict, such as'),
        (
            lambda: fk.Combination("full", ["tare"]),
            r"""combination "full": factors are \['tare'\]; they must be a dict""",
        ),
        (lambda: fk.Combination("full", {"tare": np.nan}), r'combination "full": factor of "tare" is nan;'),
    ],
)
def test_cases(case, sentence):
    with pytest.raises(fk.ModelError, match=sentence):
        case()


@pytest.mark.parametrize(
    "given, sentence",
    [
        ({"mesh": "wall.msh"}, r"mesh is 'wall\.msh'; it must be a Mesh, such as read_mesh gives"),
        ({"plates": 3.0}, r"plates are 3\.0; it must be a Plate, or a dict of cell set to Plate"),
        ({"plates": {"sheet": 3.0}}, r"""plate "sheet": 3\.0 can't stand there; it must be a Plate"""),
        ({"behaviour": "beam"}, r'behaviour is "beam"; it must be "shell" or "plane stress"'),
        ({"units": "SI"}, r'units is "SI"; it must be "N-mm-tonne" or "any"'),
        ({"supports": ["left"]}, r"supports: 'left' can't stand there; it must be a Support"),
        ({"load_cases": {"tare": 1}}, r"load_cases: \{'tare': 1\} can't stand there; it must be a LoadCase"),
        ({"masses": [fk.Gravity()]}, r"masses: Gravity\(.*\) can't stand there; it must be a Mass"),
    ],
)
def test_what_a_model_is_made_of(given, sentence):
    with pytest.raises(fk.ModelError, match=sentence):
        fk.Model(**{"mesh": SHEET, "plates": fk.Plate(3.0, STEEL), **given})


def test_names_given_twice_are_all_named():
    cases = [fk.LoadCase(name, [fk.Gravity()]) for name in ("tare", "tare", "push")]
    combinations = [fk.Combination("push", {"tare": 1.0})]
    with pytest.raises(fk.ModelError) as caught:
        model_of(SHEET, load_cases=cases, combinations=combinations)
    assert str(caught.value).split("\n") == [
        '2 load cases or combinations are named "tare"; each needs its own.',
        '2 load cases or combinations are named "push"; each needs its own.',
    ]


def test_one_of_a_thing_needs_no_list():
    case = fk.LoadCase("tare", fk.Gravity(), supports=fk.Support("left", uz=0))
    model = model_of(SHEET, supports=fk.Support("left", ux=0), load_cases=case, masses=fk.PointMass("right", 1e-3))
    assert len(model.supports) == len(model.load_cases) == len(model.masses) == len(case.supports) == 1


def test_arrays_given_can_no_longer_be_changed():
    points, thickness = np.array([0, 1]), np.full(8, 3.0)
    support, plate = fk.Support(points, ux=0), fk.Plate(thickness, STEEL)
    points[:], thickness[:] = 5, 0.0
    assert list(support.where) == [0, 1]
    assert (plate.thickness == 3.0).all()
    for array in (support.where, plate.thickness):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 7


def test_a_case_that_does_not_exist_offers_the_nearest():
    model = model_of(SHEET, load_cases=[fk.LoadCase("payload", [fk.Gravity()])])
    assert model.case("payload") is model.load_cases[0]
    with pytest.raises(fk.ModelError, match=r'no load case or combination "paylod". Did you mean "payload"'):
        model.case("paylod")

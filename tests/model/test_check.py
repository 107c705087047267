"""`Model.check` says all that is wrong, by name and with what would be right; nothing when all is well."""

import re
from dataclasses import replace

import numpy as np
import pytest
from model_parts import CLAMP, fault, model_of, parts
from sheets import STEEL, grid

import femkit as fk
from femkit.model.check import find_faults
from femkit.units import GPa, Pa, kg, m, psi

SHEET = grid(400, 200, 4, 2)
CLAMPED = [fk.Support("left", **CLAMP)]
LOADED = [fk.LoadCase("load", [fk.Gravity(), fk.LineLoad("right", fz=-1.0)])]


def clamped(mesh=SHEET, **more):
    return model_of(mesh, **{"supports": CLAMPED, "load_cases": LOADED, **more})


def plane(mesh=SHEET, **more):
    flat = {"supports": [fk.Support("left", ux=0, uy=0)], "load_cases": [], "behaviour": "plane stress"}
    return model_of(mesh, **{**flat, **more})


def test_nothing_is_found_where_all_is_well():
    assert clamped().check() == ()
    assert plane().check() == ()
    assert find_faults(clamped()) == []


def test_faults_of_all_kinds_are_found_together():
    model = fk.Model(
        replace(SHEET, cell_sets={"web": np.arange(6)}),
        {"web": fk.Plate(3.0, replace(STEEL, E=210)), "wed": fk.Plate(3.0, STEEL)},
        supports=[fk.Support("lefft", ux=0)],
        load_cases=[fk.LoadCase("push", [fk.LineLoad("rihgt", fx=1), fk.Gravity(), fk.PointLoad([99], fx=1)])],
        combinations=[fk.Combination("sum", {"pull": 1.0})],
    )
    said = "\n".join(model.check())
    for sentence in (
        'plate "wed": the mesh has no cell set of the name "wed". Did you mean "web"?',
        "no plate for 2 cells",
        'load case "push": line load on "rihgt": the mesh has no edge set of the name "rihgt". Did you mean "right"?',
        'load case "push": point load on "1 indices": index 99 lies outside the mesh',
        'support "lefft": the mesh has no set of the name "lefft". Did you mean "left"?',
        'combination "sum": there is no load case "pull".',
        'material "steel": E is 210 MPa',
    ):
        assert sentence in said
    assert len(model.check()) == 7  # the missing plates are not said again for gravity


def test_errors_keep_their_kind_and_what_they_carry():
    (found,) = find_faults(clamped(load_cases=[fk.LoadCase("push", [fk.LineLoad("rihgt", fx=1)])]))
    assert isinstance(found, fk.UnknownSetError)
    assert (found.name, found.nearest) == ("rihgt", "right")


@pytest.mark.parametrize(
    "given, sentence",
    [
        (
            {"E": 210e9},
            r"E is 2\.1e\+11 MPa; for steel .* between 40000 and 250000 MPa\..* 2\.1e\+11 \* Pa is 2\.1e\+05 MPa",
        ),
        ({"E": 210}, r"E is 210 MPa; .* Was another unit meant\? 210 \* GPa is 2\.1e\+05 MPa \(femkit\.units\)"),
        ({"E": 30e6}, r"3e\+07 \* psi is 2\.068e\+05 MPa"),
        ({"density": 7850}, r"density is 7850 t/mm3; .* 7850 \* kg / m\*\*3 is 7\.85e-09 t/mm3"),
        ({"density": 7.85}, r"7\.85 \* gram / cm\*\*3 is 7\.85e-09 t/mm3"),
        ({"density": 7.85e-6}, r"7\.85e-06 \* kg / mm\*\*3 is 7\.85e-09 t/mm3"),
        (
            {"yield_strength": 235e6, "ultimate_strength": 360e6},
            r"yield strength is 2\.35e\+08 MPa; .* \* Pa is 235 MPa",
        ),
    ],
)
def test_slips_of_unit_in_a_material(given, sentence):
    model = clamped(plates=fk.Plate(3.0, replace(STEEL, **given)), load_cases=[])
    assert re.search(f'material "steel": .*{sentence}.*say Model\\(\\.\\.\\., units="any"\\)', "\n".join(model.check()))
    assert replace(model, units="any").check() == ()


def test_the_units_of_the_kit_are_no_slip():
    right = replace(STEEL, E=210 * GPa, density=7850 * kg / m**3, yield_strength=235e6 * Pa)
    inch = replace(STEEL, E=30e6 * psi)
    assert clamped(plates=fk.Plate(3e-3 * m, right)).check() == clamped(plates=fk.Plate(3.0, inch)).check() == ()


@pytest.mark.parametrize(
    "thickness, sentence",
    [
        (0.003, r'plate "all cells": thickness is 0\.003 mm; .* between 0\.1 and 250 mm.* 0\.003 \* m is 3 mm'),
        (300.0, r"thickness is 300 mm; "),
        (np.linspace(0.05, 3, 8), r"thickness is 0\.05 mm; .* 0\.05 \* m is 50 mm, 0\.05 \* inch is 1\.27 mm"),
    ],
)
def test_slips_of_unit_in_a_thickness(thickness, sentence):
    assert re.search(sentence, fault(clamped(plates=fk.Plate(thickness, STEEL), load_cases=[])))


def test_a_mesh_in_metres_is_found():
    small = replace(SHEET, points=SHEET.points / 1000)
    said = fault(clamped(small, load_cases=[]))
    assert said.startswith(
        "the mesh: extent is 0.4 mm; for steel and aluminium in N, mm and tonne it lies between 10 and"
    )
    assert "0.4 * m is 400 mm" in said and 'read_mesh(..., unit="m")' in said


@pytest.mark.parametrize(
    "load, sentence",
    [
        (fk.Gravity(g=9.81), r'load case "slip": gravity: acceleration is 9\.81 mm/s2; .* 9\.81 \* m is 9810 mm/s2'),
        (fk.Acceleration(x=3.0), r'load case "slip": acceleration: acceleration is 3 mm/s2; .* 3 \* m is 3000 mm/s2'),
    ],
)
def test_slips_of_unit_in_accelerations(load, sentence):
    model = clamped(load_cases=[fk.LoadCase("slip", [load])])
    assert re.search(sentence, fault(model))
    assert replace(model, units="any").check() == ()


def test_a_slip_of_unit_in_a_prescribed_rotation():
    said = fault(clamped(supports=[*CLAMPED, fk.Support("right", rx=5.0)]))
    assert re.match(r'support "right": rx: prescribed rotation is 5 rad; .* 5 \* degree is 0\.08727 rad', said)


def test_gravity_without_mass_is_a_fault():
    said = fault(clamped(plates=fk.Plate(3.0, replace(STEEL, density=0.0))))
    assert said.startswith('load case "load": gravity: the model has no mass; give its materials a density')


def test_masses_on_nothing_are_found_once():
    said = fault(clamped(masses=[fk.LineMass("rihgt", 1e-5)]))
    assert said == 'line mass on "rihgt": the mesh has no edge set of the name "rihgt". Did you mean "right"?'


def test_points_without_cells_are_named_with_the_sets_that_hold_them():
    mesh = replace(
        SHEET,
        points=np.vstack([SHEET.points, [[500, 0, 0], [600, 0, 0]]]),
        edge_sets={**SHEET.edge_sets, "axis": [[15, 16]]},
        point_sets={"pole": [16]},
    )
    assert fault(clamped(mesh)) == (
        'no cell has 2 of the points, the first is point 15 at (500, 0, 0) (sets that hold some: "axis", "pole"). The '
        "nearest point of a cell is 100 mm away, at (400, 0, 0). Mesh the sheet through them, or take them out."
    )


def test_points_without_cells_that_lie_on_the_sheet_can_be_joined():
    mesh = replace(SHEET, points=np.vstack([SHEET.points, [[400, 0, 0.02]]]))
    assert re.search(
        r"is 0\.02 mm away, at \(400, 0, 0\), and 1 points? .*merge_within=0\.02\d*\)", fault(clamped(mesh))
    )


def test_unused_supports_of_the_model_are_looked_at_too():
    lifted = [fk.LoadCase("lifted", [fk.Gravity()], supports=CLAMPED)]
    model = clamped(supports=[fk.Support("lefft", ux=0)], load_cases=lifted)
    assert fault(model).startswith('support "lefft": the mesh has no set')


def test_all_load_cases_may_bring_their_own_supports():
    assert clamped(supports=[], load_cases=[fk.LoadCase("lifted", [fk.Gravity()], supports=CLAMPED)]).check() == ()


@pytest.mark.parametrize(
    "load, sentence",
    [
        (
            fk.Gravity(),
            r'"case": gravity: it acts out of the plane or as a moment; .* Gravity\(direction=\(0, -1, 0\)\) pulls',
        ),
        (
            fk.LineLoad("right", fz=1.0),
            r'line load on "right": it acts out of the plane or as a moment; plane stress has',
        ),
        (fk.PointLoad("right", mz=1.0), r'point load on "right": it acts out of the plane or as a moment'),
        (fk.Pressure("sheet", 1.0), r'pressure on "sheet": it acts out of the plane'),
        (
            fk.SpreadLoad([14], fx=1.0, at=(0, 0, 0)),
            r'spread load on "1 indices": it acts out of the plane or as a mom',
        ),
    ],
)
def test_what_plane_stress_cannot_carry(load, sentence):
    assert re.search(sentence, fault(plane(load_cases=[fk.LoadCase("case", [load])])))


def test_what_plane_stress_can_carry():
    loads = [
        fk.Gravity(direction=(0, -1, 0)),
        fk.LineLoad("right", fx=1.0, fy=2.0),
        fk.SpreadLoad("right", fy=1.0, at=(500, 0, 0)),
        fk.Temperature("sheet", 10.0),
    ]
    assert plane(load_cases=[fk.LoadCase("case", loads)]).check() == ()


def test_plane_stress_needs_a_flat_mesh_and_no_offset():
    bent = replace(SHEET, points=SHEET.points + np.outer(np.arange(15), [0, 0, 1]))
    assert plane(bent, plates=fk.Plate(3.0, STEEL, offset=1.0)).check() == (
        'plane stress needs a flat mesh; z spans 14 mm. Take behaviour="shell".',
        'plate "all cells": offset is 1 mm; in plane stress there is nothing but 0.',
    )
    assert plane(replace(SHEET, points=SHEET.points + [0, 0, 7])).check() == ()


def test_parts_that_stand_by_themselves_but_nearly_touch_are_found():
    mesh = parts(low=(0, 0, 0), high=(400.01, 0, 0))
    held = [fk.Support(fk.inside(x=(0, 0)), **CLAMP), fk.Support(fk.inside(x=(700, 900)), **CLAMP)]
    said = fault(model_of(mesh, by_set=True, supports=held))
    assert said == (
        'the part "low" around (200, 100, 0) is not joined to the part "high" around (600.01, 100, 0): its nearest '
        "point is 0.01 mm away, at (400.01, 0, 0), and 3 points lie within 0.011 mm without being shared "
        "(read_mesh(..., merge_within=0.011) joins them). A gap that is meant must be wider than 1 mm."
    )
    apart = parts(low=(0, 0, 0), high=(402, 0, 0))
    assert model_of(apart, by_set=True, supports=held).check() == ()


def test_the_advised_merging_reaches_all_the_points():
    gap = np.random.default_rng(2).uniform(1e-3, 9e-3, 3)
    mesh = parts(low=(0, 0, 0), high=(400, 0, 0))
    points = mesh.points.copy()
    points[15:18, 0] += gap
    mesh = replace(mesh, points=points)
    held = [fk.Support(fk.inside(x=(0, 0)), **CLAMP), fk.Support(fk.inside(x=(700, 900)), **CLAMP)]
    reach = float(re.search(r"merge_within=([\d.e-]+)", fault(model_of(mesh, supports=held)))[1])
    assert gap.max() <= reach <= 1.2 * gap.max()

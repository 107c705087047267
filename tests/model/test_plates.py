"""Which plate each cell has, and the axes, thickness and mass that it gets by it."""

import re
from dataclasses import fields, replace

import numpy as np
import pytest
from model_parts import model_of, parts, ring
from sheets import STEEL, grid

import femkit as fk

ALUMINIUM = fk.Material("5083", E=70_000, nu=0.33, density=2.7e-9, expansion=23e-6)


def sheet_with(**cell_sets):
    return replace(grid(400, 200, 4, 2), cell_sets={name: np.array(cells) for name, cells in cell_sets.items()})


def square_to(normal):
    """A square cell with this normal."""
    first, second = np.linalg.svd(np.atleast_2d(normal))[2][1:]
    corners = np.array([-first - second, first - second, first + second, second - first])
    is_turned = np.cross(first, second) @ normal < 0
    return fk.Mesh(corners[::-1] if is_turned else corners, {"quad": [[0, 1, 2, 3]]})


def axes_of(normal, reference):
    return fk.Model(square_to(normal), fk.Plate(3.0, STEEL, reference=reference)).per_cell.frames[0]


def test_every_cell_has_the_values_of_its_plate():
    mesh = sheet_with(web=[0, 1, 2, 5], flange=[3, 4, 6, 7])
    web = fk.Plate([2.0, 3.0, 4.0, 5.0], STEEL, added_mass=2e-9)
    model = fk.Model(mesh, {"web": web, "flange": fk.Plate(8.0, ALUMINIUM, offset=1.5)})
    per_cell = model.per_cell
    assert list(per_cell.thickness) == [2, 3, 4, 8, 8, 5, 8, 8]
    assert list(per_cell.offset) == [0, 0, 0, 1.5, 1.5, 0, 1.5, 1.5]
    assert list(model.plate_of_cell) == ["web", "web", "web", "flange", "flange", "web", "flange", "flange"]
    assert per_cell.youngs_modulus[5] == 210_000 and per_cell.youngs_modulus[6] == 70_000
    assert per_cell.poissons_ratio[3] == 0.33 and per_cell.expansion[3] == 23e-6
    assert per_cell.area_mass[[1, 3]] == pytest.approx([3 * 7.85e-9 + 2e-9, 8 * 2.7e-9], rel=1e-15)
    assert not any(getattr(per_cell, field.name).flags.writeable for field in fields(per_cell))


def test_one_plate_is_for_all_cells():
    model = fk.Model(grid(400, 200, 4, 2), fk.Plate(3.0, STEEL))
    assert (model.per_cell.thickness == 3.0).all()
    assert model.plate_names == ("all cells",)


@pytest.mark.parametrize(
    "cell_sets, plated, sentence",
    [
        (
            {"posts": range(8)},
            ["post"],
            r'plate "post": the mesh has no cell set of the name "post"\. Did you mean "posts"\?',
        ),
        (
            {"web": range(8), "pad": [2, 3]},
            ["web", "pad"],
            r'"web" and "pad" both claim 2 cells, the first is cell 2; a',
        ),
        (
            {"web": range(8), "pad": [2]},
            ["web", "pad"],
            r'plates "web" and "pad" both claim cell 2; a cell has one: leave one of them out',
        ),
        (
            {"web": range(6), "rim": [6, 7]},
            ["web"],
            r'no plate for 2 cells, the first is cell 6 at \(350, 50, 0\); give one to "rim"\.',
        ),
        ({"a": range(4), "b": [4, 5, 6], "c": [6, 7]}, ["a"], r'give one to "b", "c"\.'),
        (
            {"web": range(7)},
            ["web"],
            r"no plate for cell 7 at .*; no other cell set holds them: make one\.",
        ),
        (
            {"web": range(8), "none": []},
            ["web", "none"],
            r'plate "none": the selection \(none\) holds nothing; it must',
        ),
    ],
)
def test_plates_that_do_not_fit_the_cells(cell_sets, plated, sentence):
    model = fk.Model(sheet_with(**cell_sets), {name: fk.Plate(3.0, STEEL) for name in plated})
    assert any(re.search(sentence, said) for said in model.check())
    with pytest.raises(fk.ModelError, match=sentence):
        model.per_cell  # noqa: B018
    with pytest.raises(fk.ModelError, match=sentence):
        model.mass_table()


def test_an_unknown_set_carries_its_name_and_the_nearest():
    model = fk.Model(sheet_with(posts=range(8)), {"post": fk.Plate(3.0, STEEL)})
    with pytest.raises(fk.UnknownSetError) as caught:
        model.plate_cells  # noqa: B018
    assert (caught.value.name, caught.value.nearest) == ("post", "posts")


def test_all_faults_of_plates_are_found_together():
    mesh = sheet_with(web=range(6), pad=[4, 5], rim=[6])
    plates = {"web": fk.Plate([3.0] * 5, STEEL), "pad": fk.Plate(3.0, STEEL), "rims": fk.Plate(3.0, STEEL)}
    assert fk.Model(mesh, plates).check() == (
        'plate "web": 5 thicknesses for 6 cells; it must be one each.',
        'plates "web" and "pad" both claim 2 cells, the first is cell 4; a cell has one: leave one of them out.',
        'plate "rims": the mesh has no cell set of the name "rims". Did you mean "rim"?',
        'no plate for 2 cells, the first is cell 6 at (350, 50, 0); give one to "rim".',
    )


def test_a_mesh_without_cells_is_refused():
    model = fk.Model(fk.Mesh([[0, 0, 0]], {}), fk.Plate(3.0, STEEL))
    assert model.check() == ("the mesh has no cells; there is nothing to solve.",)


def test_local_x_is_the_reference_laid_on_the_cell():
    # a slope that rises 1 on 2 along x: x laid on it is (2, 0, 1) / sqrt 5
    x, y, z = axes_of([-1, 0, 2], (5, 0, 0))
    np.testing.assert_allclose(x, np.array([2, 0, 1]) / np.sqrt(5), atol=1e-15)
    np.testing.assert_allclose(y, [0, 1, 0], atol=1e-15)
    np.testing.assert_allclose(z, np.array([-1, 0, 2]) / np.sqrt(5), atol=1e-15)


@pytest.mark.parametrize(
    "normal, reference, x",
    [
        ([0, 0, 1], (1, 0, 0), [1, 0, 0]),
        ([1, 0, 0], (1, 0, 0), [0, 0, 1]),  # the reference is normal to the cell: global z
        ([-1, 0, 0], (1, 0, 0), [0, 0, 1]),
        ([0, 1, 0], (0, 1, 0), [0, 0, 1]),
        ([0, 0, 1], (0, 0, 1), [0, 1, 0]),  # so is global z: global y
        ([0, 0, -1], (0, 0, 1), [0, 1, 0]),
    ],
)
def test_a_reference_normal_to_the_cell_has_a_stated_second_and_third_choice(normal, reference, x):
    np.testing.assert_allclose(axes_of(normal, reference)[0], x, atol=1e-15)


def test_axes_of_a_ring_run_along_it_where_the_plate_says_so():
    mesh = ring(50, 100, 12, 2)
    model = fk.Model(mesh, {"ring": fk.Plate(3.0, STEEL, reference=(0, 0, 1))})
    np.testing.assert_allclose(model.per_cell.frames[:, 0], np.tile([0, 0, 1.0], (24, 1)), atol=1e-14)
    np.testing.assert_allclose(model.per_cell.frames[:, 2], mesh.normals, atol=1e-14)


def test_masses_by_plate():
    # by hand: 0.4 m × 0.2 m × 3 mm of steel is 1.884 kg; the upper sheet's middle plane lies 2 mm above its points
    mesh = parts(low=(0, 0, 0), high=(0, 0, 50))
    model = fk.Model(mesh, {"low": fk.Plate(3.0, STEEL), "high": fk.Plate(6.0, STEEL, offset=2.0)})
    table = model.mass_table()
    assert list(table["mass (kg)"]) == pytest.approx([1.884, 3.768, 5.652], rel=1e-12)
    assert list(table["area (m2)"]) == pytest.approx([0.08, 0.08, 0.16], rel=1e-12)
    assert table.loc["high", ["x (mm)", "y (mm)", "z (mm)"]].tolist() == pytest.approx([200, 100, 52], rel=1e-12)
    assert model.mass == pytest.approx(5.652e-3, rel=1e-12)
    assert (
        fk.Model(mesh, {**model.plates, "high": fk.Plate(np.linspace(2, 4, 8), STEEL)})
        .mass_table()
        .loc["high", "thickness (mm)"]
        == "2 … 4"
    )


def test_a_plate_without_density_has_its_centre_at_its_middle():
    model = model_of(parts(low=(0, 0, 0)))
    light = replace(model, plates={"low": fk.Plate(3.0, replace(STEEL, density=0.0))})
    assert light.mass == 0
    assert light.mass_table().loc["low", "x (mm)"] == pytest.approx(200)
    assert light.mass_table().loc["total", "mass (kg)"] == 0 and np.isnan(light.centre_of_gravity).all()


def test_the_mass_table_holds_what_is_not_structure_and_the_whole_with_its_centre():
    # by hand: sheet 0.08 m2 of 23.55 + 10 kg/m2 at (200, 100, 2); bar along y at x = 400, 100 mm2, 0.2 m: 0.157 kg with
    # its centroid 15 mm above; 1 kg at x = 400; 2 g/mm along x = 0; 5 kg/m2 over the sheet, at its points
    mesh = grid(400, 200, 4, 2)
    masses = [fk.PointMass("right", 1e-3, total=True), fk.LineMass("left", 2e-6), fk.AreaMass("sheet", 5e-9)]
    beams = {"right": fk.Beam(fk.flat_bar(10, 10), STEEL, offset=10.0)}
    sheet = fk.Plate(3.0, STEEL, offset=2.0, added_mass=1e-8)
    model = fk.Model(mesh, {"sheet": sheet}, beams=beams, masses=masses)
    table = model.mass_table()
    assert list(table["mass (kg)"]) == pytest.approx([2.684, 0.157, 1.0, 0.4, 0.4, 4.641], rel=1e-9)
    assert list(table["not structure (kg)"]) == pytest.approx([0.8, 0.0, 1.0, 0.4, 0.4, 2.6], rel=1e-9)
    assert list(table.index[-4:]) == ['point mass on "right"', 'line mass on "left"', 'area mass on "sheet"', "total"]
    x = (2.684 * 200 + 0.157 * 400 + 1.0 * 400 + 0.4 * 0 + 0.4 * 200) / 4.641
    z = (2.684 * 2 + 0.157 * 15) / 4.641
    assert model.centre_of_gravity == pytest.approx([x, 100, z], rel=1e-9)
    assert table.loc["total", ["x (mm)", "y (mm)", "z (mm)"]].tolist() == pytest.approx([x, 100, z], rel=1e-9)
    assert table.loc["total", "mass (kg)"] == pytest.approx(model.mass * 1e3)
    held = replace(model, supports=[fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)])
    assert "area mass on" in held._repr_html_()

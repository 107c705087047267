"""Values on bodies: the right colour in the right place, one range, the largest value found and named."""

import re

import numpy as np
import pytest
from sheets import grid

import femkit as fk
from femkit.errors import ModelError
from femkit.show import QUANTITIES, plot_case, plot_field, plot_variants
from femkit.show.drawing import in_drawing_thread, render


def pixels_at(sheet, places, panel=0):
    """Colours drawn at places of the first panel, without words, shape (n, 3)."""
    image, _hidden = in_drawing_thread(render, sheet, panel)
    x, y = sheet.camera.project(np.asarray(places, dtype=float)).T
    return image[len(image) - 1 - y.astype(int), x.astype(int)]


@pytest.mark.picture
@pytest.mark.parametrize("view", ["above", "iso"])
def test_every_cell_has_the_colour_of_its_own_value(view):
    mesh = grid(400, 300, 6, 5, kind="mixed", wobble=0.2)
    values = np.random.default_rng(2).permutation(mesh.n_cells).astype(float)
    sheet = plot_field.sheet(mesh, values, view=view, edges=None)
    assert (pixels_at(sheet, mesh.centres) == sheet.scale.rgb(values)).all()


@pytest.mark.picture
def test_chosen_cells_alone_are_drawn_in_their_own_colours():
    mesh = grid(400, 300, 6, 5, kind="mixed")
    chosen = np.arange(3, mesh.n_cells, 2)
    sheet = plot_field.sheet(mesh, np.arange(mesh.n_cells), cells=chosen, edges=None)
    assert (pixels_at(sheet, mesh.centres[chosen]) == sheet.scale.rgb(chosen)).all()
    assert (pixels_at(sheet, mesh.centres[4:6:2]) == 255).all()


@pytest.mark.picture
def test_values_at_points_run_over_cells_between_them():
    mesh = grid(400, 100, 4, 1)
    sheet = plot_field.sheet(mesh, mesh.points[:, 0], edges=None)
    places = np.array([[x, 50.0, 0.0] for x in (50, 130, 210, 333)])
    drawn, meant = pixels_at(sheet, places).astype(int), sheet.scale.rgb(places[:, 0]).astype(int)
    assert np.abs(drawn - meant).max() <= 4  # steps of the 256 colours


@pytest.mark.picture
def test_corner_values_stay_broken_between_cells():
    mesh = grid(200, 100, 2, 1)  # two cells: 0 in the left one, 1 in the right one
    sheet = plot_field.sheet(mesh, [[0, 0, 0, 0], [1, 1, 1, 1]], edges=None)
    left, right = pixels_at(sheet, [[99, 50, 0], [101, 50, 0]])
    assert (left == sheet.scale.steps[0]).all() and (right == sheet.scale.steps[-1]).all()


@pytest.mark.picture
def test_a_deformed_shape_is_drawn_where_it_has_moved_to():
    mesh = grid(100, 100, 1, 1)
    moved = np.tile([3.0, 0, 0], (4, 1))
    sheet = plot_field.sheet(mesh, [1.0], displacement=moved, scale=50, edges=None)
    colour = sheet.scale.steps[-1]
    assert (pixels_at(sheet, [[240, 50, 0]]) == colour).all() and (pixels_at(sheet, [[10, 50, 0]]) == 255).all()


def test_largest_stress_is_named_with_place_and_plate(case, model):
    stress = case.stress("top")
    mises = np.sqrt(stress[:, 0] ** 2 - stress[:, 0] * stress[:, 1] + stress[:, 1] ** 2 + 3 * stress[:, 2] ** 2)
    cell = int(mises.argmax())
    corners = [c for c in model.mesh.corners[cell] if c >= 0]
    x, y, z = model.mesh.points[corners].mean(axis=0)
    plate = "thin" if cell in model.mesh.cell_sets["thin"] else "thick"
    sheet = plot_case.sheet(case)
    assert f"largest {mises[cell]:.4g} MPa at ({x:.1f}, {y:.1f}, {z + 0:.1f}) mm, {plate}" in sheet.alt
    (peak,) = sheet.peaks
    assert (peak.value, peak.index, peak.plate) == (pytest.approx(mises[cell]), cell, plate)
    assert sheet.scale.high == pytest.approx(mises[cell]) and sheet.scale.low == 0


def test_largest_displacement_is_named_with_its_point(case, model):
    moved = np.sqrt((case.displacement[:, :3] ** 2).sum(axis=1))
    peak = plot_case.sheet(case, "displacement").peaks[0]
    assert peak.value == pytest.approx(moved.max()) and peak.plate == "thick"
    assert peak.place == pytest.approx(model.mesh.points[moved.argmax()])


def test_signed_values_have_both_ends_named_and_a_centred_bar(case):
    sheet = plot_case.sheet(case, "sx", surface="bottom")
    sx = case.stress("bottom")[:, 0]
    assert [p.value for p in sheet.peaks] == pytest.approx([sx.max(), sx.min()])
    assert sheet.scale.high == -sheet.scale.low == pytest.approx(np.abs(sx).max())
    assert "smallest" in sheet.alt


def test_a_peak_among_chosen_cells_is_theirs(case, model):
    cells = model.mesh.cell_sets["thick"]
    peak = plot_case.sheet(case, cells="thick").peaks[0]
    assert peak.value == pytest.approx(case.von_mises("top")[cells].max()) and peak.index in cells
    both = plot_case.sheet(case, cells=["thick", "thin"])
    assert both.peaks[0].value == pytest.approx(case.von_mises("top").max())


def test_variants_share_one_range_and_one_size(result):
    cases = {"pressed": result["press"], "pulled": result["pull"]}
    sheet = plot_variants.sheet(cases, "von_mises", surface="worst")
    largest = [case.von_mises("worst").max() for case in cases.values()]
    assert (sheet.scale.low, sheet.scale.high) == (0, pytest.approx(max(largest)))
    assert [p.value for p in sheet.peaks] == pytest.approx(largest)
    assert [caption.split(":")[0] for caption in sheet.captions] == ["pressed", "pulled"]
    assert "press / pull" in sheet.title
    for body, case in zip(sheet.bodies, cases.values()):
        assert (body.values == case.von_mises("worst")).all()


@pytest.mark.picture
def test_limits_are_the_bars_ends(case):
    picture = plot_case(case, limits=(0, 50))
    assert picture.limits == (0, 50) and "range of the bar 0 to 50 MPa" in picture.alt
    assert plot_case(case, limits=(0, 51)).png != picture.png


def test_usual_title_names_quantity_surface_unit_and_load_case(case):
    assert plot_case.sheet(case, surface="middle").title == "von Mises stress, middle, MPa, both"
    asked = plot_case.sheet(case, title="Where is it highest?")
    assert asked.title == "Where is it highest?" and 'load case "both"' in asked.facts[0]


def test_automatic_scale_shows_about_three_per_cent(case, model):
    sheet = plot_case.sheet(case, "displacement", scale="auto")
    factor = float(re.search(r"deformed × (\S+),", sheet.facts[0]).group(1))
    largest = np.linalg.norm(case.displacement[:, :3], axis=1).max()
    assert 0.015 < factor * largest / 400 < 0.06
    assert f"{factor:.0e}"[0] in "125"
    assert "unloaded" in sheet.facts[0] and len(sheet.bodies[0].lines("outline", factor, sheet.camera.axes[2])) == 2


def test_averaged_corners_say_what_averaging_took_away(case):
    sheet = plot_case.sheet(case, at="averaged")
    averaged, _jump = case.averaged_stress("top")
    raw, smooth = case.von_mises("top", at="corners"), fk.results.stress.von_mises(averaged)
    assert f"up to {np.nanmax(np.abs(raw - smooth)):.3g} MPa" in sheet.alt
    assert sheet.peaks[0].value == pytest.approx(np.nanmax(smooth))


@pytest.mark.parametrize("name", QUANTITIES)
def test_every_quantity_has_words_unit_and_finite_values(case, name):
    quantity = QUANTITIES[name]
    sheet = plot_case.sheet(case, name, scale="auto")
    assert sheet.scale.label.startswith(quantity.label) and sheet.scale.label.endswith(quantity.unit)
    assert "no value" not in sheet.alt and len(sheet.peaks) == 1 + quantity.is_signed
    if "corners" in quantity.places:
        assert len(plot_case.sheet(case, name, at="corners").peaks) == 1 + quantity.is_signed


def test_signed_quantities_are_the_results_own(case):
    expected = {"uz": case.displacement[:, 2], "txy": case.stress("top")[:, 2], "my": case.bending_moment[:, 1]}
    expected |= {"nxy": case.membrane_force[:, 2], "qx": case.transverse_shear[:, 0]}
    for name, values in expected.items():
        assert plot_case.sheet(case, name).peaks[0].value == pytest.approx(values.max())


def test_ones_own_values_take_label_and_unit(case, model):
    values = np.linspace(0, 2, model.mesh.n_cells)
    sheet = plot_case.sheet(case, values, label="utilisation", unit="1/1")
    assert sheet.scale.label == "utilisation, 1/1" and sheet.peaks[0].value == 2


def test_missing_values_are_said_to_be_white(model):
    values = np.ones(model.mesh.n_cells)
    values[3] = np.nan
    assert "white: no value" in plot_field.sheet(model.mesh, values).alt
    assert "no values" in plot_field.sheet(model.mesh, values * np.nan).alt


@pytest.mark.parametrize(
    "options, words",
    [
        ({"quantity": "von_mise"}, 'no quantity "von_mise".*Did you mean "von_mises"'),
        ({"surface": "botom"}, 'no surface "botom".*Did you mean "bottom"'),
        ({"quantity": "sx", "surface": "worst"}, 'quantity "sx" has no surface "worst"'),
        ({"quantity": "ux", "at": "corners"}, 'no values at "corners"'),
        ({"view": "insid"}, 'Did you mean "inside"'),
        ({"edges": "all"}, "edges is 'all'"),
        ({"scale": "large"}, "scale is 'large'"),
        ({"scale": np.nan}, "scale is nan"),
        ({"limits": (5, 1)}, "limits are 5 and 1"),
        ({"cells": "thik"}, 'Did you mean "thick"'),
        ({"quantity": np.ones(7)}, r"shape \(7,\), which fits none of"),
    ],
)
def test_what_is_not_there_is_refused_with_the_nearest_name(case, options, words):
    with pytest.raises(ModelError, match=words):
        plot_case(case, **options)


def test_a_deformed_shape_needs_displacements(model):
    with pytest.raises(ModelError, match="no displacements to draw"):
        plot_field(model.mesh, np.ones(model.mesh.n_cells), scale=10)


def test_a_shape_that_fits_two_places_must_be_said():
    points = [[0, 0], [1, 0], [1, 1], [0, 1]]
    mesh = fk.Mesh(points, {"triangle": [[0, 1, 2], [0, 2, 3], [0, 1, 3], [1, 2, 3]]})  # 4 cells, 4 points
    with pytest.raises(ModelError, match="fits two places"):
        plot_field(mesh, np.ones(4))
    assert plot_field.sheet(mesh, np.arange(4), at="points").peaks[0].place == pytest.approx([0, 1, 0])


@pytest.mark.picture
@pytest.mark.filterwarnings("error")
def test_any_words_can_be_a_title(case):
    picture = plot_case(case, title="Is 5 $ < 6 $ & {x}_{y}^\\frac{1}? 漢字\n" + 40 * "long ")
    assert picture.png and "漢字" in picture.alt


@pytest.mark.picture
def test_the_plate_and_case_that_use_most_strength_are_named(result):
    found = fk.assess.strength(result)
    picture, governing = found.plot(), found.governing()
    assert f"In {governing.place.split(' near')[0]}, under both" in picture.alt
    assert picture.peaks[0].value == pytest.approx(governing.value)

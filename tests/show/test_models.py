"""Pictures of meshes and models: sets, sides, thickness, loads and supports."""

from dataclasses import replace

import numpy as np
import pytest

import femkit as fk
from femkit.errors import ModelError
from femkit.show import plot_mesh, plot_model
from femkit.show.actions import actions_of
from femkit.show.colours import rgb_of
from femkit.verify.grids import grid


def colours(sheet):
    return sheet.colours.rgb(sheet.bodies[0].values)


def texts(sheet):
    return [entry.text for entry in sheet.legend]


def test_plates_have_the_colour_of_their_legend(model):
    sheet = plot_model.sheet(model)
    by_text = {entry.text: rgb_of(entry.colour) for entry in sheet.legend}
    assert list(by_text) == ["thin: 6 mm steel", "thick: 10 mm steel"]
    for name, colour in zip(("thin", "thick"), by_text.values()):
        assert (colours(sheet)[model.plate_cells[name]] == colour).all()


def test_small_sets_lie_over_large_ones(model):
    sheet = plot_mesh.sheet(model.mesh)
    by_text = {entry.text.split(" ")[0]: rgb_of(entry.colour) for entry in sheet.legend}
    assert set(by_text) == {"thin", "thick", "pad"}
    assert (colours(sheet)[model.mesh.cell_sets["pad"]] == by_text["pad"]).all()


def test_cells_in_no_set_are_said(model):
    sheet = plot_mesh.sheet(replace(model.mesh, cell_sets={"thin": model.mesh.cell_sets["thin"]}))
    assert texts(sheet)[-1] == "none"


def test_the_other_side_is_seen_from_below(model):
    above, below = (colours(plot_model.sheet(model, show="normals", view=view)) for view in ("above", "below"))
    assert len(np.unique(above, axis=0)) == len(np.unique(below, axis=0)) == 1 and (above != below).any()
    assert "the top of 100% of the cells" in plot_mesh.sheet(model.mesh, color_by="normals", view="above").facts[0]


def test_thickness_spans_the_plates(model):
    sheet = plot_model.sheet(model, show="thickness")
    assert (sheet.scale.low, sheet.scale.high, sheet.scale.label) == (6, 10, "thickness, mm")


def test_the_worst_cell_of_a_mesh_is_marked(model):
    quality = fk.mesh_quality(model.mesh).scaled_jacobian
    sheet = plot_mesh.sheet(model.mesh, color_by="quality")
    assert sheet.peaks[0].value == pytest.approx(quality.min()) and sheet.peaks[0].index == quality.argmin()
    assert plot_mesh.sheet(model.mesh, color_by="size").peaks[0].value == pytest.approx(model.mesh.sizes.min())


def test_sheets_are_counted():
    fold = fk.Mesh(
        [[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [0, 1, 1], [1, 1, 1]], {"quad": [[0, 1, 2, 3], [3, 2, 5, 4]]}
    )
    assert "2 in all" in plot_mesh.sheet(fold, color_by="sheets").facts[0]


def test_loads_and_supports_are_told_with_their_totals(model):
    # statics by hand: 0.02 N/mm over 200 mm is 4 N; the plates weigh density * g * two halves of 200 x 200, 6 and 10 mm
    weight = 7.85e-9 * 9806.65 * 200 * 200 * 16
    sheet = plot_model.sheet(model, load_case="both")
    assert texts(sheet) == [
        'line load on "right": Fz −4 N',
        '1.5 × line load on "right": Fx 6 kN',
        f"1.5 × gravity: Fz −{1.5 * weight:.4g} N",
        "left: ux uy uz rx ry",
    ]
    assert sheet.title == "loads and supports, both" and "Fx 6 kN" in sheet.alt


def test_arrows_stand_where_loads_act_and_point_their_way(model):
    actions, _legend = actions_of(model, "both")
    press, pull, weight = (a for a in actions if a.kind == "force")
    assert press.places[:, 0] == pytest.approx(400) and press.directions == pytest.approx(
        np.tile([0, 0, -1], (len(press.places), 1))
    )
    assert np.ptp(press.places[:, 1]) > 150  # along the whole edge
    assert pull.is_outward.all() and (press.tier, pull.tier) == (0, 1)  # both are seen
    centre = (100 * 6 + 300 * 10) / 16  # of gravity of two halves, 6 and 10 mm thick
    assert weight.places == pytest.approx(np.array([[centre, 100, 0]]), abs=1e-6)


def test_supports_have_a_marker_for_each_thing_held(model):
    actions, _legend = actions_of(model, "press")
    held = [a for a in actions if a.kind in ("support", "turn")]
    assert [a.kind for a in held] == ["support"] * 3 + ["turn"] * 2
    assert all(a.places[:, 0] == pytest.approx(0) for a in held)


def test_a_load_away_from_the_body_is_in_the_picture(model):
    far = fk.LoadCase("far", [fk.SpreadLoad("right", fz=-100, at=(700, 100, 0))])
    sheet = plot_model.sheet(replace(model, load_cases=[far], combinations=[]), load_case="far", view="above")
    x, _y = sheet.camera.project(sheet.bodies[0].actions[0].places)[0]
    assert 0 < x < sheet.camera.size[0]


def test_a_load_cases_own_supports_are_shown(model):
    lifted = fk.LoadCase("lifted", [fk.Gravity()], supports=[fk.Support("right", uz=-2.0, mean=True)])
    sheet = plot_model.sheet(replace(model, load_cases=[lifted], combinations=[]), load_case="lifted")
    assert texts(sheet)[1:] == ["right: uz = −2, on the mean"]


@pytest.mark.picture
def test_every_kind_of_load_and_support_is_drawn(model):
    loads = [
        fk.PointLoad(fk.near(400, 0), mx=1000, fy=5),
        fk.Pressure("thick", 0.01),
        fk.Temperature("thin", 30),
        fk.Acceleration(z=1000),
        fk.SpreadLoad("right", my=500, at=(450, 100, 50)),
    ]
    own = fk.Support("near", uy=0, mean=True)
    every = replace(model, load_cases=[fk.LoadCase("all", loads, supports=[*model.supports, own])], combinations=[])
    for view in ("above", "iso"):
        assert plot_model(every, load_case="all", view=view).png
    words = plot_model.sheet(every, load_case="all").alt
    assert "30 K" in words and "Mx 1 N m" in words


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda m: plot_model(m, show="plats"), 'Did you mean "plates"'),
        (lambda m: plot_model(m, load_case="presss"), 'Did you mean "press"'),
        (lambda m: plot_mesh(m.mesh, color_by="qualty"), 'Did you mean "quality"'),
        (lambda m: plot_mesh(m.mesh, cells="pat"), 'Did you mean "pad"'),
    ],
)
def test_what_is_not_there_is_refused_with_the_nearest_name(model, call, words):
    with pytest.raises(ModelError, match=words):
        call(model)


def test_meshes_models_and_results_plot_themselves(model, case):
    assert type(case).plot is fk.show.plot_case and type(model).plot is plot_model
    assert type(model.mesh).plot is plot_mesh


@pytest.mark.parametrize("cells", [None, [0, 3]])
@pytest.mark.parametrize("kind", ["triangle6", "quad8", "quad9"])
def test_quadratic_cells_are_drawn_round_their_middles(kind, cells):
    def ring(s, t):
        return np.column_stack([(100 + 50 * s) * np.cos(t), (100 + 50 * s) * np.sin(t)])

    mesh = grid(kind, 2, 3, ring)
    (body,) = plot_mesh.sheet(mesh, color_by="size", cells=cells).bodies
    n = 2 * (3 if kind == "triangle6" else 4)
    _points, drawn, _values = body.surface(0)
    around = drawn[:, :n]
    assert (drawn[:, n:] == -1).all()
    # half of each polygon's points are corners, each between the middles of its two sides
    assert (np.sort(around[:, ::2]) == np.sort(mesh.corners[body.cells, : n // 2])).all()
    sides = np.sort(np.concatenate([around[:, [k, k - 1]] for k in range(n)]), axis=1)
    pairs = np.concatenate([lines.pairs for lines in body.lines("mesh", 0, None)])
    assert set(map(tuple, np.sort(pairs, axis=1).tolist())) == set(map(tuple, sides.tolist()))


@pytest.mark.picture
def test_a_case_of_quadratic_cells_is_drawn():
    mesh = grid("quad8", 4, 2, lambda s, t: np.column_stack([400 * s, 100 * t]))
    model = fk.Model(
        mesh,
        fk.Plate(2.0, fk.Material("steel", E=210e3, nu=0.3)),
        supports=[fk.Support("s=0", ux=0, uy=0)],
        load_cases=[fk.LoadCase("pull", fk.LineLoad("s=1", fx=30.0))],
        behaviour="plane stress",
    )
    case = fk.solve_static(model)["pull"]
    for quantity, at in (("von_mises", "centres"), ("von_mises", "corners"), ("displacement", None)):
        assert case.plot(quantity, at=at, scale="auto").png


def test_beams_are_named_and_drawn_along_their_centroids():
    mesh = grid("quad", 4, 2, lambda s, t: np.column_stack([200 * s, 100 * t]))
    steel = fk.Material("steel", E=210_000, nu=0.3)
    bar = fk.Beam(fk.flat_bar(30, 5), steel, offset=2.5)
    model = fk.Model(mesh, fk.Plate(5.0, steel), beams={"t=1": bar})
    sheet = plot_model.sheet(model)
    assert "beam t=1: flat bar 30 × 5, drawn as a line" in sheet.bodies[0].field.notes
    drawn = sheet.bodies[0].lines("outline", 0.0, np.array([0.0, 0.0, 1.0]))[0]
    assert drawn.points[:, 2] == pytest.approx(2.5 + 15.0) and len(drawn.pairs) == 4

"""Section forces are statics, whatever the mesh; section properties are the textbook's."""

import numpy as np
import pytest
from sheets import STEEL, cantilever, grid

import femkit as fk


@pytest.mark.parametrize("kind", ("quad", "triangle", "mixed"))
@pytest.mark.parametrize("x", (37.0, 100.0, 163.3))
def test_section_carries_what_acts_beyond_it(kind, x):
    # statics by hand
    loads = [fk.LineLoad("right", fx=300, fy=-40, fz=10, total=True)]
    case = fk.solve_static(cantilever(kind, loads=loads))["load"]
    section = case.section(x=x, about=(x, 10, 0))
    assert section.force == pytest.approx([300, -40, 10], abs=1e-7)
    arm = 200 - x
    assert section.moment == pytest.approx([0, -10 * arm, -40 * arm], abs=1e-5)


def test_weight_beyond_a_section_is_its_shear():
    model = cantilever(loads=[fk.Gravity()], n_length=50)
    table = fk.solve_static(model)["load"].section_forces(x=[50, 100, 150])
    weight = model.mass * 9806.65
    # the section runs along the cell edges nearest to the plane, here through it; half a cell's weight hangs on it
    assert table["Fz (N)"].to_numpy() == pytest.approx(-weight * np.array([0.75, 0.5, 0.25]), abs=weight / 50)


def test_sections_of_one_part_add_up_to_the_whole():
    model = cantilever(loads=[fk.LineLoad("right", fy=-40, total=True)])
    case = fk.solve_static(model)["load"]
    lower = model.mesh.centres[:, 1] < 10
    parts = [case.section(x=95, cells=cells, about=(95, 10, 0)) for cells in (lower, ~lower)]
    whole = case.section(x=95, about=(95, 10, 0))
    assert sum(p.force for p in parts) == pytest.approx(whole.force, abs=1e-8)
    assert sum(p.moment for p in parts) == pytest.approx(whole.moment, abs=1e-6)


def test_section_properties_of_an_upright_strip():
    # b h³ / 12
    mesh = grid(100.0, 40.0, 5, 4, kind="mixed", to_space=lambda p: p[:, [0, 2, 1]])
    section = fk.section_properties(fk.Model(mesh, fk.Plate(3.0, STEEL)), x=50)
    assert section.area == pytest.approx(120)
    assert section.centroid == pytest.approx([50, 0, 20], abs=1e-6)
    assert section.second_moments[2, 2] == pytest.approx(3 * 40**3 / 12)


def test_section_properties_of_a_plate_with_a_bar():
    # parallel-axis theorem, thin walls: plate 100 x 6 in y at z = 0, bar 80 x 8 upright from it; the plate's own
    # thickness adds nothing to its thin-walled second moment
    flat = grid(50.0, 100.0, 1, 2, to_space=lambda p: p - [0, 50, 0])
    bar = grid(50.0, 80.0, 1, 2, to_space=lambda p: p[:, [0, 2, 1]])
    points = np.concatenate([flat.points, bar.points])
    quads = np.concatenate([flat.cells["quad"], bar.cells["quad"] + flat.n_points])
    mesh = fk.Mesh(points, {"quad": quads}, cell_sets={"plate": [0, 1], "bar": [2, 3]})
    model = fk.Model(mesh, {"plate": fk.Plate(6.0, STEEL), "bar": fk.Plate(8.0, STEEL)})
    section = fk.section_properties(model, x=20)
    areas, heights = np.array([600.0, 640.0]), np.array([0.0, 40.0])
    centre = areas @ heights / areas.sum()
    assert section.area == pytest.approx(1240)
    assert section.centroid[2] == pytest.approx(centre)
    assert section.second_moments[2, 2] == pytest.approx(8 * 80**3 / 12 + areas @ (heights - centre) ** 2)


def test_a_plane_off_the_model_is_named():
    case = fk.solve_static(cantilever(loads=[fk.LineLoad("right", fz=1, total=True)]))["load"]
    with pytest.raises(fk.ModelError, match=r"no cells are cut at x = 500 mm; the mesh reaches from 0 to 200 mm"):
        case.section(x=500)
    with pytest.raises(fk.ModelError, match="exactly one of x, y, z"):
        case.section()

"""Beams against closed forms: straight, unsymmetric, with a shear centre, beside a sheet; and their invariants."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from sheets import STEEL

import femkit as fk
from femkit.elements import beam
from femkit.model.beam import beam_cells
from femkit.model.motions import rigid_motions

E, G = 210_000.0, 210_000 / 2.6
LENGTH = 1000.0


def bar(section, n=3, *, to_space=None, up=(0, 0, 1), offset=None, loads=()):
    """A cantilever along x, clamped at its left end."""
    points = np.column_stack([np.linspace(0, LENGTH, n + 1), np.zeros((n + 1, 2))])
    turn = np.eye(3) if to_space is None else to_space
    pairs = np.column_stack([np.arange(n), np.arange(1, n + 1)])
    mesh = fk.Mesh(points @ turn.T, {}, edge_sets={"bar": pairs}, point_sets={"root": [0], "tip": [n]})
    return fk.Model(
        mesh,
        {},
        beams={"bar": fk.Beam(section, STEEL, up=turn @ up, offset=offset)},
        supports=[fk.Support("root", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)],
        load_cases=[fk.LoadCase("load", loads or fk.PointLoad("tip", fz=1.0))],
    )


def tip(model):
    return fk.solve_static(model)["load"].displacement[-1]


@pytest.mark.parametrize("n", [1, 3])
def test_flat_bar_in_extension_bending_and_torsion(n):
    # S. P. Timoshenko, *Strength of Materials* part I, 3rd ed.: FL/EA; FL3/3EI + 1.2FL/GA; TL/GJ
    section = fk.flat_bar(100, 50)
    loads = fk.PointLoad("tip", fx=1000, fy=2000, fz=3000, mx=1e5)
    moved = tip(bar(section, n, loads=loads))
    bent = {100: 50 * 100**3 / 12, 50: 100 * 50**3 / 12}
    assert moved[0] == pytest.approx(1000 * LENGTH / E / 5000, rel=1e-9)
    assert moved[1] == pytest.approx(2000 * LENGTH**3 / 3 / E / bent[50] + 1.2 * 2000 * LENGTH / G / 5000, rel=1e-9)
    assert moved[2] == pytest.approx(3000 * LENGTH**3 / 3 / E / bent[100] + 1.2 * 3000 * LENGTH / G / 5000, rel=1e-9)
    # torsion constant of a rectangle 2 : 1 is 0.2287 a b3 (TG, art. 109, table); three digits printed
    assert moved[3] == pytest.approx(1e5 * LENGTH / G / (0.2287 * 100 * 50**3), rel=5e-3)


def test_an_angle_bends_sideways_under_a_load_along_its_web():
    # unsymmetric bending, TG or any handbook: curvatures are the inverse of [[Iy, -Iyz], [-Iyz, Iz]] times moments / E
    section = fk.angle(100, 60, 6, 6)
    moments = np.array(
        [[section.second_moment_y, -section.product], [-section.product, section.second_moment_z]], dtype=float
    )
    to_shear_centre = np.subtract(section.shear_centre, section.centroid)
    load = fk.PointLoad("tip", fz=500.0, mx=500.0 * to_shear_centre[0])  # through the shear centre: no twist
    moved = tip(bar(section, 2, loads=load))
    curvature = np.linalg.inv(moments) @ [-500.0, 0.0] / E  # about y and z, per mm from the tip
    shear = 500 * LENGTH / G / section.shear_area_z
    assert moved[3] == pytest.approx(0, abs=1e-12)
    assert moved[2] == pytest.approx(-curvature[0] * LENGTH**3 / 3 + shear, rel=1e-9)
    assert moved[1] == pytest.approx(curvature[1] * LENGTH**3 / 3, rel=1e-9)


def test_a_channel_twists_unless_it_is_loaded_through_its_shear_centre():
    # middle lines: web 200, flanges 80, t = 4: e = 3 b2 / (h + 6 b) = 28.235 beyond the web (Timoshenko, as above)
    section = fk.channel(204, 82, 4, 4)
    assert section.shear_centre[0] == pytest.approx(-28.235294, rel=1e-6)
    through_web = fk.PointLoad("tip", fz=1000.0, mx=-1000.0 * section.centroid[0])  # moves it from centroid to web
    twist = tip(bar(section, 1, loads=through_web))[3]
    assert twist == pytest.approx(1000 * 28.235294 * LENGTH / G / section.torsion_constant, rel=1e-6)


def test_common_sections_have_their_textbook_numbers():
    box = fk.hollow(204, 104, 4)
    assert box.torsion_constant == pytest.approx(4 * 20_000**2 * 4 / 600, rel=1e-9)  # Bredt
    assert box.second_moment_y == pytest.approx((104 * 204**3 - 96 * 196**3) / 12, rel=1e-12)
    tee = fk.tee(100, 80, 5, 10)
    assert tee.centroid == pytest.approx((0, (450 * 45 + 800 * 95) / 1250))
    # I of parts and parallel axes
    height = tee.centroid[1]
    parts = 5 * 90**3 / 12 + 450 * (45 - height) ** 2 + 80 * 10**3 / 12 + 800 * (95 - height) ** 2
    assert tee.second_moment_y == pytest.approx(parts, rel=1e-12)
    angle = fk.angle(100, 60, 6, 6)
    y, z, a, b = 27.0, 97.0, 60 * 6.0, 94 * 6.0  # flange's and web's centres and areas
    centre = np.array([y * a, z * a + 47 * b]) / (a + b)
    assert angle.centroid == pytest.approx(tuple(centre))
    assert angle.product == pytest.approx(
        a * (y - centre[0]) * (z - centre[1]) + b * centre[0] * (centre[1] - 47), rel=1e-12
    )


def test_rigid_motions_take_no_force_whatever_the_offset():
    model = bar(fk.angle(100, 60, 6, 6), 4, up=(0, 1, 1), offset=7.0)
    cells = beam_cells(model.mesh, model.beams)
    stiffness = beam.stiffness(cells)
    motions = rigid_motions(model.mesh.points)[cells.points].reshape(len(cells), 12, 6)
    assert np.abs(stiffness @ motions).max() < 1e-9 * np.abs(stiffness).max() * LENGTH
    values = np.linalg.eigvalsh(stiffness)
    assert (values > 1e-9 * values.max()).sum(axis=1).tolist() == [6] * 4
    for mass in (beam.mass(cells), beam.lumped_mass(cells)):
        moving = np.einsum("eai,eab,ebj->ij", motions[..., :3], mass, motions[..., :3])
        assert moving == pytest.approx(np.eye(3) * model.mass, rel=1e-9, abs=1e-15)


def test_a_turned_beam_answers_turned():
    turn = Rotation.from_euler("zyx", [0.4, -0.7, 1.1]).as_matrix()  # local x still runs towards greater global x
    section, force = fk.angle(100, 60, 6, 8), np.array([300.0, -200.0, 500.0])
    straight = bar(section, 2, offset=4.0, loads=fk.PointLoad("tip", **dict(zip(("fx", "fy", "fz"), force))))
    turned = bar(
        section, 2, to_space=turn, offset=4.0, loads=fk.PointLoad("tip", **dict(zip(("fx", "fy", "fz"), turn @ force)))
    )
    assert tip(turned)[:3] == pytest.approx(turn @ tip(straight)[:3], rel=1e-9)


def test_section_forces_and_fibre_stress_of_a_cantilever():
    loads = fk.PointLoad("tip", fx=2000.0, fz=-1000.0)
    case = fk.solve_static(bar(fk.flat_bar(100, 10), 4, loads=loads))["load"]
    forces = case.beam_forces("bar")
    assert forces[0, 0] == pytest.approx([2000, 0, -1000, 0, 1e6, 0], abs=1e-6)  # +z side in tension at the root
    assert forces[-1, 1] == pytest.approx([2000, 0, -1000, 0, 0, 0], abs=1e-4)
    stress = case.beam_stress("bar")[0, 0]
    top = np.array(case.model.beams["bar"].section.fibres)[:, 1] == 100
    assert stress[top] == pytest.approx(2.0 + 1e6 / (10 * 100**2 / 6), rel=1e-9)
    assert stress[~top] == pytest.approx(2.0 - 1e6 / (10 * 100**2 / 6), rel=1e-9)
    assert case.beam_table().loc["bar", "largest stress (MPa)"] == pytest.approx(62.0)


def test_own_weight_acts_at_the_centroid():
    section = fk.flat_bar(80, 8)
    model = bar(section, 8, offset=3.0, up=(0, 1, 0), loads=fk.Gravity())
    weight = model.mass * 9806.65
    assert model.mass == pytest.approx(7.85e-9 * 640 * LENGTH)
    total = model.load_total(model.case("load"))
    assert total[2] == pytest.approx(-weight)
    assert total[3] == pytest.approx(-weight * 43.0)  # 3 + 40 beside the line, along +y


@pytest.mark.parametrize(
    "change, words",
    [
        (dict(up=(1, 0, 0)), "runs along `up`"),
        (dict(section=3), "section is 3; it must be a BeamSection"),
        (dict(offset=np.nan), "offset is nan mm"),
    ],
)
def test_wrong_beams_are_refused(change, words):
    parts = dict(section=fk.flat_bar(50, 5), material=STEEL) | change
    mesh = bar(fk.flat_bar(50, 5)).mesh
    with pytest.raises(fk.ModelError, match=words):
        fk.solve_static(
            fk.Model(
                mesh,
                {},
                beams={"bar": fk.Beam(parts.pop("section"), parts.pop("material"), **parts)},
                supports=[fk.Support("root", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)],
                load_cases=[fk.LoadCase("load", fk.PointLoad("tip", fz=1.0))],
            )
        )


def test_wrong_sections_are_refused():
    with pytest.raises(fk.ModelError, match=r"flat bar 0 × 5: depth is 0\.0 mm; it must be a finite number above 0"):
        fk.flat_bar(0, 5)
    with pytest.raises(fk.ModelError, match=r"hollow section 20 × 10 × -1: thickness is -1 mm"):
        fk.hollow(20, 10, -1)
    with pytest.raises(fk.ModelError, match="walls are thicker than it has room for"):
        fk.hollow(10, 10, 6)
    with pytest.raises(fk.ModelError, match='"odd": product is'):
        fk.BeamSection(
            "odd",
            area=1.0,
            second_moment_y=1.0,
            second_moment_z=1.0,
            product=2.0,
            torsion_constant=1.0,
            shear_area_y=1.0,
            shear_area_z=1.0,
        )

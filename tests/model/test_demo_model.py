"""The side wall of the invented coach: its loads and supports can be said, and their totals are those of statics."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

import femkit as fk
from femkit.units import GRAVITY, kN

MESHES = Path(__file__).parents[2] / "meshes"
VARIANTS = ["baseline", "cut-out", "reinforced"]
THICKNESS = {
    "lower-sheet": 3, "upper-sheet": 2.5, "posts": 3, "waist-rail": 3, "cant-rail": 4, "sole-bar-web": 8,
    "sole-bar-flange": 8, "door-pillar": 5, "door-header": 5, "sole-bar-doubler": 8,
}  # fmt: skip
HOIST_AT_Y = -450.0  # outside the sheet


@cache
def side_wall(variant):
    """The whole invented demo: three groups of loads, bearings that may rock, and jacks."""
    mesh = fk.read_mesh(MESHES / f"side_wall_{variant}.msh")
    steel = fk.Material("S235", E=210_000, nu=0.3, density=7.85e-9, yield_strength=235, ultimate_strength=360)
    plates = {name: fk.Plate(t, steel) for name, t in THICKNESS.items() if name in mesh.cell_sets}
    sideways = [fk.Support(name, uy=0) for name in ("floor-line", "bolster-rear", "bolster-front")]
    sideways.append(fk.Support("roof-line", uy=0, rx=0))
    bolsters = [fk.Support("bolster-rear", ux=0, uz=0, mean=True), fk.Support("bolster-front", uz=0, mean=True)]
    jacks = [fk.Support(fk.inside(x=span, z=(-1e-3, 1e-3)), uz=0) for span in ((0, 60), (7140, 7200))]
    jacks.append(fk.Support(fk.near(0, 0, 0), ux=0))
    cases = [
        fk.LoadCase("tare", tare()),
        fk.LoadCase("payload", [fk.LineLoad("floor-line", fz=-4.25)]),
        fk.LoadCase("push", [line("sole-bar-end-rear", fx=100 * kN), line("sole-bar-end-front", fx=-100 * kN)]),
        fk.LoadCase(
            "twist",
            [
                fk.LineLoad("roof-line", fx=8.0),
                fk.LineLoad("floor-line", fx=-8.0),
                line("end-front", fz=16_320.0),
                line("end-rear", fz=-16_320.0),
            ],
        ),
        fk.LoadCase("jacking", [*tare(1.1), *gear(1.1)], supports=[*jacks, *sideways]),
    ]
    combinations = [
        fk.Combination("full load", {"tare": 1.3, "payload": 1.3}),
        fk.Combination("end push", {"tare": 1.0, "push": 1.0}),
        fk.Combination("twisted track", {"tare": 1.0, "twist": 1.0}),
    ]
    if variant == "reinforced":
        plates["doubler-zone"] = fk.Plate(6.0, steel, offset=1.5)
        pad = mesh.centres[mesh.cell_sets["hoist-pad"]].mean(axis=0)
        cases.append(fk.LoadCase("hoist", [fk.SpreadLoad("hoist-pad", fz=-1200.0, at=(pad[0], HOIST_AT_Y, pad[2]))]))
        combinations.append(fk.Combination("hoist in use", {"tare": 1.0, "payload": 1.0, "hoist": 1.0}))
    return fk.Model(mesh, plates, supports=[*bolsters, *sideways], load_cases=cases, combinations=combinations)


def tare(factor=1.0):
    lines = {"roof-line": -0.6, "floor-line": -1.5}
    return [fk.Gravity(g=factor * GRAVITY), *(fk.LineLoad(name, fz=factor * q) for name, q in lines.items())]


def gear(factor=1.0):
    return [line(name, fz=factor * -9 * kN) for name in ("bolster-rear", "bolster-front")]


def line(name, **force):
    return fk.LineLoad(name, **force, total=True)


@pytest.mark.parametrize("variant", VARIANTS)
def test_the_demo_is_well(variant):
    assert side_wall(variant).check() == ()


@pytest.mark.parametrize("variant", VARIANTS)
def test_totals_of_the_demo_are_those_of_statics(variant):
    model = side_wall(variant)
    table = model.load_totals()
    weight = model.mass * GRAVITY
    assert table.loc["tare", "Fz (N)"] == pytest.approx(-weight - 7200 * (0.6 + 1.5), rel=1e-12)
    assert table.loc["payload", ["Fz (N)", "My (N mm)"]].tolist() == pytest.approx([-30_600, 30_600 * 3600], rel=1e-12)
    assert table.loc["jacking", "Fz (N)"] == pytest.approx(1.1 * (-weight - 15_120 - 18_000), rel=1e-12)
    assert not table.loc[["push", "twist"]].any(axis=None)  # both balance themselves
    sums = 1.3 * (table.loc["tare"] + table.loc["payload"])
    np.testing.assert_allclose(table.loc["full load"], sums, rtol=1e-12)


def test_the_mass_of_the_sole_bar_is_length_times_section():
    # 7200 mm of a web of 160 and a flange of 140 mm, 8 mm thick
    table = side_wall("baseline").mass_table()
    assert table.loc["sole-bar-web", "mass (kg)"] == pytest.approx(7200 * 160 * 8 * 7.85e-6, rel=1e-9)
    assert table.loc["sole-bar-flange", "mass (kg)"] == pytest.approx(7200 * 140 * 8 * 7.85e-6, rel=1e-9)


def test_the_hoist_hangs_outside_its_pad():
    model = side_wall("reinforced")
    force = model.load_total(model.case("hoist"))
    place = model.case("hoist").loads[0].at
    np.testing.assert_allclose(force[:3], [0, 0, -1200], atol=1e-9)
    np.testing.assert_allclose(force[3:], np.cross(place, [0, 0, -1200]), atol=1e-6)


def test_the_doubler_lies_inwards():
    # the doubler is on the inside, towards +y: its middle plane lies there if the sheet's top is
    table = side_wall("reinforced").mass_table()
    assert table.loc["doubler-zone", "y (mm)"] == pytest.approx(1.5, rel=1e-9)


def test_the_jacks_are_a_group_of_their_own():
    groups = {names: len(supports) for supports, names in side_wall("reinforced").support_groups}
    assert groups == {("tare", "payload", "push", "twist", "hoist"): 6, ("jacking",): 7}

"""Sag, openings, masses, reactions and frequencies against closed forms."""

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk
from femkit.assess import (
    Verdict,
    deflection_line,
    frequency_band,
    mass_changes,
    opening_movement,
    reaction_changes,
)

LENGTH, WIDTH, T = 1000.0, 40.0, 10.0
BARE = fk.Material("nu = 0", E=210_000, nu=0.0, density=7.85e-9)


LIGHT = [fk.LineLoad("right", fx=1.0)]  # a load that bends nothing


def beam(loads=LIGHT, *, at=(0.0, 0.0), thickness=T, name="load"):
    """A strip as a beam on its two ends, which are moved up by `at`, mm."""
    supports = [
        fk.Support("left", ux=0, uy=0, uz=at[0], rx=0),
        fk.Support("right", uz=at[1]),
    ]
    mesh = grid(LENGTH, WIDTH, 80, 2)
    case = fk.LoadCase(name, list(loads))
    return fk.solve_static(fk.Model(mesh, fk.Plate(thickness, BARE), supports=supports, load_cases=[case]))


def test_a_beam_sags_as_beam_theory_says_however_it_is_tilted():
    # 5 q L⁴ / 384 E I, and q L² / 8 (5/6) G A for shear
    pressure = 0.002
    q, second, shear = pressure * WIDTH, WIDTH * T**3 / 12, 5 / 6 * 105_000 * WIDTH * T
    sag = 5 * q * LENGTH**4 / (384 * 210_000 * second) + q * LENGTH**2 / (8 * shear)
    for at in ((0, 0), (1.0, -3.0)):
        line = deflection_line(beam([fk.Pressure("sheet", pressure)], at=at), "near", ("left", "right"), limit=300)
        row = line.table().loc["load"]
        assert row["deflection (mm)"] == pytest.approx(sag, rel=1e-3)
        assert row["at (mm)"].startswith("(500, 0")
        assert row["span / deflection"] == pytest.approx(LENGTH / sag, rel=1e-3)
        assert row["utilisation"] == line.governing().value == pytest.approx(300 * sag / LENGTH, rel=1e-3)
        assert row["verdict"] is Verdict.MEETS and np.isnan(row["largest beyond (mm)"])
        # along the whole line: q x (L³ - 2 L x² + x³) / 24 E I
        x = line.along
        shape = q * x * (LENGTH**3 - 2 * LENGTH * x**2 + x**3) / (24 * 210_000 * second)
        assert line.deflection[0] == pytest.approx(shape, abs=2e-3 * sag)


def test_a_rigid_tilt_sags_nowhere():
    line = deflection_line(beam(at=(2.0, -5.0)), "far", ("left", "right"))
    assert np.abs(line.deflection).max() < 1e-9
    assert line.table()["verdict"].iloc[0] is Verdict.NOT_ASSESSED
    assert line.governing().why == "no limit was given" and np.isnan(line.governing().value)


def test_an_overhang_counts_apart():
    # a beam that stands at x = 0 and 600: its end under P at the overhang a = 400: P a² (L + a) / 3 E I, upward between
    inner = fk.on_plane(x=600)
    supports = [fk.Support("left", ux=0, uy=0, uz=0, rx=0), fk.Support(inner, uz=0)]
    case = fk.LoadCase("load", [fk.LineLoad("right", fz=-20.0, total=True)])
    model = fk.Model(grid(LENGTH, WIDTH, 80, 2), fk.Plate(T, BARE), supports=supports, load_cases=[case])
    line = deflection_line(fk.solve_static(model), "near", ("left", inner), limit=1000)
    row, stiffness = line.table().loc["load"], 210_000 * WIDTH * T**3 / 12
    assert row["largest beyond (mm)"] == pytest.approx(20 * 400**2 * 1000 / (3 * stiffness), rel=2e-3)
    # between: P a L² / 9 √3 E I upward, at L / √3
    assert row["deflection (mm)"] == pytest.approx(-20 * 400 * 600**2 / (9 * np.sqrt(3) * stiffness), rel=5e-3)


@pytest.mark.parametrize(
    ("rail", "between", "options", "words"),
    [
        ("nearr", ("left", "right"), {}, 'Did you mean "near"'),
        ("near", ("left",), {}, "1 places were given"),
        ("near", ("left", "left"), {}, "places left and left lie above each other"),
        ("near", ("left", "right"), {"limit": 0}, "limit of span over deflection is 0.0"),
        ("right", ("left", fk.on_plane(x=500)), {}, "right has no point between the two places"),
        ("near", ("left", "right"), {"combinations": []}, "no load case or combination was given"),
    ],
)
def test_lines_that_are_none_are_refused(rail, between, options, words):
    with pytest.raises(fk.ModelError, match=words):
        deflection_line(beam(), rail, between, **options)


W, H = 1300.0, 1700.0
ROUND = [fk.near(0, 0), fk.near(W, 0), fk.near(W, H), fk.near(0, H)]


def moved(**by):
    """One cell of W × H whose four points are moved: functions of x and y by unknown, mm."""
    mesh = grid(W, H, 1, 1)
    x, y = mesh.points[:, :2].T
    held = {name: np.broadcast_to(by.get(name, lambda x, y: 0.0)(x, y), 4) for name in ("ux", "uy", "uz")}
    support = fk.Support(np.arange(4), rz=0, **held)
    model = fk.Model(
        mesh,
        fk.Plate(5.0, STEEL),
        supports=[support],
        load_cases=[fk.LoadCase("moved", [fk.PointLoad(fk.near(0, 0), fx=1.0)])],
    )
    return fk.solve_static(model)


def test_a_sheared_rectangle_changes_its_diagonals_alone():
    # u = γ y: the rising diagonal grows by γ w h / √(w² + h²), the falling one shrinks by as much
    gamma = 1e-3
    found = opening_movement(moved(ux=lambda x, y: gamma * y), ROUND, limits={"diagonal": 2.0})
    row, change = found.table().loc["moved"], gamma * W * H / np.hypot(W, H)
    assert row["rising diagonal (mm)"] == pytest.approx(change, rel=1e-9)
    assert row["falling diagonal (mm)"] == pytest.approx(-change, rel=1e-9)
    assert list(row.iloc[2:7]) == pytest.approx([0] * 5, abs=1e-9)
    by_number = opening_movement(moved(), np.array([0, 2, 3, 1]), combinations={"moved": 1}.keys())
    assert list(by_number.table().iloc[0, :7]) == pytest.approx([0] * 7, abs=1e-9)
    assert row["utilisation"] == found.governing().value == pytest.approx(change / 2)
    assert "no limit for width" in found.governing().why and "no limit for height" in row["why"]
    assert row["verdict"] is Verdict.MEETS


def test_widths_and_heights_change_as_the_sheet_stretches():
    # lengths grow by their strains: widths by 1e-3 below and 3e-3 above, heights by 2e-3
    found = opening_movement(moved(ux=lambda x, y: x * (1e-3 + 2e-3 * y / H), uy=lambda x, y: 2e-3 * y), ROUND)
    row = found.table().loc["moved"]
    assert row["clear width below (mm)"] == pytest.approx(1e-3 * W) and row["clear width above (mm)"] == pytest.approx(
        3e-3 * W
    )
    assert list(row.iloc[4:6]) == pytest.approx([2e-3 * H] * 2)
    assert row["verdict"] is Verdict.NOT_ASSESSED and np.isnan(found.governing().value)


def test_a_lifted_corner_is_a_quarter_off_the_plane_that_fits_best():
    # values 1, 0, 0, 0 at a rectangle's corners less their best plane: ± 1/4 at each
    found = opening_movement(moved(uz=lambda x, y: 4.0 * (x == 0) * (y == 0)), ROUND, limits={
        "corners off their plane": 0.5
    })  # fmt: skip
    assert found.table()["corners off their plane (mm)"].iloc[0] == pytest.approx(1.0)
    assert found.governing().value == pytest.approx(2.0) and found.governing().place == "corners off their plane"
    assert found.table()["verdict"].iloc[0] is Verdict.WORSE


def test_a_rigid_motion_changes_no_opening():
    turn = 1e-3
    rigid = {
        "ux": lambda x, y: 3 - turn * y,
        "uy": lambda x, y: turn * x - 2,
        "uz": lambda x, y: 1 + 0.01 * x - 0.02 * y,
    }
    row = opening_movement(moved(**rigid), ROUND).table().loc["moved"]
    assert list(row.iloc[:7]) == pytest.approx([0] * 7, abs=1e-9)


@pytest.mark.parametrize(
    ("corners", "limits", "words"),
    [
        (ROUND[:3], {}, "3 corners were given; give four"),
        ([ROUND[0], ROUND[2], ROUND[1], ROUND[3]], {}, "do not go round an opening"),
        ([ROUND[0], ROUND[0], ROUND[1], ROUND[2]], {}, "do not go round an opening"),
        (ROUND, {"diagnal": 2}, 'Did you mean "diagonal"'),
        (ROUND, {"width": 0}, 'limit of "width" is 0.0 mm'),
    ],
)
def test_openings_that_are_none_are_refused(corners, limits, words):
    with pytest.raises(fk.ModelError, match=words):
        opening_movement(moved(), corners, limits=limits)


def test_masses_and_their_centres_before_and_after():
    # 1000 × 40 × 10 mm of 7.85e-9 t/mm3 weighs 3.14 kg; 1 kg more at the end moves the centre
    before = beam().model
    after = fk.Model(before.mesh, before.plates, masses=[fk.PointMass(fk.near(1000, 20), 1e-3)])
    table = mass_changes({"before": before, "after": after})
    assert list(table["mass (kg)"]) == pytest.approx([3.14, 4.14])
    assert table.loc["after", "change of mass (kg)"] == pytest.approx(1.0)
    assert table.loc["after", "x (mm)"] == pytest.approx((3.14 * 500 + 1000) / 4.14)
    assert table.loc["after", "change of x (mm)"] == pytest.approx((3.14 * 500 + 1000) / 4.14 - 500)
    with pytest.raises(fk.ModelError, match="mass: no variants were given"):
        mass_changes({})


def test_reactions_before_and_after():
    # a force at 3/4 of the span puts a quarter on the first support, at 1/2 the half
    force = {x: [fk.LineLoad(fk.on_plane(x=x), fz=-100.0, total=True)] for x in (500, 750)}
    table = reaction_changes({"before": beam(force[500]), "after": beam(force[750])}, combinations=["load"])
    assert list(table["before (N)"]) == pytest.approx([50, 50]) and list(table["after (N)"]) == pytest.approx([25, 75])
    assert list(table["change in after (N)"]) == pytest.approx([-25, 25])
    assert table.loc[("load", "right"), "change in after (%)"] == pytest.approx(50)
    other = reaction_changes(
        {"before": beam(force[500]), "after": beam(force[750], name="other")}, combinations=["load"]
    )
    assert np.isnan(other["after (N)"]).all()
    alone = reaction_changes({"before": beam(force[500])})  # no combinations: its load cases
    assert list(alone["before (N)"]) == pytest.approx([50, 50])
    with pytest.raises(fk.ModelError, match="no variant has the combinations laod"):
        reaction_changes({"before": beam()}, combinations=["laod"])
    with pytest.raises(fk.ModelError, match=r"reactions: .* it must be a StaticResult"):
        reaction_changes({"before": 3})
    with pytest.raises(fk.ModelError, match='no component "rz"'):
        reaction_changes({"before": beam()}, "rz")


def test_frequencies_keep_out_of_a_band_and_one_wall_is_not_a_body():
    # a beam on two supports: (nπ/L)² √(EI/ρA) / 2π; thickness 10: 23.45, 93.8 … Hz
    modes = fk.solve_modes(beam().model, 3)
    first = np.pi / 2 / LENGTH**2 * np.sqrt(210_000 * T**2 / 12 / 7.85e-9)
    assert modes.frequency[0] == pytest.approx(first, rel=2e-3)
    below = frequency_band(modes, (5, 10), whole_body=True)
    assert below.governing().value == pytest.approx(10 / first, rel=2e-3)  # all lie above
    assert below.governing().case.startswith("mode 1, 23.") and below.table()["verdict"].iloc[0] is Verdict.MEETS
    within = frequency_band(modes, (20, 30), whole_body=True)
    assert (
        within.governing().value == pytest.approx(min(first / 20, 30 / first), rel=2e-3)
        and within.governing().value > 1
    )
    assert list(within.table()["in the band"]) == [True, False, False]
    wall = frequency_band(modes, (20, 30))
    assert np.isnan(wall.governing().value) and wall.governing().why.startswith("the modes of one wall are not those")
    assert all(verdict is Verdict.NOT_ASSESSED for verdict in wall.table()["verdict"])
    beyond = frequency_band(modes, (2000, 3000), whole_body=True).governing()
    assert np.isnan(beyond.value) and "ask for more" in beyond.why
    with pytest.raises(fk.ModelError, match="band from 30 to 20 Hz is none"):
        frequency_band(modes, (30, 20))

"""Sizing against optima in closed form, against all of a small grid of stock, and where no thickness can do it.

The strips are statically determinate: what each part carries hangs on no thickness. Poisson's ratio is 0, so that
beam theory is exact but for shear; stress is that of the cells' centres.
"""

import itertools
import warnings
from dataclasses import replace

import numpy as np
import pytest
from sheets import grid

import femkit as fk
from femkit.study.sizing.lightest import SLACK

STEEL = fk.Material("steel", E=210_000, nu=0.0, density=7.85e-9, yield_strength=235)
LENGTH, OUTER, WIDTH, FORCE, CELL = 200.0, 80.0, 20.0, 20.0, 5.0  # mm, N; the outer part is 80 mm long


def strip(inner=3.0, outer=3.0, *, loads=None, held=("ux", "uy", "uz", "rx", "ry", "rz")):
    """A cantilever of an inner and an outer part, clamped at x = 0."""
    mesh = grid(LENGTH, WIDTH, int(LENGTH / CELL), 2)
    is_outer = mesh.centres[:, 0] > LENGTH - OUTER
    mesh = replace(mesh, cell_sets={"inner": np.flatnonzero(~is_outer), "outer": np.flatnonzero(is_outer)})
    loads = [fk.LineLoad("right", fz=-FORCE, total=True)] if loads is None else loads
    return fk.Model(
        mesh,
        {"inner": fk.Plate(inner, STEEL), "outer": fk.Plate(outer, STEEL)},
        supports=[fk.Support("left", **dict.fromkeys(held, 0))],
        load_cases=[fk.LoadCase("tip", loads)],
    )


def stress(plate, limit):
    return fk.Check(fk.JudgedStress(plate, "tip", distance=0), limit=limit)


def thickness_for(arm, limit):
    """Where bending reaches the limit: σ = 6 F x / (b t²)."""
    return np.sqrt(6 * FORCE * (arm - CELL / 2) / (WIDTH * limit))


def solved(inner, outer):
    """Linear theory is meant, whatever the thin ones do."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", fk.FemkitWarning)
        return fk.solve_static(strip(inner, outer))


SAG = fk.Displacement("right", "uz", "tip")
FREE = {"inner": (1, 10), "outer": (1, 10)}


def test_every_part_is_stressed_to_its_limit():
    sizing = fk.size_plates(strip(), FREE, [stress("inner", 200), stress("outer", 150)])
    expected = {"inner": thickness_for(LENGTH, 200), "outer": thickness_for(OUTER, 150)}
    assert sizing.thickness == pytest.approx(expected, rel=2e-3)
    assert sizing.is_met
    assert sizing.stock is None
    assert len(sizing.binding) == 2
    before, now = LENGTH * 3, (LENGTH - OUTER) * expected["inner"] + OUTER * expected["outer"]
    assert sizing.added_mass == pytest.approx(7.85e-6 * WIDTH * (now - before), rel=0.01)
    assert sizing.model.mass == pytest.approx(7.85e-9 * WIDTH * now, rel=2e-3)
    assert set(sizing.checks_table()["final"].round(0)) == {200, 150}


def test_a_deflection_is_shared_out_as_lagrange_says():
    # δ = c₁/t₁³ + c₂/t₂³ with c₁ = 4 F (L³ - a³) / (E b), c₂ = 4 F a³ / (E b); least mass has t ∝ (c/length)^(1/4).
    # Common practice, no source
    c = 4 * FORCE / (STEEL.E * WIDTH) * np.array([LENGTH**3 - OUTER**3, OUTER**3])
    shape = (c / [LENGTH - OUTER, OUTER]) ** 0.25
    expected = shape * ((c / shape**3).sum() / 5) ** (1 / 3)
    sizing = fk.size_plates(strip(), FREE, [fk.Check(SAG, limit=5)])
    assert [*sizing.thickness.values()] == pytest.approx(expected, rel=3e-3)
    assert len(sizing.history) <= 8


def test_a_doubler_is_what_its_sheet_lacks():
    free = {"inner": fk.FreePlate(0, 10, on=1.0), "outer": fk.FreePlate(0, 10, on=1.0, side="bottom")}
    sizing = fk.size_plates(strip(), free, [stress("inner", 200), stress("outer", 150)])
    expected = {"inner": thickness_for(LENGTH, 200) - 1, "outer": thickness_for(OUTER, 150) - 1}
    assert sizing.thickness == pytest.approx(expected, rel=4e-3)
    plates = sizing.model.plates
    assert plates["inner"].offset == pytest.approx(sizing.thickness["inner"] / 2)
    assert plates["outer"].offset == pytest.approx(-sizing.thickness["outer"] / 2)


def test_no_thickness_of_the_stock_is_lighter():
    stock, checks = (1.5, 2, 2.5, 3, 4), [stress("inner", 160), stress("outer", 120), fk.Check(SAG, limit=9)]
    sizing = fk.size_plates(strip(), FREE, checks, stock=stock)
    masses = {}
    for inner, outer in itertools.product(stock, stock):
        result = solved(inner, outer)
        if all(check.demand(check.value(result)) <= 1 for check in checks):
            masses[inner, outer] = result.model.mass
    assert tuple(sizing.stock.values()) == min(masses, key=masses.get)
    assert sizing.is_met
    assert sizing.added_mass == pytest.approx(1e3 * (min(masses.values()) - strip().mass))


def test_where_no_thickness_does_the_least_violation_is_found_and_named():
    checks = [stress("inner", 200), stress("outer", 150)]
    sizing = fk.size_plates(strip(), {"inner": (1, 2), "outer": (1, 10)}, checks, stock=(1, 1.5, 2, 2.5, 3))
    worst = (thickness_for(LENGTH, 200) / 2) ** 2
    assert worst * 0.999 <= sizing.best.worst <= worst * (1 + 2.01 * SLACK)
    assert sizing.thickness["inner"] == pytest.approx(2, rel=2 * SLACK)
    assert sizing.thickness["outer"] == pytest.approx(thickness_for(OUTER, 150), rel=2e-3)  # what can be met is met
    assert not sizing.is_met
    assert [str(check) for check in sizing.binding] == ["judged stress of inner, tip"]
    assert sizing.stock["inner"] == 2
    assert str(sizing.checks_table()["verdict"].iloc[0]) == "worse"
    assert f"least violation is {sizing.best.worst - 1:.1%}" in sizing.notes[0]
    assert any(note.startswith("No stock that was tried meets every check") for note in sizing.notes)


def test_a_stock_that_weighs_more_asks_for_more_elsewhere():
    # own weight only, times 100: rounding the outer part up loads the root, whose moment is
    # ρ g b (t₂ a (L - a/2) + t₁ (L - a)²/2), there taken at the first cell's centre
    pull, limit = 100 * 9806.65, 173.0

    def demand(inner, outer):
        line = STEEL.density * pull * WIDTH
        moment = line * (outer * OUTER * (LENGTH - OUTER / 2 - CELL / 2) + inner * (LENGTH - OUTER - CELL / 2) ** 2 / 2)
        return 6 * moment / (WIDTH * inner**2) / limit

    model = replace(strip(loads=[fk.Acceleration(z=pull)]), units="any")
    free = {"inner": (1, 20), "outer": (4.2, 20)}
    sizing = fk.size_plates(model, free, [stress("inner", limit)], stock=(4, 5, 6, 7, 8, 9, 10, 11, 12))
    assert sizing.thickness["outer"] == pytest.approx(4.2)
    assert demand(sizing.thickness["inner"], 4.2) == pytest.approx(1, abs=5e-3)
    rounded = int(np.ceil(sizing.thickness["inner"]))
    assert demand(rounded, 5) > 1.01 > 0.99 > demand(rounded + 1, 5)  # so that the case is what it is meant to be
    assert sizing.stock == {"inner": rounded + 1, "outer": 5}
    assert any("misses judged stress of inner" in note for note in sizing.notes)
    assert any("heavier" in note for note in sizing.notes)


@pytest.mark.parametrize(("quantity", "power"), [(fk.BucklingFactor("tip"), 3), (fk.Frequency(), 1)])
def test_buckling_grows_with_the_cube_and_frequency_with_the_thickness(quantity, power):
    result = fk.solve_static(strip(loads=[fk.LineLoad("right", fx=-100, total=True)]))
    value, slope = quantity.value_and_slope(result, np.zeros(result.model.mesh.n_cells))
    assert value == pytest.approx(quantity.value(result))
    assert slope.sum() * 3.0 / value == pytest.approx(power, rel=2e-3)


def test_what_buckles_is_made_thicker():
    # Euler's column, clamped and free: π² E b t³ / (12 · 4 L²) (common practice, no source)
    thrust, stock = 300.0, (1, 1.5, 2, 2.5, 3)
    model = strip(loads=[fk.LineLoad("right", fx=-thrust, total=True)])
    even = (1.2 * thrust * 48 * LENGTH**2 / (np.pi**2 * STEEL.E * WIDTH)) ** (1 / 3)
    checks = [stress("inner", 20), stress("outer", 20), fk.Check(fk.BucklingFactor("tip"), limit=1.2)]
    sizing = fk.size_plates(model, FREE, checks, stock=stock)
    assert sizing.thickness["outer"] < even < sizing.thickness["inner"]
    assert sizing.best.demand[2] == pytest.approx(1, rel=2e-3)
    assert sizing.best.demand[:2].max() < 0.5
    mass = (LENGTH - OUTER) * sizing.thickness["inner"] + OUTER * sizing.thickness["outer"]
    assert mass < LENGTH * even
    masses = {}
    for inner, outer in itertools.product(stock, stock):
        plates = {"inner": fk.Plate(inner, STEEL), "outer": fk.Plate(outer, STEEL)}
        if fk.solve_buckling(replace(model, plates=plates), "tip", 1).factor[0] >= 1.2:
            masses[inner, outer] = (LENGTH - OUTER) * inner + OUTER * outer
    assert tuple(sizing.stock.values()) == min(masses, key=masses.get)
    assert sizing.is_met


def test_what_is_no_worse_than_the_original_passes():
    original = solved(5.0, 5.0)
    checks = [
        fk.Check(SAG, limit=1.0, no_worse_than=original, name="sag"),
        fk.Check(fk.Frequency(), no_worse_than=original),
        *fk.strength_checks(strip(), original=original, combinations=["tip"], distance=0),
    ]
    assert len(checks) == 4
    sag = abs(original["tip"].displacement_at("right")[2])
    assert checks[0].allowed == pytest.approx(1.01 * sag)
    assert str(checks[0].verdict(-0.99 * sag)) == "misses it but no worse than the original"
    assert checks[1].demand(0.5 * checks[1].original) == pytest.approx(2 / 1.01)
    assert str(checks[1].verdict(0.5 * checks[1].original)) == "worse"
    sizing = fk.size_plates(strip(8.0, 8.0), FREE, checks, stock=(4, 5, 6))
    assert sizing.is_met
    assert sizing.added_mass < 0


@pytest.mark.parametrize(
    ("free", "said"),
    [
        ({"iner": (2, 20)}, 'free plate "iner": the model has no such plate. Did you mean "inner"?'),
        ({"inner": 4}, r'free plate "inner": 4 can\'t stand there; give \(low, high\)'),
        ({"inner": (8, 2)}, 'free plate "inner": bounds are 8 and 2 mm'),
        ({"inner": (0, 2)}, "the lower bound is 0 mm"),
        ({"inner": fk.FreePlate(0, 2, on=3, side="left")}, 'side is "left"'),
        ({"inner": (6.5, 7.5)}, "nothing in stock lies between 6.5 and 7.5 mm"),
        ({}, "no plate is free"),
    ],
)
def test_what_can_not_be_sized_is_refused(free, said):
    with pytest.raises(fk.ModelError, match=said):
        fk.size_plates(strip(), free, [stress("inner", 200)], stock=(2, 4, 6, 8))


def test_checks_that_can_not_be_met_or_led_by_are_refused():
    with pytest.raises(fk.ModelError, match="give it a limit, or no_worse_than"):
        fk.Check(SAG)
    with pytest.raises(fk.ModelError, match=r"0\.0 is allowed"):
        fk.Check(SAG, limit=0.0)
    with pytest.raises(fk.ModelError, match="give one of displacement"):
        fk.size_plates(strip(), FREE, [fk.Check(fk.Frequency(), limit=10)])
    with pytest.raises(fk.ModelError, match=r"it must be a Check"):
        fk.size_plates(strip(), FREE, [SAG])


def test_what_buckles_besides_is_said_where_no_thickness_does_anyway():
    model = strip(loads=[fk.LineLoad("right", fx=-300, fz=-FORCE, total=True)])
    checks = [fk.Check(fk.BucklingFactor("tip"), limit=10), stress("inner", 200), stress("outer", 150)]
    sizing = fk.size_plates(model, {"inner": (1, 2), "outer": (1, 2)}, checks)
    assert sizing.is_leading.tolist() == [False, True, True]
    assert [str(check) for check in sizing.binding] == ["judged stress of inner, tip"]
    assert sizing.notes[1].startswith("Missed besides") and sizing.notes[1].endswith("buckling factor, tip.")

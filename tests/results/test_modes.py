"""Natural modes against closed forms, counted by inertia."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk

STEEL_SI = fk.Material("steel, SI units", E=200e9, nu=0.3, density=8000.0)


def simple_square(kind, thickness, n=16):
    """10 m square, simply supported (hard), in-plane unknowns held; SI units as published."""
    mesh = grid(10.0, 10.0, n, n, kind=kind)
    sides = {"left": "rx", "right": "rx", "near": "ry", "far": "ry"}
    supports = [fk.Support(side, uz=0, **{turn: 0}) for side, turn in sides.items()]
    supports.append(fk.Support("sheet", ux=0, uy=0, rz=0))
    return fk.Model(mesh, fk.Plate(thickness, STEEL_SI), supports=supports, units="any")


@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_a_pair_is_counted_as_two(kind):
    # (1, 2) and (2, 1) half waves; frequencies are in the catalogue
    modes = fk.solve_modes(simple_square(kind, 0.05, 8), 4)
    assert modes.solution.counted == 4
    assert np.all(np.diff(modes.frequency) >= 0) and modes.frequency[2] < 1.2 * modes.frequency[1]


@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_frequency_converges_at_second_order(kind):
    # f = (pi/2) sqrt(D / (rho t)) (m² + n²) / a², thin plate, closed form
    errors = [fk.solve_modes(simple_square(kind, 0.05, n), 1).frequency[0] / 2.3767230 - 1 for n in (4, 8, 16)]
    assert abs(errors[1]) < abs(errors[0]) / 3 and abs(errors[2]) < abs(errors[1]) / 3


@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_lumped_mass_converges_at_second_order_from_below(kind):
    grids = [fk.solve_modes(simple_square(kind, 0.05, n), 4, mass="lumped") for n in (4, 8, 16)]
    errors = [modes.frequency[0] / 2.3767230 - 1 for modes in grids]  # closed form, as above
    assert errors[0] < 4 * errors[1] * 0.75 < 16 * errors[2] * 0.5 < 0
    assert grids[2].frequency == pytest.approx([2.3767230, 5.9418074, 5.9418074, 9.5068919], rel=0.011)
    assert grids[2].solution.counted == 4


def bar_or_strip(made_of, n):
    """A cantilever 1000 x 40 x 10 along x that bends easily along z: beams, or a sheet without contraction."""
    steel = replace(STEEL, nu=0.0)
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    if made_of == "strip":
        return fk.Model(grid(1000.0, 40.0, n, 2), fk.Plate(10.0, steel), supports=[clamp])
    points = np.column_stack([np.linspace(0, 1000, n + 1), np.zeros((n + 1, 2))])
    pairs = np.column_stack([np.arange(n), np.arange(1, n + 1)])
    mesh = fk.Mesh(points, {}, edge_sets={"bar": pairs}, point_sets={"left": [0]})
    return fk.Model(mesh, {}, beams={"bar": fk.Beam(fk.flat_bar(10, 40), steel)}, supports=[clamp])


@pytest.mark.parametrize("mass", ("consistent", "lumped"))
@pytest.mark.parametrize("made_of", ("beam", "strip"))
def test_effective_mass_of_a_cantilever(made_of, mass):
    # 0.6131, 0.1883, 0.0647 of a uniform slender cantilever's mass (closed form by its mode shapes; R. W. Clough,
    # J. Penzien, Dynamics of Structures, place from memory)
    modes = fk.solve_modes(bar_or_strip(made_of, 40), 12, mass=mass)
    share = modes.solution.effective_mass / modes.model.mass
    assert sorted(share[:, 2])[:-4:-1] == pytest.approx([0.6131, 0.1883, 0.0647], abs=1.5e-3)  # 40 cells, shear
    assert modes.solution.counted >= 12
    table = modes.effective_mass()
    sums = table["sum along z"].to_numpy()
    assert np.all(np.diff(sums) > -1e-12) and 0.9 < sums[-1] < 1
    assert table["mass along z (kg)"].sum() == pytest.approx(share[:, 2].sum() * modes.model.mass * 1e3)


def test_all_modes_together_take_all_the_mass_that_moves():
    # half of the first of three cells stands on the clamp (by hand); of the consistent mass a little less
    lumped, consistent = (fk.solve_modes(bar_or_strip("beam", 3), 14, mass=m) for m in ("lumped", "consistent"))
    assert lumped.solution.moving_mass == pytest.approx(np.full(3, 5 / 6 * lumped.model.mass))
    assert np.all(consistent.solution.moving_mass > lumped.solution.moving_mass)
    for modes in (lumped, consistent):
        assert modes.effective_mass()[["sum along y", "sum along z"]].iloc[-1].to_numpy() == pytest.approx(1, abs=2e-3)
    free = fk.solve_modes(bar_or_strip("strip", 4), 6, supports=[])
    assert free.effective_mass().iloc[-1, 3:].to_numpy() == pytest.approx(1)  # rigid motions have all of it


def test_a_slender_bar_bent_by_its_own_compression_shakes_slower():
    # ω² = ω0² (1 - P/Pe) nearly for a cantilever too, and at Pe = pi² E I / 4 L² (Euler) there is no frequency left
    model = bar_or_strip("beam", 20)
    euler = np.pi**2 * 210_000 * (40 * 10**3 / 12) / 4 / 1000**2
    cases = [fk.LoadCase("push", [fk.PointLoad([20], fx=-euler)])]
    combinations = [fk.Combination("most", {"push": 0.999})]
    result = fk.solve_static(replace(model, load_cases=cases, combinations=combinations))
    assert fk.solve_buckling(result, "push", 1).factor == pytest.approx([1.0], rel=1e-3)  # shear
    before, after = (fk.solve_modes(result, 1, load=load).solution.value[0] for load in (None, "most"))
    assert 0 < after < 2e-3 * before


def test_masses_on_springs_are_not_taken_for_rigid_motions():
    # two free strips with a spring between: they swing against each other at sqrt(k (1/m + 1/m)) / 2 pi (closed form)
    mesh = grid(100.0, 100.0, 2, 2)
    points = np.vstack([mesh.points, mesh.points + [0, 0, 50.0]])
    cells = np.vstack([mesh.cells["quad"], mesh.cells["quad"] + len(mesh.points)])
    springs = [fk.Spring([4], to=[13], ux=10.0, uy=10.0, uz=10.0, rx=1e9, ry=1e9, rz=1e9)]
    model = fk.Model(fk.Mesh(points, {"quad": cells}), fk.Plate(20.0, STEEL), links=springs)
    modes = fk.solve_modes(model, 9)
    assert list(modes.is_rigid) == [True] * 6 + [False] * 3
    assert np.all(modes.solution.value[:6] < 1e-2 * modes.solution.value[6])
    along = np.sqrt(10.0 * 4 / modes.model.mass) / (2 * np.pi)
    assert np.abs(modes.frequency[6:] / along - 1).min() < 0.02


def test_cantilever_in_its_plane_is_a_beam():
    # f = (1.8751041² / 2 pi L²) sqrt(E I / rho A) = 83.551659 Hz for 1000 x 100 deep (Bernoulli); shear and rotary
    # inertia take 1.3 % (S. P. Timoshenko, Vibration Problems in Engineering)
    mesh = grid(1000.0, 100.0, 40, 4)
    clamp = fk.Support("left", ux=0, uy=0)
    model = fk.Model(mesh, fk.Plate(50.0, STEEL), supports=[clamp], behaviour="plane stress")
    modes = fk.solve_modes(model, 2)
    assert modes.frequency[0] == pytest.approx(83.551659 * 0.988, rel=0.01)
    assert modes.shape.shape == (2, mesh.n_points, 6)


def test_a_free_plate_has_six_rigid_modes_and_then_its_own():
    # its frequencies are in the catalogue
    model = replace(simple_square("quad", 0.05), supports=[])
    modes = fk.solve_modes(model, 7)
    assert np.all(modes.frequency[:6] == 0.0) and np.all(np.abs(modes.solution.value[:6]) < 1e-5)
    assert list(modes.table()["motion"]) == ["rigid"] * 6 + ["elastic"]
    assert modes.solution.effective_mass[:6].sum(axis=0) == pytest.approx(model.mass)


def test_a_mass_on_a_light_cantilever_is_one_oscillator():
    # f = sqrt(3 E I / L³ / m) / 2 pi: S. P. Timoshenko, Vibration Problems in Engineering, ch. 1
    light = fk.Material("light", E=210_000, nu=0.0, density=1e-16)
    mesh = grid(200.0, 10.0, 20, 2)
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    mass = fk.PointMass("right", 0.01, total=True)
    model = fk.Model(mesh, fk.Plate(5.0, light), supports=[clamp], masses=[mass], units="any")
    modes = fk.solve_modes(model, 1)
    exact = np.sqrt(3 * 210_000 * (10 * 5.0**3 / 12) / 200.0**3 / 0.01) / (2 * np.pi)
    assert modes.frequency[0] == pytest.approx(exact, rel=0.01)  # shear


def test_pardiso_and_superlu_find_the_same_and_supports_may_be_given():
    model = simple_square("mixed", 0.05, 8)
    pytest.importorskip("pypardiso")
    both = [fk.solve_modes(model, 3, solver=solver) for solver in ("pardiso", "superlu")]
    assert both[0].frequency == pytest.approx(both[1].frequency, rel=1e-8)
    assert both[0].solution.counted == both[1].solution.counted
    free = fk.solve_modes(model, 1, supports=[])
    assert free.frequency[0] == 0.0


def squeezed(nx, ny=0.0, n=16):
    """The thin square under compression nx ny (N/m), free to contract, and its critical nx alone by closed form."""
    model = simple_square("quad", 0.05, n)
    loads = [
        *(fk.LineLoad(side, fx=sign * nx) for side, sign in (("left", 1), ("right", -1))),
        *(fk.LineLoad(side, fy=sign * ny) for side, sign in (("near", 1), ("far", -1))),
    ]
    supports = [*model.supports[:-1], fk.Support("sheet", rz=0), fk.Support(fk.near(0, 0), ux=0, uy=0)]
    supports.append(fk.Support(fk.near(10, 0), uy=0))
    critical = 4 * np.pi**2 * 200e9 * 0.05**3 / (12 * (1 - 0.3**2)) / 10**2  # Bryan, k = 4
    return replace(model, supports=supports, load_cases=[fk.LoadCase("squeeze", loads)]), critical


@pytest.mark.parametrize("share", (-1.0, 0.25, 0.9))
@pytest.mark.parametrize("ratio", (0.0, 1.0))
def test_compression_takes_and_pull_gives_frequency(share, ratio):
    # ω² = ω0² (1 - (Nx + Ny) / Ncr) for one half wave each way: A. W. Leissa, Vibration of Plates, NASA SP-160 (1969),
    # sec. 10.1 (place from memory); by Rayleigh's quotient exact, as the shape is that of the buckle
    total = share * squeezed(1.0)[1]
    model = squeezed(total / (1 + ratio), ratio * total / (1 + ratio))[0]
    both = [fk.solve_modes(model, 1, load=load) for load in (None, "squeeze")]
    before, after = (modes.solution.value[0] for modes in both)
    assert after / before == pytest.approx(1 - share, abs=0.005)  # 16 x 16
    assert both[1].solution.counted == 1 and both[1].load == "squeeze" and "under squeeze" in repr(both[1])


def test_frequency_falls_linearly_to_0_at_the_buckling_load_and_there_is_none_beyond():
    result = fk.solve_static(squeezed(1.0)[0])
    factor = fk.solve_buckling(result, "squeeze", 1).factor[0]
    shares = (0.0, 0.25, 0.5, 0.75, 1 - 1e-6)
    names = [f"{share:g}" for share in shares]
    cases = [fk.Combination(name, {"squeeze": share * factor}) for name, share in zip(names, shares)]
    model = replace(result.model, combinations=[*cases, fk.Combination("beyond", {"squeeze": 1.25 * factor})])
    result = fk.solve_static(model)
    values = np.array([fk.solve_modes(result, 1, load=name).solution.value[0] for name in names])
    assert values / values[0] == pytest.approx(1 - np.array(shares), abs=1e-5)  # by the model's own factor
    with pytest.raises(fk.SolveError, match=r'"beyond" alone buckles the model at 0\.8 times its size'):
        fk.solve_modes(result, 1, load="beyond")


def test_what_no_load_can_do_for_modes_is_refused():
    model = squeezed(1.0, n=4)[0]
    with pytest.raises(fk.ModelError, match='Did you mean "squeeze"'):
        fk.solve_modes(model, 1, load="sqeeze")
    with pytest.raises(fk.ModelError, match="supports can't be given beside load="):
        fk.solve_modes(model, 1, load="squeeze", supports=[])
    with pytest.raises(fk.ModelError, match=r'there is no mass "lumpd"\. Did you mean "lumped"'):
        fk.solve_modes(model, 1, mass="lumpd")
    flat = replace(model, behaviour="plane stress", supports=[fk.Support("left", ux=0, uy=0)])
    with pytest.raises(fk.ModelError, match='a load on modes needs behaviour="shell"'):
        fk.solve_modes(flat, 1, load="squeeze")


def test_table_holds_frequency_and_mass_taking_part():
    modes = fk.solve_modes(simple_square("quad", 0.05, 8), 3)
    table = modes.table()
    # 64/pi⁴ = 0.657 of the mass takes part in the first mode of a simply supported plate (closed form)
    assert table["mass along z"].iloc[0] == pytest.approx(64 / np.pi**4, rel=0.02)
    assert "Hz" in repr(modes) and "<table" in modes._repr_html_()


def test_what_has_no_mass_or_no_such_count_is_refused():
    model = simple_square("quad", 0.05, 4)
    bare = fk.Material("bare", E=200e9, nu=0.3)
    with pytest.raises(fk.ModelError, match="no mass; give its materials a density"):
        fk.solve_modes(replace(model, plates=fk.Plate(0.05, bare)), 2)
    with pytest.raises(fk.ModelError, match="count is 0; it must be a whole number of at least 1"):
        fk.solve_modes(model, 0)
    with pytest.raises(fk.ModelError, match=r"count is 5000; the model has mass at \d+ unknowns"):
        fk.solve_modes(model, 5000)


def test_a_point_mass_with_inertia_turns_on_a_shaft():
    # torsional pendulum: w2 = G J / L I (S. P. Timoshenko, Vibration Problems in Engineering, 3rd ed., art. 2), with a
    # shaft without mass, I about its axis
    points = np.column_stack([np.linspace(0, 500, 5), np.zeros((5, 2))])
    mesh = fk.Mesh(points, {}, edge_sets={"shaft": np.column_stack([np.arange(4), np.arange(1, 5)])})
    section = fk.BeamSection(
        "round bar 20",  # pi d4 / 64 and 32, by hand
        area=np.pi * 100,
        second_moment_y=np.pi * 20**4 / 64,
        second_moment_z=np.pi * 20**4 / 64,
        torsion_constant=np.pi * 20**4 / 32,
        shear_area_y=90 * np.pi,
        shear_area_z=90 * np.pi,
    )
    steel = fk.Material("steel", E=210_000, nu=0.3)
    model = fk.Model(
        mesh,
        {},
        beams={"shaft": fk.Beam(section, steel)},
        supports=[fk.Support([0], ux=0, uy=0, uz=0, rx=0, ry=0, rz=0), fk.Support([4], ux=0, uy=0, uz=0)],
        masses=[fk.PointMass(range(1, 5), 1e-6), fk.PointMass([4], 0.0, inertia=(20.0, 1e-3, 1e-3))],
    )
    by_hand = np.sqrt(210_000 / 2.6 * section.torsion_constant / 500 / 20.0) / 2 / np.pi
    assert fk.solve_modes(model, 1).frequency[0] == pytest.approx(by_hand, rel=1e-6)


def test_a_negative_inertia_is_refused():
    with pytest.raises(fk.ModelError, match="none of the three may be below 0"):
        fk.PointMass("right", 1e-3, inertia=(1.0, -1.0, 0.0))

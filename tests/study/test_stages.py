"""Stages against sums by hand: bars in parallel, beams on props that go, strips that are cut, parts that come back."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk

E = 210_000.0
BAR = fk.Material("bar", E=E, nu=0.0, density=7.85e-9, expansion=12e-6)
LENGTH, WIDTH, OLD, NEW = 100.0, 10.0, 2.0, 3.0  # mm, the last two thicknesses


def bars(kind="quad", behaviour="plane stress"):
    """Two bars one upon the other between the same points, ``old`` and ``new``."""
    sheet = grid(LENGTH, WIDTH, 10, 2, kind=kind)
    cells = {each: np.vstack([table, table]) for each, table in sheet.cells.items()}
    ((_, table),) = sheet.cells.items()
    sets = {"old": np.arange(len(table)), "new": np.arange(len(table), 2 * len(table))}
    mesh = replace(sheet, cells=cells, cell_sets=sets)
    return fk.Model(mesh, {"old": fk.Plate(OLD, BAR), "new": fk.Plate(NEW, BAR)}, behaviour=behaviour)


def held(behaviour="plane stress"):
    flat = [fk.Support(fk.inside(), uz=0, rx=0, ry=0), fk.Support("left", rz=0)] if behaviour == "shell" else []
    return [fk.Support("left", ux=0), fk.Support(fk.near(0, 0), uy=0), *flat]


def pull(force):
    return fk.LineLoad("right", fx=force, total=True)


def forces(case):
    """Axial force of each bar, N, from the cells' membrane forces; it must be the same all along."""
    found = {}
    for name, cells in case.model.plate_cells.items():
        along = case.membrane_force[cells, 0] * WIDTH
        assert along == pytest.approx(along.mean(), rel=1e-9, abs=1e-6)
        found[name] = along.mean()
    return found


@pytest.mark.parametrize("behaviour", ("plane stress", "shell"))
@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_a_bar_welded_in_takes_its_share_of_what_comes_after(kind, behaviour):
    # by hand: k = E A / L; P1 on the old bar alone, P2 on both in parallel: N1 = P1 + P2 k1 / (k1 + k2)
    first, second, share = 900.0, 500.0, OLD / (OLD + NEW)
    sequence = fk.solve_stages(
        bars(kind, behaviour),
        [
            fk.Stage("before", supports=held(behaviour), add=pull(first)),
            fk.Stage("welded in", insert="new"),
            fk.Stage("loaded", add=pull(second)),
        ],
    )
    assert list(sequence["before"].model.plates) == ["old"]
    assert forces(sequence["before"]) == pytest.approx({"old": first})
    assert forces(sequence["welded in"]) == pytest.approx({"old": first, "new": 0.0}, abs=1e-6)
    wanted = {"old": first + second * share, "new": second * (1 - share)}
    assert forces(sequence["loaded"]) == pytest.approx(wanted)
    moved = first * LENGTH / (E * WIDTH * OLD) + second * LENGTH / (E * WIDTH * (OLD + NEW))
    assert sequence["loaded"].displacement_at("right")[0] == pytest.approx(moved)
    at_once = {"old": (first + second) * share, "new": (first + second) * (1 - share)}
    assert forces(sequence.all_at_once) == pytest.approx(at_once)
    left = {"old": first * (1 - share), "new": -first * (1 - share)}  # in balance by itself
    assert forces(sequence.locked_in) == pytest.approx(left)
    table = sequence.locked_in_table()
    assert table["locked in (MPa)"].to_dict() == pytest.approx(
        {"old": left["old"] / (WIDTH * OLD), "new": -left["new"] / (WIDTH * NEW)}
    )
    # through a section runs what the bars carry together
    assert sequence["loaded"].section(x=35).force[0] == pytest.approx(first + second)
    assert sequence["loaded"].section(x=35, cells="new").force[0] == pytest.approx(wanted["new"])
    assert sequence.locked_in.section(x=35).force[0] == pytest.approx(0, abs=1e-6)


def test_a_bar_cut_away_gives_back_what_it_carried_and_comes_back_free_of_stress():
    force, more, share = 1000.0, 400.0, OLD / (OLD + NEW)  # by hand, as above
    sequence = fk.solve_stages(
        bars(),
        [
            fk.Stage("both", present=["old", "new"], supports=held(), add=pull(force)),
            fk.Stage("cut", remove="new"),
            fk.Stage("back", insert="new"),
            fk.Stage("more", add=pull(more)),
        ],
    )
    assert forces(sequence["both"]) == pytest.approx({"old": force * share, "new": force * (1 - share)})
    assert forces(sequence["cut"]) == pytest.approx({"old": force})
    assert forces(sequence["back"]) == pytest.approx({"old": force, "new": 0.0}, abs=1e-6)
    assert forces(sequence["more"]) == pytest.approx({"old": force + more * share, "new": more * (1 - share)})
    away = sequence["cut"].displacement_at("right")[0] - sequence["both"].displacement_at("right")[0]
    assert away == pytest.approx(force * LENGTH / (E * WIDTH) * (1 / OLD - 1 / (OLD + NEW)))


def test_what_comes_in_as_another_goes_shares_what_is_released():
    # three equal bars, of which two carry the force; one of them goes as the third comes: by hand P/2 released on two
    two = bars()
    n = two.mesh.n_cells // 2
    sets = {name: np.arange(i * n, (i + 1) * n) for i, name in enumerate(("old", "gone", "new"))}
    quads = np.vstack([two.mesh.cells["quad"][:n]] * 3)
    mesh = replace(two.mesh, cells={"quad": quads}, cell_sets=sets)
    model = replace(two, mesh=mesh, plates=dict.fromkeys(sets, fk.Plate(OLD, BAR)))
    stages = [fk.Stage("two", supports=held(), add=pull(800)), fk.Stage("changed", remove="gone", insert="new")]
    sequence = fk.solve_stages(model, stages)
    assert forces(sequence["two"]) == pytest.approx({"old": 400, "gone": 400})
    assert forces(sequence["changed"]) == pytest.approx({"old": 600, "new": 200})


@pytest.mark.parametrize("cooled", ("taken off", "cooled down"))
def test_a_bar_welded_to_a_warm_one_is_pressed_when_that_cools(cooled):
    # by hand: both must be as long as each other again: N = E α ΔT A1 A2 / (A1 + A2), the warm one in tension
    warm = fk.Temperature("old", 80.0)
    cooling = {"take_off": warm} if cooled == "taken off" else {"add": fk.Temperature("old", -80.0)}
    stages = [
        fk.Stage("warm", supports=held(), add=warm),
        fk.Stage("welded", insert="new"),
        fk.Stage("cold", **cooling),
    ]
    sequence = fk.solve_stages(bars(), stages)
    assert forces(sequence["welded"]) == pytest.approx({"old": 0.0, "new": 0.0}, abs=1e-6)
    force = E * BAR.expansion * 80.0 * WIDTH * OLD * NEW / (OLD + NEW)
    assert forces(sequence["cold"]) == pytest.approx({"old": force, "new": -force})
    assert forces(sequence.all_at_once) == pytest.approx({"old": 0.0, "new": 0.0}, abs=1e-6)


# -- beams on props ---------------------------------------------------------------------------------------------------

SPAN, LOAD, CELLS = 8000.0, 0.5, 80  # mm, N/mm, cells along the span; so slender that shear adds next to nothing
BARS = {"old": fk.flat_bar(80, 20), "new": fk.flat_bar(80, 30)}  # of one depth: they share shear as they do bending
STIFFNESS = {name: E * section.second_moment_y for name, section in BARS.items()}
ENDS = [
    fk.Support(fk.near(0, 0), ux=0, uy=0, uz=0, rx=0, rz=0),
    fk.Support(fk.near(SPAN, 0), uy=0, uz=0),
]
PROP = fk.Support(fk.near(SPAN / 2, 0), uz=0)


def beams():
    """Two flat bars along one line, each about its own centroid."""
    points = np.column_stack([np.linspace(0, SPAN, CELLS + 1), np.zeros(CELLS + 1)])
    line = np.column_stack([np.arange(CELLS), np.arange(CELLS) + 1])
    mesh = fk.Mesh(points, {}, edge_sets={**dict.fromkeys(BARS, line), "all": line})
    return fk.Model(mesh, {}, beams={name: fk.Beam(section, BAR) for name, section in BARS.items()})


def moment(case, name):
    """Largest sagging moment at mid-span, N mm: the bars' far end (+z) is then pressed."""
    ends = case.beam_forces(name)[:, :, 4]
    return -ends[CELLS // 2 - 1, 1]


def test_a_prop_that_is_taken_away_leaves_the_simple_beam():
    # two equal spans l under an even load: middle reaction 5/4 w l = 5/8 w (2 l), moment there w l² / 8 (Timoshenko,
    # Strength of Materials part I, art. on continuous beams; value from memory); without the prop w (2 l)² / 8
    load = fk.LineLoad("all", fz=-LOAD)
    stages = [fk.Stage("propped", present="old", supports=[*ENDS, PROP], add=load), fk.Stage("free", supports=ENDS)]
    sequence = fk.solve_stages(beams(), stages)
    propped, free = sequence
    middle = CELLS // 2
    assert propped.reaction[middle, 2] == pytest.approx(5 / 8 * LOAD * SPAN, rel=1e-3)
    assert moment(propped, "old") == pytest.approx(-LOAD * SPAN**2 / 32, rel=1e-3)
    assert free.reaction[middle, 2] == 0
    assert moment(free, "old") == pytest.approx(LOAD * SPAN**2 / 8, rel=1e-3)
    # 5 w L⁴ / 384 E I
    assert -free.displacement[middle, 2] == pytest.approx(5 * LOAD * SPAN**4 / (384 * STIFFNESS["old"]), rel=1.5e-3)
    assert np.abs(sequence.locked_in.displacement).max() < 1e-9 * np.abs(free.displacement).max()


@pytest.mark.parametrize("is_propped", (False, True))
def test_strengthening_takes_part_in_what_the_props_carried(is_propped):
    # by hand, weight w before the new bar is joined, as much again after it. Unpropped the old bar carries w alone.
    # Propped it has w L² (-1/32); taking the prop away puts 5/8 w L on both, 5/32 w L² at mid-span
    share, whole = STIFFNESS["old"] / sum(STIFFNESS.values()), LOAD * SPAN**2
    props = [PROP] if is_propped else []
    sequence = fk.solve_stages(
        beams(),
        [
            fk.Stage("weight", supports=[*ENDS, *props], add=fk.LineLoad("all", fz=-LOAD)),
            fk.Stage("joined", insert="new"),
            fk.Stage("props away", supports=ENDS),
            fk.Stage("payload", add=fk.LineLoad("all", fz=-LOAD)),
        ],
    )
    assert np.abs(sequence["joined"].beam_forces("new")).max() < 1e-6 * whole
    dead = {"old": (-1 / 32 + 5 / 32 * share), "new": 5 / 32 * (1 - share)} if is_propped else {"old": 1 / 8, "new": 0}
    assert moment(sequence["props away"], "old") == pytest.approx(dead["old"] * whole, rel=1.5e-3)
    assert moment(sequence["props away"], "new") == pytest.approx(dead["new"] * whole, rel=1.5e-3, abs=1e-6 * whole)
    assert moment(sequence["payload"], "old") == pytest.approx((dead["old"] + share / 8) * whole, rel=1.5e-3)
    assert moment(sequence["payload"], "new") == pytest.approx((dead["new"] + (1 - share) / 8) * whole, rel=1.5e-3)
    assert moment(sequence.all_at_once, "new") == pytest.approx((1 - share) / 4 * whole, rel=1.5e-3)
    locked = [moment(sequence.locked_in, name) for name in BARS]
    assert sum(locked) == pytest.approx(0, abs=1e-6 * whole)
    assert locked[0] == pytest.approx((dead["old"] - share / 8) * whole, rel=3e-3)


def test_a_prop_is_lowered_by_so_much():
    # simple beam with a force at mid-span: F = 48 E I d / L³; 5/8 w L less that is left on the prop
    load, by = fk.LineLoad("all", fz=-LOAD), (3.0, 2.0)
    stages = [fk.Stage("propped", present="old", supports=[*ENDS, PROP], add=load)]
    stages += [fk.Stage(f"lowered by {d}", supports=[*ENDS, replace(PROP, uz=-d)]) for d in by]
    stages += [fk.Stage("waiting")]
    sequence = fk.solve_stages(beams(), stages)
    left = 5 / 8 * LOAD * SPAN
    for case, d in zip(sequence, (0, *by, 0)):
        left -= 48 * STIFFNESS["old"] * d / SPAN**3
        assert case.reaction[CELLS // 2, 2] == pytest.approx(left, rel=1.5e-3)
        assert case.reaction[:, 2].sum() == pytest.approx(LOAD * SPAN)
    assert sequence["waiting"].displacement[CELLS // 2, 2] == pytest.approx(-sum(by))
    # all at once the prop stands as much lower in all
    assert np.abs(sequence.locked_in.displacement).max() < 1e-9 * sum(by)


# -- strips that are cut ----------------------------------------------------------------------------------------------


def strip():
    """A flat strip of 1000 mm that stands on its ends; ``gap`` are its middle 20 mm."""
    sheet = grid(1000.0, 20.0, 100, 2)
    is_gap = np.abs(sheet.centres[:, 0] - 500) < 10
    mesh = replace(sheet, cell_sets={"gap": np.flatnonzero(is_gap), "halves": np.flatnonzero(~is_gap)})
    return fk.Model(mesh, {name: fk.Plate(10.0, BAR) for name in mesh.cell_sets})


ON_ENDS = [
    fk.Support("left", ux=0, uz=0),
    fk.Support("right", ux=0, uz=0),
    fk.Support(fk.near(0, 0), uy=0),
    fk.Support(fk.near(1000, 0), uy=0),
]
TRESTLES = [fk.Support(fk.on_plane(x=x), uz=0) for x in (490, 510)]


def test_a_strip_cut_on_trestles_stays_where_it_has_sagged():
    # by hand: whole, w = m g and 5 w L⁴ / 384 E I at mid-span, w x (L³ - 2 L x² + x³) / 24 E I at x (Timoshenko,
    # Strength of Materials part I; value from memory). Cut between trestles that came in without force, each half is
    # a simple beam of its own, l = 490: w l / 2 on either end, and its middle sags by 5 w l⁴ / 384 E I off its chord,
    # whose one end stays where the whole had sagged to
    stages = [
        fk.Stage("whole", supports=ON_ENDS, add=fk.Gravity()),
        fk.Stage("trestles", supports=[*ON_ENDS, *TRESTLES]),
        fk.Stage("cut", remove="gap"),
    ]
    sequence = fk.solve_stages(strip(), stages)
    whole, trestles, cut = sequence
    stiffness, w = E * 20 * 10**3 / 12, BAR.density * 20 * 10 * 9806.65
    sagged = lambda x: w * x * (1000**3 - 2 * 1000 * x**2 + x**3) / (24 * stiffness)  # noqa: E731
    assert -whole.displacement_at(fk.on_plane(x=490))[2] == pytest.approx(sagged(490), rel=1e-3)
    assert trestles.reaction[:, 2] == pytest.approx(whole.reaction[:, 2], abs=1e-6 * w * 1000)
    assert cut.model.mesh.n_cells == 196
    table = cut.reactions()["Fz (N)"]
    assert table.iloc[[0, 1, 4, 5]].to_numpy() == pytest.approx(w * 490 / 2, rel=1e-3)
    assert cut.displacement_at(fk.on_plane(x=490))[2] == pytest.approx(-sagged(490), rel=1e-3)
    middle = sagged(490) * 250 / 490 + 5 * w * 490**4 / (384 * stiffness)  # the point nearest to it, at x = 250
    assert -cut.displacement_at(fk.on_plane(x=250))[2] == pytest.approx(middle, rel=1e-3)
    assert -sequence.locked_in.displacement_at(fk.on_plane(x=490))[2] == pytest.approx(sagged(490), rel=1e-3)
    # what is carried is told by statics alone: nothing is locked in
    assert sequence.locked_in.judged_stress().max() < 1e-6 * cut.judged_stress().max()


def test_a_strip_cut_without_trestles_falls_and_the_stage_is_named():
    stages = [fk.Stage("whole", supports=ON_ENDS, add=fk.Gravity()), fk.Stage("cut", remove="gap")]
    with pytest.raises(
        fk.ModelError, match=r'stage "cut": the part "halves" around .* can turn about the line along y'
    ):
        fk.solve_stages(strip(), stages)


# -- shells in space --------------------------------------------------------------------------------------------------


def box(kind="quad"):
    """A wall of 600 by 400 with a flange along its foot, a doorway's piece, and a pillar that stands up on its edge."""
    wall = grid(600.0, 500.0, 12, 10, kind=kind, to_space=_folded)
    x, y, z = wall.centres.T
    is_wall = y < 1
    sets = {"flange": ~is_wall, "piece": is_wall & (x > 200) & (x < 400) & (z < 300)}
    sets["sheet"] = is_wall & ~sets["piece"]
    n, pillar = wall.n_points, []
    foot = np.flatnonzero((wall.points[:, 0] == 200) & (wall.points[:, 1] == 0))
    foot = foot[np.argsort(wall.points[foot, 2])]
    points = np.vstack([wall.points, wall.points[foot] + [0, 60, 0]])
    for i in range(len(foot) - 1):
        pillar.append([foot[i], n + i, n + i + 1, foot[i + 1]])
    cells = {"triangle": wall.cells.get("triangle", []), "quad": [*wall.cells.get("quad", []), *pillar]}
    sets = {name: np.flatnonzero(mask) for name, mask in sets.items()}
    sets["pillar"] = np.arange(wall.n_cells, wall.n_cells + len(pillar))
    mesh = fk.Mesh(points, cells, cell_sets=sets, edge_sets={k: wall.edge_sets[k] for k in ("far", "left", "right")})
    return fk.Model(mesh, {name: fk.Plate(4.0, STEEL) for name in sets})


def _folded(flat):
    """The first 100 mm of the width lie flat as a flange, the rest stands up."""
    x, y, _ = flat.T
    return np.column_stack([x, np.maximum(100 - y, 0), np.maximum(y - 100, 0)])


CORNERS = [fk.Support("left", ux=0, uz=0), fk.Support("right", uz=0), fk.Support("far", uy=0)]
UNDER = fk.Support(fk.inside(x=(200, 400), y=(0, 0), z=(0, 0)), uz=0)


@pytest.mark.parametrize("kind", ("quad", "triangle", "mixed"))
def test_each_state_balances_the_weight_that_is_there(kind):
    model = box(kind)
    stages = [
        fk.Stage("trestles", supports=[*CORNERS, UNDER], add=fk.Gravity()),
        fk.Stage("cut", remove="piece"),
        fk.Stage("pillar", insert="pillar"),
        fk.Stage("lowered", supports=CORNERS),
        fk.Stage("roof", add=fk.LineLoad("far", fz=-3.0)),
    ]
    sequence = fk.solve_stages(model, stages)
    weight = {
        name: model.mesh.areas[cells].sum() * 4 * STEEL.density * 9806.65 for name, cells in model.plate_cells.items()
    }
    there = weight["sheet"] + weight["flange"]
    wanted = [there + weight["piece"], there, *[there + weight["pillar"]] * 2, there + weight["pillar"] + 1800]
    for state, each in zip(sequence, wanted):
        assert state.reaction.sum(axis=0)[2] == pytest.approx(each, rel=1e-9)
        assert -state.load.sum(axis=0)[2] == pytest.approx(each, rel=1e-9)
        moment = lambda f: f[:, 3:].sum(axis=0) + np.cross(state.model.mesh.points, f[:, :3]).sum(axis=0)  # noqa: B023, E731
        assert moment(state.reaction + state.load) == pytest.approx(np.zeros(3), abs=1e-6 * each * 600)
        # what cells put on points is what loads and reactions put there
        at_points = np.zeros_like(state.load)
        for each_kind, points, _block in state.model.mesh.blocks():
            np.add.at(at_points, points, state.cell_forces[each_kind])
        assert at_points == pytest.approx(state.load + state.reaction, abs=1e-7 * each)
    assert sequence.proof()["imbalance of the state (N)"].max() < 1e-6
    assert sequence.table()["mass (t)"].to_numpy() * 9806.65 == pytest.approx(np.array(wanted) - [0, 0, 0, 0, 1800])
    assert sequence["cut"].reactions().loc[str(UNDER.where), "Fz (N)"] > 0
    assert "piece" not in sequence["cut"].model.plates and "pillar" not in sequence["cut"].model.plates


def test_nothing_staged_is_all_at_once():
    model = box("mixed")
    names = list(model.plates)
    loads = [fk.Gravity(), fk.LineLoad("far", fy=0.1, fz=-3.0), fk.Temperature("sheet", 20.0)]
    stages = [fk.Stage("weight", present=names, supports=CORNERS, add=loads[:1])]
    stages += [fk.Stage("roof", add=loads[1:2]), fk.Stage("sun", add=loads[2:])]
    sequence = fk.solve_stages(model, stages)
    case = fk.LoadCase("load", loads, supports=CORNERS)
    plain = fk.solve_static(replace(model, load_cases=[case]))["load"]
    last = sequence["sun"]
    assert last.displacement == pytest.approx(plain.displacement, abs=1e-10 * np.abs(plain.displacement).max())
    assert last.resultants == pytest.approx(
        plain.resultants, abs=1e-9 * np.nanmax(np.abs(plain.resultants)), nan_ok=True
    )
    assert last.reaction == pytest.approx(plain.reaction, abs=1e-9 * np.abs(plain.reaction).max())
    assert sequence.locked_in.judged_stress().max() < 1e-8 * last.judged_stress().max()


def test_a_new_part_is_made_to_fit():
    # where the wall has moved as a rigid body before, the pillar comes in where that body would carry it
    model = box()
    lifted = [fk.Support(fk.inside(z=(0, 0)), ux=0, uy=0, uz=5.0, rx=0, ry=0, rz=0)]
    stages = [
        fk.Stage("lifted", present=["sheet", "flange", "piece"], supports=lifted),
        fk.Stage("in", insert="pillar"),
    ]
    sequence = fk.solve_stages(model, stages)
    assert sequence["in"].displacement[:, 2] == pytest.approx(5.0)
    assert sequence["in"].judged_stress().max() < 1e-6
    assert np.abs(sequence.locked_in.displacement).max() < 1e-9


def test_links_and_masses_come_with_what_they_join():
    # a force of 100 N on a point of its own that the pillar carries rigidly, and a mass on the pillar, both only then
    bare = box()
    n = bare.mesh.n_points
    mesh = replace(bare.mesh, points=[*bare.mesh.points, (200, 120, 400)], point_sets={"hook": [n]})
    model = replace(
        bare,
        mesh=mesh,
        links=[fk.RigidLink(fk.inside(y=(60, 60), z=(400, 400)), to="hook")],
        masses=[fk.PointMass("hook", 0.01)],
    )
    stages = [
        fk.Stage("wall", supports=CORNERS, add=fk.Gravity()),
        fk.Stage("pillar", insert="pillar"),
        fk.Stage("hung on", add=fk.PointLoad("hook", fz=-100)),
    ]
    wall, pillar, hung = fk.solve_stages(model, stages)
    area = mesh.areas[mesh.cell_sets["pillar"]].sum()
    own = area * 4 * STEEL.density + 0.01
    assert wall.model.links == () and wall.model.masses == ()
    assert pillar.reaction[:, 2].sum() - wall.reaction[:, 2].sum() == pytest.approx(own * 9806.65)
    assert hung.reaction[:, 2].sum() - pillar.reaction[:, 2].sum() == pytest.approx(100)


def test_a_beam_along_the_sheet_is_cut_with_it():
    bare = box()
    x, y, z = bare.mesh.points.T
    rail = np.flatnonzero((y == 0) & (z == 150))
    rail = rail[np.argsort(x[rail])]
    mesh = replace(bare.mesh, edge_sets={"rail": np.column_stack([rail[:-1], rail[1:]]), **bare.mesh.edge_sets})
    model = replace(bare, mesh=mesh, beams={"rail": fk.Beam(fk.flat_bar(30, 5), STEEL, up=(0, 1, 0), offset=2)})
    stages = [
        fk.Stage("whole", present=["sheet", "flange", "piece", "rail"], supports=CORNERS, add=fk.Gravity()),
        fk.Stage("cut", remove="piece"),
        fk.Stage("new sheet", insert="piece"),
        fk.Stage("new rail", insert="rail"),
    ]
    states = list(fk.solve_stages(model, stages))
    assert [len(state.model.beam_cells) for state in states] == [12, 8, 8, 12]
    force = states[-1].beam_forces("rail")
    middle = states[-1].model.mesh.points[states[-1].model.beam_cells.points].mean(axis=1)[:, 0]
    assert np.abs(force[(middle > 200) & (middle < 400)]).max() > 0  # of the new pieces' own weight
    with pytest.raises(fk.ModelError, match='stage "too soon": a beam runs along cells that are not there'):
        fk.solve_stages(model, [*stages[:2], fk.Stage("too soon", insert="rail")])


def test_states_are_load_cases_to_everything_else(tmp_path):
    stages = [
        fk.Stage("before", present=["sheet", "flange", "piece"], supports=CORNERS, add=fk.LineLoad("far", fz=-9.0))
    ]
    stages += [fk.Stage("cut", remove="piece"), fk.Stage("pillar", insert="pillar")]
    sequence = fk.solve_stages(box(), stages)
    state = sequence["cut"]
    assert state.parent.largest().index.tolist() == ["flange", "sheet"]
    assert state.parent.write(tmp_path / "cut.vtu").exists()
    assert list(sequence.results[-1].names) == ["pillar", "all at once", "locked in"]
    assert sequence["pillar"].error_estimate().share > 0
    assert fk.solve_buckling(state.parent, "cut", 1).factor[0] > 0
    assert "3 stages, before to pillar" in repr(sequence) and "<table" in sequence._repr_html_()
    assert sequence.locked_in_table().loc["pillar", "locked in (MPa)"] > 0
    difference = sequence["pillar"].stress() - sequence.all_at_once.stress()
    assert sequence.locked_in.stress() == pytest.approx(difference)


@pytest.mark.parametrize(
    ("stages", "said"),
    [
        ([], "stages: there are none"),
        ([fk.Stage("a"), fk.Stage("a")], '2 stages are named "a"'),
        ([fk.Stage("locked in")], '2 stages are named "locked in"'),
        (
            [fk.Stage("a", remove="piec")],
            'stage "a": remove: there is no cell set or beam "piec". Did you mean "piece"',
        ),
        ([fk.Stage("a", insert="piece"), fk.Stage("b", insert="piece")], 'stage "b": insert: piece is there already'),
        ([fk.Stage("a", remove="piece"), fk.Stage("b", remove="piece")], 'stage "b": remove: piece is not there'),
        ([fk.Stage("a"), fk.Stage("b", remove="piece", insert="piece")], 'stage "b": insert: piece is there already'),
        ([fk.Stage("a", take_off=fk.Gravity())], 'stage "a": gravity does not act'),
        ([fk.Stage("a", add=fk.PointLoad(3, fx=1.0))], "numbers change when parts come and go"),
        ([fk.Stage("a", remove="piece", add=fk.Pressure("piece", 1.0))], "the selection (piece) holds nothing"),
        ([fk.Stage("a", add=fk.Gravity(), supports=[])], 'stage "a": the whole model can'),
    ],
)
def test_what_is_wrong_with_stages_is_said(stages, said):
    stages = [replace(stages[0], supports=CORNERS), *stages[1:]] if stages and stages[0].supports is None else stages
    with pytest.raises(fk.ModelError) as caught:
        fk.solve_stages(box(), stages)
    assert said in str(caught.value)


def test_a_stage_refuses_what_can_not_be_meant():
    with pytest.raises(fk.ModelError, match="present says all that is there"):
        fk.Stage("a", present="sheet", remove="piece")
    with pytest.raises(fk.ModelError, match="is not a load"):
        fk.Stage("a", add=[fk.Support("left", ux=0)])


def test_springs_are_refused():
    model = replace(box(), links=[fk.Spring("left", ux=100.0)])
    with pytest.raises(fk.ModelError, match=r"spring on \"left\" can't take part yet"):
        fk.solve_stages(model, [fk.Stage("a", supports=CORNERS)])

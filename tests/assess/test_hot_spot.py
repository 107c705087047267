"""Hot-spot stress: exact where the structural stress is known by beam theory, near published fields, refused elsewhere."""

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk
from femkit.assess.fatigue import HOT_SPOT_RULES, HotSpotRule, hot_spots
from femkit.verify.openings import circle, kirsch, ring, square, stretched

KINDS = ("quad", "triangle", "mixed")
NU_0 = fk.Material("beam-like", E=210_000, nu=0.0)
CLAMPED = dict.fromkeys(("ux", "uy", "uz", "rx", "ry", "rz"), 0)


def extruded(legs, width=20.0, n=4):
    """Strips in x and z drawn out along y: legs by cell set, each (m, 2) corners along its profile, one a row.

    Every inner line of a leg is an edge set "set-i", from its first end on; points in one place are one.
    """
    points, quads, sets, lines = [], [], {}, {}
    for name, profile in legs.items():
        y = np.linspace(0, width, n + 1)
        start, m = sum(map(len, points)), len(profile)
        x, z = np.repeat(np.array(profile, dtype=float), n + 1, axis=0).T
        points.append(np.column_stack([x, np.tile(y, m), z]))
        number = start + np.arange(m * (n + 1)).reshape(m, n + 1)
        made = np.stack([number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]], axis=-1).reshape(-1, 4)
        sets[name] = sum(map(len, quads)) + np.arange(len(made))
        quads.append(made)
        lines[name] = number
    _, first, one = np.unique(np.concatenate(points).round(6), axis=0, return_index=True, return_inverse=True)
    edge_sets = {}
    for name, number in lines.items():
        for end, row in (("start", number[0]), ("end", number[-1])):
            edge_sets[f"{name} {end}"] = np.column_stack([row[:-1], row[1:]])
    one = one.ravel()
    return fk.Mesh(
        np.concatenate(points)[first],
        {"quad": one[np.concatenate(quads)]},
        cell_sets=sets,
        edge_sets={name: one[pairs] for name, pairs in edge_sets.items()},
    )


def straight(begin, end, size):
    """Corners along a straight profile, about `size` apart."""
    begin, end = np.array(begin, dtype=float), np.array(end, dtype=float)
    return np.linspace(begin, end, 1 + round(np.linalg.norm(end - begin) / size))


def strip(size, t=5.0, kind="quad", load=None):
    """A cantilever of 200 mm in the plane, clamped at its left edge, solved."""
    mesh = grid(200, 20, round(200 / size), 4, kind=kind)
    load = load or fk.LineLoad("right", fz=-1.0)
    cases = [fk.LoadCase("load", [load]), fk.LoadCase("pull", [fk.LineLoad("right", fx=50.0)])]
    support = fk.Support("left", **CLAMPED)
    return fk.solve_static(fk.Model(mesh, fk.Plate(t, NU_0), supports=[support], load_cases=cases))


# -- rules ------------------------------------------------------------------------------------------------------------


def test_rules_give_the_worked_values():
    # Hobbacher, IIW recommendations, 2nd ed. (values from memory), worked by hand with the printed weights
    surface, edge = HOT_SPOT_RULES["surface"], HOT_SPOT_RULES["edge"]
    assert surface["fine"].extrapolate([180, 150]) == pytest.approx(200.0)  # 200.1 with the rounded 1.67 and -0.67
    assert surface["fine"].extrapolate([180, 150]) == pytest.approx(1.67 * 180 - 0.67 * 150, abs=0.11)
    assert surface["coarse"].extrapolate([176, 140]) == pytest.approx(194.0)
    assert surface["quadratic"].extrapolate([180, 155, 140]) == pytest.approx(207.2)
    assert edge["fine"].extrapolate([190, 160, 145]) == pytest.approx(235.0)
    assert edge["coarse"].extrapolate([190, 160]) == pytest.approx(205.0)


@pytest.mark.parametrize("rule", [rule for rules in HOT_SPOT_RULES.values() for rule in rules.values()])
def test_weights_are_those_of_the_polynomial_through_the_points(rule):
    x = np.array(rule.distances)
    lagrange = [np.prod(np.delete(x, i) / (np.delete(x, i) - x[i])) for i in range(len(x))]
    assert rule.weights == pytest.approx(lagrange, rel=1e-12)


# -- structural stress that is known ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("rule", "size"), [("fine", 2.0), ("quadratic", 2.0), ("coarse", 5.0)])
@pytest.mark.parametrize("kind", KINDS)
def test_bending_that_grows_linearly_is_carried_on_to_the_clamp(kind, rule, size):
    # beam theory: 6 F L / t² = 48 MPa at the clamp of a cantilever; 50 / 5 = 10 MPa in the even pull
    spots = hot_spots(strip(size, kind=kind), "left", rule=rule)
    assert spots.by_case["load"] == pytest.approx(np.array([[48.0, 0, 0]] * 4), abs=0.3 if kind != "quad" else 1e-5)
    assert spots.by_case["pull"] == pytest.approx(np.array([[10.0, 0, 0]] * 4), abs=1e-6)
    assert spots.stress({"load": 1, "pull": -2})[:, 0] == pytest.approx(28.0, abs=0.3 if kind != "quad" else 1e-5)
    assert spots.thickness == pytest.approx(5.0) and spots.why == ("",) * 4 and not spots.notes


def test_the_bottom_has_the_bending_with_the_other_sign():
    assert hot_spots(strip(2.0), "left", surface="bottom").by_case["load"][:, 0] == pytest.approx(-48.0)


def test_the_parabola_follows_bending_that_grows_with_the_square():
    # pressure p on a cantilever: 3 p (L - x)² / t², 48 MPa at the clamp
    result = strip(2.0, load=fk.Pressure("sheet", 0.01))
    field = lambda x: 3 * 0.01 * (200 - x) ** 2 / 25  # noqa: E731
    for rule in ("quadratic", "fine"):
        weights, distances = HOT_SPOT_RULES["surface"][rule].weights, HOT_SPOT_RULES["surface"][rule].distances
        by_hand = sum(w * field(5 * d) for w, d in zip(weights, distances))
        found = hot_spots(result, "left", rule=rule).by_case["load"][:, 0]
        assert np.abs(found) == pytest.approx(by_hand, rel=1e-4)
    assert np.abs(hot_spots(result, "left", rule="quadratic").by_case["load"][:, 0]) == pytest.approx(48.0, rel=1e-4)


@pytest.mark.parametrize(("rule", "size"), [("fine", 1.0), ("quadratic", 1.0), ("coarse", 3.0)])
def test_doubler_on_one_side_bends_the_sheet_before_its_toe(rule, size):
    # A strip of 3 with 3 more on one side over its middle, both ends held against turning, pulled by N in its own middle
    # plane: the doubled part's axis lies e = 1.5 off, and no turn is left in all: with M in the sheet,
    # 2 M L1 / EI1 + (M - N e) L2 / EI2 = 0; surface stress N/t ± 6 M/t²
    l1, l2, n = 60.0, 90.0, 100.0
    parts = {"rear": ((0, 0), (l1, 0)), "doubled": ((l1, 0), (l1 + l2, 0)), "front": ((l1 + l2, 0), (2 * l1 + l2, 0))}
    mesh = extruded({name: straight(*ends, size) for name, ends in parts.items()})
    up = mesh.normals[0, 2]
    plates = {"rear": fk.Plate(3, NU_0), "doubled": fk.Plate(6, NU_0, offset=1.5), "front": fk.Plate(3, NU_0)}
    free = {name: 0 for name in CLAMPED if name != "ux"}
    supports = [fk.Support("rear start", **CLAMPED), fk.Support("front end", **(free | {}))]
    pull = fk.LoadCase("pull", [fk.LineLoad("front end", fx=n)])
    result = fk.solve_static(fk.Model(mesh, plates, supports=supports, load_cases=[pull]))
    i1, i2, e = 3**3 / 12, 6**3 / 12, 1.5
    moment = n * e * (l2 / i2) / (2 * l1 / i1 + l2 / i2)
    found = {
        side: hot_spots(result, "doubled start", into="rear", rule=rule, surface=side).by_case["pull"]
        for side in ("top", "bottom")
    }
    high, low = n / 3 + 6 * moment / 9, n / 3 - 6 * moment / 9
    same, other = found["top"][:, 0], found["bottom"][:, 0]
    assert up and sorted([same[0], other[0]]) == pytest.approx([low, high], rel=1e-6)
    assert np.ptp(same) < 1e-6 * high and same.mean() + other.mean() == pytest.approx(2 * n / 3, rel=1e-9)
    assert same[0] == pytest.approx(low if found["top"][0, 0] < n / 3 else high, rel=1e-6)


def tee(size=2.0, t=5.0):
    """A flange on two supports with a web on its middle, pushed along x at the web's end: N/mm, mm."""
    legs = {
        "left": straight((-100, 0), (0, 0), size),
        "right": straight((0, 0), (60, 0), size),
        "web": straight((0, 0), (0, 80), size),
    }
    mesh = extruded(legs)
    supports = [fk.Support("left start", ux=0, uy=0, uz=0), fk.Support("right end", uz=0)]
    push = fk.LoadCase("push", [fk.LineLoad("web end", fx=2.0)])
    plates = {name: fk.Plate(t, NU_0) for name in legs}
    return fk.solve_static(fk.Model(mesh, plates, supports=supports, load_cases=[push]))


def test_moments_at_a_joint_are_in_balance():
    # 2 N/mm at 80 mm: 160 N mm/mm in the web at the joint; the supports, 160 mm apart, push with 1 N/mm: 100 and 60
    result, t = tee(), 5.0
    moment, pull = {}, {}
    for leg in ("left", "right", "web"):
        end = "left end" if leg == "left" else f"{leg} start"
        top, bottom = (
            hot_spots(result, end, into=leg, surface=side).by_case["push"][:, 0] for side in ("top", "bottom")
        )
        moment[leg], pull[leg] = (top - bottom) / 2 * t**2 / 6, (top + bottom) / 2
    assert np.abs(moment["left"]) == pytest.approx(100.0, rel=1e-6)
    assert np.abs(moment["right"]) == pytest.approx(60.0, rel=1e-6)
    assert np.abs(moment["web"]) == pytest.approx(160.0, rel=1e-6)
    assert pull["left"] == pytest.approx(2 / t, rel=1e-6)  # the push is held at the left end
    assert pull["right"] == pytest.approx(0.0, abs=1e-6) and pull["web"] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("rule", "size"), [("fine", 4.0), ("coarse", 10.0)])
def test_bending_in_its_plane_is_carried_on_along_an_edge(rule, size):
    # beam theory: F (L - x) h/2 / I at the upper edge of a cantilever 400 × 80 × 6 under 3000 N; 141 MPa at x = 40
    mesh = grid(400, 80, round(400 / size), round(80 / size))
    load = fk.LoadCase("load", [fk.LineLoad("right", fy=-3000, total=True)])
    model = fk.Model(mesh, fk.Plate(6, NU_0), supports=[fk.Support("left", **CLAMPED)], load_cases=[load])
    toe = ((120, 80, 0), (200, 80, 0))
    spots = hot_spots(fk.solve_static(model), toe, kind="edge", rule=rule)
    by_hand = 3000 * 280 * 40 / (6 * 80**3 / 12)
    assert spots.by_case["load"][0, 0] == pytest.approx(by_hand, rel=0.002)
    assert spots.by_case["load"][0, 1] == pytest.approx(0, abs=0.01 * by_hand)
    assert spots.surface == "middle" and spots.why == ("",)


def beside_a_hole(kind, rule, n, t=0.2):
    """Largest errors across, along and in shear round a hole: what the rule makes of the exact field is exact."""
    result = stretched(ring(kind, n, circle(1.0), square(4.0), 1.0), kirsch(0.0)).parent
    spots = hot_spots(result, "s=0", rule=rule, thickness=t, accept_coarse=True)
    angle = np.arctan2(spots.places[:, 1], spots.places[:, 0])

    def polar(r):
        p, two = 1 / r**2, 2 * angle
        radial = (1 - p + (1 - 4 * p + 3 * p**2) * np.cos(two)) / 2
        hoop = (1 + p - (1 + 3 * p**2) * np.cos(two)) / 2
        return np.stack([radial, hoop, -(1 + 2 * p - 3 * p**2) * np.sin(two) / 2], axis=1)

    table = HOT_SPOT_RULES["surface"][rule]
    exact = sum(w * polar(1 + t * d) for w, d in zip(table.weights, table.distances))
    assert np.ptp(angle) > 1.5 and (np.diff(spots.along) > 0).all() and exact[:, 1].max() > 2.7
    return np.abs(spots.by_case["load"] - exact).max(axis=0)


@pytest.mark.parametrize("rule", ["fine", "quadratic"])
@pytest.mark.parametrize(("kind", "within"), [("quad", 0.012), ("triangle", 0.045)])
def test_beside_a_hole_the_rules_give_what_they_make_of_the_exact_field(kind, within, rule):
    # E. G. Kirsch: S. P. Timoshenko & J. N. Goodier, Theory of Elasticity, 3rd ed., art. 35; radius 1, pull 1 along x
    coarse, fine = beside_a_hole(kind, rule, 24), beside_a_hole(kind, rule, 48)
    assert (fine[:2] < within).all() and fine[2] < 0.035  # of a hoop stress of 2.8; shear where symmetry cuts
    if kind == "quad":
        assert (coarse[:2] / fine[:2] > 3).all()  # of second order


# -- meshes and rules agree -------------------------------------------------------------------------------------------


def bracket(size, t=6.0):
    """A plate 240 × 80, pulled, with a lengthwise bracket 60 long and 40 high on its middle line."""
    edges = lambda a, b: np.linspace(a, b, 1 + round((b - a) / size))  # noqa: E731
    x, y = edges(0, 240), edges(-40, 40)
    plate = any_grid("quad", len(x) - 1, len(y) - 1, lambda s, q: np.column_stack([240 * s, 80 * q - 40]))
    return plate, x, y


# -- lines that come to an end ----------------------------------------------------------------------------------------


def whys(result, line, **more):
    with pytest.raises(fk.FemkitError) as fault:
        hot_spots(result, line, **more)
    return str(fault.value)


def test_lines_that_leave_their_plate_say_where():
    result = tee()
    said = whys(result, ((57, 10, 0), (60, 10, 0)), into="right")
    assert '"line from (57, 10, 0)"' in said and "leaves the plate after 3 mm at (60, 10, 0)" in said
    said = whys(result, ((-3, 10, 0), (50, 10, 0)), into="left")
    assert "crosses a junction after 3 mm at (0, 10, 0)" in said


@pytest.mark.parametrize("turn", [40, 90])
def test_lines_end_at_a_fold_but_not_at_a_gentle_bend(turn):
    lean = np.radians(turn)
    legs = {
        "one": straight((0, 0), (20, 0), 2.0),
        "two": straight((20, 0), (20 + 20 * np.cos(lean), 20 * np.sin(lean)), 2.0),
    }
    mesh = extruded(legs)
    load = fk.LoadCase("load", [fk.LineLoad("two end", fy=-1.0)])
    plates = {name: fk.Plate(5, STEEL) for name in legs}
    result = fk.solve_static(fk.Model(mesh, plates, supports=[fk.Support("one start", **CLAMPED)], load_cases=[load]))
    assert 'runs from plate "one" into "two" after 2 mm' in whys(result, ((18, 10, 0), (30, 10, 0)))
    one = fk.solve_static(
        fk.Model(mesh, fk.Plate(5, STEEL), supports=[fk.Support("one start", **CLAMPED)], load_cases=[load])
    )
    assert "crosses a fold after 2 mm at (20, 10, 0)" in whys(one, ((18, 10, 0), (30, 10, 0)))

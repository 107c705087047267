"""Plane stress in rings and bars between two curves: Lamé, Golovin, ellipses."""

from functools import cache

import numpy as np

import femkit as fk

from .answers import edge_loads, solved, stress_at
from .case import Case, rows
from .grids import grid
from .plane import INSIDE, MOVED, SMALL, STRESS_REASON, TG

__all__ = ["CASES", "LIMITS", "SYMMETRY", "from_polar"]

SYMMETRY = [fk.Support("t=0", uy=0), fk.Support("t=1", ux=0)]


def from_polar(radial, hoop, shear, turn):
    """Stresses in polar axes, turned by `turn` from global ones, as ``sx sy txy``."""
    c, s = np.cos(turn), np.sin(turn)
    cross = 2 * shear * c * s
    sx, sy = radial * c**2 + hoop * s**2 - cross, radial * s**2 + hoop * c**2 + cross
    return sx, sy, (radial - hoop) * c * s + shear * (c**2 - s**2)


def quarter_ring(kind, n_r, n_t, inner, outer):
    """A quarter between two circles or two ellipses, given by semi-axes; s goes outward, t from x to y."""
    (a, b), (c, d) = np.broadcast_to(inner, 2), np.broadcast_to(outer, 2)

    def place(s, t):
        turn = np.pi / 2 * t
        return np.column_stack([(a + (c - a) * s) * np.cos(turn), (b + (d - b) * s) * np.sin(turn)])

    return grid(kind, n_r, n_t, place)


def elliptic_membrane(kind, n):
    mesh = quarter_ring(kind, n, 3 * n // 2, (2.0, 1.0), (3.25, 2.75))
    loads = edge_loads(mesh, "s=1", all_round(10.0), 0.1)
    case = solved(mesh, 0.1, 210e3, 0.3, supports=SYMMETRY, loads=loads, behaviour="plane stress")
    return stress_at(case, fk.near(2, 0))[0, 1]


@cache
def thick_cylinder(kind, n):
    mesh = quarter_ring(kind, n, 3 * n, 100.0, 200.0)
    loads = edge_loads(mesh, "s=0", all_round(10.0))  # to the right of the inner edge is the ring
    case = solved(mesh, 1.0, 210e3, 0.3, supports=SYMMETRY, loads=loads, behaviour="plane stress")
    inside, outside = fk.near(100, 0), fk.near(200, 0)
    return {
        "growth inside": case.displacement_at(inside)[0],
        "growth outside": case.displacement_at(outside)[0],
        "hoop stress inside": stress_at(case, inside)[0, 1],
        "hoop stress outside": stress_at(case, outside)[0, 1],
        "radial stress inside": stress_at(case, inside)[0, 0],
        "radial stress in the middle": stress_at(case, fk.near(150, 0))[0, 0],
    }


@cache
def curved_bar(kind, n):
    a, b, t, M = 100.0, 200.0, 10.0, 1e6
    log = np.log(b / a)
    scale = 4 * M / (t * ((b**2 - a**2) ** 2 - 4 * a**2 * b**2 * log**2))

    def field(x, y):
        r = np.hypot(x, y)
        first, rest = a**2 * b**2 / r**2 * log, b**2 * np.log(r / b) + a**2 * np.log(a / r)
        radial, hoop = -scale * (first + rest), scale * (first - rest - b**2 + a**2)
        return from_polar(radial, hoop, 0 * r, np.arctan2(y, x))

    mesh = quarter_ring(kind, n, 3 * n, a, b)
    # the edge t=1 runs outward with the bar to its right, so that the field's signs turn
    loads = edge_loads(mesh, "t=1", lambda x, y: tuple(-np.array(field(x, y))), t)
    supports = [fk.Support("t=0", uy=0), fk.Support(fk.near(a, 0), ux=0)]
    case = solved(mesh, t, 210e3, 0.3, supports=supports, loads=loads, behaviour="plane stress")
    middle = fk.near(150 * np.cos(np.pi / 6), 150 * np.sin(np.pi / 6))
    return {
        "hoop stress inside": stress_at(case, fk.near(a, 0))[0, 1],
        "hoop stress outside": stress_at(case, fk.near(b, 0))[0, 1],
        "radial stress in the middle": from_polar(*stress_at(case, middle)[0], -np.pi / 6)[0],
    }


def all_round(pull):
    """The same pull in all directions."""
    return lambda x, y: (pull + 0 * x, pull + 0 * x, 0 * x)


CASES = (
    Case(
        "elliptic membrane",
        claim="the stress at a curved edge comes out",
        source="The Standard NAFEMS Benchmarks, rev. 3, 1990, plane stress (value from memory); "
        "reference: one polynomial of degree 22",
        reference=92.6582,
        printed=92.7,
        measure=elliptic_membrane,
        unit="MPa",
        ladder=(8, 16, 32, 64),
        longer=(),
        **(SMALL | STRESS_REASON | {"evidence": "Ritz"}),
    ),
    *rows(
        "thick cylinder",
        thick_cylinder,
        {
            "growth inside": (9.3650794e-3, MOVED | {"unit": "mm"}),
            "growth outside": (6.3492063e-3, MOVED | {"unit": "mm"}),
            "hoop stress inside": 50 / 3,
            "hoop stress outside": 20 / 3,
            "radial stress in the middle": (-70 / 27, INSIDE),
        },
        claim="a ring under pressure swells and is stressed as Lamé says",
        source=f"{TG} art. 28",
        unit="MPa",
        ladder=(4, 8, 16, 32),
        longer=(64,),
        **(SMALL | STRESS_REASON),
    ),
    *rows(
        "curved bar in bending",
        curved_bar,
        {
            "hoop stress inside": 77.552436,
            "hoop stress outside": -49.170168,
            "radial stress in the middle": (9.8703121, INSIDE),
        },
        claim="bending of a thick curved bar is not linear through its depth",
        source=f"{TG} art. 29",
        unit="MPa",
        ladder=(4, 8, 16, 32),
        longer=(64,),
        **(SMALL | STRESS_REASON),
    ),
)

LIMITS = (
    *rows(
        "thick cylinder",
        thick_cylinder,
        {"radial stress inside": -10.0},
        claim="the pressure on an edge is read from the cells as of half a cell inside",
        source=f"{TG} art. 28",
        unit="MPa",
        ladder=(4, 8, 16, 32),
        longer=(64,),
        note="a cell knows no traction on its edge; what acts there is known better from the load",
        **(SMALL | STRESS_REASON),
    ),
)

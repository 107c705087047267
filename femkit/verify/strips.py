"""Strips under load, flat, curved, twisted and folded: slender beams of shells."""

from functools import cache

import numpy as np

import femkit as fk

from .answers import solved, stress_at
from .case import Case, rows
from .grids import grid, joined
from .plane import MH85, SHAPES, tilted
from .shells import CLAMPED, COMMON, ON_X, ON_Y, RITZ

__all__ = ["CASES", "LIMITS"]


def twisted_ribbon(kind, n, thickness, load, direction):
    def place(s, t):
        angle, across = np.pi / 2 * s, 1.1 * (t - 0.5)
        return np.column_stack([12 * s, across * np.cos(angle), across * np.sin(angle)])

    tip = fk.LineLoad("s=1", **{("fx", "fy", "fz")[direction]: load}, total=True)
    case = solved(
        grid(kind, n, n // 6, place), thickness, 29e6, 0.22, supports=[fk.Support("s=0", **CLAMPED)], loads=[tip]
    )
    return case.displacement_at("s=1")[direction]


def hook_of_two_arcs(kind, n):
    """Meshes as published: 9 to 144 round, 1 to 20 in the width."""
    bend, first = np.radians(60.0), round(n * 60 / 210) / n

    def place(s, t):
        one = bend * np.minimum(s / first, 1)
        two = bend - np.radians(150.0) * np.clip((s - first) / (1 - first), 0, 1)
        is_one = s <= first
        x = np.where(is_one, 14 * np.sin(one), 60 * np.sin(bend) - 46 * np.sin(two))
        z = np.where(is_one, 14 * np.cos(one), 60 * np.cos(bend) - 46 * np.cos(two))
        return np.column_stack([x, 20 * t, z])

    mesh = grid(kind, n, {9: 1, 18: 3, 36: 5, 72: 10, 144: 20}[n], place)
    tip = fk.LineLoad("s=1", fy=1.0, total=True)
    case = solved(mesh, 2.0, 3300.0, 0.35, supports=[fk.Support("s=0", **CLAMPED)], loads=[tip])
    return case.displacement_at("s=1")[1]


def zed_cantilever(kind, n):
    """Axial stress at a flange's free edge, a quarter of the length from the root, under a torque of flange shears."""
    x = lambda s: 10.0 * s  # noqa: E731
    mesh = joined(
        web=grid(kind, n, n // 4, lambda s, t: np.column_stack([x(s), 0 * s, 2 * t - 1])),
        upper=grid(kind, n, n // 8, lambda s, t: np.column_stack([x(s), t, 0 * s + 1])),
        lower=grid(kind, n, n // 8, lambda s, t: np.column_stack([x(s), t - 1, 0 * s - 1])),
    )
    supports = [fk.Support(f"{part} s=0", **CLAMPED) for part in ("web", "upper", "lower")]
    loads = [fk.LineLoad("upper s=1", fy=0.6e6, total=True), fk.LineLoad("lower s=1", fy=-0.6e6, total=True)]
    case = solved(mesh, 0.1, 210e9, 0.3, supports=supports, loads=loads)
    return stress_at(case, fk.near(2.5, 1, 1), "middle")[0, 0] / 1e6


@cache
def folded_vee(kind, n):
    """A quarter of a roof of two plates; the load, per sloping area, as weight."""
    place = lambda s, t: np.column_stack([6000 * s, 3000 * t, 1500 * (1 - t)])  # noqa: E731
    supports = [fk.Support("s=1", uy=0, uz=0), fk.Support("s=0", **ON_X), fk.Support("t=0", **ON_Y)]
    case = solved(grid(kind, n, n, place), 100.0, 30e3, 0.2, density=4e-5, supports=supports, loads=[fk.Gravity(g=1.0)])
    ridge, eaves = fk.near(0, 0, 1500), fk.near(0, 3000)
    return {
        "ridge deflection": -case.displacement_at(ridge)[2],
        "eaves deflection": -case.displacement_at(eaves)[2],
        "eaves stress": stress_at(case, eaves, "middle")[0, 0],
        "ridge stress": stress_at(case, ridge, "middle")[0, 0],
    }


@cache
def slender_cantilever(kind, n, shape="rectangles"):
    mesh = tilted(kind, n, n // 6, 6.0, 0.2, SHAPES[shape])
    moved = {}
    ways = {"extension": ("fx", 0), "in plane": ("fy", 1), "out of plane": ("fz", 2), "twist": ("mx", 3)}
    for quantity, (load, k) in ways.items():
        tip = fk.LineLoad("s=1", **{load: 1.0}, total=True)
        case = solved(mesh, 0.1, 1e7, 0.3, supports=[fk.Support("s=0", **CLAMPED)], loads=[tip])
        moved[quantity] = case.displacement_at("s=1")[k]
    return moved


def curved_beam_out_of_plane(kind, n):
    def place(s, t):
        radius, angle = 4.32 - 0.2 * t, np.pi / 2 * s
        return np.column_stack([radius * np.sin(angle), radius * np.cos(angle)])

    tip = fk.LineLoad("s=1", fz=1.0, total=True)
    case = solved(grid(kind, n, n // 6, place), 0.1, 1e7, 0.25, supports=[fk.Support("s=0", **CLAMPED)], loads=[tip])
    return case.displacement_at("s=1")[2]


RIBBON = {  # thickness, load, direction: printed, reference
    (0.32, 1.0, 2): (0.005424, 0.005416),
    (0.32, 1.0, 1): (0.001754, 0.0017507),
    (0.0032, 1e-6, 2): (0.005256, 0.005250),
    (0.0032, 1e-6, 1): (0.001294, 0.0012928),
}
ZED = COMMON | {
    "claim": "flanges of an open section bend as its cross-section warps",
    "source": f"The Standard NAFEMS Benchmarks, rev. 3, 1990 (value from memory); {RITZ}",
    "reference": -111.0,
    "printed": -108.0,
    "measure": zed_cantilever,
    "unit": "MPa",
    "ladder": (8, 16, 32, 64),
    "longer": (128,),
    "precision": 0.002,
    "order": 1.0,
    "reason": "reference good to 0.2 MPa; the printed one is that of a section that keeps its shape; 2 % was the aim",
}
VEE = COMMON | {
    "claim": "folded plates act as one beam, and as plates between folds",
    "source": f"own; {RITZ}",
    "precision": 5e-4,
    "reason": "no published number; 1 % at 32 × 32 was the aim",
    "ladder": (8, 16, 32),
    "longer": (64,),
}
RIDGE = {"unit": "MPa", "limit": 0.01, "order": 1.0}
SLENDER = COMMON | {
    "claim": "long thin cells bend and twist",
    "source": f"{MH85}; P L³ / 3 E I + 1.2 P L / G A, and Saint-Venant's torsion",
    "evidence": "closed form",
    "ladder": (6, 12, 24),
    "longer": (48,),
}
SLENDER_ROWS = {  # reference, precision, what it is for
    "extension": (3e-5, 2e-3, "the root holds the width too"),
    "in plane": (0.1080936, 2e-3, "the root holds the width too, worth 0.1 %"),
    "out of plane": (0.4320936, 3e-3, "the root holds the width too, worth 0.2 %"),
    "twist": (0.0341, 0.01, "by root and way of loading 0.0339 to 0.0345, the printed number is 6 % low"),
}
CURVED = SLENDER | {
    "claim": "a curved strip bends and twists out of its plane",
    "source": f"{MH85}; reference: between beam theory 0.50056 and the shell 0.49853",
    "reference": 0.4995,
    "printed": 0.5022,
    "measure": curved_beam_out_of_plane,
    "precision": 2.5e-3,
    "reason": "between the beam's and the shell's values, 0.2 % either way; 2 % was the aim",
}
COARSE = {6: {"quad": 0.02, "triangle": 0.06}, 12: 0.015}


def _slender(shape, quantity, **own):
    reference, precision, reason = SLENDER_ROWS[quantity]
    return Case(
        f"slender shell cantilever of {shape}: {quantity}",
        reference=reference,
        printed=0.03208 if quantity == "twist" else None,
        measure=lambda kind, n: slender_cantilever(kind, n, shape)[quantity],
        **(
            SLENDER
            | {"precision": precision, "reason": f"{reason}; 2 %, at 6 × 1 too (6 % for triangles), was the aim"}
            | own
        ),
    )


CASES = (
    *(
        Case(
            f"twisted ribbon: {'thick' if thickness == 0.32 else 'thin'}, load {('normal', 'along the width')[k - 1]}",
            claim="warped cells bend and twist, thick and thin",
            source=(MH85 if thickness == 0.32 else "T. Belytschko, B. L. Wong, H. Stolarski, 1989 (value from memory)")
            + f"; {RITZ}",
            reference=reference,
            printed=printed,
            measure=lambda kind, n, given=(thickness, load, k): twisted_ribbon(kind, n, *given),
            ladder=(6, 12, 24),
            aims={12: 0.02, 24: 0.005},
            precision=0.002,
            reason="reference and printed number differ by 0.1 to 0.2 %; 2 % at 12 × 2 was the aim",
            **(COMMON | {"longer": (48,)}),
        )
        for (thickness, load, k), (printed, reference) in RIBBON.items()
    ),
    Case(
        "hook of two arcs",
        claim="coupling of the rotation about the normal is neither too stiff nor too soft: no drift with refinement",
        source=f"N. F. Knight, AIAA J. 35 (1997), value from memory; {RITZ}",
        reference=5.0263,
        printed=4.9352,
        measure=hook_of_two_arcs,
        ladder=(36, 72, 144),
        aims={36: 0.06},
        precision=0.002,
        reason="reference good to four digits; 2 % on the finest published mesh was the aim",
        order=1.0,
        **(COMMON | {"longer": ()}),
    ),
    Case("zed cantilever", **(ZED | {"kinds": ("quad",)})),
    *rows(
        "folded vee",
        folded_vee,
        {
            "ridge deflection": (2.22319, {"unit": "mm", "limit": 0.01}),
            "eaves deflection": (18.0630, {"unit": "mm", "limit": 0.01}),
            "eaves stress": (2.93970, RIDGE),
            "ridge stress": (-2.94036, RIDGE | {"kinds": ("quad",)}),
        },
        **VEE,
    ),
    _slender("rectangles", "extension", aims=COARSE),
    _slender("rectangles", "in plane", aims=COARSE),
    _slender("rectangles", "out of plane", aims=COARSE),
    _slender("trapezoids", "out of plane"),
    _slender("parallelograms", "out of plane"),
    _slender("rectangles", "twist", kinds=("quad",), ladder=(24, 48, 96), longer=(192,)),
    Case("curved beam: out of plane", **(CURVED | {"kinds": ("quad",)})),
)

LATE_TWIST = {"claim": "twist is let go of at free edges only where cells are smaller than the thickness"}
LATE_STRESS = {"kinds": ("triangle",), "claim": "stress at an edge is late in triangles"}
LIMITS = (
    *(
        _slender(shape, "in plane", claim="one row of leaning cells is too stiff")
        for shape in SHAPES
        if shape != "rectangles"
    ),
    *(_slender(shape, "twist", **LATE_TWIST) for shape in SHAPES),
    Case("curved beam: out of plane", **(CURVED | LATE_TWIST | {"kinds": ("triangle",)})),
    Case("zed cantilever", **(ZED | LATE_STRESS)),
    *rows("folded vee", folded_vee, {"ridge stress": (-2.94036, RIDGE)}, **(VEE | LATE_STRESS)),
)

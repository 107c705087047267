"""Curved, twisted and folded shells under load: bending, membrane and their mixture, thick and thin."""

from functools import lru_cache

import numpy as np

import femkit as fk

from .answers import solved, stress_at
from .case import Case, rows
from .grids import grid, joined
from .plane import MH85, SHAPES, tilted

__all__ = ["CASES", "LIMITS"]

CLAMPED = {"ux": 0, "uy": 0, "uz": 0, "rx": 0, "ry": 0, "rz": 0}
ON_X, ON_Y, ON_Z = {"ux": 0, "ry": 0, "rz": 0}, {"uy": 0, "rx": 0, "rz": 0}, {"uz": 0, "rx": 0, "ry": 0}  # symmetry


def cylinder(kind, n, radius, length, degrees, n_round=None):
    """Part of a cylinder along x, from the crown t = 0 at the top to an angle, its top outside."""

    def place(s, t):
        angle = np.radians(degrees) * (1 - t)
        return np.column_stack([length * s, radius * np.sin(angle), radius * np.cos(angle)])

    return grid(kind, n, n_round or n, place)


def cylindrical_roof(kind, n):
    mesh = cylinder(kind, n, 25.0, 25.0, 40.0)
    supports = [fk.Support("s=1", uy=0, uz=0), fk.Support("s=0", **ON_X), fk.Support("t=1", **ON_Y)]
    weight = [fk.Gravity(g=1.0)]
    case = solved(mesh, 0.25, 4.32e8, 0.0, density=360.0, supports=supports, loads=weight)
    side = np.radians(40)
    return case.displacement_at(fk.near(0, 25 * np.sin(side), 25 * np.cos(side)))[2]


def pinched(kind, n, size, thickness, material, load, has_diaphragms):
    """Deflection under one of two opposite loads at mid-length; an eighth of the cylinder."""
    radius, length = size
    mesh = cylinder(kind, n, radius, length / 2, 90.0)
    supports = [fk.Support("s=0", **ON_X), fk.Support("t=1", **ON_Y), fk.Support("t=0", **ON_Z)]
    if has_diaphragms:
        supports.append(fk.Support("s=1", uy=0, uz=0))
    crown = fk.near(0, 0, radius)
    case = solved(mesh, thickness, *material, supports=supports, loads=[fk.PointLoad(crown, fz=-load / 4)])
    return -case.displacement_at(crown)[2]


def hemisphere(kind, n, has_hole):
    """Deflection under one of four loads in and out on the equator; a quarter."""

    def with_hole(s, t):
        around, up = np.pi / 2 * s, np.radians(72.0) * t
        return 10 * np.column_stack([np.cos(up) * np.cos(around), np.cos(up) * np.sin(around), np.sin(up)])

    def patch(i):  # three patches meet in the middle of the octant, their cells warped
        a, b, c = np.roll(np.eye(3), -i, axis=0)

        def place(s, t):
            s, t = s[:, None], t[:, None]
            flat = (1 - s) * (1 - t) * a + s * (1 - t) * (a + b) / 2**0.5 + (1 - s) * t * (a + c) / 2**0.5
            flat = flat + s * t * (a + b + c) / 3**0.5
            return 10 * flat / np.linalg.norm(flat, axis=1, keepdims=True)

        return grid(kind, n // 2, n // 2, place)

    mesh = grid(kind, n, n, with_hole) if has_hole else joined(x=patch(0), y=patch(1), z=patch(2))
    pulled, pushed = fk.near(10, 0), fk.near(0, 10)
    supports = [fk.Support(fk.on_plane(x=0), **ON_X), fk.Support(fk.on_plane(y=0), **ON_Y), fk.Support(pulled, uz=0)]
    loads = [fk.PointLoad(pulled, fx=1.0), fk.PointLoad(pushed, fy=-1.0)]
    case = solved(mesh, 0.04, 6.825e7, 0.3, supports=supports, loads=loads)
    return case.displacement_at(pulled)[0]


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


@lru_cache(maxsize=None)
def pressurised_cylinder(kind, n):
    """A quarter of a pipe with one clamped edge, long enough to forget it, under inner pressure."""
    mesh = cylinder(kind, n, 1000.0, 480.0, 90.0)
    supports = [fk.Support("s=0", **CLAMPED), fk.Support("s=1", **ON_X), fk.Support("t=1", **ON_Y)]
    supports.append(fk.Support("t=0", **ON_Z))
    case = solved(mesh, 10.0, 210e3, 0.3, supports=supports, loads=[fk.Pressure(fk.inside(), -1.0)])
    half = np.sqrt(0.5) * 1000
    middle, edge = fk.near(480, half, half), fk.near(0, half, half).choose(mesh.points)[0]
    reaction = case.reaction[edge] / (1000 * np.pi / 2 / n)
    return {
        "growth": np.hypot(*case.displacement_at(middle)[1:3]),
        "hoop stress": stress_at(case, middle, "middle")[0, 1],
        "edge moment": np.hypot(*reaction[4:6]),
        "edge shear": np.hypot(*reaction[1:3]),
    }


@lru_cache(maxsize=None)
def clamped_saddle(kind, n, thickness):
    """Half of the saddle z = x² − y² over a unit square, of n × n/2 cells, clamped at one side, under its weight."""

    def place(s, t):
        x, y = s - 0.5, t / 2
        return np.column_stack([x, y, x**2 - y**2])

    supports = [fk.Support("s=0", **CLAMPED), fk.Support("t=0", **ON_Y)]
    case = solved(
        grid(kind, n, n // 2, place),
        thickness,
        2e11,
        0.3,
        density=8000.0,
        supports=supports,
        loads=[fk.Gravity(g=1.0)],
    )
    return {
        "deflection": -case.displacement_at(fk.near(0.5, 0, 0.25))[2],
        "strain energy": (case.load * case.displacement).sum(),  # of both halves
    }


@lru_cache(maxsize=None)
def folded_vee(kind, n):
    """A quarter of a roof of two plates; the load, per sloping area, as weight."""
    place = lambda s, t: np.column_stack([6000 * s, 3000 * t, 1500 * (1 - t)])  # noqa: E731
    supports = [fk.Support("s=1", uy=0, uz=0), fk.Support("s=0", **ON_X), fk.Support("t=0", **ON_Y)]
    case = solved(
        grid(kind, n, n, place), 100.0, 30e3, 0.2, density=4e-5, supports=supports, loads=[fk.Gravity(g=1.0)]
    )
    ridge, eaves = fk.near(0, 0, 1500), fk.near(0, 3000)
    return {
        "ridge deflection": -case.displacement_at(ridge)[2],
        "eaves deflection": -case.displacement_at(eaves)[2],
        "eaves stress": stress_at(case, eaves, "middle")[0, 0],
        "ridge stress": stress_at(case, ridge, "middle")[0, 0],
    }


@lru_cache(maxsize=None)
def slender_cantilever(kind, n, shape="rectangles"):
    mesh = tilted(kind, n, n // 6, 6.0, 0.2, SHAPES[shape])
    moved = {}
    for quantity, load, k in (("in plane", "fy", 1), ("out of plane", "fz", 2), ("twist", "mx", 3)):
        tip = fk.LineLoad("s=1", **{load: 1.0}, total=True)
        case = solved(mesh, 0.1, 1e7, 0.3, supports=[fk.Support("s=0", **CLAMPED)], loads=[tip])
        moved[quantity] = case.displacement_at("s=1")[k]
    return moved


def curved_beam_out_of_plane(kind, n):
    def place(s, t):
        radius, angle = 4.32 - 0.2 * t, np.pi / 2 * s
        return np.column_stack([radius * np.sin(angle), radius * np.cos(angle)])

    tip = fk.LineLoad("s=1", fz=1.0, total=True)
    case = solved(
        grid(kind, n, n // 6, place), 0.1, 1e7, 0.25, supports=[fk.Support("s=0", **CLAMPED)], loads=[tip]
    )
    return case.displacement_at("s=1")[2]


COMMON = {"group": "plates and shells", "evidence": "Ritz", "longer": (32,)}
MIXED = "membrane and bending work together in a curved sheet"
INEXTENSIONAL = "a curved sheet bends without stretching, and does not lock"
RITZ = "reference: polynomials of high degree, shear-flexible shell"
PINCHED = COMMON | {
    "claim": "a point load on a curved sheet is carried by bending near it and membrane far from it",
    "source": f"G. M. Lindberg, M. D. Olson, G. R. Cowper, 1969 (value from memory); reference: double series, thin shell",
    "evidence": "series",
    "reference": 1.82758e-5,
    "printed": 1.8248e-5,
    "measure": lambda kind, n: pinched(kind, n, (300.0, 600.0), 3.0, (3e6, 0.3), 1.0, True),
    "precision": 0.01,
    "longer": (),
}
RIBBON = {  # thickness, load, direction: printed, reference
    (0.32, 1.0, 2): (0.005424, 0.005416),
    (0.32, 1.0, 1): (0.001754, 0.0017507),
    (0.0032, 1e-6, 2): (0.005256, 0.005250),
    (0.0032, 1e-6, 1): (0.001294, 0.0012928),
}
SADDLE = {  # thickness: deflection and energy, printed and reference; precision
    0.01: (9.3355e-5, 9.3260e-5, 1.6790e-3, 1.6769e-3, 2e-3),
    0.001: (6.3941e-3, 6.3849e-3, 1.1013e-2, 1.0996e-2, 2e-3),
    0.0001: (0.52988, 0.52988, 8.9867e-2, 8.9867e-2, 1e-2),
}
SLENDER = COMMON | {
    "claim": "long thin cells bend and twist",
    "source": f"{MH85}; P L³ / 3 E I + 1.2 P L / G A, and Saint-Venant's torsion",
    "evidence": "closed form",
    "ladder": (6, 12, 24),
    "longer": (48,),
}
OUT_OF_PLANE = {"precision": 3e-3, "reason": "the clamped root holds the strip's width too, worth 0.2 %; 2 % was the aim"}
TWIST = {
    "printed": 0.03208,
    "precision": 0.01,
    "reason": "the printed number is 6 % low; by root and way of loading 0.0339 to 0.0345; 2 % was the aim",
}

CASES = (
    Case(
        "cylindrical roof",
        claim=MIXED,
        source=f"A. C. Scordelis, K. S. Lo, ACI Journal 61 (1964) 539-561; {RITZ}",
        reference=-0.30204,
        printed=-0.3024,
        measure=cylindrical_roof,
        ladder=(4, 8, 16),
        precision=0.005,
        limit=0.01,
        reason="thin and shear-flexible theory differ by 0.5 %; 1 % at 16 × 16 was the aim",
        **COMMON,
    ),
    Case(
        "pinched cylinder with diaphragms: 16 × 16",
        ladder=(4, 8, 16),
        limit=0.07,
        reason="a point load: a shear-flexible shell gives 1 % more, and slowly ever more; 7 % on this mesh was the aim",
        **PINCHED,
    ),
    Case(
        "pinched cylinder with diaphragms: 32 × 32",
        ladder=(8, 16, 32),
        limit=0.02,
        reason="a point load: a shear-flexible shell gives 1 % more, and slowly ever more; 2 % on this mesh was the aim",
        **PINCHED,
    ),
    *(
        Case(
            f"hemisphere {words}",
            claim=INEXTENSIONAL,
            source=f"{MH85}; {RITZ}",
            reference=reference,
            printed=printed,
            measure=lambda kind, n, has_hole=has_hole: hemisphere(kind, n, has_hole),
            ladder=(4, 8, 16),
            precision=0.003,
            reason="published values spread by 1 %, the reference is good to 0.3 %; 2 % at 16 × 16 was the aim",
            **COMMON,
        )
        for words, has_hole, printed, reference in (("with a hole", True, 0.0940, 0.09368), ("closed", False, 0.0924, 0.09255))
    ),
    *(
        Case(
            f"twisted ribbon: {'thick' if thickness == 0.32 else 'thin'}, load {('normal', 'along the width')[k - 1]}",
            claim="warped cells bend and twist, thick and thin",
            source=(MH85 if thickness == 0.32 else "T. Belytschko, B. L. Wong, H. Stolarski, 1989 (value from memory)")
            + f"; {RITZ}",
            reference=reference,
            printed=printed,
            measure=lambda kind, n, given=(thickness, load, k): twisted_ribbon(kind, n, *given),
            ladder=(6, 12),
            precision=0.002,
            reason="reference and printed number differ by 0.1 to 0.2 %; 2 % at 12 × 2 was the aim",
            **(COMMON | {"longer": (24, 48)}),
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
        precision=0.002,
        reason="reference good to four digits; 2 % on the finest published mesh was the aim",
        order=1.0,
        **(COMMON | {"longer": ()}),
    ),
    Case(
        "zed cantilever",
        claim="flanges of an open section bend as its cross-section warps",
        source=f"The Standard NAFEMS Benchmarks, rev. 3, 1990 (value from memory); {RITZ}",
        reference=-111.0,
        printed=-108.0,
        measure=zed_cantilever,
        unit="MPa",
        ladder=(8, 16, 32, 64),
        precision=0.002,
        reason="reference good to 0.2 MPa; the printed one is that of a section that keeps its shape; 2 % was the aim",
        **(COMMON | {"longer": ()}),
    ),
    *rows(
        "pressurised cylinder",
        pressurised_cylinder,
        {
            "growth": (0.47619048, {"unit": "mm", "limit": 0.01}),
            "hoop stress": (100.0, {"unit": "MPa"}),
            "edge moment": (3026.1377, {"unit": "N mm/mm"}),
            "edge shear": (77.796371, {"unit": "N/mm"}),
        },
        claim="a pipe swells, and bends where it is held",
        source="S. P. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., ch. 15",
        precision=0.005,
        reason="thin theory: shear and a thickness of R / 100 are worth 0.5 % at the edge; 2 % was the aim",
        ladder=(12, 24, 48),
        **(COMMON | {"evidence": "closed form", "longer": (96,)}),
    ),
    *(
        Case(
            f"pinched cylinder with free ends: thickness {thickness:g}",
            claim=INEXTENSIONAL,
            source=f"published value from memory; {RITZ}",
            reference=reference,
            printed=printed,
            measure=lambda kind, n, given=(thickness, load): pinched(
                kind, n, (4.953, 10.35), given[0], (10.5e6, 0.3125), given[1], False
            ),
            ladder=(4, 8, 16),
            precision=0.003,
            reason="reference and printed number differ by 0.1 to 1 %; 2 % was the aim",
            **COMMON,
        )
        for thickness, load, printed, reference in ((0.094, 100.0, 0.1139, 0.11401), (0.01548, 0.1, 0.0244, 0.024633))
    ),
    *(
        case
        for thickness, (w_printed, w, energy_printed, energy, precision) in SADDLE.items()
        for case in rows(
            f"clamped saddle: thickness {thickness:g}",
            lambda kind, n, thickness=thickness: clamped_saddle(kind, n, thickness),
            {"deflection": (w, {"printed": w_printed}), "strain energy": (energy, {"printed": energy_printed})},
            claim=INEXTENSIONAL,
            source=f"K. J. Bathe, A. Iosilevich, D. Chapelle, Comput. Struct. 75 (2000), values from memory; {RITZ}",
            precision=precision,
            reason=f"reference still rising, by {100 * precision:g} %; 2 % was the aim",
            ladder=(16, 32, 64),
            **(COMMON | {"longer": (128,), "evidence": "Ritz" if thickness > 5e-4 else "published"}),
        )
    ),
    *rows(
        "folded vee",
        folded_vee,
        {
            "ridge deflection": (2.22319, {"unit": "mm"}),
            "eaves deflection": (18.0630, {"unit": "mm"}),
            "eaves stress": (2.93970, {"unit": "MPa"}),
            "ridge stress": (-2.94036, {"unit": "MPa"}),
        },
        claim="folded plates act as one beam and as plates between folds",
        source=f"own; {RITZ}",
        precision=5e-4,
        limit=0.01,
        reason="no published number; 1 % at 32 × 32 was the aim",
        ladder=(8, 16, 32),
        **(COMMON | {"longer": (64,)}),
    ),
    *rows(
        "slender shell cantilever",
        slender_cantilever,
        {
            "in plane": (0.1080936, {"precision": 2e-3, "limit": {"quad": 0.02, "triangle": 0.06}, "ladder": (6, 12)}),
            "out of plane": (0.4320936, OUT_OF_PLANE),
            "twist": (0.0341, TWIST),
        },
        **({"reason": "the clamped root holds the strip's width too; 2 %, 6 % for triangles, at 6 × 1 was the aim"} | SLENDER),
    ),
    Case(
        "curved beam: out of plane",
        claim="a curved strip bends and twists out of its plane",
        source=f"{MH85}; reference: between beam theory 0.50056 and the shell 0.49853",
        reference=0.4995,
        printed=0.5022,
        measure=curved_beam_out_of_plane,
        precision=2.5e-3,
        reason="between the beam's and the shell's values, 0.2 % either way; 2 % was the aim",
        **{key: SLENDER[key] for key in ("group", "evidence", "ladder", "longer")},
    ),
)

LIMITS = tuple(
    case
    for shape in ("trapezoids", "parallelograms")
    for case in rows(
        f"slender shell cantilever of {shape}",
        lambda kind, n, shape=shape: slender_cantilever(kind, n, shape),
        {
            "in plane": (0.1080936, {"precision": 2e-3, "reason": "as for rectangles"}),
            "out of plane": (0.4320936, OUT_OF_PLANE),
            "twist": (0.0341, TWIST),
        },
        **(SLENDER | {"claim": "a single row of leaning cells", "note": "cells whose borders lean by 45 degrees"}),
    )
)

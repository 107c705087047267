"""Plane stress in patches, panels and beams: constant strain, bending, shear, leaning cells."""

from functools import cache

import numpy as np

import femkit as fk

from ..results.stress import principal
from .answers import edge_loads, follow, solved, stress_at
from .case import Case, rows
from .grids import grid, joined

__all__ = [
    "BENDING_KINDS",
    "CASES",
    "DISPLACEMENT",
    "EXACT",
    "INSIDE",
    "LIMITS",
    "MH85",
    "MOVED",
    "PLANE_KINDS",
    "SHAPES",
    "SMALL",
    "STRESS",
    "STRESS_REASON",
    "TG",
    "farthest",
    "patch_mesh",
    "tilted",
]

# What the finest mesh of a ladder must reach, set beforehand as usual in engineering. Cells of constant strain are
# there to fill meshes: a stress read at an edge is that of half a cell inside.
DISPLACEMENT = {"quad": 0.01, "triangle": 0.02, "triangle6": 0.005, "quad8": 0.005, "quad9": 0.005}
STRESS = {"quad": 0.02, "triangle": 0.05, "triangle6": 0.01, "quad8": 0.01, "quad9": 0.01}
PLANE_KINDS = tuple(STRESS)
BENDING_KINDS = tuple(kind for kind in PLANE_KINDS if kind != "triangle")

MH85 = (
    "R. H. MacNeal, R. L. Harder, A proposed standard set of problems to test finite element accuracy, "
    "Finite Elements in Analysis and Design 1 (1985) 3-20"
)
TG = "S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd ed."
COOK = "R. D. Cook, J. Struct. Div. ASCE 100 (1974) 1851-1863"
EXACT = "1 % on displacements and 2 % on stresses on the finest mesh was the aim, with constant strain 2 % and 5 %, "
EXACT += "with quadratic cells 0.5 % and 1 %"
ROUNDING = "exact on any mesh, to rounding"


def farthest(ratios):
    """The one that is farthest from 1, of those that are numbers: what is claimed of all must hold of it."""
    ratios = ratios[np.isfinite(ratios)]
    return float(ratios[np.abs(ratios - 1).argmax()])


def patch_mesh(kind, n):
    """Five skewed quadrilaterals that fill a rectangle of 0.24 × 0.12 (MH85), each of n × n cells."""
    corners = np.array(
        [[0, 0], [0.24, 0], [0.24, 0.12], [0, 0.12], [0.04, 0.02], [0.18, 0.03], [0.16, 0.08], [0.08, 0.08]]
    )
    quads = {
        "south": (0, 1, 5, 4),
        "east": (1, 2, 6, 5),
        "north": (2, 3, 7, 6),
        "west": (3, 0, 4, 7),
        "middle": (4, 5, 6, 7),
    }

    def part(a, b, c, d):
        def place(s, t):
            s, t = s[:, None], t[:, None]
            return (1 - s) * (1 - t) * a + s * (1 - t) * b + s * t * c + (1 - s) * t * d

        return grid(kind, n, n, place)

    return joined(**{name: part(*corners[list(quad)]) for name, quad in quads.items()})


def membrane_patch(kind, n, angle=0.0, is_loaded=False):
    """Stress over what it should be, where it is farthest from it; the patch turned by an angle (degrees)."""
    flat, turn = patch_mesh(kind, n), np.radians(angle)
    axes = np.array([[np.cos(turn), np.sin(turn), 0], [-np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    mesh = fk.Mesh(flat.points @ axes, flat.cells, edge_sets=flat.edge_sets)
    x, y, _ = flat.points.T
    on_rim = np.flatnonzero((x < 1e-9) | (x > 0.24 - 1e-9) | (y < 1e-9) | (y > 0.12 - 1e-9))
    if is_loaded:  # in balance by itself: three supports only keep it in place
        south_west, south_east = (int(np.hypot(x - a, y).argmin()) for a in (0.0, 0.24))
        supports = [fk.Support([south_west], ux=0, uy=0), fk.Support([south_east], uy=0)]
        state = lambda x, y: (4e3 / 3 + 0 * x, 4e3 / 3 + 0 * x, 400 + 0 * x)  # noqa: E731
        loads = [
            load for side in ("south", "east", "north", "west") for load in edge_loads(mesh, f"{side} t=0", state, 1e-3)
        ]
    else:
        moved = 1e-3 * np.column_stack([x + y / 2, y + x / 2, 0 * x]) @ axes
        supports, loads = follow(mesh, on_rim, ux=moved[on_rim, 0], uy=moved[on_rim, 1]), ()
    case = solved(mesh, 1e-3, 1e6, 0.25, supports=supports, loads=loads, reference=axes[0], behaviour="plane stress")
    sx, _, txy = case.stress(at="corners").reshape(-1, 3).T
    return farthest(np.append(sx / (4e3 / 3), txy / 400))


def tilted(kind, n_x, n_y, length, depth, tilt):
    """A strip whose cells' borders lean, those of the coarse mesh by `tilt` times the depth, in turn or alike."""
    borders = np.linspace(0, 1, len(tilt))

    def place(s, t):
        y = depth * (t - 0.5)
        return np.column_stack([length * s + y * np.interp(s, borders, tilt), y])

    return grid(kind, n_x, n_y, place)


def bending_patch(kind, n, tilt=0.0):
    """Tip deflection of a strip of n × 1 cells under an end moment; inner borders lean by a share of the depth."""
    mesh = tilted(kind, n, 1, 10.0, 2.0, [0, *[tilt, -tilt] * n][:n] + [0])
    supports = [fk.Support("s=0", ux=0), fk.Support(fk.near(0, -1), uy=0)]
    loads = edge_loads(mesh, "s=1", lambda x, y: (-30 * y, 0 * x, 0 * x))
    case = solved(mesh, 1.0, 1000.0, 0.25, supports=supports, loads=loads, behaviour="plane stress")
    return case.displacement_at(fk.near(10, -1))[1]


@cache
def tapered_skew_panel(kind, n, behaviour="plane stress"):
    mesh = grid(kind, n, n, lambda s, t: np.column_stack([48 * s, 44 * s + t * (44 - 28 * s)]))
    supports = [fk.Support("s=0", ux=0, uy=0)]
    if behaviour == "shell":
        supports.append(fk.Support(fk.inside(), uz=0, rx=0, ry=0))
    loads = [fk.LineLoad("s=1", fy=1.0, total=True)]
    case = solved(mesh, 1.0, 1.0, 1 / 3, supports=supports, loads=loads, behaviour=behaviour)
    lower, upper = (principal(stress_at(case, fk.near(24, y))[0])[0] for y in (22, 52))
    return {
        "deflection": case.displacement_at(fk.near(48, 52))[1],
        "stress at the lower edge": lower[0],
        "stress at the upper edge": upper[1],
    }


SHAPES = {"rectangles": [0] * 7, "trapezoids": [0, 1, -1, 1, -1, 1, 0], "parallelograms": [0, 1, 1, 1, 1, 1, 0]}


@cache
def slender_cantilever(kind, n, shape="rectangles"):
    mesh = tilted(kind, n, n // 6, 6.0, 0.2, SHAPES[shape])
    moved = {}
    for quantity, k in (("extension", 0), ("in plane", 1)):
        load = fk.LineLoad("s=1", **{("fx", "fy")[k]: 1.0}, total=True)
        case = solved(
            mesh, 0.1, 1e7, 0.3, supports=[fk.Support("s=0", ux=0, uy=0)], loads=[load], behaviour="plane stress"
        )
        moved[quantity] = case.displacement_at("s=1")[k]
    return moved


def curved_beam(kind, n):
    def place(s, t):
        radius, angle = 4.32 - 0.2 * t, np.pi / 2 * s
        return np.column_stack([radius * np.sin(angle), radius * np.cos(angle)])

    mesh = grid(kind, n, n // 6, place)
    case = solved(
        mesh,
        0.1,
        1e7,
        0.25,
        supports=[fk.Support("s=0", ux=0, uy=0)],
        loads=[fk.LineLoad("s=1", fx=1.0, total=True)],
        behaviour="plane stress",
    )
    return case.displacement_at("s=1")[0]


@cache
def parabolic_shear(kind, n):
    P, L, D, E, nu = 1000.0, 48.0, 12.0, 3e7, 0.3
    inertia = D**3 / 12
    mesh = grid(kind, n, n // 4, lambda s, t: np.column_stack([L * s, D * (t - 0.5)]))
    root = np.unique(mesh.edge_sets["s=0"])
    y = mesh.points[root, 1]
    held = {
        "ux": -P * y / (6 * E * inertia) * (2 + nu) * (y**2 - D**2 / 4),
        "uy": P * nu * y**2 * L / (2 * E * inertia),
    }
    field = lambda x, y: (-P * (L - x) * y / inertia, 0 * x, P / (2 * inertia) * (D**2 / 4 - y**2))  # noqa: E731
    loads = edge_loads(mesh, "s=1", field)
    case = solved(mesh, 1.0, E, nu, supports=follow(mesh, root, **held), loads=loads, behaviour="plane stress")
    return {
        "deflection": case.displacement_at(fk.near(L, 0))[1],
        "bending stress": stress_at(case, fk.near(0, -D / 2))[0, 0],
        "shear stress": stress_at(case, fk.near(L / 2, 0))[0, 2],
        "strain energy": ((case.load + case.reaction) * case.displacement).sum() / 2,
    }


PURE = "beam theory, deflection M L² / 2 E I"
UPPER = "Later authors; five kinds of cells agree on it. The first print has -0.2010, an own Ritz solution -0.20094"
SMALL = {"group": "plane stress", "evidence": "closed form", "kinds": PLANE_KINDS}
PATCH = SMALL | {"source": MH85, "ladder": (1, 2), "longer": (), "precision": 1e-9, "limit": 1e-9, "reason": ROUNDING}
STRESS_REASON = {"limit": STRESS, "precision": 1e-4, "reason": EXACT, "order": 1.0}
MOVED, INSIDE = {"limit": DISPLACEMENT, "order": 2.0}, {"order": 2.0}

COOK_AIMS = {4: {"quad": 0.04}, 8: {"quad": 0.015}}
PANEL = {
    "claim": "shear and bending come out with skewed, tapered cells",
    "source": f"{COOK}; reference: plane stress patches of degree 7 to 9",
    "evidence": "Ritz",
    "longer": (),
    "reason": f"reference good to 4 digits, stresses to 0.2 %; quadrilaterals 4 % on 4 × 4, 1.5 % on 8 × 8, {EXACT}",
}
SLENDER = {"extension": 3e-5, "in plane": 0.1080936}


def _slender(shape, quantity, **own):
    described = {
        "claim": "long thin cells stretch and bend",
        "source": f"{MH85}; P L / E A, P L³ / 3 E I + 1.2 P L / G A",
        "ladder": (6, 12, 24),
        "longer": (48,),
        "precision": 2e-3,
        "reason": "the clamped root holds the strip's width too, which beams have not; 2 % at 6 × 1 was the aim",
    }
    return Case(
        f"slender cantilever of {shape}: {quantity}",
        reference=SLENDER[quantity],
        measure=lambda kind, n: slender_cantilever(kind, n, shape)[quantity],
        **(SMALL | described | own),
    )


CASES = (
    *(
        Case(
            f"membrane patch, {words}",
            claim="constant strain comes out on any mesh",
            reference=1.0,
            measure=lambda kind, n, given=given: membrane_patch(kind, n, *given),
            unit="of 4000/3 and 400",
            **PATCH,
        )
        for words, given in (("moved", (0.0, False)), ("moved and turned", (30.0, False)), ("loaded", (0.0, True)))
    ),
    Case(
        "bending patch",
        claim="pure bending in the plane comes out exactly on rectangles",
        reference=1.5,
        measure=bending_patch,
        **(PATCH | {"source": PURE, "ladder": (1, 2, 5), "kinds": BENDING_KINDS}),
    ),
    *rows(
        "tapered skew panel",
        tapered_skew_panel,
        {
            "deflection": (23.965, MOVED | {"printed": 23.96, "precision": 2e-4, "aims": COOK_AIMS}),
            "stress at the lower edge": (0.23678, {"printed": 0.2360}),
            "stress at the upper edge": (
                -0.2035,
                {"printed": -0.2010, "evidence": "published", "note": UPPER},
            ),
        },
        ladder=(4, 8, 16, 32, 64),
        **(SMALL | STRESS_REASON | PANEL | {"precision": 2e-3}),
    ),
    Case(
        "tapered skew panel of shells: deflection",
        reference=23.965,
        printed=23.96,
        measure=lambda kind, n: tapered_skew_panel(kind, n, "shell")["deflection"],
        ladder=(4, 8, 16, 32),
        aims=COOK_AIMS,
        **(SMALL | MOVED | PANEL | {"kinds": ("quad", "triangle"), "precision": 2e-4}),
    ),
    *(_slender(shape, "extension") for shape in SHAPES),
    _slender("rectangles", "in plane", kinds=BENDING_KINDS, aims={6: 0.02}),
    Case(
        "curved beam: in plane",
        claim="bending of a curved strip comes out",
        reference=0.0885655,
        printed=0.08734,
        measure=curved_beam,
        ladder=(6, 12, 24, 48),
        longer=(96,),
        precision=1e-3,
        limit=DISPLACEMENT,
        reason="the printed number is 1.4 % low; the clamped root makes 0.02 %; 1 % on the finest mesh was the aim",
        source=f"{MH85}; reference: {TG} art. 33",
        **(SMALL | {"kinds": BENDING_KINDS}),
    ),
    *rows(
        "parabolic shear cantilever",
        parabolic_shear,
        {
            "deflection": (8.9e-3, MOVED),
            "bending stress": 2000.0,
            "shear stress": (125.0, INSIDE),
            "strain energy": (4.474667, MOVED),
        },
        claim="bending and parabolic shear come out together",
        source=f"{TG} art. 21",
        ladder=(16, 32, 64, 128),
        longer=(),
        **(SMALL | STRESS_REASON),
    ),
)

LIMITS = (
    *(
        _slender(shape, "in plane", claim="one row of leaning cells is too stiff")
        for shape in SHAPES
        if shape != "rectangles"
    ),
    _slender("rectangles", "in plane", claim="constant strain can't bend: it fills meshes", kinds=("triangle",)),
    Case(
        "bending patch of leaning cells",
        claim="pure bending is no longer exact once cells are not rectangles",
        reference=1.5,
        measure=lambda kind, n: bending_patch(kind, n, 0.5),
        ladder=(2, 4, 8),
        longer=(16, 32),
        reason="closed form",
        source=PURE,
        note="one cell in the depth throughout: cells get slimmer, not similar",
        **(SMALL | {"kinds": ("quad", "triangle")}),
    ),
)

"""Beams and joined parts: a bar beside its plate, unsymmetric bending, a lap joint whose fasteners give."""

from functools import cache

import numpy as np

import femkit as fk

from .case import Case
from .grids import grid, joined

__all__ = ["CASES"]

GROUP = "stiffened and thin-walled"
STEEL = fk.Material("steel", E=210_000, nu=0.3)
SPAN, WIDTH = 2000.0, 300.0


@cache
def _barred_strip(kind, n, offset, load):
    """The strip with a bar 80 × 8 along its middle: sag at mid span, turn between the quarter points, mm and rad.

    `load` is "even", 1 N/mm pushing the plate towards the bar, or "pull", 10 kN on the bar's centroid at both ends.
    """
    halves = {
        side: grid(kind, 4 * n, n, lambda s, t, y=y: np.column_stack([SPAN * s, WIDTH / 2 * (t + y), 0 * s]))
        for side, y in (("near", -1), ("far", 0))
    }
    mesh = joined(**halves)
    ends = [fk.on_plane(x=x) for x in (0.0, SPAN)]
    supports = [fk.Support(end, uz=0) for end in ends]
    supports += [fk.Support(fk.near(SPAN / 2, 0), ux=0, uy=0), fk.Support(fk.near(0, 0), uy=0)]
    loads = [fk.Pressure(fk.inside(), -1 / WIDTH)]
    if load == "pull":
        arm = 10_000 * (offset + 40.0)
        loads = [fk.PointLoad(fk.near(x, 0), fx=sign * 10_000, my=sign * arm) for x, sign in ((0.0, -1), (SPAN, 1))]
    model = fk.Model(
        mesh,
        fk.Plate(6.0, STEEL),
        beams={"far t=0": fk.Beam(fk.flat_bar(80, 8), STEEL, offset=offset)},
        supports=supports,
        load_cases=[fk.LoadCase("load", loads)],
    )
    case = fk.solve_static(model)["load"]
    turn = [case.displacement_at(fk.near(x, 0))[4] for x in (SPAN / 4, 3 * SPAN / 4)]
    return case.displacement_at(fk.near(SPAN / 2, 0))[2], abs(turn[1] - turn[0])


@cache
def _angle_tip(n):
    """Sideways and upward move of the tip of an angle 100 × 60 × 6 of 1000 mm, 500 N up through its shear centre."""
    section = fk.angle(100, 60, 6, 6)
    points = np.column_stack([np.linspace(0, 1000, n + 1), np.zeros((n + 1, 2))])
    mesh = fk.Mesh(points, {}, edge_sets={"bar": np.column_stack([np.arange(n), np.arange(1, n + 1)])})
    twist = 500 * (section.shear_centre[0] - section.centroid[0])
    model = fk.Model(
        mesh,
        {},
        beams={"bar": fk.Beam(section, STEEL)},
        supports=[fk.Support([0], ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)],
        load_cases=[fk.LoadCase("load", fk.PointLoad([n], fz=500.0, mx=twist))],
    )
    return fk.solve_static(model)["load"].displacement[n, 1:3]


@cache
def _lap_joint(kind, n, stiffness=2e3):
    """Largest force on a fastener of a lap joint 200 × 10 × 2 under 1000 N, at 10 mm pitch, N, between the ends."""
    strips = [grid(kind, n, 2, lambda s, t: np.column_stack([200 * s, 10 * t, 0 * s])) for _ in range(2)]
    n_points = strips[0].n_points
    cells = {kind: np.concatenate([strips[0].cells[kind], strips[1].cells[kind] + n_points])}
    n_cells = strips[0].n_cells
    middle = n_points + np.flatnonzero(strips[0].points[:, 1] == 5)
    mesh = fk.Mesh(
        np.concatenate([strip.points for strip in strips]),
        cells,
        cell_sets={"low": np.arange(n_cells), "high": np.arange(n_cells, 2 * n_cells)},
        edge_sets={
            "low end": strips[0].edge_sets["s=0"],
            "high end": strips[1].edge_sets["s=1"] + n_points,
            "row": np.column_stack([middle[:-1], middle[1:]]),
        },
    )
    seam = fk.Seam("row", "low", along=stiffness, across=stiffness, normal=stiffness, pitch=10.0, source="invented")
    model = fk.Model(
        mesh,
        fk.Plate(2.0, fk.Material("steel", E=210_000, nu=0.0)),
        supports=[
            fk.Support("low end", ux=0),
            fk.Support(np.arange(mesh.n_points), uy=0, uz=0, rx=0, ry=0, rz=0),
        ],
        load_cases=[fk.LoadCase("pull", fk.LineLoad("high end", fx=1000.0, total=True))],
        links=[seam],
    )
    points, forces = fk.solve_static(model)["pull"].seam_forces(seam)
    at_quarter = np.isclose(mesh.points[points, 0], 150)
    return forces[at_quarter, 0].item()


def _lap_reference(stiffness=2e3):
    w = np.sqrt(2 * stiffness / 10 / (210_000 * 20))
    return 1000 * w / 2 * np.cosh(w * 50) / np.sinh(w * 100) * 10


def _angle_reference():
    """Deflections by the inverse of the matrix of second moments, and shear along the web."""
    section = fk.angle(100, 60, 6, 6)
    moments = [[section.second_moment_y, -section.product], [-section.product, section.second_moment_z]]
    about_y, about_z = np.linalg.solve(moments, [-500.0, 0.0]) / 210_000
    shear = 500 * 1000 / (210_000 / 2.6) / section.shear_area_z
    return about_z * 1000**3 / 3, -about_y * 1000**3 / 3 + shear


EVEN = "5 q L⁴ / 384 E I of the composite section with the bar's shear, q L² / 8 G A (strength of materials)"
BAR = dict(kinds=("quad", "triangle"), ladder=(4, 8, 16), longer=(32,), unit="mm", limit=0.02)

CASES = (
    Case(
        "bar beside its plate: sag",
        GROUP,
        "a beam's offset makes bar and plate act as one section",
        EVEN,
        "closed form",
        0.8133643 + 0.00967,
        lambda kind, n: _barred_strip(kind, n, 3.0, "even")[0],
        precision=0.016,
        reason="shear lag of the plate, left out of the reference, adds about 1.4 %",
        **BAR,
    ),
    Case(
        "bar beside its plate: bar on the middle plane",
        GROUP,
        "without an offset bar and plate bend each for itself",
        EVEN.replace("the composite section", "plate and bar added"),
        "closed form",
        0.8133643 * 1_219_703.8 / 346_733.3 + 0.00967,
        lambda kind, n: _barred_strip(kind, n, -40.0, "even")[0],
        precision=0.003,
        reason="the plate keeps its shape across and is stiffer by up to 1/(1 - ν²) of its 1.6 % share",
        **BAR,
    ),
    Case(
        "bar beside its plate: pulled at the bar's centroid",
        GROUP,
        "an eccentric pull bends the composite section",
        "turn M L' / E I between the quarter points, M = F (43 - 11.278689) (strength of materials)",
        "closed form",
        1.238447e-3,
        lambda kind, n: _barred_strip(kind, n, 3.0, "pull")[1],
        precision=0.01,
        reason="plane sections, far from the ends where the pull enters; 1 % common practice, no source",
        **(BAR | {"unit": "rad"}),
    ),
    *(
        Case(
            f"unsymmetric angle: {name}",
            GROUP,
            "a section without symmetry bends sideways under a load along its web",
            "unsymmetric bending: S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd ed., or any handbook",
            "closed form",
            _angle_reference()[i],
            lambda kind, n, i=i: _angle_tip(n)[i],
            kinds=("beam",),
            ladder=(1, 2),
            longer=(4,),
            unit="mm",
            precision=1e-9,
            limit=1e-9,
            reason="exact for forces at the ends",
        )
        for i, name in enumerate(("sideways", "along the web"))
    ),
    Case(
        "lap joint with fasteners",
        GROUP,
        "a seam that gives shares its force along the joint",
        "O. Volkersen, Luftfahrtforschung 15 (1938) 41-47: force at a quarter of the length, equal strips",
        "closed form",
        _lap_reference(),
        _lap_joint,
        ladder=(16, 32, 64),
        longer=(128,),
        unit="N",
        precision=0.01,
        limit=0.02,
        reason="strips as bars: the width of 10 mm spreads the force within a few mm",
    ),
)

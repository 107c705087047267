"""Where the toes of a weld lie, and which way the plate that is judged goes on from there."""

import numpy as np

from ...errors import ModelError
from ...mesh.closest import feet_of
from ...mesh.selection import describe, select_cells
from ...mesh.topology import edge_keys, half_sides
from ...mesh.walk import Start
from ...model.values import place_words

__all__ = ["in_turn", "toe_of_line", "toes_along"]

BESIDE = 0.1  # of a cell's size: how far a line may start beside its plate. Common practice, no source
STEEPEST = np.sin(np.pi / 6)  # of a line against its plate, which is drawn onto it. Common practice, no source


def toe_of_line(mesh, places, into, who):
    """The start of the line from one place towards another, (2, 3) mm, on the cells `into`, or on all."""
    cells = np.arange(mesh.n_cells) if into is None else select_cells(mesh, into, f"{who}, into")
    towards = places[1] - places[0]
    length = np.linalg.norm(towards)
    if not (np.isfinite(length) and length > 0):
        raise ModelError(f"{who}: the line runs from {places[0]} to {places[1]}; it needs two different places.")
    towards /= length
    nudge = min(length, BESIDE / 2 * mesh.sizes[feet_of(mesh, places[:1], cells).cell[0]])
    feet = feet_of(mesh, places[:1] + nudge * towards, cells)  # a little ahead: several sheets may meet at the toe
    beside, normal = feet.distance[0], mesh.normals[feet.cell[0]]
    if beside > BESIDE * mesh.sizes[feet.cell[0]]:
        raise ModelError(f"{who}: it starts {beside:.3g} mm beside the sheet; start it on the plate's middle plane.")
    if abs(towards @ normal) > STEEPEST:
        rises = np.degrees(np.arcsin(abs(towards @ normal)))
        raise ModelError(f"{who}: the line rises from its plate by {rises:.0f}°; let it run on the plate.")
    place = places[0] - normal * (normal @ (places[0] - mesh.centres[feet.cell[0]]))
    return Start(feet.cell, place[None], towards[None], np.array([-1]))


def in_turn(mesh, pairs):
    """Edges (n, 2) one after the other along the lines that they make, each once; halves of quadratic sides as one."""
    sides, is_half = half_sides(mesh, pairs)
    pairs = np.unique(np.sort(np.concatenate([pairs[~is_half], sides[:, [0, 2]]]), axis=1), axis=0)
    points, count = np.unique(pairs, return_counts=True)
    after = {point: [] for point in points.tolist()}
    for a, b in pairs.tolist():
        after[a].append(b)
        after[b].append(a)
    run = []
    for point in points[np.argsort(count, kind="stable")].tolist():  # open ends first
        while after[point]:
            run.append((point, after[point].pop(0)))
            point = run[-1][1]
            after[point].remove(run[-1][0])
    return np.array(run)


def toes_along(model, pairs, into, towards, pitch, who):
    """The starts of lines from a weld's edges (n, 2) into the cells beside them, and how far along the weld they lie.

    In the middle of each edge, or about a pitch apart.
    """
    mesh = model.mesh
    number, cell = _beside(model, pairs, into, towards, who)
    ends = mesh.points[pairs]
    run = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(run, axis=1)
    until = np.cumsum(length)
    along, edge = until - length / 2, np.arange(len(pairs))
    if pitch is not None:
        n = max(1, round(until[-1] / pitch))
        along = (np.arange(n) + 0.5) * until[-1] / n
        edge = np.searchsorted(until, along).clip(max=len(pairs) - 1)
    place = ends[edge, 0] + (1 - (until[edge] - along) / length[edge])[:, None] * run[edge]
    cell, inward = cell[edge], np.cross(mesh.normals[cell[edge]], run[edge])
    inward *= np.sign(((mesh.centres[cell] - ends[edge, 0]) * inward).sum(axis=1))[:, None]
    return Start(cell, place, inward, number[edge]), along


def _beside(model, pairs, into, towards, who):
    """Number of each edge in ``mesh.edges``, and the one cell of `into` that has it and lies `towards`."""
    mesh, edges = model.mesh, model.mesh.edges
    keys, wanted = edge_keys(mesh, edges.points), edge_keys(mesh, pairs)
    number = np.searchsorted(keys, wanted).clip(max=len(keys) - 1)
    is_side = keys[number] == wanted
    if not is_side.all():
        first = place_words(mesh.points[pairs[is_side.argmin()]].mean(axis=0))
        raise ModelError(f"{who}: {(~is_side).sum()} of {len(pairs)} edges are of no cell, the first at {first} mm.")
    is_into = np.zeros(mesh.n_cells, dtype=bool)
    is_into[slice(None) if into is None else select_cells(mesh, into, f"{who}, into")] = True
    has = np.isin(edges.edge, number)
    chosen = has & is_into[edges.cell]
    if towards is not None:
        off = mesh.centres[edges.cell] - mesh.points[edges.points].mean(axis=1)[edges.edge]
        chosen &= off @ np.asarray(towards, dtype=float) > 0
    count = np.bincount(edges.edge[chosen], minlength=len(keys))[number]
    if (count != 1).any():
        is_bare = (count == 0).any()
        some, what = ((count == 0).sum(), "no cell") if is_bare else ((count > 1).sum(), "cells on more than one side")
        of = "" if into is None else f'of "{describe(into)}" '
        of += "" if towards is None else f"towards {place_words(towards)} "
        plates = ", ".join(f'"{name}"' for name in dict.fromkeys(model.plate_of_cell[edges.cell[has]]))
        raise ModelError(
            f"{who}: {some} of {len(pairs)} edges have {what} {of}beside them. Along the weld lie cells of the plates "
            f"{plates}; say by into=… which plate is judged, and by towards=(x, y, z) on which side where it has two."
        )
    cell = np.empty(len(keys), dtype=np.int64)
    cell[edges.edge[chosen]] = edges.cell[chosen]
    return number, cell[number]

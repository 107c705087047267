"""Hot-spot stress at weld toes: surface stress of a plate, read some way before the weld and carried on to its toe.

At the toe itself the mesh makes the stress. The structural stress that a hot-spot S-N curve is for leaves out what the
weld's own notch adds: read at stated distances and extrapolated (A. F. Hobbacher, Recommendations for Fatigue Design
of Welded Joints and Components, IIW, 2nd ed., Springer 2016, section 2.2.3; values from memory).

Distances count from the line where the sheets' middle planes meet, since the weld is not modelled; with `leg`, from a
toe that lies so far off it.

A calculation aid: the codes that apply and a licensed engineer's judgement come first.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ...errors import ModelError, nearest_name
from ...mesh.border import shorten
from ...mesh.closest import feet_in, feet_of
from ...mesh.selection import describe, select_cells, select_edges
from ...mesh.topology import corner_groups, free_edges, half_sides, smooth_sheets
from ...mesh.walk import Start, keys_of, walk
from ...model.values import place_words
from ...results.averaging import Sheets, average_corners
from ...results.spots import Spots
from ...results.static import StaticResult
from ...results.stress import to_cell_axes, to_global

__all__ = ["HOT_SPOT_RULES", "HotSpotRule", "HotSpots", "hot_spots"]

ROUNDING = 0.01  # of a cell's size that a rule allows: so much more is let pass
BESIDE = 0.1  # of a cell's size, or of the first distance: how far a line may start or run beside its plate or edge


@dataclass(frozen=True)
class HotSpotRule:
    """At which distances from the toe stress is read, and how it is carried on to the toe.

    Parameters
    ----------
    distances : tuple of float
        From the toe, ascending, in thicknesses or mm.
    weights : tuple of float
        Of the stresses there; their sum is the stress at the toe.
    of_thickness : bool
        Whether distances and cells are in thicknesses rather than mm.
    cells : pair of float
        The least and the largest size along the line of the cell at the toe that the rule is for.
    averaged : bool
        Whether corner stresses are averaged between cells first. Rules for cells whose middles are the reference points
        take each cell's own: at the toe the average has cells on one side only.
    """

    distances: tuple
    weights: tuple
    _: KW_ONLY
    of_thickness: bool = True
    cells: tuple = (0.0, 0.4)
    averaged: bool = True

    def extrapolate(self, stresses):
        """Stress at the toe from those at the distances, shape (k, ...)."""
        return np.tensordot(self.weights, stresses, axes=1)


# IIW (see above), with the exact weights of the straight line or parabola through the points, where the printed ones
# are rounded: 1.67 and -0.67. That cells of the coarse rule may differ from t by a third: common practice, no source.
HOT_SPOT_RULES = {
    "surface": {  # type a: toe on the plate's surface
        "fine": HotSpotRule((0.4, 1.0), (5 / 3, -2 / 3)),
        "quadratic": HotSpotRule((0.4, 0.9, 1.4), (2.52, -2.24, 0.72)),  # strong bending, or a sharp rise at the toe
        "coarse": HotSpotRule((0.5, 1.5), (1.5, -0.5), cells=(2 / 3, 4 / 3), averaged=False),
    },
    "edge": {  # type b: toe on the plate's edge; the thickness plays no part
        "fine": HotSpotRule((4.0, 8.0, 12.0), (3.0, -3.0, 1.0), of_thickness=False, cells=(0.0, 4.0)),
        "coarse": HotSpotRule((5.0, 15.0), (1.5, -0.5), of_thickness=False, cells=(0.0, 10.0), averaged=False),
    },
}


@dataclass(frozen=True, eq=False)
class HotSpots(Spots):
    """Hot-spot stress along a weld, and what it was extrapolated from.

    Parameters
    ----------
    rule : HotSpotRule
    surface : str
    along : ndarray, shape (n,)
        Of the places, along the weld, mm.
    read_at : ndarray, shape (n, k, 3)
        The reference points, mm; NaN beyond where a line ended.
    read : dict of str to ndarray, shape (n, k, 3)
        The stress there, by load case, in the order of `by_case`, MPa.
    notes : tuple of str
        What was accepted that the rule is not for, and how many places have no stress.
    """

    _: KW_ONLY
    rule: HotSpotRule
    surface: str
    along: np.ndarray
    read_at: np.ndarray
    read: dict
    notes: tuple = ()

    def table(self, factors):
        """Hot-spot stress of all places in a sum of load cases.

        Parameters
        ----------
        factors : dict of str to float
            Load case to factor, such as ``result["full load"].factors``.

        Returns
        -------
        table : pandas.DataFrame
        """
        import pandas as pd

        columns = {
            "place (mm)": [place_words(place.round(1) + 0.0) for place in self.places],
            "along the weld (mm)": self.along,
            "thickness (mm)": self.thickness,
            **dict(zip(("across (MPa)", "along (MPa)", "shear (MPa)"), self.stress(factors).T)),
            "why": self.why,
        }
        return pd.DataFrame(columns)


def hot_spots(
    result,
    weld,
    *,
    into=None,
    kind="surface",
    rule="fine",
    surface=None,
    thickness=None,
    leg=0.0,
    pitch=None,
    accept_coarse=False,
    name=None,
):
    """Hot-spot stress along a weld, or at one place, for every load case.

    Each spot has a line: straight, square to the weld, on the sheet. Stress is that of corners averaged on one plate,
    one smooth sheet and one side of the weld and of every junction. A line that leaves the plate, or comes to a fold, a
    junction, a beam or another plate, before its last distance, gives no stress but a reason.

    Parameters
    ----------
    result : StaticResult
    weld : str, place, array_like of int (m, 2), or two places
        A line of cell edges, with a spot in the middle of each; or ``((x, y, z), (x, y, z))``: one toe, and a place
        that its line runs towards. For toes on a plate's edge the latter, along that edge.
    into : str, place or array_like of int, optional
        The cells of the plate that is judged: at a joint several meet, and in a sheet that runs on through it there is
        one on either side. Only those beside the weld matter.
    kind : {"surface", "edge"}
        Whether the toe lies on the plate's surface or on its edge.
    rule : str or HotSpotRule
        A name in ``HOT_SPOT_RULES[kind]``, or one's own.
    surface : {"top", "middle", "bottom"}, optional
        Where stress is read: "top" on a surface, "middle" on an edge if left out.
    thickness : float, optional
        The thickness that the distances are in, mm; that of the plate if left out.
    leg : float
        From the line where the sheets meet to the toe, mm.
    pitch : float, optional
        From spot to spot along the weld, about, mm: instead of one for each edge.
    accept_coarse : bool
        Take stress also where the cell at the toe is not as the rule wants it; a note says so.
    name : str, optional
        As tables are to call it.

    Returns
    -------
    HotSpots
        Across the weld means along the spot's line; the shear's sign goes with the axes: across, along, top's normal.

    Raises
    ------
    ModelError
        If the rule, surface or sets are not known, `into` is not along the weld or on both sides of it, the line starts
        beside the sheet, or no spot at all can be judged.
    """
    if not isinstance(result, StaticResult):
        raise ModelError(f"hot spots: the result is {result!r}; it must be what solve_static gives.")
    mesh, is_line = result.model.mesh, _is_line(weld)
    name = name or (f"line from {place_words(weld[0])}" if is_line else describe(weld))
    who = f'hot spots of "{name}"'
    rule = _rule(kind, rule, who)
    _at_least_0(who, thickness=thickness, leg=leg, pitch=pitch)
    surface = surface or {"surface": "top", "edge": "middle"}[kind]
    if is_line:
        start, along, pairs = _on_line(mesh, np.asarray(weld, dtype=float), into, who), np.zeros(1), np.zeros((0, 2))
    elif kind == "edge":
        raise ModelError(f"{who}: a toe on a plate's edge is told by two places: the toe, and one farther along it.")
    else:
        pairs = _cell_edges(mesh, select_edges(mesh, weld, who))
        start, along, pairs = _along_weld(result.model, pairs, into, pitch, who)
    t = result.model.per_cell.thickness[start.cell] if thickness is None else np.full(len(start.cell), float(thickness))
    unit = t if rule.of_thickness else np.ones(len(t))
    distances = leg + unit[:, None] * np.array([0.0, *rule.distances])
    barred = {"a beam": result.model.beam_cells.points, "the weld": pairs}
    walked = walk(mesh, start, distances, plate=result.model.plate_of_cell, barred=barred)
    why, notes = walked.why.copy(), []
    if kind == "edge":
        _stay_at_edge(mesh, walked, rule, why)
    coarse = _cells_at_toe(mesh, walked, rule, unit)
    if not accept_coarse:
        why = np.where(why == "", coarse, why)
    is_judged = why == ""
    reasons = shorten(dict.fromkeys(why[~is_judged]), 3)
    if not is_judged.any():
        raise ModelError(f"{who}: no place can be judged: {reasons}.")
    if not is_judged.all():
        notes.append(f"{(~is_judged).sum()} of {len(why)} places have no stress: {reasons}.")
    if len(accepted := coarse[is_judged & (coarse != "")]):
        notes.append(f"Accepted at {len(accepted)} of {len(why)} places: {accepted[0]}.")
    read = _read(result, walked, is_judged, surface, _sheets(result.model, pairs) if rule.averaged else None)
    return HotSpots(
        name,
        np.where(np.isnan(walked.place[:, 0]), start.place, walked.place[:, 0]),
        {case: rule.extrapolate(values.swapaxes(0, 1)) for case, values in read.items()},
        t,
        why=tuple(map(str, why)),
        rule=rule,
        surface=surface,
        along=along,
        read_at=walked.place[:, 1:],
        read=read,
        notes=tuple(notes),
    )


def _is_line(weld):
    try:
        return np.shape(weld) == (2, 3)
    except ValueError:
        return False


def _rule(kind, rule, who):
    if kind not in HOT_SPOT_RULES:
        raise ModelError(f'{who}: there is no kind "{kind}". {nearest_name(kind, HOT_SPOT_RULES)[1]}')
    if isinstance(rule, HotSpotRule):
        return rule
    if rule not in HOT_SPOT_RULES[kind]:
        raise ModelError(f'{who}: there is no {kind} rule "{rule}". {nearest_name(rule, HOT_SPOT_RULES[kind])[1]}')
    return HOT_SPOT_RULES[kind][rule]


def _at_least_0(who, **numbers):
    for what, number in numbers.items():
        least = "of at least" if what == "leg" else "above"
        if number is not None and not (np.isfinite(number) and (number > 0 or (what == "leg" and number == 0))):
            raise ModelError(f"{who}: {what} is {number} mm; it must be a finite number {least} 0.")


def _on_line(mesh, places, into, who):
    """Where the line from one place towards another starts."""
    cells = np.arange(mesh.n_cells) if into is None else select_cells(mesh, into, f"{who}, into")
    ahead = places[1] - places[0]
    size = np.linalg.norm(ahead)
    if not (np.isfinite(size) and size > 0):
        raise ModelError(f"{who}: the line needs two different places; they are {place_words(places[0])} both.")
    towards = ahead / size
    nudge = min(size, 0.05 * mesh.sizes[feet_of(mesh, places[:1], cells).cell[0]])
    feet = feet_of(mesh, places[:1] + nudge * towards, cells)  # a little ahead: several sheets may meet at the toe
    cell = feet.cell
    if feet.distance[0] > BESIDE * mesh.sizes[cell[0]]:
        raise ModelError(
            f"{who}: it starts {feet.distance[0]:.3g} mm beside the sheet; start it on the plate's middle plane."
        )
    steep = abs(towards @ mesh.normals[cell[0]])
    if steep > np.sin(np.pi / 6):
        raise ModelError(
            f"{who}: the line rises from its plate by {np.degrees(np.arcsin(steep)):.0f}°; let it run on the plate."
        )
    normal = mesh.normals[cell[0]]
    place = places[0] - normal * (normal @ (places[0] - mesh.centres[cell[0]]))
    return Start(cell, place[None], towards[None], np.array([-1]))


def _cell_edges(mesh, pairs):
    """Whole sides of cells, one after the other along the line that they make, as pairs of points."""
    sides, is_half = half_sides(mesh, pairs)
    pairs = np.unique(np.sort(np.concatenate([pairs[~is_half], sides[:, [0, 2]]]), axis=1), axis=0)
    ends, count = np.unique(pairs, return_counts=True)
    at = {point: [] for point in ends.tolist()}
    for a, b in pairs.tolist():
        at[a].append(b)
        at[b].append(a)
    run = []
    for point in ends[np.argsort(count, kind="stable")].tolist():  # open ends first
        while at[point]:
            after = at[point].pop(0)
            at[after].remove(point)
            run.append((point, after))
            point = after
    return np.array(run)


def _along_weld(model, pairs, into, pitch, who):
    """Where the lines from a weld's edges start, how far along it, and its edges."""
    mesh, edges = model.mesh, model.mesh.edges
    number = np.minimum(np.searchsorted(keys := keys_of(mesh, edges.points), keys_of(mesh, pairs)), len(keys) - 1)
    is_side = keys[number] == keys_of(mesh, pairs)
    if not is_side.all():
        middle = mesh.points[pairs[is_side.argmin()]].mean(axis=0)
        raise ModelError(
            f"{who}: {(~is_side).sum()} of {len(pairs)} edges are of no cell, the first at {place_words(middle)} mm."
        )
    is_into = np.zeros(mesh.n_cells, dtype=bool)
    is_into[slice(None) if into is None else select_cells(mesh, into, f"{who}, into")] = True
    chosen = np.flatnonzero(np.isin(edges.edge, number) & is_into[edges.cell])
    beside = np.bincount(edges.edge[chosen], minlength=len(keys))[number]
    if (beside != 1).any():
        plates = np.unique(model.plate_of_cell[edges.cell[np.isin(edges.edge, number)]].astype(str))
        met = f"Along the weld lie the plates {', '.join(plates)}; give into=… the cells on one side of it."
        told = f'of "{describe(into)}" ' if into is not None else ""
        some, what = (
            ((beside == 0), "no cell") if (beside == 0).any() else ((beside > 1), "cells on more than one side")
        )
        raise ModelError(f"{who}: {some.sum()} of {len(pairs)} edges have {what} {told}beside them. {met}")
    cell_of = np.empty(len(keys), dtype=np.int64)
    cell_of[edges.edge[chosen]] = edges.cell[chosen]
    ends = mesh.points[pairs]
    run = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(run, axis=1)
    until = np.cumsum(length)
    if pitch is None:
        along, edge = until - length / 2, np.arange(len(pairs))
    else:
        n = max(1, round(until[-1] / pitch))
        along = (np.arange(n) + 0.5) * until[-1] / n
        edge = np.searchsorted(until, along).clip(max=len(pairs) - 1)
    place = ends[edge, 0] + ((along - until[edge] + length[edge]) / length[edge])[:, None] * run[edge]
    cell = cell_of[number[edge]]
    inward = np.cross(mesh.normals[cell], run[edge])
    inward *= np.sign(((mesh.centres[cell] - ends[edge, 0]) * inward).sum(axis=1))[:, None]
    return Start(cell, place, inward, number[edge]), along, pairs


def _stay_at_edge(mesh, walked, rule, why):
    """Say where reference points lie beside the plate's edge."""
    begin, end = mesh.points[free_edges(mesh)].swapaxes(0, 1)  # (m, 3)
    run = end - begin
    off = walked.place[:, :, None] - begin  # (n, k, m, 3)
    share = ((off * run).sum(axis=-1) / (run**2).sum(axis=-1)).clip(0, 1)
    beside = np.linalg.norm(off - share[..., None] * run, axis=-1).min(axis=-1)
    for i in np.flatnonzero((beside > BESIDE * rule.distances[0]).any(axis=1) & (why == "")):
        why[i] = f"runs {beside[i].max():.3g} mm beside the plate's edge"


def _cells_at_toe(mesh, walked, rule, unit):
    """Where the cell at the toe is not as the rule wants it, in words."""
    cell, is_there = walked.cell[:, 0], walked.cell[:, 0] >= 0
    corners = mesh.corners[cell]
    reach = np.einsum("nki,ni->nk", mesh.points[corners], walked.direction[:, 0])
    reach = np.where(corners >= 0, reach, reach[:, :1])
    size, (least, most) = np.ptp(reach, axis=1), rule.cells
    said = np.full(len(cell), "", dtype=object)
    for limit, is_wrong, words in (
        (most, size > most * unit * (1 + ROUNDING), "at most"),
        (least, size < least * unit * (1 - ROUNDING), "at least"),
    ):
        for i in np.flatnonzero(is_wrong & is_there):
            wanted = f"{limit:.3g} t = {limit * unit[i]:.3g} mm" if rule.of_thickness else f"{limit:.3g} mm"
            said[i] = f"cells at the toe are {size[i]:.3g} mm where the rule wants {words} {wanted}"
    return said


def _sheets(model, pairs):
    """Which corners are averaged: of one plate and sheet, on one side of junctions, beams and the weld."""
    plate = model.per_cell.plate
    group = corner_groups(model.mesh, same=plate, cut=np.concatenate([model.beam_cells.points, pairs]).astype(np.int64))
    return Sheets(smooth_sheets(model.mesh, same=plate), group, group.max(initial=-1) + 1)


def _read(result, walked, is_judged, surface, sheets):
    """Stress at the reference points in the axes of their lines, by load case, (n, k, 3)."""
    model, mesh = result.model, result.model.mesh
    cell, place, across = (each[is_judged, 1:] for each in (walked.cell, walked.place, walked.direction))
    shape, cell, place, across = (*cell.shape, 3), cell.ravel(), place.reshape(-1, 3), across.reshape(-1, 3)
    along, frames = np.cross(mesh.normals[cell], across), model.per_cell.frames
    weights = feet_in(mesh, place, cell).of_corners
    read = {}
    for case in model.load_cases:
        corners = result[case.name].stress(surface, at="corners")
        if sheets is not None:
            corners = average_corners(corners, frames, sheets)[0]
        stress = np.einsum("nk,nki->ni", weights, np.nan_to_num(corners[cell]))  # a triangle has no fourth, of weight 0
        turned = to_cell_axes(to_global(stress, frames[cell]), np.stack([across, along, mesh.normals[cell]], axis=1))
        read[case.name] = np.full((len(is_judged), *shape[1:]), np.nan)
        read[case.name][is_judged] = turned.reshape(shape)
    return read

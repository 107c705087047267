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
from scipy.sparse import csr_array

from ...errors import ModelError, nearest_name
from ...mesh.border import counted, shorten
from ...mesh.closest import feet_in
from ...mesh.selection import describe, select_edges
from ...mesh.topology import corner_groups, free_edges, smooth_sheets
from ...mesh.walk import walk
from ...model.values import as_numbers, bad_number, bad_vector, place_words, refuse
from ...results.averaging import Sheets, average_corners
from ...results.spots import Spots
from ...results.static import StaticResult
from ...results.stress import to_cell_axes, to_global
from .toes import in_turn, toe_of_line, toes_along

__all__ = ["HOT_SPOT_RULES", "HotSpotRule", "HotSpots", "hot_spots"]

COMPONENTS = ("across", "along", "shear")
ROUNDING = 0.01  # of a cell's size that a rule allows: so much more is let pass
BESIDE = 0.1  # of the first distance: how far a line may run beside the plate's edge. Common practice, no source


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
        Whether corner stresses are averaged between cells first. Rules whose reference points are the middles of cells
        take the cells' own: corners at the toe have cells on one side only.
    """

    distances: tuple
    weights: tuple
    _: KW_ONLY
    of_thickness: bool = True
    cells: tuple = (0.0, 0.4)
    averaged: bool = True

    def __post_init__(self):
        given = [as_numbers(each) for each in (self.distances, self.weights, self.cells)]
        if any(each is None or each.ndim != 1 or not np.isfinite(each).all() for each in given) or len(given[2]) != 2:
            raise ModelError(f"{self!r}: distances, weights and the two sizes of cells must be rows of finite numbers.")
        if len(given[0]) != len(given[1]) or (np.diff(given[0], prepend=0.0) <= 0).any():
            raise ModelError(f"{self!r}: it must have a weight for each distance, and distances must ascend from 0.")
        if abs(given[1].sum() - 1) > 1e-3:
            raise ModelError(f"{self!r}: the weights add up to {given[1].sum():g}; an even stress needs 1.")

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
    """

    _: KW_ONLY
    rule: HotSpotRule
    surface: str
    along: np.ndarray
    read_at: np.ndarray
    read: dict

    def curves(self, factors, component="across"):
        """Stress in a sum of load cases at the toe and where it was read, over `along`: for `femkit.show.chart`.

        Parameters
        ----------
        factors : dict of str to float
            Load case to factor, such as ``result["full load"].factors``.
        component : {"across", "along", "shear"}

        Returns
        -------
        curves : dict of str to ndarray, shape (n,)
            By what they are, MPa; NaN where there is no stress.
        """
        if component not in COMPONENTS:
            raise ModelError(f'{self.name}: there is no stress "{component}". {nearest_name(component, COMPONENTS)[1]}')
        which, unit = COMPONENTS.index(component), "t" if self.rule.of_thickness else "mm"
        curves = {"hot spot, at the toe": self.stress(factors)[:, which]}
        for k, distance in enumerate(self.rule.distances):
            read = sum(factor * self.read[case][:, k, which] for case, factor in factors.items())
            curves[f"read at {distance:g} {unit}"] = read
        return curves

    def table(self, factors):
        """Hot-spot stress of all places in a sum of load cases, as a table."""
        import pandas as pd

        columns = {
            "place (mm)": [place_words(place, digits=1) for place in self.places],
            "along the weld (mm)": self.along,
            "thickness (mm)": self.thickness,
            **{f"{name} (MPa)": stress for name, stress in zip(COMPONENTS, self.stress(factors).T)},
            "why": self.why,
        }
        return pd.DataFrame(columns)


def hot_spots(
    result,
    weld,
    *,
    into=None,
    towards=None,
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
        The cells of the plate that is judged, where several meet. Only those beside the weld matter.
    towards : 3 numbers, optional
        Any direction that tells on which side of the weld, where `into` has cells on both.
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
    model, (name, places) = result.model, _named(weld, name)
    who = f'hot spots of "{name}"'
    rule = _checked(who, kind, rule, towards, thickness, leg, pitch)
    if places is not None:
        pairs, along = np.empty((0, 2), dtype=np.int64), np.zeros(1)
        start = toe_of_line(model.mesh, places, into, who)
    elif kind == "edge":
        raise ModelError(f"{who}: a toe on a plate's edge is told by two places: the toe, and one farther along it.")
    else:
        pairs = in_turn(model.mesh, select_edges(model.mesh, weld, who))
        start, along = toes_along(model, pairs, into, towards, pitch, who)
    t = np.full(len(along), thickness or model.per_cell.thickness[start.cell], dtype=float)
    unit = t if rule.of_thickness else np.ones(len(t))
    distances = leg + unit[:, None] * np.array([0.0, *rule.distances])
    barred = {"a beam": model.beam_cells.points, "the weld": pairs}
    walked = walk(model.mesh, start, distances, plate=model.plate_of_cell, barred=barred)
    why = walked.why if kind == "surface" else _off_edge(model.mesh, walked, BESIDE * (distances[:, 1] - leg))
    coarse = _cells_at_toe(model.mesh, walked, rule, unit)
    why = why if accept_coarse else np.where(why == "", coarse, why)
    notes = _notes(who, why, coarse)
    surface = surface or {"surface": "top", "edge": "middle"}[kind]
    read = _read(result, walked, why == "", surface, _sheets(model, pairs), rule.averaged)
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
        notes=notes,
    )


def _named(weld, name):
    """What tables call a weld, and its two places (2, 3) if it is told by them."""
    places = as_numbers(weld)
    if places is not None and places.shape == (2, 3):
        return name or f"line from {place_words(places[0])}", places
    return name or ("weld" if np.ndim(weld) else describe(weld)), None


def _checked(who, kind, rule, towards, thickness, leg, pitch):
    """The rule that is meant; refused what can't be."""
    if str(kind) not in HOT_SPOT_RULES:
        raise ModelError(f'{who}: there is no kind "{kind}". {nearest_name(kind, HOT_SPOT_RULES)[1]}')
    rules = HOT_SPOT_RULES[kind]
    if not isinstance(rule, HotSpotRule) and str(rule) not in rules:
        raise ModelError(f'{who}: there is no rule "{rule}" for kind "{kind}". {nearest_name(rule, rules)[1]}')
    refuse(
        thickness is not None and bad_number(who, "thickness", thickness, "mm", " above 0"),
        pitch is not None and bad_number(who, "pitch", pitch, "mm", " above 0"),
        bad_number(who, "leg", leg, "mm", " of at least 0"),
        towards is not None and bad_vector(who, "towards", towards, may_be_0=False),
    )
    return rule if isinstance(rule, HotSpotRule) else rules[str(rule)]


def _notes(who, why, coarse):
    """How many places have no stress and what was accepted; refused where none has any."""
    reasons = shorten(dict.fromkeys(why[why != ""]), 3)
    if (why != "").all():
        raise ModelError(f"{who}: no place can be judged: {reasons}.")
    accepted, of = coarse[(why == "") & (coarse != "")], f"of {counted(len(why), 'place')}"
    notes = [f"{(why != '').sum()} {of} have no stress: {reasons}."] if reasons else []
    return tuple(notes + [f"Accepted at {len(accepted)} {of}: {accepted[0]}."] if len(accepted) else notes)


def _off_edge(mesh, walked, farthest):
    """What ends the lines, also where a reference point lies farther than that beside the plate's edge."""
    begin, end = mesh.points[free_edges(mesh)].swapaxes(0, 1)  # (m, 3)
    run, off = end - begin, walked.place[:, :, None] - begin  # (n, k, m, 3)
    share = ((off * run).sum(axis=-1) / (run**2).sum(axis=-1)).clip(0, 1)
    beside = np.linalg.norm(off - share[..., None] * run, axis=-1).min(axis=-1).max(axis=1)
    words = [f"runs {gap:.3g} mm beside the plate's edge" if gap > most else "" for gap, most in zip(beside, farthest)]
    return np.where(walked.why == "", np.array(words, dtype=object), walked.why)


def _cells_at_toe(mesh, walked, rule, unit):
    """Where the cell at the toe is not as the rule wants it, in words."""
    corners = mesh.corners[walked.cell[:, 0]]
    reach = np.einsum("nki,ni->nk", mesh.points[corners], walked.direction[:, 0])
    sizes = np.ptp(np.where(corners >= 0, reach, reach[:, :1]), axis=1)  # NaN where the line ended before its toe
    said, of = np.full(len(sizes), "", dtype=object), " t" if rule.of_thickness else ""
    for i, (size, one) in enumerate(zip(sizes, unit)):
        least, most = rule.cells[0] * one, rule.cells[1] * one
        if size > most * (1 + ROUNDING) or size < least * (1 - ROUNDING):
            word, limit, share = ("at most", most, rule.cells[1]) if size > most else ("at least", least, rule.cells[0])
            wanted = f"{share:.3g}{of}" + f" = {limit:.3g}" * rule.of_thickness
            said[i] = f"cells at the toe are {size:.3g} mm where the rule wants {word} {wanted} mm"
    return said


def _sheets(model, pairs):
    """Which corners are averaged: of one plate and sheet, on one side of junctions, beams and the weld."""
    plate = model.per_cell.plate
    group = corner_groups(model.mesh, same=plate, cut=np.concatenate([model.beam_cells.points, pairs]))
    return Sheets(smooth_sheets(model.mesh, same=plate), group, group.max(initial=-1) + 1)


def _read(result, walked, is_judged, surface, sheets, averaged):
    """Stress at the reference points in the axes of their lines, by load case, (n, k, 3)."""
    model, mesh = result.model, result.model.mesh
    cell, place, across = (each[is_judged, 1:] for each in (walked.cell, walked.place, walked.direction))
    shape, cell, place, across = (*cell.shape, 3), cell.ravel(), place.reshape(-1, 3), across.reshape(-1, 3)
    normal, frames = mesh.normals[cell], model.per_cell.frames
    axes = np.stack([across, np.cross(normal, across), normal], axis=1)
    row, touching = _touching(mesh, place, cell, sheets)
    weights = feet_in(mesh, place[row], touching).of_corners
    share = csr_array((1 / np.bincount(row)[row], (row, np.arange(len(row)))))
    read = {}
    for case in model.load_cases:
        corners = result[case.name].stress(surface, at="corners")
        if averaged:
            corners = average_corners(corners, frames, sheets)[0]
        corners = np.nan_to_num(corners[touching])  # a triangle has no fourth, of weight 0
        tensor = share @ to_global(np.einsum("nk,nki->ni", weights, corners), frames[touching])
        read[case.name] = np.full((len(is_judged), *shape[1:]), np.nan)
        read[case.name][is_judged] = to_cell_axes(tensor, axes).reshape(shape)
    return read


def _touching(mesh, place, cell, sheets):
    """All cells that have each place, a line along their common side for instance: number of the place, and cell."""
    is_near = feet_in(mesh, place, cell).of_corners > 1e-6
    row, corner = np.nonzero(is_near)
    near = csr_array((np.ones(len(row)), (row, sheets.group[cell[row], corner])), shape=(len(cell), sheets.n_groups))
    owner, corner = np.nonzero(sheets.group >= 0)
    has = csr_array((np.ones(len(owner)), (owner, sheets.group[owner, corner])), shape=(mesh.n_cells, sheets.n_groups))
    common = (near @ has.T).tocoo()
    is_all = common.data == is_near.sum(axis=1)[common.coords[0]]
    return tuple(each[is_all] for each in common.coords)

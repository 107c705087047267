"""Is it as stiff? Sag of rails, movement of openings, masses and reactions before and after, natural frequencies.

A calculation aid: the codes that apply and a licensed engineer's judgement come first. No limit has a default: span
over deflection, the clearance of a door and a forbidden band of frequencies are the user's own.
"""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.selection import describe, select_points
from ..model.model import Model
from ..model.support import point_weights
from ..model.values import bad_number, each_of, place_words, refuse, sequence_of
from ..results.modes import ModesResult
from ..results.static import StaticResult
from .strength import asked_names, asked_of_each
from .verdict import Assessment, Finding, judge

__all__ = [
    "DeflectionLine", "deflection_line", "frequency_band", "mass_changes", "opening_movement", "reaction_changes",
]  # fmt: skip

ONE_WALL = "the modes of one wall are not those of a body: floor, roof, ends and running gear move with it"
SPANS = {  # of an opening, between its corners 0 … 3 going round it, and which limit is for them
    "rising diagonal": (0, 2, "diagonal"),
    "falling diagonal": (3, 1, "diagonal"),
    "clear width below": (0, 1, "width"),
    "clear width above": (3, 2, "width"),
    "clear height at the first corner": (0, 3, "height"),
    "clear height at the second corner": (1, 2, "height"),
}
OFF_PLANE = "corners off their plane"
LIMITS = ("diagonal", "width", "height", OFF_PLANE)


@dataclass(frozen=True, eq=False)
class DeflectionLine(Assessment):
    """Vertical deflection of a rail against the chord between two of its places, with table and what governs.

    Attributes
    ----------
    name : str
    names : tuple of str
        Load cases and combinations.
    along : ndarray, shape (n,)
        Horizontal distance of the rail's points from the first place towards the second, mm, ascending; some may lie
        beyond them.
    deflection : ndarray, shape (n_names, n)
        mm, downward positive.
    """

    name: str
    names: tuple
    along: np.ndarray
    deflection: np.ndarray


def deflection_line(result, rail, between, *, combinations=None, limit=None):
    """How far a rail sags below the straight line between two places of it: a rigid tilt counts nothing.

    Parameters
    ----------
    result : StaticResult
    rail : str, place or array of int
        An edge set, or any points along a line.
    between : pair of str or place
        Where it stands. Each moves as its points' weighted mean does; take them on the rail, so that a body that
        rolls about its length counts nothing either.
    combinations : sequence of str, optional
        Load cases and combinations; all combinations without it, all load cases where there are none.
    limit : float, optional
        Least span over deflection, such as 500; the user's.

    Returns
    -------
    line : DeflectionLine
        Its table has a row a load case: the largest deflection between the two places, span over it, the largest
        beyond them, and the verdict; not assessed without a limit.

    Raises
    ------
    ModelError
        If the model is no shell, the two places are not apart, or the rail has no point between them.
    """
    names, model = asked_names(result, combinations), result.model
    if model.behaviour != "shell":
        raise ModelError("deflection line: the model is in plane stress, where nothing moves vertically; use a shell.")
    if limit is not None:
        refuse(bad_number("deflection line", "the limit of span over deflection", limit, "", " above 0"))
    if len(between := sequence_of("deflection line", each_of(between), object)) != 2:
        raise ModelError(f"deflection line: {len(between)} places were given between which it stands; give two.")
    ends = [point_weights(model.mesh, where, "deflection line") for where in between]
    first, second = (weights @ model.mesh.points[points] for points, weights in ends)
    chord, points = (second - first)[:2], select_points(model.mesh, rail, "deflection line")
    if not (span := float(np.hypot(*chord))) > 0:
        words = " and ".join(describe(where) for where in between)
        raise ModelError(f"deflection line: the places {words} lie above each other; they must be apart.")
    along = (model.mesh.points[points] - first)[:, :2] @ chord / span
    order = np.argsort(along, kind="stable")
    points, along = points[order], along[order]
    sunk = np.stack([-result[name].displacement[:, 2] for name in names])  # (n_names, n_points)
    low, high = (sunk[:, at] @ weights for at, weights in ends)
    deflection = sunk[:, points] - low[:, None] - np.outer(high - low, along / span)
    is_between = (along >= -1e-9 * span) & (along <= (1 + 1e-9) * span)
    if not is_between.any():
        raise ModelError(f"deflection line: {describe(rail)} has no point between the two places.")
    rows, findings, why = [], [], "" if limit else "no limit was given"
    for name, line in zip(names, deflection):
        at = int(np.where(is_between, np.abs(line), -1.0).argmax())
        used = abs(line[at]) * limit / span if limit else np.nan
        place = place_words(model.mesh.points[points[at]], digits=0)
        rows.append(
            {
                "combination": name,
                "deflection (mm)": line[at],
                "at (mm)": place,
                "span / deflection": span / abs(line[at]) if line[at] else np.inf,
                "wanted at least": limit or np.nan,
                "utilisation": used,
                "largest beyond (mm)": np.nan if is_between.all() else np.abs(line[~is_between]).max(),
                "verdict": judge(used, limit=1.0),
            }
        )
        findings.append(Finding(float(used), name, place, why))
    return DeflectionLine(
        tuple(rows), tuple(findings), rail if isinstance(rail, str) else "the rail", names, along, deflection
    )


def opening_movement(result, corners, *, combinations=None, limits=None):
    """Whether a door still shuts: what the four corners of an opening do to each other under every combination.

    Parameters
    ----------
    result : StaticResult
    corners : sequence of 4 str, places or ints
        One point each, going round: two below, then the one above the second, then the one above the first.
    combinations : sequence of str, optional
        As in `deflection_line`.
    limits : dict of str to float, optional
        mm, of either sign, for "diagonal", "width", "height", "corners off their plane"; the user's.

    Returns
    -------
    movement : Assessment
        A row a load case: growth of both diagonals, clear widths and clear heights, corners off their plane, all mm;
        the largest utilisation and its verdict, not assessed without limits. "Off their plane" is the largest distance
        of a corner from the plane that fits all four best, which no rigid motion changes; in a rectangle one corner is
        4 times as far off the plane of the other three.

    Raises
    ------
    ModelError
        If there are not four corners going round, or a limit is of an unknown kind or not above 0.
    """
    names, (limits,) = asked_names(result, combinations), sequence_of("opening, limits", (limits or {},), dict)
    mesh = result.model.mesh
    for kind, limit in limits.items():
        if kind not in LIMITS:
            raise ModelError(f'opening: there is no limit of the kind "{kind}". {nearest_name(kind, LIMITS)[1]}')
        refuse(bad_number("opening", f'the limit of "{kind}"', limit, "mm", " above 0"))
    if len(corners := sequence_of("opening", each_of(corners), object)) != 4:
        raise ModelError(f"opening: {len(corners)} corners were given; give four, going round the opening.")
    points = [result[names[0]].one_point(where) for where in corners]
    places = mesh.points[points]
    sides = np.roll(places, -1, axis=0) - places
    normal = np.cross(places[2] - places[0], places[3] - places[1])
    if not (np.cross(np.roll(sides, 1, axis=0), sides) @ normal > 0).all():
        words = ", ".join(describe(where) if isinstance(where, str) else str(where) for where in corners)
        raise ModelError(f"opening: the corners {words} do not go round an opening; name them in that order.")
    normal /= np.linalg.norm(normal)
    x = sides[0] / np.linalg.norm(sides[0])
    arms = places - places.mean(axis=0)
    plane = np.column_stack([np.ones(4), arms @ x, arms @ np.cross(normal, x)])
    off = np.eye(4) - plane @ np.linalg.pinv(plane)  # takes the best plane away from what is square to it
    kinds, rows, findings = [*(kind for _a, _b, kind in SPANS.values()), OFF_PLANE], [], []
    allowed = np.array([limits.get(kind, np.nan) for kind in kinds])
    for name in names:
        case = result[name]
        moved = [case.distance_change(points[a], points[b]) for a, b, _kind in SPANS.values()]
        moved.append(np.abs(off @ (case.displacement[points, :3] @ normal)).max())
        used = np.abs(moved) / allowed
        largest = np.nanmax(used) if limits else np.nan
        whys = [f"no limit for {kind}" if np.isnan(value) else "" for kind, value in zip(kinds, used)]
        row = {"combination": name} | {f"{what} (mm)": value for what, value in zip([*SPANS, OFF_PLANE], moved)}
        why = "; ".join(dict.fromkeys(filter(None, whys)))
        rows.append(row | {"utilisation": largest, "verdict": judge(largest, limit=1.0), "why": why})
        findings += [Finding(float(value), name, *rest) for value, *rest in zip(used, [*SPANS, OFF_PLANE], whys)]
    return Assessment(tuple(rows), tuple(findings))


def mass_changes(models):
    """Mass and centre of gravity of several models, and what changes against the first, as a pandas table.

    Parameters
    ----------
    models : dict of str to Model
        By the variant's name, the original first.
    """
    import pandas as pd

    _refuse_others("mass", models, Model)
    heads = ["mass (kg)", "x (mm)", "y (mm)", "z (mm)"]
    rows = {name: [model.mass * 1e3, *model.centre_of_gravity] for name, model in models.items()}
    table = pd.DataFrame.from_dict(rows, orient="index", columns=heads).rename_axis("variant")
    return table.join((table - table.iloc[0]).add_prefix("change of "))


def reaction_changes(results, component="uz", *, combinations=None):
    """Reaction of each support that holds a component, under every combination of several variants.

    Parameters
    ----------
    results : dict of str to StaticResult
        By the variant's name, the original first.
    component : {"ux", "uy", "uz"}
    combinations : sequence of str, optional
        Without it all combinations of each variant, or load cases where it has none. What one variant lacks is NaN.

    Returns
    -------
    table : pandas.DataFrame
        One row a combination and support: N in each variant, and the change against the first in N and in per cent.
    """
    import pandas as pd

    if component not in ("ux", "uy", "uz"):
        raise ModelError(f'reactions: there is no component "{component}"; it must be "ux", "uy" or "uz".')
    _refuse_others("reactions", results, StaticResult)
    found = {}
    for variant, names in asked_of_each("reactions: no variant", results, combinations).items():
        for name in names:
            table = results[variant][name].reactions()
            holds = table["holds"].str.split().apply(lambda words: component in words)
            for support, force in table.loc[holds, f"F{component[1]} (N)"].groupby(level=0, sort=False).sum().items():
                found.setdefault((name, support), {})[variant] = force
    index = pd.MultiIndex.from_tuples(found, names=["combination", "support"])
    table = pd.DataFrame({v: [float(forces.get(v, np.nan)) for forces in found.values()] for v in results}, index)
    original, *others = results
    for name in others:
        change = table[name] - table[original]
        table[f"change in {name} (N)"] = change
        table[f"change in {name} (%)"] = 100 * change / table[original].abs().replace(0, np.nan)
    return table.rename(columns={name: f"{name} (N)" for name in results})


def frequency_band(modes, band, *, whole_body=False):
    """Whether natural frequencies keep out of a band, such as that of the bogies or of an engine.

    Parameters
    ----------
    modes : ModesResult
    band : pair of float
        Lower and upper end, Hz, the margins within it; the user's.
    whole_body : bool
        Whether the model is a whole body. Without it nothing is assessed: one wall's modes are not a body's.

    Returns
    -------
    band : Assessment
        A row a mode. Its utilisation is f / lower end below the band and upper end / f above it, so more than 1
        within. With the highest mode still below the upper end, others may lie within: what governs is then not
        assessed, unless one of those found does.

    Raises
    ------
    ModelError
        If the band is none.
    """
    sequence_of("frequencies", (modes,), ModesResult)
    ends = sequence_of("the band", each_of(band), (int, float, np.number))
    refuse(bad_number("the band", "an end", ends, "Hz", " of at least 0", many="end"))
    if len(ends) != 2 or ends[0] >= ends[1]:
        raise ModelError(f"the band from {' to '.join(f'{x:g}' for x in ends)} Hz is none; give two, the lower first.")
    low, high = ends
    rows, findings = [], []
    for number, (f, is_rigid) in enumerate(zip(modes.frequency, modes.is_rigid), 1):
        why = ("" if whole_body else ONE_WALL) or "a rigid motion" * bool(is_rigid)
        used = np.nan if why else float(min(f / low if low else np.inf, high / f))
        row = {"mode": number, "frequency (Hz)": f, "in the band": bool(low < f < high), "utilisation": used}
        rows.append(row | {"verdict": judge(used, limit=1.0), "why": why})
        findings.append(Finding(used, f"mode {number}, {f:.4g} Hz", why="" if is_rigid and whole_body else why))
    if whole_body and modes.frequency[-1] <= high and not any(finding.value > 1 for finding in findings):
        why = f"the highest of {len(rows)} modes is at {modes.frequency[-1]:.4g} Hz, not above the band: ask for more"
        findings = [Finding(np.nan, why=why)]
    return Assessment(tuple(rows), tuple(findings))


def _refuse_others(what, variants, kind):
    if not isinstance(variants, dict) or not variants:
        raise ModelError(f"{what}: no variants were given; give them by name, the original first.")
    sequence_of(what, tuple(variants.values()), kind)

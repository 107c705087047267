"""Do the rivets or bolts of a joint hold: force on each at its pitch, stresses by hand formulas, resistances by code.

A calculation aid only: the codes that apply and a licensed engineer's judgement come first.

Hand formulas (common practice, no source): shear F/(n A), bearing F/(d t), tearing of the edge F/(2 (e - d/2) t), net
section F/((p - d) t). What is allowed is the user's. `en_resistance` has EN 1993-1-8:2005, table 3.4 (from memory).
"""

from dataclasses import dataclass

import numpy as np

from ...errors import ModelError, nearest_name
from ...model.values import as_numbers, bad_number, refuse
from ...results.line_forces import LineForces
from .use import JointUse, as_lines, check_numbers, passing

__all__ = ["FastenerResistance", "en_resistance", "fastener_group", "fasteners"]

CHECKS = ("shear", "bearing", "tear-out", "net section", "tension")
GAMMA_M2 = 1.25  # EN 1993-1-8, table 2.1, recommended (from memory)
# tensile stress areas of coarse threads, mm2: ISO 898-1 (from memory)
STRESS_AREA = {8: 36.6, 10: 58.0, 12: 84.3, 14: 115, 16: 157, 18: 192, 20: 245, 22: 303, 24: 353, 27: 459, 30: 561}
# bolt classes, ultimate strength MPa and alpha_v in the threads: EN 1993-1-8, tables 3.1 and 3.4 (from memory)
CLASSES = {"4.6": (400, 0.6), "4.8": (400, 0.5), "5.6": (500, 0.6), "5.8": (500, 0.5), "6.8": (600, 0.5)}
CLASSES |= {"8.8": (800, 0.6), "10.9": (1000, 0.5)}


@dataclass(frozen=True)
class FastenerResistance:
    """What one fastener can carry, N, or why that is not known.

    Attributes
    ----------
    shear, bearing, tension : float
        N; NaN outside the rules' scope.
    source, why : str
    """

    shear: float
    bearing: float
    tension: float
    source: str
    why: str = ""


def en_resistance(
    *, diameter, hole, thickness, ultimate, pitch, edge_distance, bolt_class=None, rivet_ultimate=None,
    rows=1, row_spacing=None, planes=1, threads_in_shear=True, gamma=GAMMA_M2,
):  # fmt: skip
    """Resistance of one bolt or rivet: EN 1993-1-8:2005, table 3.4 (from memory).

    Bearing is the less of both directions: along the joint with `pitch` between fasteners and `edge_distance` beside
    them, and across it with `edge_distance` ahead.

    Parameters
    ----------
    diameter, hole : float
        Of the shank before driving and of the hole, mm; a rivet fills its hole.
    thickness : float
        Of the plate that bears least, mm: the thinner, or both outer ones together.
    ultimate : float
        Of the plate, MPa.
    pitch, edge_distance : float
        mm, between centres along the joint and from the last row's centre to the edge.
    bolt_class : str, optional
        ``"8.8"``; or for a rivet `rivet_ultimate`, MPa, as driven.
    rows, row_spacing : int, float
        Rows of fasteners and the distance between them, mm.
    planes : int
        Shear planes.
    threads_in_shear : bool
        Whether a shear plane passes through the thread.
    gamma : float
        Partial factor.

    Returns
    -------
    resistance : FastenerResistance
        NaN, and why, where a hole lies nearer to the edge (1.2 holes) or to the next (2.2 along, 2.4 across) than
        table 3.3 allows, or a plate is thinner than 3 mm (EN 1993-1-3 is for those). A single row in a single lap
        bears 1.5 fu d t at most across it (3.6.1 (10)). Not looked at: largest spacings, punching, long joints, and
        a plate's end that lies closer to a line's last fastener than `edge_distance`.
    """
    who = "en_resistance"
    if (bolt_class is None) == (rivet_ultimate is None):
        raise ModelError(f"{who}: give either bolt_class or rivet_ultimate.")
    if bolt_class is not None and str(bolt_class) not in CLASSES:
        raise ModelError(f'{who}: bolt_class is "{bolt_class}". {nearest_name(bolt_class, CLASSES)[1]}')
    check_numbers(
        who, diameter=diameter, hole=hole, thickness=thickness, ultimate=ultimate, pitch=pitch, rows=rows,
        edge_distance=edge_distance, rivet_ultimate=rivet_ultimate, row_spacing=row_spacing, planes=planes, gamma=gamma,
    )  # fmt: skip
    if rows > 1 and row_spacing is None:
        raise ModelError(f"{who}: with {rows:g} rows row_spacing is needed, mm.")
    if hole < diameter:
        raise ModelError(f"{who}: hole is {hole:g} mm, the fastener {diameter:g} mm; the hole can't be smaller.")
    source = "EN 1993-1-8:2005, table 3.4 (from memory)"
    low = [(edge_distance, 1.2, "edge distance"), (pitch, 2.2, "pitch")]
    low += [(row_spacing, 2.4, "row spacing")] * (rows > 1)
    whys = [f"{name} {x:g} mm is below {k:g} holes of {hole:g} mm" for x, k, name in low if x < k * hole]
    whys += [f"plate of {thickness:g} mm is below 3 mm"] * (thickness < 3)
    if bolt_class is not None and diameter not in STRESS_AREA:
        whys.append(f"no stress area is known here of a bolt M{diameter:g}")
    if whys:
        return FastenerResistance(np.nan, np.nan, np.nan, source, "; ".join(whys))
    if bolt_class is None:
        strength, area = rivet_ultimate, np.pi / 4 * hole**2
        shear, tension = 0.6 * strength * area, 0.6 * strength * area
    else:
        (strength, alpha), area = CLASSES[str(bolt_class)], STRESS_AREA[diameter]
        shear = alpha * strength * area if threads_in_shear else 0.6 * strength * np.pi / 4 * diameter**2
        tension = 0.9 * strength * area
    beside = min(2.8 * edge_distance / hole - 1.7, 2.5, 1.4 * row_spacing / hole - 1.7 if rows > 1 else np.inf)
    along = beside * min(pitch / (3 * hole) - 0.25, strength / ultimate, 1)
    inner = row_spacing / (3 * hole) - 0.25 if rows > 1 else np.inf
    across = min(1.4 * pitch / hole - 1.7, 2.5) * min(edge_distance / (3 * hole), inner, strength / ultimate, 1)
    across = min(across, 1.5) if rows == planes == 1 else across
    bearing = min(along, across) * ultimate * diameter * thickness
    return FastenerResistance(planes * shear / gamma, bearing / gamma, tension / gamma, source)


def fasteners(
    lines, *, diameter, pitch, thickness, rows=1, hole=None, edge_distance=None, planes=1, lever=None,
    allowed=None, resistance=None,
):  # fmt: skip
    """Force on every rivet or bolt of a joint, stresses and utilisations.

    Parameters
    ----------
    lines : LineForces, or sequence of them
        Of one or several load cases. A line holds as many fasteners as whole pitches go into it, evenly; each takes
        what passes through its share of the line, so that they carry all of it.
    diameter, pitch : float
        mm.
    thickness : float
        Of the plate that bears least, mm.
    rows : int
        They share the force evenly.
    hole : float, optional
        mm; the fastener's diameter without it.
    edge_distance : float, optional
        From the last row's centre to the edge, mm. Without it tearing is not assessed.
    planes : int
        Shear planes.
    lever : float, optional
        mm, from the fastener to where the plates press on each other: the moment about the line over it adds to the
        tension. Without it that moment is in the table and taken by nothing.
    allowed : dict of str to float, optional
        By check (shear, bearing, tear-out, net section, tension), MPa.
    resistance : FastenerResistance, optional
        Used besides: shear, bearing, tension, and shear + tension/1.4 (EN 1993-1-8, table 3.4, from memory).

    Returns
    -------
    use : JointUse
        Tension is the normal force of either sign: which way opens the joint is not known here.

    Raises
    ------
    ModelError
        If a number is not above 0, a check is not known, or the pitch is longer than all lines.
    """
    who = "fasteners"
    lines = as_lines(who, lines)
    check_numbers(
        who, diameter=diameter, pitch=pitch, thickness=thickness, rows=rows, hole=hole, edge_distance=edge_distance,
        planes=planes, lever=lever,
    )  # fmt: skip
    for name, value, kind in (("allowed", allowed, dict), ("resistance", resistance, FastenerResistance)):
        if not isinstance(value, (kind, type(None))):
            raise ModelError(f"{who}: {name} is {value!r}; it must be a {kind.__name__}.")
    allowed, hole = allowed or {}, diameter if hole is None else hole
    unknown = [name for name in allowed if name not in CHECKS]
    if unknown:
        raise ModelError(f'{who}: there is no check "{unknown[0]}". {nearest_name(unknown[0], CHECKS)[1]}')
    check_numbers(who, **{f"allowed {name}": value for name, value in allowed.items()})
    faults = [f"{who}: pitch is {pitch:g} mm and the hole {hole:g} mm; holes would meet."] * (hole >= pitch)
    if edge_distance is not None and edge_distance <= hole / 2:
        faults.append(f"{who}: edge distance is {edge_distance:g} mm; it must be above half a hole, {hole / 2:g} mm.")
    longest = max(line.lengths.max() for line in lines)
    if longest < pitch * (1 - 1e-9):
        faults.append(f"{who}: pitch is {pitch:g} mm; the longest line has {longest:.4g} mm.")
    refuse(*faults)
    lines = [_at_pitch(line, pitch) for line in lines]
    (flow, length), share = passing(lines), np.concatenate([line.share for line in lines])
    force = flow[:, :3] * share[:, None] / rows
    tension = np.abs(force[:, 2]) + (0 if lever is None else np.abs(flow[:, 3]) * share / rows / lever)
    shear = np.hypot(force[:, 0], force[:, 1])
    stress = {"shear": shear / (planes * np.pi / 4 * diameter**2), "bearing": shear / (diameter * thickness)}
    if edge_distance is not None:
        stress["tear-out"] = shear / (2 * (edge_distance - hole / 2) * thickness)
    stress["net section"] = np.abs(flow[:, 1]) * pitch / ((pitch - hole) * thickness)
    stress["tension"] = tension / (np.pi / 4 * diameter**2)
    uses = {name: stress.get(name, np.full(len(shear), np.nan)) / limit for name, limit in allowed.items()}
    whys = ["tear-out: no edge distance was given"] * ("tear-out" in allowed and edge_distance is None)
    if resistance is not None:
        of_shear, of_tension = shear / resistance.shear, tension / resistance.tension
        uses |= {"shear, code": of_shear, "bearing, code": shear / resistance.bearing, "tension, code": of_tension}
        uses["shear and tension, code"] = of_shear + of_tension / 1.4
        whys += [f"{resistance.source}: {resistance.why}"] * bool(resistance.why)
    if lever is None and flow[:, 3].any() and any("tension" in name for name in uses):
        whys.append("tension is without the moment about the line, for which no lever was given")
    if not uses:
        uses, whys = {"any": np.full(len(shear), np.nan)}, ["no limits were given"]
    values = {f"{axis} (N)": force[:, k] for k, axis in enumerate(("along", "across", "normal"))}
    values |= {"moment about the line (N mm)": flow[:, 3] * share / rows, "shear force (N)": shear}
    values |= {"tension (N)": tension} | {f"{name} (MPa)": each for name, each in stress.items()}
    what, short = f"fasteners {diameter:g} mm at {pitch:g} mm", "the line is shorter than the pitch"
    return JointUse.of(what, lines, values, uses, whys=whys, is_short=length < pitch * (1 - 1e-9), short=short)


def _at_pitch(seam, pitch):
    """`LineForces` of which each row is a fastener, with the means over its share."""
    rows = []
    for k, length in enumerate(seam.lengths):
        n, of_line = max(int(length / pitch + 1e-9), 1), seam.line == k
        ends, distance = np.linspace(0, length, n + 1), seam.distance[of_line]
        at, mean = (ends[1:] + ends[:-1]) / 2, seam.mean(k, ends[:-1], ends[1:])
        places = np.column_stack([np.interp(at, distance, x) for x in seam.places[of_line].T])
        axes = seam.axes[of_line][np.searchsorted(distance, at)]
        rows.append((np.full(n, k), at, np.full(n, length / n), places, axes, mean[:, :3], mean[:, 3:]))
    return LineForces(seam.name, seam.case, *map(np.concatenate, zip(*rows)))


def fastener_group(points, force, at, moment=0.0):
    """Force on every fastener of a group that is loaded beside its centre, by the elastic method.

    Each of n takes F/n, and of the moment about the centre M r/Σr² square to its radius (common practice, no source).

    Parameters
    ----------
    points : array_like, shape (n, 2) or (n, 3)
        mm.
    force : array_like, shape (2,) or (3,)
        N.
    at : array_like, shape (2,) or (3,)
        Where the force acts, mm.
    moment : float or array_like, optional
        Acting besides, N mm.

    Returns
    -------
    forces : ndarray, shape (n, 3)
        N. Off the plane of the points the moment's forces follow as in a rigid plate: y/Σy², by the group's inertia.

    Raises
    ------
    ModelError
        If the numbers do not fit each other, or all points lie in one place or in a line about which there is a moment.

    Examples
    --------
    >>> group = [(x, y) for x in (-30, 30) for y in (-50, 0, 50)]
    >>> forces = fastener_group(group, (0, -30_000), (120, 0))
    >>> float(round(np.linalg.norm(forces, axis=1).max(), 3))
    16760.921
    """
    read = {"points": points, "force": force, "at": at, "moment": (0, 0, moment) if np.ndim(moment) == 0 else moment}
    for name, value in read.items():
        read[name] = value = as_numbers(value)
        if value is None or value.ndim != 1 + (name == "points") or value.shape[-1] not in (2, 3) or not len(value):
            raise ModelError(f"fastener_group: {name} must be numbers, two or three {'a point' * (name == 'points')}.")
        refuse(bad_number("fastener_group", name, value.ravel(), many="place"))
    points, force, at, moment = (np.pad(v, [(0, 0)] * (v.ndim - 1) + [(0, 3 - v.shape[-1])]) for v in read.values())
    centre = points.mean(axis=0)
    arm, turning = points - centre, np.cross(at - centre, force) + moment
    inertia = np.einsum("nk,nk->", arm, arm) * np.eye(3) - arm.T @ arm
    spin = np.linalg.pinv(inertia, rcond=1e-9) @ turning
    size = max(np.abs(turning).max(), np.linalg.norm(force) * np.abs(arm).max(), 1e-300)
    if np.abs(inertia @ spin - turning).max() > 1e-9 * size:
        raise ModelError("fastener_group: the points lie in one place or line, about which they can take no moment.")
    return force / len(points) + np.cross(spin, arm)

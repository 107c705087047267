"""Where loads act and supports hold, as arrows and markers in a picture's plane.

All arrows of a picture are equally long, for each load is even where it acts; the legend says how much it is in all.
"""

from dataclasses import dataclass

import numpy as np

from ..mesh.selection import describe, select_points
from ..model.cases import Combination
from ..model.loads import Acceleration, Gravity, SpreadLoad, Temperature
from .colours import ACTION_COLOURS, DARK, LegendEntry
from .page import arrows, arrows_end_on
from .picture import number

__all__ = ["Action", "actions_of", "draw_actions", "room_for"]

ARROW, TIER, SYMBOL = 60, 22, 17  # pixels long
MOST_TIERS = 2
SPACING = 1 / 26  # of the body's extent: what acts along a line or on a face is shown at places this far apart


@dataclass(frozen=True, eq=False)
class Action:
    """One load or support."""

    kind: str  # "force", "moment", "support" or "turn", which is a support against rotation
    places: np.ndarray  # (n, 3)
    directions: np.ndarray  # (n, 3), of length 1; a moment's is its axis by the right hand
    is_outward: np.ndarray  # (n,), whether the arrow points away from the body, and does not end at the place
    colour: str = DARK  # of the arrows
    tier: int = 0  # how many loads act at the same set already: each later arrow is longer, so that all are seen
    is_hollow: bool = False  # a support of the mean of its points


def actions_of(model, name):
    """All loads and supports of a load case or combination, and their entries in the legend."""
    case = model.case(name)
    factors = case.factors if isinstance(case, Combination) else {name: 1.0}
    actions, legend, seen = [], [], []
    for factor, load in [(factor, load) for part, factor in factors.items() for load in model.case(part).loads]:
        where = describe(getattr(load, "where", ""))
        colour = ACTION_COLOURS[len(seen) % len(ACTION_COLOURS)]
        times = "" if factor == 1 else f"{number(factor)} × "
        places, vectors, amount = _acting(model, load, factor)
        legend.append(LegendEntry("arrow", colour, f"{times}{load}: {amount}"))
        actions += _load_actions(model, places, vectors, colour, min(seen.count(where), MOST_TIERS))
        seen.append(where)
    for support in model.supports_of(model.case(next(iter(factors)))):
        actions += _support_actions(model, support)
        held = " ".join(support.words).replace("-", "−")
        mean = ", on the mean" if support.mean else ""
        legend.append(LegendEntry("support", "white" if mean else DARK, f"{describe(support.where)}: {held}{mean}"))
    return actions, legend


def room_for(actions):
    """Pixels to leave free round a body for its arrows and markers."""
    return max((ARROW + TIER * action.tier + 4 for action in actions), default=0)


def _acting(model, load, factor):
    """Where a load is shown, its forces and moments there (n, 6), and how much it is in all, in words."""
    if isinstance(load, Temperature):
        return np.empty((0, 3)), np.empty((0, 6)), f"{number(factor * load.change)} K"
    if isinstance(load, SpreadLoad):
        places, forces = np.array([load.at], dtype=float), factor * load.vector[None]
        return places, forces, _amount(forces)
    forces = factor * load.point_forces(model)
    acts = np.flatnonzero(forces.any(axis=1))
    places, vectors = model.mesh.points[acts], forces[acts]
    if isinstance(load, (Gravity, Acceleration)) and len(acts):  # of the body as a whole: one arrow where its mass is
        vectors[:, 3:] = 0.0  # of middle planes beside the points: no part of what the load is
        size = np.linalg.norm(vectors, axis=1)
        return (size @ places / size.sum())[None], vectors.sum(axis=0)[None], _amount(vectors)
    return *_thinned(model, places, vectors), _amount(vectors)


def _amount(forces):
    words = []
    for names, unit, part in (
        (("Fx", "Fy", "Fz"), "N", forces[:, :3]),
        (("Mx", "My", "Mz"), "N m", forces[:, 3:] / 1e3),
    ):
        total, rounding = part.sum(axis=0), 1e-9 * np.abs(part).sum()
        unit, per = ("k" + unit, 1e3) if np.abs(total).max() >= 1e3 else (unit, 1.0)
        words += [f"{name} {number(t / per)} {unit}" for name, t in zip(names, total) if abs(t) > rounding]
    return ", ".join(words) or "no force in all"


def _load_actions(model, places, vectors, colour, tier):
    found = []
    for kind, part in (("force", vectors[:, :3]), ("moment", vectors[:, 3:])):
        size = np.linalg.norm(part, axis=1)
        is_there = size > 1e-9 * size.max(initial=0.0)
        if is_there.any():
            along, where = part[is_there] / size[is_there, None], places[is_there]
            is_outward = np.full(len(where), np.sum(along * (where - _middle(model))) > 0)  # all of a load alike
            found.append(Action(kind, where, along, is_outward, colour, tier))
    return found


def _support_actions(model, support):
    points = model.mesh.points[select_points(model.mesh, support.where, str(support))]
    places, _ = _thinned(model, points, np.empty((len(points), 0)))
    found = []
    for component in support.held:
        axis = np.eye(3)["xyz".index(component[1])]
        is_outward = (places - _middle(model)) @ axis > 0
        kind = "support" if component[0] == "u" else "turn"
        found.append(Action(kind, places, np.tile(axis, (len(places), 1)), is_outward, is_hollow=support.mean))
    return found


def _middle(model):
    return (model.mesh.points.min(axis=0) + model.mesh.points.max(axis=0)) / 2


def _thinned(model, places, vectors):
    """What acts within each box of an even grid, put together at the mean of its places."""
    if not len(places):
        return places, vectors
    spacing = SPACING * model.mesh.extent.max()
    box = np.floor((places - places.min(axis=0)) / spacing + 1e-6).astype(np.int64)
    _, number_of, count = np.unique(box, axis=0, return_inverse=True, return_counts=True)
    total = np.zeros((len(count), 3 + vectors.shape[1]))
    np.add.at(total, number_of.ravel(), np.hstack([places, vectors]))
    return total[:, :3] / count[:, None], total[:, 3:]


def draw_actions(page, actions, camera, corner):
    """Draw loads and supports over a panel whose lower left corner is given; supports first."""
    from matplotlib.collections import PolyCollection

    for action in sorted(actions, key=lambda a: (a.kind in ("force", "moment"), -a.tier)):
        at = camera.project(action.places) + corner
        seen = action.directions @ camera.axes[:2].T
        length = np.linalg.norm(seen, axis=1, keepdims=True)
        is_flat = length[:, 0] > 0.25  # in the picture's plane rather than along the line of sight
        along = (seen / np.maximum(length, 1e-12))[is_flat]
        outward = action.is_outward[is_flat, None]
        face = "white" if action.is_hollow else DARK
        symbol = {"markerfacecolor": face, "markeredgecolor": DARK, "markeredgewidth": 1.5, "zorder": 3}
        if action.kind == "turn":
            page.plot(*at.T, "D", markersize=7, **symbol)
        elif action.kind == "support":
            base = at[is_flat] + SYMBOL * np.where(outward, along, -along)
            across = 0.5 * SYMBOL * along[:, ::-1] * (-1, 1)
            triangles = np.stack([at[is_flat], base + across, base - across], axis=1)
            page.add_collection(PolyCollection(triangles, facecolor=face, edgecolor=DARK, linewidth=1.5, zorder=3))
            page.plot(*at[~is_flat].T, "o", markersize=9, **symbol)
        else:
            along *= ARROW + TIER * action.tier
            tails = np.where(outward, at[is_flat], at[is_flat] - along)
            for share in (1.0,) if action.kind == "force" else (1.0, 0.8):  # a moment has two heads
                arrows(page, tails, share * along, action.colour)
            towards = action.directions[~is_flat] @ camera.axes[2] > 0
            arrows_end_on(page, at[~is_flat], towards, action.colour)

"""Where loads act and supports hold, as arrows and markers in a picture's plane.

All arrows of a picture are equally long, for each load is even where it acts; the legend says how much it is in all.
"""

from dataclasses import dataclass

import numpy as np

from ..mesh.selection import describe, select_points
from ..model.cases import Combination
from ..model.loads import Acceleration, Gravity, SpreadLoad, Temperature
from .colours import ACTION_COLOURS, DARK
from .picture import number

__all__ = ["Action", "actions_of", "draw_actions", "room_for"]

ARROW, TIER, SYMBOL = 60, 22, 17  # pixels long
MOST_TIERS = 2
SPACING = 1 / 26  # of the body's extent: what acts along a line or on a face is shown at places this far apart


@dataclass(frozen=True, eq=False)
class Action:
    """One load or support.

    Attributes
    ----------
    kind : {"force", "moment", "support", "turn"}
        "turn" is a support against rotation.
    places : ndarray, shape (n, 3)
    directions : ndarray, shape (n, 3)
        Of length 1; a moment's is its axis by the right hand.
    is_outward : ndarray of bool, shape (n,)
        Whether the arrow begins at the place and points away from the body, instead of ending there.
    colour : str
    tier : int
        How many loads act at the same set already: each later arrow is longer, so that all are seen.
    is_hollow : bool
        A support of the mean of its points.
    """

    kind: str
    places: np.ndarray
    directions: np.ndarray
    is_outward: np.ndarray
    colour: str
    tier: int = 0
    is_hollow: bool = False


def actions_of(model, name):
    """All loads and supports of a load case or combination.

    Parameters
    ----------
    model : Model
    name : str

    Returns
    -------
    actions : list of Action
    legend : list of (kind, colour, text)
    """
    case = model.case(name)
    factors = case.factors if isinstance(case, Combination) else {name: 1.0}
    centre = (model.mesh.points.min(axis=0) + model.mesh.points.max(axis=0)) / 2
    actions, legend = [], []
    loads = [(factor, load) for part, factor in factors.items() for load in model.case(part).loads]
    seen = []
    for i, (factor, load) in enumerate(loads):
        where = describe(getattr(load, "where", ""))
        tier = min(seen.count(where), MOST_TIERS)
        seen.append(where)
        colour = ACTION_COLOURS[i % len(ACTION_COLOURS)]
        times = "" if factor == 1 else f"{number(factor)} × "
        legend.append(("arrow", colour, f"{times}{load}: {_amount(model, load, factor)}"))
        actions += _load_actions(model, load, factor, centre, colour, tier)
    for support in model.supports_of(model.case(next(iter(factors)))):
        actions += _support_actions(model, support, centre)
        held = " ".join(f"{c} = {number(v)}" if v else c for c, v in support.held.items())
        mean = ", on the mean" if support.mean else ""
        legend.append(("support", "white" if support.mean else DARK, f"{describe(support.where)}: {held}{mean}"))
    return actions, legend


def room_for(actions):
    """Pixels to leave free round a body for its arrows and markers."""
    return max((ARROW + TIER * action.tier + 4 for action in actions), default=0)


def _load_actions(model, load, factor, centre, colour, tier):
    if isinstance(load, Temperature):
        return []
    if isinstance(load, SpreadLoad):
        places, vectors = np.array([load.at], dtype=float), load.vector[None]
    else:
        forces = load.point_forces(model)
        acts = np.flatnonzero(forces.any(axis=1))
        if not len(acts):
            return []
        places, vectors = model.mesh.points[acts], forces[acts]
        if isinstance(load, (Gravity, Acceleration)):  # of the body as a whole: one arrow where its mass is
            size = np.linalg.norm(vectors[:, :3], axis=1)
            places = (size @ places / size.sum())[None]
            vectors = np.pad(vectors[:, :3].sum(axis=0), (0, 3))[None]
        else:
            places, vectors = _thinned(places, vectors, SPACING * model.mesh.extent.max())
    found = []
    for kind, part in (("force", factor * vectors[:, :3]), ("moment", factor * vectors[:, 3:])):
        size = np.linalg.norm(part, axis=1)
        is_there = size > 1e-9 * max(size.max(), 1e-300)
        if is_there.any():
            along = part[is_there] / size[is_there, None]
            outward = np.full(len(along), np.sum(along * (places[is_there] - centre)) > 0)  # all of a load alike
            found.append(Action(kind, places[is_there], along, outward, colour, tier))
    return found


def _support_actions(model, support, centre):
    points = model.mesh.points[select_points(model.mesh, support.where, str(support))]
    places, _ = _thinned(points, np.zeros((len(points), 6)), SPACING * model.mesh.extent.max())
    found = []
    for component in support.held:
        axis = np.eye(3)["xyz".index(component[1])]
        outward = (places - centre) @ axis > 0
        directions = np.tile(axis, (len(places), 1))
        kind = "support" if component[0] == "u" else "turn"
        found.append(Action(kind, places, directions, outward, DARK, is_hollow=support.mean))
    return found


def _thinned(places, vectors, spacing):
    """What acts within each box of an even grid, put together at the mean of its places."""
    box = np.floor((places - places.min(axis=0)) / max(spacing, 1e-300) + 1e-6).astype(np.int64)
    _, number_of, count = np.unique(box, axis=0, return_inverse=True, return_counts=True)
    number_of = number_of.ravel()
    total = lambda values: np.stack([np.bincount(number_of, v) for v in values.T], axis=1)  # noqa: E731
    return total(places) / count[:, None], total(vectors)


def _amount(model, load, factor):
    if isinstance(load, Temperature):
        return f"{number(factor * load.change)} K"
    forces = factor * (load.vector[None] if isinstance(load, SpreadLoad) else load.point_forces(model))
    if isinstance(load, (Gravity, Acceleration)):
        forces[:, 3:] = 0.0  # of middle planes beside the points: no part of what the load is
    words = []
    for names, unit, part in (
        (("Fx", "Fy", "Fz"), "N", forces[:, :3]),
        (("Mx", "My", "Mz"), "N m", forces[:, 3:] / 1e3),
    ):
        total, rounding = part.sum(axis=0), 1e-9 * np.abs(part).sum()
        unit, per = ("k" + unit, 1e3) if np.abs(total).max() >= 1e3 else (unit, 1.0)
        words += [f"{name} {number(t / per)} {unit}" for name, t in zip(names, total) if abs(t) > rounding]
    return ", ".join(words) or "no force in all"


def draw_actions(page, actions, camera, corner):
    """Draw loads and supports over a panel whose lower left corner is given; supports first."""
    for action in sorted(actions, key=lambda a: (a.kind in ("force", "moment"), -a.tier)):
        at = camera.project(action.places) + corner
        screen = action.directions @ camera.axes[:2].T  # (n, 2), as long as it is seen
        is_flat = np.linalg.norm(screen, axis=1) > 0.25
        if action.kind in ("force", "moment"):
            _draw_arrows(page, action, at[is_flat], screen[is_flat], action.is_outward[is_flat])
            _draw_dots(page, action, at[~is_flat], action.directions[~is_flat] @ camera.axes[2])
        elif action.kind == "support":
            _draw_triangles(page, action, at[is_flat], screen[is_flat], action.is_outward[is_flat])
            _draw_symbols(page, at[~is_flat], "o", 9, action)
        else:
            _draw_symbols(page, at, "D", 7, action)


def _draw_arrows(page, action, at, along, is_outward):
    if not len(at):
        return
    along = along * (ARROW + TIER * action.tier) / np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-12)
    tail = np.where(is_outward[:, None], at, at - along)
    heads = (1.0,) if action.kind == "force" else (1.0, 0.8)  # a moment has two
    for share in heads:
        page.axes.quiver(
            *tail.T,
            *(share * along).T,
            angles="xy",
            scale_units="xy",
            scale=1,
            units="xy",
            width=2.6,
            headwidth=4.5,
            headlength=6,
            headaxislength=5,
            color=action.colour,
            zorder=4,
        )


def _draw_dots(page, action, at, towards):
    """Arrows along the line of sight: a dot towards the eye, a cross away from it."""
    for places, marker in ((at[towards > 0], "."), (at[towards <= 0], "x")):
        if len(places):
            options = {"linestyle": "None", "color": action.colour, "markeredgewidth": 2, "zorder": 4}
            page.axes.plot(*places.T, marker="o", markersize=13, markerfacecolor="white", **options)
            page.axes.plot(*places.T, marker=marker, markersize=6, **options)


def _draw_triangles(page, action, at, along, is_outward):
    from matplotlib.collections import PolyCollection

    if not len(at):
        return
    along = along / np.linalg.norm(along, axis=1, keepdims=True) * np.where(is_outward, 1, -1)[:, None]
    across = along[:, ::-1] * (-1, 1) * 0.5 * SYMBOL
    base = at + SYMBOL * along
    triangles = np.stack([at, base + across, base - across], axis=1)
    face = "white" if action.is_hollow else action.colour
    page.axes.add_collection(
        PolyCollection(triangles, facecolors=face, edgecolors=action.colour, linewidths=1.5, zorder=3)
    )


def _draw_symbols(page, at, marker, size, action):
    face = "white" if action.is_hollow else action.colour
    page.axes.plot(
        *at.T,
        marker=marker,
        markersize=size,
        markerfacecolor=face,
        markeredgecolor=action.colour,
        linestyle="None",
        markeredgewidth=1.5,
        zorder=3,
    )

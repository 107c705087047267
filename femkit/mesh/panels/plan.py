"""Where the lines of a panel's lattice run, and how far each stiffener goes between openings."""

import numpy as np

from .lattice import SAME, Axis, divide_alike

__all__ = ["axes_of", "pieces_of"]

TURN = np.radians(7.5)  # of a curved sheet that one cell spans at most; common practice, no source


def axes_of(panel, corners, pieces):
    """The lattice's three axes with their lines drawn: x, z and y."""
    slope = panel.growth - 1
    x, z, y = axes = [Axis(panel.coarse, slope) for _ in range(3)]
    y.meet(0.0)
    for axis, size in zip((x, z), panel.extent):
        axis.meet(0.0, size)
    for opening in panel.openings:
        for a in (0, 1):
            axes[a].meet(*opening.box(a))
            for corner in opening.corners:
                if min(corner.radius) == 0:
                    axes[a].want(corner.place[a], corner.place[a], opening.fine)
        if opening.coaming:
            y.meet(opening.coaming)
            y.want(0.0, opening.coaming, abs(opening.coaming) / panel.across)
    for corner in corners:
        for a in (0, 1):
            axes[a].meet(corner.tangent(a), corner.place[a], corner.limit(a))
            axes[a].want(*corner.box(a), corner.size)
    for part in (*panel.zones, *panel.doublers):
        for axis, limits in zip((x, z), part.box(panel.extent)):
            axis.meet(*limits)
    for stiffener, legs in pieces:
        axes[stiffener.axis].meet(*stiffener.lines)
        axes[1 - stiffener.axis].meet(*stiffener.reach(panel.extent))
        for _part, (u, v), spans in legs:
            for axis, ends in ((axes[stiffener.axis], u), (y, v)):
                axis.meet(*ends)
                if ends[1] > ends[0]:
                    axis.want(*ends, (ends[1] - ends[0]) / panel.across)
            axes[1 - stiffener.axis].meet(*(end for span in spans for end in span))
    for mark in panel.marks:
        for axis, limits in zip((x, y, z), mark.limits()):
            axis.meet(*limits)
    if panel.curvature_radius:
        z.want(0.0, panel.height, abs(panel.curvature_radius) * TURN)
    # a strip has as many cells beyond the opening's side along x as along z
    beyond = [[(corner.place[a], corner.limit(a)) for a in (0, 1)] for corner in corners]
    divide_alike((x, z), [(*runs, corner.opening) for runs, corner in zip(beyond, corners)])
    y.measure()
    y.draw()
    return axes


def pieces_of(panel, corners):
    """Each stiffener with its legs: part, (u, y) as ranges, and the spans that are left of it between openings."""
    pieces, faults, notes = [], [], []
    for stiffener in panel.stiffeners:
        legs, whole = [], [stiffener.reach(panel.extent)]
        for line in stiffener.lines:
            feet = {float(start[0]) for _part, start, end in stiffener.section if start[0] == end[0]}
            spans = {}
            for u in feet or {0.0}:
                gaps, more, short = _gaps(panel, corners, stiffener, line + u)
                faults += more
                notes += short
                spans[u] = _without(whole, gaps)
            common = whole
            for kept in spans.values():
                common = _overlap(common, kept)
            legs += [("line", ((line, line), (0.0, 0.0)), spans[0.0])] if not stiffener.section else []
            for part, start, end in stiffener.section:
                u, v = (tuple(sorted((float(start[k]), float(end[k])))) for k in (0, 1))
                here = spans.get(u[0]) if u[0] == u[1] else common
                legs.append((part, (tuple(line + each for each in u), v), here))
        pieces.append((stiffener, legs))
    return pieces, faults, notes


def _gaps(panel, corners, stiffener, at):
    """What openings take of a line, as ranges; faults for openings that it was not told to stop at or pass."""
    gaps, faults, notes = [], [], []
    axis, (low, high) = stiffener.axis, stiffener.reach(panel.extent)
    for opening in panel.openings:
        sides, ends = opening.box(axis), opening.box(1 - axis)
        if not sides[0] - SAME < at < sides[1] + SAME:
            continue
        inside = sides[0] + SAME < at < sides[1] - SAME
        taken, rounded = [ends] if inside else [], []
        for corner in corners:
            near, far = corner.box(axis)
            if corner.opening is opening and near + SAME < at < far - SAME:
                rounded.append(corner)
                taken.append(corner.box(1 - axis))
        taken = [(a, b) for a, b in taken if a < high - SAME and b > low + SAME]
        if not taken:
            continue
        where = f"{stiffener} at {'xz'[axis]} = {at:g}"
        if stiffener.at_openings is None:
            what = "runs through" if inside else "runs along the side of"
            past = "" if inside else ", and past its rounded corner"
            faults.append(f'{where} {what} {opening}{past}; say at_openings="stop" or "pass", or end its span before.')
        elif stiffener.at_openings == "pass" and rounded:
            faults.append(
                f"{where} can't pass {opening} over its rounded {rounded[0].name} corner, where the sheet has no line "
                "for it; move it to the straight part, or let it stop."
            )
        elif stiffener.at_openings == "stop":
            gaps += taken
            if rounded:
                notes.append(f"{where} stops short of {opening}, where the cells around its rounded corner begin.")
    return gaps, faults, notes


def _without(spans, gaps):
    for start, end in gaps:
        spans = [
            piece for a, b in spans for piece in ((a, min(b, start)), (max(a, end), b)) if piece[1] - piece[0] > SAME
        ]
    return spans


def _overlap(spans, others):
    both = [(max(a, c), min(b, d)) for a, b in spans for c, d in others]
    return [(a, b) for a, b in both if b - a > SAME]

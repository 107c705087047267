"""A free motion in the words of an engineer: along which directions, and about which line."""

from dataclasses import dataclass

import numpy as np

__all__ = ["describe_motion", "listed", "place_words"]

SAME = 1e-4  # of a body's size: nearer than this, two lines or places are the same in words
PARALLEL = 1 - SAME**2  # cosine from which on two directions are the same in words


@dataclass(frozen=True, eq=False)
class _Axes:
    """The points that the axes of some turns may pass through: a point, a line or a plane.

    Attributes
    ----------
    through : ndarray, shape (3,)
        One of them, mm: the nearest to the body's centre.
    along : ndarray, shape (3, 0 to 3)
        Unit directions in which it may be moved without changing what the words say.
    """

    through: np.ndarray
    along: np.ndarray

    def distance(self, places):
        """How far places (n, 3) lie off, mm."""
        arm = places - self.through
        return np.linalg.norm(arm - arm @ self.along @ self.along.T, axis=1)


def describe_motion(twists, centre, size, landmarks):
    """What a body can do, and what would stop it.

    Parameters
    ----------
    twists : ndarray, shape (6, n_free)
        Velocity at the centre, and turning times the size, of independent free motions.
    centre : ndarray, shape (3,)
        mm.
    size : float
        mm.
    landmarks : dict of str to ndarray, shape (3,)
        Named places, by which an axis is said where it passes through them.

    Returns
    -------
    words : str
        Such as ``move along x and turn about z``.
    cure : str
        A sentence: what to hold.
    """
    shifts, turns = _split(twists)
    said = []
    if shifts.shape[1]:
        said.append(f"move along {listed(map(_direction, shifts.T))}")
    if turns.shape[1]:
        said += _turns(shifts, turns, centre, size, landmarks)
    return " and ".join(said), _cure(shifts, turns)


def listed(words):
    """``a, b and c``."""
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def place_words(point, size=0.0):
    """``(1, 2.5, 0)``; what is 0 against the size is said as 0."""
    return "(" + ", ".join(_figure(value, size) for value in point) + ")"


def _split(twists):
    """Directions of pure shifts (3, n), and a twist for each direction of turning (6, m), both along global axes
    as far as they can be."""
    _u, values, vectors = np.linalg.svd(twists[3:])
    rank = int((values > SAME).sum())
    shifts = _along_axes(np.linalg.qr(twists[:3] @ vectors[rank:].T)[0])
    wanted = _along_axes(np.linalg.svd(twists[3:])[0][:, :rank])
    turns = twists @ np.linalg.lstsq(twists[3:], wanted, rcond=SAME)[0]
    turns[:3] -= shifts @ (shifts.T @ turns[:3])
    return shifts, turns


def _along_axes(basis):
    """An orthonormal basis of the same directions that holds all global axes that lie in it, then the rest."""
    inside = np.linalg.norm(basis, axis=1)
    axes = np.eye(3)[:, inside > PARALLEL]
    rest = basis - axes @ (axes.T @ basis)
    u, _values, _v = np.linalg.svd(rest)
    rest = u[:, : basis.shape[1] - axes.shape[1]]
    largest = np.take_along_axis(rest, np.abs(rest).argmax(axis=0)[None], axis=0) if rest.size else rest[:1]
    return np.hstack([axes, rest * np.sign(largest)])


def _turns(shifts, turns, centre, size, landmarks):
    """One phrase for all turns if their axes meet, else one each."""
    axes = _axes(shifts, turns, centre, size)
    if axes is None and turns.shape[1] > 1:
        return [words for turn in turns.T for words in _turns(shifts, turn[:, None], centre, size, landmarks)]
    names = listed(map(_direction, turns[3:].T))
    if axes is None:
        return [_screw(turns[:, 0], centre, size)]
    if axes.along.shape[1] == 3:
        return [f"turn about {names}"]
    on_it = [name for name in landmarks if axes.distance(landmarks[name][None])[0] < SAME * size]
    if axes.along.shape[1] == 1 and turns.shape[1] == 1:
        return [f"turn about {_line(axes, names, on_it, landmarks, size)}"]
    lines = "a line" if turns.shape[1] == 1 else "lines"
    where = _middle(on_it[0], landmarks, size) if on_it else _coordinates(axes, size)
    return [f"turn about {lines} along {names} {where}"]


def _axes(shifts, turns, centre, size):
    """Where the axes of turns meet, None if they don't: ``shift + turn × (centre - p) = v`` for each, p unknown."""
    off = np.eye(3) - shifts @ shifts.T  # a shift that is free moves an axis sideways for nothing
    matrix = np.vstack([off @ _cross(turn) for turn in turns[3:].T])
    wanted = (off @ turns[:3]).T.ravel()
    arm = np.linalg.lstsq(matrix, wanted, rcond=SAME)[0]
    if np.abs(matrix @ arm - wanted).max() > SAME * max(1, np.abs(wanted).max()):
        return None
    _u, values, vectors = np.linalg.svd(matrix)
    return _Axes(centre - arm * size, vectors[values < SAME].T)


def _cross(vector):
    x, y, z = vector
    return np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])


def _line(axes, name, on_it, landmarks, size):
    """A line by the two named places farthest apart on it, by one, or by its coordinates."""
    reach = {one: float((landmarks[one] - axes.through) @ axes.along[:, 0]) for one in on_it}
    first, last = (min(reach, key=reach.get), max(reach, key=reach.get)) if reach else ("", "")
    if reach and reach[last] - reach[first] > SAME * size:
        return f'the line through "{first}" and "{last}", along {name}'
    if reach:
        return f"the line along {name} {_middle(first, landmarks, size)}"
    return f"the line along {name} {_coordinates(axes, size)}"


def _middle(name, landmarks, size):
    return f'through the middle of "{name}" at {place_words(landmarks[name], size)}'


def _coordinates(axes, size):
    """Those coordinates that say where: ``at x = 0, z = 120``; all three where it lies askew."""
    if axes.along.shape[1] == 0:
        return f"through {place_words(axes.through, size)}"
    is_free = np.linalg.norm(axes.along, axis=1) > PARALLEL
    if is_free.sum() == axes.along.shape[1]:
        said = [f"{c} = {_figure(v, size)}" for c, v, free in zip("xyz", axes.through, is_free) if not free]
        return "at " + ", ".join(said)
    return f"through {place_words(axes.through, size)}"


def _screw(turn, centre, size):
    """A turn that can't be had without a shift along its axis."""
    spin = turn[3:] / size
    per_turn = turn[:3] @ spin / (spin @ spin)
    axes = _Axes(centre + np.cross(spin, turn[:3]) / (spin @ spin), (spin / np.linalg.norm(spin))[:, None])
    return (
        f"turn about the line along {_direction(turn[3:])} {_coordinates(axes, size)} "
        f"while moving along it by {_figure(per_turn * np.pi / 180)} mm a degree"
    )


def _direction(vector):
    unit = vector / np.linalg.norm(vector)
    k = int(np.abs(unit).argmax())
    if abs(unit[k]) > PARALLEL:
        return "xyz"[k]
    return "(" + ", ".join(f"{value + 0.0:.3g}" for value in np.where(np.abs(unit) < SAME, 0, unit)) + ")"


def _figure(value, size=0.0):
    return f"{0.0 if abs(value) < SAME * size else value:.6g}"


def _cure(shifts, turns):
    components = listed(f"u{'xyz'[k]}" for k in sorted(set(np.abs(shifts).argmax(axis=0)))) if shifts.size else ""
    if shifts.size and turns.size:
        return f"Hold {components}, at points far enough apart to stop the turning as well."
    if shifts.size:
        return f"Hold {components} somewhere."
    return "Hold a point off that line." if turns.shape[1] == 1 else "Hold more points, away from there."

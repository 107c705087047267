"""The flat fields of sheet between stiffeners: their sides, what holds each side, their thickness.

A field goes on until a junction, a fold, a beam or a free edge. A change of plate in its plane is no stiffener: the
field goes on there, and the least thickness, of a worn plate too, is taken for all of it. Nor is a
sheet joined by a link, or a stiffener that ends within the field: a larger field is found there, on the safe side.
"""

from dataclasses import dataclass

import numpy as np

from ...errors import ModelError
from ...mesh.selection import select_points
from ...mesh.topology import edge_keys, plain_fields
from ...model.model import Model
from ...model.values import place_words, sequence_of

__all__ = ["PanelFields", "panel_fields"]

# Our own bounds, no source, but where said
FILL = 0.85  # of its rectangle: less is not called a rectangle
HOLE = 0.01  # of its rectangle: a round hole as large lowers k in compression by 5 % (by a Ritz sum)
RISE = 0.25  # of its thickness: b²/Rt = 2, k up by 3 % (S. B. Batdorf, NACA TR 874, 1947, from memory)
NEAR, HELD = 0.05, 0.95  # of the width, how far off a side its edges may lie; of a side's length, how much must be held
STRIP = 9.0  # widths: what is as long is assessed though its ends are free, but for three widths beside them
SIDES = ("first long", "second long", "first short", "second short")


@dataclass(frozen=True, eq=False)
class PanelFields:
    """The fields of a model, each with the rectangle that holds it.

    Attributes
    ----------
    model : Model
    of_cell : ndarray of int, shape (n_cells,)
        Which field each cell belongs to.
    axes : ndarray, shape (n, 3, 3)
        Rows along the longer side, along the shorter, and normal to the field.
    centre : ndarray, shape (n, 3)
        Of the rectangle, mm.
    length, width : ndarray, shape (n,)
        The longer and the shorter side a and b of the rectangle, mm.
    fill : ndarray, shape (n,)
        Area of the field over that of the rectangle.
    thickness : ndarray, shape (n,)
        The least, mm: a buckle seeks it where it is a half wave long; where it is a pit, that is far on the safe side.
    thickest : ndarray, shape (n,)
        The largest, mm.
    held : ndarray, shape (n, 4)
        Share of each side's length that a junction, a fold, a beam or a support holds: at -y, +y, -x and +x of `axes`.
    kind : tuple of str
        "internal", "outstand" (one long edge free), or "" where it can't be assessed.
    why : tuple of str
        Why not; "" where it can.
    plate : ndarray of int, shape (n,)
        Position in ``model.plate_names`` of the plate that has most of its area.
    """

    model: Model
    of_cell: np.ndarray
    axes: np.ndarray
    centre: np.ndarray
    length: np.ndarray
    width: np.ndarray
    fill: np.ndarray
    thickness: np.ndarray
    thickest: np.ndarray
    held: np.ndarray
    kind: tuple
    why: tuple
    plate: np.ndarray

    def __post_init__(self):
        for value in vars(self).values():
            if isinstance(value, np.ndarray):
                value.setflags(write=False)

    def __len__(self):
        return len(self.length)

    @property
    def free_ends(self):
        """Whether the short sides at -x and +x are free, shape (n, 2): stress beside them is not assessed."""
        return self.held[:, 2:] < 0.5

    @property
    def free_side(self):
        """On which side of an outstand's y the free edge lies: -1 or 1, shape (n,); 0 of all others."""
        is_outstand = np.array(self.kind, dtype=object) == "outstand"
        return np.where(is_outstand, np.where(self.held[:, 0] < self.held[:, 1], -1, 1), 0)

    def least(self, by_plate):
        """The least of a value of each plate's material among the plates of a field, shape (n,)."""
        found = np.full(len(self), np.inf)
        with np.errstate(invalid="ignore"):  # of a plate that has none
            np.minimum.at(found, self.of_cell, np.asarray(by_plate, dtype=float)[self.model.per_cell.plate])
        return found

    def place(self, field):
        """Middle of a field's rectangle in words."""
        return place_words(self.centre[field], digits=0)

    def table(self):
        """Plate, place, sides, thickness and what holds each field, as a pandas table, one row a field."""
        import pandas as pd

        spread = [f"{a:g} to {b:g}" if b - a > 1e-9 * b else "" for a, b in zip(self.thickness, self.thickest)]
        kinds = [kind + ", free ends left out" * bool(kind and e.any()) for kind, e in zip(self.kind, self.free_ends)]
        columns = {
            "plate": np.array(self.model.plate_names, dtype=object)[self.plate],
            "middle at (mm)": [self.place(i) for i in range(len(self))],
            "a (mm)": self.length,
            "b (mm)": self.width,
            "thickness (mm)": self.thickness,
            "varies (mm)": spread,
            "share of its rectangle": self.fill,
            "kind": kinds,
            "why not assessed": self.why,
        }
        return pd.DataFrame(columns, index=pd.RangeIndex(len(self), name="field"))

    def __repr__(self):
        counts = [f"{self.kind.count(kind)} {kind or 'not assessed'}" for kind in ("internal", "outstand", "")]
        return f"PanelFields: {len(self)}, of which {', '.join(counts)}"


def panel_fields(model):
    """The plane fields of a model between junctions, folds, beams and free edges, fitted by rectangles.

    Parameters
    ----------
    model : Model
        A side counts as held where another sheet or a beam stands along it, or where supports hold its points square
        to the field under all load cases. Whether a stiffener is stiff enough to hold is not asked: a buckling factor
        of the whole model (`femkit.solve_buckling`) says that.

    Returns
    -------
    fields : PanelFields
        The rectangle's axes are the direction, and that square to it, in which most of a field's border runs.
    """
    sequence_of("panel fields", (model,), Model)
    mesh, per_cell = model.mesh, model.per_cell
    if not mesh.n_cells:
        raise ModelError("panel fields: the model has no sheet.")
    of_cell, is_border = plain_fields(mesh, model.beam_cells.points)
    n = of_cell.max() + 1
    side = np.flatnonzero(is_border[mesh.edges.edge])
    edge, field = mesh.edges.edge[side], of_cell[mesh.edges.cell[side]]
    axes = _axes(model, of_cell, n, edge, field)
    cell, corner = np.nonzero(mesh.corners >= 0)
    own, at = of_cell[cell], mesh.points[mesh.corners[cell, corner]]
    low, high = _box(own, np.einsum("nij,nj->ni", axes[own], at), n)
    is_upright = (high - low)[:, 1] > (high - low)[:, 0] * (1 + 1e-6)
    axes[is_upright] = np.stack([axes[is_upright, 1], -axes[is_upright, 0], axes[is_upright, 2]], axis=1)
    low, high = _box(own, np.einsum("nij,nj->ni", axes[own], at), n)
    length, width, rise = (high - low).T
    area = np.bincount(of_cell, mesh.areas, n)
    thickness, thickest = _box(of_cell, per_cell.thickness, n)
    fill = area / (length * width)
    held, has_hole = _sides(model, edge, field, axes, low, high)
    kind, why = zip(*map(_judged, fill, has_hole, rise, thickness, held, length / width))
    shares = np.zeros((n, len(model.plates)))
    np.add.at(shares, (of_cell, per_cell.plate), mesh.areas)
    centre = np.einsum("nij,ni->nj", axes, (low + high) / 2)
    plate = shares.argmax(axis=1)
    return PanelFields(
        model, of_cell, axes, centre, length, width, fill, thickness, thickest, held, kind, why, plate
    )  # fmt: skip


def _axes(model, of_cell, n, edge, field):
    """Frames (n, 3, 3) of fields: along the border, which a fourth power of directions averages over its corners."""
    mesh = model.mesh
    first = np.unique(of_cell, return_index=True)[1]
    facing = np.sign(np.einsum("ei,ei->e", mesh.normals, mesh.normals[first][of_cell]))
    normal = np.stack([np.bincount(of_cell, v * facing, n) for v in mesh.vector_areas.T], axis=1)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    x = model.per_cell.frames[first, 0]
    x = x - (x * normal).sum(axis=1, keepdims=True) * normal
    x /= np.linalg.norm(x, axis=1, keepdims=True)
    y = np.cross(normal, x)
    along = np.diff(mesh.points[mesh.edges.points[edge]], axis=1)[:, 0]
    flat = np.einsum("ei,ei->e", along, x[field]) + 1j * np.einsum("ei,ei->e", along, y[field])
    fourth = flat**4 / np.maximum(np.abs(flat), 1e-300) ** 3
    turn = np.angle(np.bincount(field, fourth.real, n) + 1j * np.bincount(field, fourth.imag, n))[:, None] / 4
    x, y = np.cos(turn) * x + np.sin(turn) * y, np.cos(turn) * y - np.sin(turn) * x
    return np.stack([x, y, normal], axis=1)


def _box(group, values, n):
    """Least and largest of values by group."""
    low, high = (np.full((n, *values.shape[1:]), end) for end in (np.inf, -np.inf))
    np.minimum.at(low, group, values)
    np.maximum.at(high, group, values)
    return low, high


def _sides(model, edge, field, axes, low, high):
    """Share of each side that is held (n, 4), and whether free edges lie elsewhere within a field (n,)."""
    mesh, n = model.mesh, len(axes)
    ends = mesh.points[mesh.edges.points[edge]]
    size = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    u, v, _ = np.einsum("eij,ej->ie", axes[field], ends.mean(axis=1))
    gaps = np.stack([v - low[field, 1], high[field, 1] - v, u - low[field, 0], high[field, 0] - u])
    side, is_off = gaps.argmin(axis=0), gaps.min(axis=0) > NEAR * (high - low)[field, 1]
    on_beam = np.isin(edge_keys(mesh, mesh.edges.points), edge_keys(mesh, model.beam_cells.points))
    is_held = (mesh.edges.count[edge] > 1) | on_beam[edge]
    is_held |= _supported(model, mesh.edges.points[edge], axes[field, 2])
    bins = 4 * field + side
    of_side, of_held = (np.bincount(bins, size * chosen, 4 * n) for chosen in (~is_off, ~is_off & is_held))
    has_hole = np.bincount(field, is_off & ~is_held, n) > 0
    return (of_held / np.maximum(of_side, 1e-300)).reshape(n, 4), has_hole


def _supported(model, pairs, normal):
    """Whether supports hold both points of edges square to a field, under all load cases."""
    axis = np.abs(normal).argmax(axis=1)
    is_held = np.ones(len(pairs), dtype=bool) & (np.abs(normal).max(axis=1) > 0.99)
    for supports, _names in model.support_groups:
        fast = np.zeros((model.mesh.n_points, 3), dtype=bool)
        for one in supports:
            columns = ["xyz".index(name[1]) for name in one.held if name[0] == "u" and not one.mean]
            fast[np.ix_(select_points(model.mesh, one.where, str(one)), columns)] = True
        is_held &= fast[pairs, axis[:, None]].all(axis=1)
    return is_held


def _judged(fill, has_hole, rise, thickness, held, aspect):
    """Kind of a field, and why it can't be assessed."""
    if rise > RISE * thickness:
        return "", f"it is curved: it rises {rise:.3g} mm out of its plane, and the formulas are for flat fields"
    if fill < FILL or (has_hole and fill < 1 - HOLE):
        return "", f"not a rectangle: an opening, or its form, takes {1 - fill:.0%} of it"
    partly = [name for name, share in zip(SIDES, held) if 1 - HELD < share < HELD]
    if partly:
        return "", f"its {partly[0]} side is held along a part of its length only"
    is_free = held < 0.5
    if is_free[:2].sum() < 2 and (aspect >= STRIP or not is_free[2:].any()):
        return "outstand" if is_free[:2].any() else "internal", ""
    free = ", ".join(name for name, missing in zip(SIDES, is_free) if missing)
    return "", f"nothing holds its sides: {free}"

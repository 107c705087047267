"""Stress of fields of sheet: membrane forces at cells' corners, fitted linearly over pieces of each field."""

from dataclasses import dataclass

import numpy as np

from .fields import PanelFields

__all__ = ["SHORT", "Pieces", "SideStress", "states"]

# widths, the longest piece of a field whose stress is taken as linear: across, which a long field's length averages,
# and along and in shear, whose peaks a buckle seeks. Our own, no source; by eigenvalues of simply supported fields a
# peak along that is 1.5 widths long is taken up to 16 % too lightly, one of 3 widths not at all
PIECE, SHORT = 3.0, 1.0
LEAST = 1e-6  # MPa, below it stress is rounding


@dataclass(frozen=True, eq=False)
class Pieces:
    """Fields cut along their length, and what fits stress in each piece linearly to the values at cells' corners."""

    fields: PanelFields
    cell: np.ndarray  # (n_samples,) corner values: of which cell
    corner: np.ndarray  # (n_samples,) which corner
    piece: np.ndarray  # (n_samples,) in which piece
    weighted: np.ndarray  # (n_samples, 3) 1, x, y in the piece from -1 to 1, times the area stood for
    inverse: np.ndarray  # (n_pieces, 3, 3) of the sum of squares
    field: np.ndarray  # (n_pieces,) of which field
    length: np.ndarray  # (n_pieces,) mm
    is_left_out: np.ndarray  # (n_pieces,) beside a free end
    part_of: np.ndarray  # (n_pieces,) which of the pieces that are as long as may be

    @classmethod
    def of(cls, fields, longest=PIECE):
        mesh, width = fields.model.mesh, fields.width
        whole = np.maximum(np.ceil(fields.length / (PIECE * width) - 1e-9).astype(int), 1)
        cut = np.ceil(fields.length / (whole * longest * width) - 1e-9).astype(int)
        count = whole * cut
        first = np.cumsum(count) - count
        field = np.repeat(np.arange(len(fields)), count)
        within = np.arange(count.sum()) - first[field]
        length, part = (fields.length / count)[field], within // cut[field]
        is_end = [part == 0, part == whole[field] - 1]
        is_left_out = np.any([end & fields.free_ends[field, i] for i, end in enumerate(is_end)], axis=0)
        cell, corner = np.nonzero(mesh.corners >= 0)
        of = fields.of_cell[cell]
        local = lambda at: np.einsum("nij,nj->ni", fields.axes[of, :2], at - fields.centre[of])  # noqa: E731
        along = (local(mesh.centres[cell])[:, 0] / fields.length[of] + 0.5) * count[of]
        piece = first[of] + np.clip(np.floor(along).astype(int), 0, count[of] - 1)
        x, y = local(mesh.points[mesh.corners[cell, corner]]).T
        x = 2 * (x + fields.length[of] / 2) / length[piece] - 2 * within[piece] - 1
        basis = np.column_stack([np.ones(len(x)), x, 2 * y / width[of]])
        weighted = basis * (mesh.areas[cell] / (mesh.corners[cell] >= 0).sum(axis=1))[:, None]
        squares = _summed(piece, weighted[:, :, None] * basis[:, None], len(field))
        inverse = np.linalg.pinv(squares, rcond=1e-9, hermitian=True)
        part += (np.cumsum(whole) - whole)[field]
        return cls(fields, cell, corner, piece, weighted, inverse, field, length, is_left_out, part)

    def stress(self, case):
        """Coefficients (n_pieces, 3 components, 3 of 1, x, y): along, across, shear; MPa, compression positive."""
        axes = self.fields.axes[self.fields.of_cell[self.cell], :2]
        turn = axes @ case.model.per_cell.frames[self.cell, :2].swapaxes(1, 2)
        n = case.resultants[self.cell, 1 + self.corner, :3][:, [[0, 2], [2, 1]]]
        n = (turn @ n @ turn.swapaxes(1, 2))[:, [0, 1, 0], [0, 1, 1]]
        sums = _summed(self.piece, n[:, :, None] * self.weighted[:, None], len(self.field))
        fit = -np.einsum("pij,pcj->pci", self.inverse, sums) / self.fields.thickness[self.field][:, None, None]
        return np.where(np.abs(fit) < LEAST, 0.0, fit)


def _summed(group, values, n):
    """Sums of values (n_samples, ...) by group."""
    flat = values.reshape(len(values), -1).T
    return np.stack([np.bincount(group, column, n) for column in flat], axis=1).reshape(n, *values.shape[1:])


@dataclass(frozen=True, eq=False)
class SideStress:
    """Stress across a side at many places: mean, largest, and least over largest; compression positive, MPa."""

    mean: np.ndarray
    slope: np.ndarray

    @property
    def ends(self):
        """Largest and least."""
        return self.mean + np.abs(self.slope), self.mean - np.abs(self.slope)

    @property
    def largest(self):
        return self.ends[0]

    @property
    def psi(self):
        """From -1 to 1; 1 where nothing is in compression."""
        largest, least = self.ends
        acts = largest > 0
        return np.clip(np.where(acts, least / np.where(acts, largest, 1.0), 1.0), -1, 1)


def states(pieces, fit):
    """Stress where EN 1993-1-5, 4.6(3) looks, towards either end of every piece: its field, along, across, shear."""
    fields, field, length = pieces.fields, np.tile(pieces.field, 2), np.tile(pieces.length, 2)
    place = 1 - 2 * np.minimum(0.4, 0.5 * fields.width[field] / length)  # 1 is the piece's end
    place[len(pieces.field) :] *= -1
    along, across, shear = np.moveaxis(np.concatenate([fit, fit]), 1, 0)
    of_x = SideStress(along[:, 0] + place * along[:, 1], along[:, 2])
    of_y = SideStress(across[:, 0] + 0.2 * np.abs(across[:, 2]), across[:, 1])  # 0.4 of the width from a long side
    return field, of_x, of_y, np.abs(shear[:, 0] + place * shear[:, 1])

"""What an element kernel needs to know of its cells: plain arrays, all cells of one kind at once."""

from dataclasses import dataclass, replace

import numpy as np

__all__ = ["STEP", "CellArrays"]

STEP = 1e-30  # mm; its square is nothing beside 1


@dataclass(frozen=True, eq=False)
class CellArrays:
    """Geometry and section of all cells of one kind (or of a chunk of them).

    Attributes
    ----------
    corners : ndarray, shape (n_cells, n_corners, 3)
        Points of each cell in global axes, mm; counter-clockwise seen from the top.
    frames : ndarray, shape (n_cells, 3, 3)
        Rows are the cell's local x, y and z (z is the normal) in global axes.
    thickness, youngs_modulus, poissons_ratio : ndarray, shape (n_cells,)
        mm, MPa, 1.
    offset : ndarray, shape (n_cells,)
        From the points to the middle plane along local z, mm.
    bend : ndarray, shape (n_cells,)
        Twice the largest angle between the cell's normal and the smooth sheet's averaged normals at its
        points, rad: how strongly the sheet curves over one cell. Zero on flat sheets and beside folds.
    is_straight : ndarray of bool, shape (n_cells, n_corners)
        Whether the side from each corner to the next stays straight, since a cell that can't
        bend it has it too: see `straight_sides`.
    """

    corners: np.ndarray
    frames: np.ndarray
    thickness: np.ndarray
    youngs_modulus: np.ndarray
    poissons_ratio: np.ndarray
    offset: np.ndarray
    bend: np.ndarray
    is_straight: np.ndarray

    def __len__(self):
        return len(self.corners)

    def stepped(self, side):
        """The same with a complex step of `STEP` in the thickness, and of `side` times it in the offset, (n_cells,).

        The imaginary part of what a kernel makes of it is `STEP` times the derivative, with no difference taken and so
        exact to rounding (W. Squire, G. Trapp, SIAM Rev. 40 (1998) 110-112). All kernels take complex thickness and
        offset, of which they use analytic functions alone.
        """
        return replace(self, thickness=self.thickness + STEP * 1j, offset=self.offset + side * STEP * 1j)

    def __getitem__(self, chosen):
        """The same for some of the cells: a slice, mask or index array."""
        return CellArrays(*(getattr(self, name)[chosen] for name in self.__dataclass_fields__))

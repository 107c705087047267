"""Which cells are so thin, warped or skewed that their results deserve doubt."""

from dataclasses import dataclass

import numpy as np

from ..errors import MeshQualityError
from .border import counted, shorten
from .mesh import Mesh
from .shapes import SHAPES, surface_elements

__all__ = ["Quality", "check_quality", "mesh_quality"]

# common practice, no source: what a summary points out
LONG, WARPED, SKEWED = 10.0, 10.0, 0.2  # longest / shortest edge, degrees, scaled Jacobian


@dataclass(frozen=True, eq=False)
class Quality:
    """Size and shape of every cell; made by `mesh_quality`.

    Attributes
    ----------
    mesh : Mesh
    area : ndarray, shape (n_cells,)
        mm2.
    aspect : ndarray, shape (n_cells,)
        Longest edge over shortest edge: 1 is best.
    warp : ndarray, shape (n_cells,)
        Angle between the planes of the two triangles that a diagonal cuts a quadrilateral into, the larger of both
        diagonals', degrees: 0 is flat.
    scaled_jacobian : ndarray, shape (n_cells,)
        Smallest sine of a corner's angle, seen along the cell's normal: 1 for a rectangle, 0 or less where a
        quadrilateral is no longer convex, or a quadratic cell folds over itself. For a triangle it is scaled to be 1
        for three equal sides.
    """

    mesh: Mesh
    area: np.ndarray
    aspect: np.ndarray
    warp: np.ndarray
    scaled_jacobian: np.ndarray

    def worst(self, count=10, by="scaled_jacobian"):
        """The worst cells as a pandas table, worst first.

        Parameters
        ----------
        count : int
            How many.
        by : str
            ``"scaled_jacobian"`` or ``"area"`` (smallest first), ``"aspect"`` or ``"warp"`` (largest first).

        Returns
        -------
        pandas.DataFrame
            One row a cell: its index, kind, place of its centre, quality, and the cell sets it is in.
        """
        import pandas as pd

        worst_first = {"scaled_jacobian": self.scaled_jacobian, "area": self.area, "aspect": -self.aspect}
        worst_first["warp"] = -self.warp
        if by not in worst_first:
            raise MeshQualityError(f'by is "{by}"; it must be one of {", ".join(worst_first)}.')
        cells = np.argsort(worst_first[by], kind="stable")[:count]
        centres = self.mesh.centres[cells]
        return pd.DataFrame(
            {
                "kind": np.repeat(list(self.mesh.cells), [len(c) for c in self.mesh.cells.values()])[cells],
                "x, mm": centres[:, 0],
                "y, mm": centres[:, 1],
                "z, mm": centres[:, 2],
                "area, mm2": self.area[cells],
                "aspect": self.aspect[cells],
                "warp, degrees": self.warp[cells],
                "scaled Jacobian": self.scaled_jacobian[cells],
                "cell sets": [", ".join(_sets_of(self.mesh, cell)) for cell in cells],
            },
            index=pd.Index(cells, name="cell"),
        )

    @property
    def summary(self):
        """The worst values and how many cells are poor, in words."""
        if not len(self.area):
            return "The mesh has no cells."
        lines = [
            f"Areas {self.area.min():.4g} … {self.area.max():.4g} mm2.",
            _worst("Aspect", self.aspect, self.aspect.argmax(), self.aspect > LONG, f"above {LONG:g}"),
            _worst("Warp, degrees,", self.warp, self.warp.argmax(), self.warp > WARPED, f"above {WARPED:g}"),
            _worst(
                "Scaled Jacobian",
                self.scaled_jacobian,
                self.scaled_jacobian.argmin(),
                self.scaled_jacobian < SKEWED,
                f"below {SKEWED:g}",
            ),
        ]
        return "\n".join(lines)

    def __repr__(self):
        return f"Quality of {counted(len(self.area), 'cell')}\n{self.summary}"


def mesh_quality(mesh):
    """Area, aspect, warp and scaled Jacobian of every cell.

    Parameters
    ----------
    mesh : Mesh

    Returns
    -------
    Quality

    References
    ----------
    .. [1] P. M. Knupp, "Algebraic mesh quality metrics for unstructured initial meshes", Finite Elements in Analysis
       and Design 39 (2003) 217-241: the scaled Jacobian.

    Examples
    --------
    >>> square = Mesh([[0, 0], [1, 0], [1, 1], [0, 1]], {"quad": [[0, 1, 2, 3]]})
    >>> float(mesh_quality(square).scaled_jacobian[0])
    1.0
    """
    aspect, warp, jacobian = np.ones(mesh.n_cells), np.zeros(mesh.n_cells), np.ones(mesh.n_cells)
    for kind, connectivity, where in mesh.corner_blocks():
        corners, n = mesh.points[connectivity], connectivity.shape[1]
        sides = np.roll(corners, -1, axis=1) - corners  # (n, k, 3), from each corner to the next
        length = np.linalg.norm(sides, axis=2)
        with np.errstate(divide="ignore"):
            aspect[where] = length.max(axis=1) / length.min(axis=1)
        points, bow = mesh.points[mesh.cells[kind]], 0.0
        if points.shape[1] > n:
            bow = 4 * (points[:, n : 2 * n] - corners - sides / 2)  # by how far a curved side's ends turn out
        before = -np.roll(sides - bow, 1, axis=1)
        jacobian[where] = _scaled_jacobian(sides + bow, before, mesh.normals[where], n)
        if points.shape[1] > n:
            jacobian[where] = np.minimum(jacobian[where], _least_area(points, mesh.normals[where]) > 0)
        if n == 4:
            warp[where] = np.maximum(_warp(corners), _warp(np.roll(corners, 1, axis=1)))
    quality = Quality(mesh, mesh.areas, aspect, warp, jacobian)
    for values in (aspect, warp, jacobian):
        values.setflags(write=False)
    return quality


def check_quality(mesh, min_scaled_jacobian=0.0):
    """Quality of a mesh all of whose cells can be calculated with.

    Parameters
    ----------
    mesh : Mesh
    min_scaled_jacobian : float
        Every cell must have more. At 0 a quadrilateral has a corner of 180 degrees and no unique map.

    Returns
    -------
    Quality

    Raises
    ------
    MeshQualityError
        If cells have less; it names them, their places and their sets.
    """
    quality = mesh_quality(mesh)
    bad = np.flatnonzero(~(quality.scaled_jacobian > min_scaled_jacobian))
    if len(bad):
        bad = bad[np.argsort(quality.scaled_jacobian[bad], kind="stable")]
        raise MeshQualityError(
            f"A scaled Jacobian of {min_scaled_jacobian:g} or less in {counted(len(bad), 'cell')}: "
            f"{shorten((_place(quality, cell) for cell in bad), 4)}. Move their points or mesh that place anew."
        )
    return quality


def _scaled_jacobian(after, before, normals, n):
    length = np.linalg.norm(after, axis=2) * np.linalg.norm(before, axis=2)
    with np.errstate(divide="ignore", invalid="ignore"):
        sine = np.einsum("eni,ei->en", np.cross(after, before), normals) / length
    smallest = np.nan_to_num(sine, nan=0.0).min(axis=1)  # corners in one point: as bad as folded
    return smallest * (2 / np.sqrt(3) if n == 3 else 1.0)


def _least_area(points, normals):
    """The least of what a reference unit covers of quadratic cells, at their points and Gauss points, mm2."""
    shape = SHAPES[points.shape[1]]
    at = np.vstack([shape.gauss, shape.places])
    surface = surface_elements(points, shape._replace(gauss=at, weights=np.ones(len(at))))
    return np.einsum("egi,ei->eg", surface, normals).min(axis=1)


def _warp(corners):
    """Angle between the planes on either side of the diagonal from the first corner to the third, degrees."""
    diagonal = corners[:, 2] - corners[:, 0]
    here = np.cross(corners[:, 1] - corners[:, 0], diagonal)
    there = np.cross(diagonal, corners[:, 3] - corners[:, 0])
    sine, cosine = np.linalg.norm(np.cross(here, there), axis=1), np.abs(np.einsum("ei,ei->e", here, there))
    return np.degrees(np.arctan2(sine, cosine))


def _worst(name, values, worst, is_poor, limit):
    few = f"{counted(is_poor.sum(), 'cell')} {limit}" if is_poor.any() else f"none {limit}"
    return f"{name} {values[worst]:.3g} at worst, cell {worst}; {few}."


def _place(quality, cell):
    x, y, z = quality.mesh.centres[cell]
    sets = ", ".join(_sets_of(quality.mesh, cell))
    where = f"({x:.5g}, {y:.5g}, {z:.5g}) mm" + (f" in {sets}" if sets else "")
    return f"cell {cell} at {where} has {quality.scaled_jacobian[cell]:.3g}"


def _sets_of(mesh, cell):
    return [name for name, cells in mesh.cell_sets.items() if np.isin(cell, cells)]

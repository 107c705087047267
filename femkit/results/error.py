"""How far is the stress from what a finer mesh would give? An estimate in the energy norm, cell by cell and in total.

Each cell's own section forces s jump from cell to cell; averaged at the points they make a field s* that is nearer to
the truth, and what the two differ by is taken for the error (O. C. Zienkiewicz, J. Z. Zhu, *A simple error estimator
and adaptive procedure for practical engineering analysis*, Int. J. Numer. Meth. Engng 24 (1987) 337-357)::

    ||e||² = ∫ (s* - s)' D⁻¹ (s* - s) dA        ||u||² = ∫ s' D⁻¹ s dA        share = √(||e||² / (||u||² + ||e||²))

with s of membrane, bending and transverse shear, and D the section's stiffness. ``||u||²`` is twice the strain energy.

The index θ, estimated over true error, measured against exact fields (`tests/results/test_error.py`), on rectangular or
even meshes and with inner points moved by up to a quarter of a cell:

====================================================  ====================  ====================  ====================
exact field                                           quadrilateral         plane triangle        shell triangle
====================================================  ====================  ====================  ====================
plate with a hole, 4², 8², 16² on a quarter           0.88, 0.98–1.03, 1.0  0.74–0.79, 0.9, 0.97  0.88, 0.97, 0.98
thick cylinder, 4 × 8, 8 × 16, 16 × 32 on a quarter   0.97–1.00             0.98–1.01             0.98–1.01
cantilever, 8 × 2, 16 × 4, 32 × 8                     0.56–0.80, 0.9, 0.95  0.99–1.01             0.99–1.06
simply supported plate, 4², 8², 16², t = a/1000–a/5   0.92–1.02             –                     0.83–1.00
====================================================  ====================  ====================  ====================

On a mesh too coarse to see the stress at all (two quadrilaterals over the depth of a beam, four plane triangles around
a quarter of a hole) it says too little. Averaging was chosen over patches of least squares (O. C. Zienkiewicz, J. Z.
Zhu, *The superconvergent patch recovery and a posteriori error estimates*, Int. J. Numer. Meth. Engng 33 (1992)
1331-1382): linear fits to the centres of each cell and its neighbours gave 0.52–1.54 on the same meshes, most where
stress is steep at an edge. Shear of thin plates is estimated at 0.6–0.8 of its error, and takes no part that counts.

Nothing is averaged across a fold, a junction, a beam or a change of plate. A real jump inside one plate, along a line
load or where thickness changes from cell to cell, is taken for error; so is the angle between flats on a curve. Beams
take no part.
"""

from dataclasses import dataclass

import numpy as np

from ..elements.quadrature import CORNERS, GAUSS_2X2, MID_SIDES
from ..elements.section import SHEAR_FACTOR, plane_stress
from ..errors import ModelError
from ..model.values import place_words
from .averaging import average_corners, corner_means

__all__ = ["ErrorEstimate", "estimate_error", "twice_strain_energy"]

# From corners to Gauss points of equal weight, (n_gauss, n_corners): own fields are linear along a cell's sides
AT_GAUSS = {"quad": np.prod(1 + GAUSS_2X2.places[:, None] * CORNERS, axis=2) / 4, "triangle": MID_SIDES.places}


@dataclass(frozen=True, eq=False)
class ErrorEstimate:
    """The estimated error of one load case's stress in the energy norm.

    Attributes
    ----------
    model : Model
    per_cell : ndarray, shape (n_cells,)
        Error of each cell, √(N mm). Squares add up.
    norm : ndarray, shape (n_cells,)
        Energy norm of each cell's own stress, √(N mm): the root of twice its strain energy.
    """

    model: object
    per_cell: np.ndarray
    norm: np.ndarray

    def __post_init__(self):
        self.per_cell.setflags(write=False)
        self.norm.setflags(write=False)

    @property
    def total(self):
        """Error of the whole model, √(N mm)."""
        return float(np.linalg.norm(self.per_cell))

    @property
    def share(self):
        """Error of the whole model in per cent of the energy norm: about as much as its stress is off on average."""
        return _share(self.per_cell, self.norm)

    def worst(self):
        """The plates, the one with most of the error first, and the cell in each that has most, as a table."""
        import pandas as pd

        rows = []
        for plate, cells in self.model.plate_cells.items():
            error, cell = self.per_cell[cells], cells[self.per_cell[cells].argmax()]
            rows.append(
                {
                    "plate": plate,
                    "error (√(N mm))": np.linalg.norm(error),
                    "of the plate's energy norm (%)": _share(error, self.norm[cells]),
                    "part of the whole error (%)": 100 * error @ error / max(self.total**2, np.finfo(float).tiny),
                    "worst cell": cell,
                    "near (mm)": place_words(self.model.mesh.centres[cell], digits=0),
                }
            )
        return pd.DataFrame(rows).set_index("plate").sort_values("error (√(N mm))", ascending=False)

    def __repr__(self):
        cell = self.per_cell.argmax()
        near = place_words(self.model.mesh.centres[cell], digits=0)
        return f"ErrorEstimate: {self.share:.3g} % of the energy norm; most in cell {cell} near {near} mm"


def estimate_error(case):
    """The error of a load case's stress, from what averaging at the points takes away.

    Parameters
    ----------
    case : CaseResult

    Returns
    -------
    estimate : ErrorEstimate

    Raises
    ------
    ModelError
        If the model has no cells, only beams; or quadratic ones, whose error corners hardly see: on a thick cylinder it
        came out at 0.75 to 0.18 of the true one, the less the finer the mesh.
    """
    if not case.model.mesh.n_cells:
        raise ModelError("error estimate: the model has no cells, only beams; nothing is averaged along those.")
    if case.model.mesh.is_quadratic:
        raise ModelError("error estimate: corners of quadratic cells hardly see the error; compare two meshes instead.")
    own = case.resultants[:, 1:]
    error = twice_strain_energy(_recovered(own, case.model.per_cell.frames, case.parent.sheets) - own, case.model)
    return ErrorEstimate(case.model, np.sqrt(error), np.sqrt(twice_strain_energy(own, case.model)))


def _recovered(own, frames, sheets):
    """Section forces (n_cells, 4, 8) averaged at points, in the cells' axes; normals of a sheet point to one side."""
    membrane, bending = (average_corners(own[..., part], frames, sheets)[0] for part in (slice(3), slice(3, 6)))
    axes = frames[:, :2]
    shear = corner_means(own[..., 6:] @ axes, sheets) @ axes.transpose(0, 2, 1)
    return np.concatenate([membrane, bending, shear], axis=-1)


def twice_strain_energy(corners, model):
    """Twice the strain energy of section forces (n_cells, 4, 8) in each cell, N mm, shape (n_cells,)."""
    cell, mesh = model.per_cell, model.mesh
    softness = np.linalg.inv(plane_stress(cell.poissons_ratio))  # for a Young's modulus of 1
    energy = np.empty(mesh.n_cells)
    for kind, connectivity, block in mesh.blocks():
        force = AT_GAUSS[kind] @ corners[block, : connectivity.shape[1]]  # (n, n_gauss, 8)
        thickness, modulus = cell.thickness[block, None], cell.youngs_modulus[block, None]
        membrane, bending = (
            np.einsum("egi,eij,egj->eg", force[..., part], softness[block], force[..., part], optimize=True)
            for part in (slice(3), slice(3, 6))
        )
        shear = (force[..., 6:] ** 2).sum(axis=-1) * softness[block, 2, 2, None] / SHEAR_FACTOR  # E / G of it
        density = (membrane + 12 * bending / thickness**2 + shear) / (modulus * thickness)
        energy[block] = density.mean(axis=1) * mesh.areas[block]
    return energy


def _share(error, norm):
    squares = error @ error, norm @ norm
    return 100 * float(np.sqrt(squares[0] / max(sum(squares), np.finfo(float).tiny)))

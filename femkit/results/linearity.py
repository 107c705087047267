"""Where a linear solution has left its ground: plates that sag too far sideways, large rotations, large strains."""

from weakref import WeakKeyDictionary

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import laplacian
from scipy.sparse.linalg import splu

from ..model.values import place_words

__all__ = ["linearity_notes", "sideways_sag"]

SAG_IN_THICKNESSES = (
    0.5  # from here on a held plate's own stretching carries load: Timoshenko & Woinowsky-Krieger, ch. 13
)
ROTATION = 0.1  # rad; cos differs from 1 by 0.5 %. Common practice, no source
_AT_HAND = WeakKeyDictionary()  # the last interpolation on sheets that still live
STRAIN = 0.02  # ten times yield of structural steel: a model in wrong units rather than a linear one. No source


def linearity_notes(result):
    """Sentences about load cases and combinations that linear theory does not cover, with the place.

    Parameters
    ----------
    result : StaticResult

    Returns
    -------
    notes : tuple of str
    """
    mesh, thickness = result.model.mesh, result.model.per_cell.thickness
    has_cells = mesh.n_cells > 0  # else there are beams alone
    sag_of = _sag_of(result) if result.model.behaviour == "shell" and has_cells else None
    turned, strained, sagged = {}, {}, {}
    for case in result:
        rotation = np.linalg.norm(case.displacement[:, 3:], axis=1)
        turned[case.name] = (rotation.max(), rotation.argmax())
        if has_cells:
            strain = case.von_mises("worst") / result.model.per_cell.youngs_modulus
            strained[case.name] = (strain.max(), strain.argmax())
        if sag_of is not None:
            ratio = sag_of(case) / thickness
            sagged[case.name] = (ratio.max(), ratio.argmax())
    notes = []
    for worst, (value, point), names in _beyond(turned, ROTATION):
        notes.append(
            f'"{worst}": rotations reach {value:.2g} rad at {place_words(mesh.points[point], digits=0)} mm; '
            f"linear theory is good to about {ROTATION:g} rad.{names}"
        )
    for worst, (value, cell), names in _beyond(strained, STRAIN):
        notes.append(
            f'"{worst}": strains reach {value:.1%} at {place_words(mesh.centres[cell], digits=0)} mm; '
            f"steel and aluminium yield long before: are loads and moduli in N, mm and MPa?{names}"
        )
    for worst, (value, cell), names in _beyond(sagged, SAG_IN_THICKNESSES):
        plate, sag = result.model.plate_of_cell[cell], value * thickness[cell]
        place = f"{place_words(mesh.centres[cell], digits=0)} mm"
        notes.append(
            f'"{worst}": plate "{plate}" sags sideways by {sag:.2g} mm against its edges, {value:.2g} of its '
            f"thickness, near {place}; beyond half a thickness its stretching carries load too, which linear theory "
            f"leaves out.{names}"
        )
    return tuple(notes)


def _beyond(found, limit):
    """The worst load case beyond a limit, its value and place, and the names of the others; nothing where none is."""
    beyond = {name: value for name, value in found.items() if value[0] > limit}
    if beyond:
        worst = max(beyond, key=lambda name: beyond[name][0])
        others = ", ".join(f'"{name}" ({beyond[name][0]:.2g})' for name in beyond if name != worst)
        yield worst, beyond[worst], f" Likewise: {others}." if others else ""


def sideways_sag(case):
    """How far each cell has moved out of its plate, measured against the plate's edges, shape (n_cells,), mm.

    A flange that follows a bending beam moves sideways as a whole, and that is no large displacement of the plate.
    So what counts is the displacement along the normal less a smooth interpolation (harmonic over the cells' edges)
    of its values at the plate's folds, junctions and supports.
    """
    return _sag_of(case.parent)(case)


def _sag_of(result):
    """The interpolation of a result, or that of the last on the same sheets if the same points were held."""
    model, is_held = result.model, np.zeros(result.model.mesh.n_points, dtype=bool)
    for reaction in result.solution.reaction.values():
        is_held |= np.abs(reaction).max(axis=1) > 0
    is_held[model.beam_cells.points] = True
    for one in model.attachments:
        is_held[one.points] = is_held[one.masters] = True
    sag = _AT_HAND.get(result.sheets)
    if sag is None or not np.array_equal(sag.is_held, is_held):
        sag = _AT_HAND[result.sheets] = _Sag(model.mesh, model.per_cell.frames[:, 2], result.sheets, is_held)
    return sag


class _Sag:
    """The interpolation, factorised once for all load cases."""

    def __init__(self, mesh, normals, sheets, is_held):
        self.normals, self.corners, self.group, self.is_held = normals, mesh.corners, sheets.group, is_held
        self.is_corner = self.group >= 0
        number, n = self.group[self.is_corner], sheets.n_groups
        self.count = np.bincount(number, minlength=n)
        point_of_group = np.zeros(n, dtype=np.int64)
        point_of_group[number] = mesh.corners[self.is_corner]
        groups_at_point = np.bincount(point_of_group, minlength=mesh.n_points)
        self.is_edge = (groups_at_point > 1)[point_of_group] | is_held[point_of_group]
        graph = _edge_graph(self.group, n)
        has_edge = np.zeros(sheets.of_cell.max() + 1, dtype=bool)
        sheet_of_group = np.zeros(n, dtype=np.int64)
        sheet_of_group[number] = np.broadcast_to(sheets.of_cell[:, None], self.is_corner.shape)[self.is_corner]
        has_edge[sheet_of_group[self.is_edge]] = True
        self.is_inner = ~self.is_edge & has_edge[sheet_of_group]
        matrix = laplacian(graph).tocsr()
        self.to_edge = matrix[self.is_inner][:, self.is_edge]
        inner = matrix[self.is_inner][:, self.is_inner].tocsc()
        self.factor = splu(inner) if inner.shape[0] else None

    def __call__(self, case):
        along = np.einsum("enk,ek->en", case.displacement[self.corners, :3], self.normals)
        number = self.group[self.is_corner]
        sideways = np.bincount(number, along[self.is_corner], minlength=len(self.count)) / self.count
        sag = np.zeros(len(self.count))
        if self.factor is not None:
            lifted = self.factor.solve(-self.to_edge @ sideways[self.is_edge])
            sag[self.is_inner] = np.abs(sideways[self.is_inner] - lifted)
        at_corners = np.where(self.is_corner, sag[self.group], 0.0)
        return at_corners.max(axis=1)


def _edge_graph(group, n):
    """Symmetric adjacency of the corner groups along cell edges."""
    is_quad = group[:, 3] >= 0
    pairs = [group[:, [i, i + 1]] for i in range(2)]
    pairs += [group[is_quad][:, [2, 3]], group[is_quad][:, [3, 0]], group[~is_quad][:, [2, 0]]]
    a, b = np.concatenate(pairs).T
    graph = coo_array((np.ones(2 * len(a)), (np.concatenate([a, b]), np.concatenate([b, a]))), shape=(n, n)).tocsr()
    graph.data[:] = 1.0
    return graph

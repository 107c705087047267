"""Which way cells face: normals made consistent across every smooth sheet and turned to a stated direction."""

from dataclasses import replace
from numbers import Real

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from ..errors import MeshError
from ..units import degree
from .border import counted, shorten
from .topology import smooth_links

__all__ = ["NORMALS", "directions_of", "find_turned", "orient", "turn"]

NORMALS = ("+z", "+y", "+x")
AXES = {
    sign + axis: vector
    for axis, line in zip("xyz", np.eye(3))
    for sign, vector in (("", line), ("+", line), ("-", -line))
}
EDGE_ON = np.sin(10 * degree)  # a sheet within 10 degrees of a direction is judged by the next one
CLOSED = 0.1  # mean normal times area, over area: a tube has 0, a half tube 2 / pi


def orient(mesh, normals=NORMALS):
    """Turn cells so that each smooth sheet faces one way, and a stated way.

    The rule: first, cells are turned until neighbours in a smooth sheet (`femkit.mesh.smooth_links`) agree. Then the
    whole sheet is turned so that its mean normal, weighted by area, has a positive component along the first of
    `normals` to which the sheet does not lie edge-on (within 10 degrees). A closed sheet, such as a tube, whose mean
    normal is less than a tenth of its area, faces outward. A sheet that is edge-on to all of `normals` keeps the
    direction that most of its area has; one with a single side (a twisted ring) is left as it is.

    Parameters
    ----------
    mesh : Mesh
    normals : sequence of str or array_like, shape (3,), or None
        Directions in order of preference: ``"+z"``, ``"-y"``, ``(1, 1, 0)``. None turns nothing.

    Returns
    -------
    mesh : Mesh
        With the same cells and sets in the same order. A turned cell keeps its first corner and runs backwards.
    notes : list of str
        What was turned, in words.

    Raises
    ------
    MeshError
        If a direction is not one.
    """
    is_turned, notes = find_turned(mesh, normals)
    return turn(mesh, is_turned), notes


def find_turned(mesh, normals=NORMALS):
    """Which cells `orient` would turn, as a mask, and the notes."""
    directions = directions_of(normals)
    if directions is None or mesh.n_cells == 0:
        return np.zeros(mesh.n_cells, dtype=bool), []
    is_turned, sheet, has_one_side, n_clashes = _agree(mesh)
    faced = np.where(is_turned[:, None], -mesh.vector_areas, mesh.vector_areas)
    is_turned ^= _wrong_sheets(mesh, faced, sheet, has_one_side, is_turned, directions)[sheet]
    is_turned &= ~has_one_side[sheet]
    return is_turned, _notes(mesh, is_turned, sheet, has_one_side, n_clashes)


def turn(mesh, is_turned, **changes):
    """The mesh with some cells turned over; a turned cell keeps its first corner and runs backwards."""
    if not is_turned.any() and not changes:
        return mesh
    cells = {}
    for kind, corners, where in mesh.corner_blocks():
        connectivity, n = mesh.cells[kind], corners.shape[1]
        # corners from the first one backwards; then middles of sides, from the last one backwards; then the centre
        order = [0, *range(n - 1, 0, -1), *range(2 * n - 1, n - 1, -1), 2 * n][: connectivity.shape[1]]
        cells[kind] = np.where(is_turned[where, None], connectivity[:, order], connectivity)
    return replace(mesh, cells=cells, **changes)


def directions_of(normals):
    """Unit vectors (n, 3) of the directions a user names; None stays None."""
    if normals is None:
        return None
    if isinstance(normals, (str, Real)) or (len(normals) == 3 and all(isinstance(n, Real) for n in normals)):
        normals = [normals]
    if not len(normals):
        raise MeshError('normals: no direction is given; it must be like ("+z", "+y", "+x"), or None to turn nothing.')
    return np.array([_direction(given) for given in normals])


def _direction(given):
    try:
        vector = np.array(AXES[given] if isinstance(given, str) else given, dtype=float)
    except (KeyError, TypeError, ValueError):
        vector = np.zeros(3)
    length = np.linalg.norm(vector)
    if vector.shape != (3,) or not 0 < length < np.inf:
        raise MeshError(
            f'normals: {given!r} is no direction; it must be like "+z" or "-y", or three numbers, not all 0.'
        )
    return vector / length


def _agree(mesh):
    """Which cells to turn so that each sheet agrees with itself; the sheets; which of them can't; edges that clash."""
    n = mesh.n_cells
    first, second, is_consistent = smooth_links(mesh)
    # every cell twice, as it is (i) and turned (i + n): links join what goes together
    other = np.where(is_consistent, second, second + n)
    mirror = np.where(is_consistent, second + n, second)
    rows, columns = np.concatenate([first, first + n]), np.concatenate([other, mirror])
    graph = coo_matrix((np.ones(len(rows), dtype=np.int8), (rows, columns)), shape=(2 * n, 2 * n))
    label = connected_components(graph, directed=False)[1]
    as_is, turned = label[:n], label[n:]
    sheet = np.minimum(as_is, turned)  # a sheet and its mirror image
    is_label = np.bincount(sheet) > 0
    sheet = (np.cumsum(is_label) - 1)[sheet]
    has_one_side = np.zeros(sheet.max() + 1, dtype=bool)
    has_one_side[sheet[as_is == turned]] = True
    return as_is > turned, sheet, has_one_side, int((~is_consistent).sum())


def _wrong_sheets(mesh, faced, sheet, has_one_side, is_turned, directions):
    """Which sheets face away from where they should; `faced` are the vector areas after cells agree."""
    n = len(has_one_side)
    area = np.bincount(sheet, mesh.areas, n)
    vector = _sum_by(sheet, faced, n)
    length = np.linalg.norm(vector, axis=1)
    along = vector @ directions.T / np.maximum(length, 1e-300)[:, None]  # (n_sheets, n_directions)
    is_judged = np.abs(along) > EDGE_ON
    by_direction = along[np.arange(n), is_judged.argmax(axis=1)]
    turned_share = np.bincount(sheet, mesh.areas * is_turned, n) / area
    value = np.where(is_judged.any(axis=1), by_direction, 0.5 - turned_share)
    centroid = _sum_by(sheet, mesh.centres * mesh.areas[:, None], n) / area[:, None]
    volume = np.bincount(sheet, np.einsum("ei,ei->e", mesh.centres - centroid[sheet], faced), n) / 3
    return np.where(length < CLOSED * area, volume, value) < 0


def _sum_by(group, vectors, n):
    return np.column_stack([np.bincount(group, vectors[:, axis], n) for axis in range(3)])


def _notes(mesh, is_turned, sheet, has_one_side, n_clashes):
    notes = []
    if n_clashes:
        notes.append(
            f"Normals clashed over {counted(n_clashes, 'edge')} in smooth sheets; cells were turned until they agree."
        )
    if is_turned.any():
        counts = {name: int(is_turned[cells].sum()) for name, cells in mesh.cell_sets.items()}
        names = shorten(f"{name} ({n:,})" for name, n in sorted(counts.items()) if n)
        notes.append(
            f"Turned {is_turned.sum():,} of {mesh.n_cells:,} cells, in {len(np.unique(sheet[is_turned]))} of "
            f"{len(has_one_side)} smooth sheets" + (f": {names}." if names else ".")
        )
    for number in np.flatnonzero(has_one_side):
        cells = np.flatnonzero(sheet == number)
        notes.append(
            f"A sheet of {counted(len(cells), 'cell')}, the first cell {cells[0]}, has one side only (a twisted ring); "
            "its normals were left as they are, so top and bottom mean nothing on it."
        )
    return notes

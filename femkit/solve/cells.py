"""What the element kernels need, taken from a model: corners, frames, sections and curvature of all its cells."""

import os
from collections import deque
from concurrent.futures import ThreadPoolExecutor
from weakref import WeakKeyDictionary

import numpy as np

from ..elements import PLANES, SHELLS, CellArrays, cell_bend, straight_sides

__all__ = ["CHUNK", "by_chunks", "cell_arrays", "chunks", "connectivity_of", "element_family", "springs"]

CHUNK = 2000  # cells whose matrices are formed at once: 10 MB of shell quadrilaterals
_AT_HAND = WeakKeyDictionary()  # arrays of models that still live: solving, recovery and sections ask for the same
_SHAPES = WeakKeyDictionary()  # what meshes that still live decide: models of one mesh ask for the same


def cell_arrays(model):
    """Geometry and section of a model's cells, as the element kernels take them.

    Parameters
    ----------
    model : Model

    Returns
    -------
    arrays : dict of str to CellArrays
        One for each kind of cell in the mesh, in the order of the cell indices.
    """
    if model in _AT_HAND:
        return _AT_HAND[model]
    mesh, cell = model.mesh, model.per_cell
    if mesh not in _SHAPES:
        _SHAPES[mesh] = _shapes(mesh)
    _AT_HAND[model] = {
        kind: CellArrays(
            corners,
            cell.frames[block],
            cell.thickness[block],
            cell.youngs_modulus[block],
            cell.poissons_ratio[block],
            cell.offset[block],
            bend,
            is_straight,
        )
        for (kind, _, block), (corners, bend, is_straight) in zip(mesh.blocks(), _SHAPES[mesh])
    }
    return _AT_HAND[model]


def _shapes(mesh):
    """What a mesh alone decides of its cells, by kind: corners, bend, and which sides stay straight."""
    corners = {kind: at_corners for kind, at_corners, _block in mesh.corner_blocks()}
    bend, is_straight = cell_bend(mesh.points, corners), straight_sides(corners)
    return [(mesh.points[points], bend[kind], is_straight[kind]) for kind, points, _block in mesh.blocks()]


def springs(model):
    """The model's attachments that give."""
    return [one for one in model.attachments if one.stiffness is not None]


def connectivity_of(model):
    """Points (n, k) of all that has a stiffness, by kind: the mesh's cells, then "beam" and "spring" if there are any.

    A spring's points are its own and the three that carry its other end, some of which may be one.
    """
    tables = dict(model.mesh.cells)
    if len(model.beam_cells):
        tables["beam"] = model.beam_cells.points
    if found := springs(model):
        tables["spring"] = np.concatenate([np.column_stack([one.points, one.masters]) for one in found])
    return tables


def element_family(model, kind):
    """The module with the kernels for a kind of cell, as the model's behaviour has it."""
    return (SHELLS if model.behaviour == "shell" else PLANES)[kind]


def chunks(n_cells, size=CHUNK):
    """Slices that cover ``range(n_cells)``."""
    return [slice(start, min(start + size, n_cells)) for start in range(0, n_cells, size)]


def by_chunks(function, n_cells, size=CHUNK):
    """A function of chunks of cells, run in threads a few chunks ahead: pairs of slice and result, in order.

    NumPy lets go of Python's lock while it works on a chunk, so two threads form matrices in 0.6 of the time. As many
    threads as ``OMP_NUM_THREADS`` says, or as there are processors.
    """
    said = os.environ.get("OMP_NUM_THREADS", "")
    n_threads, parts = int(said) if said.isdigit() else os.cpu_count() or 1, chunks(n_cells, size)
    if n_threads < 2 or len(parts) < 2:
        yield from ((some, function(some)) for some in parts)
        return
    with ThreadPoolExecutor(n_threads) as pool:
        ahead = deque()
        for some in parts:
            ahead.append((some, pool.submit(function, some)))
            if len(ahead) > 2 * n_threads:  # memory stays flat
                done, result = ahead.popleft()
                yield done, result.result()
        for done, result in ahead:
            yield done, result.result()

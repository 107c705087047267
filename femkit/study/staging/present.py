"""The part of a model that is there while others are to come or have gone: its own mesh, plates, beams, links.

What is there is a row of truth values, one for each cell and behind them one for each beam cell.
"""

from dataclasses import replace

import numpy as np

from ...errors import ModelError, UnknownSetError, nearest_name
from ...mesh.change import cut_edges
from ...mesh.mesh import Mesh
from ...mesh.selection import select_cells, select_points
from ...mesh.topology import edge_keys
from ...model.values import listed, refuse

__all__ = ["cut_through", "named", "part_of", "refuse_unfit"]


def named(model, names, who):
    """What cell sets, places of cells and beams name, (n_cells + n_beam_cells,); `UnknownSetError` if nothing does."""
    cells, beams = np.zeros(model.mesh.n_cells, dtype=bool), np.zeros(len(model.beam_cells), dtype=bool)
    known = {*model.mesh.cell_sets, *model.beams}
    for name in names:
        if isinstance(name, str) and name not in known:
            nearest, advice = nearest_name(name, known)
            raise UnknownSetError(f'{who}: there is no cell set or beam "{name}". {advice}', name, nearest)
        if isinstance(name, str) and name in model.beams:
            beams |= model.beam_cells.beam == list(model.beams).index(name)
        if not isinstance(name, str) or name in model.mesh.cell_sets:
            cells[select_cells(model.mesh, name, who)] = True
    return np.append(cells, beams)


def cut_through(model, there):
    """What is left of it without beam cells along which all of the sheet has gone: they are cut with it."""
    n = model.mesh.n_cells
    is_cut = np.isin(edge_keys(model.mesh, model.beam_cells.points), cut_edges(model.mesh, there[:n])[0])
    return np.append(there[:n], there[n:] & ~is_cut)


def refuse_unfit(model, acting):
    """Refuse springs and seams, and selections by number, since numbers change; `acting` are loads and supports."""
    giving = [str(link) for link, one in zip(model.links, model.attachments) if one.stiffness is not None]
    numbered = [
        str(one)
        for one in (*acting, *model.masses, *model.links)
        for where in (getattr(one, "where", ""), getattr(one, "to", ""))
        if isinstance(where, (int, np.integer, np.ndarray))
    ]
    refuse(
        giving and f"stages: {listed(giving)} can't take part yet; take rigid links or joined lines.",
        numbered and f"stages: {listed(numbered)}: numbers change when parts come and go; name a set or a place.",
    )


def part_of(model, there, supports, case):
    """The model of what is there, under one load case.

    Links and masses take part where what they stand on is there; sets are left with what is there of them.

    Parameters
    ----------
    model : Model
        Of everything that is ever there.
    there : ndarray of bool, shape (n_cells + n_beam_cells,)
    supports : sequence of Support
    case : LoadCase

    Returns
    -------
    part : Model
    points : ndarray of int, shape (n,)
        Which of the whole mesh's points it has, in their order.
    """
    whole, beams = model.mesh, model.beam_cells
    is_cell, is_beam = there[: whole.n_cells], there[whole.n_cells :]
    if not there.any():
        raise ModelError("nothing is there.")
    is_used, is_joint = np.zeros(whole.n_points + 1, dtype=bool), np.ones(whole.n_points + 1, dtype=bool)
    is_used[whole.points_of_cell[is_cell]] = is_used[beams.points[is_beam]] = True
    is_joint[whole.points_of_cell] = is_joint[beams.points] = False  # points that links alone have
    is_used, is_joint = is_used[:-1], is_joint[:-1]  # the last one took the -1 of triangles
    links = []
    for link, tie in zip(model.links, model.attachments):
        masters = tie.masters[tie.weights > 0]
        if is_used[tie.points].any() and (is_used | is_joint)[masters].any():
            links.append(link)
            is_used[masters[is_joint[masters]]] = True
    lines = {name: is_beam[beams.beam == number] for number, name in enumerate(model.beams)}
    lines = {name: is_kept for name, is_kept in lines.items() if is_kept.any()}
    plates = {}
    for name, plate in model.plates.items():
        is_kept = is_cell[model.plate_cells[name]]
        if is_kept.any():
            many = np.ndim(plate.thickness) > 0
            plates[name] = replace(plate, thickness=plate.thickness[is_kept]) if many else plate
    part = replace(
        model,
        mesh=_mesh_of(whole, is_cell, is_used, lines),
        plates=plates,
        supports=supports,
        load_cases=[case],
        combinations=(),
        masses=[mass for mass in model.masses if is_used[select_points(whole, mass.where, str(mass))].any()],
        beams={name: model.beams[name] for name in lines},
        links=links,
    )
    return part, np.flatnonzero(is_used)


def _mesh_of(mesh, is_there, is_used, lines):
    """The mesh of some cells and points; `lines` are beams' edge sets with which of their edges to keep."""
    gone, point, cell = cut_edges(mesh, is_there)[0], np.cumsum(is_used) - 1, np.cumsum(is_there) - 1
    edge_sets = {}
    for name, pairs in mesh.edge_sets.items():
        is_kept = lines.get(name, ~np.isin(edge_keys(mesh, pairs), gone)) & is_used[pairs].all(axis=1)
        edge_sets[name] = point[pairs[is_kept]]
    return Mesh(
        mesh.points[is_used],
        {kind: point[table[is_there[block]]] for kind, table, block in mesh.blocks()},
        cell_sets={name: cell[cells[is_there[cells]]] for name, cells in mesh.cell_sets.items()},
        edge_sets=edge_sets,
        point_sets={name: point[points[is_used[points]]] for name, points in mesh.point_sets.items()},
    )

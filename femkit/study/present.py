"""The part of a model that is there while others are to come or have gone: its own mesh, plates, beams, links."""

from dataclasses import dataclass, replace

import numpy as np

from ..errors import ModelError, UnknownSetError, nearest_name
from ..mesh.mesh import Mesh
from ..mesh.selection import select_cells, select_points
from ..model.model import Model
from ..model.values import listed, refuse

__all__ = ["Presence", "model_of", "refuse_unfit"]


@dataclass(frozen=True, eq=False)
class Presence:
    """What of a model is there, or is meant by some names."""

    cells: np.ndarray  # (n_cells,) bool
    beams: np.ndarray  # (n_beam_cells,) bool

    @classmethod
    def of(cls, model, names, who):
        """What cell sets, places of cells and beams name; `UnknownSetError` if there is no such set or beam."""
        cells = np.zeros(model.mesh.n_cells, dtype=bool)
        beams = np.zeros(len(model.beam_cells), dtype=bool)
        for name in names:
            is_beam = isinstance(name, str) and name in model.beams
            if isinstance(name, str) and name not in model.mesh.cell_sets and not is_beam:
                nearest, advice = nearest_name(name, {*model.mesh.cell_sets, *model.beams})
                raise UnknownSetError(f'{who}: there is no cell set or beam "{name}". {advice}', name, nearest)
            if is_beam:
                beams |= model.beam_cells.beam == list(model.beams).index(name)
            if not is_beam or name in model.mesh.cell_sets:
                cells[select_cells(model.mesh, name, who)] = True
        return cls(cells, beams)

    def __sub__(self, other):
        return Presence(self.cells & ~other.cells, self.beams & ~other.beams)

    def __and__(self, other):
        return Presence(self.cells & other.cells, self.beams & other.beams)

    def __or__(self, other):
        return Presence(self.cells | other.cells, self.beams | other.beams)

    @property
    def is_nothing(self):
        """Whether it holds nothing at all."""
        return not (self.cells.any() or self.beams.any())

    def cut_through(self, model):
        """The same without beam cells along which all of the sheet has gone: they were cut with it."""
        gone = _lost_sides(model.mesh, self.cells)
        return Presence(self.cells, self.beams & ~np.isin(_keys(model.mesh, model.beam_cells.points), gone))


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


def model_of(model, there, supports, case):
    """The model of what is there, under one load case.

    Links and masses take part where what they stand on is there; sets are left with what is there of them.

    Parameters
    ----------
    model : Model
        Of everything that is ever there.
    there : Presence
    supports : sequence of Support
    case : LoadCase

    Returns
    -------
    part : Model
    points : ndarray of int, shape (n,)
        Which of the whole mesh's points it has, in their order.
    """
    whole, beams = model.mesh, model.beam_cells
    if there.is_nothing:
        raise ModelError("nothing is there.")
    is_used, is_joint = np.zeros(whole.n_points + 1, dtype=bool), np.ones(whole.n_points + 1, dtype=bool)
    is_used[whole.points_of_cell[there.cells]] = is_used[beams.points[there.beams]] = True
    is_joint[whole.points_of_cell] = is_joint[beams.points] = False  # points that links alone have
    is_used, is_joint = is_used[:-1], is_joint[:-1]  # the last one took the -1 of triangles
    links = []
    for link, tie in zip(model.links, model.attachments):
        masters = tie.masters[tie.weights > 0]
        if is_used[tie.points].any() and (is_used | is_joint)[masters].any():
            links.append(link)
            is_used[masters[is_joint[masters]]] = True
    own = {name: there.beams[beams.beam == number] for number, name in enumerate(model.beams)}
    own = {name: is_kept for name, is_kept in own.items() if is_kept.any()}
    plates = {}
    for name, plate in model.plates.items():
        is_kept = there.cells[model.plate_cells[name]]
        if is_kept.any():
            many = np.ndim(plate.thickness) > 0
            plates[name] = replace(plate, thickness=plate.thickness[is_kept]) if many else plate
    part = Model(
        _mesh_of(whole, there.cells, is_used, own),
        plates,
        supports=supports,
        load_cases=[case],
        masses=[m for m in model.masses if is_used[select_points(whole, m.where, str(m))].any()],
        beams={name: model.beams[name] for name in own},
        links=links,
        behaviour=model.behaviour,
        units=model.units,
    )
    return part, np.flatnonzero(is_used)


def _mesh_of(mesh, is_there, is_used, own):
    """The mesh of some cells and points; `own` are beams' edge sets with which of their edges to keep."""
    gone, point, cell = _lost_sides(mesh, is_there), np.cumsum(is_used) - 1, np.cumsum(is_there) - 1
    edge_sets = {}
    for name, pairs in mesh.edge_sets.items():
        is_kept = own.get(name, ~np.isin(_keys(mesh, pairs), gone)) & is_used[pairs].all(axis=1)
        edge_sets[name] = point[pairs[is_kept]]
    return Mesh(
        mesh.points[is_used],
        {kind: point[table[is_there[block]]] for kind, table, block in mesh.blocks()},
        cell_sets={name: cell[cells[is_there[cells]]] for name, cells in mesh.cell_sets.items()},
        edge_sets=edge_sets,
        point_sets={name: point[points[is_used[points]]] for name, points in mesh.point_sets.items()},
    )


def _lost_sides(mesh, is_there):
    """Keys of the sides, whole and in halves, that only cells had which are not there."""
    edges = mesh.edges
    is_lost = np.bincount(edges.edge, is_there[edges.cell], minlength=len(edges.points)) == 0
    ends, middle = edges.points[is_lost], edges.middle[is_lost]
    halves = [np.column_stack([tip, middle])[middle >= 0] for tip in ends.T]
    return _keys(mesh, np.concatenate([ends, *halves]))


def _keys(mesh, pairs):
    """One number for each pair of points (n, 2), whichever comes first."""
    return np.sort(pairs, axis=1) @ [mesh.n_points, 1]

"""A detail meshed finely by itself, and driven along its border by the displacements of the whole model.

The border is where the detail was cut out of the whole: there its points get the displacements and rotations that the
whole model has at their places. What acts or holds inside the detail is repeated; what does so outside is in the
border's displacements already. The stiffness of the detail must be about that of the same part of the whole, or the
whole would have moved otherwise; and the border must be far enough: see `femkit.study.check_border`.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.spatial import cKDTree

from ...errors import ModelError
from ...mesh.closest import feet_of
from ...mesh.mesh import Mesh
from ...mesh.selection import Near, select_cells, select_edges, select_points
from ...mesh.topology import free_edges
from ...model.acting import AreaMass, LineMass, PointMass
from ...model.cases import LoadCase
from ...model.loads import LineLoad, PointLoad, Pressure, SpreadLoad, Temperature
from ...model.model import Model
from ...model.plate import EVERYWHERE
from ...model.support import Support
from ...model.values import COMPONENTS, place_words, refuse
from ...results.places import displacement_at_feet
from ...results.static import StaticResult

__all__ = ["BORDER", "local_model"]

BORDER = "border"  # the set that a detail's border becomes
WITHIN = 0.1  # of a cell's size: how far the detail may lie off the whole mesh. Common practice, no source
ALONG = 0.15  # of an edge's length: chords of eight to the circle leave it by 0.1


def local_model(result, detail, *, plates=None, border=None, load_cases=None):
    """The model of a detail, with the load cases of the whole model and its displacements along the border.

    Gravity, temperature and pressure, line and point loads, masses, beams and supports inside the detail are repeated
    by their set's name or place.

    Parameters
    ----------
    result : StaticResult
        Of the whole model.
    detail : Mesh
        Of the detail, in the whole's coordinates: cut out of its mesh by `Mesh.without` and refined, which keeps the
        chords of its arcs; or made by itself.
    plates : dict of str to Plate, or Plate, optional
        Without it the whole's plates on the sets of the same names.
    border : str, place or array_like of int, optional
        The detail's points to drive. Without it those of its free edges where the whole has none, which become the
        edge set "border".
    load_cases : sequence of str, optional
        Names of the whole's load cases and combinations; all if left out. Combinations come along whose load cases do.

    Returns
    -------
    model : Model
        Load cases differ in the values that the border has, so that one factorisation solves all that hold the same.

    Raises
    ------
    ModelError
        If no border is found, or it lies off the whole mesh by more than a tenth of a cell; if top and bottom are
        mistaken; and for what acts inside the detail but can't be repeated: what its mesh has no set for, means that
        are held, links, cases that inertia balances.

    Examples
    --------
    Driven by a stretch of 0.1 mm in 100 mm, the middle of a strip has the stress 210 MPa, as by hand: E times 0.001.

    >>> import femkit as fk
    >>> strip = fk.Mesh([[0, 0], [100, 0], [100, 40], [0, 40]], {"quad": [[0, 1, 2, 3]]})
    >>> steel = fk.Material("steel", E=210_000, nu=0.0)
    >>> held = [fk.Support(fk.on_plane(x=0), ux=0, uy=0), fk.Support(fk.on_plane(x=100), ux=0.1)]
    >>> whole = fk.Model(strip, fk.Plate(2, steel), supports=held, load_cases=[fk.LoadCase("pull", [])],
    ...                  behaviour="plane stress")
    >>> middle = fk.refine(fk.Mesh([[30, 0], [70, 0], [70, 40], [30, 40]], {"quad": [[0, 1, 2, 3]]}))
    >>> answer = fk.solve_static(fk.local_model(fk.solve_static(whole), middle))
    >>> float(answer["pull"].von_mises().max().round(6))
    210.0
    """
    if not isinstance(result, StaticResult):
        raise ModelError(f"the whole is {result!r}; it must be what solve_static gives.")
    whole = result.model
    detail, border = _with_border(whole.mesh, detail, border)
    driven = select_points(detail, border, "the detail's border")
    feet = _on_whole(whole.mesh, detail, driven)
    inside = _Inside(result, detail, driven)
    asked = [case.name for case in whole.load_cases] if load_cases is None else load_cases
    names = dict.fromkeys(part for name in asked for part in getattr(whole.case(name), "factors", (name,)))
    cases = []
    for case in map(whole.case, names):
        moved = displacement_at_feet(result[case.name], feet)
        values = dict(zip(COMPONENTS[: whole.n_components], moved.T))
        cases.append(inside.load_case(case, Support(border, **values)))
    if plates is None:
        plates = {name: plate for name, plate in whole.plates.items() if name in (EVERYWHERE, *detail.cell_sets)}
    masses, beams = inside.repeated(whole.masses), inside.beams()
    inside.refuse_links()
    refuse(*dict.fromkeys(inside.faults))
    sums = [one for one in whole.combinations if one.factors.keys() <= names.keys()]
    more = {"behaviour": whole.behaviour, "units": whole.units, "masses": masses, "beams": beams}
    return Model(detail, plates, load_cases=cases, combinations=sums, **more)


def _with_border(whole, detail, border):
    """The detail with a set of its border, and that set's name."""
    if not isinstance(detail, Mesh):
        raise ModelError(f"the detail is {detail!r}; it must be a Mesh.")
    if isinstance(border, str):
        return detail, border
    if any(BORDER in sets for sets in (detail.edge_sets, detail.cell_sets, detail.point_sets)):
        raise ModelError(f'the detail has a set "{BORDER}" already; say border="{BORDER}" if it is that, or rename it.')
    if border is not None:
        points = select_points(detail, border, "the detail's border")
        return replace(detail, point_sets=detail.point_sets | {BORDER: points}), BORDER
    edges = free_edges(detail)
    edges = edges[~_on_lines(detail.points[edges], whole.points[free_edges(whole)])]
    if not len(edges):
        raise ModelError("no free edge of the detail lies where the whole goes on; say which points to drive: border=…")
    return replace(detail, edge_sets=detail.edge_sets | {BORDER: edges}), BORDER


def _on_lines(edges, lines):
    """Whether the middle of each edge (n, 2, 3) lies on one of the lines (m, 2, 3) that runs about the same way."""
    if not len(lines):
        return np.zeros(len(edges), dtype=bool)
    middle, side = edges.mean(axis=1), np.diff(edges, axis=1)[:, 0]
    n_near = min(16, len(lines))
    near = cKDTree(lines.mean(axis=1)).query(middle, k=n_near)[1].reshape(-1, n_near)
    start, along = lines[near, 0], np.diff(lines, axis=1)[near, 0]  # (n, n_near, 3)
    squared = (along**2).sum(axis=2)
    share = np.clip(((middle[:, None] - start) * along).sum(axis=2) / squared, 0, 1)
    distance = np.linalg.norm(start + share[:, :, None] * along - middle[:, None], axis=2)
    cosine = np.abs((along * side[:, None]).sum(axis=2)) / np.sqrt(squared * (side**2).sum(axis=1)[:, None])
    return ((distance <= ALONG * np.sqrt(squared)) & (cosine > np.sqrt(0.5))).any(axis=1)


def _on_whole(whole, detail, points):
    """The feet of the detail's points on the whole mesh; refused where one is too far off."""
    feet = feet_of(whole, detail.points[points])
    beyond = feet.distance - WITHIN * whole.sizes[feet.cell]
    if (beyond > 0).any():
        worst = int(beyond.argmax())
        raise ModelError(
            f"{(beyond > 0).sum()} points of the detail's border lie too far off the whole mesh, the farthest at "
            f"{place_words(detail.points[points[worst]])} mm by {feet.distance[worst]:.4g} mm, where "
            f"{WITHIN * whole.sizes[feet.cell[worst]]:.4g} mm, a tenth of its cell, are allowed; let the border run on "
            "the whole's sheets."
        )
    return feet


@dataclass(eq=False)
class _Inside:
    """What of the whole model acts inside the detail, and what can't be repeated there, in words."""

    result: StaticResult
    detail: Mesh
    driven: np.ndarray
    faults: list = field(default_factory=list)

    def __post_init__(self):
        mesh, detail = self.result.model.mesh, self.detail
        low, high, slack = detail.points.min(axis=0), detail.points.max(axis=0), detail.sizes.max()
        near = np.flatnonzero(((mesh.points >= low - slack) & (mesh.points <= high + slack)).all(axis=1))
        self.points, self.cells = np.zeros(mesh.n_points, dtype=bool), np.zeros(mesh.n_cells, dtype=bool)
        if len(near):  # points of the whole inside, those on the border left out
            feet, is_driven = feet_of(detail, mesh.points[near]), np.zeros(detail.n_points, dtype=bool)
            is_driven[self.driven] = True
            on_border = (feet.weights * is_driven[detail.points_of_cell[feet.cell]]).sum(axis=1)
            self.points[near] = (feet.distance <= WITHIN * detail.sizes[feet.cell]) & (on_border < 1 - 1e-6)
        under = feet_of(mesh, detail.centres).cell
        self.cells[under] = True
        is_turned = (detail.normals * mesh.normals[under]).sum(axis=1) < -0.5
        if is_turned.any() and self.result.model.behaviour == "shell":
            self.faults.append(
                f"the top of {is_turned.sum()} cells of the detail is the whole's bottom, the first at "
                f"{place_words(detail.centres[is_turned.argmax()])} mm; turn their corners round."
            )

    def load_case(self, case, driven):
        """A load case of the whole, with the border driven."""
        if case.balanced:
            self.faults.append(f'load case "{case.name}": inertia balances it, which a detail does not; leave it out.')
        supports = [self._support(one, case) for one in self.result.model.supports_of(case)]
        return LoadCase(case.name, self.repeated(case.loads), supports=[driven, *filter(None, supports)])

    def repeated(self, things):
        """Those of some loads or masses that act inside."""
        return [one for one in map(self._repeated, things) if one is not None]

    def beams(self):
        """Beams along lines inside."""
        found = {}
        for name, beam in self.result.model.beams.items():
            if name in self.detail.edge_sets:
                found[name] = beam
            elif self.points[self.result.model.mesh.edge_sets[name]].any():
                self._refuse(f'beam "{name}"')
        return found

    def refuse_links(self):
        """Note links that join something inside."""
        for one in self.result.model.attachments:
            if self.points[one.points].any() or self.points[one.masters[one.weights > 0]].any():
                self.faults.append(f"{one.name}: it joins points inside the detail, and is not repeated there; cut so.")

    def _places(self, thing):
        """What something stands on inside, of the whole and of the detail: points, or cells if it acts on cells."""
        is_on_cells = isinstance(thing, Pressure | Temperature | AreaMass)
        there, here = _stands_on(self.result.model.mesh, thing), np.zeros(0, dtype=np.int64)
        there = there[(self.cells if is_on_cells else self.points)[there]]
        if not isinstance(thing.where, np.ndarray) and (len(there) or not isinstance(thing.where, Near)):
            try:
                here = _stands_on(self.detail, thing)
            except ModelError:
                pass  # it has no such set, or nothing at that place
        here = here if is_on_cells else np.setdiff1d(here, self.driven)
        if len(there) and not len(here):
            self._refuse(thing)
        return there, here

    def _repeated(self, thing):
        if not hasattr(thing, "where"):
            return thing
        there, here = self._places(thing)
        if not len(here):
            return None
        mesh = self.result.model.mesh
        if isinstance(thing, SpreadLoad) and len(there) < len(_stands_on(mesh, thing)):
            self.faults.append(f"{thing}: a part of its set lies outside the detail; let the detail hold all of it.")
        elif isinstance(thing, PointLoad | PointMass) and len(there) != len(here):
            self.faults.append(
                f"{thing}: it stands on {len(there)} points inside the detail, whose mesh has {len(here)} there; give "
                "the same points a point set in both meshes."
            )
        if not getattr(thing, "total", False):
            return thing
        measure = thing._shares(mesh, thing.where, str(thing)).sum()
        each = {name: getattr(thing, name) / measure for name, _unit in thing._units}
        return replace(thing, total=False, **each)

    def _support(self, support, case):
        there, here = self._places(support)
        if support.mean and (len(there) or len(here)):
            self.faults.append(
                f"{support}: it holds the mean of points that lie inside the detail; cut so that none do."
            )
        varied = [name for name, value in support.held.items() if np.ndim(value)]
        if not len(here) or (not varied and not np.isin(_stands_on(self.detail, support), self.driven).any()):
            return support if len(here) else None
        moved = displacement_at_feet(self.result[case.name], feet_of(self.result.model.mesh, self.detail.points[here]))
        return replace(support, where=here, **{name: moved[:, COMPONENTS.index(name)] for name in varied})

    def _refuse(self, thing):
        self.faults.append(
            f"{thing}: it acts inside the detail, whose mesh has no such set, nor anything there; name it there too."
        )


def _stands_on(mesh, thing):
    """The points, or cells, that a load, mass or support stands on."""
    if isinstance(thing, LineLoad | LineMass):
        return np.unique(select_edges(mesh, thing.where, str(thing)))
    select = select_cells if isinstance(thing, Pressure | Temperature | AreaMass) else select_points
    return select(mesh, thing.where, str(thing))

"""What does a structure carry that is cut and built up while it carries? Stages, each an increment to the one before.

Linear theory, without contact. What moves in a stage, Δu, follows from::

    K Δu = P + R - F

with K of what is there now, P all loads that act now, R the reactions of what holds now, and F what the cells that
are there carried before. So what has gone is released by itself: a cell that was cut away is missing from F, a support
that was lowered from R, a load from P. A part that is welded in has no share of F: it takes increments only. Weight
comes and goes with the parts, since P is that of what is there.
"""

from collections import Counter
from dataclasses import KW_ONLY, dataclass, replace
from html import escape

import numpy as np
from scipy.spatial import cKDTree

from ...errors import FemkitError, ModelError, nearest_name
from ...mesh.selection import describe
from ...model.cases import Combination, LoadCase
from ...model.loads import PointLoad
from ...model.model import Model
from ...model.support import Support
from ...model.values import bad_name, content, listed, place_words, refuse, sequence_of
from ...results.averaging import JUDGED_OVER
from ...results.static import StaticResult, solve_static
from .present import cut_through, named, part_of, refuse_unfit

__all__ = ["Stage", "StagesResult", "solve_stages"]

AT_ONCE, LOCKED_IN = "all at once", "locked in"
IMPOSSIBLE = {"remove": "not there", "insert": "there already"}


@dataclass(frozen=True, eq=False)
class Stage:
    """One step of a sequence: what is then there, what holds it, what acts on it.

    Parts are named by cell sets, places of cells, or beams.

    Parameters
    ----------
    name : str
    present : sequence, optional
        Exactly what is there. Left out: what was there before; in the first stage, all that is not yet to be inserted.
    remove, insert : sequence
        What is cut away, and what is welded in, free of stress in the shape that the structure has then. In one stage
        the new takes its share of what the old gives back: it was welded in before the cut. Beams along cells that
        are removed are cut with them.
    supports : sequence of Support, optional
        All that hold from now on; those before, if left out. A new one touches without force where the structure then
        is. A value that is not 0 is by how much the support moves in this stage: a trestle raised or lowered.
    add, take_off : sequence
        Loads that begin to act and stay, and loads (the same objects) that no longer act.
    """

    name: str
    _: KW_ONLY
    present: tuple | None = None
    remove: tuple = ()
    insert: tuple = ()
    supports: tuple | None = None
    add: tuple = ()
    take_off: tuple = ()

    def __post_init__(self):
        refuse(bad_name("stage", self.name))
        for field in ("present", "remove", "insert", "add", "take_off"):
            given = getattr(self, field)
            if given is not None:
                object.__setattr__(self, field, tuple(given) if isinstance(given, (list, tuple)) else (given,))
        if self.supports is not None:
            object.__setattr__(self, "supports", sequence_of(f"{self}: supports", self.supports, Support))
        LoadCase(self.name, self.add)  # refuses what is no load
        if self.present is not None and (self.remove or self.insert):
            raise ModelError(f"{self}: present says all that is there; leave remove and insert out, or present.")

    def __str__(self):
        return f'stage "{self.name}"'


def solve_stages(model, stages, *, solver="auto"):
    """Solve a sequence of cutting, welding, loading and lowering, stage by stage.

    Parameters
    ----------
    model : Model
        Of everything that is ever there, in one mesh: parts that are cut away as well as parts that come in, even in
        the same place. Its plates, beams, rigid links, joined lines and masses are used; its supports and load cases
        are not.
    stages : sequence of Stage
    solver : {"auto", "pardiso", "superlu"}

    Returns
    -------
    sequence : StagesResult
        Each increment is proven as every static solution is.

    Raises
    ------
    ModelError
        If a stage names what is not there, can't be solved, or the model has springs or seams.

    Warns
    -----
    FemkitWarning
        Where an increment is beyond what linear theory is good for.

    Examples
    --------
    Two equal bars between the same points; the second is welded in when the first carries 270 N, then 180 N come on:

    >>> import femkit as fk
    >>> cells, sets = {"quad": [[0, 1, 2, 3], [0, 1, 2, 3]]}, {"old": [0], "new": [1]}
    >>> bars = fk.Mesh([[0, 0], [90, 0], [90, 9], [0, 9]], cells, cell_sets=sets)
    >>> steel = fk.Material("steel", E=210_000, nu=0)
    >>> model = fk.Model(bars, {name: fk.Plate(1.0, steel) for name in sets}, behaviour="plane stress")
    >>> wall = [fk.Support(fk.on_plane(x=0), ux=0), fk.Support(fk.inside(y=(0, 0)), uy=0)]
    >>> pull = lambda force: fk.PointLoad(fk.on_plane(x=90), fx=force, total=True)
    >>> stages = [fk.Stage("old", supports=wall, add=pull(270)), fk.Stage("welded", insert="new"),
    ...           fk.Stage("loaded", add=pull(180))]
    >>> solve_stages(model, stages)["loaded"].membrane_force[:, 0].round(6).tolist()  # N/mm; 9 mm wide
    [40.0, 10.0]
    """
    stages = sequence_of("stages", stages, Stage)
    count = Counter([*(stage.name for stage in stages), AT_ONCE, LOCKED_IN])
    refuse(
        "" if stages else "stages: there are none; give at least one Stage.",
        *(f'{n} stages are named "{name}"; each needs its own name.' for name, n in count.items() if n > 1),
    )
    refuse_unfit(model, [one for stage in stages for one in (*stage.add, *(stage.supports or ()))])
    site = _Site(model, stages)
    results = [site.build(stage, solver) for stage in stages]
    results[-1] = site.beside_all_at_once(results[-1], solver)
    return StagesResult(model, stages, tuple(results))


@dataclass(frozen=True, eq=False)
class StagesResult:
    """States after each stage: ``sequence["doorway cut"]`` is one, with all that a load case has.

    A state is the sum of all increments so far; a cell's stress, of those since it was welded in. It stands on the mesh
    of what is then there. A new part is made to fit: its points begin where the nearest old one carries them.

    Attributes
    ----------
    model : Model
        Of everything.
    stages : tuple of Stage
    results : tuple of StaticResult
        One a stage, each fit for `solve_buckling` under its stage's name. The last also holds "all at once", the last
        stage's structure, loads and supports without a history, and "locked in", the state less that.
    """

    model: Model
    stages: tuple
    results: tuple

    @property
    def names(self):
        """Names of the stages."""
        return [stage.name for stage in self.stages]

    def __getitem__(self, name):
        """The state after the stage of that name; `ModelError` with the nearest name if there is none."""
        if name in (AT_ONCE, LOCKED_IN):
            return self.results[-1][name]
        if name not in self.names:
            raise ModelError(f'there is no stage "{name}". {nearest_name(name, self.names)[1]}')
        return self.results[self.names.index(name)][name]

    def __iter__(self):
        return (self[name] for name in self.names)

    @property
    def all_at_once(self):
        """The last stage's structure under its loads on its supports, had it been so from the start: a `CaseResult`."""
        return self[AT_ONCE]

    @property
    def locked_in(self):
        """What the history has left behind: the last state less the one of all at once, as a `CaseResult`."""
        return self[LOCKED_IN]

    def table(self):
        """One row a stage: mass that is there, largest displacement and stress with their places."""
        import pandas as pd

        rows = pd.concat([result.table().loc[[name]] for name, result in zip(self.names, self.results)])
        rows.insert(0, "mass (t)", [result.model.mass for result in self.results])
        return rows.rename_axis("stage")

    def locked_in_table(self, distance=JUDGED_OVER):
        """One row a plate: largest judged stress as built, all at once, and of their difference, with its place.

        Parameters
        ----------
        distance : float
            Averaged over, mm.
        """
        import pandas as pd

        cases = {f"as built, {self.names[-1]}": self[self.names[-1]], AT_ONCE: self.all_at_once}
        judged = {f"{head} (MPa)": case.judged_stress(distance) for head, case in cases.items()}
        left, final = self.locked_in.judged_stress(distance), self.results[-1].model
        moved = np.linalg.norm(self.locked_in.displacement[:, :3], axis=1)
        rows = {}
        for plate, cells in final.plate_cells.items():
            worst, points = cells[left[cells].argmax()], final.mesh.points_of_cell[cells]
            rows[plate] = {head: values[cells].max() for head, values in judged.items()}
            rows[plate] |= {
                f"{LOCKED_IN} (MPa)": left[worst],
                "near (mm)": place_words(final.mesh.centres[worst], digits=0),
                f"{LOCKED_IN}: displacement (mm)": moved[points[points >= 0]].max(),
            }
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis("plate")

    def proof(self):
        """Residual and balance of each increment, and what loads and reactions of each state differ by, as a table."""
        import pandas as pd

        rows = pd.concat([result.proof().loc[[name]] for name, result in zip(self.names, self.results)])
        apart = [np.abs((state.load + state.reaction)[:, :3].sum(axis=0)).max() for state in self]
        rows.insert(0, "imbalance of the state (N)", apart)
        return rows.rename_axis("stage")

    def __repr__(self):
        moved = np.linalg.norm(self.locked_in.displacement[:, :3], axis=1).max(initial=0.0)
        left = self.locked_in.judged_stress().max(initial=0.0)
        return (
            f"StagesResult: {len(self.stages)} stages, {self.names[0]} to {self.names[-1]}; locked in are up to "
            f"{left:.4g} MPa (judged) and {moved:.4g} mm"
        )

    def _repr_html_(self):
        tables = (table.to_html(float_format="%.4g") for table in (self.table(), self.locked_in_table()))
        return f"<p>{escape(repr(self))}</p>{''.join(tables)}"


@dataclass(frozen=True, eq=False)
class _Built(StaticResult):
    """States that displacements alone don't tell: what cells and beams carry is kept by load case."""

    carried: dict  # load case to what `_forces_of` gives
    increment: StaticResult

    @property
    def resultants(self):
        return {name: each["resultants"] for name, each in self.carried.items()}

    @property
    def notes(self):
        return self.increment.notes

    def forces_of_cells(self, case):
        kinds = [kind for kind in self.carried[self.names[0]] if kind not in ("resultants", "ends")]
        return {kind: self._sum(case, kind) for kind in kinds}

    def forces_of_beams(self, case):
        return self._sum(case, "ends")

    def _sum(self, case, part):
        return sum(factor * self.carried[name][part] for name, factor in case.factors.items())


def _forces_of(case):
    """What cells and beams carry: `resultants` of cells, `ends` of beams, and forces at points by kind, "beam" too."""
    return {"resultants": case.resultants, "ends": case.beam_ends, **case.cell_forces}


def _strain(loads, model):
    """Free expansion of every cell, (n_cells,)."""
    none = np.zeros(model.mesh.n_cells)
    return sum((load.cell_strain(model) for load in loads if hasattr(load, "cell_strain")), none)


@dataclass(frozen=True, eq=False)
class _Carried:
    """What is carried already, taken off the loads, so that they leave the increment; expansion likewise."""

    forces: np.ndarray  # (n_points, 6)
    growth: np.ndarray  # (n_cells,) expansion in this stage
    loads: tuple

    def point_forces(self, model):
        return -self.forces

    def cell_strain(self, model):
        return self.growth - _strain(self.loads, model)


class _Site:
    """What stands so far. Arrays are over everything that is ever there, 0 where it is not."""

    def __init__(self, model, stages):
        self.model, mesh = model, model.mesh
        self.there = np.ones(mesh.n_cells + len(model.beam_cells), dtype=bool)
        gone = np.zeros_like(self.there)
        for stage in stages:  # what is inserted before it was ever removed is not there at first
            gone |= named(model, stage.remove, f"{stage}: remove")
            self.there &= gone | ~named(model, stage.insert, f"{stage}: insert")
        self.is_used = np.zeros(mesh.n_points, dtype=bool)
        self.displacement = np.zeros((mesh.n_points, model.n_components))
        self.tables = {**mesh.cells, "beam": model.beam_cells.points}
        self.carried = {kind: np.zeros((*points.shape, model.n_components)) for kind, points in self.tables.items()}
        self.carried["resultants"] = np.zeros((mesh.n_cells, 5, 8))
        self.carried["ends"] = np.zeros((len(model.beam_cells), 2, 6))
        self.loads, self.supports, self.moved = (), (), {}

    def build(self, stage, solver):
        """Go one stage on; the state after it."""
        model, size = self.model, self.model.n_components
        self._come_and_go(stage)
        growth = (_strain(stage.add, model) - _strain(stage.take_off, model))[self.there[: model.mesh.n_cells]]
        before = np.zeros((model.mesh.n_points, 6))
        for kind, points in self.tables.items():
            np.add.at(before[:, :size], points, self.carried[kind])
        try:
            part, points = part_of(model, self.there, self.supports, LoadCase(stage.name, self.loads))
            taken = _Carried(before[points], growth, self.loads)
            case = LoadCase(stage.name, [*self.loads, taken])
            increment = solve_static(replace(part, load_cases=[case]), solver=solver)
        except FemkitError as error:
            error.args = (f"{stage}: {error}",)
            raise
        self._fit(points)
        case, masks = increment[stage.name], self._masks(self.there)
        self.displacement[points] += case.displacement[:, :size]
        carried = _forces_of(case)
        for kind, more in carried.items():
            self.carried[kind][masks[kind]] += more
            carried[kind] = self.carried[kind][masks[kind]]
        state = {"displacement": self.displacement[points], "loads": (case.load + before[points])[:, :size]}
        solution = replace(increment.solution, **{field: {stage.name: values} for field, values in state.items()})
        return _Built(part, solution, {stage.name: carried}, increment)

    def beside_all_at_once(self, last, solver):
        """The last state with its structure, loads and supports all at once beside it, and what the two differ by."""
        (name,) = last.names
        supports = [replace(s, **{held: self.moved[_key(s, held)] for held in s.held}) for s in self.supports]
        case = LoadCase(AT_ONCE, self.loads, supports=supports)
        some = replace(case, loads=[*self.loads, PointLoad([0])])  # in case that no load is left
        once = solve_static(replace(last.model, load_cases=[some]), solver=solver)
        difference = Combination(LOCKED_IN, {name: 1.0, AT_ONCE: -1.0})
        model = replace(last.model, load_cases=[*last.model.load_cases, case], combinations=[difference])
        by_case = ("displacement", "reaction", "loads", "proof", "acceleration")
        both = {field: getattr(last.solution, field) | getattr(once.solution, field) for field in by_case}
        carried = last.carried | {AT_ONCE: _forces_of(once[AT_ONCE])}
        return _Built(model, replace(last.solution, **both), carried, last.increment)

    def _come_and_go(self, stage):
        """Change what is there, what acts and what holds, and forget what was carried by what goes."""
        if stage.present is not None:
            wanted = named(self.model, stage.present, str(stage))
            gone, come = self.there & ~wanted, wanted & ~self.there
        else:
            gone, come = self._changed(stage, "remove", self.there), self._changed(stage, "insert", ~self.there)
        kept = self.there & ~gone
        if self.is_used.any():  # not before the first stage: what its beams run along must be there
            kept = cut_through(self.model, kept)
        for kind, mask in self._masks(kept).items():
            self.carried[kind][~mask] = 0.0
        self.there = kept | come
        if (self.there & ~cut_through(self.model, self.there)).any():
            raise ModelError(f"{stage}: a beam runs along cells that are not there; insert it together with them.")
        idle = [str(load) for load in stage.take_off if load not in self.loads]
        refuse(idle and f"{stage}: {listed(idle)} does not act, so it can't be taken off; give the same object.")
        self.loads = (*(load for load in self.loads if load not in stage.take_off), *stage.add)
        still = (replace(support, **dict.fromkeys(support.held, 0.0)) for support in self.supports)
        self.supports = tuple(still) if stage.supports is None else stage.supports
        steps = {_key(support, held): step for support in self.supports for held, step in support.held.items()}
        self.moved = {key: self.moved.get(key, 0.0) + step for key, step in steps.items()}

    def _changed(self, stage, way, possible):
        """What a stage removes or inserts, of which each name must mean something that is possible."""
        for name in getattr(stage, way):
            if not (named(self.model, [name], f"{stage}: {way}") & possible).any():
                raise ModelError(f"{stage}: {way}: {describe(name)} is {IMPOSSIBLE[way]}.")
        return named(self.model, getattr(stage, way), str(stage)) & possible

    def _masks(self, there):
        """What is there in each of the arrays that are carried."""
        cells, beams = there[: self.model.mesh.n_cells], there[self.model.mesh.n_cells :]
        of_kind = {kind: cells[block] for kind, _points, block in self.model.mesh.blocks()}
        return {**of_kind, "beam": beams, "ends": beams, "resultants": cells}

    def _fit(self, points):
        """Let new points begin where the nearest old one carries them, as parts are made that must fit."""
        is_there, place = np.zeros_like(self.is_used), self.model.mesh.points
        is_there[points] = True
        old, new = np.flatnonzero(self.is_used & is_there), np.flatnonzero(is_there & ~self.is_used)
        if len(old) and len(new):
            nearest = old[cKDTree(place[old]).query(place[new])[1]]
            self.displacement[new] = self.displacement[nearest]
            if self.model.behaviour == "shell":
                self.displacement[new, :3] += np.cross(self.displacement[nearest, 3:], place[new] - place[nearest])
        self.displacement[~is_there] = 0.0
        self.is_used = is_there


def _key(support, held):
    return content(support.where), support.mean, held

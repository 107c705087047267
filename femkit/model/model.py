"""The model: a mesh, what its cells are made of, where it is held and what acts on it."""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property, partial
from hashlib import sha256

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.mesh import Mesh
from .cases import Combination, LoadCase
from .cells import EVERYWHERE, CellProperties, cell_properties, cells_of_plate
from .check import find_faults
from .fingerprint import content
from .masses import AreaMass, LineMass, PointMass, inertia_forces
from .plate import Plate
from .summary import load_table, mass_table, model_html
from .support import Support, footing
from .values import collect, raise_all, sequence_of

__all__ = ["BEHAVIOURS", "CellProperties", "Model"]

BEHAVIOURS = {"shell": 6, "plane stress": 2}  # unknowns a point
UNITS = ("N-mm-tonne", "any")
PARTS = {
    "supports": Support,
    "load_cases": LoadCase,
    "combinations": Combination,
    "masses": PointMass | LineMass | AreaMass,
}


@dataclass(frozen=True, eq=False)
class Model:
    """A mesh with plates, supports, load cases and combinations.

    What is wrong by itself (a thickness of 0, a name given twice) is refused here; what shows only on the mesh
    (a set that does not exist, too few supports) is found by `check`.

    Parameters
    ----------
    mesh : Mesh
    plates : dict of str to Plate, or Plate
        Cell set to plate; every cell belongs to exactly one. A single Plate is for all cells.
    supports : sequence of Support
        For all load cases that bring none of their own.
    load_cases : sequence of LoadCase
    combinations : sequence of Combination
    masses : sequence of PointMass, LineMass, AreaMass
        Not structure; gravity and acceleration act on it.
    behaviour : {"shell", "plane stress"}
        Six unknowns a point, or two for a flat mesh in the plane z = constant.
    units : {"N-mm-tonne", "any"}
        With the first, numbers that steel and aluminium can't have in these units (E in Pa, metres for millimetres)
        are refused by `check`. ``"any"`` is for examples in other consistent units.

    Raises
    ------
    ModelError
        If a value of a plate is out of its range, two load cases or combinations share a name, or something is not
        what it must be; faults of a kind in one message, a line each.
    """

    mesh: Mesh
    plates: dict
    _: KW_ONLY
    supports: tuple = ()
    load_cases: tuple = ()
    combinations: tuple = ()
    masses: tuple = ()
    behaviour: str = "shell"
    units: str = "N-mm-tonne"

    def __post_init__(self):
        if not isinstance(self.mesh, Mesh):
            raise ModelError(f"mesh is {self.mesh!r}; it must be a Mesh, such as read_mesh gives.")
        for field, allowed in (("behaviour", BEHAVIOURS), ("units", UNITS)):
            if getattr(self, field) not in allowed:
                known = " or ".join(f'"{word}"' for word in allowed)
                raise ModelError(f'{field} is "{getattr(self, field)}"; it must be {known}.')
        object.__setattr__(self, "plates", _named_plates(self.plates))
        raise_all([fault for name, plate in self.plates.items() for fault in plate.faults(f'plate "{name}"')])
        for field, kind in PARTS.items():
            object.__setattr__(self, field, sequence_of(field, getattr(self, field), kind))
        names = [case.name for case in self.load_cases + self.combinations]
        twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
        raise_all([_named_twice(name, self.load_cases, self.combinations) for name in twice])

    @property
    def n_components(self):
        """Unknowns a point: 6 for shells, 2 for plane stress."""
        return BEHAVIOURS[self.behaviour]

    @property
    def plate_names(self):
        """Cell set names of the plates, in the order that ``per_cell.plate`` counts."""
        return tuple(self.plates)

    @cached_property
    def plate_cells(self):
        """Cell indices of each plate, by name.

        Raises
        ------
        UnknownSetError
            If the mesh has no cell set of that name.
        """
        return {name: cells_of_plate(self.mesh, name) for name in self.plates}

    @cached_property
    def per_cell(self):
        """Thickness, material and local axes of every cell, as `CellProperties`.

        Raises
        ------
        ModelError
            If a plate's set does not exist, or a cell has no plate or two.
        """
        return cell_properties(self.mesh, self.plates)

    @cached_property
    def plate_of_cell(self):
        """The name of each cell's plate, shape (n_cells,)."""
        return np.array(self.plate_names, dtype=object)[self.per_cell.plate]

    def supports_of(self, case):
        """The supports that a load case stands on: its own, or the model's.

        Load cases whose supports have the same content get the very same tuple, whoever made them.
        """
        supports = self.supports if case.supports is None else case.supports
        return self._footings.get(footing(supports), (supports, ()))[0]

    @property
    def support_groups(self):
        """Which load cases stand on which supports.

        Returns
        -------
        groups : tuple of (tuple of Support, tuple of str)
            Supports, and the names of the load cases that stand on them; in the order of the load cases.
        """
        return tuple((supports, tuple(names)) for supports, names in self._footings.values())

    def case(self, name):
        """The load case or combination of that name.

        Raises
        ------
        ModelError
            If there is none; the nearest name is offered.
        """
        for case in self.load_cases + self.combinations:
            if case.name == name:
                return case
        _nearest, advice = nearest_name(name, [case.name for case in self.load_cases + self.combinations])
        raise ModelError(f'there is no load case or combination of the name "{name}". {advice}')

    def point_forces(self, case):
        """All loads of a load case or combination as forces and moments at points, shape (n_points, 6), N and N mm.

        A temperature change is not among them: it puts no force on the model as a whole.
        """
        total = np.zeros((self.mesh.n_points, 6))
        if isinstance(case, Combination):
            for name, factor in case.factors.items():
                total += factor * self.point_forces(self.case(name))
            return total
        for load in case.loads:
            total += load.point_forces(self)
        return total

    def load_total(self, case):
        """Total force and total moment about the origin of a load case or combination, shape (6,), N and N mm."""
        forces = self.point_forces(case)
        moment = forces[:, 3:].sum(axis=0) + np.cross(self.mesh.points, forces[:, :3]).sum(axis=0)
        return np.concatenate([forces[:, :3].sum(axis=0), moment])

    def load_totals(self):
        """Total force and moment about the origin of all load cases and combinations, before anything is solved.

        Returns
        -------
        table : pandas.DataFrame
            A row a case; what is but rounding of its own parts stands as 0.
        """
        return load_table(self)

    @property
    def mass(self):
        """Total mass: plates, what is added to them, and masses, tonne."""
        return float(inertia_forces(self, np.array([1.0, 0.0, 0.0]))[:, 0].sum())

    def mass_table(self):
        """Mass, area and centre of gravity by plate, as a pandas table."""
        return mass_table(self)

    def check(self):
        """What is wrong with the model, one sentence each; an empty tuple when all is well.

        Looked at: sets that don't exist; cells with no plate or two; points without cells; loads and supports on
        nothing; combinations of load cases that stand on different supports; numbers that steel and aluminium can't
        have in N-mm-tonne; parts that are not joined, and how far apart; motions that no support stops.
        `solve_static` refuses a model with any such fault.
        """
        return self._faults

    @cached_property
    def fingerprint(self):
        """Hash of mesh, plates, supports, loads and combinations: the same model, the same 16 letters."""
        parts = [content(getattr(self, name)) for name in self.__dataclass_fields__ if name not in ("mesh", "_")]
        return sha256("\n".join([self.mesh.fingerprint, *parts]).encode()).hexdigest()[:16]

    def __repr__(self):
        return (
            f"Model ({self.behaviour}): {self.mesh.n_points:,} points, {self.mesh.n_cells:,} cells, "
            f"{len(self.plates)} plates, {len(self.load_cases)} load cases, {len(self.combinations)} combinations"
        )

    def _repr_html_(self):
        return model_html(self)

    @cached_property
    def _faults(self):
        return tuple(str(fault) for fault in find_faults(self))

    @cached_property
    def _footings(self):
        """By what supports hold: the first tuple that holds it, and the names of the load cases on it."""
        footings = {}
        for case in self.load_cases:
            supports = self.supports if case.supports is None else case.supports
            footings.setdefault(footing(supports), (supports, []))[1].append(case.name)
        return footings


def _named_plates(plates):
    if isinstance(plates, Plate):
        return {EVERYWHERE: plates}
    if not isinstance(plates, dict):
        raise ModelError(f"plates are {plates!r}; it must be a Plate, or a dict of cell set to Plate.")
    raise_all(collect(*(partial(sequence_of, f'plate "{name}"', [plate], Plate) for name, plate in plates.items())))
    return dict(plates)


def _named_twice(name, load_cases, combinations):
    counts = [
        (len([c for c in cases if c.name == name]), kind)
        for cases, kind in ((load_cases, "load case"), (combinations, "combination"))
    ]
    given = " and ".join(f"{n} {kind}{'s' * (n > 1)}" for n, kind in counts if n)
    return ModelError(f'the name "{name}" is given to {given}; each needs a name of its own.')

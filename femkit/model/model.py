"""The model: a mesh, what its cells are made of, where it is held and what acts on it."""

from collections import Counter
from dataclasses import KW_ONLY, dataclass, field, fields, replace
from functools import cached_property
from hashlib import sha256

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.mesh import Mesh
from .acting import Mass
from .balance import holding
from .beam import Beam, beam_cells
from .cases import Combination, LoadCase
from .check import find_faults
from .links import JoinedLine, RigidLink, Seam, Spring, attachments
from .loads import point_masses
from .plate import EVERYWHERE, Plate, cell_properties, cells_of_plate
from .summary import load_totals, mass_table, model_html
from .support import Support, footing
from .values import content, refuse, sequence_of

__all__ = ["BEHAVIOURS", "Model"]

BEHAVIOURS = {"shell": 6, "plane stress": 2}  # unknowns a point
CHOICES = {"behaviour": tuple(BEHAVIOURS), "units": ("N-mm-tonne", "any")}
PARTS = {"supports": Support, "load_cases": LoadCase, "combinations": Combination, "masses": Mass}
PARTS |= {"links": (RigidLink, JoinedLine, Seam, Spring)}


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
    beams : dict of str to Beam
        Edge set to the bar or profile that runs along it; shells only.
    links : sequence of RigidLink, JoinedLine, Seam, Spring
        What joins points that share no cell, or ties them to the ground; shells only.
    behaviour : {"shell", "plane stress"}
        Six unknowns a point, or two for a flat mesh in the plane z = constant.
    units : {"N-mm-tonne", "any"}
        With the first, numbers that steel and aluminium can't have in these units (E in Pa, metres for millimetres)
        are refused by `check`. ``"any"`` is for examples in other consistent units.
    """

    mesh: Mesh
    plates: dict
    _: KW_ONLY
    supports: tuple = ()
    load_cases: tuple = ()
    combinations: tuple = ()
    masses: tuple = ()
    beams: dict = field(default_factory=dict)
    links: tuple = ()
    behaviour: str = "shell"
    units: str = "N-mm-tonne"

    def __post_init__(self):
        if not isinstance(self.mesh, Mesh):
            raise ModelError(f"mesh is {self.mesh!r}; it must be a Mesh, such as read_mesh gives.")
        for choice, allowed in CHOICES.items():
            if getattr(self, choice) not in allowed:
                raise ModelError(f'{choice} is "{getattr(self, choice)}"; it must be "{allowed[0]}" or "{allowed[1]}".')
        plates = {EVERYWHERE: self.plates} if isinstance(self.plates, Plate) else self.plates
        if not isinstance(plates, dict):
            raise ModelError(f"plates are {plates!r}; it must be a Plate, or a dict of cell set to Plate.")
        for name, plate in plates.items():
            sequence_of(f'plate "{name}"', [plate], Plate)
        if not isinstance(self.beams, dict):
            raise ModelError(f"beams are {self.beams!r}; it must be a dict of edge set to Beam.")
        for name, beam in self.beams.items():
            sequence_of(f'beam "{name}"', [beam], Beam)
        named = [(f'plate "{name}"', plate) for name, plate in plates.items()]
        named += [(f'beam "{name}"', beam) for name, beam in self.beams.items()]
        refuse(*(fault for who, thing in named for fault in thing.faults(who)))
        object.__setattr__(self, "plates", dict(plates))
        object.__setattr__(self, "beams", dict(self.beams))
        for part, kind in PARTS.items():
            object.__setattr__(self, part, sequence_of(part, getattr(self, part), kind))
        count = Counter(case.name for case in self.load_cases + self.combinations)
        twice = [name for name in count if count[name] > 1]
        refuse(*(f'{count[name]} load cases or combinations are named "{name}"; each needs its own.' for name in twice))

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
        """Cell indices of each plate, by name; `UnknownSetError` if the mesh has no cell set of that name."""
        return {name: cells_of_plate(self.mesh, name) for name in self.plates}

    @cached_property
    def per_cell(self):
        """Thickness, material and local axes of every cell, as `CellProperties`; `ModelError` if plates do not fit."""
        return cell_properties(self.mesh, self.plates)

    @cached_property
    def plate_of_cell(self):
        """The name of each cell's plate, shape (n_cells,)."""
        return np.array(self.plate_names, dtype=object)[self.per_cell.plate]

    @cached_property
    def beam_cells(self):
        """All beam cells as arrays; `ModelError` if a set does not exist or a beam's `up` runs along its line."""
        return beam_cells(self.mesh, self.beams)

    @cached_property
    def attachments(self):
        """Every link's points and what they are attached to; `ModelError` with all that is wrong."""
        return attachments(self.mesh, self.links)

    @cached_property
    def is_used(self):
        """Whether a point belongs to a cell, a beam or a link, shape (n_points,)."""
        used = np.zeros(self.mesh.n_points, dtype=bool)
        tables = [*self.mesh.cells.values(), self.beam_cells.points]
        for one in self.attachments:
            tables += [one.points, one.masters[one.weights > 0]]
        for points in tables:
            used[points] = True
        return used

    def supports_of(self, case):
        """Supports of a load case, its own or the model's: the very same tuple for all whose content is the same.

        A case balanced by inertia is held besides where nothing else does, by what takes nothing: see `balance`.
        """
        supports = self._standing(case)
        return self._footings.get(footing(supports), (supports,))[0]

    @property
    def support_groups(self):
        """Pairs of supports and the names of the load cases that stand on them, in the order of the load cases."""
        return tuple((supports, tuple(names)) for supports, names in self._footings.values())

    def case(self, name):
        """The load case or combination of that name; `ModelError` with the nearest name if there is none."""
        cases = {case.name: case for case in self.load_cases + self.combinations}
        if name not in cases:
            raise ModelError(f'there is no load case or combination "{name}". {nearest_name(name, cases)[1]}')
        return cases[name]

    def with_plates(self, plates):
        """The same model with some plates changed or added, for instance ``with_plates({"door-pillar": 6})``.

        Parameters
        ----------
        plates : dict of str to Plate or float
            Cell set to a plate of its own, or to another thickness (mm) of the plate that it has, whose offset stays.
            A set of cells that other plates have already is taken out of theirs by `Mesh.with_cells`.

        Raises
        ------
        ModelError
            If a thickness is given for a set that has no plate; the nearest name is offered.
        """
        thicknesses = {name: plate for name, plate in plates.items() if not isinstance(plate, Plate)}
        for name in thicknesses.keys() - self.plates.keys():
            advice = nearest_name(name, self.plates)[1]
            raise ModelError(f'plate "{name}": there is none yet whose thickness could be changed. {advice}')
        changed = {name: replace(self.plates[name], thickness=value) for name, value in thicknesses.items()}
        return replace(self, plates=self.plates | plates | changed)

    def point_forces(self, case):
        """All loads but temperatures of a load case or combination, at points, shape (n_points, 6), N and N mm."""
        total = np.zeros((self.mesh.n_points, 6))
        if isinstance(case, Combination):
            return sum((factor * self.point_forces(self.case(name)) for name, factor in case.factors.items()), total)
        return sum((load.point_forces(self) for load in case.loads), total)

    def load_total(self, case):
        """Total force and total moment about the origin of a load case or combination, shape (6,), N and N mm."""
        forces = self.point_forces(case)
        moment = forces[:, 3:].sum(axis=0) + np.cross(self.mesh.points, forces[:, :3]).sum(axis=0)
        return np.concatenate([forces[:, :3].sum(axis=0), moment])

    @property
    def mass(self):
        """Total mass: plates, what is added to them, beams and masses, tonne."""
        masses = sum(mass.point_masses(self).sum() for mass in self.masses)
        return float(self.mesh.areas @ self.per_cell.area_mass + self.beam_cells.weight.sum() + masses)

    @property
    def centre_of_gravity(self):
        """Of all masses, shape (3,), mm; NaN where there are none."""
        mass, moment = point_masses(self)
        return (mass @ self.mesh.points + moment.sum(axis=0)) / (mass.sum() or np.nan)

    load_totals, mass_table, _repr_html_ = load_totals, mass_table, model_html  # see summary.py

    def check(self):
        """What is wrong with the model, one sentence each; an empty tuple when all is well.

        Sets that don't exist; cells with no plate or two; points without cells; loads and supports on nothing;
        combinations across different supports; numbers that steel and aluminium can't have in N-mm-tonne; parts that
        are not joined; motions that no support stops. `solve_static` refuses a model with any such fault.
        """
        return tuple(map(str, find_faults(self)))

    @cached_property
    def fingerprint(self):
        """Hash of mesh, plates, supports, loads and combinations: the same model, the same 16 letters."""
        parts = [content(getattr(self, part.name)) for part in fields(self) if part.name != "mesh"]
        return sha256("\n".join([self.mesh.fingerprint, *parts]).encode()).hexdigest()[:16]

    def __repr__(self):
        return (
            f"Model ({self.behaviour}): {self.mesh.n_points:,} points, {self.mesh.n_cells:,} cells, "
            f"{len(self.plates)} plates, {len(self.load_cases)} load cases, {len(self.combinations)} combinations"
        )

    def _standing(self, case):
        supports = self.supports if case.supports is None else case.supports
        try:
            return (*supports, *holding(self, supports)) if case.balanced else supports
        except ModelError:  # `check` finds it again, and says where
            return supports

    @cached_property
    def _footings(self):
        """By what supports hold: the first tuple that holds it, and the names of the load cases on it."""
        footings = {}
        for case in self.load_cases:
            supports = self._standing(case)
            footings.setdefault(footing(supports), (supports, []))[1].append(case.name)
        return footings or {footing(self.supports): (self.supports, [])}

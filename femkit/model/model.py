"""The model: a mesh, what its cells are made of, where it is held and what acts on it."""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property
from hashlib import sha256
from html import escape

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.geometry import cell_frames
from ..mesh.mesh import Mesh
from ..mesh.selection import select_cells
from .cases import Combination, LoadCase
from .check import find_faults
from .loads import inertia_forces
from .plate import Plate
from .support import Support

__all__ = ["BEHAVIOURS", "CellProperties", "Model"]

BEHAVIOURS = {"shell": 6, "plane stress": 2}  # unknowns a point


@dataclass(frozen=True, eq=False)
class CellProperties:
    """What each cell is, as arrays over all cells.

    Attributes
    ----------
    plate : ndarray of int, shape (n_cells,)
        Position of the cell's plate in ``model.plate_names``.
    thickness, offset : ndarray, shape (n_cells,)
        mm.
    youngs_modulus, poissons_ratio, expansion : ndarray, shape (n_cells,)
        MPa, 1, 1/K.
    area_mass : ndarray, shape (n_cells,)
        Structure and added mass, tonne/mm2.
    frames : ndarray, shape (n_cells, 3, 3)
        Rows are local x, y and z in global axes.
    """

    plate: np.ndarray
    thickness: np.ndarray
    offset: np.ndarray
    youngs_modulus: np.ndarray
    poissons_ratio: np.ndarray
    expansion: np.ndarray
    area_mass: np.ndarray
    frames: np.ndarray


@dataclass(frozen=True, eq=False)
class Model:
    """A mesh with plates, supports, load cases and combinations.

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
        are refused. ``"any"`` is for examples in other consistent units.

    Raises
    ------
    ModelError
        If two load cases or combinations share a name, or something is not what it must be.
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
        if self.behaviour not in BEHAVIOURS:
            raise ModelError(f'behaviour is "{self.behaviour}"; it must be one of {", ".join(BEHAVIOURS)}.')
        if self.units not in ("N-mm-tonne", "any"):
            raise ModelError(f'units is "{self.units}"; it must be "N-mm-tonne" or "any".')
        plates = {EVERYWHERE: self.plates} if isinstance(self.plates, Plate) else dict(self.plates)
        object.__setattr__(self, "plates", plates)
        for field, kind in (("supports", Support), ("load_cases", LoadCase), ("combinations", Combination)):
            values = tuple(getattr(self, field))
            wrong = [value for value in values if not isinstance(value, kind)]
            if wrong:
                raise ModelError(f"{field}: {wrong[0]!r} is not a {kind.__name__}.")
            object.__setattr__(self, field, values)
        object.__setattr__(self, "masses", tuple(self.masses))
        names = [case.name for case in self.load_cases + self.combinations]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ModelError(f'the name "{twice[0]}" is given to two load cases or combinations; each needs its own.')

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
        return {
            name: np.arange(self.mesh.n_cells)
            if name == EVERYWHERE and EVERYWHERE not in self.mesh.cell_sets
            else select_cells(self.mesh, name, f'plate "{name}"')
            for name in self.plates
        }

    @cached_property
    def per_cell(self):
        """Thickness, material and local axes of every cell, as `CellProperties`."""
        n = self.mesh.n_cells
        values = {name: np.full(n, np.nan) for name in ("t", "offset", "E", "nu", "expansion", "mass")}
        plate_of = np.full(n, -1)
        reference = np.tile([1.0, 0.0, 0.0], (n, 1))
        for i, (name, plate) in enumerate(self.plates.items()):
            cells = self.plate_cells[name]
            plate_of[cells], reference[cells] = i, plate.reference
            values["t"][cells] = plate.thickness
            values["offset"][cells] = plate.offset
            values["E"][cells], values["nu"][cells] = plate.material.E, plate.material.nu
            values["expansion"][cells] = plate.material.expansion
            values["mass"][cells] = np.asarray(plate.thickness) * plate.material.density + plate.added_mass
        frames = np.empty((n, 3, 3))
        for _kind, connectivity, block in self.mesh.blocks():
            frames[block] = cell_frames(self.mesh.points[connectivity], reference[block])
        return CellProperties(
            plate_of,
            values["t"],
            values["offset"],
            values["E"],
            values["nu"],
            values["expansion"],
            values["mass"],
            frames,
        )

    @cached_property
    def plate_of_cell(self):
        """The name of each cell's plate, shape (n_cells,)."""
        return np.array(self.plate_names, dtype=object)[self.per_cell.plate]

    def supports_of(self, case):
        """The supports that a load case stands on: its own, or the model's."""
        return self.supports if case.supports is None else case.supports

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
        """All loads of a load case as forces and moments at points, shape (n_points, 6), N and N mm.

        A temperature change is not among them: it puts no force on the model as a whole.
        """
        total = np.zeros((self.mesh.n_points, 6))
        for load in case.loads:
            total += load.point_forces(self)
        return total

    def load_total(self, case):
        """Total force and total moment about the origin of a load case, shape (6,), N and N mm."""
        forces = self.point_forces(case)
        moment = forces[:, 3:].sum(axis=0) + np.cross(self.mesh.points, forces[:, :3]).sum(axis=0)
        return np.concatenate([forces[:, :3].sum(axis=0), moment])

    def load_totals(self):
        """Total force and moment about the origin of every load case, before anything is solved, as a pandas table."""
        import pandas as pd

        heads = ["Fx (N)", "Fy (N)", "Fz (N)", "Mx (N mm)", "My (N mm)", "Mz (N mm)"]
        rows = {case.name: self.load_total(case) for case in self.load_cases}
        return pd.DataFrame.from_dict(rows, orient="index", columns=heads).rename_axis("load case")

    @property
    def mass(self):
        """Total mass: plates, what is added to them, and masses, tonne."""
        return float(inertia_forces(self, np.array([1.0, 0.0, 0.0]))[:, 0].sum())

    def mass_table(self):
        """Mass, area and centre of gravity by plate, as a pandas table."""
        import pandas as pd

        rows = []
        middle = self.mesh.centres + self.per_cell.offset[:, None] * self.per_cell.frames[:, 2]
        for name, cells in self.plate_cells.items():
            mass = self.mesh.areas[cells] * self.per_cell.area_mass[cells]
            place = mass @ middle[cells] / mass.sum() if mass.sum() > 0 else middle[cells].mean(axis=0)
            thickness = np.unique(self.per_cell.thickness[cells])
            span = f"{thickness[0]:g}" if len(thickness) == 1 else f"{thickness[0]:g} … {thickness[-1]:g}"
            rows.append((name, span, len(cells), self.mesh.areas[cells].sum() * 1e-6, mass.sum() * 1e3, *place))
        heads = ["plate", "thickness (mm)", "cells", "area (m2)", "mass (kg)", "x (mm)", "y (mm)", "z (mm)"]
        return pd.DataFrame(rows, columns=heads).set_index("plate")

    def check(self):
        """What is wrong with the model, one sentence each; an empty tuple when all is well.

        Looked at: sets that don't exist; cells with no plate or two; loads and supports on nothing; combinations of
        load cases that stand on different supports; parts that are not joined, and how far apart; rigid motions that
        no support stops; numbers that steel and aluminium can't have in N-mm-tonne. `solve_static` refuses a model
        with any such fault.
        """
        return tuple(str(fault) for fault in find_faults(self))

    @cached_property
    def fingerprint(self):
        """Hash of mesh, plates, supports, loads and combinations: the same model, the same 16 letters."""
        digest = sha256(self.mesh.fingerprint.encode())
        digest.update(_plain((self.plates, self.supports, self.load_cases, self.combinations, self.masses)).encode())
        digest.update(f"{self.behaviour} {self.units}".encode())
        return digest.hexdigest()[:16]

    def __repr__(self):
        return (
            f"Model ({self.behaviour}): {self.mesh.n_points:,} points, {self.mesh.n_cells:,} cells, "
            f"{len(self.plates)} plates, {len(self.load_cases)} load cases, {len(self.combinations)} combinations"
        )

    def _repr_html_(self):
        factors = lambda c: " + ".join(f"{f:g} × {name}" for name, f in c.factors.items())  # noqa: E731
        rows = [
            ("model", repr(self)),
            *((f"load case {c.name}", ", ".join(map(str, c.loads))) for c in self.load_cases),
        ]
        rows += [(f"combination {c.name}", factors(c)) for c in self.combinations]
        rows += [
            ("supports", ", ".join(f"{s} {' '.join(s.held)}{' (mean)' * s.mean}" for s in self.supports) or "none")
        ]
        body = "".join(
            f"<tr><th style='text-align:left'>{escape(a)}</th><td style='text-align:left'>{escape(b)}</td></tr>"
            for a, b in rows
        )
        return f"<table>{body}</table>{self.mass_table().to_html(float_format='%.4g') if not self.check() else ''}"


EVERYWHERE = "all cells"  # the name of a single plate's set


def _plain(thing):
    """A nested dataclass, dict, sequence or array as text that depends on its content alone."""
    if isinstance(thing, dict):
        return "{" + ",".join(f"{key!r}:{_plain(value)}" for key, value in thing.items()) + "}"
    if isinstance(thing, (tuple, list)):
        return "(" + ",".join(map(_plain, thing)) + ")"
    if isinstance(thing, np.ndarray):
        return sha256(np.ascontiguousarray(thing).tobytes()).hexdigest()
    if hasattr(thing, "__dataclass_fields__"):
        fields = (f"{name}={_plain(getattr(thing, name))}" for name in thing.__dataclass_fields__ if name != "_")
        return f"{type(thing).__name__}({','.join(fields)})"
    return repr(thing)

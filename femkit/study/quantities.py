"""Numbers that a structure is asked for, most with what they change by: displacement, judged stress, mass, damage.

Every quantity has a `unit`, ``str()`` for tables, ``value(result)``, and all but `Damage` ``change(result, side)``:
what its value changes by with each displacement, (n_points, n_components), None for nothing; and, while nothing moves,
with each cell's thickness, (n_cells,).
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..elements import STEP
from ..errors import ModelError, nearest_name
from ..mesh.selection import describe
from ..model.support import point_weights
from ..model.values import COMPONENTS
from ..results.averaging import JUDGED_OVER
from ..results.stress import SURFACES, surface_stress, von_mises
from ..solve import cell_arrays, element_family

__all__ = ["Damage", "Displacement", "Distance", "JudgedStress", "Mass"]


@dataclass(frozen=True, eq=False)
class Mass:
    """The mass of the whole model, kg."""

    unit, load_case = "kg", None

    def __str__(self):
        return "mass"

    def value(self, result):
        return 1e3 * result.model.mass

    def change(self, result, side):
        return None, 1e3 * result.model.mesh.areas * result.model.per_cell.density


@dataclass(frozen=True, eq=False)
class Displacement:
    """A displacement or rotation of a point, or the weighted mean of a set's points, mm or rad.

    Parameters
    ----------
    where : str, place or array of int
    component : {"ux", "uy", "uz", "rx", "ry", "rz"}
    load_case : str
        Or a combination.
    name : str
        In tables and pictures, instead of words made of the others.
    """

    where: object
    component: str
    load_case: str
    _: KW_ONLY
    name: str = ""

    def __str__(self):
        return self.name or f"{self.component} of {describe(self.where)}, {self.load_case}"

    @property
    def unit(self):
        return "mm" if self.component[0] == "u" else "rad"

    def value(self, result):
        return float(result[self.load_case].displacement_at(self.where)[self._column(result.model)])

    def change(self, result, side):
        points, weights = point_weights(result.model.mesh, self.where, f"displacement {self}")
        of_points = np.zeros((result.model.mesh.n_points, result.model.n_components))
        of_points[points, self._column(result.model)] = weights
        return of_points, np.zeros(result.model.mesh.n_cells)

    def _column(self, model):
        there_are = COMPONENTS[: model.n_components]
        if self.component not in there_are:
            advice = nearest_name(self.component, there_are)[1]
            raise ModelError(f'displacement: there is no component "{self.component}". {advice}')
        return there_are.index(self.component)


@dataclass(frozen=True, eq=False)
class Distance:
    """By how much the distance between two points grows, mm, as `CaseResult.distance_change` has it.

    Parameters
    ----------
    first, second : str, place or int
        Each must select one point.
    load_case : str
        Or a combination.
    name : str
        As of `Displacement`.
    """

    first: object
    second: object
    load_case: str
    _: KW_ONLY
    name: str = ""
    unit = "mm"

    def __str__(self):
        return self.name or f"distance from {describe(self.first)} to {describe(self.second)}, {self.load_case}"

    def value(self, result):
        return result[self.load_case].distance_change(self.first, self.second)

    def change(self, result, side):
        model, case = result.model, result[self.load_case]
        ends = [case.one_point(where) for where in (self.first, self.second)]
        span = np.subtract(*model.mesh.points[ends[::-1]])
        of_points = np.zeros((model.mesh.n_points, model.n_components))
        axes = min(3, model.n_components)
        of_points[ends, :axes] = np.outer([-1, 1], span[:axes] / np.linalg.norm(span))
        return of_points, np.zeros(model.mesh.n_cells)


@dataclass(frozen=True, eq=False)
class JudgedStress:
    """A smooth number near a plate's largest judged stress, and above it where that is reached in many places, MPa.

    The largest of many values has kinks where another place takes over. Instead: the p-norm over patches as large as
    stress is averaged over, on top and bottom, ``(Σ w σᵖ)^(1/p)``, each cell weighing as its part of a patch, at most
    1 (P. Duysinx, O. Sigmund, AIAA-98-4906 (1998): from memory; the weights are our own, so that finer meshes give the
    same). Equal stress on n patches counts ``n^(1/p)`` times.

    Parameters
    ----------
    plate : str
    load_case : str
        Or a combination.
    distance : float
        Averaged over, mm: see `CaseResult.judged_stress`.
    power : float
        p; with more it is nearer to the largest, and less smooth.
    name : str
        As of `Displacement`.
    """

    plate: str
    load_case: str
    _: KW_ONLY
    distance: float = JUDGED_OVER
    power: float = 30.0
    name: str = ""
    unit = "MPa"

    def __str__(self):
        return self.name or f"judged stress of {self.plate}, {self.load_case}"

    def value(self, result):
        return self._norm(result)[0]

    def change(self, result, side):
        model, case, around = result.model, result[self.load_case], result.neighbourhood(float(self.distance))
        averaged, of_mises = self._norm(result)[1:]
        frames, of_stress = model.per_cell.frames, {}
        for surface, stress in averaged.items():
            mises = von_mises(stress)
            slope = stress @ np.array([[1.0, -0.5, 0.0], [-0.5, 1.0, 0.0], [0.0, 0.0, 3.0]])
            slope *= (of_mises[surface] / np.where(mises > 0, mises, 1.0))[:, None]
            of_stress[surface] = around.gradient(slope, frames)
        return _through_displacements(model, case, of_stress, side)

    def _norm(self, result):
        """The value, averaged stresses (n_cells, 3) by surface, and what it changes by with their von Mises stress."""
        case, around = result[self.load_case], result.neighbourhood(float(self.distance))
        if self.plate not in result.model.plate_cells:
            raise ModelError(
                f'{self}: there is no plate "{self.plate}". {nearest_name(self.plate, result.model.plates)[1]}'
            )
        weight = np.zeros(result.model.mesh.n_cells)
        cells = result.model.plate_cells[self.plate]
        area, patch = result.model.mesh.areas[cells], np.pi / 4 * self.distance**2
        weight[cells] = area / np.maximum(area, patch)
        averaged = {s: around.average(case.stress(s), result.model.per_cell.frames) for s in ("top", "bottom")}
        mises = {surface: von_mises(stress) for surface, stress in averaged.items()}
        largest = max(each[cells].max() for each in mises.values()) or 1.0
        share = {surface: weight * (each / largest) ** (self.power - 1) for surface, each in mises.items()}
        total = sum((share[surface] * mises[surface]).sum() / largest for surface in mises)
        slope = total ** (1 / self.power - 1) if total else 0.0
        return float(largest * total ** (1 / self.power)), averaged, {s: slope * each for s, each in share.items()}


@dataclass(frozen=True, eq=False)
class Damage:
    """The largest share of its allowed damage that any place of a life assessment uses, 1 at the limit.

    NaN where a place is not assessed: a life that is not known holds no limit.

    Parameters
    ----------
    life_of : callable
        Of a `StaticResult`; returns the `Life` that `femkit.assess.fatigue.assess_life` makes of its spots.
    name : str
        In tables.
    """

    life_of: object
    _: KW_ONLY
    name: str = "damage"
    unit = ""

    def __str__(self):
        return self.name

    def value(self, result):
        return self.value_and_place(result)[0]

    def value_and_place(self, result):
        """And the name of the spots and the place."""
        found = self.life_of(result).governing()
        return np.nan if found.why else found.value, found.place


def _through_displacements(model, case, of_stress, side):
    """From changes with the stress at cells' centres, by surface, to those with displacements and with thickness."""
    arrays, moved = cell_arrays(model), case.displacement[:, : model.n_components]
    of_points, of_cells = np.zeros(moved.shape), np.zeros(model.mesh.n_cells)
    for kind, connectivity, block in model.mesh.blocks():
        family = element_family(model, kind)
        some = np.flatnonzero(sum(np.abs(each[block]).sum(axis=1) for each in of_stress.values()))
        cells, points = arrays[kind][some].stepped(side[block][some]), connectivity[some]
        operator, rigidity = family.strain_operator(cells)[:, 0], family.section_stiffness(cells)
        strain = (operator @ moved[points].reshape(*operator.shape[::2], 1))[..., 0]
        strain[:, :2] -= case.strain[block][some, None]
        carried = np.zeros((len(some), 8), dtype=complex)
        carried[:, : strain.shape[1]] = (rigidity @ strain[:, :, None])[..., 0]
        of_carried = np.zeros((len(some), 8))
        for surface, of_one in of_stress.items():
            stress = surface_stress(carried, cells.thickness, surface)
            of_cells[block][some] += (of_one[block][some] * stress.imag).sum(axis=1) / STEP
            t, g = cells.thickness.real[:, None], of_one[block][some]
            of_carried[:, :3] += g / t
            of_carried[:, 3:6] += SURFACES[surface] * 6 * g / t**2
        back = (rigidity @ operator).real.transpose(0, 2, 1)
        forces = back @ of_carried[:, : back.shape[2], None]
        np.add.at(of_points, points, forces.reshape(*points.shape, model.n_components))
    return of_points, of_cells

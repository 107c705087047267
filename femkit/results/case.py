"""One load case or combination of a solved model: what moves, what holds it, what is stressed, what sections carry."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from ..errors import ModelError
from ..mesh.selection import describe, select_cells, select_points
from ..model.links import Spring
from ..model.support import point_weights
from ..model.values import COMPONENTS
from .averaging import JUDGED_OVER, average_corners
from .beams import beam_forces, beam_stress, beam_table, seam_forces
from .error import estimate_error
from .line_forces import line_forces
from .sections import section_force
from .stress import SURFACES, principal, surface_stress, von_mises

__all__ = ["CaseResult"]


@dataclass(frozen=True, eq=False)
class CaseResult:
    """One load case or combination.

    Attributes
    ----------
    parent : femkit.results.static.StaticResult
    name : str
    factors : dict of str to float
        The load cases it is a sum of.
    """

    parent: object
    name: str
    factors: dict

    @property
    def model(self):
        """The model that was solved."""
        return self.parent.model

    @property
    def supports(self):
        """What it stands on."""
        return self.model.supports_of(self.model.case(next(iter(self.factors))))

    def _sum(self, by_case):
        return sum(factor * by_case[name] for name, factor in self.factors.items())

    def _six(self, by_case):
        """A sum at points, widened to six components for plane stress."""
        values = self._sum(by_case)
        return values if values.shape[1] == 6 else np.pad(values, ((0, 0), (0, 6 - values.shape[1])))

    @cached_property
    def displacement(self):
        """``ux uy uz rx ry rz`` of every point, shape (n_points, 6), mm and rad, global axes."""
        return self._six(self.parent.solution.displacement)

    @cached_property
    def reaction(self):
        """Forces and moments of the supports on the model, shape (n_points, 6), N and N mm, global axes."""
        return self._six(self.parent.solution.reaction)

    @cached_property
    def load(self):
        """Forces and moments that act at points, shape (n_points, 6), N and N mm, global axes; inertia among them."""
        return self._six(self.parent.solution.loads)

    @property
    def acceleration(self):
        """Of the centre of gravity, mm/s2, and angular, rad/s2, shape (6,); 0 but where inertia balances the loads."""
        return self._sum(self.parent.solution.acceleration)

    @property
    def strain(self):
        """Free thermal strain of every cell, shape (n_cells,)."""
        return self._sum(self.parent.strains)

    @cached_property
    def resultants(self):
        """Section forces at centre and corners, shape (n_cells, 5, 8): `femkit.results.stress.cell_resultants`."""
        return self._sum(self.parent.resultants)

    @property
    def carried(self):
        """What stiffens or softens: ``nx ny nxy`` at the cells' corners (n_cells, 4, 3), N/mm, and beam cells' N."""
        tension = self.beam_ends[:, :, 0].mean(axis=1)
        return self.resultants[:, 1:, :3], tension

    @property
    def membrane_force(self):
        """``nx ny nxy`` at the cells' centres in their axes, shape (n_cells, 3), N/mm, tension positive."""
        return self.resultants[:, 0, :3]

    @property
    def bending_moment(self):
        """``mx my mxy`` at the cells' centres, shape (n_cells, 3), N mm/mm; positive puts the top in tension."""
        return self.resultants[:, 0, 3:6]

    @property
    def transverse_shear(self):
        """``qx qy`` at the cells' centres, shape (n_cells, 2), N/mm."""
        return self.resultants[:, 0, 6:8]

    def stress(self, surface="top", *, at="centres"):
        """Stress in the cells' axes.

        Parameters
        ----------
        surface : {"top", "middle", "bottom"}
        at : {"centres", "corners"}
            Corner values are each cell's own, raw; the fourth of a triangle is NaN.

        Returns
        -------
        stress : ndarray, shape (n_cells, 3) or (n_cells, 4, 3)
            ``sx sy txy``, MPa.
        """
        if at not in ("centres", "corners"):
            raise ModelError(f'at is "{at}"; it must be "centres" or "corners".')
        places = self.resultants[:, 0] if at == "centres" else self.resultants[:, 1:]
        return surface_stress(places, self.model.per_cell.thickness, surface)

    def von_mises(self, surface="top", *, at="centres"):
        """Von Mises stress, MPa; with ``surface="worst"`` the largest of top, middle and bottom.

        Returns
        -------
        stress : ndarray, shape (n_cells,) or (n_cells, 4)
        """
        if surface == "worst":
            return np.max([von_mises(self.stress(each, at=at)) for each in SURFACES], axis=0)
        return von_mises(self.stress(surface, at=at))

    def principal_stress(self, surface="top"):
        """Principal stresses at the cells' centres with the direction of the largest.

        Returns
        -------
        values : ndarray, shape (n_cells, 2)
            Largest first, MPa.
        direction : ndarray, shape (n_cells, 3)
            Of the largest, global axes, unit length.
        """
        values, angle = principal(self.stress(surface))
        frames = self.model.per_cell.frames
        return values, np.cos(angle)[:, None] * frames[:, 0] + np.sin(angle)[:, None] * frames[:, 1]

    def averaged_stress(self, surface="top"):
        """Corner stresses averaged at each point within one plate and smooth sheet, and the jump averaged away.

        Returns
        -------
        averaged : ndarray, shape (n_cells, 4, 3)
            ``sx sy txy`` in the cells' axes, MPa.
        jump : ndarray, shape (n_cells, 4)
            Von Mises stress of raw less averaged, MPa: an indicator of the mesh's error.
        """
        return average_corners(self.stress(surface, at="corners"), self.model.per_cell.frames, self.parent.sheets)

    def judged_stress(self, distance=JUDGED_OVER, *, surface="worst"):
        """Von Mises stress of the stress averaged over a distance on one plate, worse of top and bottom: for verdicts.

        Components are averaged, not von Mises values, over all cells whose centres lie within half the distance, on
        the same plate and smooth sheet; a cell larger than that is judged by its own mean. The raw peak beside it
        (``von_mises("worst", at="corners")``) is what the mesh makes at square corners, bearings and point loads.

        Parameters
        ----------
        distance : float
            mm.
        surface : {"worst", "top", "middle", "bottom"}
            "worst" is membrane and bending together; "middle" the membrane alone, which is never more.

        Returns
        -------
        stress : ndarray, shape (n_cells,)
            MPa.
        """
        return self._judged(float(distance), surface)

    @cached_property
    def _judged(self):
        return lru_cache(maxsize=4)(self._judge)

    def _judge(self, distance, surface):
        around, frames = self.parent.neighbourhood(distance), self.model.per_cell.frames
        surfaces = ("top", "bottom") if surface == "worst" else (surface,)
        judged = np.max([von_mises(around.average(self.stress(each), frames)) for each in surfaces], axis=0)
        judged.setflags(write=False)
        return judged

    def error_estimate(self):
        """How far the stress is from what a finer mesh would give: `femkit.results.error.ErrorEstimate`."""
        return estimate_error(self)

    def reactions(self):
        """Reactions summed by support, with uplift named, as a table.

        Moments are about the origin. "Uplift" is said of a support that has to pull the model down.
        """
        import pandas as pd

        holding = [(one.where, tuple(one.held), " (mean)" * one.mean) for one in self.supports]
        for link in self.model.links:
            if isinstance(link, Spring) and link.to is None:
                holding.append((link.where, tuple(n for n in COMPONENTS if getattr(link, n)), " (spring)"))
        rows = []
        taken = np.zeros(self.reaction.shape, dtype=bool)
        for where, names, remark in holding:
            points = select_points(self.model.mesh, where, "reactions")
            held = [name in names for name in COMPONENTS]
            mine = np.zeros_like(taken)
            mine[np.ix_(points, np.flatnonzero(held))] = True
            force = np.where(mine & ~taken, self.reaction, 0.0)  # a point held twice counts once
            taken |= mine
            total = force.sum(axis=0)
            moment = total[3:] + np.cross(self.model.mesh.points, force[:, :3]).sum(axis=0)
            words = "uplift" if "uz" in names and total[2] < -1e-6 * np.abs(self.reaction).max() else ""
            rows.append((describe(where), " ".join(names) + remark, *total[:3], *moment, words))
        heads = ["support", "holds", "Fx (N)", "Fy (N)", "Fz (N)", "Mx (N mm)", "My (N mm)", "Mz (N mm)", "remark"]
        return pd.DataFrame(rows, columns=heads).set_index("support")

    def displacement_at(self, where):
        """Displacement of a point, or the weighted mean of a set's points, shape (6,), mm and rad."""
        points, weights = point_weights(self.model.mesh, where, "displacement")
        return weights @ self.displacement[points]

    def distance_change(self, first, second):
        """By how much the distance between two points grows, mm: a diagonal, a clear width or height.

        Parameters
        ----------
        first, second : str, place or int
            Each must select one point.

        Returns
        -------
        change : float
            First order in the displacements, as the linear solution is.
        """
        a, b = (self.one_point(where) for where in (first, second))
        span = self.model.mesh.points[b] - self.model.mesh.points[a]
        moved = self.displacement[b, :3] - self.displacement[a, :3]
        return float(span @ moved / np.linalg.norm(span))

    @cached_property
    def cell_forces(self):
        """What each cell takes from its points' unknowns, by kind, each (n, k, n_components), N and N mm."""
        return self.parent.forces_of_cells(self)

    @cached_property
    def beam_ends(self):
        """``N Vy Vz T My Mz`` at both ends of all beam cells, shape (n, 2, 6), N and N mm: see `beam_forces`."""
        return self.parent.forces_of_beams(self)

    def section(self, *, cells=None, about=None, x=None, y=None, z=None):
        """Force and moment through the whole section at a place, or through the part of it in `cells`.

        Parameters
        ----------
        cells : str, place or array of int, optional
            Only these cells.
        about : 3 numbers, optional
            Point of the moments, mm; the centroid of the section without it.
        x, y, z : float
            Exactly one: where the section is, mm.

        Returns
        -------
        section : femkit.results.sections.SectionForce
            What the part beyond puts on the part before, N and N mm in global axes.
        """
        chosen = None
        if cells is not None:
            chosen = np.zeros(self.model.mesh.n_cells, dtype=bool)
            chosen[select_cells(self.model.mesh, cells, "section")] = True
        outer = self.load + self.reaction
        return section_force(self.model, self.cell_forces, outer, cells=chosen, about=about, x=x, y=y, z=z)

    def section_forces(self, *, x=None, y=None, z=None, about=None):
        """Section forces at several places along one axis, as a table.

        Parameters
        ----------
        x, y, z : sequence of float
            Exactly one, mm.
        """
        import pandas as pd

        ((axis, places),) = ((name, values) for name, values in (("x", x), ("y", y), ("z", z)) if values is not None)
        found = [self.section(about=about, **{axis: place}) for place in places]
        rows = [(each.position, *each.force, *each.moment) for each in found]
        heads = [f"{axis} (mm)", "Fx (N)", "Fy (N)", "Fz (N)", "Mx (N mm)", "My (N mm)", "Mz (N mm)"]
        return pd.DataFrame(rows, columns=heads).set_index(heads[0])

    beam_forces, beam_stress, beam_table, seam_forces = beam_forces, beam_stress, beam_table, seam_forces
    line_forces = line_forces

    def one_point(self, where):
        """Index of the point that a selection holds; `ModelError` if it holds another number of them."""
        points = select_points(self.model.mesh, where, "distance")
        if len(points) != 1:
            raise ModelError(
                f"distance: the selection ({describe(where)}) holds {len(points)} points; it must hold one."
            )
        return int(points[0])

    def __repr__(self):
        moved = np.linalg.norm(self.displacement[:, :3], axis=1).max()
        judged = self.judged_stress().max()
        return f"CaseResult {self.name}: largest displacement {moved:.4g} mm, largest judged stress {judged:.4g} MPa"

"""Forces and moments through a whole section of the model, and the section's area and second moments.

The section force is what the cells beyond the section put on the points they share with the cells before it: a sum
of the cells' own point forces, so it is in balance with loads and reactions to rounding whatever the mesh. The section
runs along cell edges, the nearest to the plane; moments are taken about a point of the plane itself.
"""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError

__all__ = ["SectionForce", "SectionProperties", "section_force", "section_properties"]

AXES = {"x": 0, "y": 1, "z": 2}


@dataclass(frozen=True, eq=False)
class SectionProperties:
    """The cut of a plane through the sheets, as a thin-walled section.

    Attributes
    ----------
    axis, position : str, float
        The plane, for instance x = 3600 mm.
    area : float
        mm2, in the plates' own thicknesses. Where moduli differ, walls are weighted by their modulus over the largest.
    centroid : ndarray, shape (3,)
        mm.
    second_moments : ndarray, shape (3, 3)
        ``∫ r rᵀ dA`` about the centroid, mm4: ``second_moments[2, 2]`` is ∫z² dA, which bending in the vertical
        plane needs.
    youngs_modulus : float
        The modulus the walls were weighted to, MPa.
    """

    axis: str
    position: float
    area: float
    centroid: np.ndarray
    second_moments: np.ndarray
    youngs_modulus: float


@dataclass(frozen=True, eq=False)
class SectionForce:
    """Force and moment that the part beyond a section puts on the part before it.

    Attributes
    ----------
    axis, position : str, float
        The plane, for instance x = 3600 mm; "beyond" is its positive side.
    about : ndarray, shape (3,)
        The moments' point, mm: the section's centroid unless another was given.
    force : ndarray, shape (3,)
        N, global axes. Along the plane's own axis tension is positive.
    moment : ndarray, shape (3,)
        N mm about `about`, global axes.
    """

    axis: str
    position: float
    about: np.ndarray
    force: np.ndarray
    moment: np.ndarray


def section_properties(model, *, cells=None, **plane):
    """Area, centroid and second moments of the walls that a plane cuts.

    Parameters
    ----------
    model : Model
    cells : ndarray of bool, shape (n_cells,), optional
        Only these walls.
    x, y, z : float
        Exactly one: where the plane lies, mm.

    Raises
    ------
    ModelError
        If the plane cuts nothing.
    """
    axis, position = _plane(plane)
    ends, chosen = _cut_lines(model.mesh, AXES[axis], position, cells)
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    if not length.sum() > 0:
        low, high = model.mesh.points[:, AXES[axis]].min(), model.mesh.points[:, AXES[axis]].max()
        raise ModelError(f"no cells are cut at {axis} = {position:g} mm; the mesh reaches from {low:g} to {high:g} mm.")
    per_cell, modulus = model.per_cell, model.per_cell.youngs_modulus[chosen]
    area = length * per_cell.thickness[chosen] * modulus / modulus.max()
    shift = per_cell.offset[chosen, None] * per_cell.frames[chosen, 2]
    first, last = ends[:, 0] + shift, ends[:, 1] + shift
    centroid = area @ (first + last) / 2 / area.sum()
    first, last = first - centroid, last - centroid
    # a straight wall of even thickness: its mid-point and its two ends weigh 4 : 1 : 1 (Simpson, exact for squares)
    moments = sum(
        weight * np.einsum("w,wi,wj->ij", area, r, r) / 6
        for weight, r in ((1, first), (4, (first + last) / 2), (1, last))
    )
    return SectionProperties(axis, position, float(area.sum()), centroid, moments, float(modulus.max()))


def section_force(model, point_forces, outer, *, cells=None, about=None, **plane):
    """Force and moment through a section.

    Parameters
    ----------
    model : Model
    point_forces : dict of str to ndarray, shape (n, k, n_components)
        What each cell puts on its points' unknowns (`femkit.solve.forces.cell_forces`).
    outer : ndarray, shape (n_points, 6)
        Loads and reactions at points, N and N mm: where links pass a section on, they are what is left.
    cells : ndarray of bool, shape (n_cells,), optional
        Only these cells, for the share of one part; beams along their edges are left out then.
    about : 3 numbers, optional
        Point of the moments, mm; the section's centroid without it.
    x, y, z : float
        Exactly one: where the plane lies, mm.
    """
    axis, position = _plane(plane)
    is_beyond = model.mesh.centres[:, AXES[axis]] > position
    chosen = np.ones(model.mesh.n_cells, dtype=bool) if cells is None else cells
    has_before, has_beyond = (_has_cell(model.mesh, chosen & side) for side in (~is_beyond, is_beyond))
    is_shared = has_before & has_beyond
    if not is_shared.any() and not model.links:
        section_properties(model, cells=cells, **plane)  # says what is wrong
    about = (
        section_properties(model, cells=cells, **plane).centroid if about is None else np.asarray(about, dtype=float)
    )
    force, moment = np.zeros(3), np.zeros(3)
    parts = [(c, (is_beyond & chosen)[block], point_forces[kind]) for kind, c, block in model.mesh.blocks()]
    if cells is None and len(beams := model.beam_cells):
        beyond = model.mesh.points[beams.points].mean(axis=1)[:, AXES[axis]] > position
        parts.append((beams.points, beyond, point_forces["beam"]))
    through_links = np.zeros_like(outer)
    for connectivity, beyond, forces in parts:
        acts = is_shared[connectivity] & beyond[:, None]
        at_points = np.zeros((*connectivity.shape, 6))
        at_points[..., : model.n_components] = forces
        at_points = -at_points[acts]  # what the cell puts on the point, not the point on the cell
        force += at_points[:, :3].sum(axis=0)
        arm = model.mesh.points[connectivity[acts]] - about
        moment += (np.cross(arm, at_points[:, :3]) + at_points[:, 3:]).sum(axis=0)
        np.add.at(through_links[:, : model.n_components], connectivity, forces)
    if model.links and cells is None:
        # what a point beyond takes, but no load or reaction brings, comes through links; those beyond both cancel
        is_alone = ~(has_before | has_beyond) & (model.mesh.points[:, AXES[axis]] > position)
        brought = np.where(((has_beyond & ~is_shared) | is_alone)[:, None], outer - through_links, 0.0)
        force += brought[:, :3].sum(axis=0)
        moment += (np.cross(model.mesh.points - about, brought[:, :3]) + brought[:, 3:]).sum(axis=0)
    return SectionForce(axis, position, about, force, moment)


def _plane(plane):
    given = {axis: value for axis, value in plane.items() if value is not None}
    if len(given) != 1 or not set(given) <= set(AXES):
        raise ModelError(f"a section takes exactly one of x, y, z; got {', '.join(given) or 'none'}.")
    ((axis, position),) = given.items()
    return axis, float(position)


def _has_cell(mesh, is_chosen):
    """Whether each point has one of the chosen cells."""
    points = mesh.points_of_cell[is_chosen]
    has = np.zeros(mesh.n_points, dtype=bool)
    has[points[points >= 0]] = True
    return has


def _cut_lines(mesh, axis, position, cells):
    """Two ends (n, 2, 3) of the line in which the plane cuts each cut cell, and those cells' indices."""
    # a plane through points would run along edges, which belong to two cells: step off it by a hair
    height = mesh.points[:, axis] - (position + 1e-9 * max(mesh.extent.max(), 1.0))
    ends, chosen = [], []
    for _kind, start, block in mesh.corner_blocks():
        stop = np.roll(start, -1, axis=1)
        a, b = height[start], height[stop]
        crosses = (a > 0) != (b > 0)
        is_cut = crosses.sum(axis=1) == 2  # a warped quadrilateral crossed four times is none of ours
        if cells is not None:
            is_cut &= cells[block]
        share = np.where(crosses, a / np.where(a != b, a - b, 1.0), 0.0)[..., None]
        place = mesh.points[start] * (1 - share) + mesh.points[stop] * share
        ends.append(place[is_cut][crosses[is_cut]].reshape(-1, 2, 3))
        chosen.append(block.start + np.flatnonzero(is_cut))
    return np.concatenate(ends), np.concatenate(chosen)

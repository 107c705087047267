"""Everything that is wrong with a model, found before any solving and said in words."""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from ..errors import ModelError, UnderSupportedError, UnknownSetError, nearest_name
from .support import constraints_of

__all__ = ["find_faults", "rigid_motions"]

# What steel and aluminium in N-mm-tonne can be. Common practice, no source; wide enough for cast iron and magnesium.
PLAUSIBLE = {
    "E": (40_000, 250_000, "MPa", "is it in Pa, GPa or psi?"),
    "density": (1e-9, 10e-9, "t/mm3", "is it in kg/m3 or kg/mm3? Steel has 7.85e-9 t/mm3."),
    "thickness": (0.1, 250, "mm", "is it in metres or inches?"),
    "extent": (10, 500_000, "mm", 'is the mesh in metres or inches? read_mesh(..., unit="m") turns it into mm.'),
}
JOINED_WITHIN = 5.0  # mm: parts this near each other were probably meant to be joined. Common practice, no source


def find_faults(model):
    """All faults of a model as errors that were not raised, the gravest kind first.

    Parameters
    ----------
    model : Model

    Returns
    -------
    faults : list of ModelError
        Later kinds are looked for only when the earlier ones are well, since they build on them.
    """
    for look in (_look_at_plates, _look_at_loads_and_supports, _look_at_numbers, _look_at_motions):
        faults = look(model)
        if faults:
            return faults
    return []


def rigid_motions(points, n_components=6):
    """Small rigid motions: three shifts along and three turns about the global axes through the origin.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
    n_components : int
        6, or 2 for plane stress (two shifts, one turn).

    Returns
    -------
    motions : ndarray, shape (n, n_components, 6 or 3)
        mm and rad a mm and a rad.
    """
    x, y, z = points.T
    motions = np.zeros((len(points), 6, 6))
    motions[:, range(6), range(6)] = 1
    motions[:, 0, 4], motions[:, 0, 5] = z, -y
    motions[:, 1, 3], motions[:, 1, 5] = -z, x
    motions[:, 2, 3], motions[:, 2, 4] = y, -x
    return motions if n_components == 6 else motions[:, :2, [0, 1, 5]]


def _collect(*calls):
    """The ModelErrors that these calls raise."""
    faults = []
    for call in calls:
        try:
            call()
        except ModelError as fault:
            faults.append(fault)
    return faults


def _look_at_plates(model):
    if model.mesh.n_cells == 0:
        return [ModelError("the mesh has no cells; there is nothing to solve.")]
    faults, count, first = [], np.zeros(model.mesh.n_cells, dtype=int), {}
    for name, plate in model.plates.items():
        try:
            cells = model.plate_cells[name]
        except UnknownSetError:
            nearest, advice = nearest_name(name, model.mesh.cell_sets)
            message = f'plate "{name}": the mesh has no cell set of that name. {advice}'
            return [*faults, UnknownSetError(message, name, nearest)]
        if np.ndim(plate.thickness) and len(plate.thickness) != len(cells):
            faults.append(
                ModelError(
                    f'plate "{name}": {len(plate.thickness)} thicknesses for {len(cells)} cells; it must be one each.'
                )
            )
        again = cells[count[cells] > 0]
        if len(again):
            faults.append(
                ModelError(
                    f'plates "{first[again[0]]}" and "{name}" both claim {len(again)} cells, '
                    f"the first is cell {again[0]}; a cell has one plate."
                )
            )
        count[cells] += 1
        first.update(dict.fromkeys(cells.tolist(), name))
    bare = np.flatnonzero(count == 0)
    if len(bare):
        names = [name for name, cells in model.mesh.cell_sets.items() if np.isin(bare, cells).any()]
        hint = f" They are in the cell sets {', '.join(sorted(names))}." if names else " They are in no cell set."
        faults.append(
            ModelError(f"{len(bare)} cells have no plate, the first is cell {bare[0]}.{hint} Give each a plate.")
        )
    if model.behaviour == "plane stress" and np.ptp(model.mesh.points[:, 2]) > 1e-9 * model.mesh.extent.max():
        faults.append(ModelError(f"plane stress needs a flat mesh; z spans {np.ptp(model.mesh.points[:, 2]):g} mm."))
    return faults


def _look_at_loads_and_supports(model):
    faults = []
    for case in model.load_cases:
        for load in case.loads:
            for fault in _collect(lambda load=load: _forces_of(model, load)):
                faults.append(type(fault)(f'load case "{case.name}": {fault}'))
        if not case.loads:
            faults.append(ModelError(f'load case "{case.name}" holds no load; it must hold at least one.'))
    faults += _collect(*(lambda mass=mass: mass.point_masses(model) for mass in model.masses))
    for supports in _support_groups(model):
        faults += _collect(lambda supports=supports: constraints_of(model.mesh, supports, model.n_components))
    by_name = {case.name: case for case in model.load_cases}
    for combination in model.combinations:
        missing = [name for name in combination.factors if name not in by_name]
        for name in missing:
            advice = nearest_name(name, by_name)[1]
            faults.append(ModelError(f'combination "{combination.name}": there is no load case "{name}". {advice}'))
        if not missing and len({id(model.supports_of(by_name[name])) for name in combination.factors}) > 1:
            faults.append(
                ModelError(
                    f'combination "{combination.name}": its load cases stand on different supports, '
                    "so they can't be added; put their loads into one load case with the supports that hold then."
                )
            )
    return faults


def _forces_of(model, load):
    forces = load.point_forces(model)
    if hasattr(load, "cell_strain"):
        load.cell_strain(model)
    if model.behaviour == "plane stress" and np.abs(forces[:, 2:]).max() > 1e-9 * np.abs(forces).max():
        raise ModelError(f"{load}: it acts out of the plane or as a moment; plane stress has forces in x and y only.")


def _support_groups(model):
    groups = {id(model.supports_of(case)): model.supports_of(case) for case in model.load_cases}
    return list(groups.values()) or [model.supports]


def _look_at_numbers(model):
    if model.units == "any":
        return []
    found = [("the mesh", "extent", model.mesh.extent.max())]
    for name, plate in model.plates.items():
        found.append((f'plate "{name}"', "thickness", np.min(plate.thickness)))
        found.append((f'plate "{name}"', "thickness", np.max(plate.thickness)))
    for material in {plate.material.name: plate.material for plate in model.plates.values()}.values():
        found.append((f'material "{material.name}"', "E", material.E))
        if material.density:
            found.append((f'material "{material.name}"', "density", material.density))
    faults = []
    for who, quantity, value in dict.fromkeys(found):
        low, high, unit, question = PLAUSIBLE[quantity]
        if not low <= value <= high:
            faults.append(
                ModelError(
                    f"{who}: {quantity} is {value:g} {unit}; for steel and aluminium in N, mm and tonne it lies "
                    f'between {low:g} and {high:g}: {question} If the number is meant, say Model(..., units="any").'
                )
            )
    return faults


def _look_at_motions(model):
    """Parts, and the rigid motions that no support stops."""
    body_of = _bodies(model)
    faults = []
    for supports in _support_groups(model):
        constraints = constraints_of(model.mesh, supports, model.n_components)
        faults += _free_motions(model, body_of, constraints)
    unique = {str(fault): fault for fault in faults}
    return list(unique.values())


def _bodies(model):
    """Number of the rigid body each point is of, -1 for a point without cells.

    Shell cells that share a point turn together; in plane stress a shared point is a hinge and a shared edge is not,
    so the bodies there go by edges and a point takes the body of the first cell that has it.
    """
    corners = model.mesh.corners
    ends = np.concatenate([corners[:, [i, (i + 1) % 3]] for i in range(3)] + [corners[corners[:, 3] >= 0][:, [2, 3]]])
    n = model.mesh.n_points
    graph = coo_matrix((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(n, n))
    _count, body = connected_components(graph, directed=False)
    body = body.astype(np.int64)
    is_used = np.zeros(n, dtype=bool)
    is_used[corners[corners >= 0]] = True
    body[~is_used] = -1
    return body


def _free_motions(model, body_of, constraints):
    faults = []
    numbers = np.unique(body_of[body_of >= 0])
    for body in numbers:
        mine = np.flatnonzero(body_of == body)
        centre = model.mesh.points[mine].mean(axis=0)
        size = max(np.ptp(model.mesh.points[mine], axis=0).max(), 1e-300)
        motions = rigid_motions((model.mesh.points[mine] - centre) / size, model.n_components)
        rows = [motions[constraints.is_held[mine]]]
        row_of = np.full(model.mesh.n_points, -1)
        row_of[mine] = np.arange(len(mine))
        for mean in constraints.means:
            at = row_of[mean.points]
            rows.append((mean.weights[at >= 0] @ motions[at[at >= 0], mean.component])[None])
        free = _null_space(np.concatenate(rows))
        if free.shape[1]:
            faults.append(_free_motion_error(model, mine, free, centre, size, len(numbers)))
    return faults


def _null_space(rows):
    """Combinations of rigid motions that every row leaves at 0, shape (n_motions, n_free)."""
    _u, values, vectors = np.linalg.svd(rows.T @ rows)
    # rows are of order 1 by the scaling with the part's size: 1e-10 squared stands far below any real support arm
    return vectors[values < 1e-10].T


def _free_motion_error(model, mine, free, centre, size, n_bodies):
    words = " and ".join(_motion_words(free, model.n_components))
    motion = np.zeros((model.mesh.n_points, 6))
    shape = np.zeros((len(mine), 6))
    shape[:, : model.n_components] = (
        rigid_motions((model.mesh.points[mine] - centre) / size, model.n_components) @ free[:, 0]
    )
    motion[mine] = shape / max(np.abs(shape[:, :3]).max(), 1e-300)
    whole = "the whole model" if n_bodies == 1 else f"the part {_part_name(model, mine)}"
    advice = "Support it." if n_bodies == 1 else _joining_advice(model, mine)
    return UnderSupportedError(f"{whole} can {words}. {advice}", motion)


def _motion_words(free, n_components):
    """Each free motion along or about a global axis by name; what lies askew as its direction."""
    axes = (0, 1, 2) if n_components == 6 else (0, 1)
    names = [f"move along {'xyz'[i]}" for i in axes] + [
        f"turn about {i}" for i in ("xyz" if n_components == 6 else "z")
    ]
    inside = np.linalg.norm(free, axis=1)  # length of each plain motion's part in the free space
    plain = [i for i in range(len(names)) if inside[i] > 1 - 1e-6]
    words = [names[i] for i in plain]
    rest = free - np.eye(len(names))[:, plain] @ free[plain]
    u, values, _v = np.linalg.svd(rest, full_matrices=False)
    for vector in u[:, values > 1e-6].T:
        share = np.abs(vector) / np.abs(vector).max()
        words.append(" while it would ".join(names[i] for i in np.argsort(-share) if share[i] > 0.05))
    return words


def _part_name(model, mine):
    is_mine = np.zeros(model.mesh.n_points, dtype=bool)
    is_mine[mine] = True
    names = [name for name, cells in model.plate_cells.items() if is_mine[model.mesh.corners[cells, 0]].any()]
    return f'"{", ".join(names)}" ({len(mine)} points around {_place(model.mesh.points[mine].mean(axis=0))})'


def _joining_advice(model, mine):
    others = np.setdiff1d(np.unique(model.mesh.corners[model.mesh.corners >= 0]), mine)
    distance, nearest = cKDTree(model.mesh.points[others]).query(model.mesh.points[mine])
    near = int((distance <= JOINED_WITHIN).sum())
    closest = int(distance.argmin())
    where = _place(model.mesh.points[others[nearest[closest]]])
    gap = f"It is not joined to the rest: the nearest point is {distance[closest]:.3g} mm away, at {where}"
    if near:
        reach = max(distance[closest] * 1.01, 1e-3)
        return (
            f"{gap}, and {near} of its points lie within {JOINED_WITHIN:g} mm of the rest without being shared. "
            f"Support it, or join it: read_mesh(..., merge_within={reach:.3g}) if they are the same points."
        )
    return f"{gap}. Support it, or join it."


def _place(point):
    return "(" + ", ".join(f"{value:.6g}" for value in point) + ")"

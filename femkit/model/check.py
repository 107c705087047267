"""Everything that is wrong with a model, found before any solving and said in words."""

from collections import Counter

import numpy as np

from ..errors import ModelError, nearest_name
from ..mesh.quality import mesh_quality
from .acting import AreaMass
from .balance import balance_fault
from .joints import motion_faults, unused_point_faults
from .loads import Acceleration, Gravity, Temperature
from .motions import rigid_motions
from .plate import plate_faults
from .plausible import implausible_numbers
from .support import constraints_of, footing
from .values import place_words

__all__ = ["find_faults", "rigid_motions"]


def find_faults(model, *, may_move=False):
    """All faults of a model as a list of `ModelError` that were not raised.

    Parts that can move or are not joined are looked for only when nothing else is wrong, since that may be why; and
    not at all if the model `may_move`, as for the modes of a free body.
    """
    if model.mesh.n_cells == 0 and not model.beams:
        return [ModelError("the mesh has no cells; there is nothing to solve.")]
    found = [*plate_faults(model.mesh, model.plates), *_plane_faults(model), *_quadratic_faults(model)]
    found += _caught(lambda: model.beam_cells) + _caught(lambda: model.attachments)
    found += [] if found else unused_point_faults(model)
    found += _load_faults(model, can_weigh=not found)
    found += [*_support_faults(model), *_combination_faults(model), *implausible_numbers(model)]
    found = found or ([] if may_move else motion_faults(model))
    return [fault if isinstance(fault, ModelError) else ModelError(fault) for fault in found]


def _plane_faults(model):
    if model.behaviour == "plane stress":
        for name in [name for name in ("beams", "links") if getattr(model, name)]:
            yield f'plane stress has no {name}, whose points turn; take behaviour="shell".'
        depth = np.ptp(model.mesh.points[:, 2])
        if depth > 1e-9 * model.mesh.extent.max():
            yield f'plane stress needs a flat mesh; z spans {depth:g} mm. Take behaviour="shell".'
        for name, plate in model.plates.items():
            if plate.offset:
                yield f'plate "{name}": offset is {plate.offset:g} mm; in plane stress there is nothing but 0.'


def _quadratic_faults(model):
    mesh = model.mesh
    if not mesh.is_quadratic:
        return
    held = ", ".join(f"{len(cells):,} {kind}" for kind, cells in mesh.cells.items())
    if model.behaviour == "shell":
        yield (
            f"shells are linear triangles and quadrilaterals; the mesh holds {held}. Read it with quadratic=False, "
            'which makes four linear cells of each, or take behaviour="plane stress".'
        )
    edges = mesh.edges
    is_open = ~edges.is_matched | np.isin(edges.middle, mesh.corners[mesh.corners >= 0])
    if is_open.any():
        first = mesh.points[edges.points[is_open.argmax()]].mean(axis=0)
        yield (
            f"{is_open.sum()} sides of quadratic cells, the first at {place_words(first)}, meet cells without their "
            "middle point; mesh both hands of a side with quadratic cells, and join their points."
        )
    is_folded = (mesh_quality(mesh).scaled_jacobian <= 0) & (mesh.points_of_cell[:, 4:] >= 0).any(axis=1)
    if is_folded.any():
        first = f"cell {is_folded.argmax()} at {place_words(mesh.centres[is_folded.argmax()])}"
        yield (
            f"{is_folded.sum()} quadratic cells fold over themselves, the first is {first}; the middle point of a side "
            "must lie in its middle half, and sides be less curved or shorter."
        )
    if "quad8" in mesh.cells:
        for mass in model.masses:
            if isinstance(mass, AreaMass) and mass.mass:
                yield (
                    f"{mass}: shared by the points of quad8 cells it would be negative at their corners; "
                    "give its plate added_mass instead."
                )


def _load_faults(model, can_weigh):
    """Masses and loads on sets that don't exist or are empty; load cases of nothing; what plane stress can't carry."""
    faults = [fault for mass in model.masses for fault in _caught(mass.point_masses, model)]
    can_weigh = can_weigh and not faults  # else loads that need all plates and masses would only say it again
    for case in model.load_cases:
        if not case.loads and not any(np.any(v) for s in model.supports_of(case) for v in s.held.values()):
            faults.append(f'load case "{case.name}" holds no load; it must hold at least one.')
        if case.balanced and can_weigh:
            faults += [f'load case "{case.name}": {fault}' for fault in _said(balance_fault, model, case)]
        for load in case.loads:
            if can_weigh or not isinstance(load, Gravity | Acceleration | Temperature):
                for fault in _caught(_look_at_load, model, load):
                    fault.args = (f'load case "{case.name}": {fault}',)
                    faults.append(fault)
    return faults


def _look_at_load(model, load):
    if isinstance(load, Temperature):
        load.cell_strain(model)
    if isinstance(load, Gravity | Acceleration):
        is_heavy = any(plate.material.density or plate.added_mass for plate in model.plates.values())
        is_heavy |= any(beam.material.density for beam in model.beams.values())
        if not is_heavy and not any(mass.mass for mass in model.masses):
            advice = "give its materials a density (steel: 7.85e-9 t/mm3), or masses"
            raise ModelError(f"{load}: the model has no mass; {advice}.")
        if model.behaviour == "shell":
            return  # nothing else can be wrong with it, and its forces take a while
    forces = np.abs(load.point_forces(model))
    if model.behaviour == "plane stress" and forces[:, 2:].max() > 1e-9 * forces.max():
        hint = " Gravity(direction=(0, -1, 0)) pulls along -y." if isinstance(load, Gravity) else ""
        where = "out of the plane or as a moment; plane stress has forces in x and y only"
        raise ModelError(f"{load}: it acts {where}.{hint}")


def _support_faults(model):
    groups = (model.supports, *(supports for supports, _names in model.support_groups))
    faults = [f for group in groups for f in _caught(constraints_of, model.mesh, group, model.n_components)]
    return {str(fault): fault for fault in faults}.values()  # a support may stand in several groups


def _combination_faults(model):
    by_name, combined = {case.name: case for case in model.load_cases}, [one.name for one in model.combinations]
    for combination in model.combinations:
        who, groups, prescribed = f'combination "{combination.name}"', {}, Counter()
        for name in combination.factors:
            if name in by_name:
                supports = model.supports_of(by_name[name])
                groups.setdefault(footing(supports, values=False), []).append(f'"{name}"')
                prescribed.update(held for held in footing(supports) if held[-1] != "0")
            elif name in combined:
                yield f'{who}: "{name}" is a combination itself; name its load cases and multiply their factors.'
            else:
                yield f'{who}: there is no load case "{name}". {nearest_name(name, by_name)[1]}'
        if len(groups) > 1:
            words = "; ".join(" and ".join(names) for names in groups.values())
            yield (
                f"{who}: its load cases stand on different supports ({words}), so they can't be added; put their loads "
                "into one load case with the supports that hold then."
            )
        for (support, *_where, name, value), count in sorted(prescribed.items()):
            if count > 1 and len(groups) == 1:
                said = value.split(" (")[0]
                yield (
                    f"{who}: {support} prescribes {name} = {said} in {count} of its load cases, which would be "
                    "added up; prescribe it in a load case of its own, with supports that hold 0 in the others."
                )


def _said(function, *arguments):
    """What a check says, in a list; an empty one if all is well, or something else is wrong that others find."""
    try:
        return list(filter(None, [function(*arguments)]))
    except ModelError:
        return []


def _caught(function, *arguments):
    """The error that a call raises, in a list; an empty one if all is well."""
    try:
        function(*arguments)
    except ModelError as fault:
        return [fault]
    return []

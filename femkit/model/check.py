"""Everything that is wrong with a model, found before any solving and said in words."""

import numpy as np

from ..errors import ModelError, nearest_name
from .cells import plate_faults
from .fingerprint import content
from .joints import motion_faults, unused_point_faults
from .loads import Acceleration, Gravity, Temperature
from .motions import rigid_motions
from .plausible import implausible_numbers, implausible_strains
from .support import constraints_of, footing
from .values import collect

__all__ = ["find_faults", "rigid_motions"]


def find_faults(model, *, may_move=False):
    """All faults of a model as errors that were not raised.

    Parameters
    ----------
    model : Model
    may_move : bool
        Whether it may stand on too few supports, as for the modes of a free body.

    Returns
    -------
    faults : list of ModelError
        Strains out of proportion, then parts that can move or are not joined, are looked for only when nothing else
        is wrong, since that may be why.
    """
    faults = [*plate_faults(model.mesh, model.plates), *_plane_faults(model)]
    if model.mesh.n_cells == 0:
        return faults
    faults += [
        *unused_point_faults(model.mesh),
        *_load_faults(model, is_plated=not faults),
        *_support_faults(model),
        *_combination_faults(model),
        *implausible_numbers(model),
    ]
    return faults or implausible_strains(model) or ([] if may_move else motion_faults(model))


def _plane_faults(model):
    if model.behaviour != "plane stress" or model.mesh.n_cells == 0:
        return []
    faults, depth = [], np.ptp(model.mesh.points[:, 2])
    if depth > 1e-9 * model.mesh.extent.max():
        faults.append(ModelError(f'plane stress needs a flat mesh; z spans {depth:g} mm. Take behaviour="shell".'))
    for name, plate in model.plates.items():
        if plate.offset:
            faults.append(
                ModelError(f'plate "{name}": offset is {plate.offset:g} mm; in plane stress there is nothing but 0.')
            )
    return faults


def _load_faults(model, is_plated):
    """Masses and loads on sets that don't exist or are empty; load cases of nothing; what plane stress can't carry."""
    faults = collect(*(lambda mass=mass: mass.point_masses(model) for mass in model.masses))
    can_weigh = is_plated and not faults
    for case in model.load_cases:
        if not case.loads and not any(map(_prescribes, model.supports_of(case))):
            faults.append(ModelError(f'load case "{case.name}" holds no load; it must hold at least one.'))
        for load in case.loads:
            if isinstance(load, (Gravity, Acceleration, Temperature)) and not can_weigh:
                continue  # they need all plates and masses, of which something has been said already
            for fault in collect(lambda load=load: _look_at_load(model, load)):
                fault.args = (f'load case "{case.name}": {fault}',)
                faults.append(fault)
    return faults


def _look_at_load(model, load):
    forces = load.point_forces(model)
    if isinstance(load, Temperature):
        load.cell_strain(model)
    if isinstance(load, (Gravity, Acceleration)) and not forces.any() and not model.mass > 0:
        raise ModelError(
            f"{load}: the model has no mass; give its materials a density (steel: 7.85e-9 t/mm3), or masses."
        )
    if model.behaviour == "plane stress" and np.abs(forces[:, 2:]).max() > 1e-9 * np.abs(forces).max():
        advice = " Gravity(direction=(0, -1, 0)) pulls along -y." if isinstance(load, Gravity) else ""
        raise ModelError(
            f"{load}: it acts out of the plane or as a moment; plane stress has forces in x and y only.{advice}"
        )


def _support_faults(model):
    faults = []
    for supports in {id(supports): supports for supports in _all_supports(model)}.values():
        faults += collect(lambda supports=supports: constraints_of(model.mesh, supports, model.n_components))
    return list({str(fault): fault for fault in faults}.values())


def _all_supports(model):
    return [model.supports, *(supports for supports, _names in model.support_groups)]


def _combination_faults(model):
    faults, by_name = [], {case.name: case for case in model.load_cases}
    for combination in model.combinations:
        who = f'combination "{combination.name}"'
        missing = [name for name in combination.factors if name not in by_name]
        faults += [ModelError(f"{who}: {_no_such_case(name, model, by_name)}") for name in missing]
        if missing:
            continue
        cases = [by_name[name] for name in combination.factors]
        if len({footing(model.supports_of(case), values=False) for case in cases}) > 1:
            faults.append(
                ModelError(
                    f"{who}: its load cases stand on different supports ({_groups_in_words(model, cases)}), so they "
                    "can't be added; put their loads into one load case with the supports that hold then."
                )
            )
        else:
            faults += _prescribed_twice(who, model, combination)
    return faults


def _no_such_case(name, model, by_name):
    if name in [combination.name for combination in model.combinations]:
        return f'"{name}" is a combination itself; name its load cases and multiply their factors.'
    return f'there is no load case "{name}". {nearest_name(name, by_name)[1]}'


def _groups_in_words(model, cases):
    names = {}
    for case in cases:
        names.setdefault(footing(model.supports_of(case), values=False), []).append(f'"{case.name}"')
    return "; ".join(" and ".join(group) for group in names.values())


def _prescribes(support):
    return any(support.held.values())


def _prescribed_twice(who, model, combination):
    """A displacement prescribed alike in several load cases, which their sum would multiply."""
    factors, supports_by_content = {}, {}
    for name, factor in combination.factors.items():
        for support in filter(_prescribes, model.supports_of(model.case(name))):
            key = content(support)
            supports_by_content[key] = support
            factors.setdefault(key, []).append(factor)
    faults = []
    for key, several in factors.items():
        if len(several) > 1:
            support = supports_by_content[key]
            values = ", ".join(f"{name} = {value:g}" for name, value in support.held.items() if value)
            faults.append(
                ModelError(
                    f"{who}: {support} prescribes {values} in {len(several)} of its load cases, so their sum would "
                    f"hold {sum(several):g} times that; prescribe it in a load case of its own, with supports that "
                    "hold 0 in the others."
                )
            )
    return faults

"""What acts in the load cases on the same supports, and the proof of their solutions."""

from dataclasses import dataclass

import numpy as np

from .balance import Balance
from .constraints import Reduction
from .forces import ground_forces, thermal_loads
from .line_loads import side_moments
from .mass import assemble_mass
from .proof import prove

__all__ = ["Acting", "Group", "acting_in", "prove_all", "relative"]


@dataclass(frozen=True, eq=False)
class Group:
    """Load cases that stand on the same supports."""

    cases: list
    held: frozenset  # the held unknowns, at whatever values: `femkit.model.support.footing`
    reduction: Reduction


@dataclass(frozen=True, eq=False)
class Acting:
    """What acts in a group's load cases."""

    loads: np.ndarray  # (n_unknowns, n_cases), N and N mm
    thermal: np.ndarray  # the same, of free expansions
    held_energy: list  # of `thermal_loads`, N mm
    balances: list  # None, or a Balance for a case whose loads hold inertia too
    accelerations: list


def acting_in(model, arrays, group, pattern):
    """Loads of a group's cases, with inertia where it balances them."""
    loads, thermal, held_energy, balances, accelerations = [], [], [], [], []
    balanced = [case for case in group.cases if case.balanced]
    if balanced:
        inertia = Balance.of(model, assemble_mass(model, pattern, arrays), balanced[0])
    for case in group.cases:
        strain = sum(load.cell_strain(model) for load in case.loads if hasattr(load, "cell_strain"))
        forces, energy = thermal_loads(model, arrays, np.broadcast_to(strain, model.mesh.n_cells))
        applied = model.point_forces(case)[:, : model.n_components] + side_moments(model, case)
        applied = applied.ravel()
        balances.append(inertia if case.balanced else None)
        accelerations.append(inertia.acceleration(applied) if case.balanced else np.zeros(6))
        loads.append(applied + inertia.force(applied) if case.balanced else applied)
        thermal.append(forces.ravel())
        held_energy.append(energy)
    return Acting(np.stack(loads, axis=1), np.stack(thermal, axis=1), held_energy, balances, accelerations)


def relative(stiffness, acting, u, inner):
    """Displacements of balanced cases against the mean motion, and ``K u`` of all."""
    if not any(acting.balances):
        return u, inner
    columns = [balance.relative(column) if balance else column for balance, column in zip(acting.balances, u.T)]
    u = np.stack(columns, axis=1)
    return u, stiffness.dot(u)


def prove_all(model, stiffness, group, acting, u, inner):
    """Displacement, reaction, loads, proof and acceleration of every case of a group, by name."""
    reduction, shape = group.reduction, (model.mesh.n_points, model.n_components)
    ground = ground_forces(model, u)
    reaction = reduction.reactions(inner - acting.loads - acting.thermal) - ground
    inner = inner - ground  # of the model alone: springs to the ground are supports
    sizes = stiffness.absolute_dot(u) + np.abs(acting.loads) + np.abs(acting.thermal)
    found = {}
    for i, case in enumerate(group.cases):
        proof = prove(
            model,
            case.name,
            displacement=u[:, i],
            inner=inner[:, i],
            sizes=sizes[:, i],
            loads=acting.loads[:, i],
            thermal=acting.thermal[:, i],
            reaction=reaction[:, i],
            reduction=reduction,
            held_energy=acting.held_energy[i],
            unheld=acting.balances[i] and acting.balances[i].motions,
        )
        fields = [np.ascontiguousarray(field[:, i]).reshape(shape) for field in (u, reaction, acting.loads)]
        for field in (*fields, acting.accelerations[i]):
            field.setflags(write=False)
        found[case.name] = (*fields, proof, acting.accelerations[i])
    return found

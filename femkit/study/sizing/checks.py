"""What a changed structure is asked for: a quantity, and what it may be by a limit or by the original structure."""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property
from weakref import WeakKeyDictionary

import numpy as np

from ...assess.strength import YIELD_FACTOR, allowed_stress
from ...assess.verdict import SAME_WITHIN, judge
from ...errors import ModelError
from ...model.values import place_words, refuse, sequence_of
from ...results.averaging import JUDGED_OVER
from ...results.buckling import solve_buckling
from ...results.modes import solve_modes
from ...results.static import StaticResult
from ...solve.adjoint import thickness_work
from ...solve.forces import cell_forces
from ..quantities import JudgedStress

__all__ = ["BucklingFactor", "Check", "Frequency", "strength_checks"]

_BUCKLED = WeakKeyDictionary()  # of results that still live, by load case


@dataclass(frozen=True)
class BucklingFactor:
    """The lowest buckling factor of a load case or combination; more is better."""

    load_case: str
    unit, more_is_better = "", True

    def __str__(self):
        return f"buckling factor, {self.load_case}"

    def value(self, result):
        """Of a `StaticResult`."""
        return float(self._buckled(result).factor[0])

    def value_and_place(self, result):
        """And where its shape moves most."""
        moved = np.linalg.norm(self._buckled(result).shape[0, :, :3], axis=1)
        return self.value(result), place_words(result.model.mesh.points[moved.argmax()], digits=0)

    def value_and_slope(self, result, side):
        """And about what it changes by with each cell's thickness, (n_cells,): of the membrane forces as they are.

        ``dλ/λ = φ ∂K/∂t φ / φ K φ`` by Rayleigh's quotient; exact where no thickness redistributes the forces.
        """
        factor, shape = self.value(result), self._buckled(result).shape[0]
        stiffer, whole = _stiffness_along(result.model, shape, side)
        return factor, factor * stiffer / whole

    def _buckled(self, result):
        """Solved once for the same result."""
        known = _BUCKLED.setdefault(result, {})
        if self.load_case not in known:
            known[self.load_case] = solve_buckling(result, self.load_case, 1).solution
        return known[self.load_case]


@dataclass(frozen=True)
class Frequency:
    """The lowest natural frequency, Hz; more is better."""

    unit, more_is_better = "Hz", True

    def __str__(self):
        return "lowest natural frequency"

    def value(self, result):
        """Of a `StaticResult`."""
        return float(solve_modes(result.model, 1).frequency[0])

    def value_and_slope(self, result, side):
        """And what it changes by with each cell's thickness, (n_cells,), by Rayleigh's quotient; inertia lumped."""
        modes = solve_modes(result.model, 1)
        model, frequency, shape = result.model, float(modes.frequency[0]), modes.solution.shape[0]
        stiffer, whole = _stiffness_along(model, shape, side)
        squares, axes = np.zeros(model.mesh.n_cells), min(3, shape.shape[1])
        for _kind, points, block in model.mesh.blocks():
            squares[block] = (shape[points, :axes] ** 2).sum(axis=2).mean(axis=1)
        heavier = model.mesh.areas * model.per_cell.density * squares  # φ ∂M/∂t φ, where φ M φ is 1
        return frequency, frequency / 2 * (stiffer / whole - heavier)


def _stiffness_along(model, shape, side):
    """``φ ∂K/∂t φ`` of a shape (n_points, n_components), (n_cells,), and ``φ K φ``; `side` as of `thickness_work`."""
    moved = shape[:, : model.n_components]
    still, column = np.zeros((model.mesh.n_cells, 1)), moved[:, :, None]
    stiffer = -thickness_work(model, column, still, np.zeros((3, 1)), column, side)[:, 0]
    forces, points = cell_forces(model, moved), {kind: at for kind, at, _block in model.mesh.blocks()}
    points["beam"] = model.beam_cells.points
    return stiffer, sum((force * moved[points[kind]]).sum() for kind, force in forces.items())


@dataclass(frozen=True, eq=False)
class Check:
    """A quantity that has to stay within a limit, or to be no worse than the original's.

    With both, the one that asks for less decides: "misses it but no worse than the original" passes. As in all
    verdicts, what is worse by 1 % than the original still counts as no worse.

    Parameters
    ----------
    quantity : Displacement, Distance, JudgedStress, BucklingFactor, Frequency, Damage, or one's own
        Its size counts, not its sign. A judged stress is the true largest on the plate. One's own needs a `unit`,
        ``str()`` for tables and ``value(result)``, and ``more_is_better = True`` where the limit is a least one;
        `least_thickness` needs no more, `size_plates` derivatives too.
    limit : float, optional
        What it may be at most; for buckling factors and frequencies, at least.
    no_worse_than : StaticResult or float, optional
        The original structure, or what the quantity is there.
    name : str, optional
        For tables; what the quantity calls itself without it.

    Raises
    ------
    ModelError
        If neither is given, or what they allow is not a finite number above 0.

    Examples
    --------
    >>> check = Check(BucklingFactor("full load"), limit=1.5, no_worse_than=1.25)
    >>> round(check.allowed, 2), check.demand(1.3) < 1, str(check.verdict(1.3))
    (1.24, True, 'misses it but no worse than the original')
    """

    quantity: object
    _: KW_ONLY
    limit: float | None = None
    no_worse_than: object = None
    name: str = ""

    def __post_init__(self):
        if self.limit is None and self.no_worse_than is None:
            raise ModelError(f'check "{self}": give it a limit, or no_worse_than=the original.')
        if not (np.isfinite(self.allowed) and self.allowed > 0):
            raise ModelError(f'check "{self}": {self.allowed} is allowed; it must be a finite number above 0.')

    def __str__(self):
        return self.name or str(self.quantity)

    @property
    def more_is_better(self):
        """Whether the limit is a least one."""
        return getattr(self.quantity, "more_is_better", False)

    @cached_property
    def original(self):
        """What the quantity is in the original structure, None where that was not given."""
        given = self.no_worse_than
        return self.value(given) if isinstance(given, StaticResult) else given

    @property
    def allowed(self):
        """What passes: by the limit or by the original, whichever asks for less."""
        same = (1 + SAME_WITHIN) ** (-1 if self.more_is_better else 1)
        given = [] if self.limit is None else [abs(self.limit)]
        given += [] if self.original is None else [abs(self.original) * same]
        return min(given) if self.more_is_better else max(given)

    def value(self, result):
        """The quantity of a `StaticResult`, the largest judged stress as it is and not its smooth neighbour."""
        return self.value_and_place(result)[0]

    def value_and_place(self, result):
        """And where, ``"(x, y, z)"``; "" where the quantity does not say by a `value_and_place` of its own."""
        quantity = self.quantity
        if not isinstance(quantity, JudgedStress):
            own = getattr(quantity, "value_and_place", lambda result: (quantity.value(result), ""))
            return own(result)
        if quantity.plate not in result.model.plate_cells:
            quantity.value(result)  # refuses it, and offers the nearest name
        stress = result[quantity.load_case].judged_stress(quantity.distance)
        cells = result.model.plate_cells[quantity.plate]
        worst = cells[stress[cells].argmax()]
        return float(stress[worst]), place_words(result.model.mesh.centres[worst], digits=0)

    def demand(self, value):
        """How much of what is allowed a value uses: 1 at the limit."""
        if not self.more_is_better:
            return abs(value) / self.allowed
        return self.allowed / abs(value) if value else np.inf

    def verdict(self, value):
        """A `Verdict` on a value, in the words that comparisons use."""
        numbers = [number if number is None else abs(number) for number in (value, self.limit, self.original)]
        if self.more_is_better:
            numbers = [None if number is None else 1 / number if number else np.inf for number in numbers]
        return judge(numbers[0], limit=numbers[1], original=numbers[2])


def only_checks(checks):
    """The checks as a tuple; `ModelError` unless all are, and there is one."""
    checks = sequence_of("checks", checks, Check)
    refuse("" if checks else "checks: there are none; give one at least.")
    return checks


def strength_checks(model, *, original=None, combinations=None, factor=YIELD_FACTOR, distance=JUDGED_OVER):
    """A check of judged stress for every plate and combination, within yield over a factor or no worse than before.

    Parameters
    ----------
    model : Model
        Whose plates are checked.
    original : StaticResult, optional
        Where it has the plate and the combination, their stress there passes too.
    combinations : sequence of str, optional
        Load cases and combinations; all combinations without it.
    factor, distance : float
        As in `femkit.assess.utilisation`.

    Returns
    -------
    checks : list of Check
    """
    names = list(combinations) if combinations is not None else [c.name for c in model.combinations]
    allowed, checks = allowed_stress(model, factor), []
    for name in names:
        for plate, cells in model.plate_cells.items():
            is_there = original is not None and plate in original.model.plates and name in original.names
            quantity = JudgedStress(plate, name, distance=distance)
            checks.append(
                Check(quantity, limit=float(allowed[cells].min()), no_worse_than=original if is_there else None)
            )
    return checks

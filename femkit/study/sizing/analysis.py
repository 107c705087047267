"""What a search needs to know of sizes: the demand of every check there, and what it changes by with each of them.

Buckling and modes are dear: only those that were missed once lead a search.
"""

import numpy as np

from ..sensitivity import SIDES, sensitivities
from .lightest import SETTLED, Trial, find_lightest

__all__ = ["DEAR_ROUNDS", "Analysis", "has_slopes", "is_dear"]

NEAR = 0.5  # demands below it get no derivatives: a step of the sizes hardly brings them to 1, and all are seen again
DEAR_ROUNDS = 12  # analyses at most with buckling and modes among them
BLANK = 10.0  # demand of a quantity that has no value at some sizes, so that a search turns back


class Analysis:
    """Trials of sizes, mm.

    Parameters
    ----------
    checks : sequence of Check
    solver : StaticSolver
    cells : sequence of ndarray of int
        Whose thickness each size is.
    changed : callable
        Of sizes; returns the model with them.
    grows : dict of str to str, optional
        As of `sensitivities`.
    near : float
        Demands from which on derivatives are asked for.
    powers : dict of int to ndarray, optional
        Of checks, by their number, whose quantity has no derivatives: the power of each size that the demand goes with.
    """

    def __init__(self, checks, solver, cells, changed, *, grows=None, near=NEAR, powers=None):
        self.checks, self.solver, self.cells, self.changed = checks, solver, cells, changed
        self.grows, self.near, self.powers = grows or {}, near, powers or {}
        self.is_dear = np.array([is_dear(check) for check in checks])
        self.is_leading = ~self.is_dear
        self.n_solves = self.n_dear = 0
        self._last, self._trials = None, {}

    def result(self, sizes):
        """The model with these sizes, solved; the last one is kept."""
        if self._last is None or not np.array_equal(self._last[0], sizes):
            self.n_solves += 1
            self._last = np.array(sizes), self.solver.solve(self.changed(sizes), warns=False)
        return self._last[1]

    def lightest(self, weight, start, low, high, *, rounds, dear_rounds=DEAR_ROUNDS, settled=SETTLED):
        """As `find_lightest`, and again while dear checks are all that is missed; the best is looked at in full."""
        best, history, is_settled = find_lightest(self, weight, start, low, high, rounds=rounds, settled=settled)
        while self.leads(best := self.in_full(best)):
            found = find_lightest(self, weight, best.sizes, low, high, rounds=dear_rounds, settled=settled)
            best, more, is_settled = found
            history += more
        return best, history, is_settled

    def leads(self, trial):
        """Let dear checks lead from now on that are all that a trial in full misses; whether there are new ones."""
        is_new = ~self.is_leading & (trial.demand > 1)
        if trial.demand[self.is_leading].max(initial=0.0) > 1 or not is_new.any():
            return False
        self.is_leading |= is_new
        return True

    def __call__(self, sizes):
        """A trial of the checks that lead."""
        return self._with(self._cheap(sizes), self.is_leading)

    def in_full(self, trial):
        """A trial with all checks."""
        return self._with(trial, self.is_dear)

    def in_full_while_met(self, sizes):
        """A trial of all checks, of the dear ones only where the others are met."""
        trial = self._cheap(sizes)
        return self.in_full(trial) if trial.worst <= 1 else trial

    def _cheap(self, sizes):
        key = np.asarray(sizes, dtype=float).tobytes()
        if key in self._trials:
            return self._trials[key]
        result = self.result(sizes)
        demand, slope = np.full(len(self.checks), np.nan), np.zeros((len(self.checks), len(sizes)))
        for i in np.flatnonzero(~self.is_dear):
            value = self.checks[i].value(result)
            demand[i] = BLANK if np.isnan(value) else self.checks[i].demand(value)
        for i, power in self.powers.items():
            slope[i] = power * demand[i] / sizes
        near = demand >= min(self.near, np.nanmax(demand, initial=0.0))
        near = [i for i in np.flatnonzero(near) if i not in self.powers]
        quantities = [self.checks[i].quantity for i in near]
        for i, found in zip(near, sensitivities(result, quantities, grows=self.grows, solver=self.solver)):
            if found.value:
                slope[i] = self._per_size(found.per_cell) * demand[i] / found.value
        return self._kept(Trial(np.array(sizes), demand, slope))

    def _with(self, trial, is_wanted):
        """A trial with those of the wanted checks that it lacks."""
        demand, slope = trial.demand.copy(), trial.slope.copy()
        for i in np.flatnonzero(np.isnan(demand) & is_wanted):
            result = self.result(trial.sizes)
            side = np.zeros(result.model.mesh.n_cells)
            for name, where in self.grows.items():
                side[result.model.plate_cells[name]] = SIDES[where]
            self.n_dear += 1
            value, change = self.checks[i].quantity.value_and_slope(result, side)
            demand[i] = self.checks[i].demand(value)
            slope[i] = -self._per_size(change) * demand[i] / value  # more is better
        return self._kept(Trial(trial.sizes, demand, slope))

    def _kept(self, trial):
        """A trial, which is then at hand for the same sizes."""
        self._trials[np.asarray(trial.sizes, dtype=float).tobytes()] = trial
        return trial

    def _per_size(self, per_cell):
        return np.array([per_cell[cells].sum() for cells in self.cells])


def is_dear(check):
    """Whether a check needs more than a static result."""
    return hasattr(check.quantity, "value_and_slope")


def has_slopes(model, check):
    """Whether derivatives can be had: of one's own quantities not, nor where inertia balances a load case."""
    quantity = check.quantity
    if is_dear(check) or not hasattr(quantity, "change") or quantity.load_case is None:
        return is_dear(check) or hasattr(quantity, "change")
    case = model.case(quantity.load_case)
    return not any(model.case(name).balanced for name in getattr(case, "factors", [case.name]))

"""How thick must the new plates be for the changed structure to be as strong and as stiff as the original?

The least mass for which every check is met is found with derivatives by the adjoint method (see `find_lightest`). A
plate's largest judged stress has kinks where another place takes over: its value is the true one, its slopes are those
of the smooth number nearby, scaled by the ratio of the two at every analysis (C. Le, J. Norato, T. Bruns, C. Ha,
D. Tortorelli, Struct. Multidisc. Optim. 41 (2010) 605-620: from memory), so that nothing is left of the difference
where the sizes have settled.
"""

from contextlib import closing
from dataclasses import dataclass, replace
from functools import cached_property, partial
from html import escape

import numpy as np

from ...errors import ModelError
from ...model.model import Model
from ...model.values import listed, refuse
from ...results.static import StaticResult, StaticSolver
from .analysis import Analysis
from .checks import only_checks
from .free_plates import free_plates, mass_per_mm, whole_stock
from .lightest import Trial, find_lightest_in_stock

__all__ = ["Sizing", "size_plates"]

BINDING = 0.98  # of the largest demand that is allowed or can be had


@dataclass(frozen=True, eq=False)
class Sizing:
    """Thicknesses that were found, and what every check says of them.

    Attributes
    ----------
    start : Model
        As it was given.
    free : dict of str to FreePlate
    checks : tuple of Check
    history : list of Trial
        All analyses on the way to `thickness`, the first of the start within bounds; sizes are the plates' whole.
    tried : list of Trial
        Sizes in stock that were analysed, the first of them rounded up; none where no stock was given.
    best, best_in_stock : Trial
        The second is None where no stock was given.
    result : StaticResult
        Of the sizes in stock, else of those that were found.
    is_leading : ndarray of bool, shape (n_checks,)
        Which checks the search was led by; the others were looked at afterwards.
    is_settled : bool
        Whether mass and largest demand had stopped moving when the analyses ended.
    """

    start: Model
    free: dict
    checks: tuple
    history: list
    tried: list
    best: Trial
    best_in_stock: Trial | None
    result: StaticResult
    is_leading: np.ndarray
    is_settled: bool

    @cached_property
    def thickness(self):
        """Of each free plate, mm, of any size; of a doubler its own."""
        return self._own(self.best)

    @cached_property
    def stock(self):
        """The same in stock; None where no stock was given."""
        return None if self.best_in_stock is None else self._own(self.best_in_stock)

    @property
    def model(self):
        """The model with the sizes in stock, else with those that were found."""
        return self.result.model

    @property
    def is_met(self):
        """Whether every check is met, by the sizes in stock where there is a stock."""
        return self._final.worst <= 1

    @property
    def added_mass(self):
        """What the model weighs more than at the start, kg; of the sizes in stock where there is a stock."""
        return 1e3 * (self.model.mass - self.start.mass)

    @property
    def binding(self):
        """The checks that decide: within 2 % of the largest demand that is allowed, or that can be had."""
        return [check for check, decides in zip(self.checks, self._decides) if decides]

    def table(self):
        """One row a free plate: thickness at the start, found and in stock, with the change of mass, as a table."""
        import pandas as pd

        rows = []
        final, per_mm = self._own(self._final), mass_per_mm(self.start, self.free)
        for (name, free), mass in zip(self.free.items(), per_mm):
            start = float(self.start.plates[name].thickness) - free.on
            bounds = f"{free.low:g} … {free.high:g}" + (f" on {free.on:g}" if free.on else "")
            stock = np.nan if self.stock is None else self.stock[name]
            rows.append((name, bounds, start, self.thickness[name], stock, mass * (final[name] - start)))
        heads = ["plate", "bounds (mm)", "start (mm)", "found (mm)", "in stock (mm)", "added (kg)"]
        return pd.DataFrame(rows, columns=heads).set_index("plate")

    def checks_table(self):
        """One row a check: what it may be, what it is, and whether it decides, the hardest first, as a table.

        A demand is the value over what is allowed (for buckling factors and frequencies the reverse): at most 1 is
        good, NaN was not looked at. "Decides" is said of the sizes that were found, before they went to stock.
        """
        import pandas as pd

        rows, trials = [], (self.history[0], self.best, self._final)
        for check, decides, *demands in zip(self.checks, self._decides.tolist(), *(trial.demand for trial in trials)):
            unit = f" ({check.quantity.unit})" if check.quantity.unit else ""
            limits = [np.nan if value is None else abs(value) for value in (check.limit, check.original)]
            values = [check.allowed / d if check.more_is_better else check.allowed * d for d in demands]
            words = str(check.verdict(values[2])), "decides" * decides
            rows.append((f"{check}{unit}", *limits, *values, demands[0], demands[2], *words))
        heads = ["limit", "original", "start", "found", "final", "demand at start", "demand", "verdict", "decides"]
        table = pd.DataFrame(rows, columns=["check", *heads]).set_index("check")
        return table.sort_values("demand", ascending=False, kind="stable")

    @cached_property
    def notes(self):
        """What the reader must know, in words."""
        return tuple(self._notes())

    def _notes(self):
        named = listed([str(check) for check in self.binding]) if self.binding else "no check, but the lower bounds"
        least, aside = self.best.demand[self.is_leading].max(), self.best.demand[~self.is_leading]
        if self.best.worst <= 1:
            yield f"Thicknesses of any size meet every check; {named} decide{'s' * (len(self.binding) == 1)}."
        else:
            more = int((self.best.demand > 1)[self.is_leading].sum()) - len(self.binding)
            yield (
                f"No thickness within the bounds meets every check: the least violation is {least - 1:.1%}, of {named}"
                f"{f'; missed by less: {more} more' * (more > 0)}."
            )
        if (aside > 1).any():
            missed = [str(self.checks[i]) for i in np.flatnonzero(~self.is_leading)[aside > 1]]
            yield f"Missed besides, by up to {aside.max() - 1:.1%}, but not looked at on the way: {listed(missed)}."
        if not self.is_settled:
            yield f"Thicknesses had not settled after {len(self.history)} analyses: there may be lighter ones."
        if self.best_in_stock is not None:
            yield from self._notes_on_stock(self.tried[0], self.best_in_stock)
        yield from self.result.notes

    def _notes_on_stock(self, up, final):
        missed, still_missed = ([str(c) for c, d in zip(self.checks, t.demand) if d > 1] for t in (up, final))
        words = f"misses {listed(missed)}" if missed else "meets every check"
        yield f"Rounded up to stock, {self._sizes(up)} mm {words}."
        if not np.array_equal(final.sizes, up.sizes):
            lighter = mass_per_mm(self.start, self.free) @ (up.sizes - final.sizes)
            yield (
                f"Of {len(self.tried) - 1} neighbours in stock that were tried, {self._sizes(final)} mm "
                f"{'misses least' if still_missed else 'meets every check'}, {abs(lighter):.3g} kg "
                f"{'lighter' if lighter >= 0 else 'heavier'}."
            )
        if still_missed:
            yield f"No stock that was tried meets every check: missed are {listed(still_missed)}."

    @property
    def _final(self):
        return self.best if self.best_in_stock is None else self.best_in_stock

    def _sizes(self, trial):
        return listed([f"{name} {size:g}" for name, size in self._own(trial).items()])

    def _own(self, trial):
        return {name: round(float(size - free.on), 9) for (name, free), size in zip(self.free.items(), trial.sizes)}

    @property
    def _decides(self):
        demand = np.where(self.is_leading, self.best.demand, 0.0)
        return demand >= BINDING * max(1.0, demand.max())

    def __repr__(self):
        said = "every check is met" if self.is_met else f"the hardest check is missed by {self._final.worst - 1:.1%}"
        return f"Sizing: {said}, {self.added_mass:+.3g} kg; {self._sizes(self._final)} mm"

    def _repr_html_(self):
        notes = "".join(f"<li>{escape(note)}</li>" for note in self.notes)
        tables = (self.table(), self.checks_table().head(12))
        return f"<p>{escape(repr(self))}</p>{''.join(t.to_html(float_format='%.4g') for t in tables)}<ul>{notes}</ul>"


def size_plates(model, free, checks, *, stock=None, rounds=30, solver="auto", progress=None):
    """Thicknesses of least mass for which no check is worse than its limit or the original.

    Thicknesses of any size come first: for displacements, distances and judged stresses alone, and where these are met
    but a buckling factor or frequency is not, for that too. They are rounded up to stock and all is checked again; then
    the neighbours in stock are searched for what meets all that the rounded ones miss, or is lighter. Where no
    thickness meets every check, the largest demand is made least, and what else is missed is weighed against mass.

    Parameters
    ----------
    model : Model
        Where the search starts.
    free : dict of str to FreePlate or pair of float
        By plate; a pair is the bounds, mm.
    checks : sequence of Check
        One at least that is not of buckling or modes.
    stock : sequence of float, optional
        Thicknesses that can be had, mm.
    rounds : int
        Analyses at most before buckling, modes and stock are looked at.
    solver, progress
        As of `solve_static`.

    Returns
    -------
    sizing : Sizing

    Raises
    ------
    ModelError
        If a plate or a load case is not there, a plate has no density or one thickness a cell, bounds are none or
        hold no stock.

    Examples
    --------
    A strip of 2 mm under a pull of 2100 N, 10 mm wide, needs 1.05 mm at 200 MPa:

    >>> import femkit as fk
    >>> mesh = fk.Mesh([[0, 0, 0], [90, 0, 0], [90, 10, 0], [0, 10, 0]], {"quad": [[0, 1, 2, 3]]},
    ...                cell_sets={"strip": [0]}, edge_sets={"end": [[1, 2]], "root": [[0, 3]]})
    >>> model = fk.Model(
    ...     mesh, {"strip": fk.Plate(2.0, fk.Material("steel", E=210_000, nu=0.3, density=7.85e-9))},
    ...     supports=[fk.Support("root", ux=0), fk.Support([0], uy=0)], behaviour="plane stress",
    ...     load_cases=[fk.LoadCase("pull", [fk.LineLoad("end", fx=2100, total=True)])])
    >>> checks = [fk.Check(fk.JudgedStress("strip", "pull"), limit=200)]
    >>> sizing = fk.size_plates(model, {"strip": (0.5, 5)}, checks, stock=(0.8, 1, 1.25, 1.5))
    >>> round(sizing.thickness["strip"], 2), sizing.stock
    (1.05, {'strip': 1.25})
    """
    free, checks = free_plates(model, free), _sizing_checks(checks)
    stock = None if stock is None else whole_stock(free, stock)
    whole = np.array([[f.on + f.low, f.on + f.high, float(model.plates[n].thickness)] for n, f in free.items()]).T
    weight = mass_per_mm(model, free)
    with closing(StaticSolver(model, solver=solver, progress=progress)) as kept:
        cells, grows = [model.plate_cells[name] for name in free], {n: f.side for n, f in free.items() if f.on}
        analysis = Analysis(checks, kept, cells, partial(_with_sizes, model, free), grows=grows)
        start, low, high = whole[2], whole[0], whole[1]
        best, history, is_settled = analysis.lightest(weight, start, low, high, rounds=rounds)
        tried, in_stock = [], None
        if stock is not None:
            near = [*history[-2:], best]
            in_stock, tried = find_lightest_in_stock(analysis.in_full_while_met, weight, near, stock)
            in_stock = analysis.in_full(in_stock)
        result = analysis.result((in_stock or best).sizes)
    return Sizing(model, free, checks, history, tried, best, in_stock, result, analysis.is_leading, is_settled)


def _with_sizes(model, free, sizes):
    """The model with other whole thicknesses of its free plates, mm."""
    plates = {}
    for (name, one), size in zip(free.items(), sizes):
        thickness, offset = one.plate_of(float(size) - one.on)
        plate = replace(model.plates[name], thickness=thickness)
        plates[name] = plate if offset is None else replace(plate, offset=offset)
    return model.with_plates(plates)


def _sizing_checks(checks):
    checks = only_checks(checks)
    bare = [check for check in checks if not any(hasattr(check.quantity, x) for x in ("change", "value_and_slope"))]
    refuse(*(f'check "{check}": size_plates needs its derivatives, and it has none.' for check in bare))
    if not any(hasattr(check.quantity, "change") for check in checks):
        raise ModelError("checks: give one of displacement, distance or judged stress at least.")
    return checks

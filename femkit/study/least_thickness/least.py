"""How thin may each zone of a worn structure become, alone and together with all others, before a check is missed?

A calculation aid: the codes that apply and a licensed engineer's judgement come first. Zones are looked at with one
even thickness each; pits and grooves, which thin a plate by less on the mean than they weaken it, are the survey's to
judge. Offsets stay: wear is taken as even on both faces.
"""

from contextlib import closing
from dataclasses import replace
from functools import partial

import numpy as np

from ...assess.verdict import Finding
from ...errors import ModelError, nearest_name
from ...model.values import bad_number, refuse
from ...results.static import StaticSolver
from ..quantities import JudgedStress
from ..sensitivity import sensitivities
from ..sizing.analysis import Analysis, has_slopes, is_dear
from ..sizing.checks import only_checks
from .result import LeastThickness, ZoneLeast
from .search import Look, find_least, roots
from .zones import with_thickness, zones_of

__all__ = ["least_thickness"]

LOWEST = 0.3  # of a zone's whole thickness: thinner is a hole rather than a plate. Common practice, no source
TOLERANCE = 0.05  # mm; half of what an ultrasonic gauge is good for on clean plate (common practice, no source)
NEAR = 0.5  # demands as measured from which on derivatives are asked for
NEAR_TOGETHER = 0.85  # the same with all zones at once, where it is a matter of the last few per cent
HOPE = 3.0  # times what its derivative promises: a missed check that needs more is beyond one zone. Our own, no source
LEADS = 0.9  # demand as measured from which on a buckling factor or mode leads the search of all zones from the first
TOWARDS = (0.02, 0.1, 0.3, 1.0)  # steps to the upper bounds, where the search stopped before all held
ROUNDS = 5  # analyses of all zones at once, and again as many with buckling and modes among them
SETTLED = 5e-3  # relative; thicknesses are only known within the tolerance
BINDING = 0.98  # of what is allowed: such checks decide for all zones at once


def least_thickness(
    model,
    zones,
    checks,
    *,
    least=None,
    original=None,
    lowest=LOWEST,
    tolerance=TOLERANCE,
    scan=0,
    solver="auto",
    progress=None,
):
    """The least even thickness of each zone with which every check holds: the others as measured, and all together.

    One zone at a time is looked at first. A check that is missed as measured, and that this zone can't bring back even
    as thick as it was, only has to be no worse than as measured (within 1 %, as in all verdicts). Together, none is
    asked for more than its measured mean if that can be, and the sum is the lightest; else none for less, and as little
    steel is added as possible. Buckling factors and modes are looked at where all else holds.

    Parameters
    ----------
    model : Model
        As measured, one thickness per cell.
    zones : dict of str to cells
        By name a cell set's name, a place, indices or a mask; of one plate each, none over another.
    checks : sequence of Check
        Of any quantity with `unit` and ``value(result)``. One that is NaN at a thickness is missed there.
    least : float or dict of str to float, optional
        What can still be welded to, mm, for all zones or by zone.
    original : Model or array_like, shape (n_cells,), optional
        As built, on the same mesh: how thick a zone may become again. Without it, as its thickest measured cell.
    lowest : float
        Share of the whole thickness below which nothing is looked at.
    tolerance : float
        mm; thicknesses are found from above.
    scan : int
        Even steps of thickness to look at besides, between what is found for a zone and its measured or whole
        thickness: where a check may get worse with more steel and better again.
    solver : str
        As of `solve_static`.
    progress : callable, optional
        Called with each zone's name as it begins.

    Returns
    -------
    least : LeastThickness

    Raises
    ------
    ModelError
        If zones are empty, unknown, overlap or lie in several plates; checks are none; a limit is no number, or
        thicker than the plate.

    Examples
    --------
    A strip under a pull of 2100 N, 10 mm wide, measured with 2 mm, needs 1.05 mm at 200 MPa:

    >>> import femkit as fk
    >>> mesh = fk.Mesh([[0, 0, 0], [90, 0, 0], [90, 10, 0], [0, 10, 0]], {"quad": [[0, 1, 2, 3]]},
    ...                cell_sets={"strip": [0]}, edge_sets={"end": [[1, 2]], "root": [[0, 3]]})
    >>> model = fk.Model(
    ...     mesh, {"strip": fk.Plate(2.0, fk.Material("steel", E=210_000, nu=0.3, density=7.85e-9))},
    ...     supports=[fk.Support("root", ux=0), fk.Support([0], uy=0)], behaviour="plane stress",
    ...     load_cases=[fk.LoadCase("pull", [fk.LineLoad("end", fx=2100, total=True)])])
    >>> checks = [fk.Check(fk.JudgedStress("strip", "pull"), limit=200)]
    >>> found = fk.least_thickness(model, {"strip": "strip"}, checks, tolerance=0.01)
    >>> round(found.alone["strip"].thickness, 2), found.verdicts()["strip"][0]
    (1.05, 'may stay')
    """
    checks = only_checks(checks)
    _refuse_unknown(model, checks, tolerance, scan)
    zones = zones_of(model, zones, least=least, lowest=lowest, original=original)
    with closing(StaticSolver(model, solver=solver)) as kept:
        search = _Search(model, zones, checks, kept, tolerance, scan)
        alone = {}
        for name, zone in zones.items():
            if progress:
                progress(f'zone "{name}"')
            alone[name] = search.alone(zone)
        if progress:
            progress("all zones together")
        return search.together(alone)


def _refuse_unknown(model, checks, tolerance, scan):
    """What can be known of checks and numbers before anything is solved."""
    for check in checks:
        quantity = check.quantity
        if getattr(quantity, "load_case", None) is not None:
            model.case(quantity.load_case)
        if isinstance(quantity, JudgedStress) and quantity.plate not in model.plates:
            raise ModelError(
                f'check "{check}": there is no such plate. {nearest_name(quantity.plate, model.plates)[1]}'
            )
    refuse(bad_number("least_thickness", "tolerance", tolerance, "mm", " above 0"))
    refuse(bad_number("least_thickness", "scan", scan, rule=" of at least 0"))


class _Search:
    """The structure as measured, what its checks make of it, and the searches that start from there."""

    def __init__(self, model, zones, checks, solver, tolerance, scan):
        self.model, self.zones, self.solver, self.tolerance, self.scan = model, zones, solver, tolerance, int(scan)
        self.n_solves, self.n_dear, self.powers, self._last = 0, 0, {}, None
        result = self.solve(model)
        values = np.array([check.value(result) for check in checks])
        demand = np.array([check.demand(value) for check, value in zip(checks, values)])
        has_value = np.isfinite(demand)
        self.blank = tuple(str(check) for check, known in zip(checks, has_value) if not known)
        self.checks = tuple(check for check, known in zip(checks, has_value) if known)
        if not self.checks:
            raise ModelError(f'checks: "{checks[0]}" has no value as measured, and no other check has one.')
        self.value, self.demand = values[has_value], demand[has_value]
        self.is_dear = np.array([is_dear(check) for check in self.checks])
        self.is_plain = np.array([not has_slopes(model, check) for check in self.checks])
        self.n_dear += int(self.is_dear.sum())
        self.slope = self._slopes(result)

    def solve(self, model):
        """Its static result, counted."""
        self.n_solves += 1
        return self.solver.solve(model, warns=False)

    def _slopes(self, result):
        """What each demand as measured changes by with each cell's thickness, NaN where that is not known."""
        slopes = np.full((len(self.checks), self.model.mesh.n_cells), np.nan)
        near = np.flatnonzero(~self.is_dear & ~self.is_plain & (self.demand >= NEAR))
        found = sensitivities(result, [self.checks[i].quantity for i in near], solver=self.solver)
        for i, one in zip(near, found):
            slopes[i] = one.per_cell * self.demand[i] / one.value
        for i in np.flatnonzero(self.is_dear):
            value, change = self.checks[i].quantity.value_and_slope(result, np.zeros(self.model.mesh.n_cells))
            slopes[i] = -change * self.demand[i] / value  # more is better
        return slopes

    def alone(self, zone):
        """The `ZoneLeast` of a zone."""
        room = zone.high - self.model.per_cell.thickness[zone.cells]
        with_hope = self.demand + HOPE * self.slope[:, zone.cells] @ room  # NaN is not given up
        is_excused = (self.demand > 1) & (with_hope > 1)
        while True:
            checks, known = self._excusing(is_excused), self._known(zone, is_excused)
            is_held = bool(known[1].max() <= 1 and zone.low < zone.mean < zone.high)
            found, looks = self._search(zone, checks, known, [zone.mean] * is_held + [zone.high])
            last = found or max(reversed(looks), key=lambda each: each.thickness)  # the later saw more
            more = ~is_excused & (self.demand > 1) & (last.demand > 1)
            if not more.any():
                break
            is_excused = is_excused | more
        self.powers[zone.name] = _powers([Look(zone.mean, known[1]), *looks])
        return self._said(zone, found, last, looks, known, is_excused)

    def _search(self, zone, checks, known, tops):
        """What `find_least` finds up to the first top that passes: of all but the dear checks first, then of these."""
        looks, low, found = [], zone.low, None
        for with_dear in (False, True) if self.is_dear.any() else (False,):
            look = partial(self._look, zone, checks, with_dear)
            start, found = known if with_dear else np.where(self.is_dear, np.nan, known), None
            for top in (top for top in tops if top >= low):
                found, more = find_least(look, low, top, start, tolerance=self.tolerance, scan=self.scan)
                looks, low = looks + more, top
                if found:
                    break
            if not found:
                break
            low = found.thickness
        return found, looks

    def _excusing(self, is_excused):
        """The checks, some of which only have to be no worse than as measured."""
        values = np.where(is_excused, self.value, np.nan)
        return tuple(
            check if np.isnan(value) else replace(check, no_worse_than=float(value))
            for check, value in zip(self.checks, values)
        )

    def _known(self, zone, is_excused):
        """As measured: for each check the even thickness that stands for the zone's, the demand, and its power."""
        thickness, slope = self.model.per_cell.thickness[zone.cells], self.slope[:, zone.cells]
        demand = np.array([check.demand(value) for check, value in zip(self._excusing(is_excused), self.value)])
        whole = slope.sum(axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):
            even = np.clip(np.where(whole, slope @ thickness / whole, zone.mean), thickness.min(), thickness.max())
            power = -whole * even / self.demand
        return np.array([np.where(np.isnan(even), zone.mean, even), demand, power])

    def _look(self, zone, checks, with_dear, thickness):
        """A `Look` at all checks, or at all but the dear ones; at these only until one of them fails."""
        if self._last is None or self._last[:2] != (zone.name, thickness):
            result = self.solve(with_thickness(self.model, [zone.cells], [thickness]))
            self._last = zone.name, thickness, result
        result, (demand, power), places = self._last[2], np.full((2, len(checks)), np.nan), [""] * len(checks)
        for k in np.argsort(self.is_dear, kind="stable"):
            if self.is_dear[k] and (not with_dear or np.nanmax(demand, initial=0.0) > 1):
                break
            self.n_dear += int(self.is_dear[k])
            value, places[k] = checks[k].value_and_place(result)
            demand[k] = np.inf if np.isnan(value) else checks[k].demand(value)
            if self.is_dear[k] and np.isfinite(value) and demand[k] > 1:  # where it leads on
                change = checks[k].quantity.value_and_slope(result, np.zeros(self.model.mesh.n_cells))[1]
                power[k] = change[zone.cells].sum() * thickness / value  # more is better
        return Look(thickness, demand, power, tuple(places))

    def _said(self, zone, found, last, looks, known, is_excused):
        """What governs: the check that asks for most, which need not be the one that is nearest to its limit."""
        asked = roots(known, looks)
        k = int(asked.argmax()) if found else int(np.nanargmax(last.demand))
        check, excused = self.checks[k], tuple(str(self.checks[i]) for i in np.flatnonzero(is_excused))
        finding = Finding(float(last.demand[k]), getattr(check.quantity, "load_case", None) or "", last.places[k])
        if found is None:
            why = f"not even {zone.high:.3g} mm keeps {check}"
            return ZoneLeast(np.nan, replace(finding, why=why), str(check), excused, looks)
        if found.thickness <= zone.low and asked[k] < zone.low:
            return ZoneLeast(found.thickness, replace(finding, why=zone.bound), "", excused, looks)
        return ZoneLeast(found.thickness, finding, str(check), excused, looks)

    def together(self, alone):
        """All zones at once, as a `LeastThickness`."""
        mean, high = (np.array([getattr(zone, name) for zone in self.zones.values()]) for name in ("mean", "high"))
        bound = np.array([zone.low for zone in self.zones.values()])
        low = np.maximum(bound, np.fmin([found.thickness for found in alone.values()], mean))
        analysis, is_excused = self._analysis(self.demand > np.inf), np.zeros(len(self.checks), dtype=bool)
        if (self.demand > 1).any():
            is_excused = (self.demand > 1) & (analysis.in_full(analysis(high)).demand > 1)
            first, analysis = analysis, self._analysis(is_excused)
            analysis.n_solves, analysis.n_dear = first.n_solves, first.n_dear
        analysis.is_leading |= self.demand >= LEADS
        best, rounds = analysis.in_full_while_met(low), 1
        if not best.worst <= 1:
            corner = np.maximum(mean, bound)
            is_enough = analysis.in_full_while_met(corner).worst <= 1
            bounds = (low, low, corner) if is_enough else (corner, corner, high)
            options = {"rounds": ROUNDS, "dear_rounds": ROUNDS, "settled": SETTLED}
            best, history, _ = analysis.lightest(self._weight(), *bounds, **options)
            rounds = len(history)
            for share in TOWARDS * (not best.worst <= 1):
                best = analysis.in_full_while_met(best.sizes + share * (bounds[2] - best.sizes))
                if best.worst <= 1:
                    break
        return LeastThickness(
            model=self.model,
            zones=self.zones,
            checks=self.checks,
            blank=self.blank,
            measured=self.demand,
            alone=alone,
            together={name: float(size) for name, size in zip(self.zones, best.sizes)},
            governs={name: self._keeps(best, k, low[k], alone[name]) for k, name in enumerate(self.zones)},
            asked=self._excusing(is_excused),
            demand=best.demand,
            excused=tuple(str(self.checks[i]) for i in np.flatnonzero(is_excused)),
            n_solves=self.n_solves + analysis.n_solves,
            n_dear=self.n_dear + analysis.n_dear,
            rounds=rounds,
            tolerance=self.tolerance,
        )

    def _weight(self):
        """Of a millimetre on each zone; where a plate weighs nothing its area stands for it."""
        areas, density = self.model.mesh.areas, self.model.per_cell.density
        some = np.where(density.all(), density, 1.0) * areas
        return np.array([some[zone.cells].sum() for zone in self.zones.values()])

    def _analysis(self, is_excused):
        cells = [zone.cells for zone in self.zones.values()]
        powers = {i: np.array([self.powers[name][i] for name in self.zones]) for i in np.flatnonzero(self.is_plain)}
        changed = partial(with_thickness, self.model, cells)
        return Analysis(self._excusing(is_excused), self.solver, cells, changed, near=NEAR_TOGETHER, powers=powers)

    def _keeps(self, best, k, low, alone):
        """What keeps a zone, the k-th, as thick as it is, in words."""
        if best.sizes[k] <= low + self.tolerance:
            return alone.check or alone.finding.why
        helped = np.where(best.demand >= BINDING, -best.slope[:, k], 0.0)
        return str(self.checks[int(helped.argmax())]) if helped.max() > 0 else "nothing to spare together"


def _powers(looks):
    """The power of the thickness that each demand goes with, by the thinnest and the thickest look; 0 if not known."""
    looks = sorted(looks, key=lambda look: look.thickness)
    thin, thick = looks[0], looks[-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        power = np.log(thick.demand / thin.demand) / np.log(thick.thickness / thin.thickness)
    return np.where(np.isfinite(power), power, 0.0)

"""What the least thicknesses of zones come to: what governs each, and what follows for the measured plates."""

from dataclasses import dataclass, replace
from html import escape

import numpy as np

from ...assess.verdict import Finding
from ...errors import ModelError
from ...mesh.selection import select_cells
from ...model.values import as_numbers, bad_number, listed, refuse

__all__ = ["STATES", "LeastThickness", "ZoneLeast"]

STATES = ("renew by percentage and by calculation", "renew by percentage", "renew by calculation", "may stay")
STATES += ("not assessed",)
JUST = 1e-6  # mm: as thin as may be, but for rounding


@dataclass(frozen=True, eq=False)
class ZoneLeast:
    """What was found for one zone with all others as measured.

    Attributes
    ----------
    thickness : float
        The least even one, mm; NaN where none up to the whole one does.
    finding : Finding
        Demand of the check that governs there, 1 at the limit, its load case and place; why it is the lower bound that
        governs, or why there is none.
    check : str
        The check that governs; "" where the lower bound does.
    excused : tuple of str
        Checks that the zone can't bring back even as thick as it was: they only have to be no worse than as measured.
    looks : list of Look
    """

    thickness: float
    finding: Finding
    check: str
    excused: tuple
    looks: list


@dataclass(frozen=True, eq=False)
class LeastThickness:
    """Least thicknesses of zones, and what follows for the measured ones.

    Attributes
    ----------
    model : Model
        As measured.
    zones : dict of str to Zone
    checks : tuple of Check
        Those that have a value as measured.
    blank : tuple of str
        The others.
    measured : ndarray, shape (n_checks,)
        Demands as measured.
    alone : dict of str to ZoneLeast
    together : dict of str to float
        Thicknesses at which all checks hold at once, mm: none above the measured mean where that can be, else as
        little steel above it as possible.
    governs : dict of str to str
        What holds each of them there.
    asked : tuple of Check
        The checks as they were asked for there: those excused only have to be no worse than as measured.
    demand : ndarray, shape (n_checks,)
        With all zones so thin, of what was asked for.
    excused : tuple of str
        Checks that are missed even with all zones whole; they were to be no worse than as measured.
    n_solves, n_dear, rounds : int
        Static solutions; buckling factors and modes; analyses of all zones at once.
    tolerance : float
        mm.
    """

    model: object
    zones: dict
    checks: tuple
    blank: tuple
    measured: np.ndarray
    alone: dict
    together: dict
    governs: dict
    asked: tuple
    demand: np.ndarray
    excused: tuple
    n_solves: int
    n_dear: int
    rounds: int
    tolerance: float

    @property
    def holds(self):
        """Whether no check is missed with all zones at their least together, those excused apart."""
        return bool((self.demand <= 1).all())

    def of_zones(self, by="mean"):
        """Measured mean or minimum of each zone, mm, by name."""
        if by not in ("mean", "minimum"):
            raise ModelError(f'by is "{by}"; it must be "mean" or "minimum".')
        return {name: getattr(zone, by) for name, zone in self.zones.items()}

    def verdicts(self, percentage=None, measured=None, by="mean"):
        """Which of `STATES` each zone is in, and why: name to pair of str.

        Parameters
        ----------
        percentage : float, mask, cells or dict of cells, optional
            The share of the original that may be lost on the mean over a zone; or the cells that a survey renews by
            percentage, such as `Renewal.cells`: a zone is renewed that holds any.
        measured : mask of cells, optional
            Where readings count, all without it.
        by : {"mean", "minimum"}
            What of the measured thickness is held against the least one.
        """
        self.of_zones(by)
        lost = self._lost(percentage)
        is_read = np.ones(self.model.mesh.n_cells, bool) if measured is None else self._mask(measured, "measured")
        return {name: self._verdict(zone, lost[name], is_read, by) for name, zone in self.zones.items()}

    def table(self, percentage=None, measured=None, by="mean"):
        """One row a zone: measured and least thickness, what governs and where, margin and verdict, as a table.

        Parameters as of `verdicts`; the margin is what may still be lost of the measured thickness.
        """
        import pandas as pd

        rows, states = [], self.verdicts(percentage, measured, by)
        for name, zone in self.zones.items():
            one, least = self.alone[name], self.together[name]
            governs = one.check or one.finding.why
            margin = round(getattr(zone, by) - least, 9) + 0.0
            rows.append(
                (name, zone.plate, zone.original, zone.mean, zone.minimum, one.thickness, governs, one.finding.place)
                + (least, self.governs[name], margin, *states[name])
            )
        heads = ["zone", "plate", "original (mm)", "measured mean (mm)", "measured minimum (mm)", "least alone (mm)"]
        heads += ["governs alone", "near (mm)", "least together (mm)", "governs together", "margin (mm)", "verdict"]
        return pd.DataFrame(rows, columns=[*heads, "why"]).set_index("zone")

    def checks_table(self):
        """One row a check: what it may be, as measured and with all zones at their least together, as a table."""
        import pandas as pd

        rows = []
        for check, asked, *demands in zip(self.checks, self.asked, self.measured, self.demand):
            unit = f" ({check.quantity.unit})" if check.quantity.unit else ""
            limits = [np.nan if value is None else abs(value) for value in (check.limit, check.original)]
            allowed = (check.allowed, asked.allowed)
            values = [a / d if check.more_is_better else a * d for a, d in zip(allowed, demands)]
            words = [str(check.verdict(value)) for value in values]
            rows.append((f"{check}{unit}", *limits, *values, *demands, *words))
        heads = ["limit", "original", "as measured", "at the least together", "demand as measured", "demand"]
        table = pd.DataFrame(rows, columns=["check", *heads, "verdict as measured", "verdict"]).set_index("check")
        return table.sort_values("demand", ascending=False, kind="stable")

    def governing(self):
        """The zone whose least thickness takes most of its measured mean, as a `Finding`: beyond 1 it is renewed."""
        name = max(self.zones, key=lambda each: self.together[each] / self.zones[each].mean)
        zone, found = self.zones[name], self.alone[name].finding
        return replace(found, value=self.together[name] / zone.mean, place=f"{name} {found.place}".strip())

    @property
    def notes(self):
        """What the reader must know, in words."""
        return tuple(self._notes())

    def _notes(self):
        yield "Demands are taken to fall as a zone gets thicker; where an analysis contradicted that, more were made."
        if self.blank:
            yield f"Not assessed as measured, and therefore left out: {listed(self.blank)}."
        if self.excused:
            yield f"Missed with all zones whole too, so that they only had to get no worse: {listed(self.excused)}."
        if not self.holds:
            missed = [str(check) for check, demand in zip(self.checks, self.demand) if not demand <= 1]
            yield f"No thicknesses were found at which all checks hold at once: missed are {listed(missed)}."
        if any(self.together[name] > zone.mean + JUST for name, zone in self.zones.items()):
            yield (
                "Some zones need more than was measured; no other was asked for less than it has then. For what these "
                "may still lose, ask again with the renewed plates in the model."
            )
        for name, one in self.alone.items():
            above = [each for each in one.looks if each.thickness > one.thickness and not each.worst <= 1]
            if above:
                yield f'Zone "{name}": at {above[0].thickness:.3g} mm, thicker than what was found, a check is missed.'

    def _verdict(self, zone, lost, is_read, by):
        thickness, least, alone = getattr(zone, by), self.together[zone.name], self.alone[zone.name]
        read = self._share(zone, is_read)
        if not read:
            return STATES[4], "nothing was measured"
        is_thin = thickness < (least if self.holds else np.fmin(least, alone.thickness)) - JUST
        words = [lost] if lost else []
        if is_thin:
            words.append(f"{by} of {thickness:.3g} mm is below {least:.3g} mm: {self.governs[zone.name]}")
        words += [f"measured on {read:.0%} of its area"] * (read < 0.995)
        if by == "mean" and not is_thin and zone.minimum < alone.thickness - JUST:
            words.append(f"its minimum of {zone.minimum:.3g} mm is below {alone.thickness:.3g} mm: look there")
        words += [f"{len(self.excused)} checks only had to get no worse, see notes"] * bool(self.excused)
        if not lost and not is_thin and (self.blank or not self.holds):
            reason = f"{listed(self.blank)}: no value as measured" if self.blank else "not all checks hold together"
            return STATES[4], "; ".join([reason, *words])
        return STATES[3 - 2 * bool(lost) - bool(is_thin)], "; ".join(words)

    def _lost(self, percentage):
        """By zone what a percentage says of it, "" for nothing."""
        if percentage is None:
            return dict.fromkeys(self.zones, "")
        number = as_numbers(percentage) if np.isscalar(percentage) else None
        if number is None:
            is_lost = self._mask(percentage, "percentage")
            shares = {name: self._share(zone, is_lost) for name, zone in self.zones.items()}
            return {name: f"percentage: {share:.0%} of its area" if share else "" for name, share in shares.items()}
        refuse(bad_number("verdicts", "percentage", percentage, rule=" above 0 and at most 1"))
        bare = [name for name, zone in self.zones.items() if np.isnan(zone.original)]
        if bare:
            raise ModelError(f'percentage: the original of zone "{bare[0]}" is not known; give least_thickness one.')
        shares = {name: 1 - zone.mean / zone.original for name, zone in self.zones.items()}
        return {name: f"{share:.0%} are lost" if share >= number - 1e-9 else "" for name, share in shares.items()}

    def _mask(self, cells, who):
        mask = np.zeros(self.model.mesh.n_cells, dtype=bool)
        for some in cells.values() if isinstance(cells, dict) else [cells]:
            some = np.asarray(some)
            if some.size and (some.dtype != bool or some.any()):
                mask[select_cells(self.model.mesh, some, who)] = True
        return mask

    def _share(self, zone, mask):
        return float(np.average(mask[zone.cells], weights=self.model.mesh.areas[zone.cells]))

    def __repr__(self):
        thin = [name for name, zone in self.zones.items() if zone.mean < self.together[name] - JUST]
        return (
            f"LeastThickness of {len(self.zones)} zones: {len(thin)} below it as measured; {self.n_solves} solutions, "
            f"{self.n_dear} buckling factors or modes, {self.rounds} rounds"
        )

    def _repr_html_(self):
        notes = "".join(f"<li>{escape(note)}</li>" for note in self.notes)
        return f"<p>{escape(repr(self))}</p>{self.table().to_html(float_format='%.3g')}<ul>{notes}</ul>"

"""A proof test: what the gauges should read, what they read, and whether the two agree and the gauges return.

A calculation aid: the codes that apply and a licensed engineer's judgement come first. That gauges must return after a
proof load, that strains should agree within about 10 %, and all limits here are common practice, no source, and the
user's to set.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ...errors import ModelError
from ...model.values import bad_number, listed, place_words, refuse
from ...results.export import checked_path, replacing
from ...results.gauges import MICRO, PlacedGauges, Rosette, place_gauges
from ..verdict import Finding, Verdict, judge
from .channels import fault_of, missing_words, outliers, straight_line, swapped
from .readings import NO_LOAD, StrainReadings
from .rosette import RosetteState, rosette

__all__ = ["GaugeSheet", "ProofTest", "compare_strains", "predict_strains"]


@dataclass(frozen=True, eq=False)
class GaugeSheet:
    """What gauges should read under a test load, counted from the reading without it.

    Attributes
    ----------
    placed : PlacedGauges
    case : str
        The load case or combination that is the full test load.
    steps : tuple of float
        Shares of it.
    full : ndarray, shape (n_channels,)
        Strain at the full load, µm/m.
    details : dict of str to ndarray
        How surely, by the head of its column.
    """

    placed: PlacedGauges
    case: str
    steps: tuple
    full: np.ndarray
    details: dict

    @property
    def channels(self):
        """Names of the channels."""
        return self.placed.channels

    def table(self):
        """Place, strain at every step and how surely, one row a channel.

        ``changes by``: with 1 mm of the grid's place, 1° of its direction; ``jump of the mesh``: how far the cells' own
        strain lies from that averaged between them. ``E × strain`` is the stress only where the state is uniaxial.
        """
        steps = {f"{100 * step:g} % (µm/m)": step * self.full for step in self.steps}
        return self.placed.places().assign(**steps, **self.details, why=self.placed.why)

    def write(self, path):
        """Write the table as CSV, beside its place and renamed in; returns the path."""
        path = checked_path(path, ".csv", "sheets of gauges")
        with replacing(path) as beside:
            self.table().to_csv(beside, encoding="utf-8", float_format="%.4g")
        return path


def predict_strains(result, gauges, case, steps=(0.25, 0.5, 0.75, 1.0)):
    """What gauges should read under the steps of a test load.

    Parameters
    ----------
    result : StaticResult
    gauges : sequence of Gauge or Rosette
    case : str
        The load case or combination that the test puts on: without what loads the structure when gauges are zeroed.
    steps : sequence of float
        Shares of it.

    Returns
    -------
    sheet : GaugeSheet
    """
    refuse(bad_number("steps of the test", "the share", steps, many="place"))
    placed, case = place_gauges(result.model, gauges), result[case]
    strain, stress, change = placed.mean_strain(case), placed.mean_stress(case), placed.gradient(case)
    jump = np.abs(placed.mean_strain(case, averaged=False) - strain)[:, 0]
    details = {
        "changes by (µm/m per mm)": MICRO * change,
        "changes by (µm/m per °)": MICRO * np.radians(np.abs(strain[:, 2])),
        "jump of the mesh (µm/m)": MICRO * jump,
        "stress along (MPa)": stress[:, 0],
        "E × strain (MPa)": result.model.per_cell.youngs_modulus[placed.cell] * strain[:, 0],
    }
    if case.strain[placed.cell].any():
        details["free thermal strain, not in it (µm/m)"] = MICRO * case.strain[placed.cell]
    return GaugeSheet(placed, case.name, tuple(np.atleast_1d(steps)), MICRO * strain[:, 0], details)


@dataclass(frozen=True, eq=False)
class ProofTest:
    """Measured strains against predicted ones.

    Attributes
    ----------
    sheet : GaugeSheet
    readings : StrainReadings
    band, least, returns : float
        The limits: see `compare_strains`.
    predicted : ndarray, shape (n_rows, n_channels)
        µm/m.
    lines : tuple of StraightLine
        Measured over predicted, rows up to the last under load; NaN where less than `least` is predicted.
    deviation : ndarray, shape (n_rows, n_channels)
        Difference over what is allowed, NaN in rows without load or reading; 1 at the limit.
    returned : ndarray, shape (n_channels,)
        What is left after the load over what is allowed, NaN without a reading then; 1 at the limit.
    faults, remarks : tuple of str
        Why a channel is not assessed, and what else is to be said of it; "" for nothing.
    """

    sheet: GaugeSheet
    readings: StrainReadings
    _: KW_ONLY
    band: float
    least: float
    returns: float
    predicted: np.ndarray
    lines: tuple
    deviation: np.ndarray
    returned: np.ndarray
    faults: tuple
    remarks: tuple

    @property
    def is_assessed(self):
        """Which channels have no fault, shape (n_channels,)."""
        return np.array([not fault for fault in self.faults])

    @property
    def utilisation(self):
        """The larger of deviation and return, (n_channels,); 1 at the limit, NaN where not assessed."""
        worst = np.fmax(np.fmax.reduce(self.deviation), self.returned)
        return np.where(self.is_assessed, worst, np.nan)

    @property
    def overall(self):
        """The line through the points of all channels that are assessed, as `StraightLine`."""
        rows = ~self.readings.after
        x, y = (of[rows][:, self.is_assessed].ravel() for of in (self.predicted, self.readings.strain))
        return straight_line(x, y)

    @property
    def said(self):
        """Of each channel its fault and remarks in words, by its name; channels without any are left out."""
        words = (("; ".join(filter(None, both))) for both in zip(self.faults, self.remarks))
        return {name: both for name, both in zip(self.sheet.channels, words) if both}

    @property
    def is_open(self):
        """Which channels that are assessed have no reading at the largest load, or none after it, (n_channels,)."""
        load = np.abs(self.readings.load)
        at_most = np.isfinite(self.readings.strain[load > load.max() - NO_LOAD]).any(axis=0)
        return self.is_assessed & ~(at_most & np.isfinite(self.returned))

    @property
    def verdict(self):
        """Of all channels that are assessed; *not assessed* where one of these `is_open`."""
        return _judged(self.governing().value, self.is_open.any())

    def governing(self):
        """The channel nearest to a limit or furthest beyond it, as `Finding`; its `why` names what was not assessed."""
        names, reached = np.array(self.sheet.channels), np.abs(self.readings.load).max()
        whys = [f"not assessed: {listed(names[~self.is_assessed])}"] if not self.is_assessed.all() else []
        if self.is_open.any():
            whys.append(f"no reading at the largest load, or none after it: {listed(names[self.is_open])}")
        if reached < 1 - NO_LOAD:
            whys.append(f"no more than {100 * reached:.3g} % of the full load was put on")
        why = "; ".join(whys)
        if np.isnan(self.utilisation).all():
            return Finding(np.nan, self.sheet.case, why=why)
        i = int(np.nanargmax(self.utilisation))
        when = "after the load"
        if not self.returned[i] >= self.utilisation[i]:
            when = f"{100 * self.readings.load[np.nanargmax(self.deviation[:, i])]:g} %"
        place = place_words(self.sheet.placed.place[i], digits=1)
        return Finding(
            float(self.utilisation[i]), f"{self.sheet.case}, {when}", f"{self.sheet.channels[i]} {place}", why
        )

    def table(self):
        """Predicted, measured, slope, scatter, return and verdict, one row a channel; nothing is left out."""
        import pandas as pd

        last, (slope, _offset, r2, scatter) = self.readings.largest, np.array(self.lines).T
        head = f"at {100 * self.readings.load[last]:g} % (µm/m)"
        table = {
            f"predicted {head}": self.predicted[last],
            f"measured {head}": self.readings.strain[last],
            "slope": slope,
            "r²": r2,
            "scatter (µm/m)": scatter,
            "difference / allowed": np.fmax.reduce(self.deviation),
            "left after the load (µm/m)": self.readings.residual,
            "left / allowed": self.returned,
            "verdict": [str(_judged(value, is_open)) for value, is_open in zip(self.utilisation, self.is_open)],
            "what is said": [self.said.get(name, "") for name in self.sheet.channels],
        }
        return pd.DataFrame(table, index=pd.Index(self.sheet.channels, name="gauge"))

    def rosettes(self):
        """Principal strain and stress at the largest load, predicted and measured, two rows a rosette, as a table."""
        import pandas as pd

        heads = ["e1 (µm/m)", "e2 (µm/m)", "angle (°)", "s1 (MPa)", "s2 (MPa)", "von Mises (MPa)"]
        rows, last, per_cell = [], self.readings.largest, self.sheet.placed.model.per_cell
        for gauge in self.sheet.placed.gauges:
            if isinstance(gauge, Rosette):
                mine = [self.sheet.channels.index(name) for name in gauge.angles]
                cell = self.sheet.placed.cell[mine[0]]
                steel = {"E": per_cell.youngs_modulus[cell], "nu": per_cell.poissons_ratio[cell]}
                for what, strain in (("predicted", self.predicted), ("measured", self.readings.strain)):
                    state = rosette(strain[last, mine], kind=gauge.kind, **steel)
                    if what == "measured" and not self.is_assessed[mine].all():
                        state = RosetteState(*[np.nan] * 6)
                    rows.append((gauge.name, what, *state))
        return pd.DataFrame(rows, columns=["rosette", "strain", *heads]).set_index(["rosette", "strain"])


def _judged(value, is_open):
    """The verdict on a utilisation; what is not known to the end can miss its limit, but not meet it."""
    verdict = judge(value, limit=1.0)
    return Verdict.NOT_ASSESSED if verdict == Verdict.MEETS and is_open else verdict


def compare_strains(sheet, readings, *, band=0.10, least=20.0, returns=0.05):
    """Measured strains against predicted ones, and channels with faults named.

    Parameters
    ----------
    sheet : GaugeSheet
    readings : StrainReadings
    band : float
        Share of the predicted strain by which a reading may differ.
    least : float
        µm/m by which it always may, and that may always be left after the load.
    returns : float
        Share of a channel's largest reading that may be left after the load.

    Returns
    -------
    test : ProofTest

    Raises
    ------
    ModelError
        If a limit is not above 0, or the channels are others than the sheet's.
    """
    limits = {"band": band, "least": least, "returns": returns}
    refuse(*(bad_number("proof test", name, value, rule=" above 0") for name, value in limits.items()))
    if readings.channels != sheet.channels:
        raise ModelError("proof test: the readings are of other channels than the sheet; read them for sheet.channels.")
    strain, predicted = readings.strain, readings.load[:, None] * sheet.full
    allowed = np.maximum(band * np.abs(predicted), least)
    deviation = np.where(readings.loaded[:, None], np.abs(strain - predicted) / allowed, np.nan)
    reached = np.fmax.reduce(np.abs(strain[readings.loaded]))
    rows, n, last = ~readings.after, range(len(sheet.channels)), readings.largest
    lines = tuple(straight_line(predicted[rows, i], strain[rows, i], least) for i in n)
    beyond = [f"nothing predicted: {why}" if why else "" for why in sheet.placed.why]
    faults = tuple(beyond[i] or fault_of(readings, i, predicted[:, i], lines[i], least) for i in n)
    slopes = np.array([np.nan if fault else line.slope for fault, line in zip(faults, lines)])
    is_out, other = outliers(slopes, band), swapped(strain[last], predicted[last], allowed[last])
    remarks = [
        [
            "" if faults[i] else missing_words(readings, i),
            "an outlier: its slope stands far from the others'" * bool(is_out[i]),
            f'perhaps swapped with "{sheet.channels[other[i]]}"' if other[i] >= 0 else "",
        ]
        for i in n
    ]
    return ProofTest(
        sheet,
        readings,
        band=float(band),
        least=float(least),
        returns=float(returns),
        predicted=predicted,
        lines=lines,
        deviation=deviation,
        returned=np.abs(readings.residual) / np.fmax(returns * reached, least),
        faults=faults,
        remarks=tuple("; ".join(filter(None, said)) for said in remarks),
    )

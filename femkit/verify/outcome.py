"""Running cases: the kit's value on every mesh of the ladder, its error, the observed order and a verdict."""

import csv
import json
import math
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..errors import FemkitError, FemkitWarning, ModelError, nearest_name
from .case import GROUPS, Case
from .page import page_of

__all__ = ["LINE_HEADS", "Outcome", "Verification", "choose", "run_case", "verify"]

LINE_HEADS = f"{'case, cells':58} {'reference':>11} {'femkit':>11} {'error %':>8} {'band %':>7} {'order':>5}"
# On the error that three meshes show: small if they converge within a tenth of the order that theory promises, large
# otherwise, and then the order counts as what was seen, between 1/2 and theory (W. L. Oberkampf, C. J. Roy,
# Verification and Validation in Scientific Computing, 2010, 8.6; value from memory); as 1 where none was seen.
SAFETY, CAUTION = 1.25, 3.0
LEAST_ORDER = 0.5
ROUNDING = 1e-9  # share of the reference below which values are the same
HEADS = ("group", "case", "cells", "claim", "evidence", "source", "reference", "unit", "printed", "meshes", "values")
HEADS += ("error (%)", "order", "band (%)", "verdict", "reason")


@dataclass(frozen=True)
class Outcome:
    """One case with one kind of cell.

    Attributes
    ----------
    case : Case
    kind : str
    meshes : tuple of int
    values : tuple of float
        On each mesh, coarse to fine; NaN where the kit refused, with `refusal` saying why.
    refusal : str
    """

    case: Case
    kind: str
    meshes: tuple
    values: tuple
    refusal: str = ""

    @property
    def error(self):
        """Finest value over reference, less 1."""
        return self.values[-1] / self.case.reference - 1

    @property
    def errors(self):
        """Values on all meshes over the reference, less 1, shape (n,)."""
        return np.array(self.values) / self.case.reference - 1

    @property
    def order(self):
        """Observed order of convergence on the last three meshes; NaN where values do not close in from one side."""
        if len(self.values) < 3 or not self._changes[0] * self._changes[1] > 0:
            return math.nan
        ratios = [fine / coarse for coarse, fine in zip(self.meshes[-3:], self.meshes[-2:])]
        return (
            math.log(self._changes[0] / self._changes[1]) / math.log(ratios[1]) if ratios[0] == ratios[1] else math.nan
        )

    @property
    def discretisation(self):
        """Share of the reference that the finest mesh may still be off, as the ladder itself shows it."""
        if len(self.values) < 2:
            return 0.0
        ratio, theory, change = self.meshes[-1] / self.meshes[-2], self.case.order, abs(self._changes[-1])
        if abs(self.order / theory - 1) <= 0.1:
            return SAFETY * change / (ratio**theory - 1)
        order = min(1.0 if math.isnan(self.order) else max(self.order, LEAST_ORDER), theory)
        if len(self._changes) > 1:  # two meshes can agree by luck: theory tells what the change before has left
            change = max(change, abs(self._changes[0]) / ratio**theory)
        return CAUTION * change / (ratio**order - 1)

    def _allowed(self, share):
        return share.get(self.kind, math.inf) if isinstance(share, dict) else share

    @property
    def _changes(self):
        """Changes between the last meshes, two at most, over the reference; 0 where rounding is all there is."""
        changes = np.diff(self.values[-3:]) / abs(self.case.reference)
        return np.where(np.abs(changes) < ROUNDING, 0.0, changes)

    @property
    def band(self):
        """Error that is accepted: what the reference leaves open and what the ladder shows, at most the limit."""
        return min(self._allowed(self.case.limit), self.case.precision + self.discretisation)

    @property
    def passed(self):
        """Whether the finest value lies in the band, and no other misses its aim."""
        return abs(self.error) <= self.band and not self.missed  # False for NaN

    @property
    def missed(self):
        """Those meshes on which the error is larger than it was to be."""
        error = dict(zip(self.meshes, np.abs(np.array(self.values) / self.case.reference - 1)))
        return [n for n, aim in self.case.aims.items() if n in error and not error[n] <= self._allowed(aim)]

    @property
    def verdict(self):
        """In words."""
        if self.refusal:
            return f"refused: {self.refusal}"
        if self.missed:
            return f"misses its aim on {', '.join(map(str, self.missed))}"
        return "within the band" if self.passed else "out of the band"

    @property
    def line(self):
        """In one line of 110 letters for a terminal."""
        name, order = f"{self.case.name}, {self.kind}", "" if math.isnan(self.order) else f"{self.order:.1f}"
        numbers = f"{self.case.reference:11.5g} {self.values[-1]:11.5g} {100 * self.error:8.2f} {100 * self.band:7.2f}"
        return f"{name:58} {numbers} {order:>5}  {'' if self.passed else self.verdict}".rstrip()

    def row(self):
        """As plain values, in the order of the table's heads."""
        case = self.case
        described = (case.group, case.name, self.kind, case.claim, case.evidence, case.source, case.reference)
        found = (list(self.meshes), list(self.values), 100 * self.error, self.order, 100 * self.band, self.verdict)
        return dict(zip(HEADS, (*described, case.unit, case.printed, *found, case.reason)))


@dataclass(frozen=True)
class Verification:
    """Outcomes of many cases."""

    outcomes: tuple

    @property
    def passed(self):
        """Whether every case lies in its band."""
        return all(outcome.passed for outcome in self.outcomes)

    def table(self, group=None):
        """One row a case and kind of cell, as a pandas table; of one group if asked."""
        import pandas as pd

        rows = [outcome.row() for outcome in self.outcomes if group in (None, outcome.case.group)]
        return pd.DataFrame(rows, columns=HEADS).set_index(["case", "cells"])

    def page(self, group=None):
        """The outcomes, of one group if asked, as a piece of a page: see `femkit.verify.page`."""
        return Verification(tuple(one for one in self.outcomes if group in (None, one.case.group)))

    def counts(self):
        """How many cases of each group rest on which evidence, and how many runs are out of their band, as a table."""
        import pandas as pd

        cases = {one.case.name: one.case for one in self.outcomes}.values()
        found = pd.crosstab([case.group for case in cases], [case.evidence for case in cases])
        found["cases"] = found.sum(axis=1)
        runs = pd.Series([one.case.group for one in self.outcomes]).value_counts()
        out = pd.Series([one.case.group for one in self.outcomes if not one.passed], dtype=object).value_counts()
        found = found.assign(runs=runs, out=out.reindex(found.index, fill_value=0)).rename(
            columns={"out": "out of band"}
        )
        found.loc["all"] = found.sum()
        return found.rename_axis(index="group", columns=None)

    def write(self, path):
        """Write the table as CSV or JSON, by the file's suffix.

        Raises
        ------
        ModelError
            If the suffix is another.
        """
        path = Path(path)
        rows = [outcome.row() for outcome in self.outcomes]
        if path.suffix == ".json":
            text = json.dumps(_plain(rows), indent=1, ensure_ascii=False)
        elif path.suffix == ".csv":
            text = _csv(rows)
        else:
            raise ModelError(f'"{path}": the table is written as .csv or .json; give it one of these suffixes.')
        beside = path.with_name(path.name + ".part")
        beside.write_text(text, encoding="utf-8")
        beside.replace(path)
        return path

    def _repr_html_(self):
        return page_of(self.outcomes)


def choose(cases, names):
    """Those of the cases that are of the given names, problems (before the colon) or groups; all for no names.

    Raises
    ------
    ModelError
        If a name fits nothing; the nearest is offered.
    """
    if not names:
        return tuple(cases)
    known = {case.name for case in cases} | {case.name.split(":")[0] for case in cases} | set(GROUPS)
    for name in names:
        if name not in known:
            raise ModelError(f'there is no case or group "{name}". {nearest_name(name, known)[1]}')
    return tuple(c for c in cases if {c.name, c.name.split(":")[0], c.group} & set(names))


def run_case(case, kind, *, longer=False):
    """Run one case with one kind of cell over its ladder of meshes."""
    meshes = case.meshes(kind, longer=longer)
    try:
        with warnings.catch_warnings():
            # published loads are round numbers; only linear answers are asked for
            warnings.simplefilter("ignore", FemkitWarning)
            return Outcome(case, kind, meshes, tuple(float(case.measure(kind, n)) for n in meshes))
    except FemkitError as error:
        return Outcome(case, kind, meshes, (math.nan,) * len(meshes), str(error))


def verify(cases, *, longer=False, progress=None):
    """Run cases with all their kinds of cell.

    Parameters
    ----------
    cases : sequence of Case
    longer : bool
        Add the finer meshes of each ladder.
    progress : callable, optional
        ``progress(name, done, total)``, called as each case begins and at the end.

    Returns
    -------
    verification : Verification
    """
    runs = [(case, kind) for case in cases for kind in case.kinds]
    outcomes = []
    for done, (case, kind) in enumerate(runs):
        if progress is not None:
            progress(f"{case.name} ({kind})", done, len(runs))
        outcomes.append(run_case(case, kind, longer=longer))
    if progress is not None:
        progress("all cases", len(runs), len(runs))
    return Verification(tuple(outcomes))


def _plain(rows):
    """NaN has no place in JSON: None stands for it."""
    clean = lambda value: None if isinstance(value, float) and math.isnan(value) else value  # noqa: E731
    return [{key: [*map(clean, v)] if isinstance(v, list) else clean(v) for key, v in row.items()} for row in rows]


def _csv(rows):
    import io

    text = io.StringIO()
    writer = csv.DictWriter(text, HEADS)
    writer.writeheader()
    writer.writerows(
        {k: " ".join(f"{x:.9g}" for x in v) if isinstance(v, list) else v for k, v in r.items()} for r in rows
    )
    return text.getvalue()

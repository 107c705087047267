"""Is the changed structure as good as the original? Quantities of all variants side by side, each with its verdict."""

from collections import Counter
from dataclasses import KW_ONLY, dataclass
from html import escape

import numpy as np

from ..assess.strength import YIELD_FACTOR, asked_of_each, strength_table
from ..assess.verdict import Finding, Verdict, judge
from ..errors import ModelError, nearest_name
from ..model.values import bad_number, each_of, refuse, sequence_of
from ..results.averaging import JUDGED_OVER

__all__ = ["Comparison", "Line", "compare_strength"]

MISSED = {  # of one, of several
    Verdict.NO_WORSE: ("misses it but is no worse than the original", "miss it but are no worse than the original"),
    Verdict.WORSE: ("is worse", "are worse"),
}
SHADES = {Verdict.MEETS: "#e8f1fa", Verdict.NO_WORSE: "#fdf3d8", Verdict.WORSE: "#f8dcd5"}


@dataclass(frozen=True)
class Line:
    """One quantity of all variants.

    Parameters
    ----------
    quantity : str
    values : dict of str to float or Finding
        By variant; NaN or left out where a variant does not have it. Less (in size) is better. A `Finding` brings the
        load case and place that decide it, or why it was not assessed.
    unit : str
    limit : float, optional
        What it may be at most; without one the original is the limit.
    assessed : bool
        False for what is only told, such as the mass.
    group : str
        What it belongs to, for instance ``"stiffness"``: verdicts in words are told group by group.
    remark : str
        Where it is, what it was taken from; of a line that is not assessed, why.
    """

    quantity: str
    values: dict
    _: KW_ONLY
    unit: str
    limit: float | None = None
    assessed: bool = True
    group: str = ""
    remark: str = ""

    def __post_init__(self):
        who = f'line "{self.quantity}"'
        (values,) = sequence_of(f"{who}, values", (self.values,), dict)
        sequence_of(f"{who}, values", tuple(values.values()), (float, int, np.number, Finding, type(None)))
        refuse("" if self.limit is None else bad_number(who, "limit", self.limit, self.unit))

    def finding(self, variant):
        """One variant's value as a `Finding`; NaN where it has none."""
        found = self.values.get(variant)
        return found if isinstance(found, Finding) else Finding(np.nan if found is None else float(found))

    def number(self, variant):
        """One variant's value; NaN where it has none."""
        return self.finding(variant).value

    @property
    def head(self):
        """The quantity with its unit."""
        return f"{self.quantity} ({self.unit})" if self.unit else self.quantity

    def ratio(self, variant, original):
        """One variant's value over the original's; NaN where either is missing or the original's is 0."""
        value, before = self.number(variant), self.number(original)
        return value / before if before else np.nan

    def decided_by(self, variant):
        """Load case and place that decide one variant's value, and what was not assessed beside it; "" if unknown."""
        found = self.finding(variant)
        place = f"near {found.place}" if found.place.startswith("(") else found.place
        decided = ", ".join(words for words in (found.case, place) if words)
        beside = f"beside it: {found.why}" if found.why and not np.isnan(found.value) else ""
        return "; ".join(words for words in (decided, beside) if words)


@dataclass(frozen=True)
class Comparison:
    """Variants against their original, line by line.

    Parameters
    ----------
    lines : sequence of Line
    original : str
        Name of the variant the others are measured against.

    Raises
    ------
    ModelError
        If no line knows the original.

    Examples
    --------
    >>> line = Line("sag of the sole bar", {"as built": 2.0, "cut": 3.1}, unit="mm", limit=2.5)
    >>> Comparison([line], original="as built").sentence("cut")
    'cut: 0 of 1 quantities meet the limit. 1 is worse: sag of the sole bar.'
    """

    lines: tuple
    original: str

    def __post_init__(self):
        object.__setattr__(self, "lines", sequence_of("comparison", each_of(self.lines), Line))
        if self.original not in self.variants:
            there_are = ", ".join(self.variants) or "none"
            raise ModelError(f'comparison: the original "{self.original}" has no values; there are {there_are}.')

    @property
    def variants(self):
        """Names of all variants, in the order in which the lines first name them."""
        return list(dict.fromkeys(name for line in self.lines for name in line.values))

    def verdict(self, line, variant):
        """The verdict on one variant in one line."""
        if not line.assessed:
            return Verdict.NOT_ASSESSED
        return judge(line.number(variant), limit=line.limit, original=line.number(self.original))

    def words(self, line, variant):
        """The verdict on one variant in one line; where there is none, with the reason."""
        verdict = self.verdict(line, variant)
        if verdict is not Verdict.NOT_ASSESSED:
            return str(verdict)
        found = line.finding(variant)
        if not line.assessed:
            why = line.remark
        elif np.isnan(found.value):
            why = found.why or f"{variant} has no value"
        else:
            why = f"there is no limit, and {self.original} has no value"
        return f"{verdict}: {why}" if why else str(verdict)

    def table(self):
        """All lines with values, limit, ratio to the original, verdict and what decides, as a pandas table."""
        import pandas as pd

        others = [name for name in self.variants if name != self.original]
        rows = []
        for line in self.lines:
            row = {"quantity": line.head} | {name: line.number(name) for name in self.variants}
            row["limit"] = np.nan if line.limit is None else line.limit
            row |= {f"{name} / {self.original}": line.ratio(name, self.original) for name in others}
            row |= {f"{name}: verdict": self.words(line, name) for name in self.variants}
            row |= {f"{name}: decided by": line.decided_by(name) for name in self.variants}
            rows.append(row | {"remark": line.remark})
        return pd.DataFrame(rows).set_index("quantity")

    def sentence(self, variant, group=None):
        """One variant's verdicts in words: how many of each kind, and what does not meet its limit.

        Parameters
        ----------
        variant : str
        group : str, optional
            Only the lines of that group.
        """
        for name, there_are in ((variant, self.variants), (group, {line.group for line in self.lines} | {None})):
            if name not in there_are:
                raise ModelError(f'comparison: there is no "{name}". {nearest_name(name, there_are)[1]}')
        lines = [line for line in self.lines if group is None or line.group == group]
        found = [(line.quantity, self.verdict(line, variant)) for line in lines]
        found = [(quantity, verdict) for quantity, verdict in found if verdict is not Verdict.NOT_ASSESSED]
        who = variant if group is None else f"{variant}, {group}"
        if not found:
            return f"{who}: nothing was assessed."
        count = Counter(verdict for _quantity, verdict in found)
        parts = [f"{count[Verdict.MEETS]} of {len(found)} quantities meet the limit"]
        for verdict, words in MISSED.items():
            if count[verdict]:
                named = "; ".join(quantity for quantity, each in found if each is verdict)
                parts.append(f"{count[verdict]} {words[count[verdict] > 1]}: {named}")
        return f"{who}: {'. '.join(parts)}."

    def _repr_html_(self):
        others = [name for name in self.variants if name != self.original]
        heads = ["quantity", *self.variants, "limit"]
        heads += [f"{name} / {self.original}" for name in others] + [f"{name} is" for name in others]
        heads += [f"{others[-1]}: decided by"] if others else []
        top = "".join(f"<th>{escape(head)}</th>" for head in heads)
        rows, group = "", ""
        for line in self.lines:
            if line.group != group:
                group = line.group
                rows += f"<tr><th colspan='{len(heads)}' style='text-align:left'>{escape(group)}</th></tr>"
            rows += self._row(line, others)
        return f"<table style='font-size:85%'><tr>{top}</tr>{rows}</table>"

    def _row(self, line, others):
        """One line as a row of the page's table, values shaded by their verdict."""
        cells = []
        for name in self.variants:
            verdict, decided = self.verdict(line, name), line.decided_by(name)
            tip = escape(f"{verdict}; {decided}" if decided else str(verdict))
            shade = f" style='background:{SHADES[verdict]}' title='{tip}'" if verdict in SHADES else ""
            cells.append(f"<td{shade}>{_number(line.number(name))}</td>")
        as_original = line.limit is None and line.assessed
        cells.append(f"<td>{'as the original' if as_original else _number(line.limit, '')}</td>")
        cells += [f"<td>{_number(line.ratio(name, self.original))}</td>" for name in others]
        words = [self.words(line, name) for name in others] + [line.decided_by(name) for name in others[-1:]]
        cells += [f"<td style='text-align:left'>{escape(each)}</td>" for each in words]
        style = "text-align:left;font-weight:normal"
        head = f"<th style='{style}' title='{escape(line.remark)}'>{escape(line.head)}</th>"
        return f"<tr>{head}{''.join(cells)}</tr>"


def _number(value, missing="–"):
    """Three significant digits or all before the point, or a dash where there is no value."""
    if value is None or np.isnan(value):
        return missing
    return f"{value:.3g}" if abs(value) < 100 else f"{value:,.0f}"


def compare_strength(results, *, combinations=None, factor=YIELD_FACTOR, distance=JUDGED_OVER):
    """A line of utilisation for every plate and combination of several variants.

    Parameters
    ----------
    results : dict of str to StaticResult
    combinations : sequence of str, optional
        Load cases and combinations; all combinations of each variant without it. One that a variant lacks is left out.
    factor, distance : float
        As in `femkit.assess.utilisation`.

    Returns
    -------
    lines : list of Line
        Limit 1. A plate that the original did not have is judged by the limit alone.
    """
    (results,), found = sequence_of("strength of variants", (results,), dict), {}
    asked = asked_of_each("strength of variants: none", results, combinations)
    for variant, names in ((variant, names) for variant, names in asked.items() if names):
        table = strength_table(results[variant], names, factor=factor, distance=distance)
        for row in table.to_dict("records"):
            key = (row["plate"], row["combination"])
            deciding = Finding(row["utilisation"], row["combination"], row["near (mm)"])
            found.setdefault(key, {})[variant] = deciding
    order = {name: i for i, name in enumerate(dict.fromkeys(combination for _plate, combination in found))}
    keys = sorted(found, key=lambda key: order[key[1]])
    return [
        Line(f"utilisation of {plate}, {combination}", found[plate, combination], unit="", limit=1.0, group="strength")
        for plate, combination in keys
    ]

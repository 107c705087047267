"""Is the changed structure as good as the original? Quantities of all variants side by side, each with its verdict."""

from collections import Counter
from dataclasses import KW_ONLY, dataclass
from html import escape

import numpy as np

from ..assess.strength import YIELD_FACTOR, strength_table
from ..assess.verdict import Verdict, judge
from ..errors import ModelError
from ..results.static import JUDGED_OVER

__all__ = ["Comparison", "Line", "compare_strength"]


@dataclass(frozen=True)
class Line:
    """One quantity of all variants.

    Parameters
    ----------
    quantity : str
    values : dict of str to float
        By variant; NaN or left out where a variant does not have it. Less (in size) is better.
    unit : str
    limit : float, optional
        What it may be at most; without one the original is the limit.
    assessed : bool
        False for what is only told, such as the mass.
    remark : str
        Where it is, what it was taken from.
    """

    quantity: str
    values: dict
    _: KW_ONLY
    unit: str
    limit: float | None = None
    assessed: bool = True
    remark: str = ""


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
    'cut: 1 of 1 quantities: worse (sag of the sole bar).'
    """

    lines: tuple
    original: str

    def __post_init__(self):
        object.__setattr__(self, "lines", tuple(self.lines))
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
        original = line.values.get(self.original)
        return judge(line.values.get(variant, np.nan), limit=line.limit, original=original)

    def table(self):
        """All lines with values, limit, ratio to the original and verdict, as a pandas table."""
        import pandas as pd

        others = [name for name in self.variants if name != self.original]
        rows = []
        for line in self.lines:
            row = {"quantity": f"{line.quantity} ({line.unit})" if line.unit else line.quantity}
            row |= {name: line.values.get(name, np.nan) for name in self.variants}
            row["limit"] = np.nan if line.limit is None else line.limit
            original = line.values.get(self.original, np.nan)
            for name in others:
                value = line.values.get(name, np.nan)
                row[f"{name} / {self.original}"] = value / original if original else np.nan
            for name in self.variants:
                row[f"{name}: verdict"] = str(self.verdict(line, name))
            row["remark"] = line.remark
            rows.append(row)
        return pd.DataFrame(rows).set_index("quantity")

    def sentence(self, variant):
        """One variant's verdicts in words: how many of each kind, and what is worse."""
        assessed = [line for line in self.lines if line.assessed and not np.isnan(line.values.get(variant, np.nan))]
        verdicts = {line.quantity: self.verdict(line, variant) for line in assessed}
        count = Counter(verdicts.values())
        parts = []
        for verdict in Verdict:
            if not count[verdict]:
                continue
            named = [quantity for quantity, found in verdicts.items() if found is verdict]
            which = "" if verdict is Verdict.MEETS else f" ({'; '.join(named)})"
            parts.append(f"{count[verdict]} of {len(assessed)} quantities: {verdict}{which}")
        return f"{variant}: {'; '.join(parts) or 'nothing was assessed'}."

    def _repr_html_(self):
        colours = {Verdict.MEETS: "#e8f1fa", Verdict.NO_WORSE: "#fdf3d8", Verdict.WORSE: "#f8dcd5"}
        heads = [*self.variants, "limit"]
        body = []
        for line in self.lines:
            cells = [escape(f"{line.quantity} ({line.unit})" if line.unit else line.quantity)]
            for name in self.variants:
                value, verdict = line.values.get(name, np.nan), self.verdict(line, name)
                shade = f" style='background:{colours[verdict]}' title='{verdict}'" if verdict in colours else ""
                cells.append(f"<td{shade}>{'–' if np.isnan(value) else f'{value:.4g}'}</td>")
            limit = "as the original" if line.limit is None and line.assessed else line.limit
            cells.append(f"<td>{limit if isinstance(limit, str) else '' if limit is None else f'{limit:.4g}'}</td>")
            cells += [f"<td>{self.verdict(line, name)}</td>" for name in self.variants if name != self.original]
            body.append(
                f"<tr><th style='text-align:left'>{cells[0]}</th>{''.join(cells[1:])}"
                f"<td style='text-align:left'>{escape(line.remark)}</td></tr>"
            )
        heads += [f"{name} is" for name in self.variants if name != self.original] + ["remark"]
        top = "".join(f"<th>{escape(head)}</th>" for head in ["quantity", *heads])
        return f"<table><tr>{top}</tr>{''.join(body)}</table>"


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
    found, where = {}, {}
    for variant, result in results.items():
        names = [n for n in combinations if n in result.names] if combinations is not None else None
        for row in strength_table(result, names, factor=factor, distance=distance).to_dict("records"):
            key = (row["plate"], row["combination"])
            found.setdefault(key, {})[variant] = row["utilisation"]
            where.setdefault(key, []).append(f"{variant} near {row['near (mm)']}")
    order = {name: i for i, name in enumerate(dict.fromkeys(combination for _plate, combination in found))}
    keys = sorted(found, key=lambda key: order[key[1]])
    return [
        Line(
            f"{plate}, {combination}: utilisation",
            found[plate, combination],
            unit="",
            limit=1.0,
            remark="; ".join(where[plate, combination]),
        )
        for plate, combination in keys
    ]

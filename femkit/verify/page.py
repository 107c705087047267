"""Outcomes as a piece of a page: each case with its claim, source and reason, and a row for every kind of cell."""

import math
from html import escape

__all__ = ["page_of"]

HEADS = ("cells", "on the meshes", "femkit", "error, %", "order", "band, %", "")
LEFT, GREY = "text-align:left", "color:#666666"


def page_of(outcomes):
    """A table of outcomes, those of a case together.

    Parameters
    ----------
    outcomes : sequence of Outcome

    Returns
    -------
    page : str
        HTML.
    """
    rows, last = [], None
    for outcome in outcomes:
        if outcome.case is not last:
            last = outcome.case
            rows.append(f"<tr><td colspan={len(HEADS)} style='{LEFT};padding-top:1em'>{_case(last)}</td></tr>")
        rows.append(
            "<tr>" + "".join(f"<td style='{LEFT}'>{escape(value)}</td>" for value in _values(outcome)) + "</tr>"
        )
    heads = "".join(f"<th style='{LEFT}'>{head}</th>" for head in HEADS)
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{''.join(rows)}</tbody></table>"


def _case(case):
    """Name, reference and claim in a line; where it comes from and why its band is what it is in another."""
    number = f"{case.reference:.5g} {case.unit}".rstrip()
    printed = "" if case.printed is None else f", printed as {case.printed:.5g}"
    note = f" {case.note}." if case.note else ""
    words = f"{case.source} ({case.evidence}). Band: {case.reason or 'none is claimed'}.{note}"
    return (
        f"<b>{escape(case.name)}: {escape(number)}</b>{escape(printed)} · {escape(case.claim)}"
        f"<br><span style='{GREY}'>{escape(words)}</span>"
    )


def _values(outcome):
    order = "" if math.isnan(outcome.order) else f"{outcome.order:.1f}"
    values = ", ".join(f"{value:.5g}" for value in outcome.values)
    meshes = ", ".join(map(str, outcome.meshes))
    return (
        outcome.kind,
        meshes,
        values,
        f"{100 * outcome.error:.2f}",
        order,
        f"{100 * outcome.band:.2f}",
        outcome.verdict,
    )

"""The four answers to "is it good enough?", and how one is reached."""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from ..model.values import bad_number, refuse

__all__ = ["SAME_WITHIN", "Assessment", "Finding", "Verdict", "judge"]

# Less than this is not called worse: a part that was not touched, meshed alike, differs by about as much between two
# meshes (half of it at the bolsters of the demo's walls). Common practice, no source.
SAME_WITHIN = 0.01


class Verdict(StrEnum):
    """What can be said of one quantity of a changed structure; the values are the sentences a reader sees."""

    MEETS = "meets the limit"
    NO_WORSE = "misses it but no worse than the original"
    WORSE = "worse"
    NOT_ASSESSED = "not assessed"


@dataclass(frozen=True)
class Finding:
    """What an assessment found to govern: a number, and what a reviewer asks next about it.

    Parameters
    ----------
    value : float
        Less is better; NaN where it was not assessed.
    case : str
        The load case, combination or event that decides it.
    place : str
        Where, in words or as ``"(x, y, z)"`` in mm.
    why : str
        Why it, or a part of it, was not assessed.
    """

    value: float
    case: str = ""
    place: str = ""
    why: str = ""


@dataclass(frozen=True, eq=False)
class Assessment:
    """A table of what was assessed, and what governs of it.

    Attributes
    ----------
    rows : tuple of dict
        By column; the first column names the rows.
    findings : tuple of Finding
        All that may govern, at least one; their values are utilisations, 1 at the limit.
    """

    rows: tuple
    findings: tuple

    def table(self):
        """The rows as a pandas table, units in the heads; `why`, where there is one, says why a value is missing."""
        import pandas as pd

        return pd.DataFrame(self.rows).set_index(next(iter(self.rows[0])))

    def governing(self):
        """The finding of the largest value; its `why` says what else was not assessed. NaN where nothing was."""
        said = "; ".join(dict.fromkeys(finding.why for finding in self.findings if finding.why))
        assessed = [finding for finding in self.findings if not np.isnan(finding.value)]
        if not assessed:
            return Finding(np.nan, why=said)
        return replace(max(assessed, key=lambda finding: finding.value), why=said)


def judge(value, *, limit=None, original=None, same_within=SAME_WITHIN):
    """The verdict on a quantity of which less is better.

    Parameters
    ----------
    value : float
        Of the structure that is judged; its size counts, not its sign.
    limit : float, optional
        What it may be at most. Without one the original is the limit: the structure is to be as good as it was.
    original : float, optional
        The same quantity of the original structure, where that has it.
    same_within : float
        Share by which it may exceed the original and still count as no worse.

    Returns
    -------
    verdict : Verdict
        Not assessed where value is NaN, or where there is neither a limit nor an original.

    Examples
    --------
    >>> str(judge(180.0, limit=204.3, original=150.0))
    'meets the limit'
    >>> str(judge(230.0, limit=204.3, original=231.0)), str(judge(230.0, limit=204.3, original=150.0))
    ('misses it but no worse than the original', 'worse')
    """
    if limit is not None:
        refuse(bad_number("verdict", "limit", limit))
    has_original = original is not None and not np.isnan(original)
    if value is None or np.isnan(value) or (limit is None and not has_original):
        return Verdict.NOT_ASSESSED
    is_no_worse = has_original and abs(value) <= abs(original) * (1 + same_within)
    if limit is None:
        return Verdict.MEETS if is_no_worse else Verdict.WORSE
    if abs(value) <= limit:
        return Verdict.MEETS
    return Verdict.NO_WORSE if is_no_worse else Verdict.WORSE

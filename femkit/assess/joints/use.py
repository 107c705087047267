"""What a joint uses of what it can carry, along its lines: the answer that checks of fasteners and welds share.

A calculation aid only: the codes that apply and a licensed engineer's judgement come first.
"""

from dataclasses import dataclass

import numpy as np

from ...model.values import bad_number, place_words, refuse, sequence_of
from ...results.line_forces import LineForces
from ..verdict import Finding, judge

__all__ = ["JointUse", "as_lines", "check_numbers", "passing"]


@dataclass(frozen=True, eq=False)
class JointUse:
    """Values and utilisations at places of a joint, one row each.

    Attributes
    ----------
    what : str
        ``"rivets 10 mm"``.
    joint, case : ndarray of str, shape (n,)
    line : ndarray of int, shape (n,)
    distance : ndarray, shape (n,)
        Along the line, mm.
    places : ndarray, shape (n, 3)
        mm.
    values : dict of str to ndarray, shape (n,)
        Forces and stresses, with their units in the names.
    uses : dict of str to ndarray, shape (n,)
        Utilisation by check, 1 at the limit; NaN where it is not assessed.
    why : ndarray of str, shape (n,)
        Why something was not assessed, or "".
    """

    what: str
    joint: np.ndarray
    case: np.ndarray
    line: np.ndarray
    distance: np.ndarray
    places: np.ndarray
    values: dict
    uses: dict
    why: np.ndarray

    @classmethod
    def of(cls, what, lines, values, uses, *, whys=(), is_short=False, short=""):
        """From the rows of `LineForces`: where they are too short nothing is assessed; `whys` are said of all."""
        counts = [len(line.line) for line in lines]
        names = ([getattr(line, name) for line in lines] for name in ("name", "case"))
        named = (np.repeat(np.array(all_of, dtype=object), counts) for all_of in names)
        rows = (np.concatenate([getattr(line, name) for line in lines]) for name in ("line", "distance", "places"))
        is_short = np.broadcast_to(is_short, sum(counts))
        uses = {name: np.where(is_short, np.nan, use) for name, use in uses.items()}
        why = np.array(["; ".join([*whys, *[short] * bool(one)]) for one in is_short], dtype=object)
        return cls(what, *named, *rows, values, uses, why)

    @property
    def utilisation(self):
        """The largest of all checks at each place, shape (n,); NaN where any of them was not assessed."""
        return np.max(list(self.uses.values()), axis=0)

    def governing(self):
        """The place and check with the largest utilisation, as a `Finding`; its `why` says what was not assessed."""
        use, why = np.fmax.reduce(list(self.uses.values())), "; ".join(dict.fromkeys(filter(None, self.why)))
        if not np.isfinite(use).any():
            return Finding(np.nan, why=why)
        worst = int(np.nanargmax(use))
        check = max(self.uses, key=lambda name: np.nan_to_num(self.uses[name][worst]))
        return Finding(
            float(use[worst]),
            self.case[worst],
            f"{self.joint[worst]}, {check}, {place_words(self.places[worst], digits=0)}",
            why,
        )

    def table(self):
        """One row a place: forces, stresses, utilisation of every check, verdict and why, as a pandas table."""
        import pandas as pd

        use = self.utilisation
        columns = {
            "joint": self.joint,
            "load case": self.case,
            "line": self.line,
            "distance (mm)": self.distance,
            "at (mm)": [place_words(place, digits=0) for place in self.places],
            **self.values,
            **{f"utilisation, {name}": values for name, values in self.uses.items()},
            "verdict": [str(judge(value, limit=1.0)) for value in use],
            "why": self.why,
        }
        return pd.DataFrame(columns)

    def __repr__(self):
        found = self.governing()
        said = f"uses {found.value:.3g} at {found.place}, {found.case}" if np.isfinite(found.value) else "not assessed"
        return f"JointUse {self.what}: {said}" + f" ({found.why})" * bool(found.why)


def passing(lines):
    """Forces and moments per length (n, 6), and lengths of their lines (n,), mm, of all rows of `LineForces`."""
    flow = np.vstack([np.hstack([line.force, line.moment]) for line in lines])
    return flow, np.concatenate([line.lengths[line.line] for line in lines])


def as_lines(who, lines):
    """`LineForces` from one or several, each of a joint and load case of its own."""
    lines = sequence_of(who, lines, LineForces)
    named = [(line.name, line.case) for line in lines]
    twice = dict.fromkeys(pair for pair in named if named.count(pair) > 1)
    refuse("" if lines else f"{who}: there is no line; give what case.line_forces(…) gives.")
    refuse(*(f'{who}: there are two seams "{name}" in "{case}"; give each a name= of its own.' for name, case in twice))
    return lines


def check_numbers(who, **given):
    """Refuse all numbers that are not above 0, together; those that are None were not given."""
    named = {name: value for name, value in given.items() if value is not None}
    refuse(*(bad_number(who, name.replace("_", " "), value, rule=" above 0") for name, value in named.items()))

"""Steels by grade, document and thickness, and steel of unknown make from its coupons, as `Material`.

A calculation aid: the codes that apply and a licensed engineer's judgement come first. All strengths are values from
memory of the documents named beside them; check them against your own copy, and make a `Material` where they differ.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from ..errors import ModelError, nearest_name
from .material import Material
from .values import as_numbers, bad_name, bad_number, refuse

__all__ = ["Coupons", "steel", "steel_from_coupons", "steel_table"]

E_EN, E_US = 210_000.0, 200_000.0  # MPa: EN 1993-1-1, 3.2.6; practice in the US (values from memory)
NU, DENSITY = 0.3, 7.85e-9  # EN 1993-1-1, 3.2.6; EN 1991-1-1, annex A: 78.5 kN/m3; t/mm3 (values from memory)
BELOW_3 = float(np.nextafter(3.0, 0.0))  # mm: EN 10025-2 counts 3 mm itself to the thicker ones in tension tests

# document: modulus; by grade: yield and ultimate strength, MPa, each up to and with a thickness in mm. Of a range of
# ultimate strengths the lower end. All from memory; A36 and A242 are 36, 50, 46, 42 and 58, 70, 67, 63 ksi, rounded as
# their metric editions are; of A7 (to about 1960) no step of thickness is known, and 33 ksi was the least yield point.
STEPS = (16, 40, 63, 80, 100)
GRADES = {
    "EN 10025-2": (
        E_EN,
        {
            "S235": (dict(zip(STEPS, (235, 225, 215, 215, 215))), {100: 360}),
            "S275": (dict(zip(STEPS, (275, 265, 255, 245, 235))), {BELOW_3: 430, 100: 410}),
            "S355": (dict(zip(STEPS, (355, 345, 335, 325, 315))), {BELOW_3: 510, 100: 470}),
        },
    ),
    "EN 1993-1-1": (  # table 3.1; S355 to 40 mm was printed with 510 first, 490 by corrigendum
        E_EN,
        {
            "S235": ({40: 235, 80: 215}, {80: 360}),
            "S275": ({40: 275, 80: 255}, {40: 430, 80: 410}),
            "S355": ({40: 355, 80: 335}, {40: 490, 80: 470}),
        },
    ),
    "ASTM A36": (E_US, {"A36": ({200: 250}, {200: 400})}),
    "ASTM A242": (E_US, {"A242": ({19: 345, 38: 315, 100: 290}, {19: 480, 38: 460, 100: 435})}),
    "ASTM A7": (E_US, {"A7": ({np.inf: 228}, {np.inf: 414})}),
}


def steel(grade, *, thickness, document=None):
    """The material of a grade at a thickness.

    Parameters
    ----------
    grade : str
        "S235", "S275", "S355", "A36", "A242", "A7".
    thickness : float
        Of the plate, mm: thicker plates are weaker.
    document : str, optional
        "EN 10025-2" (the product standard), "EN 1993-1-1" (table 3.1, the design code's simpler steps), "ASTM A36",
        "ASTM A242", "ASTM A7"; the first of these that has the grade without it.

    Returns
    -------
    material : Material
        Its ultimate strength is the lower end of the document's range.

    Raises
    ------
    ModelError
        If grade or document is not known (the nearest name is offered), or the thickness lies outside the data.

    References
    ----------
    The documents named, all values from memory.

    Examples
    --------
    >>> thick = steel("S355", thickness=20)
    >>> thick.name, thick.yield_strength, thick.ultimate_strength
    ('S355, EN 10025-2', 345, 470)
    """
    refuse(bad_name("steel", grade), bad_number(f'steel "{grade}"', "thickness", thickness, "mm", " above 0"))
    if document is not None and str(document) not in GRADES:
        raise ModelError(f'steel: there is no document "{document}". {nearest_name(document, GRADES)[1]}')
    documents = GRADES if document is None else {document: GRADES[document]}
    found = [(name, E, grades[grade]) for name, (E, grades) in documents.items() if grade in grades]
    if not found:
        known = {name for _E, grades in documents.values() for name in grades}
        within = f" in {document}" if document else ""
        raise ModelError(f'steel: there is no grade "{grade}"{within}. {nearest_name(grade, known)[1]}')
    name, E, strengths = found[0]
    fy, fu = (_at(steps, thickness, f"steel {grade}, {name}") for steps in strengths)
    who = f"{grade}, {name}"
    return Material(who, E=E, nu=NU, density=DENSITY, yield_strength=fy, ultimate_strength=fu)


def steel_table():
    """All grades that `steel` knows with their strengths by thickness, as a pandas table."""
    import pandas as pd

    rows = []
    for document, (E, grades) in GRADES.items():
        for grade, strengths in grades.items():
            limits, above = sorted({limit for steps in strengths for limit in steps}), 0.0
            for limit in limits:
                span = f"above {above:g} to {limit:g}" if limit != BELOW_3 else "below 3"
                span = "any" if np.isinf(limit) else span.replace("above 3 ", "from 3 ").replace("above 0 ", "")
                rows.append((grade, document, span, *(_at(steps, limit, grade) for steps in strengths), E))
                above = limit
    heads = ["grade", "document", "thickness (mm)", "yield (MPa)", "ultimate (MPa)", "E (MPa)"]
    return pd.DataFrame(rows, columns=heads).set_index("grade")


def _at(steps, thickness, who):
    for limit, strength in steps.items():
        if thickness <= limit:
            return strength
    raise ModelError(f"{who}: thickness is {thickness:g} mm; its data end at {max(steps):g} mm.")


@dataclass(frozen=True)
class Coupons:
    """What coupons cut from old steel say of it.

    Attributes
    ----------
    material : Material
        With the lower bounds as its strengths; its yield strength is no more than its ultimate strength's bound.
    yield_values, ultimate_values : tuple of float
        As measured, MPa.
    """

    material: Material
    yield_values: tuple
    ultimate_values: tuple

    def table(self):
        """Number, mean, scatter, factor and lower bound of both strengths, as a pandas table."""
        import pandas as pd

        measured = {"yield strength": self.yield_values, "ultimate strength": self.ultimate_values}
        heads = ["coupons", "mean (MPa)", "standard deviation (MPa)", "k_n", "lower bound (MPa)"]
        return pd.DataFrame.from_dict({k: _bound(v) for k, v in measured.items()}, orient="index", columns=heads)


def steel_from_coupons(name, yield_values, ultimate_values, *, E=E_EN, nu=NU, density=DENSITY):
    """The material that tension tests on coupons vouch for: 5 % fractiles of both strengths, scatter not known before.

    The lower bound is ``mean - k_n s`` with ``k_n = t(0.95, n - 1) √(1 + 1/n)``: for a normal distribution the value
    that the next piece falls below with a chance of 5 %. Toughness and weldability it does not tell.

    Parameters
    ----------
    name : str
    yield_values, ultimate_values : sequence of float
        MPa, at least 3 each, of coupons from the same plates or the same delivery.
    E, nu, density
        As of `Material`.

    Returns
    -------
    coupons : Coupons
        ``coupons.material`` goes into plates, ``coupons.table()`` into the report.

    Raises
    ------
    ModelError
        If there are fewer than 3 values, one of them is not above 0, or they scatter so much that no strength is left.

    References
    ----------
    .. [1] EN 1990:2002, annex D, D7.2 and table D1, V unknown (value from memory); the factor is computed, and up
       to 0.012 above the printed one (n = 20: 1.772, printed 1.76).

    Examples
    --------
    >>> old = steel_from_coupons("frame, 1908", [262, 248, 255, 240], [398, 389, 402, 380])
    >>> round(old.material.yield_strength, 1)                   # 251.25 - 2.631 * 9.43
    226.4
    """
    bounds = []
    refuse(bad_name("coupons", name))
    for what, values in (("yield", yield_values), ("ultimate", ultimate_values)):
        who = f'coupons of "{name}"'
        refuse(bad_number(who, f"{what}_values", values, "MPa", " above 0", many="value"))
        if as_numbers(values).size < 3:
            count = as_numbers(values).size
            raise ModelError(f"{who}: {what}_values has {count} of them; a scatter needs at least 3 coupons.")
        bounds.append(_bound(values)[-1])
        if bounds[-1] <= 0:
            raise ModelError(
                f"{who}: {what}_values scatter so much that their lower bound is {bounds[-1]:.4g} MPa; it must be "
                f"above 0. Are they of one steel? If so, test more coupons."
            )
    fy, fu = bounds
    material = Material(name, E=E, nu=nu, density=density, yield_strength=min(fy, fu), ultimate_strength=fu)
    return Coupons(material, *(tuple(map(float, values)) for values in (yield_values, ultimate_values)))


def lower_bound_factor(count):
    """k_n of EN 1990, table D1, 5 % fractile, V unknown: Student's t at 0.95 times √(1 + 1/n)."""
    return float(stdtrit(count - 1, 0.95) * np.sqrt(1 + 1 / count))


def _bound(values):
    n, mean, s = len(values), float(np.mean(values)), float(np.std(values, ddof=1))
    return n, mean, s, lower_bound_factor(n), mean - lower_bound_factor(n) * s

"""How many cycles of a stress range a detail lasts: S-N curves, and the categories of details as data.

All numbers are values from memory of EN 1993-1-9:2005 (tables 3.1, 8.1 to 8.5 and annex B) and of A. F. Hobbacher,
Recommendations for Fatigue Design of Welded Joints and Components, IIW, 2nd ed. 2016: check them against your own copy,
whose drawings and conditions for each detail are more than a name can say.
"""

from dataclasses import KW_ONLY, dataclass, replace

import numpy as np

from ...errors import ModelError, nearest_name
from ...model.values import as_numbers, bad_name, bad_number, refuse

__all__ = ["CATEGORIES", "DETAILS", "GAMMA_FF", "GAMMA_MF", "SNCurve", "category", "detail", "fat"]

AT = 2e6  # cycles at which a category is the range
CATEGORIES = (160, 140, 125, 112, 100, 90, 80, 71, 63, 56, 50, 45, 40, 36)  # MPa, direct stress: EN 1993-1-9 fig. 7.1
SHEAR_CATEGORIES = (100, 80)  # fig. 7.2
GAMMA_MF = {  # on the curve, by concept and by what a failure would do: table 3.1
    ("damage tolerant", "low consequence"): 1.00,
    ("damage tolerant", "high consequence"): 1.15,
    ("safe life", "low consequence"): 1.15,
    ("safe life", "high consequence"): 1.35,
}
GAMMA_FF = 1.0  # on ranges: EN 1993-1-9, 3(7)
# Thinner plates the categories do not know: EN 1993-1-1:2005, 1.1.2, is for 3 mm and over, EN 1993-1-8:2005, 4.1, for
# welds on 4 mm and over; that this holds for their fatigue as well is common practice, no source.
LEAST_PLAIN, LEAST_WELDED = 3.0, 4.0  # mm
SIZE_FROM = 25.0  # mm; thicker plates last less: EN 1993-1-9, 7.2.2 and table 8.3; IIW 3.5.2


@dataclass(frozen=True)
class SNCurve:
    """Cycles to failure over stress range: two straight lines in logarithms, then nothing.

    Parameters
    ----------
    name : str
        Of the detail, as tables are to name it.
    category : float
        Range at 2 million cycles, MPa.
    slope, slope_beyond : float
        Exponents before and after the knee.
    knee, cut_off : float
        Cycles; ranges below that at the cut-off do no harm. ``inf`` is none.
    principal_within : float
        Where the largest principal range lies within this angle (degrees) of the weld's normal it counts instead of
        the range across: 60 for hot spots (IIW 2.2.3), 0 for nominal stress.
    size_exponent : float
        The category falls by ``(25 mm / t)`` to this power on thicker plates.
    least_thickness, most_thickness : float
        Plates that the category is for, mm; beyond them nothing is assessed.
    """

    name: str
    category: float
    _: KW_ONLY
    slope: float = 3.0
    slope_beyond: float = 5.0
    knee: float = 5e6
    cut_off: float = 1e8
    principal_within: float = 0.0
    size_exponent: float = 0.0
    least_thickness: float = LEAST_WELDED
    most_thickness: float = np.inf

    def __post_init__(self):
        who = f'S-N curve "{self.name}"'
        finite = {"category": "MPa", "slope": "", "slope_beyond": "", "knee": "cycles"}
        faults = [bad_number(who, field, getattr(self, field), unit, " above 0") for field, unit in finite.items()]
        at_least = {"principal_within": "degrees", "size_exponent": "", "least_thickness": "mm"}
        faults += [bad_number(who, f, getattr(self, f), unit, " of at least 0") for f, unit in at_least.items()]
        refuse(bad_name("S-N curve", self.name), *faults)
        ends = as_numbers([self.cut_off, self.most_thickness])
        if ends is None or not (ends[0] >= self.knee and ends[1] >= self.least_thickness):
            raise ModelError(f"{who}: cut_off must not be below knee, nor most_thickness below least_thickness.")

    @property
    def range_at_knee(self):
        """MPa."""
        return self.category * (AT / self.knee) ** (1 / self.slope)

    @property
    def range_at_cut_off(self):
        """MPa; 0 if there is none."""
        return self.range_at_knee * (self.knee / self.cut_off) ** (1 / self.slope_beyond)

    def cycles(self, stress_range):
        """Cycles to failure of ranges (MPa) of any shape; ``inf`` where they do no harm.

        Examples
        --------
        >>> category(71).cycles([100.0, 40.0, 25.0]).round()
        array([  715822., 19130593.,       inf])
        """
        size = np.abs(np.asarray(stress_range, dtype=float))
        with np.errstate(divide="ignore", over="ignore"):
            before = AT * (self.category / size) ** self.slope
            beyond = self.knee * (self.range_at_knee / size) ** self.slope_beyond
        cycles = np.where(size >= self.range_at_knee, before, beyond)
        return np.where(size < self.range_at_cut_off, np.inf, cycles)

    def size_factor(self, thickness):
        """What the category is multiplied by on plates of a thickness, mm."""
        return np.minimum(1.0, SIZE_FROM / np.asarray(thickness, dtype=float)) ** self.size_exponent

    def outside(self, thickness):
        """Why a plate of this thickness (mm) can't be judged by the curve; "" if it can."""
        if self.least_thickness <= thickness <= self.most_thickness:
            return ""
        known = f"from {self.least_thickness:g} mm" + f" to {self.most_thickness:g} mm" * (self.most_thickness < np.inf)
        return f"the plate is {thickness:g} mm thick; {self.name}, category {self.category:g}, is for plates {known}"


def category(value, *, shear=False, **changes):
    """The EN 1993-1-9 curve of a category.

    Parameters
    ----------
    value : float or str
        One of `CATEGORIES`, MPa; of 100 and 80 for shear, whose one slope is 5.
    shear : bool
    **changes
        Fields of `SNCurve` that are to be others.

    Raises
    ------
    ModelError
        If there is none such; the nearest is offered.
    """
    known = SHEAR_CATEGORIES if shear else CATEGORIES
    try:
        wanted = float(value)
    except (TypeError, ValueError):
        wanted = np.nan
    if wanted not in known:
        near = "" if np.isnan(wanted) else f"The nearest is {min(known, key=lambda c: abs(c - wanted))}. "
        raise ModelError(
            f"there is no {'shear ' * shear}category {value!r}. {near}There are: {', '.join(map(str, known))}; "
            "SNCurve makes others."
        )
    fields = {"slope": 5.0, "slope_beyond": 5.0, "knee": 1e8} if shear else {}
    return SNCurve(f"category {wanted:g}{' in shear' * shear}", wanted, **(fields | changes))


def fat(value, *, variable=True, **changes):
    """The IIW curve of a hot-spot class (FAT 100, FAT 90): slope 3 to 10 million cycles, no cut-off.

    Parameters
    ----------
    value : float
        Range at 2 million cycles, MPa.
    variable : bool
        Slope 5 beyond the knee, for ranges that vary; else 22, for one range alone.
    **changes
        Fields of `SNCurve` that are to be others: ``size_exponent=0.3`` for attachments as welded thicker than 25 mm.
    """
    refuse(bad_number("hot-spot class", "FAT", value, "MPa", " above 0"))
    fields = {"slope_beyond": 5.0 if variable else 22.0, "knee": 1e7, "cut_off": np.inf, "principal_within": 60.0}
    return SNCurve(f"FAT {value:g}", value, **(fields | changes))


_PLAIN, _SHEAR, _HOT = {"least_thickness": LEAST_PLAIN}, {"shear": True}, {"principal_within": 60.0}
DETAILS = {  # by name: category, and what is not as usual
    "rolled plate": (160, _PLAIN),
    "gas cut or sheared edge, dressed": (140, _PLAIN),
    "machine gas cut edge": (125, _PLAIN),
    "plate with open holes, net section": (90, _PLAIN),
    "butt weld, ground flush": (112, {"size_exponent": 0.2}),
    "butt weld, small reinforcement": (90, {"size_exponent": 0.2}),
    "butt weld, larger reinforcement": (80, {"size_exponent": 0.2}),
    "butt weld from one side, root tested": (71, {"size_exponent": 0.2}),
    "butt weld from one side": (36, {"size_exponent": 0.2}),
    "transverse attachment, up to 50 mm": (80, {}),
    "transverse attachment, up to 80 mm": (71, {}),
    "longitudinal attachment, up to 50 mm": (80, {}),
    "longitudinal attachment, up to 80 mm": (71, {}),
    "longitudinal attachment, up to 100 mm": (63, {}),
    "longitudinal attachment, longer than 100 mm": (56, {}),
    "attachment on the plate's edge, no radius": (40, {}),
    "attachment on the plate's edge, r/l below 1/6": (50, {}),
    "attachment on the plate's edge, r/l from 1/6": (71, {}),
    "attachment on the plate's edge, r/l from 1/3 or r above 150 mm, ground": (90, {}),
    "cruciform joint, toe, up to 50 mm": (80, {}),
    "root of fillet or partial penetration, throat stress": (36, {}),
    "end of cover plate": (50, {"most_thickness": 20.0}),
    "end of cover plate, thinner than its plate": (56, {"most_thickness": 20.0}),
    "bolted, double cover, friction": (112, _PLAIN),
    "bolted, fitted, double cover": (90, _PLAIN),
    "bolted, fitted, one-sided": (80, _PLAIN),
    "bolted, clearance holes, not preloaded": (50, _PLAIN),
    "shank of bolt or fitted rivet in shear": (100, _SHEAR | _PLAIN),
    "fillet weld in shear": (80, _SHEAR),
    "hot spot: butt weld, ground flush": (112, _HOT),
    "hot spot: butt weld": (100, _HOT),
    "hot spot: cruciform joint, full penetration": (100, _HOT),
    "hot spot: fillet weld that carries no load": (100, _HOT),
    "hot spot: end of bracket or stiffener": (100, _HOT),
    "hot spot: end of cover plate": (100, _HOT),
    "hot spot: cruciform joint, fillet welds that carry load": (90, _HOT),
}


def detail(name, **changes):
    """The EN 1993-1-9 curve of a detail by its name in `DETAILS`.

    Parameters
    ----------
    name : str
    **changes
        Fields of `SNCurve` that are to be others, for instance ``least_thickness=2.5`` by your own judgement.

    Raises
    ------
    ModelError
        If there is none of that name; the nearest is offered.

    Examples
    --------
    >>> detail("longitudinal attachment, longer than 100 mm").category
    56.0
    """
    if not isinstance(name, str) or name not in DETAILS:
        raise ModelError(f'there is no detail "{name}". {nearest_name(name, DETAILS)[1]}')
    value, fields = DETAILS[name]
    return replace(category(value, **fields), **({"name": name} | changes))

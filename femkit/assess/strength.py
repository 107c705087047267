"""How much of its strength each cell and plate uses, against yield and against the ultimate strength, over all loads.

The stress is averaged over a stated distance; peaks stand beside it. The factors 1.15 on yield (calculation only; 1.0
where a test has shown it) and 1.5 on the ultimate strength are those of EN 12663-1:2010 (values from memory); the
user's own code and factors come first. A calculation aid: a licensed engineer's judgement too.
"""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError
from ..model.values import bad_number, each_of, place_words, refuse, sequence_of
from ..results.averaging import JUDGED_OVER
from ..results.static import StaticResult
from .verdict import SAME_WITHIN, Finding

__all__ = ["ULTIMATE_FACTOR", "YIELD_FACTOR", "Strength", "allowed_stress", "strength", "strength_table", "utilisation"]

YIELD_FACTOR = 1.15  # S1 on yield strength, calculation only: EN 12663-1:2010 (value from memory)
ULTIMATE_FACTOR = 1.5  # S2 on ultimate strength: EN 12663-1:2010 (value from memory)
STRENGTHS = {"yield": "yield_strength", "ultimate": "ultimate_strength"}
PARTS = {"membrane + bending": "worst", "membrane": "middle"}  # of the stress, and the surface it is taken at
CHECKS = tuple(f"{strength}, {part}" for strength in STRENGTHS for part in PARTS)
PAIRS = tuple((strength, surface) for strength in STRENGTHS for surface in PARTS.values())


@dataclass(frozen=True, eq=False)
class Strength:
    """The envelope of utilisations over load cases and combinations.

    Attributes
    ----------
    result : StaticResult
    names : tuple of str
        Load cases and combinations, as `case` counts them.
    factors : tuple of float or None
        On the strength, for each of `CHECKS`: yield and ultimate strength, each against membrane and bending stress
        together, then against membrane stress alone.
    distance : float
        Stress is averaged over, mm.
    utilisation : ndarray, shape (n_cells,)
        The largest, 1 at the limit.
    case : ndarray of int, shape (n_cells,)
        Which of `names` governs.
    check : ndarray of int, shape (n_cells,)
        Which of `CHECKS` does. Membrane stress alone is never more than with bending; it is said to govern where
        bending adds less than 1 %, or where it has a factor of its own that makes it.
    """

    result: StaticResult
    names: tuple
    factors: tuple
    distance: float
    utilisation: np.ndarray
    case: np.ndarray
    check: np.ndarray

    def of(self, name):
        """Utilisation under one load case or combination, shape (n_cells, 4), by `CHECKS`; NaN: not assessed."""
        return _used(self.result[name], self.factors, self.distance)

    def table(self, *, by_case=False):
        """Every plate under what governs it, or with `by_case` under each load case or combination.

        Returns
        -------
        table : pandas.DataFrame
            Where the plate is used most: judged stress and its membrane part, what governs, where, the raw peak, which
            is never a verdict; the plate's largest utilisations under that combination against each strength, and by
            membrane stress alone; `why` a part was not assessed.
        """
        import pandas as pd

        table = pd.DataFrame([row for name in self.names for row in self._rows(name)])
        if by_case:
            return table
        governing = table.groupby("plate", sort=False)["utilisation"].idxmax()
        return table.loc[governing].set_index("plate")

    def governing(self):
        """The largest utilisation of all with its case and place, as a `Finding`."""
        cell, model = int(self.utilisation.argmax()), self.result.model
        place = f"{model.plate_of_cell[cell]} near {place_words(model.mesh.centres[cell], digits=0)}"
        whys = [why for why in self._whys().values() if why]
        whys += [f"beams not assessed: {', '.join(model.beams)}"] * bool(model.beams)
        found = float(self.utilisation[cell]), self.names[self.case[cell]], place
        return Finding(*found, why="; ".join(dict.fromkeys(whys)))

    def _rows(self, name):
        """One for each plate under a load case or combination."""
        case, model, whys = self.result[name], self.result.model, self._whys()
        used, raw = self.of(name), np.nanmax(case.von_mises("worst", at="corners"), axis=1)
        largest, check = _worst(used, self.factors)
        total, membrane = (case.judged_stress(self.distance, surface=surface) for surface in PARTS.values())
        allowed = [_allowed(model, factor, of) for factor, (of, _surface) in zip(self.factors, PAIRS)]
        for plate, cells in model.plate_cells.items():
            worst, mine = cells[largest[cells].argmax()], used[cells]
            yield {
                "plate": plate,
                "combination": name,
                f"judged over {self.distance:g} mm (MPa)": total[worst],
                "allowed (MPa)": allowed[check[worst]][worst],
                "utilisation": largest[worst],
                "near (mm)": place_words(model.mesh.centres[worst], digits=0),
                "raw peak (MPa)": raw[cells].max(),
                "membrane alone (MPa)": membrane[worst],
                "against yield": mine[:, :2].max(),
                "against ultimate": mine[:, 2:].max(),
                "by membrane alone": np.fmax(*mine[:, 1::2].max(axis=0)),
                "governs": CHECKS[check[worst]],
                "why": whys[plate],
            }

    def _whys(self):
        """By plate, why its ultimate strength was not looked at; "" where it was."""
        plates = self.result.model.plates
        if self.factors[2] is None:
            return dict.fromkeys(plates, "")  # nobody asked
        words = "against ultimate strength not assessed: {} has none"
        bare = {name: plate.material for name, plate in plates.items() if plate.material.ultimate_strength is None}
        return {name: words.format(bare[name].name) if name in bare else "" for name in plates}


def strength(
    result,
    combinations=None,
    *,
    yield_factor=YIELD_FACTOR,
    ultimate_factor=ULTIMATE_FACTOR,
    membrane_factors=None,
    distance=JUDGED_OVER,
):
    """Judged von Mises stress over the allowed one, against both strengths, enveloped over combinations; plates only.

    Parameters
    ----------
    result : StaticResult
    combinations : sequence of str, optional
        Names of load cases and combinations; all combinations without it, all load cases where there are none.
    yield_factor : float
        1.15 for calculation only, 1.0 where a test has shown it.
    ultimate_factor : float or None
        None leaves the ultimate strength out. A plate whose material has none is not assessed against it.
    membrane_factors : pair of float, optional
        On yield and ultimate strength for membrane stress alone, where a code asks more of it, since it does not
        find another way round as bending does; the other two without it.
    distance : float
        Stress is averaged over, mm: see `CaseResult.judged_stress`.

    Returns
    -------
    strength : Strength

    Raises
    ------
    ModelError
        If a plate's material has no yield strength, a factor is not above 0, or a combination does not exist.

    References
    ----------
    EN 12663-1:2010, factors S1 and S2 (values from memory).
    """
    names, alone = asked_names(result, combinations), (yield_factor, ultimate_factor)
    if membrane_factors is not None:
        alone = sequence_of("membrane_factors", each_of(membrane_factors), (int, float))
    if len(alone) != 2:
        raise ModelError(f"membrane_factors are {alone}; give two, on yield and on ultimate strength.")
    model = result.model
    if not model.mesh.n_cells:
        raise ModelError("strength: the model has no plates to judge; case.beam_stress() has its beams' stress.")
    refuse(bad_number("strength", "the distance to average over", distance, "mm", " of at least 0"))
    allowed_stress(model, yield_factor)  # refuses None, which would leave it out
    factors = (yield_factor, alone[0], ultimate_factor, None if ultimate_factor is None else alone[1])
    most = np.full(model.mesh.n_cells, -1.0)
    case, check = (np.zeros(model.mesh.n_cells, dtype=int) for _ in range(2))
    for number, name in enumerate(names):
        largest, which = _worst(_used(result[name], factors, distance), factors)
        is_more = largest > most
        most[is_more], case[is_more], check[is_more] = largest[is_more], number, which[is_more]
    for array in (most, case, check):
        array.setflags(write=False)
    return Strength(result, names, factors, float(distance), most, case, check)


def utilisation(case, *, factor=YIELD_FACTOR, distance=JUDGED_OVER):
    """Judged von Mises stress over the allowed one, in every cell, against yield.

    Parameters
    ----------
    case : CaseResult
    factor : float
        The allowed stress is the yield strength divided by it.
    distance : float
        That stress is averaged over, mm.

    Returns
    -------
    utilisation : ndarray, shape (n_cells,)
        1 at the limit.

    Raises
    ------
    ModelError
        If a plate's material has no yield strength, or the factor is not above 0.
    """
    return case.judged_stress(distance) / allowed_stress(case.model, factor)


def allowed_stress(model, factor=YIELD_FACTOR, strength="yield"):
    """Yield (or "ultimate") strength over the factor in every cell, shape (n_cells,), MPa; NaN without an ultimate."""
    refuse(bad_number("strength", f"the factor on {strength} strength", factor, "", " above 0"))
    values = {name: getattr(plate.material, STRENGTHS[strength]) for name, plate in model.plates.items()}
    missing = ", ".join(f'"{name}"' for name, value in values.items() if value is None)
    if missing and strength == "yield":
        raise ModelError(
            f"the material of the plates {missing} has no yield strength; give it Material(yield_strength=...)."
        )
    return np.array(list(values.values()), dtype=float)[model.per_cell.plate] / factor


def strength_table(result, combinations=None, *, factor=YIELD_FACTOR, distance=JUDGED_OVER):
    """Largest utilisation of every plate under every combination against yield alone: ``Strength.table`` by case.

    Parameters
    ----------
    result : StaticResult
    combinations : sequence of str, optional
        As in `strength`.
    factor, distance : float
        As in `utilisation`.
    """
    found = strength(result, combinations, yield_factor=factor, ultimate_factor=None, distance=distance)
    return found.table(by_case=True).drop(columns=["against yield", "against ultimate", "by membrane alone", "why"])


def asked_names(result, combinations=None):
    """Names of the load cases and combinations asked for: all combinations, or all load cases where there are none."""
    (result,) = sequence_of("an assessment of all loads", (result,), StaticResult)
    model = result.model
    names = [each.name for each in model.combinations or model.load_cases] if combinations is None else combinations
    if not (names := sequence_of("combinations", each_of(names), str)):
        raise ModelError("no load case or combination was given to assess; give at least one.")
    return names


def asked_of_each(nobody, results, combinations=None):
    """By variant those names asked for that it has; refuses what `nobody` has, in the words of who asks."""
    asked = {variant: asked_names(result, combinations) for variant, result in results.items()}
    if missing := set().union(*asked.values()).difference(*(result.names for result in results.values())):
        raise ModelError(f"{nobody} has the combinations {', '.join(sorted(missing))}.")
    return {variant: [name for name in names if name in results[variant].names] for variant, names in asked.items()}


def _allowed(model, factor, strength):
    """As `allowed_stress`; NaN where there is no factor."""
    return np.full(model.mesh.n_cells, np.nan) if factor is None else allowed_stress(model, factor, strength)


def _used(case, factors, distance):
    """Utilisations by `CHECKS`, shape (n_cells, 4)."""
    return np.stack(
        [
            case.judged_stress(distance, surface=surface) / _allowed(case.model, factor, strength)
            for factor, (strength, surface) in zip(factors, PAIRS)
        ],
        axis=1,
    )


def _worst(used, factors):
    """The largest of each row of utilisations, and which of `CHECKS` it is."""
    by_strength = np.nan_to_num(used.reshape(-1, 2, 2), nan=-1.0)  # (n, strength, part)
    strongest = by_strength.max(axis=2).argmax(axis=1)
    total, membrane = by_strength[np.arange(len(used)), strongest].T
    # with a factor of its own the larger one governs; with the same, membrane does where bending adds next to nothing
    close = np.where(np.equal(factors[::2], factors[1::2]), SAME_WITHIN, 0.0)[strongest]
    return np.maximum(total, membrane), 2 * strongest + (membrane * (1 + close) >= total)

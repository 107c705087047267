"""The demo's thickness survey on the reinforced wall: read, laid on the plates, solved as measured. All invented."""

from pathlib import Path

import numpy as np
import pandas as pd
import side_wall as demo
import wall_life

import femkit as fk

SURVEY = Path(__file__).parent / "data" / "thickness_survey.csv"
# beside the doorway the old lower sheet lies outside, under the doubler
UNDER = {"doubler-zone": ("lower-sheet", demo.PLATES["lower-sheet"].thickness)}
GOVERNS = "twisted track"  # for buckling, see notebook 03
FULL = "full load"
SURVEYED = ("lower-sheet", "upper-sheet", "posts", "sole-bar-web", "doubler-zone")
WELDABLE = 2.0  # mm: what this works welds to, its own judgement
CUT_EDGE = "doorway's head, cut edge"
RENEWED = fk.assess.survey.STATES.index("substantial")  # states before it are renewed

WHY = (
    "renew by percentage and by calculation",
    "renew by percentage",
    "renew by calculation",
    "may stay",
    "not measured",
)
WHY_COLOURS = ("#2D1140", "#CC6677", "#33508C", "#EEDD88", "#B8BCC2")  # told apart in grey too


def readings(model):
    """The survey laid on a model of the wall as built."""
    under = {name: old for name, old in UNDER.items() if name in model.plates}
    return fk.assess.read_survey(SURVEY).on(model, under=under)


def oddest_readings(read, count=4, within=400.0):
    """Readings that differ most from the mean of their plate's others around, as a table: worth reading again."""
    rows = []
    for plate, found in read.by_plate("thickness").items():
        places, values = np.array([r.place for r in found]), np.array([r.value for r in found])
        apart = np.linalg.norm(places[:, None] - places, axis=2)
        is_near = (apart <= within) & (np.abs(places[:, None, 1] - places[:, 1]) <= 50) & (apart > 0)  # along a line
        means = (is_near @ values) / np.maximum(is_near.sum(axis=1), 1)
        rows += [(r.name, plate, r.place, r.value, mean, r.value - mean) for r, mean in zip(found, means) if mean]
    heads = ["reading", "plate", "x, z (mm)", "value used (mm)", "neighbours at its height (mm)", "difference (mm)"]
    table = pd.DataFrame(rows, columns=heads).set_index("reading")
    return table.loc[table.iloc[:, -1].abs().sort_values(ascending=False).index[:count]]


def side_by_side(results):
    """What the wear changes, as a table: mass, sag, the doorway's diagonal, life, and the stress of all plates.

    Parameters
    ----------
    results : dict of str to StaticResult
        By name; the last column tells how the last one stands to the first.
    """
    rows = {}
    for name, result in results.items():
        column = rows.setdefault(name, {})
        column["mass (kg)"] = 1e3 * result.model.mass
        column[f"sag of the sole bar, {FULL} (mm)"] = demo.sag(result[FULL])
        column[f"rising diagonal, {GOVERNS} (mm)"] = demo.diagonals(result).loc[GOVERNS, "rising diagonal (mm)"]
        column[f"damage in {wall_life.YEARS_WANTED:g} years, {CUT_EDGE}"] = damage().value(result)
        worst = result.largest(demo.JUDGED_OVER).iloc[:, 0]
        column |= {f"judged stress of {plate} (MPa)": worst[plate] for plate in result.model.plates}
    table = pd.DataFrame(rows)
    return table.assign(**{f"{table.columns[-1]} / {table.columns[0]}": table.iloc[:, -1] / table.iloc[:, 0]})


def damage():
    """Of the doorway's head, whose cut edge has least to spare, as a quantity."""
    return fk.Damage(lambda result: wall_life.life("reinforced", result, names=[CUT_EDGE]), name=f"life, {CUT_EDGE}")


def areas_in_question(by_percentage):
    """Two areas by name, for calculation: the lower sheet's edge, 400 mm high, and the sole bar's web at the bolsters.

    The web carries the wall at its bolsters, so that what it has lost weighs more there than its percentage tells.
    """
    bays = by_percentage.worn.zones(2400, 400)
    of = {name: [cells for bay, cells in bays.items() if bay.startswith(name)] for name in ("lower-sheet, x", "sole")}
    z = by_percentage.worn.readings.model.mesh.centres[:, 2]
    edge = np.concatenate(of["lower-sheet, x"])
    return {
        "lower-sheet, lower edge": edge[z[edge] < 560],
        "sole-bar-web at the bolsters": np.concatenate([of["sole"][0], of["sole"][-1]]),
    }


def asked_of_worn(built):
    """What the worn wall is asked for: within the demo's limits, or no worse than the wall as built.

    Strength of the surveyed plates, the doorway's diagonal, stability on twisted track, and the life of one cut edge.
    """
    checks = fk.strength_checks(built.model, original=built, factor=demo.YIELD_FACTOR, distance=demo.JUDGED_OVER)
    checks = [check for check in checks if check.quantity.plate in SURVEYED]
    others = {
        fk.Distance(*demo.SPANS["rising diagonal"], GOVERNS, name=f"rising diagonal, {GOVERNS}"): demo.DIAGONAL_LIMIT,
        fk.BucklingFactor(GOVERNS): demo.STABILITY_FACTOR,
        damage(): 1.0,
    }
    return checks + [fk.Check(one, limit=limit, no_worse_than=built) for one, limit in others.items()]


def renewed_why(by_percentage, least):
    """Which of `WHY` every cell is in, shape (n_cells,): percentage is of the cells, calculation of the whole areas.

    Areas were looked at on a coarser mesh, and are the same here by name.
    """
    measured, is_thin = by_percentage.worn.measured, np.zeros(len(by_percentage.state), dtype=bool)
    verdicts = least.verdicts()
    for name, cells in areas_in_question(by_percentage).items():
        is_thin[cells] = verdicts[name][0] == WHY[2]
    return np.where(measured | is_thin, 3 - 2 * (by_percentage.state < RENEWED) - is_thin, 4)


def table_of_why(by_percentage, number):
    """Square metres and kilograms of new sheet, and the plates, for every class of `WHY`, as a table."""
    model = by_percentage.worn.readings.model
    rows = []
    for i, words in enumerate(WHY):
        cells = np.flatnonzero(number == i)
        plates = ", ".join(dict.fromkeys(model.plate_of_cell[cells]))
        rows.append((words, model.mesh.areas[cells].sum() / 1e6, by_percentage.masses[cells].sum(), plates))
    return pd.DataFrame(rows, columns=["what becomes of it", "area (m²)", "sheet (kg)", "plates"]).set_index(
        "what becomes of it"
    )

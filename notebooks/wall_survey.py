"""The demo's thickness survey on the reinforced wall: read, laid on the plates, solved as measured. All invented."""

from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import side_wall as demo

import femkit as fk

SURVEY = Path(__file__).parent / "data" / "thickness_survey.csv"
# beside the doorway the old lower sheet lies outside, under the doubler
UNDER = {"doubler-zone": ("lower-sheet", demo.PLATES["lower-sheet"].thickness)}
GOVERNS = "twisted track"  # for buckling, see notebook 03
FULL = "full load"
SURVEYED = ("lower-sheet", "upper-sheet", "posts", "sole-bar-web", "doubler-zone")
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


@cache
def lowest_factor(result):
    """Of buckling on twisted track."""
    return fk.solve_buckling(result, GOVERNS, 1).factor[0]


def side_by_side(results):
    """What the wear changes, as a table: mass, sag, the doorway's diagonal, buckling, and the stress of all plates.

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
        column[f"buckling factor, {GOVERNS}"] = lowest_factor(result)
        worst = result.largest(demo.JUDGED_OVER).iloc[:, 0]
        column |= {f"judged stress of {plate} (MPa)": worst[plate] for plate in result.model.plates}
    table = pd.DataFrame(rows)
    return table.assign(**{f"{table.columns[-1]} / {table.columns[0]}": table.iloc[:, -1] / table.iloc[:, 0]})


def areas_in_question(by_percentage, width=2400, height=400):
    """Areas by name, for calculation: those of the lower sheet that hold something to renew, and the sole bar's web.

    The web carries the wall at its bolsters, so that what it has lost weighs more there than its percentage tells.
    """
    is_web = by_percentage.worn.readings.model.plate_of_cell == "sole-bar-web"
    areas = by_percentage.worn.zones(width, height, holding=(by_percentage.state < RENEWED) | is_web)
    return {name: cells for name, cells in areas.items() if name.startswith(("lower-sheet", "sole-bar-web"))}


def asked_of_worn(built):
    """What the worn wall is asked for: within the demo's limits, or no worse than the wall as built.

    Buckling is not among these checks, since it takes ten times as long: it is looked at once, in the end.
    """
    checks = fk.strength_checks(built.model, original=built, factor=demo.YIELD_FACTOR, distance=demo.JUDGED_OVER)
    checks = [check for check in checks if check.quantity.plate in SURVEYED]
    rising = fk.Distance(*demo.SPANS["rising diagonal"], GOVERNS)
    return [*checks, fk.Check(rising, limit=demo.DIAGONAL_LIMIT, no_worse_than=built)]


def renewed_why(by_percentage, least):
    """Which of `WHY` every cell is in, shape (n_cells,): percentage is of the cells, calculation of the whole areas."""
    measured, is_thin = by_percentage.worn.measured, np.zeros(len(by_percentage.state), dtype=bool)
    for name, (state, _why) in least.verdicts(measured=measured).items():
        is_thin[least.zones[name].cells] = state == WHY[2]
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

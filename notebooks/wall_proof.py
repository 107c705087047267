"""The demo's proof test: an end push on the reinforced wall, with gauges. Gauges, readings and faults are invented."""

from pathlib import Path

import numpy as np
import pandas as pd

import femkit as fk

OUTSIDE, INSIDE = (0, -1, 0), (0, 1, 0)
FULL = 100.0  # kN at each end of the sole bar: the load case "push"
READINGS = Path(__file__).parent / "data" / "proof_test.csv"
ALONG, UP = (1, 0, 0), (0, 0, 1)

GAUGES = [
    fk.Gauge("G1", (1300, 0, 80), ALONG, surface=INSIDE),  # sole bar, beside the rear bolster
    fk.Gauge("G2", (2000, 0, 80), ALONG, surface=OUTSIDE),  # sole bar, rear bay
    fk.Gauge("G3", (3700, 0, 80), ALONG, surface=OUTSIDE),  # sole bar, mid-span
    fk.Gauge("G4", (5250, 0, 80), ALONG, surface=OUTSIDE),  # sole bar, front bay
    fk.Gauge("G5", (6800, 40, 0), ALONG, surface=(0, 0, -1)),  # its lower flange, from below
    fk.Gauge("G6", (3700, 0, -50), ALONG, surface=OUTSIDE),  # doubler, mid-span
    fk.Gauge("G7", (2450, 0, -50), ALONG, surface=OUTSIDE),  # doubler, near its rear end
    fk.Gauge("G8", (4260, 0, 135), ALONG, surface=OUTSIDE),  # sill, near the doorway's front corner
    fk.Gauge("G9", (1100, 0, 300), ALONG, surface=OUTSIDE),  # sheet above the rear bolster
    fk.Gauge("G10", (5350, 0, 330), ALONG, surface=OUTSIDE),  # sheet, front bay
    fk.Gauge("G11", (2880, 0, 300), ALONG, surface=OUTSIDE),  # sheet with doubler, rear
    fk.Gauge("G12", (2990, 70, 400), UP, surface=INSIDE),  # rear pillar's inner face
]
ROSETTES = [
    fk.Rosette("R1", (2450, 0, 330), ALONG, surface=OUTSIDE),  # sheet behind the doorway
    fk.Rosette("R2", (4850, 0, 330), ALONG, surface=OUTSIDE, kind="0/60/120"),  # sheet before it
]
ALL = [*GAUGES, *ROSETTES]
ON_ALL_FORMS = [gauge for gauge in ALL if gauge.name not in ("G6", "G7", "G12")]  # those are on new parts
# load in per cent of the full one at each reading, every ten minutes
STEPS = (0, 0, 0, 25, 50, 75, 100, 100, 0, 0)


def forms(results, case="push"):
    """What the gauges that every form of the wall has would read on each, µm/m, as a table."""
    placed = {form: fk.results.place_gauges(result.model, ON_ALL_FORMS) for form, result in results.items()}
    read = {form: each.table(results[form], [case])[f"{case} (µm/m)"] for form, each in placed.items()}
    return pd.DataFrame({f"{form} (µm/m)": strain for form, strain in read.items()})


def answer(test):
    """Did the wall behave as calculated? In words, with figures."""
    found, line, n = test.governing(), test.overall, len(test.sheet.channels)
    assessed = sum(test.is_assessed)
    return (
        f"**Did the wall behave as calculated?** Of {n} channels {assessed} are assessed, and together they say: "
        f"*{test.verdict}*. Over all of them the measured strain is {line.slope:.3f} times the predicted one "
        f"(r² {line.r2:.3f}, scatter {line.scatter:.1f} µm/m). What governs is {found.place} in {found.case}, with "
        f"{found.value:.2f} of what is allowed. N{found.why[1:]}: what these gauges were to show is not shown."
    )


def invent_readings(sheet, path=READINGS, seed=8):
    """What a logger might have handed in: the predictions with scatter, and three channels that are wrong.

    Written once and kept; a real test has a file of its own.
    """
    chance = np.random.default_rng(seed)
    load, n = np.array(STEPS) / 100, len(sheet.channels)
    true = load[:, None] * sheet.full * chance.normal(1.02, 0.03, n)
    read = true + chance.normal(0, 1.0, true.shape) + chance.uniform(-400, 400, n)  # a bridge is never balanced
    number = sheet.channels.index
    read[:, number("G7")] = chance.normal(12.0, 0.3, len(load))  # dead
    read[:, number("G4")] -= 2 * true[:, number("G4")]  # wrong sign
    read[:, number("G10")] += 6.0 * np.arange(len(load))  # drifts
    lines = [
        "# Invented readings of an invented proof test: no wall was ever pushed.",
        "# Reinforced wall, end push of 100 kN at each end of the sole bar; strains in µm/m, gauges not zeroed.",
        ";".join(["time (min)", "load (kN)", *(f"{channel} (µm/m)" for channel in sheet.channels)]),
    ]
    for i, share in enumerate(load):
        numbers = [f"{10 * i}", f"{share * FULL:.0f}", *(f"{value:.1f}".replace(".", ",") for value in read[i])]
        lines.append(";".join(numbers))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path

"""The demo's proof test: an end push on the reinforced wall, with gauges. Gauges, readings and faults are invented."""

from pathlib import Path

import numpy as np

import femkit as fk

OUTSIDE, INSIDE = (0, -1, 0), (0, 1, 0)
FULL = 100.0  # kN at each end of the sole bar: the load case "push"
READINGS = Path(__file__).parent / "data" / "proof_test.csv"
ALONG, UP = (1, 0, 0), (0, 0, 1)

GAUGES = [
    fk.Gauge("G01 bar, rear bay", (1800, 0, 80), ALONG, surface=OUTSIDE),
    fk.Gauge("G02 bar, mid-span", (3700, 0, 80), ALONG, surface=OUTSIDE),
    fk.Gauge("G03 bar, front bay", (5400, 0, 80), ALONG, surface=OUTSIDE),
    fk.Gauge("G04 bar's lower flange", (5400, 40, 0), ALONG, surface=(0, 0, -1)),
    fk.Gauge("G05 doubler, mid-span", (3700, 0, -50), ALONG, surface=OUTSIDE),
    fk.Gauge("G06 doubler's flange", (3700, 40, -90), ALONG, surface=(0, 0, -1)),
    fk.Gauge("G07 doubler's end", (2450, 0, -50), ALONG, surface=OUTSIDE),
    fk.Gauge("G08 sill, rear corner", (3110, 0, 140), ALONG, surface=OUTSIDE),
    fk.Gauge("G09 sheet above the rear bolster", (1100, 0, 260), ALONG, surface=OUTSIDE),
    fk.Gauge("G10 sheet, front bay", (5650, 0, 300), ALONG, surface=OUTSIDE),
    fk.Gauge("G11 doubler zone, rear", (2830, 0, 240), ALONG, surface=OUTSIDE),
    fk.Gauge("G12 bar at the rear bolster", (1300, 0, 80), ALONG, surface=INSIDE),
]
ROSETTES = [
    fk.Rosette("R1 sheet, rear bay", (2600, 0, 240), ALONG, surface=OUTSIDE),
    fk.Rosette("R2 sheet, front bay", (4800, 0, 240), ALONG, surface=OUTSIDE, kind="0/60/120"),
]
ALL = [*GAUGES, *ROSETTES]
# load in per cent of the full one at each reading, every ten minutes
STEPS = (0, 0, 0, 25, 50, 75, 100, 100, 0, 0)


def invent_readings(sheet, path=READINGS, seed=8):
    """What a logger might have handed in: the predictions with scatter, and three channels that are wrong.

    Written once and kept; a real test has a file of its own.
    """
    chance = np.random.default_rng(seed)
    load, n = np.array(STEPS) / 100, len(sheet.channels)
    true = load[:, None] * sheet.full * chance.normal(1.02, 0.03, n)

    read = true + chance.normal(0, 1.0, true.shape) + chance.uniform(-400, 400, n)  # a bridge is never balanced
    name = {channel.split()[0]: i for i, channel in enumerate(sheet.channels)}
    read[:, name["G07"]] = chance.normal(12.0, 0.3, len(load))  # dead
    read[:, name["G03"]] -= 2 * true[:, name["G03"]]  # wrong sign
    read[:, name["G10"]] += 6.0 * np.arange(len(load))  # drifts
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

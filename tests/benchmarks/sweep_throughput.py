"""Sixteen variants of the demo's reinforced wall: by a sweep, and one after the other on one thread and on all.

Run from the repository's root::

    PYTHONPATH=notebooks python tests/benchmarks/sweep_throughput.py              # 3 rounds
    PYTHONPATH=notebooks python tests/benchmarks/sweep_throughput.py --rounds 5

Each way runs in a fresh process, turn by turn. Its time begins with the mesh read and ends with all figures at hand,
the start of the sweep's own processes included. Ratios of medians of one run are what counts.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from dataclasses import replace
from time import perf_counter

import numpy as np
from side_wall import JUDGED_OVER, STEEL, model, sag, wall

import femkit as fk

VARIANTS = {"sheet (mm)": [2.5, 3.0, 3.5, 4.0], "pillar (mm)": [4.0, 5.0, 6.0, 8.0]}
WAYS = {"one thread": 1, "all threads": os.cpu_count(), "sweep": None}
AIMS = {"one thread": 1.6, "all threads": 1.25}  # throughput of the sweep over theirs


def quantities(result):
    full = result["full load"]
    return {"sag (mm)": sag(full), "judged stress (MPa)": full.judged_stress(JUDGED_OVER).max()}


def _seconds(way):
    original = model("reinforced", wall("reinforced"))

    def variant(sheet, pillar):
        plates = {"lower-sheet": fk.Plate(sheet, STEEL), "door-pillar": fk.Plate(pillar, STEEL)}
        return replace(original, plates=original.plates | plates)

    start = perf_counter()
    if way == "sweep":
        with tempfile.TemporaryDirectory() as folder:
            found = fk.sweep(variant, VARIANTS, quantities, keep=folder, progress=None)
        assert found.solved == 16, found.table()
    else:
        for sheet in VARIANTS["sheet (mm)"]:
            for pillar in VARIANTS["pillar (mm)"]:
                quantities(fk.solve_static(variant(sheet, pillar)))
    return perf_counter() - start


def _child(way):
    env = dict(os.environ)
    for name in ("OMP_NUM_THREADS", "MKL_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        env.pop(name, None)
        if WAYS[way]:
            env[name] = str(WAYS[way])
    done = subprocess.run(
        [sys.executable, __file__, "--child", way], capture_output=True, text=True, check=True, env=env
    )
    return float(done.stdout.splitlines()[-1])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=3)
    rounds = parser.parse_args().rounds
    seconds = {way: [] for way in WAYS}
    for _ in range(rounds):
        for way in WAYS:
            seconds[way].append(_child(way))
    for way, found in seconds.items():
        print(f"{way:12} {', '.join(f'{each:.1f}' for each in found)} s")
    median = {way: float(np.median(found)) for way, found in seconds.items()}
    for way, aim in AIMS.items():
        print(f"sweep over {way}: {median[way] / median['sweep']:.2f} times the throughput (aim {aim})")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--child"]:
        print(_seconds(sys.argv[2]))
    else:
        main()

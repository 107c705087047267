"""Fingerprints of code: what changes them, and that they are the same in every process."""

import os
import subprocess
import sys
from functools import cache, partial
from pathlib import Path

import pytest

from femkit.study.sweeps.fingerprint import fingerprint_of

FIRST = """
import numpy as np
limits = [1.5, {"S235", "S355"}]
def helper(x, by=2): return by * x
class Gauge:
    reach = 25
    def read(self, x): return x - 1
    @property
    def name(self): return "g"
def measure(x):
    inner = lambda y: helper(y) + limits[0] if x in {"c", "a", "b"} else np.abs(y)
    return inner(x) + Gauge().read(x)
"""


def fingerprint(text):
    known = {"__name__": "__main__"}
    exec(text, known)
    return fingerprint_of(known["measure"])


@pytest.mark.parametrize(
    "old, new",
    [
        ("by * x", "by + x"),
        ("by=2", "by=3"),
        ("1.5", "1.6"),
        ("S355", "S460"),
        ("x - 1", "x - 2"),
        ("reach = 25", "reach = 26"),
        ('"g"', '"h"'),
        ("np.abs", "np.sin"),
        ('"c", "a"', '"c", "d"'),
    ],
)
def test_whatever_a_function_uses_counts(old, new):
    assert old in FIRST and fingerprint(FIRST) != fingerprint(FIRST.replace(old, new))


def test_places_and_what_is_not_used_do_not_count():
    assert fingerprint("\n\nunused = 7\n" + FIRST) == fingerprint(FIRST)


@pytest.mark.parametrize("seed", ("1", "2"))  # of the order in which sets of texts run
def test_every_process_finds_the_same(seed):
    code = "from test_code_fingerprint import FIRST, fingerprint; print(fingerprint(FIRST))"
    path = os.pathsep.join([str(Path(__file__).parent), *sys.path])
    env = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": path}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=env)
    assert done.stdout.strip() == fingerprint(FIRST)


def test_what_is_enclosed_counts():
    def over(limit):
        return lambda x: x / limit

    assert fingerprint_of(over(2)) == fingerprint_of(over(2)) != fingerprint_of(over(3))
    assert fingerprint_of(partial(over, 2)) != fingerprint_of(partial(over, 3))
    assert fingerprint_of(cache(over(2))) != fingerprint_of(cache(over(3)))
    assert fingerprint_of(over(over)) == fingerprint_of(over(over))


def test_a_function_that_calls_itself_ends():
    def down(x):
        return down(x - 1) if x else 0

    assert fingerprint_of(down) == fingerprint_of(down)

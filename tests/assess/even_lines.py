"""Straight lines that carry the same everywhere, so that hand formulas apply."""

import numpy as np

from femkit.results import LineForces


def even_line(force=(0, 0, 0), moment=(0, 0, 0), *, length=200.0, n=9, case="load", name="web to flange", lines=1):
    """`LineForces` along x with even forces (N/mm) and moments (N mm/mm)."""
    x = np.tile(np.linspace(0, length, n), lines)
    share = np.tile(np.full(n, length / (n - 1)) * np.where(np.isin(np.arange(n), (0, n - 1)), 0.5, 1.0), lines)
    number = np.repeat(np.arange(lines), n)
    places = np.column_stack([x, 50.0 * number, 0 * x])
    axes = np.tile(np.eye(3), (len(x), 1, 1))
    rows = [np.tile(np.asarray(v, dtype=float), (len(x), 1)) for v in (force, moment)]
    return LineForces(name, case, number, x, share, places, axes, *rows)

"""Where the kernels look inside a cell: integration rules and places of recovery, as data.

Quadrilaterals use the reference square ``[-1, 1]²``, corners counter-clockwise from ``(-1, -1)``. Triangles use
area coordinates, one a corner, that add up to 1.
"""

from typing import NamedTuple

import numpy as np

__all__ = ["CORNERS_SQUARE", "GAUSS_2X2", "PLACES_SQUARE", "PLACES_TRIANGLE", "TRIANGLE_3", "Rule"]


class Rule(NamedTuple):
    """An integration rule: the integral is the sum of weight × value."""

    points: np.ndarray  # (n_gauss, 2) reference square, or (n_gauss, 3) area coordinates
    weights: np.ndarray  # (n_gauss,), adding up to 4 (the square) or 1 (the triangle, times its area)


CORNERS_SQUARE = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])  # (4, 2)

# Exact for cubics in each direction: Gauss and Legendre's rule of two points, twice.
GAUSS_2X2 = Rule(CORNERS_SQUARE / np.sqrt(3.0), np.ones(4))

# Exact for quadratics: the three mid-sides (Strang & Fix, An Analysis of the Finite Element Method, 1973, table 4.1).
TRIANGLE_3 = Rule(np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]]), np.full(3, 1.0 / 3.0))

# Where strains are recovered: the centre first, then the corners.
PLACES_SQUARE = np.vstack([[[0.0, 0.0]], CORNERS_SQUARE])  # (5, 2)
PLACES_TRIANGLE = np.vstack([np.full((1, 3), 1.0 / 3.0), np.eye(3)])  # (4, 3)

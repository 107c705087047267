"""Where the kernels look inside a cell, and how what they find there adds up: rules as data, and the sum.

Quadrilaterals use the reference square ``[-1, 1]²``, corners counter-clockwise from ``(-1, -1)``. Triangles use
area coordinates, one a corner, that add up to 1.
"""

from typing import NamedTuple

import numpy as np

__all__ = ["CENTRE", "CORNERS", "GAUSS_2X2", "MID_SIDES", "PLACES_QUAD", "PLACES_TRIANGLE", "Rule", "integrate"]


class Rule(NamedTuple):
    """An integration rule: the integral is the sum of weight × value."""

    places: np.ndarray  # (n_gauss, 2) in the reference square, or (n_gauss, 3) area coordinates
    weights: np.ndarray  # (n_gauss,), adding up to 4 for the square, to 1 for the triangle


CORNERS = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])  # (4, 2)
CENTRE = Rule(np.zeros((1, 2)), np.array([4.0]))

# Exact for cubics in each direction: Gauss and Legendre's rule of two points, twice.
GAUSS_2X2 = Rule(CORNERS / np.sqrt(3.0), np.ones(4))

# Exact for quadratics on a triangle (G. Strang, G. J. Fix, An Analysis of the Finite Element Method, 1973, table 4.1).
MID_SIDES = Rule(np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]]), np.full(3, 1.0 / 3.0))

# Where strains are recovered: the centre first, then the corners.
PLACES_QUAD = np.vstack([CENTRE.places, CORNERS])  # (5, 2)
PLACES_TRIANGLE = np.vstack([np.full((1, 3), 1.0 / 3.0), np.eye(3)])  # (4, 3)


def integrate(strain, rigidity, area):
    """Stiffness of every cell: the sum over Gauss points of strain' × rigidity × strain × area.

    Parameters
    ----------
    strain : ndarray, shape (n_cells, n_gauss, n_strains, n_corners, n_unknowns)
        Strains of unit unknowns.
    rigidity : ndarray, shape (n_cells, n_strains, n_strains)
    area : ndarray, shape (n_cells, n_gauss)
        Of the cell's surface, mm², weights of the rule included.

    Returns
    -------
    stiffness : ndarray, shape (n_cells, n_corners * n_unknowns, n_corners * n_unknowns)
    """
    n_cells, n_gauss, n_strains, n_corners, n_unknowns = strain.shape
    strain = strain.reshape(n_cells, n_gauss, n_strains, n_corners * n_unknowns)
    force = (rigidity[:, None] * area[..., None, None]) @ strain
    rows = (n_cells, n_gauss * n_strains, n_corners * n_unknowns)
    # "egia,eij,egjb,eg->eab"; one product a cell takes half the time of the sum over indices
    return strain.reshape(rows).transpose(0, 2, 1) @ force.reshape(rows)

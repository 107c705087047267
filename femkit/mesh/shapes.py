"""Shape functions of cells as data: where points lie on a reference shape, and the powers the functions span.

Each function is 1 at its own point and 0 at the others, so points and powers say all. Quadrilaterals stand on the
square ``[-1, 1]²``, the triangle on ``(0, 0), (1, 0), (0, 1)``; corners come first, then the middles of sides, from the
first side on, then the centre, as in VTK's file format.

The eight-point quadrilateral is that of J. G. Ergatoudis, B. M. Irons, O. C. Zienkiewicz, *Curved, isoparametric,
"quadrilateral" elements for finite element analysis*, Int. J. Solids Struct. 4 (1968) 31-42; the six-point triangle
that of B. Fraeijs de Veubeke, in *Stress Analysis* (ed. Zienkiewicz, Holister), 1965, ch. 9 (chapter from memory).
"""

from typing import NamedTuple

import numpy as np

__all__ = ["SHAPES", "Shape", "surface_elements"]


class Shape(NamedTuple):
    """The functions of one kind of cell, and the rule by which they are integrated."""

    places: np.ndarray  # (k, 2) of the points
    powers: np.ndarray  # (k, 2) of both coordinates, in each term
    gauss: np.ndarray  # (n_gauss, 2)
    weights: np.ndarray  # (n_gauss,) adding up to the reference shape's area

    def values(self, at):
        """Each function at some places (n, 2): (n, k)."""
        return _terms(at, self.powers) @ self._coefficients

    def slopes(self, at):
        """Slopes of each function along both reference coordinates: (n, 2, k)."""
        slopes = [self.powers[:, i] * _terms(at, np.maximum(self.powers - np.eye(2, dtype=int)[i], 0)) for i in (0, 1)]
        return np.stack(slopes, axis=1) @ self._coefficients

    @property
    def _coefficients(self):
        return np.linalg.inv(_terms(self.places, self.powers))


def surface_elements(points, shape):
    """What each Gauss point stands for of its cell's surface, as vector area, (n_cells, n_gauss, 3), mm2.

    Parameters
    ----------
    points : ndarray, shape (n_cells, k, 3)
    shape : Shape
    """
    along_r, along_s = np.swapaxes(shape.slopes(shape.gauss), 0, 1)  # (n_gauss, k) each
    return np.cross(along_r @ points, along_s @ points) * shape.weights[:, None]


def _terms(at, powers):
    return np.prod(np.asarray(at)[:, None] ** powers, axis=2)


def _square(powers, n_gauss):
    """Gauss and Legendre's rule of n points in each direction is exact up to the power 2 n - 1."""
    at, weight = np.polynomial.legendre.leggauss(n_gauss)
    gauss = np.stack(np.meshgrid(at, at, indexing="ij"), axis=-1).reshape(-1, 2)
    places = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1), (0, -1), (1, 0), (0, 1), (-1, 0), (0, 0)], dtype=float)
    return Shape(places[: len(powers)], np.array(powers), gauss, np.outer(weight, weight).ravel())


def _triangle():
    """Six points, exact up to the power 4: G. R. Cowper, Int. J. Numer. Meth. Engng 7 (1973) 405-408."""
    root = np.sqrt(38 - 44 * np.sqrt(0.4))
    off = (8 - np.sqrt(10) + np.array([[root], [-root]])) / 18  # two coordinates of three; the third is what is left
    gauss = np.concatenate([np.column_stack([[a, a, 1 - 2 * a], [a, 1 - 2 * a, a]]) for (a,) in off])
    root = np.sqrt(213125 - 53320 * np.sqrt(10))
    weights = np.repeat([620 + root, 620 - root], 3) / 3720 / 2
    places = np.array([(0, 0), (1, 0), (0, 1), (0.5, 0), (0.5, 0.5), (0, 0.5)])
    return Shape(places, np.array(BILINEAR + [(2, 0), (0, 2)]), gauss, weights)


BILINEAR = [(0, 0), (1, 0), (0, 1), (1, 1)]
EIGHT = BILINEAR + [(2, 0), (0, 2), (2, 1), (1, 2)]
SIX = _triangle()
SHAPES = {3: SIX._replace(places=SIX.places[:3], powers=SIX.powers[:3])}  # by points
SHAPES |= {4: _square(BILINEAR, 2), 6: SIX, 8: _square(EIGHT, 3), 9: _square(EIGHT + [(2, 2)], 3)}

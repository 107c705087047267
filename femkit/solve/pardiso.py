"""MKL PARDISO, the direct solver, called without copies and with whole blocks.

Given blocks it orders points instead of unknowns: 0.05 s instead of 0.35 s at 100,000 unknowns, 0.5 s instead of 5 s at
a million; the factor takes as long and as much memory as from single entries.

References
----------
Intel oneAPI Math Kernel Library, developer reference for C, "oneMKL PARDISO: parallel direct sparse solver interface",
with its table of parameters ``iparm`` and of errors.
"""

import ctypes
import sys
from functools import cache
from pathlib import Path

import numpy as np

from ..errors import SolveError
from .matrix import NotPositiveError

__all__ = ["Pardiso"]

NOTHING = np.zeros((0, 1))
FAILURES = {
    -1: "its input is inconsistent",
    -2: "not enough memory",
    -3: "reordering failed",
    -8: "the matrix is too large for 32-bit indices",
}


class Pardiso:
    """Order, factor and solve a symmetric positive definite matrix given as its upper triangle in blocks."""

    POSITIVE_DEFINITE, INDEFINITE = 2, -2  # its matrix types
    PARAMETERS = (  # entries of its table that are not 0
        (0, 1),  # the table is given
        (1, 2),  # order by nested dissection
        (20, 1),  # pivots of one or two unknowns where the matrix is not positive definite
        (34, 1),  # indices start at 0, blocks are stored row by row
    )
    PERTURBED, NEGATIVE = 13, 22  # places in the table of what an indefinite factor says of its pivots
    BLOCK_SIZE = 36  # place in the table
    # Its errors for a pivot that is zero or negative: -4, and in 3 of 100 such matrices in blocks, seen with release
    # 2026.2, -13, which by its reference is an interruption that nobody here can ask for.
    NOT_POSITIVE = (-4, -13)

    def __init__(self):
        self._run, self._type = _mkl()["pardiso"], self.POSITIVE_DEFINITE
        self._handle = np.zeros(64, dtype=np.int64)
        self._parameters = np.zeros(64, dtype=np.int32)
        for place, value in self.PARAMETERS:
            self._parameters[place] = value
        self._matrix = None

    def order(self, matrix):
        """Find the order of elimination and the pattern of the factor."""
        self._parameters[self.BLOCK_SIZE] = matrix.pattern.n_components
        self._matrix = matrix
        self._call(11)

    def factorise(self, matrix):
        """Factor a matrix of the pattern that was ordered.

        Raises
        ------
        NotPositiveError
        """
        self._matrix = matrix
        self._call(22)

    def solve(self, right):
        """Solution (n, k) of right-hand sides (n, k)."""
        right = np.asfortranarray(right)
        solution = np.empty_like(right)
        self._call(33, right, solution)
        return np.ascontiguousarray(solution)

    @classmethod
    def negative_pivots(cls, matrix):
        """How many eigenvalues of a symmetric matrix are negative (Sylvester's law of inertia).

        Returns
        -------
        count : int or None
            None where a pivot was too small to have a sign.
        """
        engine = cls()
        engine._type = cls.INDEFINITE
        engine.order(matrix)
        try:
            engine._call(22)
            is_sure = engine._parameters[cls.PERTURBED] == 0
            return int(engine._parameters[cls.NEGATIVE]) if is_sure else None
        finally:
            engine.close()

    def close(self):
        """Give the memory of the factor back."""
        if self._matrix is not None:
            self._call(-1)
            self._matrix = None

    def _call(self, phase, right=NOTHING, solution=NOTHING):
        pattern, error = self._matrix.pattern, np.zeros(1, dtype=np.int32)
        self._run(
            _at(self._handle),
            _number(1),  # matrices kept
            _number(1),  # which of them
            _number(self._type),
            _number(phase),
            _number(pattern.n_points),
            _at(self._matrix.blocks),
            _at(pattern.starts),
            _at(pattern.columns),
            None,  # no order given
            _number(right.shape[1]),
            _at(self._parameters),
            _number(0),  # print nothing
            _at(right),
            _at(solution),
            _at(error),
        )
        if error[0] in self.NOT_POSITIVE:
            raise NotPositiveError("the matrix is not positive definite.")
        if error[0]:
            raise SolveError(f"PARDISO gave up: {FAILURES.get(int(error[0]), f'its error {error[0]}')}.")


@cache
def _mkl():
    """The library, beside this Python, where installing pypardiso puts it; else pypardiso searches the disk for it."""
    for pattern in ("lib/libmkl_rt.so*", "Library/bin/mkl_rt*.dll"):
        for path in sorted(Path(sys.prefix).glob(pattern)):
            return ctypes.CDLL(str(path))
    from pypardiso import PyPardisoSolver

    return PyPardisoSolver().libmkl


def _at(array):
    return ctypes.c_void_p(array.ctypes.data)


def _number(value):
    return ctypes.byref(ctypes.c_int32(value))

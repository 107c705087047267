"""What is kept from one solve to the next on the same mesh: stiffness and factors, and what a change leaves of them.

A factor also serves a stiffness near its own, as preconditioner of conjugate gradients. Where thicknesses and moduli
alone have changed, the iterations are known beforehand: every stiffness of a cell grows by no less than E t and no more
than E t³, so that the condition number is at most the largest growth over the smallest, of unchanged cells 1.
"""

from dataclasses import fields

import numpy as np

from ..model.values import content
from .cells import cell_arrays
from .refine import REFINEMENTS, solve_near, solve_refined

__all__ = ["Factor", "changed_cells", "iterations_between", "pattern_key", "stiff_cells"]

# A factorisation costs about as many iterations as this times the cube root of the unknowns: 12 at 100,000, 25 at a
# million; re_solve.py among the benchmarks measures both.
FACTORISATION = 0.25
MORE = 5  # iterations beyond the bound, which holds without rounding; then a new factor is made after all
PROVEN = 1e-12  # relative, in energy: where thin shells of 100,000 unknowns have the residual that a proof asks for


def pattern_key(model):
    """What the pattern hangs on besides the supports: equal for models that may share it."""
    return (model.mesh.fingerprint, model.behaviour, tuple(model.beams), content(model.links))


def stiff_cells(model):
    """What decides the stiffness of all cells and beams, by kind."""
    beams = model.beam_cells
    return cell_arrays(model) | ({"beam": beams} if len(beams) else {})


class Factor:
    """The factored stiffness of one set of held unknowns, by a direct solver of its own."""

    def __init__(self, engine, is_ordered=False):
        self.engine, self.is_ordered = engine, is_ordered
        self._of = self._cells = None
        self._limit = 0  # iterations that the present stiffness needs

    def serves(self, stiffness, cells, n_right):
        """Whether it solves for a stiffness of these cells, for `n_right` right-hand sides, at less than a new one."""
        if self._of is None:
            return False
        self._limit = 0 if stiffness is self._of else iterations_between(self._cells, cells)
        # several right-hand sides at once cost 0.4 of the first each
        most = FACTORISATION * stiffness.pattern.n_unknowns ** (1 / 3) / (0.6 + 0.4 * n_right)
        return self._limit <= most

    def order(self, reduced):
        """Find the order of elimination."""
        self.engine.order(reduced)
        self.is_ordered = True

    def factorise(self, reduced, stiffness, cells, work):
        """Factor the reduced matrix of a stiffness; `work` counts."""
        self.engine.factorise(reduced)
        self._of, self._cells, self._limit = stiffness, cells, 0
        work["factorisations"] += 1

    def solve(self, stiffness, reduction, right, work):
        """Displacements and ``K u`` as `solve_refined` gives them; `work` counts."""
        if self._limit == 0:
            work["refinements"] += REFINEMENTS * right.shape[1]
            return solve_refined(self.engine, stiffness, reduction, right)
        u, inner, iterations = solve_near(self.engine, stiffness, reduction, right, self._limit + MORE)
        work["iterations"] += iterations
        return u, inner


def changed_cells(old, new):
    """Which cells have another stiffness, by kind, as masks (n_cells,).

    Parameters
    ----------
    old, new : dict of str to CellArrays or BeamCells
        The same cells.
    """
    return {kind: _differ(old[kind], new[kind], [field.name for field in fields(new[kind])]) for kind in new}


def iterations_between(old, new):
    """Conjugate gradients that bring what is left below `PROVEN` with the factor of the old cells; inf if unknown.

    The bound for a condition number c: ``2 ((√c - 1) / (√c + 1))ⁿ`` (Saad, *Iterative Methods for Sparse Linear
    Systems*, 2nd ed., section 6.11.3).

    Parameters
    ----------
    old, new : dict of str to CellArrays or BeamCells
    """
    least = most = 1.0
    for kind in new:
        one, other = old[kind], new[kind]
        scaled = ("thickness", "youngs_modulus") if kind != "beam" else ()
        if _differ(one, other, [f.name for f in fields(other) if f.name not in scaled]).any():
            return np.inf
        if scaled and len(other):
            thicker, stiffer = (getattr(other, name) / getattr(one, name) for name in scaled)
            growth = stiffer * np.stack([thicker, thicker**3])
            least, most = min(least, growth.min()), max(most, growth.max())
    root = np.sqrt(most / least)
    return int(np.ceil(np.log(2 / PROVEN) / np.log((root + 1) / (root - 1)))) if root > 1 else 1


def _differ(one, other, names):
    """Which rows of two sets of arrays are not the same."""
    is_changed = np.zeros(len(other), dtype=bool)
    for a, b in ((getattr(one, name), getattr(other, name)) for name in names):
        if a is not b:
            is_changed |= (a != b).reshape(len(other), -1).any(axis=1)
    return is_changed

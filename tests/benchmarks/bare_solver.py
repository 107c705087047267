"""What a solve takes, phase by phase, beside the bare direct solver on the same matrix.

Run from the repository's root, with the number of cells across a panel twice as long as wide::

    PYTHONPATH=tests OMP_NUM_THREADS=2 python tests/benchmarks/bare_solver.py 90 283

90 makes 100,000 unknowns and 283 a million (4 GB). Times are of the processor, all threads together, beside those of
the clock: on a machine that does other work only the former can be compared.
"""

import sys
from time import perf_counter, process_time

import numpy as np
from scipy.sparse import csr_array

from femkit.model.support import constraints_of
from femkit.solve import solve_displacements
from femkit.solve.assemble import assemble_stiffness
from femkit.solve.constraints import reduce_matrix, reduction_of
from femkit.solve.pattern import find_pattern

__all__ = ["bare_seconds", "reduced_stiffness", "upper_entries"]


def reduced_stiffness(model):
    """The matrix that the solver is given for a model's own supports."""
    stiffness = assemble_stiffness(model, find_pattern(model.mesh, model.n_components))
    return reduce_matrix(stiffness, reduction_of(model, constraints_of(model.mesh, model.supports, model.n_components)))


def upper_entries(matrix):
    """The upper triangle entry by entry, zeros of the blocks kept, as the solver is usually given it."""
    whole = matrix.upper.tocsr()
    rows = np.repeat(np.arange(whole.shape[0]), np.diff(whole.indptr))
    is_upper = whole.indices >= rows
    indptr = np.concatenate([[0], np.cumsum(np.bincount(rows[is_upper], minlength=whole.shape[0]))])
    return csr_array((whole.data[is_upper], whole.indices[is_upper], indptr), shape=whole.shape)


def bare_seconds(matrix, two_levels=False):
    """PARDISO alone on single entries: clock and processor times of analysis, factorisation and one solution."""
    from pypardiso import PyPardisoSolver

    solver, right = PyPardisoSolver(mtype=2), np.ones((matrix.shape[0], 1))
    solver.iparm[:2], solver.iparm[23] = (1, 2), int(two_levels)
    times = []
    for phase in (11, 22, 33):
        start = perf_counter(), process_time()
        solver.set_phase(phase)
        solver._call_pardiso(matrix, right)
        times.append((perf_counter() - start[0], process_time() - start[1]))
    solver.free_memory(everything=True)
    return np.array(times)  # (3 phases, clock and processor)


def _compare(n_across):
    from solve.small_models import cantilever, panel

    model = cantilever(panel(2 * n_across, n_across, 1000.0, 500.0, rise=50.0))
    matrix = upper_entries(reduced_stiffness(model))
    bare = min((bare_seconds(matrix, two_levels) for two_levels in (False, True)), key=lambda times: times[:, 1].sum())
    del matrix
    start = perf_counter(), process_time()
    solution = solve_displacements(model, solver="pardiso")
    taken = np.array([perf_counter() - start[0], process_time() - start[1]])
    print(f"{solution.counts.unknowns:,} unknowns            clock  processor")
    for phase, (clock, processor) in zip(("analysis", "factorisation", "solution"), bare):
        print(f"  bare {phase:14s}         {clock:8.2f} {processor:8.2f} s")
    for phase, clock in solution.seconds.items():
        print(f"  kit  {phase:14s}         {clock:8.2f}          s")
    print("  kit / bare                {:8.2f} {:8.2f}".format(*taken / bare.sum(axis=0)))


if __name__ == "__main__":
    for n_across in map(int, sys.argv[1:]):
        _compare(n_across)

"""What a solve takes, beside the bare direct solver on the same matrix."""

from time import process_time

import numpy as np
import pytest
from scipy.sparse import csr_array
from small_models import cantilever, panel

from femkit.model.support import constraints_of
from femkit.solve import solve_displacements
from femkit.solve.assemble import assemble_stiffness
from femkit.solve.constraints import reduce_matrix, reduction_of
from femkit.solve.pattern import find_pattern


def upper_entries(matrix):
    """The upper triangle entry by entry, zeros of the blocks kept, as the solver is usually given it."""
    whole = matrix.upper.tocsr()
    rows = np.repeat(np.arange(whole.shape[0]), np.diff(whole.indptr))
    is_upper = whole.indices >= rows
    indptr = np.concatenate([[0], np.cumsum(np.bincount(rows[is_upper], minlength=whole.shape[0]))])
    return csr_array((whole.data[is_upper], whole.indices[is_upper], indptr), shape=whole.shape)


def bare_seconds(matrix):
    """Processor time of PARDISO alone: analysis, factorisation and one solution."""
    from pypardiso import PyPardisoSolver

    solver, right = PyPardisoSolver(mtype=2), np.ones((matrix.shape[0], 1))
    solver.iparm[:2] = 1, 2
    start = process_time()
    for phase in (11, 22, 33):
        solver.set_phase(phase)
        solver._call_pardiso(matrix, right)
    taken = process_time() - start
    solver.free_memory(everything=True)
    return taken


@pytest.mark.slow
def test_hundred_thousand_unknowns_beside_the_bare_solver(capsys):
    model = cantilever(panel(180, 90, 1000.0, 500.0, rise=50.0))
    pattern = find_pattern(model.mesh, 6)
    stiffness = assemble_stiffness(model, pattern)
    reduced = reduce_matrix(stiffness, reduction_of(model, constraints_of(model.mesh, model.supports)))
    bare = min(bare_seconds(upper_entries(reduced)) for _ in range(3))
    ours = []
    for _ in range(3):
        start = process_time()
        solution = solve_displacements(model, solver="pardiso")
        ours.append(process_time() - start)
    phases = ", ".join(f"{phase} {seconds:.2f} s" for phase, seconds in solution.seconds.items())
    with capsys.disabled():
        print(
            f"\n{solution.counts.unknowns} unknowns: {min(ours) / bare:.2f} of the bare solver's {bare:.2f} s; {phases}"
        )
    assert solution.counts.unknowns == 98_826
    assert min(ours) < 3.0 * bare  # processor time; a lost order of magnitude shows, a busy machine does not
    assert solution.proof["end"].residual < 1e-14

"""Solving again on the same mesh beside a cold solve, both to checked stresses, in one process and turn by turn.

Run from the repository's root::

    PYTHONPATH=tests python tests/benchmarks/re_solve.py                  # 100,000 and 300,000 unknowns, 3 runs each
    PYTHONPATH=tests python tests/benchmarks/re_solve.py 264 --runs 1     # 1,000,000

A number is that of the cells across the panel of `cold_solve`. The error is that of displacements against a solution
refined with residuals of extended precision; the direct solver's own stands beside it. Ratios of medians count.
"""

import argparse
import warnings
from contextlib import closing
from dataclasses import replace
from time import perf_counter, process_time

import numpy as np
from benchmarks.cold_solve import stiffened_panel
from scipy.sparse import triu

import femkit as fk
from femkit.model.support import constraints_of
from femkit.solve.assemble import assemble_stiffness
from femkit.solve.constraints import pattern_of, reduce_matrix, reduction_of
from femkit.solve.factorise import choose_solver

__all__ = ["refined_further"]

AIM = 0.65


def refined_further(model, displacement):
    """Displacements of a model's first load case brought nearer by residuals of extended precision; of size alone."""
    reduction = reduction_of(model, constraints_of(model.mesh, model.supports, model.n_components))
    stiffness = assemble_stiffness(model, pattern_of(model, [reduction]))
    upper = triu(stiffness.upper.tocsr()).tocsr().astype(np.longdouble)
    diagonal, u = upper.diagonal(), displacement.ravel().astype(np.longdouble)
    forces = model.point_forces(model.load_cases[0]).ravel()
    with closing(choose_solver()[1]) as engine:
        engine.order(reduced := reduce_matrix(stiffness, reduction))
        engine.factorise(reduced)
        for _ in range(5):
            left = reduction.reduce(forces - (upper @ u + upper.T @ u - diagonal * u)).astype(float)
            u += reduction.expand(engine.solve(left[:, None])[:, 0])
    return u.astype(float).reshape(displacement.shape)


def changes(model):
    """What is asked of the same mesh: name and model."""
    steel = model.plates["sheet"].material
    webs = [name for name in model.plates if name.startswith("web")]

    def with_plates(**thicknesses):
        return replace(model, plates=model.plates | {name: fk.Plate(t, steel) for name, t in thicknesses.items()})

    yield "other loads", replace(model, load_cases=[fk.LoadCase("end", fk.LineLoad("sheet s=1", fx=20.0, fz=0.1))])
    yield "one web from 6 to 8 mm", with_plates(**{webs[0]: 8.0})
    yield "all webs from 6 to 7 mm", with_plates(**dict.fromkeys(webs, 7.0))
    yield "the sheet from 4 to 4.5 mm", with_plates(sheet=4.5)
    yield "the sheet from 4 to 8 mm", with_plates(sheet=8.0)
    yield "all plates 5 % thicker", with_plates(**{name: 1.05 * p.thickness for name, p in model.plates.items()})
    yield "all plates, by halves and doubles", with_plates(sheet=8.0, **dict.fromkeys(webs, 3.0))


def _timed(solve):
    """A result, and the seconds to it and its stresses on three surfaces, of the clock and of the processors."""
    start = np.array([perf_counter(), process_time()])
    result = solve()
    for surface in ("top", "middle", "bottom"):
        result["end"].von_mises(surface)
    return result, np.array([perf_counter(), process_time()]) - start


def _error(result, reference):
    moved = result["end"].displacement[:, :3]
    return np.abs(moved - reference[:, :3]).max() / np.abs(reference).max()


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("sizes", nargs="*", type=int, default=(83, 144))
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--only", default="", help="part of the names of the changes to try")
    chosen = parser.parse_args()
    warnings.simplefilter("ignore", fk.FemkitWarning)  # the panel sags by half a thickness
    for n_across in chosen.sizes:
        model = stiffened_panel(n_across)
        for name, other in (pair for pair in changes(model) if chosen.only in pair[0]):
            cold, again = [], []
            with fk.StaticSolver(model) as solver:
                for _ in range(chosen.runs):
                    # replace() and mesh copies give both sides models that nothing is known of
                    direct, seconds = _timed(lambda other=other: fk.solve_static(_fresh(other)))
                    cold.append(seconds)
                    solver.solve(replace(model))
                    kept, seconds = _timed(lambda other=other: solver.solve(replace(other)))
                    again.append(seconds)
            reference = refined_further(other, direct["end"].displacement)
            counts = kept.solution.counts
            (clock, processor), (cold_clock, cold_processor) = np.median(again, axis=0), np.median(cold, axis=0)
            print(
                f"{counts.unknowns:,} unknowns, {name}: {clock:.2f} / {cold_clock:.2f} s = {clock / cold_clock:.2f} "
                f"(aim {AIM}; processors {processor / cold_processor:.2f}); "
                f"{counts.formed:,} cells formed, {counts.factorisations} factorisations, "
                f"{counts.iterations} iterations; error {_error(kept, reference):.0e}, cold "
                f"{_error(direct, reference):.0e}",
                flush=True,
            )


def _fresh(model):
    return replace(model, mesh=replace(model.mesh))


if __name__ == "__main__":
    main()

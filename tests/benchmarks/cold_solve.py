"""A cold solve, from a model to checked stresses on three surfaces, beside the bare direct solver on the same matrix.

Run from the repository's root::

    PYTHONPATH=tests python tests/benchmarks/cold_solve.py                # 30,000 to 1,000,000 unknowns, 3 runs each
    PYTHONPATH=tests python tests/benchmarks/cold_solve.py 83 --runs 1 --write cold_solve.json

A number is that of the cells across a stiffened curved panel: 46, 83, 144 and 264 make 30,000, 100,000, 300,000 and
1,000,000 unknowns. Both sides run in processes of their own, turn by turn, so that peak memory is theirs alone. Ratios
of medians of one run are what counts: clock times of a machine that does other work can't be compared.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
from itertools import pairwise
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
from scipy.sparse import csr_array

import femkit as fk
from femkit.model.support import constraints_of
from femkit.results import StaticResult
from femkit.solve import solve_displacements
from femkit.solve.assemble import assemble_stiffness
from femkit.solve.constraints import pattern_of, reduce_matrix, reduction_of
from femkit.verify import grid, joined

__all__ = ["bare_seconds", "reduced_stiffness", "stiffened_panel", "upper_entries"]

SIZES = (46, 83, 144, 264)
AIMS = {100_000: 1.75, 1_000_000: 1.4}  # kit over bare


def stiffened_panel(n_across):
    """A panel of 2000 × 1000 mm with a radius of 3000, and a web of 60 mm every ten cells; invented."""
    n_along, lines = 2 * n_across, np.arange(5, n_across, 10) / n_across

    def curved(s, t, depth=0.0):
        angle = (t - 0.5) / 3
        return np.column_stack([2000 * s, (3000 - depth) * np.sin(angle), (3000 - depth) * np.cos(angle) - 3000])

    parts = {"sheet": grid("quad", n_along, n_across, curved)}
    for number, line in enumerate(lines):
        parts[f"web {number}"] = grid("quad", n_along, 2, lambda s, t, line=line: curved(s, line + 0 * t, 60 * t))
    mesh = joined(**parts)
    steel = fk.Material("steel", E=210_000, nu=0.3, density=7.85e-9)
    plates = {name: fk.Plate(4.0 if name == "sheet" else 6.0, steel) for name in mesh.cell_sets}
    clamp = fk.Support("sheet s=0", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    load = fk.LineLoad("sheet s=1", fx=30.0, fy=4.0, fz=0.05)
    return fk.Model(mesh, plates, supports=[clamp], load_cases=[fk.LoadCase("end", load)])


def reduced_stiffness(model):
    """The matrix that the solver is given for a model's own supports."""
    reduction = reduction_of(model, constraints_of(model.mesh, model.supports, model.n_components))
    return reduce_matrix(assemble_stiffness(model, pattern_of(model, [reduction])), reduction)


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


def _kit(n_across):
    """One cold solve by the kit: seconds by phase, unknowns, componentwise residual."""
    model = stiffened_panel(n_across)
    result = StaticResult(model, solve_displacements(model))
    phases, start = dict(result.solution.seconds), perf_counter()
    largest = max(float(result["end"].von_mises(surface).max()) for surface in ("top", "middle", "bottom"))
    phases["recover"], start = perf_counter() - start, perf_counter()
    _ = result.notes
    phases["look beyond linear theory"] = perf_counter() - start
    proof = result.solution.proof["end"]
    return {
        "unknowns": result.solution.counts.unknowns,
        "seconds": phases,
        "residual": proof.residual,
        "stress": largest,
    }


def _bare(path):
    """One analysis, factorisation and solution by the solver alone, the better of its two ways to factorise."""
    with np.load(path) as file:
        shape = (len(file["indptr"]) - 1,) * 2
        matrix = csr_array((file["data"], file["indices"], file["indptr"]), shape=shape)
    phases = ("analysis", "factorisation", "solution")
    return {"seconds": dict(zip(phases, bare_seconds(matrix)[:, 0].tolist()))}


def _child(*arguments):
    """A function of this file in a fresh process, with its peak memory."""
    done = subprocess.run([sys.executable, __file__, "--child", *arguments], capture_output=True, text=True, check=True)
    return json.loads(done.stdout.splitlines()[-1])


def _run_child(what, argument):
    if what == "matrix":
        n_across, path = argument.split(":", 1)
        matrix = upper_entries(reduced_stiffness(stiffened_panel(int(n_across))))
        np.savez(path, data=matrix.data, indices=matrix.indices.astype(np.int32), indptr=matrix.indptr.astype(np.int32))
        found = {}
    else:
        found = _kit(int(argument)) if what == "kit" else _bare(argument)
    found["peak memory (GB)"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6  # ru_maxrss is in kB
    print(json.dumps(found))


def _measure(n_across, runs):
    """Medians of both sides, run turn by turn."""
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "matrix.npz")
        _child("matrix", f"{n_across}:{path}")
        pairs = [(_child("kit", str(n_across)), _child("bare", path)) for _ in range(runs)]
    sides = []
    for side in zip(*pairs):
        seconds = {phase: float(np.median([run["seconds"][phase] for run in side])) for phase in side[0]["seconds"]}
        total = float(np.median([sum(run["seconds"].values()) for run in side]))
        memory = float(np.median([run["peak memory (GB)"] for run in side]))
        sides.append({"seconds": seconds, "total": total, "peak memory (GB)": memory})
    kit, bare = sides
    return {
        "unknowns": pairs[0][0]["unknowns"],
        "residual": pairs[0][0]["residual"],
        "kit": kit,
        "bare": bare,
        "time ratio": kit["total"] / bare["total"],
        "memory ratio": kit["peak memory (GB)"] / bare["peak memory (GB)"],
    }


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("sizes", nargs="*", type=int, default=SIZES)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--write", type=Path)
    chosen = parser.parse_args()
    found = []
    for n_across in chosen.sizes:
        found.append(one := _measure(n_across, chosen.runs))
        print(f"\n{one['unknowns']:,} unknowns, componentwise residual {one['residual']:.0e}")
        for side in ("kit", "bare"):
            phases = ", ".join(f"{phase} {seconds:.2f}" for phase, seconds in one[side]["seconds"].items())
            print(f"  {side:4}  {one[side]['total']:7.2f} s  {one[side]['peak memory (GB)']:5.2f} GB   {phases}")
        aim = next((f" (aim {aim})" for size, aim in AIMS.items() if abs(one["unknowns"] / size - 1) < 0.1), "")
        print(f"  kit / bare: time {one['time ratio']:.2f}{aim}, peak memory {one['memory ratio']:.2f} (aim 1.2)")
    for first, second in pairwise(found):
        growth = np.log(second["kit"]["total"] / first["kit"]["total"]) / np.log(second["unknowns"] / first["unknowns"])
        print(f"time grows with exponent {growth:.2f} from {first['unknowns']:,} to {second['unknowns']:,} unknowns")
    if chosen.write:
        chosen.write.write_text(json.dumps({"cores": os.cpu_count(), "sizes": found}, indent=1), encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--child"]:
        _run_child(*sys.argv[2:])
    else:
        main()

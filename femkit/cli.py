"""The kit's commands: look a mesh file over, run a study's notebooks from end to end, check the kit itself."""

import argparse
import sys
import time
from pathlib import Path

from .errors import FemkitError

__all__ = ["main"]

CAUTION = (
    "A calculation aid: the codes that apply where the vehicle runs and a licensed engineer's judgement come first."
)


def main(arguments=None):
    """Entry point of the ``femkit`` command; returns the exit status: 0 when all went well, 1 when not."""
    parser = _parser()
    chosen = parser.parse_args(arguments)
    if not hasattr(chosen, "run"):
        parser.print_help()
        return 0
    try:
        return chosen.run(chosen) or 0
    except FemkitError as error:
        print(f"femkit {chosen.verb}: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print(f"femkit {chosen.verb}: stopped.", file=sys.stderr)
        return 130


def _parser():
    parser = argparse.ArgumentParser(prog="femkit", description=__doc__, epilog=CAUTION)
    verbs = parser.add_subparsers(dest="verb", title="verbs")
    check = verbs.add_parser(
        "check",
        help="say what a mesh file holds, and how good its cells are",
        epilog="example: femkit check meshes/side_wall_baseline.msh",
    )
    check.add_argument("mesh", type=Path, help="a .msh (2.2 or 4.1) or .vtu file")
    check.add_argument("--unit", default="mm", help="unit of length in the file (default: mm)")
    check.set_defaults(run=_check)
    study = verbs.add_parser(
        "study",
        help="execute a folder's notebooks in order, print the comparison, keep pages and fields",
        epilog="example: femkit study notebooks",
    )
    study.add_argument("folder", type=Path, nargs="?", default=Path("notebooks"), help="(default: notebooks)")
    study.add_argument(
        "--only",
        action="append",
        default=[],
        metavar="NAME",
        help="run this notebook alone; may be repeated (default: all but 04_verification and 05_what-if)",
    )
    study.set_defaults(run=_study)
    verify = verbs.add_parser(
        "verify",
        help="run the published cases of the catalogue, and say of each whether the kit gives its number",
        epilog='examples: femkit verify; femkit verify modes "cylindrical roof" --write table.csv. '
        "Ends with status 1 if any case is out of its band.",
    )
    verify.add_argument("names", nargs="*", metavar="CASE", help="cases or groups by name (default: all)")
    verify.add_argument("--longer", action="store_true", help="add the finer meshes of each ladder")
    verify.add_argument("--list", action="store_true", help="name the cases, and run none")
    verify.add_argument(
        "--write",
        type=Path,
        action="append",
        default=[],
        metavar="FILE",
        help="keep the table: .csv or .json; may be repeated",
    )
    verify.set_defaults(run=_verify)
    return parser


def _check(chosen):
    from .mesh import mesh_quality, read_mesh

    mesh = read_mesh(chosen.mesh, unit=chosen.unit)
    print(mesh.report)
    print(mesh_quality(mesh).summary)


def _study(chosen):
    from .show import HOW_TO_DRAW, drawing_fault
    from .study.notebooks import run_notebooks

    start = time.perf_counter()
    if fault := drawing_fault():
        print(f"{fault} The pages will hold words in place of pictures. To draw: {HOW_TO_DRAW}", file=sys.stderr)
    results = chosen.folder / "results"
    pages = run_notebooks(chosen.folder, only=chosen.only, progress=_show_progress)
    for words in sorted(results.glob("*.txt")) if not chosen.only else ():
        print(words.read_text(encoding="utf-8"))
    print(f"executed pages: {', '.join(str(page) for page in pages)}")
    print(f"fields for a VTK viewer: {', '.join(str(path) for path in sorted(results.glob('*.vtu'))) or 'none'}")
    print(f"tables: {', '.join(str(path) for path in sorted(results.glob('*.csv'))) or 'none'}")
    print(f"{CAUTION}\nDone in {time.perf_counter() - start:.0f} s.")


def _verify(chosen):
    from .verify import CASES, LINE_HEADS, choose, verify

    cases = choose(CASES, chosen.names)
    if chosen.list:
        print("\n".join(f"{case.group}: {case.name} ({', '.join(case.kinds)})" for case in cases))
        return 0
    checked = verify(cases, longer=chosen.longer, progress=_show_progress)
    group = None
    for outcome in checked.outcomes:
        if outcome.case.group != group:
            group = outcome.case.group
            print(f"\n{group}\n{LINE_HEADS}")
        print(outcome.line)
    for path in chosen.write:
        print(f"table: {checked.write(path)}", file=sys.stderr)
    n_out = sum(not outcome.passed for outcome in checked.outcomes)
    print(f"\n{len(checked.outcomes)} runs of {len(cases)} cases: {n_out or 'none'} out of the band.\n{CAUTION}")
    return int(n_out > 0)


def _show_progress(name, done, total):
    """One line that grows in a terminal; one line in all where the output is kept in a file."""
    if sys.stderr.isatty():
        line = f"{name}: {done} of {total}"
        print(f"\r{line:78}", end="\n" if done == total else "", file=sys.stderr, flush=True)
    elif done == total:
        print(f"{name}: {total} done", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())

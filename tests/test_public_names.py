"""The public surface: names, what importing loads, and which way imports run."""

import ast
import subprocess
import sys
from pathlib import Path

import femkit as fk

ROOT = Path(fk.__file__).parent
ROAD = ["units", "mesh", "model", "elements", "solve", "results", "assess", "study", "show"]


def test_public_names_are_sorted_complete_and_there():
    assert list(fk.__all__) == sorted(fk.__all__)
    assert all(hasattr(fk, name) for name in fk.__all__)
    defined = {name for name in vars(fk) if not name.startswith("_")}
    submodules = {path.stem for path in ROOT.glob("*.py")} | {path.parent.name for path in ROOT.glob("*/__init__.py")}
    assert defined - submodules <= set(fk.__all__)


def test_import_loads_neither_drawing_nor_tables():
    heavy = ["pyvista", "vtk", "vtkmodules", "pandas", "matplotlib", "pypardiso", "IPython"]
    code = f"import femkit, sys; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_imports_run_down_the_road_only():
    upward = []
    for path in sorted(ROOT.rglob("*.py")):
        stop = path.relative_to(ROOT).parts[0].removesuffix(".py")
        if stop not in ROAD:
            continue
        for name in _imported(path):
            if name in ROAD and ROAD.index(name) > ROAD.index(stop):
                upward.append(f"{path.relative_to(ROOT)} imports {name}")
    assert upward == []


def _imported(path):
    """Stops of the kit that a file imports from, relative imports resolved."""
    package = ["femkit", *path.relative_to(ROOT).parts[:-1]]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            full = base + (node.module.split(".") if node.module else [])
            names = [full] if len(full) > 1 else [[*full, alias.name] for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name.split(".") for alias in node.names]
        else:
            continue
        yield from (name[1] for name in names if name[0] == "femkit" and len(name) > 1)

"""Files for the mesh tests."""

from pathlib import Path

import pytest
from mesh_files import FLAVOUR_NAMES, FLAVOURS, tee, write_msh


@pytest.fixture(params=FLAVOURS, ids=FLAVOUR_NAMES)
def flavour(request):
    """Version and whether binary."""
    return request.param


@pytest.fixture
def tee_file(tmp_path, flavour):
    """The small tee in each flavour of file."""
    return write_msh(tmp_path / "tee.msh", tee(), *flavour)


@pytest.fixture(scope="session")
def demo():
    """The demo's three mesh files by variant."""
    folder = Path(__file__).parents[2] / "meshes"
    return {variant: folder / f"side_wall_{variant}.msh" for variant in ("baseline", "cut-out", "reinforced")}

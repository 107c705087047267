"""Files for the mesh tests."""

import pytest
from files import FLAVOUR_NAMES, FLAVOURS, tee, write_msh


@pytest.fixture(params=FLAVOURS, ids=FLAVOUR_NAMES)
def flavour(request):
    """Version and whether binary."""
    return request.param


@pytest.fixture
def tee_file(tmp_path, flavour):
    """The small tee in each flavour of file."""
    return write_msh(tmp_path / "tee.msh", tee(), *flavour)

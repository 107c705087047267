"""A small solved model for all pictures, and the skip where nothing can be drawn."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk
from femkit.show import can_draw


def pytest_runtest_setup(item):
    if item.get_closest_marker("picture") and not can_draw():
        pytest.skip("no OpenGL library to draw with")


@pytest.fixture(scope="session")
def model():
    """A clamped sheet, its outer half thicker, of triangles and quadrilaterals, bent and pulled. Invented."""
    mesh = grid(400.0, 200.0, 16, 8, kind="mixed")
    thin = np.flatnonzero(mesh.centres[:, 0] < 200)
    thick = np.setdiff1d(np.arange(mesh.n_cells), thin)
    mesh = replace(mesh, cell_sets={"thin": thin, "thick": thick, "pad": thick[:3]})
    return fk.Model(
        mesh,
        {"thin": fk.Plate(6.0, STEEL), "thick": fk.Plate(10.0, STEEL)},
        supports=[fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0)],
        load_cases=[
            fk.LoadCase("press", [fk.LineLoad("right", fz=-0.02)]),
            fk.LoadCase("pull", [fk.LineLoad("right", fx=4000, total=True), fk.Gravity()]),
        ],
        combinations=[fk.Combination("both", {"press": 1.0, "pull": 1.5})],
    )


@pytest.fixture(scope="session")
def result(model):
    return fk.solve_static(model)


@pytest.fixture(scope="session")
def case(result):
    return result["both"]

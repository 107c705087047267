"""A strip of 20 x 5 mm pulled along x: 100 MPa by 10 kN, 40 MPa by 4 kN."""

from sheets import STEEL, grid

import femkit as fk

HELD = (fk.Support("left", ux=0, uz=0, rx=0, ry=0, rz=0), fk.Support([0], uy=0))
OTHERWISE = (fk.Support("left", ux=0, uz=0, rx=0, ry=0, rz=0, uy=0),)


def strip(thickness=5.0):
    """The model; "running gear" stands elsewhere."""
    pull = lambda kilonewtons: [fk.LineLoad("right", fx=1e3 * kilonewtons, total=True)]  # noqa: E731
    cases = [fk.LoadCase("pull", pull(10)), fk.LoadCase("side-pull 2", pull(4))]
    cases.append(fk.LoadCase("running gear", pull(1), supports=OTHERWISE))
    both = fk.Combination("both", {"pull": 1, "side-pull 2": 0.5})
    mesh = grid(200, 20, 20, 4, wobble=0.2)
    return fk.Model(mesh, fk.Plate(thickness, STEEL), supports=HELD, load_cases=cases, combinations=[both])

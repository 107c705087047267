"""The same content has the same fingerprint, in any process; a change of any field changes it."""

import subprocess
import sys
from dataclasses import fields, replace

import numpy as np
import pytest
from model_parts import CLAMP, model_of
from sheets import STEEL, grid

import femkit as fk
from femkit.model.values import content

SCRIPT = """
from test_fingerprint import everything
print(everything().fingerprint)
"""


def everything():
    """A model that uses each kind of thing there is."""
    mesh = replace(grid(400, 200, 4, 2), cell_sets={"web": np.arange(6), "pad": [6, 7]})
    loads = [
        fk.PointLoad(fk.near(400, 200), fz=-1.0),
        fk.LineLoad("right", fx=2.0),
        fk.SpreadLoad("pad", my=3.0, at=(0, 0, 50)),
        fk.Pressure("web", 0.01),
        fk.Gravity(),
        fk.Acceleration(x=1000.0),
        fk.Temperature([1, 2], 20.0),
    ]
    return fk.Model(
        mesh,
        {"web": fk.Plate(3.0, STEEL), "pad": fk.Plate([4.0, 5.0], STEEL, offset=1.0)},
        supports=[fk.Support("left", **CLAMP)],
        load_cases=[fk.LoadCase("all", loads), fk.LoadCase("own", loads[:1], supports=[fk.Support([0, 1], **CLAMP)])],
        combinations=[fk.Combination("sum", {"all": 1.35})],
        masses=[
            fk.PointMass("right", 1e-3, total=True),
            fk.LineMass("near", 1e-6),
            fk.AreaMass(fk.inside(x=(0, 99)), 1e-9),
        ],
        beams={"far": fk.Beam(fk.flat_bar(50, 5), STEEL)},
        links=[
            fk.RigidLink([8], fk.near(400, 200)),
            fk.JoinedLine([2], "web"),
            fk.Seam("near", "web", along=1e4, across=1e4, normal=1e5, pitch=50, source="invented"),
            fk.Spring([0], ux=5.0),
        ],
    )


def test_the_same_content_has_the_same_fingerprint():
    assert everything().fingerprint == everything().fingerprint
    assert len(everything().fingerprint) == 16


def test_a_fresh_process_finds_the_same_fingerprint():
    done = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, text=True, check=True, env=environment())
    assert done.stdout.strip() == everything().fingerprint


def environment():
    import os

    return {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "PYTHONHASHSEED": "12345"}


@pytest.mark.parametrize(
    "one, same",
    [
        (fk.Support("left", ux=0), fk.Support("left", ux=0.0)),
        (fk.Support([0, 1], ux=0), fk.Support(np.array([0, 1], dtype=np.uint64), ux=-0.0)),
        (fk.SpreadLoad("pad", fz=1, at=(0, 0, 5)), fk.SpreadLoad("pad", fz=1.0, at=np.array([0, 0, 5.0]))),
        (fk.Plate([3, 3], STEEL), fk.Plate(np.array([3.0, 3.0]), replace(STEEL))),
        (fk.Combination("sum", {"a": 1, "b": 2}), fk.Combination("sum", {"b": 2.0, "a": 1.0})),
        (fk.Gravity(direction=(0, 0, -2)), fk.Gravity()),
    ],
)
def test_content_goes_by_value_not_by_type_or_order(one, same):
    assert content(one) == content(same)


OTHER = {  # another value for a field of that name
    "name": "other",
    "where": "elsewhere",
    "material": replace(STEEL, E=70_000),
    "thickness": 7.5,
    "reference": (0, 1, 0),
    "direction": (0, 1, 0),
    "at": (1, 2, 3),
    "factors": {"all": 1.5},
    "loads": [fk.Gravity()],
    "supports": [fk.Support("right", ux=0)],
    "load_cases": [],
    "combinations": [],
    "masses": [],
    "plates": {"web": fk.Plate(9.0, STEEL)},
    "behaviour": "plane stress",
    "units": "any",
    "mesh": grid(400, 200, 2, 2),
    "nu": 0.2,
    "place": (1.0, 1.0, 1.0),
    "mean": True,
    "inertia": (1.0, 2.0, 3.0),
    "beams": {},
    "links": [],
    "section": fk.flat_bar(60, 5),
    "up": (0, 1, 0),
    "to": 3,
    "rotations": False,
    "balanced": True,
    "source": "a test",
    "centroid": (1.0, 1.0),
    "shear_centre": (2.0, 2.0),
    "fibres": ((1.0, 1.0),),
    "total": True,
    "yield_strength": 300.0,
    "ultimate_strength": 500.0,
}
MODEL = everything()
THINGS = [
    MODEL,
    STEEL,
    MODEL.plates["web"],
    MODEL.supports[0],
    fk.LineLoad("right", fx=2.0),
    MODEL.load_cases[1],
    MODEL.combinations[0],
    fk.PointMass("right", 1e-3),
    *MODEL.masses[1:],
    *MODEL.links,
    MODEL.beams["far"],
    MODEL.beams["far"].section,
    *MODEL.load_cases[0].loads,
]


@pytest.mark.parametrize("thing", THINGS, ids=lambda thing: type(thing).__name__)
def test_every_field_counts(thing):
    mark = (lambda one: one.fingerprint) if isinstance(thing, fk.Model) else content
    for field in fields(thing):
        changed = replace(thing, **{field.name: OTHER.get(field.name, 0.123)})
        assert mark(changed) != mark(thing), field.name


def test_a_place_is_not_another_place_of_the_same_numbers():
    places = [fk.near(1, 2, 3), fk.near(1, 2, 3, within=5), fk.on_plane(x=1), fk.on_plane(y=1), fk.inside(x=(1, 2))]
    assert len({content(place) for place in places}) == len(places)


def test_a_load_of_ones_own_is_told_apart_by_what_it_holds():
    class Wind:
        def __init__(self, speed):
            self.speed = speed

        def point_forces(self, model):
            return np.zeros((model.mesh.n_points, 6))

    marks = [
        model_of(MODEL.mesh, load_cases=[fk.LoadCase("wind", [Wind(speed)])]).fingerprint for speed in (20.0, 20, 30.0)
    ]
    assert marks[0] == marks[1] != marks[2]

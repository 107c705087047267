"""Parts that hang equipment on the body, against figures by hand."""

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk
from femkit.assess import equipment
from femkit.units import lbf


def hung(force, material=STEEL):
    """A strip of 20 × 5 mm2 that hangs by its left edge."""
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    rated = fk.LoadCase("rated load", [fk.LineLoad("right", fx=force, total=True)])
    model = fk.Model(grid(200, 20, 20, 2), fk.Plate(5.0, material), supports=[clamp], load_cases=[rated])
    return fk.solve_static(model)["rated load"]


def test_working_parts_need_twice_the_factor_of_the_others():
    # by hand: 5 kN over 100 mm2 is 50 MPa, 360 / 50 = 7.2; 49 CFR 38.23(b) wants 6 of parts that work, 3 of others
    far = fk.inside(x=(150, 200))
    found = equipment(hung(5000), {"working": [far], "not working": ["sheet"]})
    table = found.table()
    assert table.loc[str(far), "factor there"] == pytest.approx(7.2, rel=1e-3)
    assert table.loc[str(far), "utilisation"] == pytest.approx(6 / 7.2, rel=1e-3)
    assert table.loc["sheet", "factor wanted"] == 3
    governing = found.governing()
    assert governing.value == pytest.approx(6 / 7.2, rel=1e-3) and governing.case == "rated load"
    assert governing.place.startswith("inside x = 150 … 200 near (")
    own = equipment(hung(5000), {"rope": far}, factors={"rope": 12.0})
    assert own.governing().value == pytest.approx(12 / 7.2, rel=1e-3)


def test_a_rated_load_below_600_pounds_is_outside_the_rule():
    assert not np.isnan(equipment(hung(600 * lbf), {"not working": ["sheet"]}).governing().value)
    found = equipment(hung(2600), {"not working": ["sheet"]})
    assert np.isnan(found.table()["utilisation"]).all()
    assert found.governing().why == "the rated load is 2600 N; the rule is for at least 2669 N"
    free = equipment(hung(2600), {"not working": ["sheet"]}, least_load=0)
    assert free.governing().value == pytest.approx(3 * 26 / 360, rel=0.02)  # the clamp holds the sides: a peak there


def test_no_ultimate_strength_is_told():
    found = equipment(hung(5000, fk.Material("old", E=210_000, nu=0.3)), {"working": ["sheet"]})
    assert found.governing().why == "no ultimate strength in all cells"


@pytest.mark.parametrize(
    ("parts", "options", "words"),
    [
        ({"wroking": ["sheet"]}, {}, 'no factor for parts "wroking". Did you mean "working"'),
        ({"working": ["shet"]}, {}, 'equipment, working parts: .* Did you mean "sheet"'),
        ({}, {}, "no parts were given"),
        ("sheet", {}, "equipment, parts: 'sheet' can't stand there; it must be a dict"),
        ({"working": ["sheet"]}, {"least_load": np.nan}, "least_load is nan N"),
        ({"working": ["sheet"]}, {"factors": {"working": 0}}, "factor on ultimate strength is 0"),
    ],
)
def test_parts_that_are_not_there_are_named(parts, options, words):
    with pytest.raises(fk.ModelError, match=words):
        equipment(hung(5000), parts, **options)

"""Utilisation against yield and ultimate strength, membrane and bending, over combinations, against figures by hand."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import grid

import femkit as fk
from femkit.assess import panel_fields, strength

NO_SIDE = fk.Material("nu = 0", E=210_000, nu=0.0, yield_strength=275, ultimate_strength=430)


def strip(thickness, cases, material=NO_SIDE, combinations=()):
    """40 × 20 mm, clamped at its left edge, of two plates: the first 20 mm and the rest."""
    mesh = grid(40, 20, 8, 2)
    first = mesh.centres[:, 0] < 20
    mesh = replace(mesh, cell_sets={"root": np.flatnonzero(first), "tip": np.flatnonzero(~first)})
    plates = {name: fk.Plate(thickness, material) for name in ("root", "tip")}
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    cases = [fk.LoadCase(name, loads) for name, loads in cases.items()]
    return fk.solve_static(fk.Model(mesh, plates, supports=[clamp], load_cases=cases, combinations=combinations))


def test_a_plane_state_is_used_as_by_hand():
    # worked by hand: 120, -40, 60 MPa: √(120² + 120·40 + 40² + 3·60²) = √31600 = 177.76389; times 1.15 / 355
    steel, t = fk.Material("S355", E=210_000, nu=0.3, yield_strength=355, ultimate_strength=470), 4.0
    along, across, shear = 120 * t, -40 * t, 60 * t  # N/mm
    pulls = [
        fk.LineLoad("right", fx=along, fy=shear),
        fk.LineLoad("left", fx=-along, fy=-shear),
        fk.LineLoad("far", fx=shear, fy=across),
        fk.LineLoad("near", fx=-shear, fy=-across),
    ]
    held = [
        fk.Support(fk.near(0, 0), ux=0, uy=0, uz=0),
        fk.Support(fk.near(100, 0), uy=0, uz=0),
        fk.Support(fk.near(0, 80), uz=0),
    ]
    model = fk.Model(grid(100, 80, 5, 4), fk.Plate(t, steel), supports=held, load_cases=[fk.LoadCase("load", pulls)])
    found = strength(fk.solve_static(model))
    assert found.utilisation == pytest.approx(0.57585485, rel=1e-7)
    assert found.of("load")[:, 2:] == pytest.approx(1.5 * 177.76389 / 470, rel=1e-7)
    assert found.table()["governs"].iloc[0] == "yield, membrane"  # there is no bending
    tested = strength(fk.solve_static(model), yield_factor=1.0)
    assert tested.utilisation == pytest.approx(1.5 * 177.76389 / 470, rel=1e-7)  # now the ultimate strength governs
    assert tested.table()["governs"].iloc[0] == "ultimate, membrane"


def test_membrane_and_bending_are_told_apart():
    # N = 200 N/mm and m = 150 N mm/mm: the least thickness for f = 275 / 1.15 = 239.13043 MPa is, by hand,
    # t = (N + √(N² + 24 m f)) / 2f = 2.4027504 mm; the stress N/t + 6 m/t² is then f, and N/t is 83.2379 MPa
    t, f = 2.4027504, 275 / 1.15
    found = strength(strip(t, {"load": [fk.LineLoad("right", fx=200, my=150)]}))
    assert found.utilisation == pytest.approx(1.0, rel=1e-6)
    by_check = found.of("load")
    assert by_check[:, 0] == pytest.approx(1.0, rel=1e-6)
    assert by_check[:, 1] == pytest.approx(200 / t / f, rel=1e-6)
    assert by_check[:, 2] == pytest.approx(f * 1.5 / 430, rel=1e-6)
    assert by_check[:, 3] == pytest.approx(200 / t * 1.5 / 430, rel=1e-6)
    row = found.table().loc["tip"]
    assert row["governs"] == "yield, membrane + bending" and row["membrane alone (MPa)"] == pytest.approx(200 / t)
    assert row["by membrane alone"] == pytest.approx(200 / t / f) and row["allowed (MPa)"] == pytest.approx(f)


def test_a_factor_of_its_own_can_make_membrane_stress_govern():
    # 83.238 MPa of membrane stress times 4 over 275 is more than 239.13 MPa in all times 1.15
    load = {"load": [fk.LineLoad("right", fx=200, my=150)]}
    found = strength(strip(2.4027504, load), membrane_factors=(4.0, 1.5))
    assert found.utilisation == pytest.approx(200 / 2.4027504 * 4 / 275, rel=1e-6)
    row = found.table().iloc[0]
    assert row["governs"] == "yield, membrane" and row["allowed (MPa)"] == pytest.approx(275 / 4)


def test_the_envelope_names_the_case_of_every_cell():
    # pull in the whole strip; a moment that enters half way, so that it is the root's alone: 6 m/t² = 150 MPa
    half = fk.on_plane(x=20)
    cases = {"pull": [fk.LineLoad("right", fx=400)], "bend": [fk.LineLoad(half, my=400)]}
    both = fk.Combination("twice the pull", {"pull": 2.0})
    result = strip(4.0, cases, combinations=[both])
    found = strength(result, ["pull", "bend"])
    assert found.names == ("pull", "bend")
    is_root = result.model.mesh.centres[:, 0] < 20
    assert (found.case == np.where(is_root, 1, 0)).all()
    assert found.utilisation[is_root] == pytest.approx(150 * 1.15 / 275, rel=1e-6)
    assert found.utilisation[~is_root] == pytest.approx(100 * 1.15 / 275, rel=1e-6)
    each = np.stack([np.nanmax(found.of(name), axis=1) for name in found.names])
    assert (found.utilisation == each.max(axis=0)).all()
    assert list(found.table()["combination"]) == ["bend", "pull"] and len(found.table(by_case=True)) == 4
    governing = found.governing()
    assert governing.case == "bend" and governing.place.startswith("root near (") and not governing.why
    assert strength(result).names == ("twice the pull",)  # combinations, where there are any
    assert strength(result, "pull").names == ("pull",)
    assert not found.utilisation.flags.writeable


def test_what_has_no_ultimate_strength_is_told_and_the_rest_assessed():
    steel = fk.Material("old", E=210_000, nu=0.0, yield_strength=275)
    result = strip(4.0, {"pull": [fk.LineLoad("right", fx=400)]}, steel)
    found = strength(result)
    assert found.utilisation == pytest.approx(100 * 1.15 / 275) and np.isnan(found.of("pull")[:, 2:]).all()
    assert found.governing().why == "against ultimate strength not assessed: old has none"
    assert found.table()["why"].iloc[0] == found.governing().why and np.isnan(found.table()["against ultimate"].iloc[0])
    assert not strength(result, ultimate_factor=None).governing().why  # it was not asked for
    with pytest.raises(fk.ModelError, match='plates "root", "tip" has no yield strength'):
        strength(strip(4.0, {"pull": [fk.LineLoad("right", fx=400)]}, fk.Material("bare", E=210_000, nu=0.0)))


def test_a_model_of_beams_alone_is_refused():
    mesh = fk.Mesh([[0, 0, 0], [500, 0, 0]], {}, edge_sets={"bar": [[0, 1]]})
    beams, tip = {"bar": fk.Beam(fk.flat_bar(60, 6), NO_SIDE)}, [fk.PointLoad([1], fx=-100)]
    clamp = fk.Support([0], ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    model = fk.Model(mesh, {}, beams=beams, supports=[clamp], load_cases=[fk.LoadCase("load", tip)])
    with pytest.raises(fk.ModelError, match="no plates to judge"):
        strength(fk.solve_static(model))
    with pytest.raises(fk.ModelError, match="panel fields: the model has no sheet"):
        panel_fields(model)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"ultimate_factor": 0}, "factor on ultimate strength is 0.0; it must be a finite number above 0"),
        ({"yield_factor": np.nan}, "factor on yield strength is nan"),
        ({"yield_factor": None}, "factor on yield strength is None"),
        ({"membrane_factors": (1.15,)}, "give two, on yield and on ultimate strength"),
        ({"combinations": 3}, "combinations: 3 can't stand there"),
        ({"combinations": []}, "no load case or combination was given"),
        ({"combinations": ["pul"]}, 'Did you mean "pull"'),
        ({"distance": -1}, "distance to average over is -1"),
    ],
)
def test_what_cannot_be_assessed_is_refused(options, words):
    with pytest.raises(fk.ModelError, match=words):
        strength(strip(4.0, {"pull": [fk.LineLoad("right", fx=400)]}), **options)

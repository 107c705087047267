"""The demo wall cut and reinforced on trestles: what is there weighs and sags as the wall's three forms do."""

import warnings
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import side_wall as demo

import femkit as fk

pd.reset_option("display.float_format")  # which the demo sets for its notebooks


def coarse(panel):
    """Its mesh, with as few cells as will do."""
    return replace(panel, fine=60, coarse=180, across=1).mesh


@pytest.fixture(scope="module")
def sequence():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", fk.FemkitWarning)  # of sheets that sag beyond linear theory
        return fk.solve_stages(demo.model_of_stages(coarse(demo.panel_of_stages())), demo.STAGES)


@pytest.fixture(scope="module")
def forms():
    return {variant: demo.model(variant, coarse(demo.panel(variant, radius=0.0))) for variant in demo.VARIANTS}


def test_each_stage_weighs_what_the_wall_of_that_form_weighs(sequence, forms):
    mass = sequence.table()["mass (t)"]
    for stage, variant in (("on trestles", "baseline"), ("doorway cut", "cut-out"), ("payload", "reinforced")):
        assert mass[stage] == pytest.approx(forms[variant].mass, rel=1e-3)
    for state in sequence:
        assert np.abs((state.load + state.reaction).sum(axis=0)[:3]).max() < 1e-5 * np.abs(state.load).sum()


def test_all_at_once_is_the_reinforced_wall(sequence, forms):
    # another model of the same wall, whose doublers are one plate with the sheet
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", fk.FemkitWarning)
        result = fk.solve_static(forms["reinforced"])
    whole = demo.sag(result["tare"]) + demo.sag(result["payload"])
    assert demo.sag(sequence.all_at_once) == pytest.approx(whole, rel=0.02)


def test_what_is_locked_in_is_in_balance_by_itself(sequence):
    left, final = sequence.locked_in, sequence["payload"]
    assert np.abs(left.load).max() < 1e-6 * np.abs(final.load).max()
    # of the held parts only the floor and the roof, which keep the wall from moving sideways, feel any of it
    assert np.abs(left.reaction[:, 2].sum()) < 1e-6 * final.reaction[:, 2].sum()
    force = left.section(x=3700.0)
    assert np.abs(force.force[[0, 2]]).max() < 1e-5 * np.abs(final.reaction[:, 2]).sum()
    assert demo.sag(left) > 0.1 * demo.sag(final)  # the sole bar sagged in the bare doorway, and stays so

"""The demo's joints: old rivets are assessed on every form of the wall, welds on sheets that are too thin on none."""

import numpy as np
import pandas as pd
import pytest

import femkit as fk

demo, joined = pytest.importorskip("side_wall"), pytest.importorskip("wall_joints")
pd.reset_option("display.float_format")  # which the demo sets for its notebooks


@pytest.mark.filterwarnings("ignore::femkit.FemkitWarning")
def test_rivets_are_assessed_on_every_form_and_welds_on_thin_sheets_on_none():
    results = {form: fk.solve_static(demo.model(form)) for form in demo.VARIANTS}
    used = {form: joined.joints(result) for form, result in results.items()}
    assert list(used["baseline"]) == list(used["cut-out"]) == [joined.RIVETS]
    rivets = {form: each[joined.RIVETS].governing() for form, each in used.items()}
    assert all(found.value > 0 and not found.why for found in rivets.values())
    assert rivets["cut-out"].value > 2 * rivets["reinforced"].value > rivets["baseline"].value  # the doorway's corners
    thin = used["reinforced"][joined.TO_SHEETS].governing()
    assert np.isnan(thin.value) and "plate of 2.5 mm is below 4 mm" in thin.why
    for name in (joined.FEET, joined.DOUBLER):
        assert used["reinforced"][name].governing().value > 0
    seam = joined.seams(results["baseline"])[joined.RIVETS]
    assert [line.case for line in seam] == [combination.name for combination in results["baseline"].model.combinations]

"""Curves along a line."""

import numpy as np
import pytest

from femkit.assess import deflection_line
from femkit.errors import ModelError
from femkit.show import chart, plot_sizing

AXES = {"x_label": "x, mm", "y_label": "M, kN m", "title": "Does it bend as a beam? 5 $ or 6 $"}


def test_a_chart_is_told_by_the_largest_value_of_each_curve():
    x = np.linspace(0, 10, 11)
    picture = chart(x, {"shell": x * (10 - x), "beam $": -x}, **AXES)
    assert picture.png.startswith(b"\x89PNG")
    assert "shell: largest 25 at 5" in picture.alt and "beam $: largest −10 at 10" in picture.alt
    assert [peak.value for peak in picture.peaks] == [25, -10]


def test_a_chart_leaves_the_users_matplotlib_alone():
    import matplotlib

    before = dict(matplotlib.rcParams)
    matplotlib.rcParams["lines.linewidth"] = 17
    wide = chart([0, 1], {"a": [0, 1]}, **AXES)
    matplotlib.rcParams.update(before)
    assert wide.png == chart([0, 1], {"a": [0, 1]}, **AXES).png and matplotlib.get_backend()


def test_gaps_are_left_and_empty_curves_are_said():
    picture = chart([0, 1, 2], {"a": [0, np.nan, 3], "b": [np.nan] * 3}, **AXES)
    assert "a: largest 3 at 2" in picture.alt and "b: no values" in picture.alt


@pytest.mark.parametrize("curves, words", [({"a": [1, 2, 3], "b": [1]}, '"a" has 3, "b" has 1'), ({}, "no values")])
def test_curves_of_another_length_are_named(curves, words):
    with pytest.raises(ModelError, match=words):
        chart([0, 1], curves, **AXES)


class Sized:
    """What `plot_sizing` asks of a `Sizing`: two checks, one of which was not looked at first."""

    def checks_table(self):
        import pandas as pd

        columns = {"demand at start": [1.3, np.nan], "demand": [0.98, 0.4], "decides": ["decides", ""]}
        return pd.DataFrame(columns, index=["sag of the sole bar", "buckling factor"])

    def __repr__(self):
        return "Sizing: pillar 4 mm"


def test_bars_of_a_sizing_are_told_by_the_hardest_check_before_and_after():
    picture = plot_sizing(Sized())
    assert picture.png.startswith(b"\x89PNG")
    assert "at the start: 1 checks missed, the hardest uses 1.3, sag of the sole bar" in picture.alt
    assert [peak.value for peak in picture.peaks] == [1.3, 0.98]
    assert plot_sizing(Sized(), 1).png != picture.png


def test_a_rail_is_drawn_against_its_chord(result):
    line = deflection_line(result, "near", ("left", "right"))
    picture = line.plot()
    assert (
        "below the chord, mm over from the first support, mm" in picture.alt and "How far does near sag" in picture.alt
    )
    assert abs(picture.peaks[0].value) == pytest.approx(np.abs(line.deflection[0]).max())

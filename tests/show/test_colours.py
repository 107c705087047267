"""Colours: even to the eye, readable in grey, centred on 0 where values are signed."""

import numpy as np
import pytest

from femkit.errors import ModelError
from femkit.show.colours import CLASS_COLOURS, ColourScale, rgb_of


def lightness(rgb):
    # CIE 15:2004, L* of a colour under its own white; sRGB to linear light by IEC 61966-2-1
    c = np.asarray(rgb) / 255
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    y = linear @ (0.2126, 0.7152, 0.0722)
    return 116 * np.where(y > (6 / 29) ** 3, np.cbrt(y), y / 3 / (6 / 29) ** 2 + 4 / 29) - 16


def test_rising_scale_darkens_in_even_steps():
    shade = lightness(ColourScale(0, 1, False, "").steps)
    assert (np.diff(shade[::8]) < 0).all()  # so it can be read in grey
    straight = np.linspace(shade[0], shade[-1], len(shade))
    assert np.abs(shade - straight).max() < 5  # of 80: what the eye takes for even. No source


def test_scale_for_low_values_is_the_other_way_round():
    assert (ColourScale(0, 1, False, "", low_is_dark=True).steps == ColourScale(0, 1, False, "").steps[::-1]).all()


@pytest.mark.parametrize("limits", [(-1, 1), (-1, 10), (-10, 1)])
def test_signed_scale_is_grey_at_zero_whatever_its_ends(limits):
    scale = ColourScale(*limits, True, "")
    below, zero, above = scale.rgb([-0.9, 0, 0.9]).astype(int)
    assert np.ptp(zero) < 4 and below[2] > below[0] and above[0] > above[2]  # blue below, red above


def test_one_scale_spans_all_arrays_and_leaves_out_nan():
    scale = ColourScale.over([np.array([1, np.nan]), np.array([[3.0, 7.0]])], None, "", False)
    assert (scale.low, scale.high) == (0, 7) and not scale.goes_above
    signed = ColourScale.over([np.array([-2.0, 5.0])], None, "", True)
    assert (signed.low, signed.high) == (-5, 5)


def test_limits_stand_and_values_beyond_are_known():
    scale = ColourScale.over([np.array([-1.0, 9.0])], (0, 4), "", False)
    assert (scale.low, scale.high, scale.goes_below, scale.goes_above) == (0, 4, True, True)
    assert (scale.rgb([9.0]) == scale.rgb([4.0])).all()


@pytest.mark.parametrize("values", [[0.0], [5.0], [np.nan]])
@pytest.mark.parametrize("is_signed", [True, False])
def test_one_value_everywhere_has_a_scale(values, is_signed):
    scale = ColourScale.over([np.array(values)], None, "", is_signed)
    assert scale.high > scale.low


@pytest.mark.parametrize("limits", [(3, 1), (0, np.inf), (0,), "ab", 7])
def test_limits_that_are_no_range_are_refused(limits):
    with pytest.raises(ModelError, match="limits are"):
        ColourScale.over([np.array([1.0])], limits, "", False)


def test_class_colours_differ():
    colours = np.array([rgb_of(c) for c in CLASS_COLOURS]).astype(int)
    apart = np.abs(colours[:, None] - colours[None]).sum(axis=2) + 999 * np.eye(len(colours), dtype=int)
    assert apart.min() > 40

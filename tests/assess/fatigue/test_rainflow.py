"""Rainflow counting against the standard's example, a second algorithm, and what no counting may lose."""

import numpy as np
import pytest

import femkit as fk
from femkit.assess.fatigue import rainflow


def test_the_example_of_the_standard_is_counted_exactly():
    # ASTM E1049-85, 5.4.4, fig. 6: pairs in the order in which they are found
    counted = rainflow([-2, 1, -3, 5, -1, 3, -4, 4, -2])
    assert counted.range.tolist() == [3, 4, 4, 8, 9, 8, 6]
    assert counted.count.tolist() == [0.5, 0.5, 1, 0.5, 0.5, 0.5, 0.5]
    assert counted.mean.tolist() == [-0.5, -1, 1, 1, 0.5, 0, 1]
    totals = {size: counted.count[counted.range == size].sum() for size in (3, 4, 6, 8, 9)}
    assert totals == {3: 0.5, 4: 1.5, 6: 0.5, 8: 1.0, 9: 0.5}


def four_points(values):
    """Ranges of whole and half cycles by four-point counting: an inner pair within its neighbours is a cycle."""
    left, whole = list(values), []
    i = 0
    while i + 3 < len(left):
        a, b, c, d = left[i : i + 4]
        if min(a, d) <= min(b, c) and max(b, c) <= max(a, d):
            whole.append(abs(c - b))
            del left[i + 1 : i + 3]
            i = max(i - 2, 0)
        else:
            i += 1
    return sorted(whole + whole + np.abs(np.diff(left)).tolist())


@pytest.mark.parametrize("seed", range(20))
def test_random_histories_are_counted_as_by_four_points(seed):
    # C. Amzallag and others, Int. J. Fatigue 16 (1994) 287-293, own code: the same cycles, what is left as halves
    steps = np.random.default_rng(seed).normal(size=200)
    history = np.cumsum(steps * (-1) ** np.arange(200))
    turns = np.flatnonzero(np.diff(np.sign(np.diff(history)))) + 1
    reversals = history[np.concatenate([[0], turns, [-1]])]
    counted = rainflow(history)
    halves = np.repeat(counted.range, (2 * counted.count).astype(int))
    assert np.sort(halves) == pytest.approx(four_points(reversals))
    assert counted.range.max() == pytest.approx(np.ptp(history))
    assert 2 * counted.range @ counted.count == pytest.approx(np.abs(np.diff(history)).sum())  # no way is lost
    assert history[counted.first] - history[counted.second] == pytest.approx(
        counted.range * np.sign(history[counted.first] - history[counted.second])
    )


@pytest.mark.parametrize("history", [[], [5.0], [5.0, 5.0, 5.0]])
def test_a_history_without_change_has_no_cycles(history):
    assert len(rainflow(history).count) == 0


def test_plateaus_and_points_on_the_way_change_nothing():
    plain = rainflow([0, 3, 1, 4, 0])
    padded = rainflow([0, 0, 1, 3, 3, 3, 2, 1, 1, 4, 2, 0, 0])
    assert padded.range.tolist() == plain.range.tolist()
    assert padded.count.tolist() == plain.count.tolist()


@pytest.mark.parametrize("history", [[0, np.nan, 1], [[0, 1], [1, 0]], ["up", "down"], [[0], [1, 2]]])
def test_what_is_no_row_of_numbers_is_refused(history):
    with pytest.raises(fk.ModelError, match="row of finite numbers"):
        rainflow(history)

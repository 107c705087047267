"""States in words, the table of events, and every fault in it."""

import numpy as np
import pytest
from strip import strip

import femkit as fk
from femkit.assess.fatigue import Event, History, events_table, read_events, state

HEADS = "event,from_state,to_state,times_per_year"


@pytest.fixture(scope="module")
def model():
    return strip()


@pytest.mark.parametrize(
    ("text", "factors"),
    [
        ("pull", {"pull": 1}),
        ("0.97 pull + 1.03*side-pull 2", {"pull": 0.97, "side-pull 2": 1.03}),
        ("pull - 0.1 side-pull 2", {"pull": 1, "side-pull 2": -0.1}),
        ("-pull+.5pull", {"pull": -0.5}),
        ("2 both - pull", {"pull": 1, "side-pull 2": 1}),  # a combination is expanded
        ("1e-1 × pull", {"pull": 0.1}),
        ("1.1 running gear", {"running gear": 1.1}),
        ("0", {}),
        ("0.0", {}),
        ("0,97 pull", {"pull": 0.97}),
    ],
)
def test_states_are_read_as_they_are_written(text, factors, model):
    assert state(text, model) == pytest.approx(factors)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0.97 pul + pull", 'no load case or combination "pul". Did you mean "pull"'),
        ("pull + 0.5 runing gear", 'no load case or combination "runing gear". Did you mean "running gear"'),
        ("pull +", "a load case is missing"),
        ("", "a load case is missing"),
        ("pull pull", 'no load case or combination "pull pull"'),
        ("pull + running gear", "do not all stand on the same supports"),
    ],
)
def test_states_that_name_nothing_or_no_equilibrium_are_refused(text, said, model):
    with pytest.raises(fk.ModelError, match=said):
        state(text, model)


def written(tmp_path, *lines):
    path = tmp_path / "counts.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_events_are_read_from_a_table(tmp_path, model):
    lines = ['"stop, full",0,both,5200', "", "rail joints,0.9 pull,1.1 pull,4.1e5"]
    events = read_events(written(tmp_path, f"{HEADS},remark", *lines), model)
    assert [event.name for event in events] == ["stop, full", "rail joints"]
    assert events[0].end == {"pull": 1, "side-pull 2": 0.5}
    assert events[1].per_year == 410_000
    assert events_table(events).loc["rail joints", "to"] == "1.1 pull"


def test_all_faults_of_a_table_are_told_together_by_line(tmp_path, model):
    path = written(
        tmp_path, HEADS, "a,pull,0.5 pul,10", "b,pull,both,-3", "b,pull,both,4", "c,pull,both,often", "d,pull,both,inf",
        "e,pull,both,1,2", "f,,both,1",
        'g,pull,both,"61,000"', 'h,pull,"0,5 pul",1',
    )  # fmt: skip
    with pytest.raises(fk.ModelError) as caught:
        read_events(path, model)
    lines = str(caught.value).splitlines()
    assert len(lines) == 9
    for words in (
        'line 2 ("a"), to_state: state "0.5 pul": there is no load case or combination "pul"',
        'line 3 ("b"): event "b": times a year is -3; it must be a finite number of at least 0.',
        'line 4 ("b"): line 3 has an event of that name',
        "line 5 (\"c\"), times_per_year: 'often' is not a finite number",
        "line 6 (\"d\"), times_per_year: 'inf' is not a finite number",
        "the head has 4 columns, but line 7 has 5; decimal commas need another sign between columns, or quotes",
        "line 9 (\"g\"), times_per_year: '61,000' can be read in two ways",
        'no load case or combination "pul"',
        'line 8 ("f"), from_state: state "": a load case is missing',
    ):
        assert any(words in line for line in lines), words


def test_tables_that_are_none_are_refused(tmp_path, model):
    with pytest.raises(fk.ModelError, match=r'no column "to_state"\. Did you mean "to state"'):
        read_events(written(tmp_path, "event,from_state,to state,times_per_year", "a,pull,both,1"), model)
    with pytest.raises(fk.ModelError, match='column "event" stands there twice'):
        read_events(written(tmp_path, f"{HEADS},event", "a,pull,both,1,b"), model)
    with pytest.raises(fk.ModelError, match="there are no events in it"):
        read_events(written(tmp_path, HEADS), model)
    with pytest.raises(fk.RecordError, match=r"events .*none\.csv: it can't be read"):
        read_events(tmp_path / "none.csv", model)
    with pytest.raises(fk.RecordError, match="no table in it"):
        read_events(written(tmp_path), model)


@pytest.mark.parametrize(
    "lines",
    [
        [f"\ufeff{HEADS}", "rough,0.9 pull,1.1 pull,4.1e5"],
        ["# counted by hand", "", HEADS.replace(",", ";"), "rough;0,9 pull;1,1 pull;410000,0"],
        [HEADS.replace(",", "\t"), "rough\t0,9 pull\t1,1 pull\t4,1e5"],
    ],
)
def test_tables_may_be_written_as_surveys_and_logs_are(tmp_path, model, lines):
    (event,) = read_events(written(tmp_path, *lines), model)
    assert (event.start, event.end, event.per_year) == ({"pull": 0.9}, {"pull": 1.1}, 410_000)


def test_histories_and_events_need_numbers_in_rows_of_one_length():
    with pytest.raises(fk.ModelError, match="each must be a row of one length"):
        History("day", {"pull": [0, 1, 0], "both": [0, 1]}, 300)
    with pytest.raises(fk.ModelError, match="each must be a row of one length"):
        History("day", {"pull": []}, 300)
    with pytest.raises(fk.ModelError, match='factor of "pull" is nan at its instant 1'):
        History("day", {"pull": [0, np.nan, 1]}, 300)
    with pytest.raises(fk.ModelError, match=r"""factor of "pull" is \['up', 'down'\]"""):
        History("day", {"pull": ["up", "down"]}, 300)
    with pytest.raises(fk.ModelError, match='factor of "pull" is nan'):
        Event("day", {}, {"pull": np.nan}, 1)
    with pytest.raises(fk.ModelError, match="'pull' can't stand there; it must be a dict"):
        Event("day", {}, "pull", 1)
    with pytest.raises(fk.ModelError, match="times a year is nan"):
        Event("day", {}, {"pull": 1}, np.nan)

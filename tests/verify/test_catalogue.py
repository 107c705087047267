"""Every published case of the catalogue, with every kind of cell it is meant for."""

import pytest

from femkit.verify import CASES, EVIDENCE, GROUPS, run_case

RUNS = [(case, kind) for case in CASES for kind in case.kinds]


@pytest.mark.parametrize(("case", "kind"), RUNS, ids=[f"{case.name}-{kind}" for case, kind in RUNS])
def test_case_lies_in_its_band(case, kind):
    outcome = run_case(case, kind)
    assert outcome.passed, f"{outcome.verdict}: {outcome.values}, reference {case.reference}, band {outcome.band:.2%}"


def test_every_case_is_described():
    assert len({case.name for case in CASES}) == len(CASES)
    for case in CASES:
        assert case.group in GROUPS and case.evidence in EVIDENCE
        assert case.claim and case.source and case.reason
        limits = case.limit.values() if isinstance(case.limit, dict) else [case.limit]
        assert 0 <= case.precision <= min(limits)

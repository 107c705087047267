"""Every published case of the catalogue, with every kind of cell it is meant for; and what cells do badly."""

import pytest

from femkit.verify import CASES, EVIDENCE, GROUPS, LIMITS, run_case


def runs(cases):
    return [pytest.param(case, kind, id=f"{case.name}-{kind}") for case in cases for kind in case.kinds]


@pytest.mark.parametrize(("case", "kind"), runs(CASES))
def test_case_lies_in_its_band(case, kind):
    outcome = run_case(case, kind)
    assert outcome.passed, f"{outcome.verdict}: {outcome.values}, reference {case.reference}, band {outcome.band:.2%}"


@pytest.mark.parametrize(("case", "kind"), runs(LIMITS))
def test_what_cells_do_badly_they_do_better_on_finer_meshes(case, kind):
    first, *_, last = run_case(case, kind).values
    assert abs(last / case.reference - 1) < abs(first / case.reference - 1)


def test_every_case_is_described():
    assert len({case.name for case in CASES}) == len(CASES)
    for case in CASES + LIMITS:
        assert case.group in GROUPS and case.evidence in EVIDENCE
        assert case.claim and case.source and case.reason
        for kind in case.kinds:
            meshes = case.meshes(kind, longer=True)
            assert sorted(set(meshes)) == list(meshes) and set(case.aims) <= set(meshes)
        assert set(case.halved) <= {"triangle6", "quad8", "quad9"}
        limits = case.limit.values() if isinstance(case.limit, dict) else [case.limit]
        assert 0 <= case.precision <= min(limits)

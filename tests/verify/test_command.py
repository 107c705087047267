"""The command that runs the catalogue: what it prints, writes and ends with."""

import json
from dataclasses import replace

import pytest

from femkit import verify
from femkit.cli import main

ROOF = next(case for case in verify.CASES if case.name == "cylindrical roof")


@pytest.fixture(autouse=True)
def short(monkeypatch):
    """The catalogue cut down to one case on coarse meshes."""
    monkeypatch.setattr(verify, "CASES", (replace(ROOF, ladder=(2, 4), limit=0.1, precision=0.1),))


def test_a_case_by_name_is_run_printed_and_written(capsys, tmp_path):
    files = [tmp_path / "table.csv", tmp_path / "table.json"]
    assert main(["verify", "cylindrical roof", *(f"--write={path}" for path in files)]) == 0
    out, err = capsys.readouterr()
    assert "cylindrical roof, quad" in out and "none out of the band" in out and "licensed engineer" in out
    assert "all cases: 2 done" in err
    rows = json.loads(files[1].read_text())
    assert [row["cells"] for row in rows] == ["quad", "triangle"]
    assert rows[0]["reference"] == ROOF.reference and len(rows[0]["values"]) == 2
    assert len(files[0].read_text().splitlines()) == 3


def test_a_case_out_of_its_band_ends_with_1(capsys, monkeypatch):
    monkeypatch.setattr(verify, "CASES", (replace(ROOF, ladder=(2,), reference=-1.0),))
    assert main(["verify"]) == 1
    assert "out of the band" in capsys.readouterr().out


def test_cases_can_be_listed_and_a_wrong_name_gets_the_nearest(capsys):
    assert main(["verify", "--list"]) == 0
    assert capsys.readouterr().out == "plates and shells: cylindrical roof (quad, triangle)\n"
    assert main(["verify", "cylindrical rof"]) == 1
    assert 'Did you mean "cylindrical roof"?' in capsys.readouterr().err

"""The notebooks run from top to bottom in fresh kernels, and hold no outputs; the study command does the main job."""

import shutil
from pathlib import Path

import nbformat
import pytest

from femkit.cli import main
from femkit.study.notebooks import NotebookError, run_notebooks

ROOT = Path(__file__).parents[2]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """A copy of notebooks and meshes, so that the run leaves nothing in the project."""
    home = tmp_path_factory.mktemp("study")
    for folder in ("notebooks", "meshes"):
        shutil.copytree(ROOT / folder, home / folder, ignore=shutil.ignore_patterns("results", ".ipynb_checkpoints"))
    return home / "notebooks"


@pytest.mark.slow
def test_study_command_does_the_main_job(study, capsys):
    assert main(["study", str(study)]) == 0
    out = capsys.readouterr().out
    results = study / "results"
    for words in (
        "reinforced, stiffness:",
        "reinforced, strength:",
        "reinforced, life:",
        "reinforced, worn plates:",
        "misses it but no worse than the original",
        "worse",
    ):
        assert words in out
    for name in ("baseline", "cut-out", "reinforced"):
        assert f"side_wall_{name}.vtu" in out
        assert (results / f"side_wall_{name}.vtu").stat().st_size > 1e6
    pages = ("01_baseline", "02_cut-out", "03_reinforced", "06_worn-plates", "07_life", "08_proof-test")
    for page in pages:
        html = (results / f"{page}.html").read_text(encoding="utf-8")
        assert "Traceback" not in html
        assert "https://cdn" not in html  # opens offline
    for table in ("comparison.csv", "old_against_new.csv"):
        assert (results / table).stat().st_size > 1000


def test_chosen_notebooks_become_pages(study, capsys):
    assert main(["study", str(study), "--only", "02_cut-out", "--only", "08_proof-test"]) == 0
    out = capsys.readouterr().out
    for page in ("02_cut-out", "08_proof-test"):
        assert f"{page}.html" in out
        assert "Traceback" not in (study / "results" / f"{page}.html").read_text(encoding="utf-8")


@pytest.mark.slow
def test_every_case_of_the_verification_notebook_lies_in_its_band(study):
    (page,) = run_notebooks(study, only=["04_verification"])
    html = page.read_text(encoding="utf-8")
    assert "Every case lies in its band" in html
    assert "Traceback" not in html and "refused" not in html


@pytest.mark.slow
def test_the_questions_of_the_what_if_notebook_are_answered(study):
    (page,) = run_notebooks(study, only=["05_what-if"])
    html = page.read_text(encoding="utf-8")
    assert "Traceback" not in html and "https://cdn" not in html
    for words in ("Peak on the arc", "20 of 20 variants", "Thicknesses of any size meet every check"):
        assert words in html
    assert html.count("data:image/png;base64") >= 9


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_notebooks_are_stripped_and_told_in_short_cells(path):
    notebook = nbformat.read(path, as_version=4)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert all(not cell.outputs and cell.execution_count is None for cell in code)
    assert max(len(cell.source.splitlines()) for cell in code) <= 16
    assert "licensed engineer's judgement" in notebook.cells[0].source


def test_a_failing_cell_is_named(tmp_path):
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("answer = 1 / 0")])
    nbformat.write(notebook, tmp_path / "01_bad.ipynb")
    with pytest.raises(NotebookError, match=r"(?s)01_bad\.ipynb.*answer = 1 / 0.*ZeroDivisionError"):
        run_notebooks(tmp_path)
    assert not list((tmp_path / "results").glob("*.html"))


def test_a_notebook_that_is_not_there_is_named(study):
    with pytest.raises(NotebookError, match='Did you mean "04_verification"'):
        run_notebooks(study, only=["04_verificaton"])


def test_an_empty_folder_is_named(tmp_path, capsys):
    assert main(["study", str(tmp_path)]) == 1
    assert "there are no notebooks here" in capsys.readouterr().err


def test_check_command_tells_what_a_mesh_holds(capsys):
    assert main(["check", str(ROOT / "meshes" / "side_wall_baseline.msh")]) == 0
    out = capsys.readouterr().out
    assert "10,991 points" in out and "lower-sheet" in out and "Jacobian" in out
    assert main(["check", "nowhere.msh"]) == 1
    assert "nowhere.msh" in capsys.readouterr().err

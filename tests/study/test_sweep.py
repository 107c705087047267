"""Sweeps: what is asked, through every kind of executor; failures, stops, what is kept, and the picture."""

import json
import logging
import os
import signal
import sys
from concurrent.futures import ThreadPoolExecutor
from functools import partial

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk

MESH = grid(200.0, 50.0, 8, 2)
GRID = {"thickness (mm)": [2.0, 3.0, 4.0], "load (N/mm)": [0.001, 0.002]}


def strip(thickness, load=0.001):
    """A clamped strip under a line load at its free end; invented."""
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    case = fk.LoadCase("tip", [fk.LineLoad("right", fz=-load)])
    return fk.Model(MESH, fk.Plate(thickness, STEEL), supports=[clamp], load_cases=[case])


def sag(result):
    return -result["tip"].displacement[:, 2].min()


def strip_that_may_fail(thickness):
    if thickness == 3:
        raise ZeroDivisionError("three is\nno good")
    if thickness == 5:
        os._exit(1)  # as when the system takes a process that lacks memory
    return strip(thickness)


SAG = {"sag (mm)": sag}
WHERE = SAG | {"threads": lambda _result: int(os.environ["OMP_NUM_THREADS"]), "process": lambda _result: os.getpid()}
swept = partial(fk.sweep, strip, quantities=SAG, progress=None)


@pytest.fixture(scope="module")
def two_cores():
    """Two processors for every pool, all theirs."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LOKY_MAX_CPU_COUNT", "2")
        patch.delenv("OMP_NUM_THREADS", raising=False)
        yield


@pytest.fixture(scope="module")
def of_processes(tmp_path_factory, two_cores):
    """The folder and the sweep of the default pool."""
    folder = tmp_path_factory.mktemp("kept")
    return folder, fk.sweep(strip, GRID, WHERE, keep=folder, progress=None)


@pytest.fixture
def threads():
    """Workers that start at once, where it does not matter which."""
    with ThreadPoolExecutor(2) as executor:
        yield executor


def test_each_variant_is_what_solving_it_alone_gives(of_processes):
    _folder, found = of_processes
    assert [one.parameters for one in found.outcomes] == [
        {"thickness (mm)": t, "load (N/mm)": q} for t in (2.0, 3.0, 4.0) for q in (0.001, 0.002)
    ]
    alone = [sag(fk.solve_static(strip(*one.parameters.values()))) for one in found.outcomes]
    np.testing.assert_allclose(found.table()["sag (mm)"], alone, rtol=1e-9)  # rounding of another number of threads
    assert found.solved == 6 and not found.failed


def test_the_table_has_parameters_and_quantities_with_units_in_its_heads(of_processes):
    table = of_processes[1].table()
    assert list(table.columns) == ["thickness (mm)", "load (N/mm)", *WHERE]
    # beam theory: sag is proportional to load / thickness³
    scaled = table["sag (mm)"] * table["thickness (mm)"] ** 3 / table["load (N/mm)"]
    assert np.ptp(scaled) < 0.002 * scaled.max()  # shear's share grows with the square of the thickness


def test_a_repeated_sweep_solves_nothing_and_gives_the_same(of_processes, threads):
    folder, first = of_processes
    again = fk.sweep(strip, GRID, WHERE, keep=folder, executor=threads, progress=None)
    assert again.solved == 0 and all(one.is_kept for one in again.outcomes)
    assert again.table().equals(first.table())


def test_workers_share_out_the_processors(of_processes):
    two = of_processes[1].table()
    assert set(two["threads"]) == {1} and two["process"].nunique() <= 2 and os.getpid() not in set(two["process"])
    one = fk.sweep(strip, {"thickness": [2, 3]}, WHERE, keep=None, workers=1, progress=None).table()
    assert set(one["threads"]) == {2} and one["process"].nunique() == 1


def test_any_executor_will_do(of_processes, threads):
    found = swept(GRID, keep=None, executor=threads)
    np.testing.assert_allclose(found.table()["sag (mm)"], of_processes[1].table()["sag (mm)"], rtol=1e-9)
    assert threads.submit(int).result() == 0  # it is not ours to close


def test_failed_variants_keep_their_errors_and_the_others_go_on(tmp_path, threads):
    found = fk.sweep(strip_that_may_fail, {"thickness (mm)": [3, -1, 5, 2, 0.1]}, SAG, keep=tmp_path, progress=None)
    table = found.table()
    assert np.isfinite(table["sag (mm)"].iloc[[3, 4]]).all()
    assert table["error"].iloc[0].startswith("ZeroDivisionError: three is no good (strip_that_may_fail, line ")
    assert table["error"].tolist()[1:] == [
        'plate "all cells": thickness is -1 mm; it must be a finite number above 0.',
        "its process ended without a word; it may have lacked memory.",
        "",
        "",
    ]
    # what a result says of itself is told, and kept too
    kept = swept({"thickness": [2, 0.1]}, keep=tmp_path, executor=threads)
    assert kept.solved == 0 and kept.table()["notes"].tolist() == [0, 2] and table["notes"].iloc[4] == 2
    assert kept.notes[0].startswith('variant 2: "tip": rotations reach')


def test_an_interrupted_sweep_goes_on_where_it_stopped(tmp_path, threads):
    def interrupt(done, _of, _failed):
        if done == 2:
            os.kill(os.getpid(), signal.SIGINT)

    with pytest.raises(KeyboardInterrupt):
        swept({"thickness": [1, 2, 3, 4, 5, 6]}, keep=tmp_path, progress=interrupt)
    there = len(list(tmp_path.iterdir()))
    assert 2 <= there < 6
    again = swept({"thickness": [1, 2, 3, 4, 5, 6]}, keep=tmp_path, executor=threads)
    assert again.solved == 6 - there and len(list(tmp_path.iterdir())) == 6


@pytest.mark.parametrize("damage", ["", '{"held": {"values": {"sag (mm)": 1.0}, "notes": []}, "sha256": "0"}', "[]"])
def test_a_damaged_file_is_solved_again_and_said(damage, tmp_path, threads):
    swept({"thickness": [2, 3]}, keep=tmp_path, executor=threads)
    file = next(tmp_path.iterdir())
    sound = json.loads(file.read_text())
    file.write_text(damage)
    again = swept({"thickness": [2, 3]}, keep=tmp_path, executor=threads)
    assert again.solved == 1
    assert again.notes == (f"{file}: damaged; what it held is not used.",)
    assert json.loads(file.read_text())["held"]["values"] == pytest.approx(sound["held"]["values"], rel=1e-9)


def test_changed_code_or_model_is_solved_anew(tmp_path, threads):
    def solved(factor, more=(), **options):
        quantities = {"sag (mm)": lambda result: factor * sag(result), **dict(more)}
        return fk.sweep(strip, quantities=quantities, keep=tmp_path, executor=threads, progress=None, **options).solved

    two, three = {"thickness (mm)": [2, 3]}, [{"thickness": t} for t in (2, 3, 4)]
    assert [solved(1, variants=two), solved(1, variants=three), solved(1, variants=two)] == [2, 1, 0]
    assert [solved(2, variants=two), solved(1, variants=two)] == [2, 0]
    assert solved(1, [("force (N)", lambda result: result["tip"].reaction[:, 2].sum())], variants=two) == 2
    assert solved(1, variants=two, solve=partial(fk.solve_static, solver="superlu")) == 2


def test_fields_are_written_beside_the_figures(tmp_path, threads):
    found = swept({"thickness": [2, 3]}, keep=tmp_path, executor=threads)
    again, free = (swept({"thickness": [2, 3]}, keep=tmp_path, executor=threads, fields=True) for _ in range(2))
    assert (again.solved, free.solved) == (2, 0)
    assert {path.stem for path in tmp_path.glob("*.vtu")} == {one.key for one in found.outcomes}
    with pytest.raises(fk.ModelError, match="nothing is kept"):
        swept({"thickness": [2]}, keep=None, fields=True)


def test_a_quantity_is_one_number(threads):
    wrong = {"sag (mm)": sag, "shape": lambda result: result["tip"].displacement[:2, 0]}
    options = {"keep": None, "executor": threads, "progress": None}
    found = fk.sweep(strip, {"thickness": [2]}, wrong, **options)
    assert found.table()["error"].iloc[0].startswith('quantity "shape" gives array([')
    assert fk.sweep(strip, {"thickness": [2]}, lambda r: {"a": 1, "b": sag(r)}, **options).quantities == ["a", "b"]


@pytest.mark.parametrize(
    "variants, words",
    [
        ({"thicknes (mm)": [1]}, 'takes no "thicknes". Did you mean "thickness".\n.*strip: it needs "thickness"'),
        ({"thickness": []}, "there are no variants"),
        ([], "there are no variants"),
        ([{"thickness": 1}, {"load": 2, "thickness": 1}], "variant 2 has the parameters load, thickness, the first"),
    ],
)
def test_variants_that_do_not_fit_are_refused_beforehand(variants, words):
    with pytest.raises(fk.ModelError, match=words):
        swept(variants, keep=None)


def test_what_cannot_be_sent_is_said(tmp_path):
    with (tmp_path / "open").open("w") as file, pytest.raises(fk.ModelError, match="can't be sent to another process"):
        fk.sweep(strip, {"thickness": [1]}, {"sag (mm)": lambda result: file.write("")}, keep=None)


def test_progress_counts_what_is_done_and_what_failed(threads):
    told = []
    count = {"thickness": [2, -1]}
    fk.sweep(strip, count, SAG, keep=None, executor=threads, progress=lambda *numbers: told.append(numbers))
    assert told[0] == (0, 2, 0) and told[-1] == (2, 2, 1) and len(told) == 3


def test_a_dask_cluster_works_too(tmp_path, of_processes):
    from distributed import Client, LocalCluster

    quiet = {"dashboard_address": ":0", "silence_logs": logging.ERROR, "local_directory": str(tmp_path)}
    with LocalCluster(n_workers=2, threads_per_worker=1, **quiet) as cluster, Client(cluster) as client:
        found = fk.sweep(strip, GRID, WHERE, keep=None, executor=client.get_executor(), progress=None).table()
    np.testing.assert_allclose(found["sag (mm)"], of_processes[1].table()["sag (mm)"], rtol=1e-9)
    assert os.getpid() not in set(found["process"])


def test_functions_of_a_notebook_s_cells_can_be_swept(tmp_path):
    import nbformat
    from nbclient import NotebookClient

    cells = [
        "import femkit as fk; from concurrent.futures import ThreadPoolExecutor; from sheets import cantilever",
        "def strip(t): return cantilever(thickness=t, loads=[fk.LineLoad('right', fz=-0.01)])",
        "def read(result): return -result['load'].displacement[:, 2].min()",
        "def swept(ex=None): return fk.sweep(strip, {'t (mm)': [3, 4]}, {'sag (mm)': read}, keep='kept', executor=ex)",
        "first, threads = swept(), ThreadPoolExecutor()",
        "again = swept(threads)",
        "def read(result): return 0.0",
        "changed = swept(threads)",
        "print(first.solved, again.solved, changed.solved, first.table()['sag (mm)'].round(2).tolist())",
    ]
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(source) for source in cells])
    options = {"resources": {"metadata": {"path": str(tmp_path)}}, "extra_arguments": ["--log-level=ERROR"]}
    path = os.pathsep.join(sys.path)
    NotebookClient(notebook, timeout=60, kernel_name="python3", **options).execute(
        env=os.environ | {"PYTHONPATH": path}
    )
    # beam theory: 4 q L³ / E t³ = 4 · 0.01 · 200³ / (210 000 · 27) = 0.056, and 0.024 at 4 mm
    assert notebook.cells[-1].outputs[0].text == "2 0 2 [0.06, 0.02]\n"
    bar = notebook.cells[4].outputs[0]
    assert bar.data["text/plain"] == "2 of 2 variants" and '<progress value="2" max="2"' in bar.data["text/html"]


def test_a_sweep_is_told_by_its_means(of_processes):
    found = of_processes[1]
    picture = found.plot("sag (mm)")
    # sag goes with thickness⁻³ and load, as above: the thinnest strip under the larger load bends most
    assert picture.png.startswith(b"\x89PNG")
    assert picture.alt.startswith("What does sag (mm) depend on?. means over thickness (mm): 0.02773 at 2, ")
    assert picture.peaks[0].plate == "thickness (mm) 2, load (N/mm) 0.002"
    with pytest.raises(fk.ModelError, match='no quantity "treads"'):
        found.plot("treads")

"""Sweeps: what is asked, through every kind of executor; failures, stops, what is kept, and the picture."""

import json
import os
import signal
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from functools import partial
from multiprocessing import get_context

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
swept = partial(fk.sweep, strip, quantities=SAG, progress=None)


@pytest.fixture(scope="module")
def of_processes(tmp_path_factory):
    """The folder and the sweep of the default pool."""
    folder = tmp_path_factory.mktemp("kept")
    return folder, swept(GRID, keep=folder)


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
    assert list(table.columns) == ["thickness (mm)", "load (N/mm)", "sag (mm)"]
    # beam theory: sag is proportional to load / thickness³
    scaled = table["sag (mm)"] * table["thickness (mm)"] ** 3 / table["load (N/mm)"]
    assert np.ptp(scaled) < 0.002 * scaled.max()  # shear's share grows with the square of the thickness


def test_a_repeated_sweep_solves_nothing_and_gives_the_same(of_processes):
    folder, first = of_processes
    again = swept(GRID, keep=folder, workers=1)
    assert again.solved == 0 and all(one.is_kept for one in again.outcomes)
    assert again.table().equals(first.table())


@pytest.mark.parametrize("workers", [1, 2])
def test_workers_share_out_the_processors(workers, monkeypatch):
    monkeypatch.delenv("OMP_NUM_THREADS", raising=False)
    monkeypatch.setenv("LOKY_MAX_CPU_COUNT", "2")
    threads = {"threads": lambda _result: int(os.environ["OMP_NUM_THREADS"]), "process": lambda _result: os.getpid()}
    found = fk.sweep(strip, {"thickness": [2, 3, 4, 5]}, threads, keep=None, workers=workers, progress=None).table()
    assert set(found["threads"]) == {2 // workers} and found["process"].nunique() <= workers


@pytest.mark.parametrize("make", [ThreadPoolExecutor, partial(ProcessPoolExecutor, mp_context=get_context("spawn"))])
def test_any_executor_will_do(make, of_processes):
    with make(2) as executor:
        found = swept(GRID, keep=None, executor=executor)
        np.testing.assert_allclose(found.table()["sag (mm)"], of_processes[1].table()["sag (mm)"], rtol=1e-9)
        assert executor.submit(int).result() == 0  # it is not ours to close


def test_failed_variants_keep_their_errors_and_the_others_go_on(tmp_path):
    found = fk.sweep(strip_that_may_fail, {"thickness (mm)": [2, 3, -1, 5, 6]}, SAG, keep=tmp_path, progress=None)
    errors = found.table()["error"].tolist()
    assert errors[0] == errors[4] == "" and np.isfinite(found.table()["sag (mm)"].iloc[[0, 4]]).all()
    assert errors[1].startswith("ZeroDivisionError: three is no good (strip_that_may_fail, line ")
    assert errors[2] == 'plate "all cells": thickness is -1 mm; it must be a finite number above 0.'
    assert errors[3] == "its process ended without a word; it may have lacked memory."
    assert len(list(tmp_path.iterdir())) == 2


def test_an_interrupted_sweep_goes_on_where_it_stopped(tmp_path):
    def interrupt(done, _of, _failed):
        if done == 2:
            os.kill(os.getpid(), signal.SIGINT)

    with pytest.raises(KeyboardInterrupt):
        swept({"thickness": [1, 2, 3, 4, 5, 6]}, keep=tmp_path, progress=interrupt)
    there = len(list(tmp_path.iterdir()))
    assert 2 <= there < 6
    again = swept({"thickness": [1, 2, 3, 4, 5, 6]}, keep=tmp_path)
    assert again.solved == 6 - there and len(list(tmp_path.iterdir())) == 6


@pytest.mark.parametrize(
    "damage", ["", "{", '{"held": {"values": {"sag (mm)": 1.0}, "notes": []}, "sha256": "0"}', "[]"]
)
def test_a_damaged_file_is_solved_again_and_said(damage, tmp_path):
    swept({"thickness": [2, 3]}, keep=tmp_path, workers=1)
    file = next(tmp_path.iterdir())
    sound = json.loads(file.read_text())
    file.write_text(damage)
    again = swept({"thickness": [2, 3]}, keep=tmp_path, workers=1)
    assert again.solved == 1
    assert again.notes == (f"{file}: damaged; what it held is not used.",)
    assert json.loads(file.read_text()) == sound

"""Whether anything can be drawn, in which thread, and what happens where it can't."""

import ctypes
import os
import struct
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace

import pytest

from femkit.errors import RecordError
from femkit.show import chart, drawing, plot_case, plot_mesh, plot_model, plot_variants, view

FAULT = "No picture: the trial has failed."


@pytest.fixture
def no_drawing(monkeypatch):
    monkeypatch.setattr(drawing, "_find_fault", lambda: FAULT)
    monkeypatch.setattr(drawing, "new_plotter", lambda size: pytest.fail("something was drawn all the same"))


def png_size(png):
    # ISO/IEC 15948 (PNG), 5.2 and 11.2.2: eight bytes of signature, then the IHDR chunk with width and height
    assert png[:8] == b"\x89PNG\r\n\x1a\n" and png[12:16] == b"IHDR"
    return struct.unpack(">II", png[16:24])


@pytest.mark.picture
def test_pictures_are_png_of_the_width_asked_for(case, model):
    for picture, meant in ((plot_case(case), 1400), (plot_mesh(model.mesh, width=900), 900), (plot_model(model), 1400)):
        width, height = png_size(picture.png)
        assert width == meant and 300 < height < 1400


@pytest.mark.picture
def test_other_threads_draw_the_same_picture(case):
    here = plot_case(case).png
    with ThreadPoolExecutor(2) as pool:  # a notebook's sliders call from threads of their own
        assert all(png == here for png in pool.map(lambda _: plot_case(case).png, range(2)))


@pytest.mark.picture
def test_errors_come_out_of_the_drawing_thread():
    with pytest.raises(ZeroDivisionError):
        drawing.in_drawing_thread(lambda: 1 / 0)


def test_without_opengl_pictures_hold_their_words(no_drawing, case, model):
    for picture in (plot_case(case), plot_mesh(model.mesh), plot_model(model), plot_variants({"one": case})):
        assert picture.png is None and picture.alt and picture._repr_png_() is None
        data = picture._repr_mimebundle_()
        assert FAULT in data["text/html"] and drawing.HOW_TO_DRAW in data["text/html"]
        assert drawing.HOW_TO_DRAW in data["text/plain"] and picture.alt in data["text/plain"]
    assert f"{case.von_mises('top').max():.4g} MPa" in plot_case(case).alt


def test_without_opengl_saving_says_why_and_how_to_draw(no_drawing, case, tmp_path):
    with pytest.raises(RecordError, match=r"there is no picture to write.*trial has failed.*libegl1 libgl1"):
        plot_case(case).save(tmp_path / "picture.png")
    assert list(tmp_path.iterdir()) == []


def test_without_opengl_charts_and_views_go_on(no_drawing, case):
    assert png_size(chart([0, 1], {"a": [0, 1]}, x_label="x", y_label="y", title="?").png) == (1400, 560)
    page = view(case).page
    assert "von Mises stress" in page and "<img" not in page and "<iframe" not in page


def test_a_missing_library_is_found_without_a_trial(monkeypatch):
    def refuse(name):
        raise OSError(f"{name}: cannot open shared object file")

    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(ctypes, "CDLL", refuse)
    monkeypatch.setattr(subprocess, "run", lambda *a, **k: pytest.fail("a trial was made"))
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.setenv("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    assert "no OpenGL library" in drawing._find_fault.__wrapped__()


@pytest.mark.parametrize(
    "end, words",
    [
        (SimpleNamespace(returncode=-11), "code -11"),  # a segmentation fault: libraries there, driver missing
        (subprocess.TimeoutExpired("python", 1), "TimeoutExpired"),
    ],
)
def test_a_trial_that_dies_or_hangs_is_a_sentence(monkeypatch, end, words):
    def run(*args, **options):
        if isinstance(end, Exception):
            raise end
        return end

    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(ctypes, "CDLL", lambda name: None)
    monkeypatch.setattr(subprocess, "run", run)
    fault = drawing._find_fault.__wrapped__()
    assert words in fault and fault.startswith("No picture:")


def test_without_a_display_the_window_is_chosen_beforehand(monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    for display, chosen in ((":0", None), ("", "vtkEGLRenderWindow")):
        monkeypatch.setenv("DISPLAY", display)
        monkeypatch.delenv("VTK_DEFAULT_OPENGL_WINDOW", raising=False)
        drawing._choose_window()
        assert os.environ.get("VTK_DEFAULT_OPENGL_WINDOW") == chosen
    monkeypatch.setenv("VTK_DEFAULT_OPENGL_WINDOW", "vtkOSOpenGLRenderWindow")
    drawing._choose_window()  # a user's own choice stands
    assert os.environ["VTK_DEFAULT_OPENGL_WINDOW"] == "vtkOSOpenGLRenderWindow"


def test_a_fork_of_a_drawing_process_does_not_draw(monkeypatch, case):
    monkeypatch.setattr(drawing, "_drawer", (os.getpid() + 1, None))
    assert "fork" in drawing.drawing_fault() and plot_case(case).png is None


def test_importing_the_pictures_loads_no_drawing_library():
    code = "import femkit.show, sys; print([n for n in ('pyvista', 'vtkmodules', 'matplotlib') if n in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"

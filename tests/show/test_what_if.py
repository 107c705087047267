"""What-if panels without a browser: what is computed, how often, in which thread, what is shown. Invented sheets."""

import threading

import nbformat
import pytest
from sheets import cantilever

import femkit as fk
from femkit.errors import ModelError
from femkit.show import Picture, can_draw
from femkit.study.notebooks import run_notebooks

THICKNESS = {"thickness (mm)": (3, 8, 1)}
FIGURES = {
    "mass (kg)": lambda result: 1e3 * result.model.mass,
    "tip (mm)": lambda result: result["load"].displacement[:, 2].min(),
}


def strip_of(thickness=5):
    return cantilever(thickness=thickness, loads=[fk.LineLoad("right", fz=-0.01)])


def blank(result):
    """In place of a picture, where the test is not about it."""
    return Picture(None, f"{result.model.mesh.n_cells} cells", fault="Not drawn.")


def plain(thickness):
    result = fk.solve_static(strip_of(thickness))
    return {name: figure(result) for name, figure in FIGURES.items()}, result["load"].plot(limits=(0, 10))


@pytest.fixture
def panel():
    plot = lambda result: result["load"].plot(limits=(0, 10))  # noqa: E731
    return fk.what_if(strip_of, THICKNESS, figures=FIGURES, plot=plot)


def slide(panel, value, label="thickness (mm)"):
    panel.sliders[label].value = value
    panel.settle()


def is_grey(panel):
    return [bool(widget._dom_classes) for widget in (panel._table, panel._image)] == [True, True]


def test_the_start_is_the_default_and_equals_a_plain_solve(panel):
    figures, picture = plain(5)
    assert panel.parameters == {"thickness": 5} and panel.start.words == "thickness 5 mm"
    assert panel.shown.figures == pytest.approx(figures, rel=1e-9)
    assert panel.shown.picture.png == picture.png and panel._image.value == (picture.png or b"")
    assert repr(panel).startswith("What if? thickness 5 mm: mass (kg) 0.157, tip (mm) −")  # 7.85e-6 kg/mm3, 20 000 mm3


def test_a_moved_slider_is_followed_and_equals_a_plain_solve(panel):
    slide(panel, 8)
    figures, picture = plain(8)
    assert panel.shown.figures == pytest.approx(figures, rel=1e-9)
    assert panel.shown.picture.png == picture.png and panel._image.value == (picture.png or b"")
    assert panel.parameters == {"thickness": 8} and "thickness 8 mm" in panel._line.value and not is_grey(panel)
    assert "<td" in panel._table.value and "+0.0942" in panel._table.value and "+60.0%" in panel._table.value  # 8/5


def test_the_usual_picture_keeps_the_bar_of_the_start():
    panel = fk.what_if(strip_of, THICKNESS, figures={})
    limits = panel.start.picture.limits
    slide(panel, 3)
    assert panel.shown.picture.limits == limits and panel.shown.picture.peaks[0].value > limits[1]


def slow_at_four(asked, is_at_it, go_on):
    def strip(thickness=5):
        asked.append(thickness)
        if thickness == 4:
            is_at_it.set()
            assert go_on.wait(20)
        return strip_of(thickness)

    return strip


def test_only_the_newest_wish_is_computed():
    asked, is_at_it, go_on = [], threading.Event(), threading.Event()
    panel = fk.what_if(slow_at_four(asked, is_at_it, go_on), THICKNESS, figures=FIGURES, plot=blank)
    slider = panel.sliders["thickness (mm)"]
    slider.value = 4
    assert is_at_it.wait(20)
    for value in (6, 7, 8):
        slider.value = value
    assert is_grey(panel) and "computing" in panel._line.value
    go_on.set()
    panel.settle()
    assert asked == [5, 4, 8]  # and 4 was given up on the way
    assert panel.shown.words == "thickness 8 mm" and (4,) not in panel._known and not is_grey(panel)


def test_there_and_back_while_it_computes():
    is_at_it, go_on = threading.Event(), threading.Event()
    panel = fk.what_if(slow_at_four([], is_at_it, go_on), THICKNESS, figures=FIGURES, plot=blank)
    slider = panel.sliders["thickness (mm)"]
    slider.value = 4
    assert is_at_it.wait(20)
    slider.value = 5
    go_on.set()
    panel.settle()
    assert panel.shown is panel.start and not is_grey(panel)


def test_what_has_been_seen_is_not_computed_again():
    asked = []
    panel = fk.what_if(
        lambda thickness=5: asked.append(thickness) or strip_of(thickness), THICKNESS, figures=FIGURES, plot=blank
    )
    for value in (6, 5, 6, 5):
        slide(panel, value)
    assert asked == [5, 6] and panel.shown is panel.start and "+" not in panel._table.value


def test_what_can_not_be_built_is_said_beside_the_last_good_picture():
    panel = fk.what_if(strip_of, {"thickness (mm)": [0, 5, 6]}, figures=FIGURES)
    slide(panel, 6)
    good = panel._image.value
    slide(panel, 0)
    assert "thickness is 0" in panel._line.value and "In grey: thickness 6 mm." in panel._line.value
    assert panel._image.value == good and is_grey(panel) and panel.shown.words == "thickness 6 mm"
    slide(panel, 5)
    assert "grey" not in panel._line.value and not is_grey(panel)


def test_a_mistake_in_the_users_own_function_is_said_too():
    figures = {"odd": lambda result: 1 / (6 - int(result.model.per_cell.thickness[0]))}
    panel = fk.what_if(strip_of, THICKNESS, figures=figures, plot=blank)
    slide(panel, 6)
    assert "ZeroDivisionError: " in panel._line.value and is_grey(panel)


def test_all_is_made_solved_and_drawn_in_one_thread():
    threads = set()

    def noted(function):
        return lambda *args, **named: threads.add(threading.current_thread()) or function(*args, **named)

    figures = {name: noted(figure) for name, figure in FIGURES.items()}
    plot = noted(lambda result: result["load"].plot())
    made = lambda thickness=5: noted(strip_of)(thickness)  # noqa: E731
    panel = fk.what_if(made, {"thickness": [5, 6]}, figures=figures, plot=plot)
    slide(panel, 6, "thickness")
    (thread,) = threads
    assert thread is not threading.current_thread()


def test_warnings_of_linear_theory_are_notes_of_the_panel(recwarn):
    def bent(load=0.01):
        return cantilever(thickness=1.0, loads=[fk.LineLoad("right", fz=-load)])

    panel = fk.what_if(bent, {"load (N/mm)": [0.001, 0.01, 0.1]}, figures=FIGURES, plot=blank)
    slide(panel, 0.1, "load (N/mm)")
    assert panel.shown.notes and "beyond linear theory in" in panel._line.value and not recwarn.list


def test_steps_are_exact_and_words_are_choices_too():
    def strip(thickness=3.3, kind="quad"):
        return cantilever(kind, thickness=thickness, loads=[fk.LineLoad("right", fz=-0.01)])

    panel = fk.what_if(
        strip, {"thickness (mm)": (3, 4, 0.1), "kind": ["triangle", "quad"]}, figures=FIGURES, plot=blank
    )
    assert panel.start.words == "thickness 3.3 mm, kind quad"
    slide(panel, "triangle", "kind")
    assert panel.shown.words == "thickness 3.3 mm, kind triangle"
    assert [value for _word, value in panel.sliders["thickness (mm)"].options][-1] == 4


@pytest.mark.parametrize(
    ("parameters", "words"),
    [
        ({"thicknes (mm)": (3, 8, 1)}, 'takes no "thicknes". Did you mean "thickness"'),
        ({"thickness (mm)": (8, 3, 1)}, r'"thickness \(mm\)" is \(8, 3, 1\); it must be \(low, high, step\)'),
        ({"thickness (mm)": (3, 8)}, "it must be"),
        ({"thickness (mm)": []}, "it must be"),
        ({"thickness (mm)": [3, 4]}, 'the start, the default of "thickness", is 5, which is not among its values 3, 4'),
    ],
)
def test_sliders_that_can_not_be_are_refused(parameters, words):
    with pytest.raises(ModelError, match=words):
        fk.what_if(strip_of, parameters, figures=FIGURES)


def test_what_is_no_model_or_no_picture_is_refused():
    with pytest.raises(ModelError, match="gave a int; it must give a Model"):
        fk.what_if(lambda thickness=5: thickness, THICKNESS, figures=FIGURES)
    with pytest.raises(ModelError, match="plot gave a NoneType; it must give a Picture"):
        fk.what_if(strip_of, THICKNESS, figures=FIGURES, plot=lambda result: None)
    with pytest.raises(ModelError, match="thickness is 0"):  # of the start: there is no good picture yet
        fk.what_if(lambda thickness=0: strip_of(thickness), {"thickness (mm)": [0, 5]}, figures=FIGURES)


def test_a_page_without_a_running_notebook_shows_the_start(panel, tmp_path):
    assert {"application/vnd.jupyter.widget-view+json", "text/html", "text/plain"} <= set(panel._repr_mimebundle_())
    source = """import femkit as fk
steel = fk.Material("S235", E=210_000, nu=0.3, density=7.85e-9)
mesh = fk.Panel(900, 600, coarse=150, marks=[fk.Mark("wall", x=0, z=(0, 600))]).mesh
def shelf(thickness=5):
    held, weight = fk.Support("wall", ux=0, uy=0, uz=0, rx=0, rz=0), fk.LoadCase("weight", [fk.Gravity()])
    return fk.Model(mesh, {"sheet": fk.Plate(thickness, steel)}, supports=[held], load_cases=[weight])
fk.what_if(shelf, {"thickness (mm)": (3, 8, 1)}, figures={"mass (kg)": lambda result: 1e3 * result.model.mass})"""
    nbformat.write(nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(source)]), tmp_path / "01_shelf.ipynb")
    (page,) = run_notebooks(tmp_path)
    html = page.read_text("utf-8")
    assert "mass (kg)" in html and "21.2" in html and "thickness 5 mm" in html  # 900 x 600 x 5 mm3, 7.85e-6 kg/mm3
    assert "A still picture" in html and ("data:image/png;base64," in html or not can_draw())
    assert "widget-view+json" not in html and "https://cdn" not in html

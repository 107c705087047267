"""What if? Sliders for the numbers of a model, with a picture and key figures that follow.

A notebook runs a slider's callback in a thread of its own. The callback only notes the wish; one thread, shared by all
panels, makes the model, solves it, has it drawn and shows it. It takes the newest wish and drops those before it.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from html import escape
from inspect import signature

import numpy as np

from ..errors import FemkitError, ModelError, nearest_name
from ..model.model import Model
from ..results.static import StaticResult
from ..solve.statics import solve_displacements
from .fields import plot_case
from .picture import Picture, number

__all__ = ["WhatIf", "what_if"]

WIDTH = 1100  # pixels of the usual picture: a notebook's cell shows it nearly one to one
OLD = "femkit-old"  # marks what belongs to other numbers than the sliders'
STYLE = f"<style>.{OLD} {{ opacity: 0.4; filter: grayscale(1) }}</style>"
CELL = 'style="text-align:right;padding:1px 0 1px 1.6em;white-space:nowrap"'
STILL = "A still picture: the sliders need a running notebook."

_worker = ThreadPoolExecutor(1, thread_name_prefix="femkit-what-if")


def what_if(model_of, parameters, *, figures, plot=None):
    """A panel of sliders for a model's numbers, with a picture and key figures that follow.

    Parameters
    ----------
    model_of : callable
        Makes the `Model` from keyword arguments, one for each slider; their defaults are where the sliders start.
    parameters : dict of str to tuple or list
        What a slider is called, with its unit, and its values: ``(low, high, step)``, or a list of them. The name
        before the unit is the keyword: "post spacing (mm)" is ``post_spacing``.
    figures : dict of str to callable
        Key figures, units in their names; each takes the `StaticResult` and returns a number.
    plot : callable, optional
        Takes the `StaticResult` and returns a `Picture`. Without it: the von Mises stress of the first combination, on
        the start's bar.

    Returns
    -------
    WhatIf
        A notebook shows it when it ends a cell: sliders, picture and figures, or a still picture with the figures of
        the start where there is no running notebook. What has been seen is not computed again. Numbers of which no
        model can be made are answered by the sentence that says why, beside the last good picture in grey.

    Raises
    ------
    ModelError
        If there is no such keyword, or a slider has no such values; and what the start's model raises.

    Examples
    --------
    >>> import femkit as fk
    >>> steel = fk.Material("S235", E=210_000, nu=0.3, density=7.85e-9)
    >>> mesh = fk.Panel(900, 600, coarse=150, marks=[fk.Mark("wall", x=0, z=(0, 600))]).mesh
    >>> def shelf(thickness=5):
    ...     held, weight = fk.Support("wall", ux=0, uy=0, uz=0, rx=0, rz=0), fk.LoadCase("weight", [fk.Gravity()])
    ...     return fk.Model(mesh, {"sheet": fk.Plate(thickness, steel)}, supports=[held], load_cases=[weight])
    >>> figures = {"mass (kg)": lambda result: 1e3 * result.model.mass}
    >>> what_if(shelf, {"thickness (mm)": (3, 8, 1)}, figures=figures)
    What if? thickness 5 mm: mass (kg) 21.2
    """
    return WhatIf(model_of, parameters, figures, plot or _on_one_bar())


@dataclass(frozen=True, eq=False)
class Answer:
    """What one setting of the sliders gave."""

    words: str  # the setting
    picture: Picture
    figures: dict
    notes: list  # where linear theory has left its ground


class Overtaken(Exception):
    """A newer wish waits: the solution under way is of no use."""


class WhatIf:
    """A panel of sliders; `what_if` makes it.

    Attributes
    ----------
    box : ipywidgets.VBox
        What a running notebook shows.
    sliders : dict of str to ipywidgets.SelectionSlider
        By the parameter's name; setting a `value` is as good as moving it.
    start, shown : Answer
        What the start gave, and what is seen now: `words`, `picture`, `figures` and `notes`.
    """

    def __init__(self, model_of, parameters, figures, plot):
        self._model_of, self._figures, self._plot = model_of, figures, plot
        values = {label: _values(label, given) for label, given in parameters.items()}
        self._keywords = {label: _keyword(label) for label in values}
        starts = _starts(model_of, values, self._keywords)
        self._known = {}  # answers by setting
        self._wanted, self._done = tuple(starts.values()), None  # settings: what is wished, what is answered
        self.start = self.shown = _worker.submit(self._answer, self._wanted).result()
        self._build(values, starts)
        self._show(self.start)

    @property
    def parameters(self):
        """What the sliders stand at, by keyword: ready for ``model_of(**panel.parameters)``."""
        return dict(zip(self._keywords.values(), (slider.value for slider in self.sliders.values())))

    def settle(self):
        """Wait until the newest wish is answered; for scripts, a notebook has no need of it."""
        _worker.submit(lambda: None).result()

    def _build(self, values, starts):
        import ipywidgets as widgets

        longest = max(map(len, values), default=0)
        look = {"style": {"description_width": f"{longest}ch"}, "layout": {"width": f"calc({longest}ch + 22em)"}}
        self.sliders = {
            label: widgets.SelectionSlider(
                options=[(_word(value), value) for value in each],
                value=starts[label],
                description=label,
                continuous_update=False,  # a dragged slider wishes once, when it is let go
                **look,
            )
            for label, each in values.items()
        }
        for slider in self.sliders.values():
            slider.observe(self._moved, "value")
        self._table, self._line = widgets.HTML(), widgets.HTML()
        self._image = widgets.Image(format="png", layout={"width": "100%", "max_width": "1400px"})
        rows = {"flex_flow": "row wrap", "align_items": "flex-start", "grid_gap": "0 3em"}
        controls = widgets.Box([widgets.VBox(list(self.sliders.values())), self._table], layout=rows)
        self.box = widgets.VBox([widgets.HTML(STYLE), controls, self._line, self._image])

    # -- from a wish to its answer: `_moved` runs in any thread, all else in the worker's -----------------------------

    def _moved(self, _change):
        self._wanted = tuple(slider.value for slider in self.sliders.values())
        _worker.submit(self._follow)

    def _follow(self):
        """Answer the newest wish, whichever brought us here; the others find it answered."""
        wanted = self._wanted
        if wanted == self._done:
            return
        self._done = None
        if wanted not in self._known:
            self._mark_old("<em>computing …</em>")
        try:
            self._show(self._answer(wanted))
        except Overtaken:
            return
        except Exception as error:  # in this thread nobody else would ever see it
            self._mark_old(_fault_words(error, self.shown))
        self._done = wanted

    def _answer(self, setting):
        if setting not in self._known:
            model = self._model_of(**dict(zip(self._keywords.values(), setting)))
            _demand(model, Model, "the function that makes the model")
            # as `solve_static`, whose warnings would turn up beneath some other cell
            result = StaticResult(model, solve_displacements(model, progress=lambda _phase: self._go_on(setting)))
            figures = {name: float(figure(result)) for name, figure in self._figures.items()}
            self._go_on(setting)
            picture = _demand(self._plot(result), Picture, "plot")
            self._known[setting] = Answer(self._words(setting), picture, figures, result.notes)
        return self._known[setting]

    def _go_on(self, setting):
        if setting != self._wanted:
            raise Overtaken

    def _words(self, setting):
        """The setting in words: "radius 80 mm, post spacing 1300 mm"."""
        named = (label.partition(" (") for label in self._keywords)
        return ", ".join(f"{name} {_word(v)} {unit.rstrip(')')}".strip() for (name, _, unit), v in zip(named, setting))

    # -- what is seen --------------------------------------------------------------------------------------------------

    def _show(self, answer):
        self.shown = answer
        self._image.value = answer.picture.png or b""
        self._table.value = _table(self.start.figures, answer.figures)
        self._line.value = _line(answer) + ("" if answer.picture.png else answer.picture.html)
        for widget in (self._image, self._table):
            widget.remove_class(OLD)

    def _mark_old(self, line):
        for widget in (self._image, self._table):
            widget.add_class(OLD)
        self._line.value = f'<div role="status">{line}</div>'

    @property
    def page(self):
        """The start as a still picture with its figures, HTML."""
        return _table(self.start.figures) + _line(self.start) + self.start.picture.html + f"<p><em>{STILL}</em></p>"

    def _repr_mimebundle_(self, **options):
        return self.box._repr_mimebundle_(**options) | {"text/html": self.page, "text/plain": repr(self)}

    def __repr__(self):
        figures = ", ".join(f"{name} {number(value)}" for name, value in self.shown.figures.items())
        return f"What if? {self.shown.words}: {figures}"


# -- the arguments ----------------------------------------------------------------------------------------------------


def _values(label, given):
    """A slider's values as a list."""
    if isinstance(given, list) and given:
        return given
    try:
        low, high, step = given
        steps = int((high - low) / step + 1e-9)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        steps = 0
    if steps < 1 or step < 0:
        raise ModelError(
            f'parameter "{label}" is {given!r}; it must be (low, high, step) with low below high and a step above 0 '
            "that fits between them, or a list of values."
        )
    return [round(low + i * step, 9) for i in range(steps + 1)]


def _keyword(label):
    return "_".join(label.partition(" (")[0].replace("-", " ").split())


def _starts(model_of, values, keywords):
    """Where each slider starts: the default of its keyword, or its first value."""
    accepted = signature(model_of).parameters
    takes_any = any(each.kind is each.VAR_KEYWORD for each in accepted.values())
    starts = {}
    for label, each in values.items():
        keyword = keywords[label]
        if keyword not in accepted and not takes_any:
            advice = nearest_name(keyword, accepted)[1]
            raise ModelError(f'parameter "{label}": the function that makes the model takes no "{keyword}". {advice}')
        usual = accepted[keyword].default if keyword in accepted else _EMPTY
        if usual is not _EMPTY and usual not in each:
            raise ModelError(
                f'parameter "{label}": the start, the default of "{keyword}", is {usual!r}, which is not among its '
                f"values {', '.join(map(_word, each))}."
            )
        starts[label] = each[0] if usual is _EMPTY else usual
    return starts


_EMPTY = signature(lambda x: x).parameters["x"].default


def _demand(thing, kind, who):
    if not isinstance(thing, kind):
        raise ModelError(f"{who} gave a {type(thing).__name__}; it must give a {kind.__name__}.")
    return thing


def _on_one_bar():
    """The usual picture, every one on the bar of the first."""
    limits = None

    def plot(result):
        nonlocal limits
        case = (result.model.combinations or result.model.load_cases)[0]
        picture = plot_case(result[case.name], limits=limits, width=WIDTH)
        limits = limits or picture.limits
        return picture

    return plot


# -- words ------------------------------------------------------------------------------------------------------------


def _word(value):
    return str(value) if isinstance(value, str) else f"{value:g}"


def _fault_words(error, shown):
    sentence = str(error) if isinstance(error, FemkitError) else f"{type(error).__name__}: {error}"
    look = "color:var(--jp-error-color1, #b00020);white-space:pre-line;line-height:1.4;max-height:7em;overflow:auto"
    return f'<div style="{look}">{escape(sentence)}</div>In grey: {escape(shown.words)}.'


def _line(answer):
    """What the picture belongs to, and the notes to be unfolded."""
    items = "".join(f"<li>{escape(note)}</li>" for note in answer.notes)
    head = f"beyond linear theory in {len(answer.notes)} place{'s' * (len(answer.notes) != 1)}"
    notes = f"<details><summary>{head}</summary><ul>{items}</ul></details>" if items else ""
    return f'<div role="status">{escape(answer.words)}</div>{notes}'


def _table(start, now=None):
    """Key figures as HTML: at the start, now, and by how much they differ."""
    heads = ["start"] if now is None else ["start", "now", "difference", ""]
    rows = [["", *heads]]
    for name, first in start.items():
        rows.append([escape(name), number(first)] + ([] if now is None else _difference(first, now[name])))
    cells = (
        f'<td style="text-align:left">{first}</td>' + "".join(f"<td {CELL}>{c}</td>" for c in rest)
        for first, *rest in rows
    )
    return f"<table>{''.join(f'<tr>{row}</tr>' for row in cells)}</table>"


def _difference(start, now):
    change = now - start
    share = f"{change / start:+.1%}" if start and change and np.isfinite(change) else ""
    signed = f"{change:+.3g}" if change else "0"
    return [f"<b>{number(now)}</b>", *(words.replace("-", "−") for words in (signed, share))]

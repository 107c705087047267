"""What does a quantity depend on? Variants of one model, solved side by side and kept, as a table and a picture."""

import os
import re
import signal
import warnings
from collections.abc import Iterable
from concurrent.futures import BrokenExecutor, as_completed
from contextlib import closing
from dataclasses import dataclass, replace
from html import escape
from inspect import Parameter, signature
from itertools import product
from threading import Thread
from time import sleep

import numpy as np

from ...errors import FemkitWarning, ModelError, nearest_name
from ...results.static import solve_static
from .progress import progress_bar
from .store import Store
from .variant import Outcome, Task, failed, outcome_of, sendable

__all__ = ["Sweep", "sweep"]

DIED = "its process ended without a word; it may have lacked memory."
THREADS = ("OMP_NUM_THREADS", "MKL_NUM_THREADS", "OPENBLAS_NUM_THREADS")  # the kit and MKL's solver; NumPy's libraries


@dataclass(frozen=True, eq=False)
class Sweep:
    """All variants of a sweep, in the order in which they were asked for.

    Attributes
    ----------
    outcomes : tuple of Outcome
    damaged : tuple of str
        A sentence for each file of earlier sweeps that could not be used.
    """

    outcomes: tuple
    damaged: tuple = ()

    @property
    def notes(self):
        """What should be known: damaged files, and what each result said of itself."""
        said = enumerate((one.notes for one in self.outcomes), start=1)
        return (*self.damaged, *(f"variant {number}: {note}" for number, notes in said for note in notes))

    @property
    def parameters(self):
        """Names of the parameters, with their units."""
        return list(self.outcomes[0].parameters)

    @property
    def quantities(self):
        """Names of the quantities, with their units."""
        return list(dict.fromkeys(name for one in self.outcomes for name in one.values))

    @property
    def failed(self):
        """The outcomes that hold an error."""
        return tuple(one for one in self.outcomes if one.error)

    @property
    def solved(self):
        """How many variants were solved anew."""
        return sum(not one.is_kept and not one.error for one in self.outcomes)

    def table(self):
        """One row a variant: its parameters, its quantities, its error and the number of its notes if there are any."""
        import pandas as pd

        rows = [
            one.parameters | {name: one.values.get(name, np.nan) for name in self.quantities} for one in self.outcomes
        ]
        table = pd.DataFrame(rows, index=pd.RangeIndex(1, len(rows) + 1, name="variant"))
        said = {"error": [one.error for one in self.outcomes], "notes": [len(one.notes) for one in self.outcomes]}
        return table.assign(**{head: words for head, words in said.items() if any(words)})

    def __repr__(self):
        kept = sum(one.is_kept for one in self.outcomes)
        counts = f"{self.solved} solved, {kept} kept from before, {len(self.failed)} failed"
        return f"Sweep: {len(self.outcomes)} variants of {', '.join(self.parameters)}: {counts}"

    def _repr_html_(self):
        notes = "".join(f"<li>{escape(note)}</li>" for note in self.notes)
        return f"<p>{escape(repr(self))}</p>{self.table().to_html(float_format='%.4g')}<ul>{notes}</ul>"


def sweep(
    model_of,
    variants,
    quantities,
    *,
    solve=solve_static,
    keep="results/sweeps",
    fields=False,
    executor=None,
    workers=None,
    progress="auto",
):
    """Solve variants of a model side by side; a variant that fails keeps its error, and the others go on.

    Parameters
    ----------
    model_of : callable
        Of the parameters by name; returns the `Model`. Functions of a notebook's cells will do, lambdas too.
    variants : dict of str to sequence, or list of dict
        All combinations of each parameter's values, or one dict a variant. A unit in brackets is for tables and
        pictures only: ``"sheet thickness (mm)"`` is the argument ``sheet_thickness``.
    quantities : dict of str to callable, or callable
        By name with unit, each of the result and giving one number; or one function that gives such a dict of numbers.
    solve : callable, optional
        Of the model; returns what quantities are taken from. `solve_static` without it.
    keep : str or Path or None
        The folder where figures are kept, so that a stopped sweep goes on where it stopped and a repeated one solves
        nothing. A variant is known again by its model, by the code of `quantities` and `solve` with all that they
        call, and by the kit's own. None keeps nothing.
    fields : bool
        Also write each result into that folder, as ``KEY.vtu``.
    executor : concurrent.futures.Executor, optional
        Who works; with a Dask cluster ``client.get_executor()``. Without one, processes on this machine, which share
        out its processors: no more threads than processors (nor, each, than ``OMP_NUM_THREADS`` says).
    workers : int, optional
        How many processes; as many as processors without it. Fewer need less memory.
    progress : "auto", callable or None
        Called with the numbers of variants done, in all, and failed. ``"auto"`` draws a bar in a notebook or terminal.

    Returns
    -------
    sweep : Sweep

    Raises
    ------
    ModelError
        If there are no variants, they do not fit `model_of`, or what is given can't be sent to another process.
    RecordError
        If figures can't be kept.
    KeyboardInterrupt
        When interrupted; what was solved by then is kept.

    Examples
    --------
    >>> import femkit as fk
    >>> steel = fk.Material("S235", E=210_000, nu=0.3, density=7.85e-9)
    >>> wall = fk.read_mesh("meshes/side_wall_baseline.msh")
    >>> def model_of(thickness):
    ...     return fk.Model(wall, fk.Plate(thickness, steel), load_cases=[fk.LoadCase("own weight", [fk.Gravity()])])
    >>> mass = {"mass (kg)": lambda model: round(1000 * model.mass)}
    >>> swept = fk.sweep(model_of, {"thickness (mm)": [3, 4]}, mass, solve=lambda model: model, keep=None, workers=1)
    >>> swept
    Sweep: 2 variants of thickness (mm): 2 solved, 0 kept from before, 0 failed
    >>> swept.table()["mass (kg)"].tolist()
    [386.0, 515.0]
    """
    asked = _listed(variants)
    _refuse_misfits(model_of, asked[0])
    if fields and keep is None:
        raise ModelError('sweep: fields are asked for, but nothing is kept; give the folder, as keep="results/sweeps".')
    store = Store(keep)
    arguments = [{_argument(name): value for name, value in each.items()} for each in asked]
    folder = str(store.folder.resolve()) if fields else ""
    task = Task(model_of, solve, quantities, arguments, frozenset(store.kept), folder)
    payload, found = sendable(task), {}
    report = progress_bar() if progress == "auto" else progress or (lambda done, of, failed: None)
    report(0, len(asked), 0)
    with closing(_ended(payload, range(len(asked)), executor, workers)) as ended:
        for i, one in ended:
            if one.is_kept:
                held = store.kept[one.key]
                one = replace(one, values=held["values"], notes=tuple(held["notes"]))
            elif not one.error:
                store.keep(one.key, {"values": one.values, "notes": one.notes})
            found[i] = replace(one, parameters=asked[i])
            report(len(found), len(asked), sum(bool(one.error) for one in found.values()))
    return Sweep(tuple(found[i] for i in range(len(asked))), tuple(store.notes))


# -- what is asked for ------------------------------------------------------------------------------------------------


def _listed(variants):
    """All variants, each a dict of parameters by name."""
    if isinstance(variants, dict):
        values = [
            [given] if isinstance(given, str) or not isinstance(given, Iterable) else given
            for given in variants.values()
        ]
        variants = [dict(zip(variants, each)) for each in product(*values)]
    else:
        variants = list(variants)
    if not variants or not all(isinstance(each, dict) and each for each in variants):
        raise ModelError("sweep: there are no variants; give a dict of parameter to values, or a list of dicts.")
    for number, each in enumerate(variants, start=1):
        if set(each) != set(variants[0]):
            raise ModelError(
                f"sweep: variant {number} has the parameters {', '.join(each)}, the first has "
                f"{', '.join(variants[0])}; give all variants the same."
            )
    return variants


def _argument(name):
    """``"sheet thickness (mm)"`` as an argument: ``sheet_thickness``."""
    return re.sub(r"\s*[(\[].*$", "", name).strip().replace(" ", "_").replace("-", "_")


def _refuse_misfits(model_of, parameters):
    takes = signature(model_of).parameters.values()
    names = [one.name for one in takes if one.kind not in (Parameter.VAR_KEYWORD, Parameter.VAR_POSITIONAL)]
    given = [_argument(name) for name in parameters]
    faults = []
    if not any(one.kind is Parameter.VAR_KEYWORD for one in takes):
        faults += [f'it takes no "{name}". {nearest_name(name, names)[1]}' for name in given if name not in names]
    needed = [one.name for one in takes if one.default is Parameter.empty and one.name in names]
    faults += [f'it needs "{name}", which no variant gives.' for name in needed if name not in given]
    if faults:
        raise ModelError("\n".join(f"sweep: {getattr(model_of, '__name__', model_of)}: {fault}" for fault in faults))


# -- many variants --------------------------------------------------------------------------------------------------


def _ended(payload, which, executor, workers):
    """Pairs of a variant's number and its outcome, as they end."""
    pool = executor if executor is not None else _processes(workers, len(which))
    futures, lost = {}, []
    try:
        for i in which:
            futures[pool.submit(outcome_of, payload, i)] = i
        for future in as_completed(futures):
            try:
                yield futures[future], future.result()
            except BrokenExecutor:
                lost.append(futures[future])
            except Exception as error:  # a cluster's own, as when a machine is lost
                yield futures[future], failed(error)
    finally:  # stopped, perhaps: nothing is begun any more
        if executor is None:
            pool.shutdown(kill_workers=True)
        else:
            for future in futures:
                future.cancel()
    # a worker that dies takes all unfinished variants with it, of which the first were at work: those and the others in
    # new pools, and so on until the culprit is alone
    if len(lost) == 1 or executor is not None:
        yield from ((i, Outcome({}, {}, error=DIED)) for i in lost)
    elif lost:
        lost.sort()
        at_work = min(workers or os.cpu_count(), len(lost) // 2)
        for some in (lost[:at_work], lost[at_work:]):
            yield from _ended(payload, some, None, workers)


def _processes(workers, n_variants):
    """Fresh processes with as many threads each as do not fight."""
    # unlike Python's own pool it sets threads before NumPy loads, runs no script again, and stops its workers at once
    import loky

    n_cores = loky.cpu_count()
    n_workers = min(workers or n_cores, n_variants)
    said = os.environ.get("OMP_NUM_THREADS", "")
    n_threads = min(max(n_cores // n_workers, 1), int(said) if said.isdigit() else n_cores)
    env = dict.fromkeys(THREADS, str(n_threads))
    return loky.ProcessPoolExecutor(n_workers, env=env, initializer=_begin)


def _begin():
    """Leave interrupts to the process that waits, and warnings to the outcomes' notes; end when nobody waits."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    warnings.simplefilter("ignore", FemkitWarning)
    Thread(target=_end_with, args=(os.getppid(),), daemon=True).start()


def _end_with(parent):
    """A process that waits may be killed without a word; then it is another's child."""
    while os.getppid() == parent:
        sleep(1)
    os._exit(1)

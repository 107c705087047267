"""Run a folder of notebooks from top to bottom in fresh kernels, and keep the executed pages as HTML."""

import os
from pathlib import Path

from ..errors import FemkitError, nearest_name

__all__ = ["NotebookError", "run_notebooks"]

LEFT_OUT = ("_verification", "_what-if")
CELL_SECONDS = 600  # a cell that takes longer hangs: a killed kernel never answers


class NotebookError(FemkitError, RuntimeError):
    """A notebook stopped at a cell; the message holds the notebook, the cell's first line and the error."""


def run_notebooks(folder, *, only=(), to=None, progress=None, timeout=CELL_SECONDS):
    """Execute a folder's notebooks in the order of their names.

    Parameters
    ----------
    folder : str or Path
        Also the kernels' working folder.
    only : sequence of str
        Names of the notebooks to run, without the suffix. If left out all but ``…_verification``, which is about the
        kit and not about the study, and ``…_what-if``, whose questions the study does not wait for.
    to : str or Path, optional
        Where the executed pages go; ``folder/results`` without it. Made if missing.
    progress : callable, optional
        Called with the notebook's name, the number of cells done and of all cells.
    timeout : float
        Seconds that one cell may take.

    Returns
    -------
    pages : list of Path
        One HTML page a notebook, pictures inside it.

    Raises
    ------
    NotebookError
        If the folder holds no such notebooks or a cell fails; pages of earlier notebooks are kept.
    """
    folder = Path(folder)
    there = {path.stem: path for path in sorted(folder.glob("*.ipynb"))}
    if not there:
        raise NotebookError(f"{folder}: there are no notebooks here; give the folder that holds them.")
    for name in only:
        if name not in there:
            raise NotebookError(f'{folder}: there is no notebook "{name}". {nearest_name(name, there)[1]}')
    only = only or [name for name in there if not name.endswith(LEFT_OUT)]
    notebooks = [path for name, path in there.items() if name in only]
    to = Path(to) if to is not None else folder / "results"
    to.mkdir(parents=True, exist_ok=True)
    return [_run(path, to / f"{path.stem}.html", progress or (lambda *_: None), timeout) for path in notebooks]


def _run(path, page, progress, timeout):
    import nbformat
    from nbclient import NotebookClient
    from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError

    os.environ.setdefault("JUPYTER_PREFER_ENV_PATH", "1")  # this environment's kernel, not one of the user's others
    notebook = nbformat.read(path, as_version=4)
    n_cells = sum(cell.cell_type == "code" for cell in notebook.cells)
    done = iter(range(1, n_cells + 1))
    client = NotebookClient(
        notebook,
        timeout=timeout,
        kernel_name="python3",
        resources={"metadata": {"path": str(path.parent.resolve())}},
        store_widget_state=False,  # the page then shows a panel's still picture, not sliders that fetch scripts
        extra_arguments=["--log-level=ERROR"],  # the kernel's warning about TCP says nothing to a reader
        on_cell_executed=lambda cell, **_: (
            progress(path.stem, next(done, n_cells), n_cells) if cell.cell_type == "code" else None
        ),
    )
    try:
        client.execute()
    except (CellExecutionError, CellTimeoutError, DeadKernelError) as error:
        raise NotebookError(f"{path.name}: {_where(notebook)}{error}") from error
    _write_page(notebook, page)
    return page


def _where(notebook):
    """The first line of the cell that was reached last, for the message."""
    reached = [c for c in notebook.cells if c.cell_type == "code" and c.get("execution_count")]
    lines = reached[-1].source.strip().splitlines() if reached else []
    return f'stopped at the cell that begins "{lines[0]}": ' if lines else ""


def _write_page(notebook, page):
    from nbconvert import HTMLExporter

    # a page that opens offline: no scripts from elsewhere
    urls = ("mathjax", "require_js", "jquery", "jupyter_widgets_base", "mermaid_js", "mermaid_layout_elk_js")
    exporter = HTMLExporter(embed_images=True, **{f"{name}_url": "" for name in urls})
    html, _resources = exporter.from_notebook_node(notebook)
    beside = page.with_suffix(".part")
    beside.write_text(html, encoding="utf-8")
    beside.replace(page)

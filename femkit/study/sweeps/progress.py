"""How far is it? A bar below the notebook's cell or in the terminal's last line; nothing where nobody looks."""

import sys
from time import perf_counter

__all__ = ["progress_bar"]

WIDTH = 30  # letters


def progress_bar():
    """A function of (done, of, failed) that draws a bar, in a notebook as HTML, in a terminal in one line of stderr.

    Elsewhere, as in a test or where stderr goes to a file, it does nothing. What stays holds no clock times.
    """
    shell = sys.modules["IPython"].get_ipython() if "IPython" in sys.modules else None
    if getattr(shell, "kernel", None) is not None:
        return _with_time(_InNotebook())
    return _with_time(_in_terminal) if sys.stderr.isatty() else lambda done, of, failed: None


def _with_time(draw):
    start = perf_counter()

    def told(done, of, failed):
        words = f"{done} of {of} variants" + (f", {failed} failed" if failed else "")
        if 0 < done < of:
            words += f", about {_duration((perf_counter() - start) / done * (of - done))} left"
        draw(done, of, words)

    return told


def _duration(seconds):
    """``40 s``, ``3 min``, ``2.5 h``."""
    return (
        f"{seconds:.0f} s"
        if seconds < 100
        else f"{seconds / 60:.0f} min"
        if seconds < 6000
        else f"{seconds / 3600:.1f} h"
    )


def _in_terminal(done, of, words):
    full = WIDTH * done // of
    line = f"[{'=' * full}{' ' * (WIDTH - full)}] {words}"
    # the cursor waits at the line's start, so that whatever is written next, an error too, covers the bar
    sys.stderr.write(f"{line:<79}" + ("\n" if done == of else "\r"))
    sys.stderr.flush()


class _InNotebook:
    """One output that is drawn anew: no widget, so that it shows in every front end and in the saved page."""

    def __init__(self):
        self._handle = None

    def __call__(self, done, of, words):
        from IPython.display import display

        html = f'<progress value="{done}" max="{of}" style="width:20em"></progress> {words}'
        bundle = {"text/html": html, "text/plain": words}
        if self._handle is None:
            self._handle = display(bundle, raw=True, display_id=True)
        else:
            self._handle.update(bundle, raw=True)

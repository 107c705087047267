"""Which direct solver factors the matrix, and how many threads numpy may have meanwhile."""

from contextlib import contextmanager

from threadpoolctl import ThreadpoolController

from ..errors import SolveError, nearest_name
from .pardiso import Pardiso
from .superlu import SuperLU

__all__ = ["SOLVERS", "choose_solver", "one_thread_for_numpy"]

SOLVERS = {"pardiso": Pardiso, "superlu": SuperLU}  # fastest first


def choose_solver(name="auto"):
    """Start a direct solver.

    Parameters
    ----------
    name : {"auto", "pardiso", "superlu"}
        ``"auto"`` takes the first that can be loaded.

    Returns
    -------
    name : str
    solver : object with ``order``, ``factorise``, ``solve`` and ``close``

    Raises
    ------
    SolveError
        If there is no solver of that name, or it can't be loaded.
    """
    if name != "auto" and name not in SOLVERS:
        raise SolveError(f'there is no solver "{name}". {nearest_name(name, ["auto", *SOLVERS])[1]}')
    failures = []
    for candidate in SOLVERS if name == "auto" else [name]:
        try:
            return candidate, SOLVERS[candidate]()
        except (ImportError, OSError) as error:
            failures.append(f'the solver "{candidate}" can\'t be loaded ({error})')
    raise SolveError(f'{"; ".join(failures)}; use solver="auto".')


@contextmanager
def one_thread_for_numpy():
    """Limit NumPy's own threads to one: they would fight with those of the solver."""
    libraries = ThreadpoolController().select(internal_api=["openblas", "blis"])
    with libraries.limit(limits=1):
        yield

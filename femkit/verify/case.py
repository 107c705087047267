"""What a verification case is: a claim, a number from outside with its source, and how the kit's own is measured."""

from collections.abc import Callable
from dataclasses import KW_ONLY, dataclass, field

__all__ = ["EVIDENCE", "GROUPS", "Case", "rows"]

GROUPS = ("plane stress", "plates and shells", "stiffened and thin-walled", "modes", "buckling")
EVIDENCE = ("closed form", "series", "published", "Ritz", "from memory")


@dataclass(frozen=True)
class Case:
    """One number that the kit must give.

    Parameters
    ----------
    name : str
        ``"problem"``, or ``"problem: quantity"`` where one problem is asked several things.
    group : str
        One of `GROUPS`.
    claim : str
        What it shows when it passes, in a few words.
    source : str
        Where the reference comes from: author, title, edition or volume, section.
    evidence : str
        One of `EVIDENCE`: ``closed form`` and ``series`` were evaluated, ``Ritz`` is an own high-degree polynomial
        solution, ``published`` is a printed number as commonly quoted, ``from memory`` nobody has looked up again.
    reference : float
        In the problem's own units.
    measure : callable
        ``measure(kind, n)`` builds the model with cells of a kind on the mesh ``n`` of the ladder, solves it and
        returns the number.
    unit : str
        Of the reference; problems keep their published units.
    ladder, longer : tuple of int
        Meshes from coarse to fine, as divisions; `longer` ones are added on demand.
    kinds : tuple of str
        Cells it is run with.
    halved : tuple of str
        Those of them whose meshes have half as many divisions: quadratic cells, which have as many points then.
    precision : float
        Share of the reference by which it is uncertain, or by which its theory differs from the kit's.
    limit : float or dict of str to float
        Share of the reference that the error on the ladder's last mesh must never pass, set before it was run; by
        kind of cell where more can't be asked of one than of another.
    aims : dict of int to float, or to dict of str to float
        Share that the error on other meshes of the ladder must not pass, set before as well; by kind of cell likewise.
    reason : str
        Why `precision` and `limit` are what they are.
    order : float
        Of convergence, as theory promises it: 2 for what moves, 1 for stress at an edge.
    printed : float, optional
        The number commonly quoted, where the reference is a better one.
    note : str
        What a reader of the row must know besides.
    """

    name: str
    group: str
    claim: str
    source: str
    evidence: str
    reference: float
    measure: Callable[[str, int], float]
    _: KW_ONLY
    unit: str = ""
    ladder: tuple = (4, 8, 16)
    longer: tuple = (32,)
    kinds: tuple = ("quad", "triangle")
    halved: tuple = ()
    precision: float = 1e-3
    limit: float | dict = 0.02
    aims: dict = field(default_factory=dict)
    reason: str = ""
    order: float = 2.0
    printed: float | None = None
    note: str = ""

    def meshes(self, kind, *, longer=False):
        """Divisions that it is run on with a kind of cell, coarse to fine."""
        meshes = self.ladder + (self.longer if longer else ())
        return tuple(n // 2 for n in meshes) if kind in self.halved else meshes


def rows(name, problem, references, **common):
    """Cases of one problem that is asked several things.

    Parameters
    ----------
    name : str
    problem : callable
        ``problem(kind, n)`` gives a dict of quantity to number.
    references : dict of str to float, or to a pair of float and dict
        By quantity; the dict is what its `Case` has of its own.
    **common
        What all have.
    """
    for quantity, given in references.items():
        reference, own = given if isinstance(given, tuple) else (given, {})
        measure = lambda kind, n, quantity=quantity: problem(kind, n)[quantity]  # noqa: E731
        yield Case(f"{name}: {quantity}", reference=reference, measure=measure, **(common | own))

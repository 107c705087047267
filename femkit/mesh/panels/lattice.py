"""Where a panel's grid lines run: stations that must be met, and cells between them that grow from fine to coarse."""

from dataclasses import dataclass, field

import numpy as np

from ...errors import MeshError

__all__ = ["Axis", "divide_alike"]

SAMPLES = 33  # of the wanted size between two stations
SAME = 1e-6  # mm: stations closer than this are one


@dataclass(eq=False)
class Axis:
    """One coordinate of a panel's lattice, filled as its parts say what they need.

    Attributes
    ----------
    coarse : float
        Size of cells far from everything, mm.
    slope : float
        How fast cells grow with the distance from a fine place, mm per mm.
    stations : list of float
        Coordinates that must be grid lines.
    sizes : list of tuple
        Wanted cell sizes: from, to, size; mm.
    """

    coarse: float
    slope: float
    stations: list = field(default_factory=list)
    sizes: list = field(default_factory=list)
    lines: np.ndarray | None = None

    def meet(self, *places):
        """Ask for grid lines at these coordinates, mm."""
        self.stations += places

    def want(self, low, high, size):
        """Ask for cells no larger than `size` between two coordinates, mm."""
        self.sizes.append((min(low, high), max(low, high), size))

    def measure(self):
        """Sort the stations, and count the cells between each two that the wanted sizes ask for."""
        stations = np.unique(np.array(self.stations, dtype=float))
        self.stations = stations[np.append(True, np.diff(stations) > SAME)]
        low, high = self.stations[:-1, None], self.stations[1:, None]
        at = low + (high - low) * np.linspace(0, 1, SAMPLES)  # (n_intervals, SAMPLES)
        size = np.full(at.shape, float(self.coarse))
        for start, end, wanted in self.sizes:
            away = np.maximum(np.maximum(start - at, at - end), 0)
            np.minimum(size, wanted + self.slope * away, out=size)
        steps = np.diff(at, axis=1) * (1 / size[:, 1:] + 1 / size[:, :-1]) / 2
        self._at, self._cells = at, np.pad(np.cumsum(steps, axis=1), ((0, 0), (1, 0)))
        self.counts = np.maximum(np.ceil(self._cells[:, -1] - 0.05), 1).astype(int)

    def run(self, low, high):
        """The intervals between two stations, as a slice of `counts`."""
        start, end = np.searchsorted(self.stations, np.array([min(low, high), max(low, high)]) - SAME / 2)
        return slice(int(start), int(end))

    def raise_to(self, run, count):
        """Put cells into a run of intervals, where they are largest, until it has `count`."""
        while self.counts[run].sum() < count:
            self.counts[run.start + np.argmax(self._cells[run, -1] / self.counts[run])] += 1

    def draw(self):
        """Fix the grid lines: between stations each cell has the same share of what the wanted sizes ask for."""
        parts = [self.stations[:1]]
        for at, cells, count, end in zip(self._at, self._cells, self.counts, self.stations[1:]):
            inner = np.interp(cells[-1] * np.arange(1, count) / count, cells, at)
            parts += [inner, [end]]
        self.lines = np.concatenate(parts)

    def index(self, place):
        """Which grid line runs at a station."""
        return int(np.argmin(np.abs(self.lines - place)))

    def between(self, low, high):
        """The grid lines from one station to another, in ascending order."""
        return np.arange(self.index(low), self.index(high) + 1)


def divide_alike(axes, alike):
    """Raise counts of cells until every pair of runs that must match does; then draw the lines.

    Parameters
    ----------
    axes : pair of Axis
    alike : sequence
        A run on the first axis and one on the second, by their ends, that must have as many cells, and who asks.
    """
    for axis in axes:
        axis.measure()
    runs = [(axes[0].run(*first), axes[1].run(*second)) for first, second, _who in alike]
    for _ in range(1000):
        totals = [(int(axes[0].counts[a].sum()), int(axes[1].counts[b].sum())) for a, b in runs]
        if all(first == second for first, second in totals):
            break
        for (a, b), (first, second) in zip(runs, totals):
            axes[0].raise_to(a, max(first, second))
            axes[1].raise_to(b, max(first, second))
    else:
        apart = dict.fromkeys(str(who) for (first, second), (*_, who) in zip(totals, alike) if first != second)
        raise MeshError(
            f"The panel can't be built: cells around the rounded corners of {' and '.join(apart)} can't be matched; "
            "move them, or what stands beside them, a little."
        )
    for axis in axes:
        axis.draw()

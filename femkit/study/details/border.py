"""Is the border of a local model far enough? Stress along it in both models, and the peak as the border moves outward.

What is cut out finely is stiffer or softer than it was in the whole, and the whole can't know: its displacements at
the border are right only where that no longer matters. Two signs that it does not (common practice, no source): both
models have about the same stress there, and a wider detail has the same peak.
"""

from dataclasses import dataclass
from html import escape

import numpy as np

from ...errors import ModelError
from ...mesh.closest import feet_of
from ...mesh.selection import select_points
from ...model.values import place_words
from ...results.places import stress_at_feet
from ...results.static import solve_static
from ...results.stress import SURFACES, to_cell_axes, von_mises
from .local import BORDER

__all__ = ["BorderCheck", "BorderEffect", "border_effect", "check_border"]

ALIKE = 0.1  # of the stress along the border; peaks of rounded openings are then within 2 to 3 %: tests/study/
SETTLED = 0.02  # of a peak; common practice, no source


@dataclass(frozen=True, eq=False)
class BorderCheck:
    """Stress along the border in the whole and in the local model.

    Attributes
    ----------
    places : ndarray, shape (n, 3)
        Centres of the detail's cells along its border, one for each edge of it, mm.
    lengths : ndarray, shape (n,)
        Of these edges, mm.
    whole, local, difference : dict of str to ndarray, shape (n,)
        Von Mises stress there, the worst of top, middle and bottom, by load case and combination; and that of the
        difference of both stresses, MPa.
    share : float
        Of the stress along the border, that the difference may be, both as root mean squares.
    """

    places: np.ndarray
    lengths: np.ndarray
    whole: dict
    local: dict
    difference: dict
    share: float

    @property
    def apart(self):
        """Root mean square of the difference over that of the whole's stress, by load case and combination."""
        return {name: self._mean(apart) / self._mean(self.whole[name]) for name, apart in self.difference.items()}

    @property
    def is_far_enough(self):
        """Whether the models differ by no more than the share in any load case."""
        return max(self.apart.values()) <= self.share

    def table(self):
        """One row a load case or combination: stress along the border, difference, its largest place, verdict."""
        import pandas as pd

        rows = {}
        for name, apart in self.apart.items():
            worst = int(self.difference[name].argmax())
            rows[name] = {
                "r.m.s. stress, whole (MPa)": self._mean(self.whole[name]),
                "r.m.s. stress, local (MPa)": self._mean(self.local[name]),
                "r.m.s. difference (MPa)": self._mean(self.difference[name]),
                "over the whole's": apart,
                "largest difference (MPa)": self.difference[name][worst],
                "near (mm)": place_words(self.places[worst], digits=0),
                "far enough": "yes" if apart <= self.share else "no",
            }
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis("along the border")

    def _mean(self, values):
        return float(np.sqrt(np.average(values**2, weights=self.lengths)))

    def __repr__(self):
        worst = max(self.apart, key=self.apart.get)
        said = "far enough" if self.is_far_enough else "not far enough, or the whole too coarse there"
        return (
            f"BorderCheck: {said}; along the border both models differ by {self.apart[worst]:.1%} of the stress at "
            f'most ("{worst}"), where {self.share:.0%} are allowed'
        )

    def _repr_html_(self):
        return f"<p>{escape(repr(self))}</p>{self.table().to_html(float_format='%.3g')}"


def check_border(result, answer, *, border=BORDER, share=ALIKE):
    """Compare the stress along the border of a local model with the whole's.

    Parameters
    ----------
    result, answer : StaticResult
        Of the whole model and of the local one.
    border : str, place or array_like of int
        The detail's border, as in `local_model`.
    share : float
        Of the stress along the border, that the difference may be, both as root mean squares.

    Returns
    -------
    check : BorderCheck
        At the centres of the detail's cells along its border, of either model's own cells, without averaging.

    Raises
    ------
    ModelError
        If the local model has no such border.
    """
    mesh, is_driven = answer.model.mesh, np.zeros(answer.model.mesh.n_points, dtype=bool)
    is_driven[select_points(mesh, border, "the detail's border")] = True
    edges = mesh.edges
    sides = np.flatnonzero((is_driven[edges.points].all(axis=1) & (edges.count == 1))[edges.edge])
    if not len(sides):
        raise ModelError("no cell of the local model has an edge on its border; name the border that was driven.")
    cells, ends = edges.cell[sides], mesh.points[edges.points[edges.edge[sides]]]
    feet, frames = feet_of(result.model.mesh, mesh.centres[cells]), answer.model.per_cell.frames[cells]
    whole, local, difference = {}, {}, {}
    for case in answer:
        found = np.zeros((3, len(cells)))
        for surface in SURFACES:
            there = to_cell_axes(stress_at_feet(result[case.name], feet, surface), frames)
            here = np.nanmean(case.stress(surface, at="corners")[cells], axis=1)
            found = np.maximum(found, [von_mises(stress) for stress in (there, here, here - there)])
        whole[case.name], local[case.name], difference[case.name] = found
    lengths = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    return BorderCheck(mesh.centres[cells], lengths, whole, local, difference, share)


@dataclass(frozen=True)
class BorderEffect:
    """A quantity of local models whose border lies farther and farther out.

    Attributes
    ----------
    distances : tuple of float
        Of the border from the detail, mm.
    values : tuple of float
    share : float
        That the last step may change the value by.
    """

    distances: tuple
    values: tuple
    share: float

    @property
    def change(self):
        """By which share the last step changes the value."""
        return self.values[-1] / self.values[-2] - 1

    @property
    def is_far_enough(self):
        """Whether the last step changes the value by less than the share."""
        return abs(self.change) < self.share

    def table(self):
        """Distance, value, and change from distance to distance, as a table."""
        import pandas as pd

        change = [np.nan, *(after / before - 1 for before, after in zip(self.values, self.values[1:]))]
        index = pd.Index(self.distances, name="distance of the border (mm)")
        return pd.DataFrame({"value": self.values, "change": change}, index=index)

    def __repr__(self):
        said = "far enough" if self.is_far_enough else "not far enough: move it on outward"
        steps = f"from {self.distances[-2]:g} to {self.distances[-1]:g} mm"
        return f"BorderEffect: {said}; {steps} the value changes by {self.change:+.1%} to {self.values[-1]:.4g}"


def border_effect(model_of_distance, quantity, distances, *, share=SETTLED):
    """Move the border of a local model outward and see what that changes.

    Parameters
    ----------
    model_of_distance : callable
        Of the border's distance, mm; returns the local `Model`.
    quantity : callable
        Of the `StaticResult`; returns one number, such as a peak stress.
    distances : sequence of float
        Two at least, rising, mm. The mesh at the peak must be the same in all, or its changes count too.
    share : float
        That the last step may change the quantity by.

    Returns
    -------
    effect : BorderEffect

    Raises
    ------
    ModelError
        If the distances do not rise, or a model can't be made.
    """
    distances = tuple(map(float, distances))
    if len(distances) < 2 or not (np.diff(distances) > 0).all():
        raise ModelError(f"border_effect: distances are {list(distances)} mm; there must be two or more that rise.")
    values = tuple(float(quantity(solve_static(model_of_distance(distance)))) for distance in distances)
    return BorderEffect(distances, values, share)

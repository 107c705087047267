"""The answer of a static solve: all load cases and combinations of one model, with the proof of each."""

import warnings
from dataclasses import dataclass
from functools import cached_property
from html import escape

import numpy as np

from ..elements.beam import end_forces
from ..errors import FemkitWarning, ModelError, nearest_name
from ..model.model import Model
from ..model.values import place_words
from ..solve.forces import cell_forces
from ..solve.statics import DisplacementSolver, Solution
from .averaging import JUDGED_OVER, Neighbourhood, Sheets
from .case import CaseResult
from .export import write_results
from .linearity import linearity_notes
from .stress import cell_resultants

__all__ = ["StaticResult", "StaticSolver", "solve_static"]


def solve_static(model, *, solver="auto", progress=None):
    """Displacements, reactions and stresses of a model under all its load cases and combinations.

    Parameters
    ----------
    model : Model
        Not changed. Load cases on the same supports share one factorisation.
    solver : {"auto", "pardiso", "superlu"}
        The direct solver; ``"auto"`` takes the fastest that is installed.
    progress : callable, optional
        Called with a phase's name as it begins.

    Returns
    -------
    result : StaticResult

    Raises
    ------
    ModelError
        If the model can't be solved; the message holds all that `Model.check` finds.
    SolveError
        If the solution does not prove itself: residual, balance of loads and reactions.

    Warns
    -----
    FemkitWarning
        Where displacements, rotations or strains are beyond what linear theory is good for.
    """
    with StaticSolver(model, solver=solver, progress=progress, keeps_factors=False) as one:
        return _warned(one._result(model))


class StaticSolver:
    """Solves a model, and others like it on the same mesh for less: what a change leaves as it was is kept.

    Thickness, offset, axes and material of cells, and sections of beams, are compared value by value. Where none is
    another, other loads cost one more solution. Else the stiffness of the cells that changed is formed anew, and a
    factorisation follows in the order that was found at first; or, after small changes of large models, conjugate
    gradients with the old factor, where they take fewer solutions than a factorisation costs. Every solution proves
    itself as that of `solve_static` does, which is the same solver used once.

    Any model may follow any other. Where its mesh (by fingerprint), behaviour, lines of beams or links, or what its
    load cases hold are others, all is found anew, as at first.

    Parameters
    ----------
    model : Model
    solver, progress
        As of `solve_static`.
    keeps_factors : bool
        Keep a factor for each set of supports: about 3 GB each at a million unknowns. Without, the last one alone is
        kept.

    Examples
    --------
    >>> from dataclasses import replace
    >>> import femkit as fk
    >>> mesh = fk.Mesh([[0, 0, 0], [90, 0, 0], [90, 9, 0], [0, 9, 0]], {"quad": [[0, 1, 2, 3]]})
    >>> clamp = fk.Support([0, 3], ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    >>> tip = fk.LoadCase("tip", [fk.PointLoad([1, 2], fz=0.1)])
    >>> steel = fk.Material("steel", E=210_000, nu=0.3)
    >>> model = fk.Model(mesh, fk.Plate(2.0, steel), supports=[clamp], load_cases=[tip])
    >>> with fk.StaticSolver(model) as solver:
    ...     thin = solver.solve()
    ...     thick = solver.solve(replace(model, plates=fk.Plate(4.0, steel)))
    >>> float(round(thin["tip"].displacement[1, 2] / thick["tip"].displacement[1, 2], 2))     # cube of the thickness
    7.99
    """

    def __init__(self, model, *, solver="auto", progress=None, keeps_factors=True):
        self.model = model
        self._solver = DisplacementSolver(solver=solver, progress=progress, keeps_factors=keeps_factors)

    def __enter__(self):
        return self

    def __exit__(self, *_error):
        self.close()

    @property
    def solved(self):
        """The model that was solved last, None before any."""
        return self._solver.model

    def solve(self, model=None, *, warns=True):
        """All load cases and combinations of a model, of the one given at first if left out.

        Parameters
        ----------
        model : Model, optional
        warns : bool
            Without, where linear theory has left its ground is not looked at; ``result.notes`` does.

        Returns
        -------
        result : StaticResult

        Raises and warns as `solve_static` does.
        """
        result = self._result(self.model if model is None else model)
        return _warned(result) if warns else result

    def respond(self, forces, name):
        """Displacements of the model that was solved last under other forces.

        Parameters
        ----------
        forces : array_like, shape (n_points, n_components) or (n_points, n_components, n)
            N and N mm.
        name : str
            A load case: its supports hold, all at 0.

        Returns
        -------
        displacement : ndarray, the same shape
            mm and rad.

        Raises
        ------
        ModelError
            If there is no load case of the name, or the shape is another.
        """
        if self.solved is None:
            self._result(self.model)
        model, forces = self.solved, np.asarray(forces, dtype=float)
        names, shape = [case.name for case in model.load_cases], (model.mesh.n_points, model.n_components)
        if name not in names:
            raise ModelError(f'there is no load case "{name}". {nearest_name(name, names)[1]}')
        if forces.shape[:2] != shape or forces.ndim > 3:
            raise ModelError(f"forces have the shape {forces.shape}; it must be {shape}, or with a third axis.")
        flat = forces.reshape(shape[0] * shape[1], -1)
        return self._solver.respond(flat, name).reshape(forces.shape)

    def close(self):
        """Give the memory of all that is kept back; a solve after it starts anew."""
        self._solver.close()

    def _result(self, model):
        return StaticResult(model, self._solver.displacements(model))


def _warned(result):
    for note in result.notes:
        warnings.warn(note, FemkitWarning, stacklevel=3)
    return result


@dataclass(frozen=True, eq=False)
class StaticResult:
    """All load cases and combinations of one model: ``result["full load"]`` is one of them.

    Attributes
    ----------
    model : Model
    solution : femkit.solve.statics.Solution
        Displacements and reactions as solved, with the proof of each load case, counts and times.
    """

    model: Model
    solution: Solution

    @property
    def names(self):
        """Names of all load cases, then of all combinations."""
        return [case.name for case in self.model.load_cases + self.model.combinations]

    def __getitem__(self, name):
        """The load case or combination of that name.

        Raises
        ------
        ModelError
            If there is none; the nearest name is offered.
        """
        if name not in self.names:
            raise ModelError(
                f'there is no load case or combination of the name "{name}". {nearest_name(name, self.names)[1]}'
            )
        return self._cases[name]

    def __iter__(self):
        return (self[name] for name in self.names)

    @cached_property
    def _cases(self):
        cases = {case.name: {case.name: 1.0} for case in self.model.load_cases}
        cases |= {combination.name: combination.factors for combination in self.model.combinations}
        return {name: CaseResult(self, name, dict(factors)) for name, factors in cases.items()}

    @cached_property
    def sheets(self):
        """Which corners may be averaged: `femkit.results.averaging.Sheets`."""
        return Sheets.of(self.model)

    def neighbourhood(self, distance):
        """The `Neighbourhood` of every cell over a distance, mm."""
        return Neighbourhood.of(self.model, self.sheets, distance)

    @cached_property
    def strains(self):
        """Free thermal strain of every cell by load case, each (n_cells,)."""
        return {
            case.name: sum(
                (load.cell_strain(self.model) for load in case.loads if hasattr(load, "cell_strain")),
                np.zeros(self.model.mesh.n_cells),
            )
            for case in self.model.load_cases
        }

    @cached_property
    def resultants(self):
        """Section forces by load case, each (n_cells, 5, 8): see `femkit.results.stress.cell_resultants`."""
        names = [case.name for case in self.model.load_cases]
        moved = np.stack([self.solution.displacement[name] for name in names])
        found = cell_resultants(self.model, moved, np.stack([self.strains[name] for name in names]))
        return dict(zip(names, found))

    def forces_of_cells(self, case):
        """`CaseResult.cell_forces` of one of its load cases or combinations."""
        return cell_forces(self.model, case.displacement[:, : self.model.n_components], case.strain)

    def forces_of_beams(self, case):
        """`CaseResult.beam_ends` of one of its load cases or combinations."""
        return end_forces(self.model.beam_cells, case.displacement)

    @cached_property
    def notes(self):
        """Where linear theory has left its ground, in words, with the place."""
        return linearity_notes(self)

    def table(self):
        """One row a load case or combination: largest displacement and stress with their places, balance, energy."""
        import pandas as pd

        rows = []
        for case in self:
            moved = np.linalg.norm(case.displacement[:, :3], axis=1)
            judged = case.judged_stress()
            at_point, at_cell = int(moved.argmax()), int(judged.argmax())
            rows.append(
                {
                    "load case": case.name,
                    "largest displacement (mm)": moved[at_point],
                    "at (mm)": place_words(self.model.mesh.points[at_point], digits=0),
                    f"judged stress over {JUDGED_OVER:g} mm (MPa)": judged[at_cell],
                    "in plate": self.model.plate_of_cell[at_cell],
                    "near (mm)": place_words(self.model.mesh.centres[at_cell], digits=0),
                    "raw peak (MPa)": np.nanmax(case.von_mises("worst", at="corners")),
                }
            )
        return pd.DataFrame(rows).set_index("load case")

    def largest(self, distance=JUDGED_OVER):
        """Largest judged stress of every plate over all load cases and combinations, with place and case, as a table.

        Parameters
        ----------
        distance : float
            Averaged over, mm.
        """
        import pandas as pd

        rows = []
        names = self.names
        judged = np.stack([self[name].judged_stress(distance) for name in names])
        raw = np.stack([np.nanmax(self[name].von_mises("worst", at="corners"), axis=1) for name in names])
        for plate, cells in self.model.plate_cells.items():
            case, cell = np.unravel_index(judged[:, cells].argmax(), (len(names), len(cells)))
            peak_case, peak_cell = np.unravel_index(raw[:, cells].argmax(), (len(names), len(cells)))
            rows.append(
                {
                    "plate": plate,
                    f"judged over {distance:g} mm (MPa)": judged[case, cells[cell]],
                    "load case": names[case],
                    "near (mm)": place_words(self.model.mesh.centres[cells[cell]], digits=0),
                    "raw peak (MPa)": raw[peak_case, cells[peak_cell]],
                    "raw peak in": names[peak_case],
                }
            )
        return pd.DataFrame(rows).set_index("plate")

    def write(self, path):
        """Write mesh, sets, thickness, cell axes and every load case's fields as a VTK unstructured grid.

        Parameters
        ----------
        path : str or Path
            Ends in ``.vtu``. Written beside its place and renamed in, so that no half file is ever there.

        Returns
        -------
        path : Path

        Raises
        ------
        RecordError
            If the folder is missing or the file can't be written.
        """
        return write_results(self, path)

    def accelerations(self):
        """Acceleration of the centre of gravity in cases that are balanced by inertia, combinations too, as a table."""
        import pandas as pd

        heads = [f"a{axis} (mm/s2)" for axis in "xyz"] + [f"turning about {axis} (rad/s2)" for axis in "xyz"]
        balanced = {case.name for case in self.model.load_cases if case.balanced}
        rows = {case.name: case.acceleration for case in self if balanced & case.factors.keys()}
        return pd.DataFrame.from_dict(rows, orient="index", columns=heads).rename_axis("load case")

    def proof(self):
        """Residual, balance and energy of every load case, as a table."""
        import pandas as pd

        rows = []
        for name, proof in self.solution.proof.items():
            rows.append(
                {
                    "load case": name,
                    "imbalance of forces (N)": np.abs(proof.balance[:3]).max(),
                    "imbalance of moments (N mm)": np.abs(proof.balance[3:]).max(),
                    "componentwise residual": proof.residual,
                    "strain energy (N mm)": proof.energy,
                    "work of loads (N mm)": proof.work,
                }
            )
        return pd.DataFrame(rows).set_index("load case")

    def __repr__(self):
        counts = self.solution.counts
        return (
            f"StaticResult: {len(self.names)} load cases and combinations, {counts.unknowns:,} unknowns, "
            f"{counts.factorisations} factorisations by {self.solution.solver}, "
            f"{sum(self.solution.seconds.values()):.2f} s"
        )

    def _repr_html_(self):
        notes = "".join(f"<li>{escape(note)}</li>" for note in self.notes)
        return f"<p>{escape(repr(self))}</p>{self.table().to_html(float_format='%.4g')}<ul>{notes}</ul>"

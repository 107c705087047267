"""The model as tables: loads summed up before anything is solved, masses, and the page a notebook shows."""

from html import escape

import numpy as np

from ..mesh.selection import describe
from .values import span_words

__all__ = ["load_totals", "mass_table", "model_html"]

TOTALS = ("Fx (N)", "Fy (N)", "Fz (N)", "Mx (N mm)", "My (N mm)", "Mz (N mm)")
IN_TABLE = {"area (m2)": 1e-6, "mass (kg)": 1e3, "not structure (kg)": 1e3}  # from mm2 and tonne
MASSES = ("part", "thickness (mm)", "cells", *IN_TABLE, "x (mm)", "y (mm)", "z (mm)")
SUPPORTS = ("support", "holds (mm, rad)", "in load cases")
ROUNDING = 1e-11  # of the sum of a total's own parts


def load_totals(model):
    """Total force and moment about the origin of all load cases and combinations, unsolved, as a pandas table."""
    import pandas as pd

    rows = {}
    for case in model.load_cases + model.combinations:
        forces, total = np.abs(model.point_forces(case)), model.load_total(case)
        moment = forces[:, 3:].sum() + np.linalg.norm(model.mesh.points, axis=1) @ forces[:, :3].sum(axis=1)
        parts = np.repeat([forces[:, :3].sum(), moment], 3)
        rows[case.name] = np.where(np.abs(total) > ROUNDING * parts, total, 0.0)
    return pd.DataFrame.from_dict(rows, orient="index", columns=TOTALS).rename_axis("load case")


def mass_table(model):
    """Mass and centre of gravity by plate, beam and mass, and of the whole, as a pandas table.

    A plate's mass holds what is added to it, which counts as "not structure", as all masses do.
    """
    import pandas as pd

    mesh, per_cell, beams, rows = model.mesh, model.per_cell, model.beam_cells, []
    middle = mesh.centres + per_cell.offset[:, None] * per_cell.frames[:, 2]
    for (name, cells), plate in zip(model.plate_cells.items(), model.plates.values()):
        area, mass = mesh.areas[cells], mesh.areas[cells] * per_cell.area_mass[cells]
        place = np.average(middle[cells], axis=0, weights=mass if mass.sum() > 0 else area)
        span, added = span_words(per_cell.thickness[cells]), area.sum() * plate.added_mass
        rows.append((name, span, len(cells), area.sum(), mass.sum(), added, *place))
    for number, name in enumerate(model.beams):
        mine = beams[beams.beam == number]
        place = np.average(mesh.points[mine.points].mean(axis=1) + mine.arm, axis=0, weights=mine.length)
        rows.append((name, "", len(mine), 0.0, mine.weight.sum(), 0.0, *place))
    for more in model.masses:
        mass = more.point_masses(model)
        place = np.average(mesh.points, axis=0, weights=mass) if mass.any() else np.full(3, np.nan)
        rows.append((str(more), "", 0, 0.0, mass.sum(), mass.sum(), *place))
    counts, *sums = np.array([row[2:6] for row in rows]).T
    rows.append(("total", "", int(counts.sum()), *(part.sum() for part in sums), *model.centre_of_gravity))
    table = pd.DataFrame(rows, columns=MASSES).set_index(MASSES[0])
    table[list(IN_TABLE)] *= list(IN_TABLE.values())
    return table


def model_html(model):
    """What is wrong, or else plates, supports and load cases with their totals, as a piece of a page."""
    import pandas as pd

    head, faults = f"<p><b>{escape(repr(model))}</b></p>", model.check()
    if faults:
        return f"{head}<p>What is wrong:</p><ul>{''.join(f'<li>{escape(fault)}</li>' for fault in faults)}</ul>"
    held = []
    for supports, names in model.support_groups:
        for support in supports:
            words = ", ".join(support.words) + " of the mean" * support.mean
            held.append((describe(support.where), words, ", ".join(names)))
    acts = [
        "; ".join([f"{load}: {getattr(load, 'amount', '')}" for load in case.loads] + ["inertia"] * case.balanced)
        for case in model.load_cases
    ]
    acts += [" + ".join(f"{f:g} × {name}" for name, f in case.factors.items()) for case in model.combinations]
    made_of = [part.material.name for part in (*model.plates.values(), *model.beams.values())]
    masses = mass_table(model).assign(material=[*made_of, *[""] * (len(model.masses) + 1)])
    tables = masses, pd.DataFrame(held, columns=SUPPORTS), load_totals(model).assign(**{"is the sum of": acts})
    mass = f"<p>Mass in all, with what is not structure: {_figure(model.mass * 1e3)} kg.</p>"
    return "\n".join([head, mass, *(table.to_html(border=0, float_format=_figure) for table in tables)])


def _figure(value):
    """Five figures, with a comma every thousand."""
    return f"{float(f'{value:.5g}'):,.10g}"

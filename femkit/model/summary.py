"""The model as tables: loads summed up before anything is solved, masses, and the page a notebook shows."""

from html import escape

import numpy as np

from ..errors import ModelError
from ..mesh.selection import describe

__all__ = ["load_table", "mass_table", "model_html"]

TOTALS = ("Fx (N)", "Fy (N)", "Fz (N)", "Mx (N mm)", "My (N mm)", "Mz (N mm)")
MASSES = ("plate", "thickness (mm)", "cells", "area (m2)", "mass (kg)", "x (mm)", "y (mm)", "z (mm)")
ROUNDING = 1e-11  # of the sum of a total's own parts
CELL = "padding: 0 0.8em 0 0; vertical-align: top; text-align: "


def load_table(model):
    """Total force and moment about the origin of every load case and combination, as a pandas table."""
    import pandas as pd

    rows = {case.name: _total(model, case) for case in model.load_cases + model.combinations}
    return pd.DataFrame.from_dict(rows, orient="index", columns=TOTALS).rename_axis("load case")


def mass_table(model):
    """Mass, area and centre of gravity by plate, as a pandas table."""
    import pandas as pd

    return pd.DataFrame(_mass_rows(model), columns=MASSES).set_index(MASSES[0])


def model_html(model):
    """What is wrong, plates, supports, load cases with their totals and combinations, as a piece of a page."""
    faults, pieces = model.check(), [f"<p><b>{escape(repr(model))}</b></p>"]
    if faults:
        items = "".join(f"<li>{_text(fault)}</li>" for fault in faults)
        pieces.append(
            "<div style='border-left: 4px solid #b3261e; padding-left: 0.8em'>What is wrong:"
            f"<ul style='margin: 0.2em 0'>{items}</ul></div>"
        )
    return "\n".join([*pieces, _plates(model), _supports(model), _load_cases(model)])


def _total(model, case):
    """Total force and moment, with sums that are but rounding of their own parts made 0."""
    forces, points = model.point_forces(case), model.mesh.points
    size = np.abs(forces[:, :3])
    force = size.sum()
    moment = np.abs(forces[:, 3:]).sum() + np.linalg.norm(points, axis=1) @ size.sum(axis=1)
    total = model.load_total(case)
    return np.where(np.abs(total) > ROUNDING * np.repeat([force, moment], 3), total, 0.0)


def _mass_rows(model):
    mesh, per_cell, rows = model.mesh, model.per_cell, []
    middle = mesh.centres + per_cell.offset[:, None] * per_cell.frames[:, 2]
    for name, cells in model.plate_cells.items():
        mass = mesh.areas[cells] * per_cell.area_mass[cells]
        place = np.average(middle[cells], axis=0, weights=mass if mass.sum() > 0 else mesh.areas[cells])
        low, high = per_cell.thickness[cells].min(), per_cell.thickness[cells].max()
        span = f"{low:g}" if low == high else f"{low:g} … {high:g}"
        rows.append((name, span, len(cells), mesh.areas[cells].sum() * 1e-6, mass.sum() * 1e3, *place))
    return rows


def _plates(model):
    try:
        rows = [(*row, model.plates[row[0]].material.name) for row in _mass_rows(model)]
        note = f"Mass in all, with what is not structure: {_figure(model.mass * 1e3)} kg."
    except ModelError:  # said above, under what is wrong
        rows, note = [(name, *["–"] * 7, plate.material.name) for name, plate in model.plates.items()], ""
    return _table((*MASSES, "material"), rows, note)


def _supports(model):
    groups, rows = model.support_groups or ((model.supports, ()),), []
    for supports, names in groups:
        whose = ", ".join(names) if len(groups) > 1 else "all"
        for support in supports:
            held = ", ".join(name if value == 0 else f"{name} = {value:g}" for name, value in support.held.items())
            rows.append((describe(support.where), f"{held} of the mean" if support.mean else held, whose))
            whose = ""
        if not supports:
            rows.append(("none", "–", whose))
    return _table(("support", "holds", "in load cases"), rows)


def _load_cases(model):
    rows = []
    for case in model.load_cases:
        words = [f"{load}: {load.amount}" if hasattr(load, "amount") else str(load) for load in case.loads]
        rows.append((case.name, "\n".join(words) or "prescribed displacements only", *_total_or_dashes(model, case)))
    for combination in model.combinations:
        words = " + ".join(f"{factor:g} × {name}" for name, factor in combination.factors.items())
        rows.append((combination.name, words, *_total_or_dashes(model, combination)))
    return _table(("load case", "is", *TOTALS), rows, "Totals of all loads; moments about the origin.")


def _total_or_dashes(model, case):
    try:
        return _total(model, case)
    except ModelError:
        return ["–"] * 6


def _table(heads, rows, note=""):
    head = "".join(f"<th style='{CELL}left; white-space: nowrap'>{_text(text)}</th>" for text in heads)
    body = "\n".join(f"<tr>{''.join(map(_cell, row))}</tr>" for row in rows)
    caption = f"<caption style='caption-side: bottom; text-align: left'>{_text(note)}</caption>" if note else ""
    return f"<table style='margin: 0.8em 0'>{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _cell(value):
    if isinstance(value, str):
        return f"<td style='{CELL}left'>{_text(value)}</td>"
    return f"<td style='{CELL}right'>{_figure(value)}</td>"


def _text(words):
    return escape(words).replace("\n", "<br>")


def _figure(value):
    """Five figures, with a comma every thousand."""
    return f"{float(f'{value:.5g}'):,.10g}"

"""Old against new on one page: every question about the wall, with what decides it. All numbers are invented."""

from dataclasses import replace

import numpy as np
import side_wall as demo
import wall_joints
import wall_life
import wall_proof
import wall_survey

import femkit as fk
from femkit import assess
from femkit.assess import Finding

NO_HOIST = "it has no hoist"
CORNERS = ("sill-rear", "sill-front", "head-front", "head-rear")  # of the doorway, going round it
BAND = (4.0, 8.0)  # Hz, invented: where the bogies shake
TESTED = "only the reinforced wall is tested"


def one_page(results, buckles, modes):
    """The three forms of the wall under every question that the notebooks ask.

    Parameters
    ----------
    results : dict of str to StaticResult
    buckles : dict of str to dict of str to BucklingResult
    modes : dict of str to ModesResult
    """
    groups = {
        "strength": strength(results),
        "stability": stability(results, buckles),
        "life": life(results),
        "worn plates": worn_plates(results),
        "joints": joints(results),
        "stiffness": stiffness(results),
        "mass and supports": mass_and_supports(results),
        "vibration": vibration(modes),
        "proof test": proof_test(results["reinforced"]),
    }
    lines = [replace(line, group=group) for group, found in groups.items() for line in found]
    return fk.Comparison(lines, original="baseline")


def strength(results):
    """The most used plate against each strength, and the hoist's pad."""
    limits = {"yield_factor": demo.YIELD_FACTOR, "distance": demo.JUDGED_OVER}
    found = {form: assess.strength(result, **limits) for form, result in results.items()}
    yielding = {form: each.governing() for form, each in found.items()}
    breaking = {form: most(each.table(by_case=True), "against ultimate") for form, each in found.items()}
    hoist = dict.fromkeys(results, Finding(np.nan, why=NO_HOIST))
    pad = {"not working": ["hoist-pad"]}  # rated below the rule's least load: the factor is taken by analogy
    hoist["reinforced"] = assess.equipment(results["reinforced"]["hoist"], pad, least_load=0).governing()
    return [
        fk.Line("utilisation, yield strength / 1.15", yielding, unit="", limit=1.0),
        fk.Line("utilisation, ultimate strength / 1.5", breaking, unit="", limit=1.0),
        fk.Line("utilisation, ultimate strength / 3, hoist alone", hoist, unit="", limit=1.0),
    ]


def stability(results, buckles):
    """The lowest buckling factor, and the flat fields of sheet by formulas, before and after they buckle."""
    lowest = {form: assess.stability(each, limit=demo.STABILITY_FACTOR).governing() for form, each in buckles.items()}
    fields = {form: assess.field_buckling(result, limit=demo.STABILITY_FACTOR) for form, result in results.items()}
    before, after = ({f: each.governing(after_buckling=late) for f, each in fields.items()} for late in (False, True))
    return [
        fk.Line(f"{demo.STABILITY_FACTOR:g} / buckling factor", lowest, unit="", limit=1.0),
        fk.Line(f"{demo.STABILITY_FACTOR:g} / factor of a field of sheet by formulas", before, unit="", limit=1.0),
        fk.Line("utilisation of a field after buckling", after, unit="", limit=1.0),
    ]


def life(results):
    """Damage of the worst weld or cut edge after the years wanted, the years already used with it."""
    old = wall_life.life("baseline", results["baseline"], years=wall_life.YEARS_USED)
    lives = {form: wall_life.life(form, result, before=old) for form, result in results.items()}
    windows = {form: of_windows(found) for form, found in lives.items()}
    years = f"{wall_life.YEARS_USED:g} + {wall_life.YEARS_WANTED:g} years"
    return [
        fk.Line(
            f"damage after {years}, the worst detail", {f: v.governing() for f, v in lives.items()}, unit="", limit=1.0
        ),
        fk.Line(f"damage after {years}, {wall_life.WINDOWS}", windows, unit="", limit=1.0),
    ]


def of_windows(found):
    """The `Finding` of the windows' corners alone, which are there in all forms."""
    row = found.table().loc[wall_life.WINDOWS]
    return Finding(row[f"damage after {wall_life.YEARS_WANTED:g} years"], row["costs most"], row["at (mm)"], row["why"])


def worn_plates(results):
    """What is lost, as a share of the limits in per cent, and what the wear does to the strength."""
    laid = {form: wall_survey.readings(result.model).spread(reach=250) for form, result in results.items()}
    lost = {form: each.renewal(mean=0.20, pit=0.30, over=300).governing() for form, each in laid.items()}
    worn = {form: as_measured(each) for form, each in laid.items()}
    limits = {"yield_factor": demo.YIELD_FACTOR, "distance": demo.JUDGED_OVER}
    used = {form: assess.strength(result, **limits).governing() for form, result in worn.items()}
    return [
        fk.Line("loss / limit of loss, worst place", lost, unit="", limit=1.0),
        fk.Line("utilisation, yield strength / 1.15, as measured", used, unit="", limit=1.0),
    ]


def joints(results):
    """The old rivets of the lower sheet, which stay, and the new welds."""
    used = {form: wall_joints.joints(result) for form, result in results.items()}
    names = dict.fromkeys(name for each in used.values() for name in each)
    none = Finding(np.nan, why="it has no such joint")
    found = {n: {form: each[n].governing() if n in each else none for form, each in used.items()} for n in names}
    return [fk.Line(f"utilisation, {name}", values, unit="", limit=1.0) for name, values in found.items()]


def as_measured(worn):
    """The wall as measured, solved; that sheets sag beyond linear theory stands in notebook 06."""
    with fk.StaticSolver(worn.model()) as solver:
        return solver.solve(warns=False)


def stiffness(results):
    """Sag between the bearings, and what the doorway's corners do to each other."""
    sags = {form: Finding(demo.sag(r["full load"]), "full load", "mid-span") for form, r in results.items()}
    moved = {}
    for form, result in results.items():
        corners = [demo.corner(result.model.mesh, f"door-{name}") for name in CORNERS]
        names = [c.name for c in result.model.combinations]
        moved[form] = assess.opening_movement(
            result, corners, combinations=names, limits={"diagonal": demo.DIAGONAL_LIMIT}
        ).governing()
        moved[form] = replace(moved[form], value=moved[form].value * demo.DIAGONAL_LIMIT)
    return [
        fk.Line("sag of the sole bar between the bearings", sags, unit="mm"),
        fk.Line("change of the doorway's diagonal", moved, unit="mm", limit=demo.DIAGONAL_LIMIT),
    ]


def mass_and_supports(results):
    """Mass, centre of gravity and what the bolsters carry: told, not judged."""
    mass = assess.mass_changes({form: result.model for form, result in results.items()})
    force = assess.reaction_changes(results, "uz", combinations=["full load"]).loc["full load"] / 1e3
    told = {"assessed": False, "remark": "told, not judged"}
    lines = [fk.Line("mass", mass["mass (kg)"].to_dict(), unit="kg", **told)]
    lines += [fk.Line(f"centre of gravity, {axis}", mass[f"{axis} (mm)"].to_dict(), unit="mm", **told) for axis in "xz"]
    for bolster in ("bolster-rear", "bolster-front"):
        carried = {form: Finding(force.loc[bolster, f"{form} (N)"], "full load") for form in results}
        lines.append(fk.Line(f"reaction of {bolster}", carried, unit="kN", **told))
    return lines


def vibration(modes):
    """The lowest mode's period; of a forbidden band one wall says nothing."""
    periods = {form: Finding(1e3 / each.frequency[0], "lowest mode", "") for form, each in modes.items()}
    band = {form: assess.frequency_band(each, BAND).governing() for form, each in modes.items()}
    return [
        fk.Line("period of the lowest mode", periods, unit="ms"),
        fk.Line(f"natural frequencies in the band from {BAND[0]:g} to {BAND[1]:g} Hz", band, unit="", limit=1.0),
    ]


def proof_test(result):
    """Measured against predicted strain, as a share of the band that is allowed."""
    sheet = assess.predict_strains(result, wall_proof.ALL, "push")
    readings = assess.read_strains(wall_proof.READINGS, sheet.channels, full=wall_proof.FULL)
    found = assess.compare_strains(sheet, readings, band=0.10, least=10.0, returns=0.05).governing()
    none = Finding(np.nan, why=TESTED)
    values = {"baseline": none, "cut-out": none, "reinforced": found}
    return [fk.Line("measured strain off the prediction / allowed", values, unit="", limit=1.0)]


def most(table, column):
    """The `Finding` of the row of a strength table whose column is largest."""
    if table[column].isna().all():
        return Finding(np.nan, why=table["why"].iloc[0])
    row = table.loc[table[column].idxmax()]
    return Finding(row[column], row["combination"], f"{row['plate']} near {row['near (mm)']}")


def answer(page):
    """The page in words, group by group."""
    groups = dict.fromkeys(line.group for line in page.lines)
    return "\n".join(f"- {page.sentence('reinforced', group)}" for group in groups)

"""Do the welds along a joint hold: fillet welds by the directional method, full penetration butt welds as the plate.

A calculation aid only: the codes that apply and a licensed engineer's judgement come first.

Fillets: EN 1993-1-8:2005, 4.5.3.2 (from memory): √(σ⊥² + 3 (τ⊥² + τ∥²)) ≤ fu / (βw γM2) and σ⊥ ≤ 0.9 fu / γM2 on a
throat that lies at 45 degrees to both plates, with the first part's plate standing on the other. Long lap joints
(4.11) and the craters at the ends are not looked at but in the least length.
"""

import numpy as np

from ...errors import ModelError, nearest_name
from ...results.averaging import JUDGED_OVER
from ...results.stress import von_mises
from .use import JointUse, as_lines, check_numbers, passing

__all__ = ["WELD_GRADES", "butt_welds", "fillet_welds"]

# fu MPa (EN 1993-1-1, table 3.1) and βw (EN 1993-1-8, table 4.1) to 40 mm, from memory
WELD_GRADES = {"S235": (360.0, 0.80), "S275": (430.0, 0.85), "S355": (490.0, 0.90)}
GAMMA_M2 = 1.25  # EN 1993-1-8, table 2.1, recommended (from memory)
LEAST_THROAT = 3.0  # mm, EN 1993-1-8, 4.5.2 (from memory)
LEAST_THICKNESS = 4.0  # mm, EN 1993-1-8, 4.1: thinner plates by EN 1993-1-3 (from memory)


def fillet_welds(
    lines, *, throat, thickness, sides=2, grade="S235", ultimate=None, beta=None, gamma=GAMMA_M2, eccentric=True,
    over=JUDGED_OVER,
):  # fmt: skip
    """Stress on the throats of fillet welds along a joint and what they use of the directional method's limits.

    Parameters
    ----------
    lines : LineForces, or sequence of them
        Of one or several load cases. What passes through the border is taken to pass through the weld: where a doubler
        is one plate with the sheet below it, that is more than the doubler's own weld gets.
    throat : float
        mm.
    thickness : float, or pair of float
        Of the standing plate, and of the other, mm.
    sides : {1, 2}
        Two welds share the forces and take the moment about the line as a couple between the middles of their throats.
        One takes it, and the eccentricity of the plate's middle plane, by bending of its throat (elastic, 6 m / a²);
        which side it is on is not asked, the worse counts.
    grade : str
        S235, S275 or S355; or give `ultimate` (MPa) of the weaker part and `beta`, the correlation factor.
    gamma : float
        γM2.
    eccentric : bool
        Without, one-sided welds get no bending at all, as EN 1993-1-8, 4.12 (3) allows around a hollow section (from
        memory).
    over : float
        Forces are means over this length of the line, mm: the mesh's peaks at corners are no verdict.

    Returns
    -------
    use : JointUse
        Of the worse weld. Not assessed, and why: throats under 3 mm, plates under 4 mm, lines whose length less two
        throats is under 30 mm or 6 throats.

    Raises
    ------
    ModelError
        If a number is not above 0, or the grade is not known.
    """
    who = "fillet welds"
    plates = np.atleast_1d(thickness)
    if ultimate is None or beta is None:
        known = WELD_GRADES.get(str(grade))
        if known is None:
            advice = nearest_name(grade, WELD_GRADES)[1]
            raise ModelError(f'{who}: the grade "{grade}" has no fu and βw here. {advice} Or give ultimate and beta.')
        ultimate, beta = known[0] if ultimate is None else ultimate, known[1] if beta is None else beta
    if sides not in (1, 2):
        raise ModelError(f"{who}: sides is {sides}; it must be 1 or 2.")
    check_numbers(who, throat=throat, ultimate=ultimate, beta=beta, gamma=gamma)
    check_numbers(who, **{f"thickness {k}": t for k, t in enumerate(plates)})
    lines = [line.averaged(over) for line in as_lines(who, lines)]
    flow, length = passing(lines)
    whys = [f"throat of {throat:g} mm is below {LEAST_THROAT:g} mm"] * (throat < LEAST_THROAT) + _too_thin(plates)
    least = max(30.0, 6 * throat)
    is_short = length - 2 * throat < least
    stress = _throat_stress(flow, throat, plates[0], sides, eccentric)  # (n, ways, 3)
    compared = np.sqrt(stress[..., 0] ** 2 + 3 * (stress[..., 1] ** 2 + stress[..., 2] ** 2))
    worst, all_rows = compared.argmax(axis=1), np.arange(len(compared))
    across, root, along = stress[all_rows, worst].T
    values = {"σ⊥ (MPa)": across, "τ⊥ (MPa)": root, "τ∥ (MPa)": along, "compared (MPa)": compared.max(axis=1)}
    ultimate = np.nan if whys else ultimate
    uses = {"directional": compared.max(axis=1) * beta * gamma / ultimate}
    uses["σ⊥"] = np.abs(stress[..., 0]).max(axis=1) * gamma / (0.9 * ultimate)
    what, short = f"fillet welds a = {throat:g} mm, {sides}-sided", f"line shorter than {least:g} mm and two throats"
    return JointUse.of(what, lines, values, uses, whys=whys, is_short=is_short, short=short)


def _throat_stress(flow, throat, thickness, sides, eccentric):
    """``σ⊥ τ⊥ τ∥`` on the throat for either side and sign of bending, (n, ways, 3), MPa.

    With b from the standing plate into the other and n out of the standing one's face, the throat of the weld on that
    face has its own normal in (b + n)/√2 and its slope in (n - b)/√2; on the other face n has the other sign.
    """
    along, across, normal, moment = flow[:, :4].T
    half, ways = throat / 2 / np.sqrt(2), []  # of the throat's middle, from the root
    for side in (1, -1):
        b, n, bend = across / sides, side * normal / sides, np.zeros_like(moment)
        if sides == 2:
            b = b - side * moment / (thickness + 2 * half)  # a positive moment pulls on the side that n is away from
        elif eccentric:
            bend = 6 * (np.abs(moment) + np.abs(b) * (thickness / 2 + half) + np.abs(n) * half) / throat**2
        root, shear = (n - b) / np.sqrt(2) / throat, along / sides / throat
        across_throat = (b + n) / np.sqrt(2) / throat
        ways += [np.stack([across_throat + sign * bend, root, shear], axis=1) for sign in (1, -1)]
    return np.stack(ways, axis=1)


def butt_welds(lines, *, thickness, yield_strength, gamma=1.0, over=JUDGED_OVER):
    """Full penetration butt welds: as strong as the weaker plate, EN 1993-1-8, 4.7.1 (from memory), so that is judged.

    Parameters
    ----------
    lines : LineForces, or sequence of them
    thickness : float
        Of the thinner plate, mm.
    yield_strength : float
        Of the weaker plate, MPa.
    gamma : float
        On the yield strength; γM0 = 1.0 of EN 1993-1-1 is recommended (from memory).
    over : float
        Forces are means over this length of the line, mm.

    Returns
    -------
    use : JointUse
        Von Mises stress at the worse face, from stress across the line and shear along it, with bending and twist. Not
        assessed, and why: plates under 4 mm.
    """
    check_numbers("butt welds", thickness=thickness, yield_strength=yield_strength, gamma=gamma)
    lines = [line.averaged(over) for line in as_lines("butt welds", lines)]
    along, across, normal, bend, twist, _turn = passing(lines)[0].T
    faces = []
    for sign in (1, -1):
        sigma = across / thickness - sign * 6 * bend / thickness**2
        tau = along / thickness + sign * 6 * twist / thickness**2
        faces.append(von_mises(np.stack([np.zeros_like(sigma), sigma, tau], axis=1)))
    worst = np.sqrt(np.maximum(*faces) ** 2 + 3 * (normal / thickness) ** 2)
    values = {"stress (MPa)": worst, "across (MPa)": across / thickness, "along (MPa)": along / thickness}
    whys = _too_thin(thickness)
    uses = {"plate": worst * gamma / (np.nan if whys else yield_strength)}
    return JointUse.of("butt welds", lines, values, uses, whys=whys)


def _too_thin(plates):
    least = float(np.min(plates))
    return [f"plate of {least:g} mm is below {LEAST_THICKNESS:g} mm: EN 1993-1-3 is for it"] * (least < LEAST_THICKNESS)

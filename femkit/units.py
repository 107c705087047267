"""Constants that turn a drawing's units into the kit's own: N, mm, s, tonne, MPa.

Multiply on the way in, divide on the way out: ``thickness = 5 / 16 * inch``, ``force / kN``.

Examples
--------
>>> round(5 / 16 * inch, 4)          # mm
7.9375
>>> round(250 * lbf, 2)              # N
1112.06
"""

# length, mm
mm = 1.0
cm = 10.0
m = 1000.0
inch = 25.4  # exact (international yard and pound agreement, 1959)
foot = 12 * inch
# time, s
s = 1.0
# mass, tonne: with mm, s and N the consistent unit of mass is N s2/mm = 1000 kg
tonne = 1.0
kg = 1e-3
gram = 1e-6
lb = 0.45359237 * kg  # exact (same agreement)
# force, N
N = 1.0
kN = 1e3
MN = 1e6
lbf = 0.45359237 * 9.80665  # exact: one pound under standard gravity
kip = 1e3 * lbf
# stress, MPa = N/mm2
Pa = 1e-6
kPa = 1e-3
MPa = 1.0
GPa = 1e3
psi = lbf / inch**2
ksi = 1e3 * psi
# angle, rad
degree = 0.017453292519943295
# acceleration, mm/s2
GRAVITY = 9806.65  # standard gravity (ISO 80000-3; scipy.constants.g is the same in m/s2)

LENGTHS = {"mm": mm, "cm": cm, "m": m, "inch": inch, "foot": foot}  # names that `read_mesh(unit=...)` knows

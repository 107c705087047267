"""What a plate is made of: elastic constants, density and the strengths that limits are made from."""

from dataclasses import KW_ONLY, dataclass

from .values import bad_number, refuse

__all__ = ["Material"]


@dataclass(frozen=True)
class Material:
    """An isotropic, linear elastic material.

    Parameters
    ----------
    name : str
    E : float
        Young's modulus, MPa.
    nu : float
        Poisson's ratio, above -1 and below 0.5.
    density : float
        tonne/mm3 (steel 7.85e-9); needed where gravity, acceleration or modes are.
    yield_strength, ultimate_strength : float, optional
        MPa; needed for utilisations only.
    expansion : float
        Coefficient of thermal expansion, 1/K. The default is that of steel in EN 1993-1-1, 3.2.6 (value from memory).

    Examples
    --------
    >>> Material("S235", E=210_000, nu=0.3, density=7.85e-9, yield_strength=235, ultimate_strength=360).shear_modulus
    80769.23076923077
    """

    name: str
    _: KW_ONLY
    E: float
    nu: float
    density: float = 0.0
    yield_strength: float | None = None
    ultimate_strength: float | None = None
    expansion: float = 12e-6

    def __post_init__(self):
        who = f'material "{self.name}"'
        strengths = [f for f in ("yield_strength", "ultimate_strength") if getattr(self, f) is not None]
        refuse(
            bad_number(who, "E", self.E, "MPa", " above 0"),
            bad_number(who, "nu", self.nu, "", " above -1 and below 0.5"),
            bad_number(who, "density", self.density, "t/mm3", " of at least 0"),
            bad_number(who, "expansion", self.expansion, "1/K"),
            *(bad_number(who, field, getattr(self, field), "MPa", " above 0") for field in strengths),
        )
        if len(strengths) == 2 and self.ultimate_strength < self.yield_strength:
            words = f"{self.ultimate_strength:g} MPa is less than the yield strength {self.yield_strength:g} MPa"
            refuse(f"{who}: the ultimate strength {words}; it must be at least that.")

    @property
    def shear_modulus(self):
        """G = E / 2(1 + nu), MPa."""
        return self.E / (2 * (1 + self.nu))

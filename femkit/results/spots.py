"""Stress at chosen places in axes of their own, by load case, so that states are summed before a range is taken.

A weld's life depends on the direction of stress against it, and a range is the difference of two states: so what is
kept are components, never principal or von Mises values, and sums of load cases are formed from them.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError, nearest_name

__all__ = ["Spots"]


@dataclass(frozen=True, eq=False)
class Spots:
    """Stress at some places, by load case.

    Parameters
    ----------
    name : str
        As tables and errors are to name them: ``"doorway, rear sill, toe of the doubler"``.
    places : ndarray, shape (n, 3)
        mm.
    by_case : dict of str to ndarray, shape (n, 3)
        By load case: stress across the weld or line, along it, and shear between the two, MPa, tension positive.
    thickness : ndarray, shape (n,)
        Of the plate there, mm.
    why : tuple of str, optional
        For every place why it has no stress (its values are NaN), "" where it has.
    """

    name: str
    places: np.ndarray
    by_case: dict
    thickness: np.ndarray
    _: KW_ONLY
    why: tuple = ()

    def stress(self, factors):
        """Stress in a sum of load cases, shape (n, 3), MPa.

        Parameters
        ----------
        factors : dict of str to float
            Load case to factor.

        Raises
        ------
        ModelError
            If a load case is not known here.
        """
        unknown = [name for name in factors if name not in self.by_case]
        if unknown:
            raise ModelError(
                f'{self.name}: there is no load case "{unknown[0]}". {nearest_name(unknown[0], self.by_case)[1]}'
            )
        return sum((factor * self.by_case[name] for name, factor in factors.items()), np.zeros(self.places.shape))

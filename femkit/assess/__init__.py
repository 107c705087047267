"""Is it good enough? Limits set by the user, utilisations, and verdicts against limit and original.

A calculation aid only: the codes that apply where the vehicle runs and a licensed engineer's judgement come first.
"""

from .strength import strength_table, utilisation
from .verdict import Finding, Verdict, judge

__all__ = ["Finding", "Verdict", "judge", "strength_table", "utilisation"]

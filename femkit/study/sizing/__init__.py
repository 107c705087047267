"""The lightest plates with which no check is worse than the original, or than a limit."""

from .checks import BucklingFactor, Check, Frequency, strength_checks
from .free_plates import FreePlate
from .size import Sizing, size_plates

__all__ = ["BucklingFactor", "Check", "FreePlate", "Frequency", "Sizing", "size_plates", "strength_checks"]

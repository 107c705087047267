"""How thin may each plate become before a check is missed, one zone at a time and all together?"""

from .least import least_thickness
from .result import STATES, LeastThickness, ZoneLeast

__all__ = ["STATES", "LeastThickness", "ZoneLeast", "least_thickness"]

"""Does the proof test agree: strains predicted for gauges, read back from a logger, and compared."""

from .readings import StrainReadings, read_strains
from .rosette import RosetteState, rosette
from .strains import GaugeSheet, ProofTest, compare_strains, predict_strains

__all__ = ["GaugeSheet", "ProofTest", "RosetteState", "StrainReadings", "compare_strains", "predict_strains"]
__all__ += ["read_strains", "rosette"]

"""Worn plates: a thickness survey read, laid on the model, and what is to be renewed by the percentage that is lost."""

from .rates import Rates
from .readings import Readings, Survey, read_survey
from .renewal import MEAN_LIMIT, PIT_LIMIT, STATES, SUBSTANTIAL, Renewal, pitted_thickness
from .spread import REACH, Worn

__all__ = ["MEAN_LIMIT", "PIT_LIMIT", "REACH", "STATES", "SUBSTANTIAL"]
__all__ += ["Rates", "Readings", "Renewal", "Survey", "Worn", "pitted_thickness", "read_survey"]

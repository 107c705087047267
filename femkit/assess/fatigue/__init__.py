"""Does it last? Hot-spot stress, S-N curves, spectra of events, counted histories, damage and years of life.

A calculation aid only: the codes that apply where the vehicle runs and a licensed engineer's judgement come first.
"""

from .curves import CATEGORIES, DETAILS, GAMMA_MF, SNCurve, category, detail, fat
from .damage import MINER_VARYING_MEAN, Life, assess_life
from .events import Event, History, events_table, read_events, state
from .hot_spot import HOT_SPOT_RULES, HotSpotRule, HotSpots, hot_spots
from .mean_stress import equal_damage_range, equivalent_amplitude, mean_stress_use
from .rainflow import Counted, rainflow

__all__ = [
    "CATEGORIES",
    "DETAILS",
    "GAMMA_MF",
    "HOT_SPOT_RULES",
    "MINER_VARYING_MEAN",
    "Counted",
    "Event",
    "History",
    "HotSpotRule",
    "HotSpots",
    "Life",
    "SNCurve",
    "assess_life",
    "category",
    "detail",
    "equal_damage_range",
    "equivalent_amplitude",
    "events_table",
    "fat",
    "hot_spots",
    "mean_stress_use",
    "rainflow",
    "read_events",
    "state",
]

"""Fatigue life: hot-spot stress."""

from .hot_spot import HOT_SPOT_RULES, HotSpotRule, HotSpots, hot_spots

__all__ = ["HOT_SPOT_RULES", "HotSpotRule", "HotSpots", "hot_spots"]

"""Do joints hold: rivets, bolts and welds along a seam, from the forces that pass through it."""

from .fasteners import FastenerResistance, en_resistance, fastener_group, fasteners
from .use import JointUse
from .welds import butt_welds, fillet_welds

__all__ = ["FastenerResistance", "JointUse", "butt_welds", "en_resistance", "fastener_group", "fasteners"]
__all__ += ["fillet_welds"]

"""Many variants of one model through any executor, kept by fingerprint."""

from .sweep import Sweep, sweep

__all__ = ["Sweep", "sweep"]

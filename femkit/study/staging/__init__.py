"""A structure built, cut and reinforced stage by stage, and what that locks in."""

from .stages import Stage, StagesResult, solve_stages

__all__ = ["Stage", "StagesResult", "solve_stages"]

"""Buckling factors of plates, columns, profiles and shells."""

__all__ = ["CASES"]

CASES = ()

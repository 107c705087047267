"""Natural frequencies of plates, shells and beams."""

__all__ = ["CASES"]

CASES = ()

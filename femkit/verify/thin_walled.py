"""Stiffened and thin-walled parts: shear flow, torsion, eccentric stiffeners, effective width."""

__all__ = ["CASES"]

CASES = ()

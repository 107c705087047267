"""Plane stress: constant strain, in-plane bending, curved edges, stress concentrations."""

__all__ = ["CASES"]

CASES = ()

"""A detail meshed finely by itself, driven by the whole model along its border, and whether that is far enough."""

from .border import BorderCheck, BorderEffect, border_effect, check_border
from .local import local_model

__all__ = ["BorderCheck", "BorderEffect", "border_effect", "check_border", "local_model"]

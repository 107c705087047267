"""Pictures: meshes, models, results and variants, drawn off-screen and shown in a notebook without a network.

Importing this loads neither pyvista nor matplotlib; the first picture does. Where no OpenGL library is found, pictures
hold their words and say how to install one, and everything else goes on.
"""

from .charts import chart, chart_convergence, plot_deflection, plot_sizing
from .drawing import HOW_TO_DRAW, can_draw, drawing_fault
from .fields import (
    plot_buckle,
    plot_case,
    plot_field,
    plot_field_buckling,
    plot_mode,
    plot_sensitivity,
    plot_stages,
    plot_strength,
    plot_variants,
)
from .gauges import plot_gauges, plot_proof_test
from .interactive import View, view
from .joints import plot_joint, plot_line_forces
from .least import plot_least
from .models import plot_mesh, plot_model
from .picture import Peak, Picture
from .quantities import QUANTITIES
from .sweeps import plot_sweep
from .what_if import WhatIf, what_if
from .worn import plot_classes, plot_renewal, plot_worn

__all__ = [
    "HOW_TO_DRAW",
    "QUANTITIES",
    "Peak",
    "Picture",
    "View",
    "WhatIf",
    "can_draw",
    "chart",
    "chart_convergence",
    "drawing_fault",
    "plot_buckle",
    "plot_case",
    "plot_classes",
    "plot_deflection",
    "plot_field",
    "plot_field_buckling",
    "plot_gauges",
    "plot_joint",
    "plot_least",
    "plot_line_forces",
    "plot_mesh",
    "plot_mode",
    "plot_model",
    "plot_proof_test",
    "plot_renewal",
    "plot_sensitivity",
    "plot_sizing",
    "plot_stages",
    "plot_strength",
    "plot_sweep",
    "plot_variants",
    "plot_worn",
    "view",
    "what_if",
]

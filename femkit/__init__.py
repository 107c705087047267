"""femkit: a small plane-stress and shell finite-element kit for openings cut into load-carrying sheet structures.

A calculation aid: the codes that apply and a licensed engineer's judgement come first. Units are N, mm, s, tonne, MPa.
"""

from . import assess, show, study, units
from .errors import (
    FemkitError,
    FemkitWarning,
    MechanismError,
    MeshError,
    MeshQualityError,
    MeshReadError,
    ModelError,
    NotConvergedError,
    RecordError,
    SolveError,
    UnbalancedError,
    UnderSupportedError,
    UnknownSetError,
)
from .mesh import Mesh, inside, mesh_quality, near, on_plane, read_mesh, refine
from .model import (
    Acceleration,
    AreaMass,
    Combination,
    Gravity,
    LineLoad,
    LineMass,
    LoadCase,
    Material,
    Model,
    Plate,
    PointLoad,
    PointMass,
    Pressure,
    SpreadLoad,
    Support,
    Temperature,
)
from .results import (
    BucklingResult,
    CaseResult,
    ModesResult,
    StaticResult,
    section_properties,
    solve_buckling,
    solve_modes,
    solve_static,
)
from .study import Comparison, Line, compare_strength

__all__ = [
    "Acceleration",
    "AreaMass",
    "BucklingResult",
    "CaseResult",
    "Combination",
    "Comparison",
    "FemkitError",
    "FemkitWarning",
    "Gravity",
    "Line",
    "LineLoad",
    "LineMass",
    "LoadCase",
    "Material",
    "MechanismError",
    "Mesh",
    "MeshError",
    "MeshQualityError",
    "MeshReadError",
    "Model",
    "ModelError",
    "ModesResult",
    "NotConvergedError",
    "Plate",
    "PointLoad",
    "PointMass",
    "Pressure",
    "RecordError",
    "SolveError",
    "SpreadLoad",
    "StaticResult",
    "Support",
    "Temperature",
    "UnbalancedError",
    "UnderSupportedError",
    "UnknownSetError",
    "assess",
    "compare_strength",
    "inside",
    "mesh_quality",
    "near",
    "on_plane",
    "read_mesh",
    "refine",
    "section_properties",
    "show",
    "solve_buckling",
    "solve_modes",
    "solve_static",
    "study",
    "units",
]

__version__ = "0.1.0"

# The road of the data runs one way, so meshes, models and results know nothing of pictures:
# the last stop gives them their `plot`.

Mesh.plot, Model.plot, CaseResult.plot = show.plot_mesh, show.plot_model, show.plot_case
ModesResult.plot, BucklingResult.plot = show.plot_mode, show.plot_buckle

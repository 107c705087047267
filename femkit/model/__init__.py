"""Material, plate, support, load and combination, and `Model`, which ties them to a mesh."""

from .acting import AreaMass, LineMass, PointMass
from .cases import Combination, LoadCase
from .loads import Acceleration, Gravity, LineLoad, PointLoad, Pressure, SpreadLoad, Temperature
from .material import Material
from .model import Model
from .plate import Plate
from .support import Support

__all__ = [
    "Acceleration", "AreaMass", "Combination", "Gravity", "LineLoad", "LineMass", "LoadCase", "Material", "Model",
    "Plate", "PointLoad", "PointMass", "Pressure", "SpreadLoad", "Support", "Temperature",
]  # fmt: skip

"""Material, plate, support, load and combination, and `Model`, which ties them to a mesh."""

from .acting import AreaMass, LineMass, PointMass
from .beam import Beam, BeamSection, angle, channel, flat_bar, hollow, tee
from .cases import Combination, LoadCase
from .links import JoinedLine, RigidLink, Seam, Spring
from .loads import Acceleration, Gravity, LineLoad, PointLoad, Pressure, SpreadLoad, Temperature
from .material import Material
from .model import Model
from .plate import Plate
from .steel import Coupons, steel, steel_from_coupons, steel_table
from .support import Support, antisymmetry, symmetry

__all__ = [
    "Acceleration", "AreaMass", "Beam", "BeamSection", "Combination", "Coupons", "Gravity", "JoinedLine", "LineLoad",
    "LineMass", "LoadCase", "Material", "Model", "Plate", "PointLoad", "PointMass", "Pressure", "RigidLink", "Seam",
    "SpreadLoad", "Spring", "Support", "Temperature", "angle", "antisymmetry", "channel", "flat_bar", "hollow", "steel",
    "steel_from_coupons", "steel_table", "symmetry", "tee",
]  # fmt: skip

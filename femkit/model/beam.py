"""Beams: sections of bars and profiles, and how they stand beside the sheet on the lines of the mesh."""

from dataclasses import KW_ONLY, dataclass, fields
from itertools import product

import numpy as np

from ..errors import ModelError
from ..mesh.selection import select_edges
from .material import Material
from .values import bad_number, bad_vector, place_words, refuse

__all__ = ["Beam", "BeamCells", "BeamSection", "angle", "beam_cells", "channel", "flat_bar", "hollow", "tee"]

ALONG = 0.1  # sine of 6 degrees: an `up` nearer than that to the line leaves the section's turn open


@dataclass(frozen=True)
class BeamSection:
    """A section of any shape by its numbers; `flat_bar`, `angle`, `tee`, `channel` and `hollow` make common ones.

    Its axes: z away from its foot (the face that lies on the sheet), y to the side so that x, y, z is a right-handed
    system with x along the beam; both counted from the middle of the foot.

    Parameters
    ----------
    name : str
    area : float
        mm2.
    second_moment_y, second_moment_z, product : float
        ``∫z² dA``, ``∫y² dA`` and ``∫yz dA`` about the centroid, mm4.
    torsion_constant : float
        Saint-Venant's, mm4. Warping is not restrained.
    shear_area_y, shear_area_z : float
        mm2.
    centroid, shear_centre : (y, z)
        From the middle of the foot, mm; the shear centre lies at the centroid if left out.
    fibres : sequence of (y, z)
        Outer corners from the middle of the foot, mm, where bending stress is given.
    """

    name: str
    _: KW_ONLY
    area: float
    second_moment_y: float
    second_moment_z: float
    product: float = 0.0
    torsion_constant: float
    shear_area_y: float
    shear_area_z: float
    centroid: tuple = (0.0, 0.0)
    shear_centre: tuple | None = None
    fibres: tuple = ()

    def __post_init__(self):
        who = f'beam section "{self.name}"'
        places = {"centroid": self.centroid, "shear centre": self.shear_centre or self.centroid}
        places |= {f"fibre {i}": place for i, place in enumerate(self.fibres)}
        positive = ("area", "second_moment_y", "second_moment_z", "torsion_constant", "shear_area_y", "shear_area_z")
        units = {"area": "mm2", "shear_area_y": "mm2", "shear_area_z": "mm2"}
        refuse(
            *(
                bad_number(who, n.replace("_", " "), getattr(self, n), units.get(n, "mm4"), " above 0")
                for n in positive
            ),
            bad_number(who, "product", self.product, "mm4"),
            *(bad_vector(who, name, (*np.ravel(place), 0.0)) for name, place in places.items()),
        )
        if self.product**2 >= self.second_moment_y * self.second_moment_z:
            raise ModelError(
                f"{who}: product is {self.product:g} mm4; its square must be less than that of the second moments."
            )
        object.__setattr__(self, "shear_centre", tuple(map(float, places["shear centre"])))


def flat_bar(depth, thickness):
    """A flat bar that stands on its edge, mm."""
    bar = (-thickness / 2, thickness / 2, 0.0, depth)
    return _of_rectangles(
        f"flat bar {depth:g} × {thickness:g}", [bar], depth=depth, width=thickness, thickness=thickness
    )


def angle(depth, width, web, flange):
    """An angle: a web that stands on its edge at y = 0, and at its far end a flange that points towards +y, mm.

    `depth` and `width` are outer measures, `web` and `flange` thicknesses. Its shear centre is where the middle lines
    of the two meet.
    """
    walls = [(-web / 2, web / 2, 0.0, depth - flange), (-web / 2, width - web / 2, depth - flange, depth)]
    return _of_rectangles(
        f"angle {depth:g} × {width:g} × {web:g}/{flange:g}",
        walls,
        shear=((5 / 6) * width * flange, depth * web * 5 / 6),
        shear_centre=(0.0, depth - flange / 2),
        depth=depth,
        width=width,
        thickness=max(web, flange),
    )


def tee(depth, width, web, flange):
    """A tee: a web that stands on its edge, and at its far end a flange across it, mm; outer measures."""
    walls = [(-web / 2, web / 2, 0.0, depth - flange), (-width / 2, width / 2, depth - flange, depth)]
    return _of_rectangles(
        f"tee {depth:g} × {width:g} × {web:g}/{flange:g}",
        walls,
        shear=((5 / 6) * width * flange, depth * web),
        shear_centre=(0.0, depth - flange / 2),
        depth=depth,
        width=width,
        thickness=max(web, flange),
    )


def channel(depth, width, web, flange):
    """A channel: its web stands at y = 0, its flanges, at the foot and at the far end, point towards +y, mm.

    Outer measures. The shear centre lies beyond the web by ``3 b² t / (h s + 6 b t)``, b and h between middle lines, t
    of the flanges and s of the web (Timoshenko, *Strength of Materials* part I, 3rd ed., art. 52: value from memory).
    """
    walls = [
        (-web / 2, web / 2, flange, depth - flange),
        (-web / 2, width - web / 2, 0.0, flange),
        (-web / 2, width - web / 2, depth - flange, depth),
    ]
    b, h = width - web / 2, depth - flange
    return _of_rectangles(
        f"channel {depth:g} × {width:g} × {web:g}/{flange:g}",
        walls,
        shear=((5 / 6) * 2 * width * flange, depth * web),
        shear_centre=(-3 * b**2 * flange / (h * web + 6 * b * flange), depth / 2),
        depth=depth,
        width=width,
        thickness=max(web, flange),
    )


def hollow(depth, width, thickness):
    """A rectangular hollow section on its side of the given width, mm; outer measures, sharp corners.

    Torsion by Bredt, ``4 A² t / s`` with area and length of the middle line.
    """
    t, half = thickness, width / 2
    walls = [(-half, half, 0.0, t), (-half, half, depth - t, depth)]
    walls += [(-half, t - half, t, depth - t), (half - t, half, t, depth - t)]
    b, h = width - t, depth - t
    return _of_rectangles(
        f"hollow section {depth:g} × {width:g} × {t:g}",
        walls,
        torsion=2 * (b * h) ** 2 * t / (b + h),
        shear=(2 * b * t, 2 * h * t),
        shear_centre=(0.0, depth / 2),
        depth=depth,
        width=width,
        thickness=t,
    )


def _of_rectangles(name, walls, *, depth, width, thickness, torsion=None, shear=None, shear_centre=None):
    """A section of rectangles ``(y0, y1, z0, z1)``; torsion of an open one is that of its walls added up.

    Shear areas are those of the walls that lie along the shear (common practice), 5/6 of free standing ones.
    """
    sizes = {"depth": depth, "width": width, "thickness": thickness}
    refuse(*(bad_number(name, field, value, "mm", " above 0") for field, value in sizes.items()))
    y0, y1, z0, z1 = np.array(walls, dtype=float).T
    b, h = y1 - y0, z1 - z0
    if not (b.min() > 0 and h.min() > 0):
        raise ModelError(f"{name}: its walls are thicker than it has room for; they must leave something between them.")
    area, y, z = b * h, (y0 + y1) / 2, (z0 + z1) / 2
    middle = np.array([area @ y, area @ z]) / area.sum()
    y, z = y - middle[0], z - middle[1]
    corners = {corner for sides in product((y0, y1), (z0, z1)) for corner in zip(*sides)}
    return BeamSection(
        name,
        area=float(area.sum()),
        second_moment_y=float(area @ (z**2 + h**2 / 12)),
        second_moment_z=float(area @ (y**2 + b**2 / 12)),
        product=float(area @ (y * z)),
        torsion_constant=float(_torsion(b, h).sum() if torsion is None else torsion),
        shear_area_y=float(5 / 6 * area.sum() if shear is None else shear[0]),
        shear_area_z=float(5 / 6 * area.sum() if shear is None else shear[1]),
        centroid=tuple(middle.tolist()),
        shear_centre=shear_centre,
        fibres=tuple(sorted((float(y), float(z)) for y, z in corners)),
    )


def _torsion(b, h):
    """Torsion constant of rectangles, to half a per cent: W. C. Young, R. G. Budynas, *Roark's Formulas*, 10.7."""
    long, short = np.maximum(b, h), np.minimum(b, h)
    return long * short**3 * (1 / 3 - 0.21 * short / long * (1 - (short / long) ** 4 / 12))


@dataclass(frozen=True, eq=False)
class Beam:
    """A bar or profile along an edge set.

    Parameters
    ----------
    section : BeamSection
    material : Material
    up : 3 numbers
        Global direction of the section's z once laid square to the line: where the stiffener points. Its x runs along
        the line towards greater global x (y where x is even, then z); its y is z × x.
    offset : float, optional
        From the mesh's line to the section's foot along `up`, mm: half the plate's thickness for a stiffener welded
        onto a sheet. Left out, the centroid lies on the line.
    """

    section: BeamSection
    material: Material
    _: KW_ONLY
    up: tuple = (0.0, 0.0, 1.0)
    offset: float | None = None

    def faults(self, who):
        """What is wrong with its values, a sentence each; `who` is how they name it."""
        return [
            ""
            if isinstance(self.section, BeamSection)
            else f"{who}: section is {self.section!r}; it must be a BeamSection.",
            ""
            if isinstance(self.material, Material)
            else f"{who}: material is {self.material!r}; it must be a Material.",
            bad_vector(who, "up", self.up, may_be_0=False),
            "" if self.offset is None else bad_number(who, "offset", self.offset, "mm"),
        ]

    @property
    def centroid(self):
        """Where the centroid lies from the line, along y and z, mm."""
        y, z = self.section.centroid
        return (0.0, 0.0) if self.offset is None else (y, z + self.offset)


@dataclass(frozen=True, eq=False)
class BeamCells:
    """All beam cells of a model, as arrays."""

    points: np.ndarray  # (n, 2) ends, in the direction of local x
    beam: np.ndarray  # (n,) position of its beam in ``model.beams``
    frames: np.ndarray  # (n, 3, 3) rows are local x, y, z
    length: np.ndarray  # (n,) mm
    arm: np.ndarray  # (n, 3) from line to centroid, global axes, mm
    line_mass: np.ndarray  # (n,) tonne/mm
    properties: np.ndarray  # (n, 12) numbers of section and material: see `PROPERTIES`

    def __len__(self):
        return len(self.points)

    def __getitem__(self, chosen):
        """The same for some of the cells: a slice, mask or index array."""
        return BeamCells(*(getattr(self, field.name)[chosen] for field in fields(self)))

    @property
    def weight(self):
        """Mass of every cell, (n,), tonne."""
        return self.line_mass * self.length


PROPERTIES = ("EA", "EIy", "EIz", "EIyz", "GJ", "GAy", "GAz", "sy", "sz", "radius2_y", "radius2_z", "radius2_yz")


def beam_cells(mesh, beams):
    """The beam cells that edge sets make.

    Parameters
    ----------
    mesh : Mesh
    beams : dict of str to Beam

    Raises
    ------
    ModelError
        If an edge set does not exist, or a line runs along its beam's `up`.
    """
    parts = [_one(mesh, name, beam, number) for number, (name, beam) in enumerate(beams.items())]
    if not parts:
        none = np.zeros((0, 2), dtype=np.int64)
        return BeamCells(none, none[:, 0], *(np.zeros(shape) for shape in [(0, 3, 3), 0, (0, 3), 0, (0, 12)]))
    return BeamCells(*(np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(BeamCells)))


def _one(mesh, name, beam, number):
    who = f'beam "{name}"'
    points = select_edges(mesh, name, who)
    along = mesh.points[points[:, 1]] - mesh.points[points[:, 0]]
    length = np.linalg.norm(along, axis=1)
    if not length.min() > 0:
        raise ModelError(
            f"{who}: one of its edges has no length, at {place_words(mesh.points[points[length.argmin(), 0]])} mm."
        )
    x = along / length[:, None]
    leading = np.take_along_axis(x, (np.abs(x) > 1e-6).argmax(axis=1)[:, None], axis=1)[:, 0]
    is_back = leading < 0
    points, x = np.where(is_back[:, None], points[:, ::-1], points), np.where(is_back[:, None], -x, x)
    up = np.array(beam.up, dtype=float) / np.linalg.norm(beam.up)
    z = up - (x @ up)[:, None] * x
    size = np.linalg.norm(z, axis=1)
    if size.min() < ALONG:
        place = place_words(mesh.points[points[size.argmin(), 0]])
        raise ModelError(
            f"{who}: its line runs along `up` at {place} mm; give an `up` across it, where the section points."
        )
    z /= size[:, None]
    frames = np.stack([x, np.cross(z, x), z], axis=1)
    section, E, G, n = beam.section, beam.material.E, beam.material.shear_modulus, len(points)
    moments = np.array([section.second_moment_y, section.second_moment_z, section.product])
    numbers = [
        E * section.area,
        *(E * moments),
        G * section.torsion_constant,
        G * section.shear_area_y,
        G * section.shear_area_z,
        *np.subtract(section.shear_centre, section.centroid),
        *(moments / section.area),
    ]
    y, z = beam.centroid
    arm = y * frames[:, 1] + z * frames[:, 2]
    mass = np.full(n, beam.material.density * section.area)
    return BeamCells(points, np.full(n, number), frames, length, arm, mass, np.tile(numbers, (n, 1)))

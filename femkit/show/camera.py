"""From where a picture is seen: named views, and which pixel each point of the model falls on.

All pictures are parallel projections, so that lengths can be measured in them.
"""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError, nearest_name

__all__ = ["VIEWS", "Camera", "view_axes"]

# from the model to the eye, and what is up; x runs forward, z up, y inward on a vehicle's side wall
VIEWS = {
    "side": ((0, -1, 0), (0, 0, 1)),
    "inside": ((0, 1, 0), (0, 0, 1)),
    "front": ((1, 0, 0), (0, 0, 1)),
    "rear": ((-1, 0, 0), (0, 0, 1)),
    "above": ((0, 0, 1), (0, 1, 0)),
    "below": ((0, 0, -1), (0, -1, 0)),
    "iso": ((-0.5, -1, 0.5), (0, 0, 1)),
    "iso inside": ((-0.5, 1, 0.5), (0, 0, 1)),
}
THIN = 0.25  # a body whose smallest extent is below this share of the next is looked at square to it


@dataclass(frozen=True, eq=False)
class Camera:
    """A parallel projection onto a picture of a given size."""

    axes: np.ndarray  # (3, 3), rows: to the right, up, and towards the eye, in global axes
    focus: np.ndarray  # (3,), what is in the middle of the picture, mm
    scale: float  # pixels a mm
    size: tuple  # width and height, pixels

    @classmethod
    def around(cls, points, axes, width, margin=0.0, heights=(240, 760)):
        """The camera that fits all points into a width, as high as their shape asks for, within limits."""
        seen = points @ axes.T
        low, high = seen.min(axis=0), seen.max(axis=0)
        span = np.maximum(high - low, 1e-9 * max(np.max(high - low), 1e-9))
        room = 12 + margin  # pixels left free all round
        height = int(np.clip(np.ceil(span[1] / span[0] * (width - 2 * room)) + 2 * room, *heights))
        scale = min((width - 2 * room) / span[0], (height - 2 * room) / span[1])
        return cls(axes, (low + high) / 2 @ axes, float(scale), (width, height))

    def project(self, points):
        """Pixels to the right and up from the picture's lower left corner, shape (n, 2)."""
        return (points - self.focus) @ self.axes[:2].T * self.scale + np.array(self.size) / 2

    def aim(self, plotter):
        """Point a plotter's camera this way, from outside of all that it holds."""
        low, high = np.array(plotter.bounds).reshape(3, 2).T
        reach = 2 * np.linalg.norm(high - low) + np.linalg.norm((low + high) / 2 - self.focus) + 1e-9
        plotter.camera.focal_point = self.focus
        plotter.camera.position = self.focus + reach * self.axes[2]
        plotter.camera.up = self.axes[1]
        plotter.enable_parallel_projection()
        plotter.camera.parallel_scale = self.size[1] / 2 / self.scale
        plotter.renderer.ResetCameraClippingRange()


def view_axes(view, points):
    """Right, up and towards the eye of a view.

    Parameters
    ----------
    view : str, 3 numbers or None
        A name of `VIEWS`; a direction from the model to the eye; or None, which looks square at a body that is thin
        in one global axis (from -y, from +z, from +x) and at any other one from above, outside and behind.
    points : ndarray, shape (n, 3)

    Returns
    -------
    axes : ndarray, shape (3, 3)

    Raises
    ------
    ModelError
        If there is no such view; the nearest name is offered.
    """
    if view is None:
        extent = np.ptp(points, axis=0)
        thin = int(extent.argmin())
        is_thin = extent[thin] < THIN * np.delete(extent, thin).min()
        view = ("front", "side", "above")[thin] if is_thin else "iso"
    if isinstance(view, str):
        if view not in VIEWS:
            raise ModelError(f'view is "{view}"; there is none of that name. {nearest_name(view, VIEWS)[1]}')
        towards, up = np.array(VIEWS[view], dtype=float)
    else:
        towards = np.array(view, dtype=float)
        if towards.shape != (3,) or not np.isfinite(towards).all() or not towards.any():
            raise ModelError(f"view is {view!r}; it must be a name ({', '.join(VIEWS)}) or three numbers, not all 0.")
        is_steep = np.hypot(*towards[:2]) < 1e-6 * abs(towards[2])
        up = np.array([0.0, np.sign(towards[2]), 0.0] if is_steep else [0.0, 0.0, 1.0])
    towards = towards / np.linalg.norm(towards)
    right = np.cross(up, towards)
    right /= np.linalg.norm(right)
    return np.array([right, np.cross(towards, right), towards])

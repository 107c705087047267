"""The one place that talks to OpenGL: whether it can draw here, the thread that draws, and surfaces turned into pixels.

Without a working OpenGL library the first picture kills the whole process, so a child process tries it beforehand.
Pictures also break, without an error, when a plotter is used in another thread than the one that made it (a notebook's
sliders run in their own): so one thread does all the drawing.
"""

import ctypes
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from functools import cache

import numpy as np

from .colours import NO_VALUE

__all__ = ["HOW_TO_DRAW", "add_body", "can_draw", "drawing_fault", "in_drawing_thread", "new_plotter", "render"]

HOW_TO_DRAW = "apt-get install -y --no-install-recommends libegl1 libgl1"
PLAIN = {"show_scalar_bar": False, "copy_mesh": False, "reset_camera": False}
SUPERSAMPLING = 2  # pixels drawn for each pixel shown, each way: smooth edges on every driver
WAIT = 120  # s; the trial takes about one

# by VTK itself, which loads in less than half of the time that pyvista takes
_TRIAL = """
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkFiltersSources import vtkSphereSource
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper, vtkRenderWindow, vtkRenderer
source, mapper, actor, renderer = vtkSphereSource(), vtkPolyDataMapper(), vtkActor(), vtkRenderer()
mapper.SetInputConnection(source.GetOutputPort())
actor.SetMapper(mapper)
renderer.AddActor(actor)
window = vtkRenderWindow()
window.SetOffScreenRendering(1)
window.AddRenderer(renderer)
window.Render()
"""

_drawer = None  # (process id, the executor of one thread)


def can_draw():
    """Whether pictures can be drawn here; solving and writing never need it."""
    return drawing_fault() == ""


def drawing_fault():
    """Why pictures can't be drawn here, as a sentence; empty where they can.

    Found once: a look for the library, then a trial picture in a child process (about a second), since a driver that
    is missing ends the process that draws.
    """
    if _drawer is not None and _drawer[0] != os.getpid():
        return "This process is a fork of one that draws, and OpenGL does not outlive a fork: draw in the first one."
    return _find_fault()


@cache
def _find_fault():
    if sys.platform != "linux":  # the system's own OpenGL is always there
        return ""
    _choose_window()
    if os.environ.get("VTK_DEFAULT_OPENGL_WINDOW") == "vtkEGLRenderWindow":
        try:
            ctypes.CDLL("libEGL.so.1")
        except OSError:
            return "No picture: there is no OpenGL library to draw without a display (libEGL)."
    try:
        trial = subprocess.run([sys.executable, "-c", _TRIAL], capture_output=True, timeout=WAIT)
    except (OSError, subprocess.TimeoutExpired) as error:
        return f"No picture: a trial of the OpenGL library did not end well ({type(error).__name__})."
    if trial.returncode != 0:
        return f"No picture: a trial of the OpenGL library ended with code {trial.returncode}; a driver may be missing."
    return ""


def _choose_window():
    """Without a display, draw through EGL; left to itself VTK looks for an X server first, and complains in red."""
    if sys.platform == "linux" and not os.environ.get("DISPLAY"):
        os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")


def in_drawing_thread(function, *args):
    """Call a function in the thread that does all drawing, and wait for what it returns or raises."""
    global _drawer
    if _drawer is None or _drawer[0] != os.getpid():
        _drawer = os.getpid(), ThreadPoolExecutor(1, thread_name_prefix="femkit-drawing")
    return _drawer[1].submit(function, *args).result()


def new_plotter(size):
    """An off-screen pyvista plotter on white, whatever theme the user has set; call in the drawing thread."""
    _choose_window()
    import pyvista as pv

    plotter = pv.Plotter(off_screen=True, window_size=list(size), theme=pv.themes.DocumentTheme(), lighting="none")
    plotter.add_light(pv.Light(light_type="headlight"))  # a face seen square on has the very colour of the legend
    return plotter


def render(sheet, i):
    """Draw one body of a sheet without words; call in the drawing thread.

    Returns the image, shape (height, width, 3) of uint8, and for each of the body's marks whether it is hidden.
    """
    from PIL import Image

    with closing(new_plotter(SUPERSAMPLING * np.array(sheet.camera.size))) as plotter:
        plotter.disable_anti_aliasing()
        add_body(plotter, sheet, sheet.bodies[i])
        sheet.camera.aim(plotter)
        plotter.render()
        image = plotter.screenshot(return_img=True)
        is_hidden = [_is_hidden(plotter, sheet.camera, place) for place, _words in sheet.marks[i]]
    return np.asarray(Image.fromarray(image[:, :, :3]).reduce(SUPERSAMPLING)), is_hidden


def add_body(plotter, sheet, body):
    """Put the surface and lines of a body into a plotter, in its sheet's colours."""
    import pyvista as pv
    from matplotlib.colors import ListedColormap

    points, corners, values = body.surface(sheet.factor)
    rows = np.insert(corners, 0, (corners >= 0).sum(axis=1), axis=1)
    surface = pv.PolyData(points.astype(np.float32), rows[rows >= 0])
    if body.field.at == "centres":
        look = {"scalars": sheet.colours.rgb(values), "rgb": True, "preference": "cell"}
    else:
        look = {"scalars": values, "preference": "point", "interpolate_before_map": True, "nan_color": NO_VALUE}
        look |= {"cmap": ListedColormap(sheet.scale.steps / 255), "clim": (sheet.scale.low, sheet.scale.high)}
    # a lamp at the eye shows the shape where it can't be mistaken for a value
    light = {"lighting": sheet.scale is None, "ambient": 0.55, "diffuse": 0.45}
    actor = plotter.add_mesh(surface, **look, **light, **PLAIN)
    # lines lie in the surface: push the surface back by a hair so that they are not half swallowed
    actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(1.0, 2.0)
    for lines in body.lines(sheet.edges, sheet.factor, sheet.camera.axes[2]):
        if len(lines.pairs):
            used, pairs = np.unique(lines.pairs, return_inverse=True)
            parts = np.insert(pairs.reshape(-1, 2), 0, 2, axis=1).ravel()
            dots = np.insert(np.arange(len(used))[:, None], 0, 1, axis=1).ravel()  # close gaps where two lines meet
            drawn = pv.PolyData(lines.points[used].astype(np.float32), lines=parts, verts=dots)
            size = SUPERSAMPLING * lines.width
            look = {"color": lines.colour, "opacity": min(lines.width, 1.0), "line_width": size, "point_size": size}
            plotter.add_mesh(drawn, lighting=False, **look, **PLAIN)


def _is_hidden(plotter, camera, place):
    """Whether what is drawn at a place's pixel lies clearly in front of it."""
    plotter.renderer.SetWorldPoint(*place, 1.0)
    plotter.renderer.WorldToDisplay()
    x, y, depth = plotter.renderer.GetDisplayPoint()  # the depth from 0, nearest to the eye, to 1
    width, height = plotter.window_size
    if not (0 <= x < width and 0 <= y < height):
        return False
    near, far = plotter.camera.clipping_range
    clear = 2 / camera.scale / (far - near) + 1e-4  # two pixels, and what the depths are good to
    return depth > plotter.render_window.GetZbufferDataAtPoint(int(x), int(y)) + clear

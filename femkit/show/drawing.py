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
from functools import cache

import numpy as np

__all__ = ["HOW_TO_DRAW", "can_draw", "drawing_fault", "in_drawing_thread", "render"]

HOW_TO_DRAW = "apt-get install -y --no-install-recommends libegl1 libgl1"
SUPERSAMPLING = 2  # pixels drawn for each pixel shown, each way: smooth edges on every driver
WAIT = 120  # s; the trial takes about one

_TRIAL = """
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkFiltersSources import vtkSphereSource
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper, vtkRenderWindow, vtkRenderer
source, mapper, actor, renderer, window = (
    vtkSphereSource(), vtkPolyDataMapper(), vtkActor(), vtkRenderer(), vtkRenderWindow())
mapper.SetInputConnection(source.GetOutputPort())
actor.SetMapper(mapper)
renderer.AddActor(actor)
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


def render(panel, camera):
    """Draw a panel's surfaces and lines, without words; call in the drawing thread.

    Parameters
    ----------
    panel : Panel
    camera : Camera

    Returns
    -------
    image : ndarray of uint8, shape (height, width, 3)
    is_hidden : list of bool
        For each of the panel's marks, whether something lies in front of it.
    """
    plotter = new_plotter(SUPERSAMPLING * np.array(camera.size))
    try:
        plotter.disable_anti_aliasing()
        add_panel(plotter, panel)
        reach = camera.aim(plotter)
        plotter.render()
        image = plotter.screenshot(return_img=True)
        is_hidden = [_is_hidden(plotter, camera, mark.place, reach) for mark in panel.marks]
    finally:
        plotter.close()
    height, width = camera.size[1], camera.size[0]
    blocks = image[:, :, :3].reshape(height, SUPERSAMPLING, width, SUPERSAMPLING, 3)
    total = blocks[:, 0, :, 0].astype(np.uint16)
    for i, j in list(np.ndindex(SUPERSAMPLING, SUPERSAMPLING))[1:]:
        total += blocks[:, i, :, j]
    return (total // SUPERSAMPLING**2).astype(np.uint8), is_hidden


def add_panel(plotter, panel):
    """Put a panel's surfaces and lines into a plotter."""
    for surface in panel.surfaces:
        actor = plotter.add_mesh(
            surface.polydata(), show_scalar_bar=False, copy_mesh=False, reset_camera=False, **surface.options()
        )
        # lines lie in the surface: push the surface back by a hair so that they are not half swallowed
        actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
        actor.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(1.0, 2.0)
    for lines in panel.lines:
        if len(lines.pairs):
            plotter.add_mesh(
                lines.polydata(),
                color=lines.colour,
                line_width=SUPERSAMPLING * lines.width,
                point_size=SUPERSAMPLING * lines.width,
                opacity=lines.opacity,
                lighting=False,
                copy_mesh=False,
                reset_camera=False,
            )


def _is_hidden(plotter, camera, place, reach):
    """Whether what is drawn at a place's pixel lies clearly in front of it."""
    x, y = (SUPERSAMPLING * camera.project(place[None])[0]).astype(int)
    width, height = plotter.window_size
    if not (0 <= x < width and 0 <= y < height):
        return False
    near, far = plotter.camera.clipping_range
    seen = near + plotter.render_window.GetZbufferDataAtPoint(x, y) * (far - near)
    return camera.distance(place, reach) > seen + 2 / camera.scale + 2e-4 * reach

"""The sliders of notebook 05 in a running JupyterLab, moved in a real browser: do picture and figures follow?

Executing cells does not show it: drawing from a slider's callback can give garbage without an error.
"""

import io
import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
from base64 import b64decode
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import nbformat
import numpy as np
import pandas as pd
import pytest
import side_wall as demo

import femkit as fk

pd.reset_option("display.float_format")  # which the demo sets for its notebooks

ROOT = Path(__file__).parents[2]
BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
SECONDS = 300  # to wait for anything: a busy machine is slow, and says nothing about the kit
NAME = "sliders.ipynb"
PICTURE = "img.widget-image"
STRAY = 1e-3  # share of pixels that another order of sums, in another process, may change
KERNEL = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}

playwright = pytest.importorskip("playwright.sync_api", reason="no playwright to drive a browser with")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.picture,
    pytest.mark.skipif(BROWSER is None, reason="no Chromium: apt-get install -y --no-install-recommends chromium"),
]


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A folder with the demo and a notebook that ends with its panel, and settings that ask nothing of the network."""
    home = tmp_path_factory.mktemp("lab")
    shutil.copytree(ROOT / "notebooks", home / "work", ignore=shutil.ignore_patterns("results", ".*", "__pycache__"))
    cells = nbformat.read(home / "work" / "05_what-if.ipynb", as_version=4).cells
    code = [cell for cell in cells if cell.cell_type == "code"]
    asked = next(cell for cell in code if "fk.what_if" in cell.source)
    nbformat.write(nbformat.v4.new_notebook(cells=[code[0], asked], metadata=KERNEL), home / "work" / NAME)
    settings = home / "settings" / "@jupyterlab" / "apputils-extension" / "notification.jupyterlab-settings"
    settings.parent.mkdir(parents=True)
    settings.write_text(json.dumps({"fetchNews": "false", "checkForUpdates": False}))
    return home


@pytest.fixture(scope="module")
def address(home):
    """Where JupyterLab answers, with its token; it runs as long as this module's tests do."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    token = secrets.token_hex(16)
    options = [f"--ServerApp.port={port}", "--ServerApp.port_retries=0", f"--ServerApp.root_dir={home / 'work'}"]
    options += [f"--IdentityProvider.token={token}", "--LabApp.expose_app_in_browser=True"]
    own = {name: str(home / name.lower()) for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR")}
    own |= {"JUPYTERLAB_SETTINGS_DIR": str(home / "settings"), "JUPYTERLAB_WORKSPACES_DIR": str(home / "spaces")}
    own |= {"JUPYTER_PREFER_ENV_PATH": "1", "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", *options]
    with open(home / "log", "w") as log, subprocess.Popen(command, env=os.environ | own, stdout=log, stderr=log) as lab:
        try:
            _wait_for(f"http://127.0.0.1:{port}/api/status?token={token}", lab)
            yield f"http://127.0.0.1:{port}/lab/tree/{NAME}?token={token}"
        finally:
            lab.terminate()  # and its kernels with it


def _wait_for(url, process):
    end = time.monotonic() + SECONDS
    while time.monotonic() < end and process.poll() is None:
        try:
            return urlopen(url, timeout=5).close()
        except (URLError, OSError):
            time.sleep(0.2)
    pytest.fail("JupyterLab does not answer")


@pytest.fixture(scope="module")
def page(address):
    """The notebook in a browser, all cells run; whatever the browser complains of is gathered in `page.complaints`."""
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1500, "height": 1100})
        page.set_default_timeout(1000 * SECONDS)
        page.complaints = []
        page.on("console", lambda said: page.complaints.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        page.goto(address)
        page.wait_for_function("window.jupyterapp?.shell.currentWidget?.context?.sessionContext?.session?.kernel")
        page.evaluate("window.jupyterapp.shell.currentWidget.context.sessionContext.session.kernel.info")
        page.evaluate("window.jupyterapp.commands.execute('notebook:run-all-cells')")
        page.wait_for_selector(PICTURE)
        yield page
        browser.close()


def handle(page, label):
    row = page.locator(".widget-inline-hbox", has=page.get_by_text(label, exact=True))
    return row.locator(".noUi-handle")


def wait_for_line(page, words):
    page.get_by_role("status").filter(has_text=words).wait_for()
    return page.get_by_role("status").filter(has_text=words).inner_text()


def shown_png(page):
    """The bytes behind the picture in the page."""
    code = """async selector => {
        const bytes = new Uint8Array(await (await fetch(document.querySelector(selector).src)).arrayBuffer());
        return btoa(Array.from(bytes, byte => String.fromCharCode(byte)).join(''));
    }"""
    return b64decode(page.evaluate(code, PICTURE))


def shown_figures(page):
    rows = page.locator(".widget-html table tr").all_inner_texts()
    return {name: cells for name, *cells in (row.split("\t") for row in rows[1:])}


def pixels(png, size=None):
    from PIL import Image

    image = Image.open(io.BytesIO(png)).convert("RGB")
    return np.asarray(image.resize(size) if size else image, dtype=float)


def expected(parameters):
    """Picture and figures, made in this process without any panel."""
    result = fk.solve_static(demo.reinforced(**parameters))
    return pixels(demo.racked(result).png), {name: figure(result) for name, figure in demo.FIGURES.items()}


def unlike(one, other):
    """Share of the pixels that differ to the eye."""
    return np.mean(np.abs(one - other).max(axis=2) > 8)


def assert_shows(page, **parameters):
    picture, figures = expected(parameters)
    png = shown_png(page)
    assert png.startswith(b"\x89PNG")
    found = pixels(png)
    assert found.shape == picture.shape
    assert unlike(found, picture) < STRAY
    # and the browser paints what the bytes hold: scaled by another filter, so about alike
    painted = pixels(page.locator(PICTURE).screenshot())
    there = pixels(png, painted.shape[1::-1])
    assert np.mean(np.abs(painted - there)) < 6 and np.std(painted) > 20
    said = shown_figures(page)
    for name, value in figures.items():  # four digits are shown
        _start, now, *_difference = said[name]
        assert float(now.replace("−", "-")) == pytest.approx(value, rel=1e-3)
    return png


def test_sliders_are_followed(page):
    wait_for_line(page, "pillar 5 mm, doubler 8 mm, sheet 3 mm, radius 80 mm, post spacing 1300 mm")
    start = assert_shows(page)

    handle(page, "pillar (mm)").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    wait_for_line(page, "pillar 8 mm")
    thicker = assert_shows(page, pillar=8)
    assert unlike(pixels(thicker), pixels(start)) > 5 * STRAY and shown_figures(page)["mass (kg)"][2].startswith("+")

    handle(page, "post spacing (mm)").focus()
    page.keyboard.press("End")
    said = wait_for_line(page, "can't be built")
    assert 'opening "window-1100"' in said and "In grey: pillar 8 mm" in said
    assert shown_png(page) == thicker
    assert float(page.locator(PICTURE).evaluate("image => getComputedStyle(image).opacity")) < 0.6

    page.keyboard.press("Home")
    wait_for_line(page, "post spacing 1000 mm")
    assert_shows(page, pillar=8, post_spacing=1000)
    assert float(page.locator(PICTURE).evaluate("image => getComputedStyle(image).opacity")) == 1
    assert page.complaints == []

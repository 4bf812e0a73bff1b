"""Every notebook runs in a real JupyterLab, and `open` shows it run already."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from kit.files import shared_folder

NOTEBOOKS = sorted(path.name for path in shared_folder("notebooks").glob("*.ipynb"))

SLIDER = """# A slider with its label
import ipywidgets as w
slider, label = w.IntSlider(3), w.Label("3")
slider.observe(lambda change: setattr(label, "value", f"{change.new} x 2"), "value")
w.VBox([slider, label])"""


def write_notebook(path: Path, *sources: str) -> None:
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    cells = [new_code_cell(source) for source in sources]
    nbformat.write(new_notebook(cells=cells, metadata={"kernelspec": kernel}), path)


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_notebook_runs_from_top_to_bottom(name, notebook, heard):
    """No error, every widget and picture shows, and nothing outside is asked for."""
    shown = notebook(f"notebooks/{name}")
    shown.run_all()
    shown.screenshot(Path(name).stem)
    assert shown.faults() == []
    assert heard.outside == []
    assert heard.thrown == []


def test_a_control_reaches_python_and_back(notebook, blanket):
    """An arrow key on a slider changes the label that Python writes."""
    write_notebook(blanket / "live.ipynb", SLIDER)
    shown = notebook("live.ipynb")
    shown.run_all()
    assert shown.faults() == []
    shown.page.locator(".noUi-handle").focus()
    shown.page.keyboard.press("ArrowRight")
    shown.page.get_by_text("4 x 2").wait_for()


def test_faults_are_found(notebook, blanket):
    """An error, a cell not reached and a widget without a model are each reported."""
    lost = (
        "# A widget that no kernel knows\n"
        "from IPython.display import display\n"
        "display({'application/vnd.jupyter.widget-view+json':"
        " {'model_id': '0' * 32, 'version_major': 2, 'version_minor': 0}}, raw=True)"
    )
    write_notebook(blanket / "faulty.ipynb", lost, "1 / 0", "# Never reached\n2")
    shown = notebook("faulty.ipynb")
    shown.run_all()
    assert shown.errors() == ["ZeroDivisionError: division by zero"]
    assert shown.not_run() == ["not run: # Never reached"]
    (dead,) = shown.dead_widgets(patience_ms=2_000)
    assert "model not found" in dead


@pytest.fixture
def opened(home: Path, blanket: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """`python -m kit open` on the blanket, and the address it tells its reader."""
    call = [sys.executable, "-m", "kit", "open", str(blanket)]
    # `true` stands in for the reader's browser: the test brings its own.
    quiet = os.environ | {"BROWSER": "true"}
    with subprocess.Popen(
        call, stdout=subprocess.PIPE, text=True, env=quiet
    ) as process:
        told = process.stdout.readline()
        yield process, re.search(r"http://\S+", told).group()
        process.terminate()


def test_open_shows_everything_run(opened, page, heard, shots):
    """The page comes with outputs and live widgets, twice; Ctrl-C ends the server."""
    from tests.browser.conftest import whole_picture

    process, address = opened
    for _ in ("first", "reloaded"):
        page.goto(address)
        page.locator(".jp-Notebook .jp-OutputArea-output").first.wait_for()
        page.locator(".jp-Notebook .jupyter-widgets").first.wait_for()
        page.wait_for_timeout(1_000)
        assert page.get_by_text("Error displaying widget").count() == 0
        assert page.get_by_text("Loading widget").count() == 0
        assert page.locator('[data-mime-type*="stderr"]').count() == 0
    whole_picture(page, shots / "open.png")
    assert heard.outside == []
    page.goto("about:blank")
    process.send_signal(signal.SIGINT)
    assert process.wait(20) == 0
    with pytest.raises(URLError):
        urlopen(address)

"""A real JupyterLab in a real Chromium: the server, the page, a notebook to drive.

    def test_something(notebook):
        shown = notebook("notebooks/2_colours.ipynb")
        shown.run_all()
        assert shown.faults() == []

Screenshots go to the folder that SHADEPATH_SHOTS names, else to pytest's own.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from kit import server as kit_server
from tests.helpers.demos import own_demo

HERE = Path(__file__).parent
WAIT_MS = 120_000  # a slow machine's two minutes; a good one needs about six seconds

# Quiet, and unable to look up any host but this machine.
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
]


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Every test of this folder is a browser test, marked before pytest selects."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker("browser")


# ---- the browser


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Chromium under Playwright; skipped without it, an error where CI is set."""
    program = shutil.which("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing = "Playwright is not installed: pip install -e '.[browser]'"
    else:
        missing = "" if program else "Chromium is not installed"
    if missing:
        (pytest.fail if os.environ.get("CI") else pytest.skip)(missing)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=program, args=CHROMIUM_FLAGS
        )
        yield browser
        browser.close()


@dataclass
class Heard:
    """What a page asked of other hosts, and the errors its scripts threw."""

    outside: list[str] = field(default_factory=list)
    thrown: list[str] = field(default_factory=list)

    def listen(self, page: Any) -> None:
        page.on("request", lambda request: self.note_address(request.url))
        page.on("pageerror", lambda error: self.thrown.append(str(error)))

    def note_address(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme not in ("data", "blob") and parts.hostname != "127.0.0.1":
            self.outside.append(url)


@pytest.fixture
def heard() -> Heard:
    return Heard()


@pytest.fixture
def page(chromium: Any, heard: Heard) -> Iterator[Any]:
    """An empty page of a fresh profile, 1280 by 900."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    context.set_default_timeout(WAIT_MS)
    page = context.new_page()
    heard.listen(page)
    yield page
    context.close()


# ---- the server


@pytest.fixture(scope="session")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Jupyter's and IPython's own folders, away from those of whoever tests."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("JUPYTER_CONFIG_DIR", str(home / "config"))
        patch.setenv("JUPYTER_DATA_DIR", str(home / "data"))
        patch.setenv("IPYTHONDIR", str(home / "ipython"))
        patch.setenv("BROWSER", str(stand_in_browser(home)))
        yield home


def stand_in_browser(home: Path) -> Path:
    """What the kernel opens pages in: it notes their addresses in home/opened."""
    program = home / "browser"
    program.write_text(f'#!/bin/sh\necho "$1" >> "{home}/opened"\n', "utf-8")
    program.chmod(0o755)
    return program


@pytest.fixture(scope="module")
def blanket(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh copy of the demo with the notebooks beside it, one for each test file."""
    blanket = own_demo(tmp_path_factory.mktemp("work"))
    kit_server.own_notebooks(blanket)
    return blanket


@pytest.fixture(scope="module")
def lab(home: Path, blanket: Path) -> Iterator[kit_server.Lab]:
    """JupyterLab on that blanket, its application reachable from the page."""
    flag = "--LabApp.expose_app_in_browser=True"
    with kit_server.served(blanket, flag) as lab:
        yield lab


# ---- a notebook in the page

# The kernel light turns idle before the session is ready, and "run all" then silently
# runs nothing: so ask the application itself.
READY = """async () => {
  while (!window.jupyterapp) await new Promise(done => setTimeout(done, 50));
  await jupyterapp.restored;
  while (!jupyterapp.shell.currentWidget?.sessionContext)
    await new Promise(done => setTimeout(done, 50));
  const panel = jupyterapp.shell.currentWidget;
  await panel.context.ready;
  await panel.sessionContext.ready;
  await panel.sessionContext.session.kernel.info;
}"""

RUN_ALL = """async () => {
  await jupyterapp.commands.execute('notebook:run-all-cells');
  const kernel = jupyterapp.shell.currentWidget.sessionContext.session.kernel;
  while (kernel.status !== 'idle') await new Promise(done => setTimeout(done, 50));
}"""

CELLS = """() => jupyterapp.shell.currentWidget.content.widgets.map(cell => ({
  kind: cell.model.type,
  source: cell.model.sharedModel.getSource(),
  count: cell.model.executionCount ?? null,
  outputs: cell.model.outputs?.toJSON() ?? [],
}))"""

# What stands in a cell's output in place of a widget, if it does not show.
WIDGET_FAULT = """cell => {
  const area = cell.querySelector('.jp-Cell-outputWrapper');
  const text = area.innerText;
  if (/Error displaying widget|Loading widget|model not found/.test(text)) return text;
  if (area.querySelector('.jupyter-widgets-error-widget')) return 'error widget';
  const shown = [...area.querySelectorAll('.jupyter-widgets')]
    .some(widget => widget.getBoundingClientRect().height > 4);
  return shown ? null : 'no widget: ' + text;
}"""

BROKEN_PICTURES = """() => [...document.querySelectorAll('.jp-Notebook img')]
  .filter(image => !image.complete || image.naturalWidth === 0)
  .map(image => image.alt || image.src.slice(0, 60))"""

WIDGET_MIME = "application/vnd.jupyter.widget-view+json"


def settle(page: Any, script: str) -> None:
    """Run an async function in the page and wait for its end, but not for ever."""
    page.evaluate(
        f"() => {{ window.settled = false;"
        f" ({script})().then(() => {{ window.settled = true; }}); }}"
    )
    page.wait_for_function("() => window.settled", timeout=WAIT_MS)


class Notebook:
    """One notebook, open in the page."""

    def __init__(self, page: Any, lab: kit_server.Lab, path: str, shots: Path) -> None:
        self.page, self.path, self.shots = page, path, shots
        page.goto(lab.page(path))
        settle(page, READY)

    def run_all(self) -> None:
        """Run every cell; wait until the last is done and the kernel is idle."""
        settle(self.page, RUN_ALL)

    def cells(self) -> list[dict[str, Any]]:
        """Kind, source, execution count and outputs of each cell in the page."""
        found: list[dict[str, Any]] = self.page.evaluate(CELLS)
        return found

    def faults(self) -> list[str]:
        """Everything wrong to see: cells not run, errors, dead widgets and pictures."""
        faults = self.errors() + self.not_run() + self.dead_widgets()
        broken = self.page.evaluate(BROKEN_PICTURES)
        return faults + [f"broken picture: {name}" for name in broken]

    def errors(self) -> list[str]:
        """Every error output, and every text on stderr."""
        outputs = [output for cell in self.cells() for output in cell["outputs"]]
        raised = [
            f"{output['ename']}: {output['evalue']}"
            for output in outputs
            if output["output_type"] == "error"
        ]
        return raised + [
            f"stderr: {output['text']}"
            for output in outputs
            if output.get("name") == "stderr"
        ]

    def not_run(self) -> list[str]:
        """Code cells without an execution count, by their first line."""
        return [
            f"not run: {cell['source'].splitlines()[0]}"
            for cell in self.cells()
            if cell["kind"] == "code" and cell["source"].strip() and not cell["count"]
        ]

    def widget_cells(self) -> list[int]:
        """Places of the cells whose output is a widget."""
        return [
            place
            for place, cell in enumerate(self.cells())
            if any(WIDGET_MIME in output.get("data", {}) for output in cell["outputs"])
        ]

    def dead_widgets(self, patience_ms: int = 15_000) -> list[str]:
        """What stands where a widget should; cells out of sight are brought into it."""
        faults = []
        for place in self.widget_cells():
            cell = self.page.locator(".jp-Notebook .jp-Cell").nth(place)
            cell.scroll_into_view_if_needed()
            fault, waited_ms = cell.evaluate(WIDGET_FAULT), 0
            while fault and waited_ms < patience_ms:
                self.page.wait_for_timeout(250)
                fault, waited_ms = cell.evaluate(WIDGET_FAULT), waited_ms + 250
            if fault:
                faults.append(f"cell {place}: {fault.strip()}")
        return faults

    def screenshot(self, name: str) -> Path:
        """The whole notebook as NAME.png: the window is made as tall as it needs."""
        return whole_picture(self.page, self.shots / f"{name}.png")


def whole_picture(page: Any, target: Path) -> Path:
    """A picture of the page with its notebook in full length."""
    before = page.viewport_size
    height = page.evaluate(
        """() => {
          const panel = document.querySelector('.jp-WindowedPanel-outer');
          panel.scrollTop = 0;
          return panel.scrollHeight;
        }"""
    )
    page.set_viewport_size(before | {"height": min(max(height + 120, 900), 12_000)})
    page.wait_for_timeout(300)
    page.screenshot(path=target)
    page.set_viewport_size(before)
    return target


@pytest.fixture(scope="session")
def shots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where screenshots go."""
    named = os.environ.get("SHADEPATH_SHOTS")
    folder = Path(named) if named else tmp_path_factory.mktemp("shots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture
def notebook(page: Any, lab: kit_server.Lab, shots: Path) -> Iterator[Callable]:
    """Opens a notebook of the blanket by its path; its kernel ends afterwards."""
    yield lambda path: Notebook(page, lab, path, shots)
    page.goto("about:blank")
    for session in kit_server.ask(lab, "GET", "sessions"):
        kit_server.ask(lab, "DELETE", f"sessions/{session['id']}")

"""The door: whose copy is whose, what the server lets in, how it starts and stops."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlsplit

import psutil
import pytest

from kit import server as kit_server
from kit.errors import KitError
from tests.helpers.notebooks import markdown_cell, read, write

CELLS = (
    "# A control\nimport ipywidgets\nipywidgets.IntSlider(3)",
    "# Which blanket, kit and process\nimport os, kit\n"
    "print(os.environ['SHADEPATH_BLANKET'])\nprint(kit.__path__[0])\nos.getpid()",
    "1 / 0",
    "print('never reached')",
)

# A reader's own settings that would open the door, close it, or move it.
CONTRARY_SETTINGS = """
c.IdentityProvider.token = ""
c.ServerApp.token = ""
c.ServerApp.ip = "0.0.0.0"
c.ServerApp.port = 1
c.ServerApp.open_browser = True
c.ServerApp.root_dir = "/"
c.ServerApp.certfile = "missing.pem"
c.ServerApp.base_url = "/mine/"
c.LabApp.extension_manager = "pypi"
"""


@pytest.fixture
def shipped(tmp_path, monkeypatch):
    """A small kit of its own: a demo blanket and one notebook to copy."""
    folders = tmp_path / "kit"
    (folders / "data/reading-room/photos").mkdir(parents=True)
    (folders / "data/reading-room/stash.csv").write_text("name,colours\nA,#123456\n")
    (folders / "data/reading-room/photos/shelf.txt").write_text("a photo")
    (folders / "notebooks").mkdir()
    write(folders / "notebooks/2_try.ipynb", markdown_cell("# Try"), *CELLS)
    for module in ("server", "blanket.whereabouts"):
        monkeypatch.setattr(f"kit.{module}.shared_folder", folders.joinpath)
    return folders


@pytest.fixture
def blanket(shipped, tmp_path):
    return kit_server.own_demo(tmp_path)


@pytest.fixture
def settings(tmp_path, monkeypatch):
    """Jupyter's folders for this test alone; returns that of the settings."""
    for name in ("CONFIG", "DATA"):
        monkeypatch.setenv(f"JUPYTER_{name}_DIR", str(tmp_path / name))
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    (tmp_path / "CONFIG").mkdir()
    return tmp_path / "CONFIG"


def edit(notebook: Path) -> bytes:
    """Add a line to the last cell, as a reader would; the file's bytes afterwards."""
    content = json.loads(notebook.read_bytes())
    content["cells"][-1]["source"] = "print('mine')"
    notebook.write_text(json.dumps(content))
    return notebook.read_bytes()


def leave_old_output(notebook: Path) -> None:
    """Give the last cell an output, as an earlier visit leaves it."""
    content = json.loads(notebook.read_bytes())
    output = {"output_type": "stream", "name": "stdout", "text": "of an earlier kernel"}
    content["cells"][-1] |= {"outputs": [output], "execution_count": 9}
    notebook.write_text(json.dumps(content))


# ---- the folder


def test_demo_is_copied_once(shipped, tmp_path):
    """The first call copies the demo, folders too; later ones change nothing."""
    blanket = kit_server.own_demo(tmp_path)
    assert blanket == tmp_path / "blankets/reading-room"
    assert (blanket / "photos/shelf.txt").read_text() == "a photo"
    (blanket / "stash.csv").write_text("name,colours\nMine,#abcdef\n")
    (blanket / "photos/shelf.txt").unlink()
    assert kit_server.own_demo(tmp_path) == blanket
    assert "Mine" in (blanket / "stash.csv").read_text()
    assert not (blanket / "photos/shelf.txt").exists()


def test_folder_without_a_stash(tmp_path):
    """A folder that is no blanket, or is not there, is answered with one sentence."""
    for folder in (tmp_path, tmp_path / "nowhere"):
        with pytest.raises(KitError) as caught:
            kit_server.open_lab(folder)
        assert str(caught.value) == (
            f"There is no stash.csv in {folder}. "
            "A blanket's folder holds one; without a folder, the demo opens."
        )


def test_own_notebooks_are_copied(blanket, shipped):
    """The notebook lands beside the blanket, and the kit's own is not touched."""
    source = shipped / "notebooks/2_try.ipynb"
    before = source.read_bytes()
    assert kit_server.own_notebooks(blanket) == ("notebooks/2_try.ipynb",)
    assert (blanket / "notebooks/2_try.ipynb").read_bytes() == before
    assert source.read_bytes() == before


def test_copy_with_outputs_is_kept(blanket, capsys):
    """Outputs and folding do not make a copy another notebook."""
    kit_server.own_notebooks(blanket)
    copy = blanket / "notebooks/2_try.ipynb"
    content = json.loads(copy.read_bytes())
    content["cells"][1] |= {"execution_count": 7, "metadata": {"collapsed": True}}
    copy.write_text(json.dumps(content))
    before = copy.read_bytes()
    kit_server.own_notebooks(blanket)
    assert copy.read_bytes() == before
    assert [path.name for path in copy.parent.iterdir()] == ["2_try.ipynb"]
    assert capsys.readouterr().out == ""


def test_changed_copies_are_all_kept(blanket, shipped, capsys):
    """Work in a notebook is set aside and said so, each time under a new name."""
    kit_server.own_notebooks(blanket)
    copy = blanket / "notebooks/2_try.ipynb"
    first = edit(copy)
    kit_server.own_notebooks(blanket)
    assert copy.read_bytes() == (shipped / "notebooks/2_try.ipynb").read_bytes()
    assert copy.with_name("2_try.bak.ipynb").read_bytes() == first
    copy.write_text("[no notebook")
    kit_server.own_notebooks(blanket)
    assert copy.with_name("2_try.bak.ipynb").read_bytes() == first
    assert copy.with_name("2_try.bak-2.ipynb").read_text() == "[no notebook"
    assert capsys.readouterr().out == (
        "2_try.ipynb had been changed: kept as 2_try.bak.ipynb.\n"
        "2_try.ipynb had been changed: kept as 2_try.bak-2.ipynb.\n"
    )


# ---- the server


def test_no_lab(blanket, monkeypatch):
    """Without JupyterLab the answer is how to get it."""
    monkeypatch.setattr(kit_server.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(KitError) as caught, kit_server.served(blanket):
        pass
    assert str(caught.value) == (
        "JupyterLab is not installed. `pip install jupyterlab` brings it."
    )


def test_server_that_ends_at_once(blanket, monkeypatch):
    """A server that gives up before it listens is one sentence, and no long wait."""
    monkeypatch.setattr(
        kit_server, "command", lambda *_: [sys.executable, "-c", "exit(3)"]
    )
    with pytest.raises(KitError) as caught, kit_server.served(blanket):
        pass
    assert str(caught.value) == (
        "JupyterLab did not start. `python -m jupyterlab` in a terminal says why."
    )


def test_server_that_never_listens(blanket, monkeypatch):
    """A server that does not come up in time is ended, and the answer is the same."""
    begun = []
    sleeper = [sys.executable, "-c", "import time; time.sleep(60)"]
    monkeypatch.setattr(kit_server, "command", lambda *_: sleeper)
    monkeypatch.setattr(kit_server, "START_S", 0.2)
    monkeypatch.setattr(kit_server, "stop", lambda server: begun.append(server))
    with pytest.raises(KitError), kit_server.served(blanket):
        pass
    monkeypatch.undo()
    (server,) = begun
    assert server.poll() is None
    kit_server.stop(server)
    assert server.poll() is not None


def test_a_port_file_that_comes_too_early(tmp_path):
    """An address counts once somebody listens there."""
    sleeper = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    with socket.socket() as waiting:
        waiting.bind(("127.0.0.1", 0))
        url = f"http://127.0.0.1:{waiting.getsockname()[1]}/"
        (tmp_path / "jpserver-1.json").write_text(json.dumps({"url": url}))
        assert not kit_server.listens(url)
        threading.Timer(0.3, waiting.listen).start()
        assert kit_server.address_of(sleeper, tmp_path) == url
        assert kit_server.listens(url)
    kit_server.stop(sleeper)


# In a shell's background SIGINT is ignored, and Python would take no notice of it.
OPEN = (
    "import signal, sys, pathlib, kit.server as kit_server;"
    "signal.signal(signal.SIGINT, signal.default_int_handler);"
    "kit_server.shared_folder = pathlib.Path(sys.argv[1]).joinpath;"
    "sys.exit(kit_server.open_lab(pathlib.Path(sys.argv[2]), browser=False))"
)


@contextmanager
def opened(blanket, shipped):
    """The server of `kit open`, which runs in a process of its own."""
    call = [sys.executable, "-c", OPEN, str(shipped), str(blanket)]
    pipe = subprocess.PIPE
    process = subprocess.Popen(
        call, stdout=pipe, stderr=pipe, text=True, start_new_session=True
    )
    late = threading.Timer(300, process.kill)  # so that nothing waits for ever
    late.start()
    try:
        with process:
            line = process.stdout.readline()
            said = re.fullmatch(
                r"reading-room is open at (http://\S+/)doc/tree/notebooks/2_try.ipynb"
                r"\?token=(\w+)  \(Ctrl-C stops it\)\n",
                line,
            )
            try:
                yield kit_server.Server(blanket, *said.groups(), shipped, process)
            finally:
                process.terminate()
    finally:
        late.cancel()


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signals")
@pytest.mark.parametrize(
    "name",
    # The other takes as long as the tests in a browser do, and comes with them.
    ["SIGINT", pytest.param("SIGTERM", marks=pytest.mark.browser)],
)
def test_open_until_a_signal(name, blanket, shipped, settings):
    """Against a reader's own settings token, loopback and folder hold. After Ctrl-C or
    SIGTERM: exit 0, no traceback, no server, no kernel."""
    (settings / "jupyter_server_config.py").write_text(CONTRARY_SETTINGS)
    (settings / "jupyter_lab_config.py").write_text(CONTRARY_SETTINGS)
    kit_server.own_notebooks(blanket)
    leave_old_output(blanket / "notebooks/2_try.ipynb")
    with opened(blanket, shipped) as server:
        with pytest.raises(HTTPError) as refused:
            kit_server.ask(replace(server, token="wrong"), "GET", "sessions")
        refused.value.close()
        contents = kit_server.ask(server, "GET", "contents")["content"]
        (session,) = kit_server.ask(server, "GET", "sessions")
        started = psutil.Process(server.process.pid).children(recursive=True)
        words = [word for one in started for word in one.cmdline()]
        # A terminal sends it to the whole group; the server must not answer for itself.
        os.killpg(server.process.pid, getattr(signal, name))
        _, complaints = server.process.communicate()
    assert (server.process.returncode, complaints) == (0, "")
    assert refused.value.code == 403
    assert {"stash.csv", "notebooks"} <= {item["name"] for item in contents}
    assert session["path"] == "notebooks/2_try.ipynb"
    assert "jupyterlab" in words and server.token not in " ".join(words)
    where = urlsplit(server.url)
    assert where.hostname == "127.0.0.1"
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection((where.hostname, where.port), timeout=5)
    kernel = is_run_to_its_error(blanket / "notebooks/2_try.ipynb")
    with pytest.raises(ProcessLookupError):
        os.kill(kernel, 0)


def is_run_to_its_error(path: Path) -> int:
    """The notebook's cells are run up to the one that fails, by this kit, and signed;
    the number of the process that ran them."""
    notebook = read(path)
    _, control, where, error, after = notebook.cells
    assert "application/vnd.jupyter.widget-view+json" in control.outputs[0].data
    printed = "".join(output.get("text", "") for output in where.outputs)
    kit = Path(kit_server.__file__).parent
    assert printed.split("\n")[:2] == [str(path.parents[1]), str(kit)]
    assert error.outputs[0].ename == "ZeroDivisionError"
    assert (after.execution_count, after.outputs) == (None, [])
    from nbformat.sign import NotebookNotary

    notary = NotebookNotary()
    assert notary.check_signature(notebook)
    notary.store.close()
    return int(where.outputs[-1].data["text/plain"])


def test_trouble_leaves_the_door_open(blanket, monkeypatch, capsys):
    """A kernel that is lost before the page opens costs one sentence."""

    def lost(*_):
        raise RuntimeError("Kernel died")

    monkeypatch.setattr(kit_server, "run_notebook", lost)
    kit_server.run_if_possible(None, "notebooks/2_try.ipynb")
    assert capsys.readouterr().out == (
        "2_try.ipynb is not run yet: in it, choose Run, Run All Cells.\n"
    )

"""JupyterLab on one blanket, for this machine alone, opening with everything run.

The notebooks are copied beside the blanket and never run in place. The first one is
run before the browser sees it, in the very kernel the page will use: its controls
live at once, and nothing has to be pressed.
"""

from __future__ import annotations

import importlib.util
import json
import os
import secrets
import signal
import socket
import subprocess
import sys
import time
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from urllib.parse import quote, urlsplit
from urllib.request import ProxyHandler, Request, build_opener

from kit.blanket import own_demo, stash_path
from kit.errors import Fault, KitError
from kit.files import read_bytes, save_all, save_text, shared_folder

BLANKET_VARIABLE = "SHADEPATH_BLANKET"
START_S = 60.0
CELL_S = 600.0
MOST_BYTES = 100 * 2**20  # of one message; by default uploads over 10 MB just vanish


@dataclass(frozen=True, slots=True)
class Server:
    """A running JupyterLab: the folder it shows, its address, token, runtime files."""

    blanket: Path
    url: str
    token: str = field(repr=False)
    runtime: Path
    process: subprocess.Popen[bytes] = field(repr=False)

    def page(self, notebook: str) -> str:
        """Address of one notebook, alone on the page; whoever has it may run code."""
        return f"{self.url}doc/tree/{quote(notebook)}?token={self.token}"


def open_lab(folder: Path | None, *, browser: bool = True) -> int:
    """Show a blanket (by default a copy of the demo) until Ctrl-C; returns 0.

    Raises KitError where the folder is no blanket or JupyterLab cannot start.
    """
    blanket = own_demo(Path.cwd()) if folder is None else checked(folder)
    first = own_notebooks(blanket)[0]
    with stopping_calmly(), served(blanket) as server:
        run_if_possible(server, first)
        address = server.page(first)
        print(f"{blanket.name} is open at {address}  (Ctrl-C stops it)", flush=True)
        if browser:
            webbrowser.open(address)
        while server.process.poll() is None:  # or until it is shut down from the page
            time.sleep(0.5)
    return 0


# ---- the folder


def checked(folder: Path) -> Path:
    """The folder as an absolute path, once it is known to hold a stash."""
    if not stash_path(folder).is_file():
        advice = "A blanket's folder holds one; without a folder, the demo opens."
        raise KitError(
            Fault("no_stash", says=f"There is no stash.csv in {folder}", advice=advice)
        )
    return folder.resolve()


def own_notebooks(blanket: Path) -> tuple[str, ...]:
    """Put the kit's notebooks into the blanket; their paths within it, sorted.

    A copy whose cells are still the kit's stays as it is. One that was changed is kept
    beside the new one as NAME.bak.ipynb. Raises KitError where nothing can be saved.
    """
    folder, contents = blanket / "notebooks", {}
    shipped = sorted(shared_folder("notebooks").glob("*.ipynb"))
    for source in shipped:
        ours, copy = read_bytes(source), folder / source.name
        if copy.exists():
            theirs = read_bytes(copy)
            if cell_sources(theirs) == cell_sources(ours):
                continue
            aside = free_name(copy)
            contents[aside.name] = theirs
            print(f"{copy.name} had been changed: kept as {aside.name}.", flush=True)
        contents[copy.name] = ours
    save_all(folder, contents)
    return tuple(f"notebooks/{source.name}" for source in shipped)


def free_name(copy: Path) -> Path:
    """NAME.bak.ipynb, or NAME.bak-2.ipynb and so on where that is taken."""
    aside, n = copy.with_suffix(".bak.ipynb"), 1
    while aside.exists():
        n += 1
        aside = copy.with_suffix(f".bak-{n}.ipynb")
    return aside


def cell_sources(data: bytes) -> list[tuple[str, str]] | None:
    """Kind and text of a notebook's cells; None where the bytes are no notebook."""
    try:
        cells = json.loads(data)["cells"]
        return [(cell["cell_type"], "".join(cell["source"])) for cell in cells]
    except (ValueError, KeyError, TypeError):
        return None


# ---- the server


@contextmanager
def served(blanket: Path, *flags: str) -> Iterator[Server]:
    """A JupyterLab server on the folder while the block runs; then it is shut down.

    `flags` are added to its command line. Raises KitError where it does not start.
    """
    if importlib.util.find_spec("jupyterlab") is None:
        advice = "`pip install jupyterlab` brings it."
        raise KitError(
            Fault("no_lab", says="JupyterLab is not installed", advice=advice)
        )
    with TemporaryDirectory(prefix="shadepath-", ignore_cleanup_errors=True) as name:
        runtime, token = Path(name), secrets.token_hex(24)
        write_settings(runtime, token)
        server = subprocess.Popen(
            command(blanket, runtime, *flags),
            env=environment(blanket, runtime),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # Ctrl-C is ours: the server would ask back
        )
        try:
            yield Server(blanket, address_of(server, runtime), token, runtime, server)
        finally:
            stop(server)


def command(blanket: Path, runtime: Path, *flags: str) -> list[str]:
    """The server's command line. It wins over the reader's own Jupyter settings."""
    tornado = json.dumps({"websocket_max_message_size": MOST_BYTES})
    as_root = ["--allow-root"] if getattr(os, "geteuid", lambda: 1)() == 0 else []
    return [
        *(sys.executable, "-m", "jupyterlab", "--no-browser"),
        "--ServerApp.ip=127.0.0.1",
        "--ServerApp.port=0",
        "--ServerApp.certfile=",
        f"--ServerApp.root_dir={blanket}",
        f"--ServerApp.tornado_settings={tornado}",
        "--LabApp.extension_manager=readonly",
        f"--LabApp.app_settings_dir={runtime}",
        *as_root,
        *flags,
    ]


def environment(blanket: Path, runtime: Path) -> dict[str, str]:
    """The server's environment, which its kernels inherit.

    Kernels are of this Python and import this very kit, even where the reader has
    others. The token's file goes before the reader's settings, which stay in force.
    """
    before = os.environ
    return before | {
        BLANKET_VARIABLE: str(blanket),
        "JUPYTER_RUNTIME_DIR": str(runtime),
        "JUPYTER_PREFER_ENV_PATH": "1",
        "JUPYTER_CONFIG_PATH": joined(runtime, before.get("JUPYTER_CONFIG_PATH")),
        "PYTHONPATH": joined(Path(__file__).parents[1], before.get("PYTHONPATH")),
    }


def joined(first: Path, rest: str | None) -> str:
    """A search path that begins with `first`."""
    return os.pathsep.join(filter(None, (str(first), rest)))


def write_settings(runtime: Path, token: str) -> None:
    """The token, kept off the command line, and no news pop-up with its look-up."""
    quiet = {"fetchNews": "false", "checkForUpdates": False}
    overrides = {"@jupyterlab/apputils-extension:notification": quiet}
    secret = {"IdentityProvider": {"token": token}}
    save_text(runtime / "overrides.json", json.dumps(overrides))
    save_text(runtime / "jupyter_server_config.json", json.dumps(secret))


def address_of(server: subprocess.Popen[bytes], runtime: Path) -> str:
    """The address that the server writes into its port file, once it listens there."""
    limit = time.monotonic() + START_S
    while server.poll() is None and time.monotonic() < limit:
        for port_file in runtime.glob("jpserver-*.json"):
            with suppress(ValueError):  # while it is still being written
                url = str(json.loads(read_bytes(port_file))["url"])
                if listens(url):
                    return url
        time.sleep(0.05)
    advice = "`python -m jupyterlab` in a terminal says why."
    raise KitError(Fault("no_start", says="JupyterLab did not start", advice=advice))


def listens(url: str) -> bool:
    """Whether somebody is at an address: the port file comes a moment too early."""
    where = urlsplit(url)
    try:
        socket.create_connection((where.hostname, where.port), timeout=1).close()
    except OSError:
        return False
    return True


def stop(server: subprocess.Popen[bytes]) -> None:
    """End the server and with it its kernels; by force after ten seconds."""
    server.terminate()
    try:
        server.wait(10)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()


@contextmanager
def stopping_calmly() -> Iterator[None]:
    """End the block without a traceback on Ctrl-C, SIGTERM or a closed terminal."""

    def leave(number: int, frame: object) -> None:
        signal.signal(number, signal.SIG_IGN)
        raise KeyboardInterrupt

    names = [name for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), leave) for name in names}
    try:
        with suppress(KeyboardInterrupt):
            yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)


# ---- running a notebook before it is looked at


def run_if_possible(server: Server, path: str) -> None:
    """`run_notebook`, but a kernel that is lost or too slow does not shut the door."""
    try:
        run_notebook(server, path)
    except (OSError, RuntimeError):  # timeouts and refused calls are OSErrors
        name = path.rpartition("/")[2]
        print(f"{name} is not run yet: in it, choose Run, Run All Cells.", flush=True)


def run_notebook(server: Server, path: str) -> None:
    """Run every cell in the kernel the page will use, and save what they show.

    Stops at the first error, as the page would; the page shows it. An `Output` widget
    stays empty here, since only a page can fill it.
    """
    import nbformat

    name = path.rpartition("/")[2]
    session = {"path": path, "name": name, "type": "notebook"}
    kernel = ask(server, "POST", "sessions", session | {"kernel": {"name": "python3"}})
    notebook = ask(server, "GET", f"contents/{quote(path)}")["content"]
    cells = nbformat.from_dict(notebook).cells
    code = [cell for cell in cells if cell.cell_type == "code"]
    run_cells(server, kernel["kernel"]["id"], code)
    for cell in code:
        # The server signs what it saves if all code is marked so; the page shows no
        # widget of an unsigned notebook. (A mark on other cells spoils the signature.)
        cell.metadata.trusted = True
    content = notebook | {"cells": cells}
    ask(
        server,
        "PUT",
        f"contents/{quote(path)}",
        {"type": "notebook", "content": content},
    )


def run_cells(server: Server, kernel_id: str, cells: list[Any]) -> None:
    """Run code cells in order, outputs put in place, up to the first error."""
    from jupyter_client.blocking import BlockingKernelClient

    for cell in cells:  # what an earlier kernel left would be dead controls
        cell.outputs, cell.execution_count = [], None
    client = BlockingKernelClient()
    client.load_connection_file(str(server.runtime / f"kernel-{kernel_id}.json"))
    client.start_channels()
    try:
        client.wait_for_ready(timeout=START_S)
        for cell in cells:
            if not run_cell(client, cell):
                break
    finally:
        client.stop_channels()


def run_cell(client: Any, cell: Any) -> bool:
    """Run one cell and give it its outputs; whether it went well."""
    from nbformat.v4 import output_from_msg

    outputs: list[Any] = []

    def collect(message: dict[str, Any]) -> None:
        kind = message["header"]["msg_type"]
        if kind in ("stream", "display_data", "execute_result", "error"):
            outputs.append(output_from_msg(message))
        elif kind == "clear_output":
            outputs.clear()

    reply = client.execute_interactive(
        cell.source, allow_stdin=False, timeout=CELL_S, output_hook=collect
    )
    cell.outputs, cell.execution_count = outputs, reply["content"]["execution_count"]
    return bool(reply["content"]["status"] == "ok")


def ask(server: Server, method: str, path: str, body: Any = None) -> Any:
    """One call of the server's REST interface; its answer from JSON."""
    request = Request(
        f"{server.url}api/{path}",
        data=None if body is None else json.dumps(body).encode(),
        headers={"Authorization": f"token {server.token}"},
        method=method,
    )
    # A proxy for the outside has no business between us and our own server.
    with build_opener(ProxyHandler({})).open(request, timeout=START_S) as answer:
        return json.loads(answer.read() or b"null")

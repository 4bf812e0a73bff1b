"""Nothing but this computer is contacted, and nothing but this computer is let in."""

import ipaddress
import json
import os
import subprocess
import sys
from ast import literal_eval
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from kit import server as kit_server
from tests.helpers.notebooks import read, write

# Python itself reports every look-up and every connection to a hook like this, whatever
# library makes it. As `sitecustomize` it is in each Python that is started: the
# server, its kernels, their helpers.
HOOK = """
import os, sys
def _heard(event, args):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.gethostbyname",
                 "socket.sendto", "socket.bind", "urllib.Request"):
        with open(os.environ["HEARD"], "a") as file:
            file.write(event + " " + repr(args[-1] if event in ("socket.connect",
                "socket.sendto", "socket.bind") else args[0]) + "\\n")
sys.addaudithook(_heard)
"""

STASH = "name,colours,grams\nPebble,#c8cdd0,50\nSlate,#5b6770,50\nInk,#1d2733,50\n"
CHOICES = 'name = "Hall"\n[colours]\nby = "value"\n'


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A small blanket, and the hook in every Python that is started from here on."""
    for name in ("CONFIG", "DATA"):
        monkeypatch.setenv(f"JUPYTER_{name}_DIR", str(tmp_path / name))
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    monkeypatch.setenv("HEARD", str(tmp_path / "heard"))
    (tmp_path / "hook").mkdir()
    (tmp_path / "hook" / "sitecustomize.py").write_text(HOOK)
    rest = os.environ.get("PYTHONPATH")
    monkeypatch.setenv("PYTHONPATH", kit_server.joined(tmp_path / "hook", rest))
    folder = tmp_path / "blanket"
    folder.mkdir()
    (folder / "stash.csv").write_text(STASH)
    (folder / "blanket.toml").write_text(CHOICES)
    return folder


def heard(folder):
    path = folder.parent / "heard"
    return path.read_text().splitlines() if path.exists() else []


def is_outside(line):
    """Whether a line of the hook speaks of another computer."""
    event, _, where = line.partition(" ")
    place = literal_eval(where)
    host = place[0] if isinstance(place, tuple) else place
    if event == "urllib.Request":
        host = urlsplit(str(place)).hostname
    if host in (None, "", "localhost") or str(host).startswith("/"):
        return False
    try:
        return not ipaddress.ip_address(host).is_loopback
    except ValueError:
        return True


def test_the_hook_hears(folder):
    """The check can fail: a look-up and a connection are both heard as outside."""
    code = (
        "import socket\n"
        "for act in (lambda: socket.getaddrinfo('yarn.invalid', 80),\n"
        "            lambda: socket.socket(type=socket.SOCK_DGRAM)"
        ".connect(('192.0.2.1', 9))):\n"
        "    try: act()\n"
        "    except OSError: pass\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
    assert [is_outside(line) for line in heard(folder)] == [True, True]
    assert not is_outside("socket.connect ('127.0.0.1', 8888)")


def test_a_plan_asks_nobody(folder):
    """`plan` and `check` open no connection and look up no name at all."""
    code = (
        "import sys; from kit.__main__ import main; folder = sys.argv[1]\n"
        "sys.exit(main(['check', folder]) or main(['plan', folder]))"
    )
    call = [sys.executable, "-c", code, str(folder)]
    subprocess.run(call, check=True, capture_output=True)
    assert (folder / "plan" / "plan.html").is_file()
    assert heard(folder) == []


def status(server, host, token):
    """The answer's number to a call with this Host header."""
    where = urlsplit(server.url)
    connection = HTTPConnection(where.hostname, where.port, timeout=20)
    headers = {"Host": host} | ({"Authorization": f"token {token}"} if token else {})
    connection.request("GET", "/api/sessions", headers=headers)
    found = connection.getresponse().status
    connection.close()
    return found


def addresses(pid):
    """What the server and all it started listen on or are connected to."""
    psutil = pytest.importorskip("psutil")
    server = psutil.Process(pid)
    found = set()
    for process in (server, *server.children(recursive=True)):
        for one in process.net_connections("inet"):
            found |= {end.ip for end in (one.laddr, one.raddr) if end}
    return found


@pytest.mark.browser  # it takes as long as those, but needs none
def test_the_lab_stays_at_home(folder):
    """Server and kernel talk on loopback only; without the token nobody is let in,
    nor is a page elsewhere that has a name of its own lead here."""
    cell = "# The stash\nfrom kit.widgets import StashDesk\nStashDesk().frame()"
    path = laid(folder, cell)
    with kit_server.served(folder) as server:
        kit_server.run_notebook(server, path)
        where = urlsplit(server.url)
        here = f"{where.hostname}:{where.port}"
        assert status(server, here, server.token) == 200
        assert status(server, here, "") == 403
        assert status(server, "yarn.invalid", server.token) == 403
        found = addresses(server.process.pid)
        settings = json.loads(Path(server.runtime, "overrides.json").read_text())
    shown = read(folder / path)
    assert shown.cells[0].outputs
    assert "ename" not in shown.cells[0].outputs[0]
    assert {ipaddress.ip_address(ip).is_loopback for ip in found} == {True}
    lines = heard(folder)
    assert any(line.startswith("socket.bind") for line in lines)
    assert [line for line in lines if is_outside(line)] == []
    news = settings["@jupyterlab/apputils-extension:notification"]
    assert news == {"fetchNews": "false", "checkForUpdates": False}


def laid(folder, *cells):
    """A notebook of these cells in the blanket; its path there."""
    (folder / "notebooks").mkdir()
    write(folder / "notebooks" / "try.ipynb", *cells)
    return "notebooks/try.ipynb"


OPEN = (
    "import sys; from pathlib import Path; from kit import server as kit_server\n"
    "kit_server.own_notebooks = lambda blanket: (sys.argv[2],)\n"
    "sys.exit(kit_server.open_lab(Path(sys.argv[1]), browser=False))"
)


@pytest.mark.browser  # likewise
def test_two_labs_on_one_blanket(folder):
    """Both run the same notebook and save: it stays whole, and so does the stash."""
    edit = (
        "# An edit\nfrom kit.blanket.stash_file import with_cells\n"
        "from kit.blanket.stash_file import open_stash, save_table\n"
        "import os; file = open_stash(os.environ['SHADEPATH_BLANKET'])\n"
        "save_table(file, with_cells(file.stash.table, {at}, {{'grams': '{n}'}}))"
    )
    path = laid(folder, edit.format(at=0, n=1), edit.format(at=1, n=2))
    call = [sys.executable, "-c", OPEN, str(folder), path]
    pipe = subprocess.PIPE
    doors = [
        subprocess.Popen(call, stdout=pipe, stderr=pipe, text=True) for _ in range(2)
    ]
    said = [door.stdout.readline() for door in doors]
    for door in doors:
        door.terminate()
    assert [door.communicate(timeout=30) for door in doors] == [("", "")] * 2
    assert all("is open at http://127.0.0.1:" in line for line in said)
    assert said[0] != said[1]
    shown = read(folder / path)
    assert all(cell.outputs for cell in shown.cells)
    grams = [line.split(",")[2] for line in (folder / "stash.csv").read_text().split()]
    assert grams == ["grams", "1", "2", "50"]
    assert not list(folder.glob(".*.saving"))


# Settings of Jupyter's that open a door.
OPENING = ("disable_check_xsrf", "allow_origin", "allow_remote", "allow_unauth")
OPENING += ("token=", "password", "0.0.0.0", "custom_display_url", "trust_xheaders")
OPENING += (
    "disable_nbconvert",
    "cookie",
    "Content-Security-Policy",
    "disable_security",
)


def test_nothing_is_switched_off(tmp_path):
    """None of the flags loosens what Jupyter guards; the address is this computer's."""
    flags = kit_server.command(tmp_path, tmp_path)
    assert "--ServerApp.ip=127.0.0.1" in flags
    assert [flag for flag in flags for word in OPENING if word in flag] == []

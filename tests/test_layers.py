"""The code map in DEVELOPERS.md is true, and imports run up it only."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MAP = ROOT.joinpath("DEVELOPERS.md").read_text("utf-8").split("    kit/\n")[1]
ORDER = re.findall(r"^ {6}(\w+)(?:\.py|/) ", MAP.split("\n\n")[0], re.MULTILINE)
MODULES = [path for path in (ROOT / "kit").rglob("*.py") if path.stem != "__init__"]
LATE = ("colour", "matplotlib", "scipy", "pandas")


def layer(path):
    return "widgets" if path.parent.name == "widgets" else path.stem


def imported(path):
    """The modules of the kit that a file imports, wherever in it."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("kit."):
            names.add(node.module.split(".")[1])
        elif isinstance(node, ast.ImportFrom) and node.module == "kit":
            names |= {alias.name for alias in node.names}
    return names - {layer(path)}


def test_the_map_names_every_module():
    """Each module stands in the code map once, and nothing else does."""
    assert sorted(ORDER) == sorted({layer(path) for path in MODULES})


@pytest.mark.parametrize("path", MODULES, ids=layer)
def test_imports_run_upwards(path):
    """A module imports only modules above it in the code map."""
    above = ORDER[: ORDER.index(layer(path))]
    assert imported(path) <= set(above)


@pytest.mark.parametrize("path", MODULES, ids=layer)
def test_files_are_opened_in_one_place(path):
    """`open` and the like stand in files.py and the two modules it is made of, and in
    lab.py for its own server; an archive opens its own parts."""
    calls = {"open", "read_text", "write_text", "write_bytes"}
    if layer(path) in ("locking", "writing", "files", "lab", "archive"):
        return
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Call):
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            owner = getattr(getattr(node.func, "value", None), "id", "")
            assert name not in calls or owner in ("Image", "webbrowser")


def test_starting_is_light():
    """`import kit` and the command line's help load none of the large packages."""
    code = (
        "import sys, kit, kit.__main__\n"
        "try: kit.__main__.main(['--help'])\n"
        "except SystemExit: pass\n"
        f"loaded = [name for name in {LATE} if name in sys.modules]\n"
        "print(loaded, file=sys.stderr)"
    )
    call = [sys.executable, "-c", code]
    done = subprocess.run(call, capture_output=True, text=True, cwd=ROOT)
    assert done.stderr.strip() == "[]"

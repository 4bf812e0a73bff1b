"""The rooms of DEVELOPERS.md are true: imports run one way, doors open late."""

import ast
import json
import re
import subprocess
import sys
from collections import Counter
from functools import cache
from graphlib import TopologicalSorter
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
KIT = ROOT / "kit"
MAP = ROOT.joinpath("DEVELOPERS.md").read_text("utf-8").split("    kit/\n")[1]
RANKS = re.findall(r"^ {6}(\w+)(?:\.py|/) ", MAP.split("\n\n")[0], re.MULTILINE)
ROOMS = [name for name in RANKS if (KIT / name).is_dir()]
MODULES = [path for path in KIT.rglob("*.py") if path != KIT / "__init__.py"]
BY_ROOM = {
    name: [p for p in MODULES if p.relative_to(KIT).parts[0] == name] for name in ROOMS
}
BY_ROOM["beside the rooms"] = [path for path in MODULES if path.parent == KIT]
LATE = ("colour", "matplotlib", "scipy", "pandas")
OPENERS = ("files", "server")


def room(path):
    return path.relative_to(KIT).parts[0].removesuffix(".py")


def dotted(path):
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


@cache
def nodes(path):
    """All that a module's text is made of, parsed once."""
    return tuple(ast.walk(ast.parse(path.read_text("utf-8"))))


def imported(path):
    """(module, name) of all that a file imports from the kit, wherever in it."""
    for node in nodes(path):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("kit"):
            for alias in node.names:
                yield node.module, alias.name


def test_the_map_names_every_room():
    """Each room stands in the code map once, and nothing else does."""
    there = {room(path) for path in KIT.rglob("*.py")} - {"__init__"}
    assert sorted(RANKS) == sorted(there)


@pytest.mark.parametrize("paths", BY_ROOM.values(), ids=BY_ROOM)
def test_imports_run_one_way(paths):
    """A module imports its own room, and rooms above it in the code map."""
    for path in paths:
        above = RANKS[: RANKS.index(room(path)) + 1]
        rooms = {module.split(".")[1] for module, _ in imported(path)}
        assert rooms <= set(above), dotted(path)


@pytest.mark.parametrize("name", ROOMS)
def test_no_room_goes_in_circles(name):
    """The modules of a room can be put in an order, each importing earlier ones."""
    graph = {
        dotted(path): {
            module
            for module, _ in imported(path)
            if module.startswith(f"kit.{name}.") and module != dotted(path)
        }
        for path in (KIT / name).rglob("*.py")
        if path.stem != "__init__"
    }
    assert set(TopologicalSorter(graph).static_order()) >= set(graph)


@pytest.mark.parametrize("name", ROOMS)
def test_a_door_says_what_its_room_is_for(name):
    """Three to ten names, each there and described, under a few lines of prose."""
    door = import_module(f"kit.{name}")
    assert 3 <= len(door.__all__) <= 10
    assert not {path.stem for path in (KIT / name).iterdir()} & set(door.__all__)
    assert sorted(door.__all__) == door.__all__ == sorted(dir(door))
    assert all(getattr(door, each).__doc__ for each in door.__all__)
    assert 3 <= len(door.__doc__.strip().splitlines()) <= 12
    with pytest.raises(AttributeError, match="has no attribute 'nothing'"):
        _ = door.nothing


@pytest.mark.parametrize("paths", BY_ROOM.values(), ids=BY_ROOM)
def test_what_has_a_door_comes_through_it(paths):
    """A name that a room's door offers is not taken from behind it by other rooms."""
    for path in paths:
        for module, name in imported(path):
            parts = module.split(".")
            if len(parts) == 3 and parts[1] != room(path):
                offered = import_module(f"kit.{parts[1]}").__all__
                assert name not in offered, (dotted(path), module, name)


def outsiders():
    """The Python of what stands outside the rooms: command line, server, notebooks."""
    for name in ("__main__", "server"):
        text = KIT.joinpath(f"{name}.py").read_text("utf-8")
        yield pytest.param(text, id=name)
    for path in sorted(ROOT.joinpath("notebooks").glob("*.ipynb")):
        cells = json.loads(path.read_text("utf-8"))["cells"]
        code = ("".join(c["source"]) for c in cells if c["cell_type"] == "code")
        yield pytest.param("\n".join(code), id=path.stem)


@pytest.mark.parametrize("text", [*outsiders()])
def test_who_stands_outside_comes_through_a_door(text):
    """The kit is imported as `kit`, or as what a room's door offers; the fifth
    notebook's lessons, one a cell, are more than a door holds."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            assert not [one for one in node.names if one.name.startswith("kit.")]
        if not isinstance(node, ast.ImportFrom):
            continue
        module, names = node.module or "", {one.name for one in node.names}
        if module.split(".")[0] != "kit" or module in ("kit.errors", "kit.server"):
            continue  # they stand beside the rooms
        lessons = {"lesson"} if module == "kit.pictures" else set()
        assert module == "kit" or module.removeprefix("kit.") in ROOMS, module
        assert names - lessons <= set(import_module(module).__all__), names


def calls_in(path, name):
    """The calls of what goes by a name, with dots before it or without."""
    for node in nodes(path):
        if isinstance(node, ast.Call):
            called = getattr(node.func, "id", getattr(node.func, "attr", ""))
            if called == name:
                yield node


def test_what_draws_a_value_is_there():
    """A drawing that is named in words, "module:function", is where it is said."""
    named = [one for path in MODULES for one in calls_in(path, "draws_itself")]
    assert named
    for call in named:
        module, name = call.args[0].value.split(":")
        assert callable(getattr(import_module(module), name))


@pytest.mark.parametrize("name", ["open", "read_text", "write_text", "write_bytes"])
def test_files_are_opened_in_one_place(name):
    """`open` and the like stand in files/, and in server.py for its own server."""
    elsewhere = [path for path in MODULES if room(path) not in OPENERS]
    for path in elsewhere:
        for call in calls_in(path, name):
            owner = getattr(getattr(call.func, "value", None), "id", "")
            assert owner in ("Image", "webbrowser"), dotted(path)


TAG = re.compile(r"</?[a-z][\w-]*(?=[\s/>]|$)")
ELEMENTS = KIT / "pictures" / "svg.py"
NO_TAG = "<fraction>"  # what Unicode calls a way to decompose


def texts_of(path):
    """Every piece of text in a module but its docstrings."""
    told = {id(node.value) for node in nodes(path) if isinstance(node, ast.Expr)}
    for node in nodes(path):
        if isinstance(node, ast.Constant) and id(node) not in told:
            yield str(node.value)


@pytest.mark.parametrize("paths", BY_ROOM.values(), ids=BY_ROOM)
def test_elements_are_made_in_one_place(paths):
    """No tag stands in a text outside svg.py, so that nothing is left unescaped."""
    for path in paths:
        bare = (text.replace("(?P<", "").replace(NO_TAG, "") for text in texts_of(path))
        tags = [text for text in bare if TAG.search(text)]
        assert path == ELEMENTS or tags == [], dotted(path)


def test_a_class_name_has_one_meaning():
    """No two classes of the kit go by one name, private or not."""
    names = [
        node.name.lstrip("_")
        for path in MODULES
        for node in nodes(path)
        if isinstance(node, ast.ClassDef)
    ]
    assert sorted(name for name, n in Counter(names).items() if n > 1) == []


def test_a_function_name_has_one_meaning():
    """No two rooms have a public function of one name."""
    rooms = {
        (node.name, room(path))
        for path in MODULES
        for node in ast.parse(path.read_text("utf-8")).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    }
    names = Counter(name for name, _ in rooms)
    assert sorted(name for name, n in names.items() if n > 1) == []


def loaded(code):
    """The modules that come in with some lines of Python, in a fresh one."""
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport sys; print(*sys.modules)"],
        capture_output=True, text=True, cwd=ROOT, check=True,
    )  # fmt: skip
    return set(done.stdout.splitlines()[-1].split())


def test_starting_is_light():
    """`import kit` and the command line's help load none of the large packages."""
    code = (
        "import kit, kit.__main__\n"
        "try: kit.__main__.main(['--help'])\n"
        "except SystemExit: pass"
    )
    assert not loaded(code) & set(LATE)


@pytest.mark.parametrize("name", ROOMS)
def test_a_door_opens_late(name):
    """Standing at a door loads nothing behind it."""
    mine = {one for one in loaded(f"import kit.{name}") if one.startswith("kit")}
    assert mine == {"kit", "kit.late", f"kit.{name}"}


# 39 and 27 when this was written, doors included: much more means that something has
# crept in which a stash being saved or a stripe can do without.
@pytest.mark.parametrize(
    ("module", "most"), [("kit.blanket.stash_file", 42), ("kit.fabric.stripes", 30)]
)
def test_a_room_brings_in_no_lower_one(module, most):
    """A room is imported with those above it alone, and not all of them."""
    mine = {one for one in loaded(f"import {module}") if one.startswith("kit")}
    lower = set(ROOMS[ROOMS.index(module.split(".")[1]) + 1 :])
    assert not {one.split(".")[1] for one in mine - {"kit"}} & lower
    assert len(mine) <= most

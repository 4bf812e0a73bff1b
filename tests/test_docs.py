"""What README, DEVELOPERS and RESULTS name is there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGES = ("README.md", "DEVELOPERS.md", "tests/bench/RESULTS.md")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
ROOMS = sorted(path.parent.name for path in ROOT.glob("kit/*/__init__.py"))


@pytest.mark.parametrize("page", PAGES)
def test_every_path_leads_somewhere(page):
    """A file or folder of the repository that a page names is there."""
    text = ROOT.joinpath(page).read_text("utf-8")
    paths = re.findall(r"\b(?:kit|tests|notebooks|\.ci)/[\w./*]*\w", text)
    assert paths or page == "README.md"
    assert [path for path in paths if not list(ROOT.glob(path))] == []


def test_the_table_of_rooms_names_what_is_there():
    """Room by room, each file to begin reading at lies in its room."""
    rows = re.findall(r"^\| `(\w+)` \|.*\| (.+) \|$", DEVELOPERS, re.MULTILINE)
    table = {room: re.findall(r"`(\w+\.py)`", files) for room, files in rows}
    assert sorted(room for room in table if room in ROOMS) == ROOMS
    for room in ROOMS:
        assert table[room]
        assert all((ROOT / "kit" / room / file).is_file() for file in table[room])


@pytest.mark.parametrize("page", PAGES)
def test_every_command_is_one(page):
    """A module that a page tells to run with `python -m` is there."""
    text = ROOT.joinpath(page).read_text("utf-8")
    ours = set(re.findall(r"python -m ((?:kit|tests)[\w.]*)", text))
    for module in ours:
        path = ROOT.joinpath(*module.split("."))
        assert path.with_suffix(".py").is_file() or (path / "__main__.py").is_file()

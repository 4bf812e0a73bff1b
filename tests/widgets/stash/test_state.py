"""What the stash desk knows, and its work, without any control."""

import pytest

from kit.blanket.stash_file import without_row
from kit.errors import KitError
from kit.widgets.lines import Lines
from kit.widgets.stash.state import NONE, StashWork

STASH = "name,colours\nSage,#9caf88\nRust,#8b3a1e\nPlum,#5d3954\n"


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "stash.csv").write_text(STASH, "utf-8")
    return tmp_path


@pytest.fixture
def shown():
    return []


@pytest.fixture
def work(folder, shown):
    work = StashWork(shown.append)
    work.read(folder, Lines())
    return work


def test_the_first_yarn_is_chosen(work, shown):
    """One value says it all, and is the one that is shown."""
    assert [yarn.name for yarn in work.state.yarns] == ["Sage", "Rust", "Plum"]
    assert work.state.at == 0 and shown == [work.state]


def test_what_is_chosen_stays_within_the_file(work):
    """After the last row is taken out, the last one there is is chosen."""
    work.choose(2)
    work.save(without_row(work.file.stash, 2))
    assert (work.state.at, len(work.state.yarns)) == (1, 2)
    work.undo()
    assert len(work.state.yarns) == 3


def test_no_stash_is_shown_while_none_can_be_read(work, folder, shown):
    """The fault is raised once all shows that there is nothing, not what was before."""
    (folder / "stash.csv").write_text(STASH + "Dusk,#12\n", "utf-8")
    with pytest.raises(KitError):
        work.read(folder, Lines())
    assert (shown[-1].file, shown[-1].yarns, shown[-1].at) == (None, (), NONE)
    with pytest.raises(KitError, match="cannot be read as it is"):
        work.undo()
    (folder / "stash.csv").write_text(STASH, "utf-8")
    work.read(folder, Lines())
    assert (work.state.at, len(work.state.yarns)) == (0, 3)

"""Choices that name yarns which are no longer in the stash."""

import pytest

from kit.blanket.folder import save_choices
from kit.blanket.keys import as_toml
from kit.blanket.missing_yarns import open_without_gone
from kit.errors import KitError
from kit.plan import plan_blanket

STASH = "name,colours,role\nA,#fff,\nB,#999,\nC,#555,\nD,#222,\nX,#777,bridge\n"
CHOICES = """name = "Hall"
[colours]
by = "value"  # mine
order = ["B", "gone", "A", "C", "D"]
locked = ["gone", "A", ["C", "gone"], ["C", "D"]]
left_out = ["lost"]
accents = [["gone", "A"], ["A", "C"]]
bridges_kept = [
  { yarn = "X", after = "gone", before = "A" },
  { yarn = "X", after = "A", before = "C" },
]
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "stash.csv").write_text(STASH, "utf-8")
    (tmp_path / "blanket.toml").write_text(CHOICES, "utf-8")
    return tmp_path


def test_gone_yarns_are_passed_over_and_told(folder):
    """The rest of each list holds; nothing is written until something is saved."""
    blanket, changes, said = open_without_gone(folder)
    assert said == (
        'No longer in the stash, so passed over here: "gone", "lost". blanket.toml '
        "names them until the next change is saved.",
    )
    run = plan_blanket(blanket).design.arrangement.yarns
    assert [one.name for one in run] == ["B", "A", "C", "D"]
    assert changes == {
        "colours.order": ["B", "A", "C", "D"],
        "colours.locked": ["A", ["C", "D"]],
        "colours.left_out": None,
        "colours.accents": [["A", "C"]],
        "colours.bridges_kept": [{"yarn": "X", "after": "A", "before": "C"}],
    }
    path = folder / "blanket.toml"
    assert path.read_text("utf-8") == CHOICES
    save_choices(blanket, changes)
    assert "gone" not in path.read_text("utf-8")
    assert "# mine" in path.read_text("utf-8")
    assert open_without_gone(folder)[1:] == ({}, ())


def test_other_faults_stay_faults(folder):
    """A fault of another kind, or of another key, is raised as ever."""
    for more in ("view = 7\n", '[[carry]]\nyarn = "gone"\n'):
        (folder / "blanket.toml").write_text(CHOICES + more, "utf-8")
        with pytest.raises(KitError):
            open_without_gone(folder)
    (folder / "blanket.toml").write_text('name = "A"\n', "utf-8")
    assert open_without_gone(folder)[1:] == ({}, ())


def test_none_for_nothing():
    """An empty list is no key at all."""
    assert as_toml(()) is None

"""Where blankets lie: a new one is made once, and can be opened."""

import pytest

from kit.blanket import open_blanket
from kit.blanket.whereabouts import begin_blanket
from kit.errors import KitError
from kit.plan import plan_blanket


def test_a_new_blanket_can_be_opened_and_planned(tmp_path):
    """Folder, one example row and a name that needs care in TOML and in a path."""
    folder = begin_blanket(tmp_path, '  Porch "throw"\\ no. 2 ')
    assert folder.parent == tmp_path
    assert sorted(path.name for path in folder.iterdir()) == [
        "blanket.toml", "stash.csv",
    ]  # fmt: skip
    blanket = open_blanket(folder)
    assert blanket.choices.name == 'Porch "throw"\\ no. 2'
    assert len(plan_blanket(blanket).design.laid.yarns) == 1


def test_a_folder_that_is_there_is_refused(tmp_path):
    """Nothing in it is touched; a blank name is refused as well."""
    (tmp_path / "Porch-throw").mkdir()
    with pytest.raises(KitError) as told:
        begin_blanket(tmp_path, "Porch throw")
    assert str(told.value) == (
        f"{tmp_path / 'Porch-throw'} is there already, so nothing was made. Take "
        "another name."
    )
    assert list((tmp_path / "Porch-throw").iterdir()) == []
    with pytest.raises(KitError, match="New blanket: found nothing, expected a name"):
        begin_blanket(tmp_path, "  ")

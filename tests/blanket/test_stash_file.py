"""A stash.csv that is worked on: saved whole, never over another's change."""

import pytest

from kit.blanket.edits import with_cells, with_row
from kit.blanket.folder import open_blanket
from kit.blanket.stash_file import open_stash, save_table, undone
from kit.errors import KitError
from tests.helpers.demos import own_demo
from tests.helpers.workbooks import ods, xlsx


@pytest.fixture
def folder(tmp_path):
    return own_demo(tmp_path)


@pytest.fixture
def file(folder):
    return open_stash(folder)


def grams(file, at, text):
    return with_cells(file.stash.table, at, {"grams": text})


def test_a_change_is_saved_and_the_last_state_kept(file, folder):
    """The file holds the change, its .bak what was there before."""
    before = (folder / "stash.csv").read_bytes()
    after = save_table(file, grams(file, 1, "12"))
    assert open_stash(folder).stash == after.stash
    assert after.stash.yarns[1].grams == 12
    assert (folder / "stash.csv.bak").read_bytes() == before


def test_changes_follow_each_other_and_are_taken_back_in_turn(file, folder):
    """Each undo brings back the very bytes; with nothing left it does nothing."""
    states = [(folder / "stash.csv").read_bytes()]
    for text in ("12", "13"):
        file = save_table(file, grams(file, 1, text))
        states.append((folder / "stash.csv").read_bytes())
    assert len(set(states)) == 3
    for state in reversed(states[:-1]):
        file = undone(file)
        assert (folder / "stash.csv").read_bytes() == state
    assert undone(file) == file


def test_nothing_is_written_where_nothing_changes(file, folder):
    """Saving what is there makes no step to undo."""
    file = save_table(file, grams(file, 1, "12"))
    assert save_table(file, grams(file, 1, "12")).past == file.past


def test_a_fault_leaves_the_file_as_it_was(file, folder):
    """Neither the file nor its .bak is touched."""
    before = (folder / "stash.csv").read_bytes()
    with pytest.raises(KitError):
        save_table(file, grams(file, 1, "twelve"))
    assert (folder / "stash.csv").read_bytes() == before
    assert not (folder / "stash.csv.bak").exists()


@pytest.mark.parametrize("change", ["edited", "deleted"])
def test_what_another_program_did_stays(file, folder, change):
    """An edit elsewhere is not written over, nor is a deleted file brought back."""
    path = folder / "stash.csv"
    if change == "edited":
        path.write_bytes(path.read_bytes() + b"46,New,#ffffff\n")
    else:
        path.unlink()
    there = path.read_bytes() if path.exists() else None
    with pytest.raises(KitError) as told:
        save_table(file, grams(file, 1, "12"))
    assert told.value.faults[0].code == "changed_elsewhere"
    assert b",12," in (folder / "stash.copy.csv").read_bytes()
    assert (path.read_bytes() if path.exists() else None) == there


def test_faults_elsewhere_do_not_stop_the_stash(folder):
    """A broken blanket.toml is said; yarns can be changed all the same."""
    (folder / "blanket.toml").write_text("name = ", encoding="utf-8")
    file = open_stash(folder)
    assert file.blanket is None
    assert file.sentences[0].startswith("blanket.toml: cannot be read as TOML")
    row = with_row(file.stash, {"name": "New", "colours": "white"})
    assert save_table(file, row).stash.yarns[-1].no == 46


@pytest.mark.parametrize(("made", "kind"), [(xlsx, ".xlsx"), (ods, ".ods")])
def test_a_workbook_is_never_written(tmp_path, made, kind):
    """Its first change makes a stash.csv; the workbook's bytes stay as they are."""
    book = tmp_path / f"stash{kind}"
    book.write_bytes(made({"Yarn": [["name", "colours", "grams"], ["A", "#fff", 5]]}))
    before = book.read_bytes()
    file = open_stash(tmp_path)
    assert file.sentences[-1] == (
        f"stash{kind} is a workbook: the first change is saved as stash.csv, which is "
        "read from then on; the workbook stays as it is."
    )
    file = save_table(file, grams(file, 0, "12"))
    assert (tmp_path / "stash.csv").read_text() == "name,colours,grams\nA,#fff,12\n"
    assert undone(file).stash.yarns[0].grams == 5
    assert open_stash(tmp_path).data == b"name,colours,grams\nA,#fff,5\n"
    assert book.read_bytes() == before
    (tmp_path / "blanket.toml").write_text('name = "A"')
    notes = open_blanket(tmp_path).stash.notes
    assert f"stash{kind} lies beside stash.csv and is not read." in notes


def test_a_workbook_under_a_wrong_name_is_kept(tmp_path):
    """One that is called stash.csv is set aside under its right ending, once."""
    book = xlsx({"Yarn": [["name", "colours", "grams"], ["A", "#fff", 5]]})
    (tmp_path / "stash.csv").write_bytes(book)
    (tmp_path / "stash.xlsx").write_bytes(b"another")
    file = open_stash(tmp_path)
    for text in ("12", "13"):
        file = save_table(file, grams(file, 0, text))
    assert (tmp_path / "stash-2.xlsx").read_bytes() == book
    assert (tmp_path / "stash.xlsx").read_bytes() == b"another"
    assert (tmp_path / "stash.csv").read_text() == "name,colours,grams\nA,#fff,13\n"
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {"stash.csv", "stash.csv.bak", "stash.xlsx", "stash-2.xlsx"}


def test_trouble_is_said_on_opening(file, folder, monkeypatch):
    """Where nothing can be saved, that is known before an hour of weighing."""
    monkeypatch.setattr("os.access", lambda *_: False)
    assert open_stash(folder).sentences == (
        "Changes cannot be saved as things are.",
        f"{folder / 'stash.csv'} cannot be saved: it or its folder is protected or in "
        "use. Close it in other programs, or use another folder.",
    )


def test_names_in_blanket_toml_are_guarded(folder):
    """A yarn that the choices name cannot be renamed under them."""
    toml = folder / "blanket.toml"
    text = toml.read_text("utf-8")
    named = '[colours]\naccents = [["Peat Basket", "Stove Door"]]'
    toml.write_text(text.replace("[colours]", named), encoding="utf-8")
    file = open_stash(folder)
    with pytest.raises(KitError, match='still speaks of "Peat Basket"'):
        save_table(file, with_cells(file.stash.table, 1, {"name": "Turf"}))

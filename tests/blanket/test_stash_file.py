"""A stash.csv that is worked on: only what was meant changes, never another's."""

import csv
import io
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.blanket.choices_toml import read_choices
from kit.blanket.folder import open_blanket
from kit.blanket.stash_csv import read_stash
from kit.blanket.stash_file import (
    cells_of,
    check_kept_names,
    file_bytes,
    label_cells,
    open_stash,
    reread,
    row_number,
    save_table,
    undone,
    with_cells,
    with_first_colour,
    with_row,
    without_row,
)
from kit.colour import read_mix
from kit.colour.mixes import hexes
from kit.errors import KitError
from kit.files.decoding import BOM
from tests.helpers.demos import own_demo
from tests.helpers.workbooks import ods, xlsx

PLAIN = (
    b"shelf,name,colours,grams,mine\ntop,Sage,#9caf88,50,=1+1\nlow,Rust,#8b3a1e,20,\n"
)


@pytest.fixture
def stash():
    return read_stash(PLAIN)


def plain_rows(data):
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def test_one_cell_changes_and_no_other(stash):
    """Columns that are not ours, their order and all other cells stay."""
    changed = reread(stash, with_cells(stash.table, 0, {"grams": "45 g"}))
    assert plain_rows(file_bytes(changed, PLAIN)) == [
        ["shelf", "name", "colours", "grams", "mine"],
        ["top", "Sage", "#9caf88", "45 g", "'=1+1"],  # as spreadsheets guard it
        ["low", "Rust", "#8b3a1e", "20", ""],
    ]
    assert changed.yarns[0].grams == 45


def test_a_column_that_is_missing_is_added_at_the_end(stash):
    """Blank cells add no column; a filled one does, blank for the other rows."""
    assert with_cells(stash.table, 0, {"lot": ""}).columns == stash.table.columns
    changed = reread(stash, with_cells(stash.table, 0, {"role": "leave out"}))
    assert changed.table.columns == (*stash.table.columns, "role")
    assert [yarn.role for yarn in changed.yarns] == ["leave out", "use"]


def test_a_fault_names_the_row_as_it_will_stand(stash):
    """The same sentence as for a file; the stash is not touched."""
    with pytest.raises(KitError) as told:
        reread(stash, with_cells(stash.table, 1, {"grams": "-5"}))
    assert str(told.value) == (
        'stash.csv, row 3 ("Rust"), grams: found -5, expected 0 or more. Leave the '
        "ball out of the file if it is used up."
    )
    assert told.value.faults[0].row == row_number(stash.table, 1)
    with pytest.raises(KitError, match="No family called"):
        reread(stash, with_cells(stash.table, 1, {"family": "bloos"}))


def test_rows_above_the_header_are_counted():
    """A title stays, and the row's number with it."""
    stash = read_stash(b"My stash,\nname,colours\nSage,#9caf88\n")
    with pytest.raises(KitError) as told:
        reread(stash, with_cells(stash.table, 0, {"colours": "#9caf8"}))
    assert told.value.faults[0].row == row_number(stash.table, 0) == 3


def test_a_new_row_gets_the_next_number_where_tags_are_numbered(stash):
    """Without a column of numbers none is added."""
    cells = {"name": "New", "colours": "#ffffff"}
    assert "no" not in with_row(stash, cells).columns
    numbered = read_stash(b"no,name,colours\n7,Sage,#9caf88\n,Rust,#8b3a1e\n")
    new = reread(numbered, with_row(numbered, cells))
    assert [yarn.no for yarn in new.yarns] == [7, 1, 8]


def test_tags_keep_their_numbers_when_a_row_goes(stash):
    """Numbers that followed from the order are written down first."""
    left = reread(stash, without_row(stash, 0))
    assert [(yarn.no, yarn.name) for yarn in left.yarns] == [(2, "Rust")]


def test_the_last_row_cannot_go():
    """A stash needs one yarn; what is wrong is said."""
    one = read_stash(b"name,colours\nSage,#9caf88\n")
    with pytest.raises(KitError, match="There are no rows under the header"):
        reread(one, without_row(one, 0))


def test_a_label_is_copied_without_colour_amount_and_lot():
    """Blank cells are not; of its lengths all are, so that they agree."""
    cells = {
        "name": "Sage", "colours": "#9caf88", "grams": "50", "lot": "7",
        "metres_per_100g": "400", "weight": "sock", "surface": "", "fibre": "wool",
        "care": "hand wash",
    }  # fmt: skip
    assert label_cells(cells) == {
        "metres_per_100g": "400", "yards_per_100g": "", "yards_per_oz": "",
        "weight": "sock", "fibre": "wool", "care": "hand wash",
    }  # fmt: skip
    assert label_cells({"weight": "DK"}) == {"weight": "DK"}


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("#c8cdd0", "#112233"),
        ("#c8cdd0 70%, #8fa3ad 30%", "#112233 70%, #8fa3ad 30%"),
        ("lab(81% -1 -3)", "#112233"),
        ("lab(81% -1 -3) 40 %, dusty rose", "#112233 40 %, dusty rose"),
        ("dusty rose 12,5%, sage 87,5%", "#112233 12,5%, sage 87,5%"),
        ("", "#112233"),
        ("#c8cdd", "#112233"),
    ],
)
def test_the_first_colour_changes_alone(before, after):
    """Its share and the other colours stay as typed."""
    assert with_first_colour(before, "#112233") == after


COLOURS = st.sampled_from(["#c8cdd0", "8fa3ad", "lab(81% -1 -3)", "dusty rose"])


@given(st.lists(COLOURS, min_size=1, max_size=4), st.booleans())
def test_a_picked_colour_is_read_back(colours, shared):
    """Whatever the cell was, its first colour is the picked one afterwards."""
    share = f" {100 / len(colours):.4f}%" if shared else ""
    text = ", ".join(f"{colour}{share}" for colour in colours)
    was, _ = read_mix(text)
    now, _ = read_mix(with_first_colour(text, "#112233"))
    assert hexes(now) == ("#112233", *hexes(was)[1:])
    assert now.shares == pytest.approx(was.shares)


@pytest.mark.parametrize("like", [PLAIN, BOM + PLAIN, PLAIN.replace(b"\n", b"\r\n")])
def test_mark_and_line_ends_stay_as_they_were(like):
    """What a spreadsheet needs to read the file again is kept."""
    stash = read_stash(like)
    data = file_bytes(stash, like)
    assert data.startswith(BOM) == like.startswith(BOM)
    assert data.count(b"\r\n") == like.count(b"\r\n")
    assert read_stash(data) == stash


def test_half_a_letter_is_refused_in_words(stash):
    """A lone surrogate cannot be saved."""
    table = with_cells(stash.table, 0, {"mine": "\ud83d"})
    bad = reread(stash, table)  # read as it would come back
    assert cells_of(bad.table, 0)["mine"] == "?"
    bad = type(bad)(bad.yarns, table, bad.assumed, bad.notes)
    with pytest.raises(KitError, match="half a letter"):
        file_bytes(bad, PLAIN)


def readable_stashes():
    """The odd stashes that the reader takes; those it refuses are never open here."""
    for path in sorted((Path(__file__).parents[1] / "gold" / "stashes").glob("*.csv")):
        with suppress(KitError):
            read_stash(path.read_bytes())
            yield path


@pytest.mark.parametrize("path", [*readable_stashes()], ids=lambda path: path.stem)
def test_whatever_can_be_read_can_be_changed(path):
    """From any encoding or separator: one cell changes, every other means the same."""
    data = path.read_bytes()
    stash = read_stash(data)
    at = len(stash.yarns) - 1
    table = with_cells(stash.table, at, {"lot": "changed here"})
    after = read_stash(file_bytes(reread(stash, table), data))
    assert after.yarns[:at] == stash.yarns[:at]
    was, now = cells_of(stash.table, at), cells_of(after.table, at)
    assert now["lot"] == "changed here"
    assert {c: now[c] for c in was if c not in ("lot", "colours")} == {
        c: was[c] for c in was if c not in ("lot", "colours")
    }
    assert after.yarns[at].mix == stash.yarns[at].mix


# --- names that blanket.toml holds on to ---


def test_a_name_the_choices_hold_cannot_be_lost(stash):
    """A rename that would break blanket.toml is refused, with the keys that name it."""
    choices = read_choices(
        'name = "A"\n[colours]\naccents = [["Sage", "Rust"]]\norder = ["Sage", "Rust"]'
    )
    after = reread(stash, with_cells(stash.table, 0, {"name": "Thyme"}))
    with pytest.raises(KitError) as told:
        check_kept_names(choices, stash, after)
    assert str(told.value) == (
        'blanket.toml still speaks of "Sage" (colours.accents, colours.order). Take it '
        "out there first, or leave its name as it is."
    )
    check_kept_names(choices, stash, stash)
    check_kept_names(read_choices('name = "A"'), stash, after)


def test_names_lost_before_are_no_reason(stash):
    """What blanket.toml had wrong already does not stop other changes."""
    choices = read_choices('name = "A"\n[colours]\naccents = [["Gone", "Rust"]]')
    after = reread(stash, with_cells(stash.table, 0, {"name": "Thyme"}))
    check_kept_names(choices, stash, after)


# --- saved, and put back --------------------------------------------------------------


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

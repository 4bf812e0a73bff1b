"""Separated text to records and back."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import Fault, words
from kit.files.csv_records import (
    guard,
    is_hint,
    record_text,
    records,
    separators,
    unguard,
)

CELL = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
OPEN = (
    "a quotation mark opens a cell here and does not close it properly. "
    'Close it or take it out; inside such a cell, type "" for one.'
)


def test_rows_are_counted_as_a_spreadsheet_does():
    """Every kind of line end ends a row; one inside a cell does not; blanks count."""
    text = 'a,b\r\nc,d\re,"f\r\ng"\n\nh,i'
    assert list(records(text, ",")) == [
        (1, ["a", "b"]),
        (2, ["c", "d"]),
        (3, ["e", "f\r\ng"]),
        (4, []),
        (5, ["h", "i"]),
    ]


def test_quotation_marks():
    """Marks after a blank open a cell; marks inside an open cell are text."""
    text = '"a ""b""", "c, d",6" square'
    assert list(records(text, ",")) == [(1, ['a "b"', "c, d", '6" square'])]


def test_broken_quotation_marks_name_their_row():
    """A mark that closes too early spoils its row alone."""
    (_, first), (_, second), (_, third) = records('a,b\n"c"d,e\nf,g', ",")
    assert (first, third) == (["a", "b"], ["f", "g"])
    assert words(second) == OPEN


def test_swallowed_rows_end_the_reading():
    """A mark that swallows the rows after it says that they were not read."""
    *_, (row, last) = records('a,b\n"c,d\ne,f\ng,h\n', ",")
    assert row == 2
    assert words(last) == f"{OPEN} The rows after it could not be read."


def test_endless_cell_is_a_fault():
    """A cell beyond what the csv module holds is said to be too long."""
    ((_, found),) = records("x" * 200_000, ",")
    assert words(found) == (
        "one of its cells is longer than 10000 characters. "
        "Shorten it, and see that every quotation mark before it is closed."
    )


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("sep=;\r\nname", ";"),
        ("SEP=\t\nname", "\t"),
        ('"sep=^"\nname', "^"),
        ("sep=|", "|"),
        ("sep=;;;;\nname", ";"),
        ("name;colours", ","),
        ("sep=a\nname", ","),
        ('sep="\nname', ","),
        ("sep=;name", ","),
    ],
)
def test_separators(text, first):
    """The separator of a sep= line is tried first, then the usual ones."""
    tried = separators(text)
    assert tried[0] == first
    assert set(tried) >= {",", ";", "\t", "|"}


def test_hint():
    """A sep= line is a hint in the first row only."""
    assert is_hint(1, ["Sep=", ""])
    assert not is_hint(2, ["sep="])
    assert not is_hint(1, [])


@pytest.mark.parametrize(
    "cell",
    ["=1+1", "+SUM(1,1)", "-1+2", "@A1", "\t=1", "\r=1", " =1", "＝1", "'=1", "- soft"],
)
def test_formulas_are_guarded(cell):
    """What a spreadsheet would run begins with ' in the file, and not when read."""
    assert guard(cell) == f"'{cell}"
    assert unguard(guard(cell)) == cell


@pytest.mark.parametrize(
    "cell", ["-5", "+5", "-5,5", "-", "", "'Sage'", "a=b", "#9caf88"]
)
def test_plain_cells_stay(cell):
    """Numbers, a dash and text are written as they are."""
    assert guard(cell) == cell
    assert unguard(cell) == cell


@given(CELL)
def test_guard_can_be_undone(cell):
    """Every cell comes back, and none starts as a formula in the file."""
    assert unguard(guard(cell)) == cell


@given(st.lists(CELL, min_size=2, max_size=5))
def test_written_records_are_read(cells):
    """One record in CSV is read as it was, by us and by the csv module."""
    text = record_text(cells)
    ((_, found),) = records(text, ",")
    assert [unguard(cell) for cell in found] == cells
    (theirs,) = csv.reader(io.StringIO(text, newline=""))
    assert theirs == found


@given(st.text(), st.sampled_from(",;\t|"))
def test_any_text_is_records(text, separator):
    """Text is rows of cells and faults, counted from 1."""
    found = list(records(text, separator))
    assert [row for row, _ in found] == list(range(1, len(found) + 1))
    assert all(isinstance(cells, list | Fault) for _, cells in found)

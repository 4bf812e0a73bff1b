"""Workbooks by their bytes; their sheets as tables."""

import datetime as dt
import io

import pytest

from kit.blanket.stash_csv import csv_of, read_stash
from kit.errors import KitError
from kit.files.workbook import ending, is_workbook, read_sheets
from tests.helpers.workbooks import Formula, ods, packed, xlsx, xlsx_parts

HEAD = ["name", "colours", "grams", "metres_per_100g", "my shelf"]
YARN = [HEAD, ["Sage", "#9CAF88", 50, 200, "B 2"], ["Crème", "#FFF4E0", 37.5, 210, 7]]
BOTH = pytest.mark.parametrize("made", [xlsx, ods])


def facts(stash):
    return [(y.name, y.grams, y.label.metres_per_100g) for y in stash.yarns]


def said(data):
    with pytest.raises(KitError) as caught:
        read_stash(data, file="stash.xlsx")
    return str(caught.value)


@BOTH
def test_a_workbook_is_read_like_its_csv(made):
    """Values, columns of the user's own, and what is written back as CSV."""
    stash = read_stash(made({"Yarn": YARN}), file="stash.xlsx")
    text = "name,colours,grams,metres_per_100g,my shelf\n"
    text += "Sage,#9CAF88,50,200,B 2\nCrème,#FFF4E0,37.5,210,7\n"
    assert csv_of(stash) == text
    assert read_stash(text.encode()).yarns == stash.yarns


@BOTH
def test_the_first_sheet_that_holds_the_header(made):
    """Other sheets may stand before it; one with the same header waits and is told."""
    sheets = {"Read me": [["My stash"], ["grams", "are weighed"]], "Yarn": YARN}
    stash = read_stash(made(sheets | {"Old": YARN}), file="stash.xlsx")
    assert facts(stash) == [("Sage", 50, 200), ("Crème", 37.5, 210)]
    assert stash.notes[0] == (
        'stash.xlsx, sheet "Yarn": sheets further on have such a header too and wait: '
        '"Old".'
    )


@BOTH
def test_a_hidden_sheet_is_not_read(made):
    """What nobody sees is not read; where it is all there is, that is said."""
    stash = read_stash(made({"Old": YARN[:2], "Yarn": YARN}, hidden=["Old"]))
    assert len(stash.yarns) == 2
    assert said(made({"Notes": [["x"]], "Yarn": YARN}, hidden=["Yarn"])) == (
        'stash.xlsx: The sheet "Yarn", which has the header, is hidden. '
        "Show it in the spreadsheet, save, and read it again."
    )


@BOTH
def test_faults_name_sheet_and_row(made):
    """Rows count as the spreadsheet shows them, a title and blank rows included."""
    rows = [["My stash"], [None], *YARN, [None], ["Moss", "#556b2f", -5, 200]]
    found = said(made({"Notes": [["x"]], "Yarn": rows}))
    assert found == (
        'stash.xlsx, sheet "Yarn", row 7 ("Moss"), grams: found -5, expected 0 or '
        "more. Leave the ball out of the file if it is used up."
    )


@BOTH
def test_formulas_in_a_workbook(made):
    """Worked-out ones are numbers; others are refused like those of a CSV."""
    rows = [HEAD, ["Sage", "#9CAF88", Formula("20+30", 50), 200]]
    assert facts(read_stash(made({"Yarn": rows}))) == [("Sage", 50, 200)]


def test_a_formula_without_a_value():
    """A script's formula that no spreadsheet has worked out is not a blank."""
    rows = [HEAD, ["Sage", "#9CAF88", Formula("20+30", 50), 200]]
    parts = xlsx_parts({"Yarn": rows})
    name = "xl/worksheets/sheet1.xml"
    parts[name] = parts[name].replace("</f><v>50</v>", "</f>")
    assert said(packed(parts)) == (
        'stash.xlsx, row 2 ("Sage"), grams: found =20+30, expected a number such as 50 '
        "or 50 g. Paste the value instead of the formula."
    )


@BOTH
def test_eaten_colours_are_not_guessed(made):
    """Colours that the spreadsheet made numbers of are refused, not read as others."""
    eaten = [80, 123, 12345, 100000, 1e300]
    found = said(made({"Yarn": [HEAD, *(["A", c, 5, 200, None] for c in eaten)]}))
    assert found.count("type the colour again with # in front") == len(eaten)


@BOTH
def test_three_digits_behind_the_point(made):
    """A workbook's number is certain where the same text in a CSV would not be."""
    rows = [HEAD, ["Sage", "#9CAF88", 127.535, 1.25, None]]
    stash = read_stash(made({"Yarn": rows}))
    assert facts(stash) == [("Sage", 127.535, 1.25)]
    assert read_stash(csv_of(stash).encode()).yarns == stash.yarns


@BOTH
def test_dates_are_told(made):
    """A name such as 2/3 that became a date is read as that date, and said so."""
    rows = [HEAD, [dt.date(2026, 3, 2), "#9CAF88", 5, 200, dt.date(2026, 1, 1)]]
    stash = read_stash(made({"Yarn": rows}), file="stash.ods")
    assert stash.yarns[0].name == "2026-03-02"
    assert stash.notes[0] == (
        "stash.ods: the spreadsheet has made dates of cells in rows 2. Where a name "
        "such as 2/3 was meant, type it again in a cell formatted as text."
    )


@BOTH
def test_numbers_for_names_and_truths(made):
    """Names that a spreadsheet takes for numbers or truths stay what it shows."""
    rows = [HEAD, [7, "#9CAF88", 5, 200, None], [True, "#fff", 5, 200, None]]
    found = read_stash(made({"Yarn": rows})).yarns
    assert [yarn.name for yarn in found] == ["7", "TRUE"]


@BOTH
def test_an_empty_workbook(made):
    """No cell is an empty file; cells without our header are no stash."""
    assert said(made({"Yarn": []})) == "stash.xlsx: The file is empty."
    assert "No header was found" in said(made({"Yarn": [["x", "y"]]}))
    assert "There are no rows under the header" in said(made({"Yarn": [HEAD]}))


def test_text_beyond_the_header_is_kept():
    """A remark in a column without a heading shifts nothing."""
    stash = read_stash(xlsx({"Yarn": [HEAD, [*YARN[1], None, "look"]]}))
    assert stash.table.columns == (*HEAD, "", "")
    assert stash.table.rows[0].cells[-1] == "look"


def test_lines_in_cells_are_no_rows():
    """What would be a stray quotation mark in a CSV is plain text in a workbook."""
    note = "a,b,c,d,e\nf,g,h,i,j"
    stash = read_stash(
        xlsx({"Yarn": [["name", "colours", "notes"], ["A", "red", note]]})
    )
    assert stash.table.rows[0].cells[2] == note


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"\xd0\xcf\x11\xe0" + b"\0" * 99, "This is a workbook of an older kind"),
        (packed({"word/document.xml": "<a/>"}), "not a spreadsheet that is known"),
        (
            packed({"mimetype": "application/x-text", "content.xml": "<a/>"}),
            "not a spreadsheet that is known",
        ),
        (b"PK\x03\x04 and no more", "This workbook is damaged"),
    ],
)
def test_other_packed_files(data, sentence):
    """Old, locked, broken and other packed files are called what they are."""
    assert sentence in said(data)


def test_endings():
    """The ending that belongs to the bytes, whatever the file is called."""
    assert ending(xlsx({"Yarn": YARN})) == ".xlsx"
    assert ending(ods({"Yarn": YARN})) == ".ods"
    assert ending(b"\xd0\xcf\x11\xe0") == ".xls"
    assert not is_workbook(b"name,colours\n")


def as_shown(value):
    """What python-calamine hands out, as this kit writes it."""
    if isinstance(value, bool):
        return str(value).upper()
    return f"{value:.15g}" if isinstance(value, float) else str(value)


@BOTH
def test_another_reader_agrees(made):
    """python-calamine, a reader of its own, finds the same in every cell."""
    calamine = pytest.importorskip("python_calamine")
    rows = [*YARN, ["Moss", "#556b2f", 0.1 + 0.2, 1 / 3, True], [None], [" é\n", 7]]
    rows += [[dt.date(2026, 3, 2), Formula("1+1", 2), 1e5, -0.5, Formula("x", "ab")]]
    data = made({"Yarn": rows})
    with calamine.load_workbook(io.BytesIO(data)) as book:
        theirs = book.get_sheet_by_index(0).to_python()
    (sheet,) = read_sheets(data)
    ours = dict(sheet.records())
    for number, cells in enumerate(theirs, 1):
        blank = [""] * len(cells)
        assert ours.get(number, blank) == [as_shown(cell) for cell in cells]

"""Bytes to a table, and the faults of its shape."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError
from kit.files.table import Row, Table, by_column, csv_text
from kit.files.table_reader import read_rows

KNOWN = ("name", "colours", "grams", "metres_per_100g", "notes")
REQUIRED = ("name", "colours")
DO = 'Close it or take it out; inside such a cell, type "" for one.'


def read_table(data, **kwargs):
    """The table alone, every fault of its shape in one KitError."""
    table, faults = read_rows(data, **kwargs)
    if faults:
        raise KitError(faults)
    return table


def read(text, **kwargs):
    data = text if isinstance(text, bytes) else text.encode()
    return read_table(data, known=KNOWN, required=REQUIRED, **kwargs)


def said(text):
    with pytest.raises(KitError) as caught:
        read(text, file="stash.csv")
    return str(caught.value).removeprefix("stash.csv, ").removeprefix("stash.csv: ")


def cells(table):
    return [row.cells for row in table.rows]


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_separators(separator, line_end):
    """The separator is the one under which our header is found."""
    rows = [["name", "colours", "notes"], ["Sage", "#9caf88", "soft"]]
    table = read(line_end.join(separator.join(row) for row in rows))
    assert table == Table(
        ("name", "colours", "notes"), (Row(("Sage", "#9caf88", "soft")),)
    )


def test_other_separators_in_cells_do_not_mislead():
    """A file with semicolons stays one where its cells are full of commas."""
    table = read("name;colours;notes\nSage;#9caf88,#fff;a, b, c, d, e\n")
    assert cells(table) == [("Sage", "#9caf88,#fff", "a, b, c, d, e")]


@pytest.mark.parametrize("mark", [";", "^", "\t", ":"])
def test_sep_line_is_honoured(mark):
    """The line that spreadsheets write for themselves is row 1, and is dropped."""
    table = read(f"sep={mark}\r\nname{mark}colours\r\nSage{mark}#9caf88\r\n")
    assert table == Table(("name", "colours"), (Row(("Sage", "#9caf88")),))
    assert table.rows[0].number == 3


def test_wrong_sep_line_does_not_mislead():
    """Where a sep= line no longer fits the file, the header decides."""
    assert cells(read("sep=;\nname,colours\nSage,#fff\n")) == [("Sage", "#fff")]


@pytest.mark.parametrize(
    "header",
    [
        "name,colours,metres_per_100g",
        "  NAME ,Colours,Metres per 100 g",
        "Name,COLORS,meters-per-100g",
        "\u200bname,co lours,metres\u00a0per\u00a0100g",
    ],
)
def test_header_case_and_spaces_do_not_matter(header):
    """Known columns have our names, however they are typed."""
    table = read(f"{header}\nSage,#fff,200\n")
    assert table.columns == ("name", "colours", "metres_per_100g")
    assert table.notes == ()


def test_title_above_the_header_is_kept():
    """Rows above the header stay where they are when the table is written."""
    text = '"My stash, autumn"\n\nname,colours\nSage,#fff\n'
    table = read(text)
    assert table.rows == (Row(("Sage", "#fff"), 4),)
    assert table.rows[0].number == 4
    assert csv_text(table) == text


def test_unknown_columns_are_kept():
    """Columns of the user's own stay, with their heading as typed."""
    text = "Shelf No.,name,colours,g left\nB 2,Sage,#fff,5\n"
    table = read(text)
    assert csv_text(table) == text
    assert table.notes == (
        'Row 1: kept but not used, as columns of your own: "Shelf No.", "g left".',
    )


def test_near_miss_of_a_column_is_told():
    """A heading that is nearly one of ours is not passed over in silence."""
    table = read("name,colours,gramms\nSage,#fff,5\n", file="stash.csv")
    assert table.notes == (
        'stash.csv, row 1: "gramms" is not a column that is used; its cells are kept. '
        'Did you mean "grams"?',
    )


def test_columns_without_name():
    """Empty columns at the right go; a filled one without a name is kept and told."""
    assert read("name,colours,,\nSage,#fff,,\n").columns == ("name", "colours")
    table = read("name,colours,,\nSage,#fff,x,\n")
    assert table.columns == ("name", "colours", "")
    assert table.notes == ("Row 1: column 3 has no name; its cells are kept.",)


def test_blank_rows_are_no_rows():
    """Rows of blanks, wherever they are, are left out and counted."""
    table = read("name,colours\n,\nSage,#fff\n \u00a0,\t\n\n\ufeff\nMoss,#000\n,,,,\n")
    assert [row.number for row in table.rows] == [3, 7]


def test_trailing_separators_are_harmless():
    """Blank cells beyond the header are dropped; the row keeps its place."""
    assert cells(read("name,colours\nSage,#fff,,\n")) == [("Sage", "#fff")]


def test_row_too_long_is_refused():
    """A row with one cell too many is never shifted."""
    assert said("name;colours;notes\nSage;#fff;soft; warm\nMoss;#fff;x\n") == (
        'row 2 ("Sage"): found 4 cells, expected 3 as in the header. '
        'Put quotation marks ("…") round a cell that holds a semicolon.'
    )


def test_short_row_is_left_short():
    """A row that stops early is for the reader of its columns to judge."""
    table = read("name,colours,notes\nSage,#fff\n")
    row = by_column(table.columns, table.rows[0].cells)
    assert row == {"name": "Sage", "colours": "#fff"}
    assert csv_text(table) == "name,colours,notes\nSage,#fff,\n"


@pytest.mark.parametrize("data", [b"", b"\xef\xbb\xbf\r\n", b" \n,,\n;;\n"])
def test_empty_file(data):
    """A file without a letter is empty."""
    assert said(data) == "The file is empty."


def test_lone_header():
    """A header alone is no stash."""
    assert said("name,colours\n,\n") == "There are no rows under the header."


def test_no_header():
    """A file whose columns have no names says which names there are."""
    assert said("Sage,#9caf88,50\nMoss,#556b2f,20\n") == (
        "row 1: No header was found in the first 10 rows. Type the names of the "
        "columns in row 1: name, colours, grams, metres_per_100g, notes."
    )


def test_header_beyond_row_10():
    """The header is looked for in the first ten rows, no further."""
    assert len(read("x\n" * 9 + "name,colours\nSage,#fff\n").above) == 9
    assert "No header was found" in said("x\n" * 10 + "name,colours\nSage,#fff\n")


def test_missing_and_double_columns():
    """Both are reported at the header's row, and all of them together."""
    assert said("Stash\nname,grams,Grams,notes,colour\nSage,5,5,,#fff\n") == (
        "row 2, grams: two columns have this name. Rename or delete one of them.\n"
        "stash.csv, row 2, colours: the header has no such column. "
        'If "colour" is meant, call it colours.'
    )
    assert said("grams,colours\n5,#fff\n") == (
        "row 1, name: the header has no such column. Add it and fill it in."
    )


@pytest.mark.parametrize(
    ("text", "row"),
    [
        ("name,colours,grams\nSage,#fff,5\nname,colours,grams\nMoss,#000,5\n", 3),
        ("name,colours\nname,colours,grams\nSage,#fff,5\n", 1),
        ("name,colours\ncolours,name\nSage,#fff\n", 2),
        ("name,colours\n" + "Sage,#fff\n" * 20 + "Name,Colours\n", 22),
    ],
)
def test_second_header(text, row):
    """Two headers in one file, such as two files joined, are not guessed at."""
    assert said(text) == (
        f"row {row}: this row is a second header. Keep one header and delete the other."
    )


def test_no_column_need_be_required():
    """A table without required columns has rows, and a second header is still one."""
    text = b"grams,notes\n5,x\ngrams,y\n"
    assert len(read_table(text, known=KNOWN, required=()).rows) == 2
    with pytest.raises(KitError, match=r"^row 3: this row is a second header"):
        read_table(b"grams,notes\n5,x\nnotes,grams\n", known=KNOWN, required=())


def test_a_yarn_may_have_a_column_for_a_name():
    """A row is no header because one of its cells says "name" or "notes"."""
    assert len(read("name,colours,notes\nName,#fff,notes\ngrams,#000,name\n").rows) == 2


def test_long_cell_is_a_fault():
    """10 000 characters are held, one more is a fault with its place."""
    assert read(f"name,colours,notes\nSage,#fff,{'x' * 10_000}\n")
    assert said(f"name,colours,shelf\nSage,#fff,{'x' * 10_001}\n") == (
        "row 2, shelf: the cell is longer than 10000 characters. Shorten it, and see "
        "that every quotation mark before it is closed."
    )


def test_open_quotation_mark():
    """A mark left open is found even where another one closes it rows later."""
    says = "a quotation mark opens a cell here and does not close it properly."
    head = "name,colours,grams,notes\n"
    assert says in said(head + 'Sage,#fff,5,"soft\nMoss,#000,5,x\n')
    closed = said(head + 'Sage,#fff,5,"soft\nMoss,#000,5,x\nNavy,#008,5,y"\n')
    assert closed.startswith(f'row 2 ("Sage"): {says}')
    assert said('"My" stash\n' + head + "Sage,#fff,5,x\n") == f"row 1: {says} {DO}"
    note = 'Sage,#fff,5,"soft, warm,\nand ""new"", 3 balls"\n'
    assert len(read(head + note).rows) == 1


def test_all_faults_of_shape_are_reported():
    """Faults do not hide one another, and good rows are still handed on."""
    text = 'name,colours,colours\na,b,c,d\n"e"f,g,h\ngood,#fff,\nname,colours,x\n'
    table, faults = read_rows(text.encode(), known=KNOWN, required=REQUIRED)
    assert [(fault.row, fault.code) for fault in faults] == [
        (1, "column_twice"),
        (2, "row_too_long"),
        (3, "quote"),
        (5, "two_headers"),
    ]
    assert [row.number for row in table.rows] == [4]


CELL = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
WORD = st.text("abcxyz äßÆ毛🧶'\",;|=-@+\t", min_size=1, max_size=8)


@given(st.lists(st.tuples(WORD, WORD, CELL), min_size=1, max_size=6), st.booleans())
def test_written_tables_are_read(rows, titled):
    """Any table comes back as it was written, unless the shape is doubtful."""
    above = (("My stash, autumn",),) if titled else ()
    rows = tuple(Row((f"{a}.", f"{b}.", c)) for a, b, c in rows)
    table = Table(("name", "colours", "notes"), rows, above)
    try:
        found = read(csv_text(table))
    except KitError as error:
        assert {fault.code for fault in error.faults} <= {"quote"}
        assert any(c.count(",") >= 3 for row in rows for c in row.cells)
    else:
        assert found == table


@given(st.binary(max_size=200), st.sampled_from([b"", b"name,colours\n", b"sep=;\n"]))
def test_any_bytes(data, head):
    """Any bytes are a table or a KitError with words."""
    try:
        table = read_table(head + data, known=KNOWN, required=REQUIRED)
    except KitError as error:
        assert str(error)
    else:
        assert table.rows

"""knitted.csv: read as spreadsheets leave it, every fault with its row and column."""

from datetime import date

import pytest

from kit.blanket.stash_csv import read_stash
from kit.errors import KitError
from kit.needles.log import (
    COLUMNS,
    EMPTY,
    Log,
    log_text,
    read_date,
    read_log,
    with_line,
    without_last,
)

STASH = b"name,colours,grams,no\nSage,#9caf88,50,3\nMoss,#606c38,40,8\n"
YARNS = read_stash(STASH).yarns
HEADER = ",".join(COLUMNS) + "\n"


def log_of(rows, header=HEADER):
    return read_log((header + rows).encode(), YARNS)


def faults_of(rows, header=HEADER):
    with pytest.raises(KitError) as error:
        log_of(rows, header)
    return str(error.value).splitlines()


def test_lines_are_taken_by_row_of_the_blanket():
    """Joins, weighings and rows, however they are mixed up in the file."""
    log = log_of(
        "2026-03-09,40,weighed,Sage,,22.5,\n2026-03-01,12,joined,Moss,Sage,,late\n"
        ",45,knitted,,,,\n"
    )
    assert [note.what for note in log.notes] == ["joined", "weighed", "knitted"]
    assert (log.row, log.sentences) == (45, ())
    assert log.notes[0].instead_of == "Sage"
    assert log.notes[1].grams == 22.5
    assert log.notes[1].date == date(2026, 3, 9)


def test_a_blank_what_is_told_by_its_cells():
    """Grams make it weighed, a yarn joined, neither knitted."""
    log = log_of(",10,,Sage,,20,\n,11,,Moss,,,\n,12,,,,,\n")
    assert [note.what for note in log.notes] == ["weighed", "joined", "knitted"]


@pytest.mark.parametrize("cell", ["Moss", "moss", "8", "#8", "8.0"])
def test_yarns_by_name_or_tag(cell):
    """As spelled, in any case, or by the number on the ball."""
    assert log_of(f",10,joined,{cell},,,\n").notes[0].yarn == "Moss"


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xef\xbb\xbf\r\n",
        HEADER.encode(),
        "row\n".encode("utf-16"),
    ],
)
def test_nothing_in_it_is_an_empty_log(data):
    """An empty file, one with a header alone."""
    log = read_log(data, YARNS)
    assert (log.notes, log.row) == ((), 0)


def test_what_spreadsheets_make_of_it():
    """Semicolons, decimal commas, days first, ounces, a heading in capitals."""
    text = "Date;ROW;What;Yarn;Grams\n31.3.2026;12;Weighed;sage;22,5\n"
    text += "2026/04/01;20;weighed;8;1 oz\n"
    log = read_log(text.encode("cp1252"), YARNS)
    assert log.notes[0].date == date(2026, 3, 31)
    assert log.notes[0].grams == 22.5
    # one ounce, exactly 28.349523125 g (1959)
    assert log.notes[1].grams == pytest.approx(28.349523125)


def test_faults_are_told_together():
    """Each with row and column, what was found and what was expected."""
    found = faults_of(
        "2/3/2026,12.5,joined,Sge,,,\n2026-02-30,-1,weighed,Sage,,,\n"
        ",12,knit,Sage,,,\n,13,lost,,,4,\n,14,weighed,Moss,Sage,3,\n,,joined,Moss,,,\n"
        ",15,ran out,,,,\n"
    )
    start = "knitted.csv, row"
    assert found == [
        f"{start} 2, date: found 2/3/2026, expected a day that can be read one way "
        "only, such as 2026-03-09.",
        f"{start} 2, row: found 12.5, expected a whole number.",
        f'{start} 2, yarn: No yarn called "Sge". Did you mean "Sage"? Known: Sage, '
        "Moss.",
        f"{start} 3, date: found 2026-02-30, expected a day such as 2026-03-09.",
        f"{start} 3, row: found -1, expected 0 or more. Count rows from the cast-on "
        "edge.",
        f'{start} 4, what: No event called "knit". Did you mean "knitted"? Known: '
        "joined, weighed, ran out, lost, skipped, knitted.",
        f"{start} 5, yarn: found nothing, expected the yarn that was lost.",
        f"{start} 5, grams: grams stand beside lost, which has none. Write a line of "
        "its own for the weighing.",
        f"{start} 6, instead_of: a yarn stands here beside weighed. It belongs to a "
        "join; leave it blank.",
        f"{start} 7, row: found nothing, expected the row it happened in.",
        f"{start} 8, yarn: found nothing, expected the yarn that ran out.",
    ]


def test_a_weighing_needs_grams():
    """And a join the name of what was joined, which is not itself."""
    assert faults_of(",4,weighed,Sage,,,\n") == [
        "knitted.csv, row 2, grams: found nothing, expected what is left, in grams or "
        "ounces."
    ]
    (told,) = faults_of(",4,joined,Sage,Sage,,\n")
    assert told.endswith("the yarn joined and the one it stands for are the same.")


def test_dates_out_of_order_are_told():
    """The blanket's rows decide; nothing is refused."""
    log = log_of("2026-03-09,10,knitted,,,,\n2026-03-01,20,knitted,,,,\n")
    assert log.sentences == (
        "knitted.csv, row 3, date: 2026-03-01 at row 20 of the blanket comes before "
        "2026-03-09 at row 10. The lines are taken in the order of the blanket's rows.",
    )


def test_a_line_more_and_a_line_less():
    """Written at the end, with columns of one's own kept; taken out again."""
    log = log_of("x,12,knitted,,,,\n", "mine,row,what,yarn,instead_of,grams,notes\n")
    longer = with_line(log, {"date": "2026-03-09", "row": "14", "what": "knitted"})
    text = log_text(Log((), longer))
    assert text.splitlines() == [
        "mine,row,what,yarn,instead_of,grams,notes,date",
        "x,12,knitted,,,,,",
        ",14,knitted,,,,,2026-03-09",
    ]
    again = read_log(text.encode(), YARNS)
    assert again.row == 14
    back = without_last(again)
    assert [row.cells[1] for row in back.rows] == ["12"]
    assert without_last(EMPTY).rows == ()


def test_a_name_that_would_run_is_harmless():
    """A yarn called like a formula is written with a mark and read back."""
    yarns = read_stash(b"name,colours\n'=1+1,#9caf88\n").yarns
    assert yarns[0].name == "=1+1"
    table = with_line(EMPTY, {"row": "3", "what": "joined", "yarn": "=1+1"})
    text = log_text(Log((), table))
    assert "'=1+1" in text
    assert read_log(text.encode(), yarns).notes[0].yarn == "=1+1"


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-3-9", date(2026, 3, 9)),
        ("2026-03-09 14:02", date(2026, 3, 9)),
        ("09.03.2026", date(2026, 3, 9)),
        ("3/31/2026", date(2026, 3, 31)),
        ("4/4/2026", date(2026, 4, 4)),
        ("", None),
    ],
)
def test_days(text, day):
    """Every way of writing a day that can be read one way only."""
    assert read_date(text) == day


OUNCES = "row,yarn,grams,ounces\n"


def test_ounces_are_read_as_grams_are():
    """A column of its own, or the unit in the cell; 28.349523125 g to the ounce."""
    log = log_of("40,Sage,,0.8\n41,Moss,0.8 oz,\n42,Moss,,20 g\n", OUNCES)
    ounce = 453.59237 / 16  # g, avoirdupois pound, exact by definition, 1959
    assert [n.grams for n in log.notes] == pytest.approx([0.8 * ounce, 0.8 * ounce, 20])
    assert [note.in_ounces for note in log.notes] == [True, False, True]
    assert {note.what for note in log.notes} == {"weighed"}
    assert log.sentences == ()


def test_grams_and_ounces_in_one_line_are_a_fault():
    """One or the other, also where they would agree."""
    assert faults_of("40,Sage,28.35,1\n", OUNCES) == [
        "knitted.csv, row 2, ounces: grams and ounces both stand in this line. Leave "
        "one of the two cells blank."
    ]


def test_ounces_beside_a_join_are_a_fault():
    """Named by their own column."""
    assert faults_of("40,joined,Sage,0.8\n", "row,what,yarn,ounces\n") == [
        "knitted.csv, row 2, ounces: ounces stand beside joined, which has none. Write "
        "a line of its own for the weighing."
    ]


def test_a_line_in_ounces_needs_no_column_of_grams():
    """An empty column grams becomes one of ounces; else one is added."""
    line = {"row": "40", "what": "weighed", "yarn": "Sage", "ounces": "0.8"}
    empty = with_line(log_of("12,joined,Moss,,\n", "row,what,yarn,grams,notes\n"), line)
    assert empty.columns == ("row", "what", "yarn", "ounces", "notes")
    begun = with_line(
        log_of("12,weighed,Moss,20,\n", "row,what,yarn,grams,notes\n"), line
    )
    assert begun.columns == ("row", "what", "yarn", "grams", "notes", "ounces")
    assert begun.rows[-1].cells == ("40", "weighed", "Sage", "", "", "0.8")

"""knitted.csv: what was joined, weighed or lost on the way, text <-> values.

    date,row,what,yarn,instead_of,grams,ounces,notes

One line is one thing that happened. `row` counts from the cast-on edge: a join is in
that row, everything else after it. `what` is joined, weighed, ran out, lost, skipped
or knitted (so many rows are done); left blank, grams make it weighed, a yarn joined,
neither knitted. `yarn` and `instead_of` are names of stash.csv or numbers of tags.
`grams` or `ounces` is all that is left of the yarn, also of parts wound off for later.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import Any

from kit.blanket import Yarn
from kit.errors import Fault, KitError, unknown
from kit.files import Table, read_quantity, read_rows
from kit.files.cells import clean_text, read_choice
from kit.files.quantities import GRAMS, OUNCES, Quantity
from kit.files.table import Row, by_column, csv_text

LOG = "knitted.csv"
WHATS = ("joined", "weighed", "ran out", "lost", "skipped", "knitted")
COLUMNS = ("date", "row", "what", "yarn", "instead_of", "grams", "notes")
KNOWN = (*COLUMNS[:-1], "ounces", "notes")  # ounces is read too, and added on demand
MOST_ROWS = 100_000  # ours: beyond any blanket, so a slip
ROWS = Quantity({"": 1.0}, "120", 0, MOST_ROWS, "", "Count rows from the cast-on edge.")

_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[ t].*)?")
_DAY_FIRST = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})")


@dataclass(frozen=True, slots=True)
class Note:
    """One line of the log; `number` is its row in the spreadsheet. `grams`, whatever
    they were typed in; `in_ounces` where that was the column ounces."""

    number: int
    date: date | None
    row: int
    what: str
    yarn: str = ""
    instead_of: str = ""
    grams: float | None = None
    in_ounces: bool = False


@dataclass(frozen=True, slots=True)
class Log:
    """The lines by row of the blanket, and the file's text for writing back.

    `said`: what the user should be told although the file is used, and what was done.
    """

    notes: tuple[Note, ...]
    table: Table
    sentences: tuple[str, ...] = ()

    def __repr__(self) -> str:
        return f"Log({len(self.notes)} lines, row {self.row})"

    @property
    def row(self) -> int:
        """Rows that are knitted at least; the row of a join counts as knitted."""
        return max((note.row for note in self.notes), default=0)


EMPTY = Log((), Table(COLUMNS, ()))


def read_log(data: bytes, yarns: Sequence[Yarn]) -> Log:
    """The bytes of a knitted.csv; `yarns` are those it may name.

    An empty file is an empty log. Raises one KitError that holds every fault.
    """
    if not data.strip(b"\xef\xbb\xbf \t\r\n"):
        return EMPTY
    table, faults = read_rows(data, known=KNOWN, required=("row",), file=LOG)
    found = [fault for fault in faults if fault.code != "no_rows"]
    named = _named(yarns)
    notes: list[Note] = []
    for row in table.rows:
        note, wrong = _read_row(row, table.columns, named)
        found += (fault.at(file=LOG, row=row.number) for fault in wrong)
        notes += [note] if note else []
    if found:
        raise KitError(sorted(found, key=lambda fault: fault.row or 0))
    said = (*table.notes, *_dates_out_of_order(notes))
    return Log(tuple(sorted(notes, key=lambda n: (n.row, n.number))), table, said)


def log_text(log: Log) -> str:
    """The log as the text of a knitted.csv."""
    return csv_text(log.table)


def with_line(log: Log, cells: Mapping[str, str]) -> Table:
    """The log's table with one line more at its end."""
    table = log.table
    if cells.get("ounces"):
        table = _in_ounces(table)
    new = [column for column, cell in cells.items() if cell]
    columns = (*table.columns, *(c for c in new if c not in table.columns))
    row = Row(tuple(cells.get(column, "") for column in columns))
    return replace(table, columns=columns, rows=(*table.rows, row))


def _in_ounces(table: Table) -> Table:
    """The table with its column grams called ounces, where no line has any grams."""
    columns = table.columns
    if "ounces" in columns or "grams" not in columns:
        return table
    if any(
        by_column(columns, row.cells).get("grams", "").strip() for row in table.rows
    ):
        return table
    named = tuple("ounces" if column == "grams" else column for column in columns)
    return replace(table, columns=named)


def without_last(log: Log) -> Table:
    """The log's table without its last line."""
    return replace(log.table, rows=log.table.rows[:-1])


# --- cells ----------------------------------------------------------------------------


def _named(yarns: Sequence[Yarn]) -> dict[str, str]:
    """Names by what a cell may hold: the name in any case, else the tag's number."""
    by_tag = {str(yarn.no): yarn.name for yarn in yarns}
    tagged = {f"#{no}": name for no, name in by_tag.items()}
    folded = {yarn.name.casefold(): yarn.name for yarn in reversed(yarns)}
    return by_tag | tagged | folded | {yarn.name: yarn.name for yarn in yarns}


def _yarn(text: str, named: Mapping[str, str]) -> str:
    if not text:
        return ""
    plain = text.removesuffix(".0")  # as spreadsheets write a number
    for key in (text, text.casefold(), plain):
        if key in named:
            return named[key]
    raise KitError(unknown("yarn", text, list(dict.fromkeys(named.values()))))


def read_date(text: str) -> date | None:
    """A day; None for a blank cell. What could be two days is refused (KitError).

    >>> read_date("2026-03-09"), read_date("31/3/2026")
    (datetime.date(2026, 3, 9), datetime.date(2026, 3, 31))
    """
    if not text:
        return None
    expected = "a day such as 2026-03-09"
    if match := _ISO.fullmatch(text.casefold()):
        year, month, day = map(int, match.groups())
    elif match := _DAY_FIRST.fullmatch(text):
        day, month, year = map(int, match.groups())
    elif match := _SLASHED.fullmatch(text):
        one, two, year = map(int, match.groups())
        if one <= 12 and two <= 12 and one != two:
            expected = "a day that can be read one way only, such as 2026-03-09"
            raise KitError(Fault("ambiguous_date", text, expected))
        day, month = (two, one) if two > 12 else (one, two)
    else:
        raise KitError(Fault("not_a_date", text, expected))
    try:
        return date(year, month, day)
    except ValueError:
        raise KitError(Fault("not_a_date", text, expected)) from None


def _row_number(text: str) -> int:
    number = read_quantity(text, ROWS)
    if number is None:
        raise KitError(Fault("missing", "nothing", "the row it happened in"))
    if number != int(number):
        raise KitError(Fault("not_a_number", text, "a whole number"))
    return int(number)


def _read_row(
    row: Row, columns: Sequence[str], named: Mapping[str, str]
) -> tuple[Note | None, list[Fault]]:
    cells = {
        column: clean_text(cell)[0]
        for column, cell in by_column(columns, row.cells).items()
    }
    readers: dict[str, Callable[[str], Any]] = {
        "date": read_date,
        "row": _row_number,
        "what": partial(read_choice, kind="event", known=WHATS),
        "yarn": partial(_yarn, named=named),
        "instead_of": partial(_yarn, named=named),
        "grams": partial(read_quantity, quantity=GRAMS),
        "ounces": partial(read_quantity, quantity=OUNCES),
    }
    values: dict[str, Any] = {}
    faults: list[Fault] = []
    for column, read in readers.items():
        try:
            values[column] = read(cells.get(column, ""))
        except KitError as error:
            faults += (fault.at(column=column) for fault in error.faults)
    return (None, faults) if faults else _note(row.number, values)


def _note(number: int, values: dict[str, Any]) -> tuple[Note | None, list[Fault]]:
    """A line's cells, each read, as a note, or why they do not go together."""
    grams, ounces = values["grams"], values["ounces"]
    if grams is not None and ounces is not None:
        says = "grams and ounces both stand in this line"
        advice = "Leave one of the two cells blank."
        return None, [Fault("two_masses", says=says, advice=advice, column="ounces")]
    in_ounces = ounces is not None
    grams = ounces if in_ounces else grams
    what = values["what"] or _what(values["yarn"], grams)
    column = "ounces" if in_ounces else "grams"
    faults = [
        *_disagreements(what, values["yarn"], grams, values["instead_of"], column)
    ]
    note = Note(
        number, values["date"], values["row"], what, values["yarn"],
        values["instead_of"], grams, in_ounces,
    )  # fmt: skip
    return (None, faults) if faults else (note, [])


def _what(yarn: str, grams: float | None) -> str:
    if grams is not None:
        return "weighed"
    return "joined" if yarn else "knitted"


def _disagreements(
    what: str, yarn: str, grams: float | None, instead_of: str, column: str = "grams"
) -> Iterator[Fault]:
    if what != "knitted" and not yarn:
        was = "" if what == "ran out" else "was "
        yield Fault("missing", "nothing", f"the yarn that {was}{what}", column="yarn")
    if what == "weighed" and grams is None:
        yield Fault(
            "missing", "nothing", "what is left, in grams or ounces", column="grams"
        )
    if grams is not None and what != "weighed":
        says = f"{column} stand beside {what}, which has none"
        advice = "Write a line of its own for the weighing."
        yield Fault("not_weighed", says=says, advice=advice, column=column)
    if instead_of and what != "joined":
        says = f"a yarn stands here beside {what}"
        advice = "It belongs to a join; leave it blank."
        yield Fault("not_joined", says=says, advice=advice, column="instead_of")
    if instead_of and instead_of == yarn:
        says = "the yarn joined and the one it stands for are the same"
        yield Fault("same_yarn", says=says, column="instead_of")


def _dates_out_of_order(notes: Sequence[Note]) -> Iterator[str]:
    dated = sorted((n for n in notes if n.date), key=lambda n: (n.row, n.number))
    for one, two in zip(dated, dated[1:], strict=False):
        assert one.date and two.date
        if two.date < one.date:
            yield (
                f"{LOG}, row {two.number}, date: {two.date} at row {two.row} of the "
                f"blanket comes before {one.date} at row {one.row}. The lines are "
                "taken in the order of the blanket's rows."
            )

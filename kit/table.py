"""Text as a table: header found by our own column names, rows as text, and back to CSV.

Every cell stays text here; what a cell means is for the reader of its column.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import lru_cache

from kit.decoding import decode
from kit.errors import Fault, KitError, shorten
from kit.records import (
    MOST_CELL_CHARACTERS,
    SEPARATORS,
    cell_too_long,
    is_hint,
    open_quote,
    record_text,
    records,
    separators,
    unguard,
)

N_HEADER_ROWS = 10


@dataclass(frozen=True, slots=True)
class Row:
    """One row as text. `number` is its row in the spreadsheet; 0 for a new one.

    A row that stops early has fewer cells than the table has columns.
    """

    cells: tuple[str, ...]
    number: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text under columns: known ones by our name, others as they were typed.

    above   the rows above the header, such as a title
    notes   what the user should be told although the table is used
    """

    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    above: tuple[tuple[str, ...], ...] = ()
    notes: tuple[str, ...] = field(default=(), compare=False)

    def __repr__(self) -> str:
        return f"Table({len(self.rows)} rows of {', '.join(self.columns)})"


def by_column(columns: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    """The cells of a row by column; columns that the row does not reach are absent.

    >>> by_column(("name", "colours", "grams"), ("Sage", "#9caf88"))
    {'name': 'Sage', 'colours': '#9caf88'}
    """
    return dict(zip(columns, cells, strict=False))


def csv_text(table: Table) -> str:
    """The table as CSV: commas, a row a line, nothing that a spreadsheet would run."""
    width = len(table.columns)
    rows = (row.cells + ("",) * (width - len(row.cells)) for row in table.rows)
    return "".join(map(record_text, (*table.above, table.columns, *rows)))


def read_rows(
    data: bytes, *, known: Sequence[str], required: Sequence[str], file: str = ""
) -> tuple[Table, tuple[Fault, ...]]:
    """A table and the faults of its shape, for a reader that adds those of its cells.

    Rows with a fault of shape are left out of the table. Raises KitError where there
    is no table to speak of: another kind of file, an empty one, no header.
    """
    text, notes = decode(data, file=file)
    if not text.strip(' \t\r\n,;|"'):
        raise KitError(Fault("empty_file", says="The file is empty", file=file))
    spelled = {_squash(name): name for name in known}
    header = _find_header(text, spelled, frozenset(required), file)
    faults = _header_faults(header, known, required)
    above, rows = [], []
    for number, cells in records(text, header.separator):
        if isinstance(cells, Fault):
            faults.append(cells.at(row=number))
        elif number == header.row or is_hint(number, cells):
            continue
        elif fault := _shape_fault(number, cells, header):
            faults.append(fault)
        elif number < header.row:
            above.append(tuple(map(unguard, cells)))
        elif not _is_blank(cells):
            row = Row(tuple(map(unguard, cells[: len(header.columns)])), number)
            rows.append(row)
            faults += _too_long(row, header.columns)
    if not rows and not faults:
        faults.append(Fault("no_rows", says="There are no rows under the header"))
    table = _trimmed(Table(header.columns, tuple(rows), tuple(above)))
    notes += tuple(_column_notes(table.columns, known, header.row, file))
    return replace(table, notes=notes), tuple(f.at(file=file) for f in faults)


# --- header ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Header:
    separator: str
    row: int
    columns: tuple[str, ...]
    spelled: dict[str, str]  # squashed -> our name
    required: frozenset[str]


def _find_header(
    text: str, spelled: dict[str, str], required: frozenset[str], file: str
) -> _Header:
    """The separator and the row under which most of our column names are found."""
    best, most = None, 0
    broken: list[Fault] = []
    for separator in separators(text):
        for row, cells in records(text, separator):
            if row > N_HEADER_ROWS:
                break
            if isinstance(cells, Fault):
                broken = broken or [cells.at(file=file, row=row)]
                continue
            found = _known(cells, spelled)
            if len(found) > most and (len(found) > 1 or found & required):
                columns = tuple(_column(cell, spelled) for cell in cells)
                best = _Header(separator, row, columns, spelled, required)
                most = len(found)
    if best:
        return best
    says = f"No header was found in the first {N_HEADER_ROWS} rows"
    advice = f"Type the names of the columns in row 1: {', '.join(spelled.values())}."
    none = Fault("no_header", says=says, advice=advice, file=file, row=1)
    raise KitError(broken or none)


@lru_cache(maxsize=10_000)
def _squash(head: str) -> str:
    """A heading without case and blanks, in our spelling: `COLOR s` -> `colours`."""
    squashed = re.sub(r"[\s_\-\u200b\ufeff]+", "", head).casefold()
    squashed = squashed.replace("color", "colour").replace("meter", "metre")
    return squashed.replace("fiber", "fibre")


def _column(head: str, spelled: dict[str, str]) -> str:
    return spelled.get(_squash(head), unguard(head.strip("\u200b\ufeff").strip()))


def _known(cells: Sequence[str], spelled: dict[str, str]) -> set[str]:
    return {spelled[_squash(cell)] for cell in cells if _squash(cell) in spelled}


def _header_faults(
    header: _Header, known: Sequence[str], required: Sequence[str]
) -> list[Fault]:
    columns = header.columns
    says, advice = "two columns have this name", "Rename or delete one of them."
    twice = Fault("column_twice", says=says, advice=advice, row=header.row)
    faults = [twice.at(column=name) for name in known if columns.count(name) > 1]
    says, advice = "the header has no such column", "Add it and fill it in."
    missing = Fault("column_missing", says=says, advice=advice, row=header.row)
    for name in required:
        if name not in columns:
            near = get_close_matches(name, columns, n=1)
            hint = {"advice": f'Did you mean "{near[0]}" as its name?'} if near else {}
            faults.append(missing.at(column=name, **hint))
    return faults


def _column_notes(
    columns: Sequence[str], known: Sequence[str], row: int, file: str
) -> Iterator[str]:
    place = f"{file}, row {row}" if file else f"Row {row}"
    absent = [column for column in known if column not in columns]
    others = []
    for at, column in enumerate(columns, 1):
        near = get_close_matches(_squash(column), absent, n=1, cutoff=0.75)
        if not column:
            yield f"{place}: column {at} has no name; its cells are kept."
        elif near and column not in known:
            yield (
                f'{place}: "{column}" is not a column that is used; its cells are '
                f'kept. Did you mean "{near[0]}"?'
            )
        elif column not in known:
            others.append(f'"{shorten(column)}"')
    if others:
        listed = ", ".join(others[:12]) + (", …" if len(others) > 12 else "")
        yield f"{place}: kept but not used, as columns of your own: {listed}."


def _trimmed(table: Table) -> Table:
    """Without the empty columns that a formatted area leaves at the right."""
    named = max(at for at, column in enumerate(table.columns, 1) if column)
    ends = (
        at
        for row in table.rows
        for at, cell in enumerate(row.cells[named:], named + 1)
        if cell.strip()
    )
    width = max(ends, default=named)
    rows = tuple(Row(row.cells[:width], row.number) for row in table.rows)
    return Table(table.columns[:width], rows, table.above)


# --- rows -----------------------------------------------------------------------------


def _is_blank(cells: Sequence[str]) -> bool:
    return not any(cell.strip("\u200b\ufeff \t\xa0\r\n") for cell in cells)


def _shape_fault(row: int, cells: list[str], header: _Header) -> Fault | None:
    name = by_column(header.columns, cells).get("name", "")
    if _is_second_header(row, cells, name, header):
        says = "this row is a second header"
        advice = "Keep one header and delete the other."
        return Fault("two_headers", says=says, advice=advice, row=row)
    n_columns = len(header.columns)
    if row > header.row and not _is_blank(cells[n_columns:]):
        kind = SEPARATORS.get(header.separator, header.separator)
        found, expected = f"{len(cells)} cells", f"{n_columns} as in the header"
        advice = f'Put quotation marks ("…") round a cell that holds a {kind}.'
        fault = Fault("row_too_long", found, expected, advice=advice)
        return fault.at(row=row, name=name)
    if any(_swallows(cell, header) for cell in cells):
        return open_quote().at(row=row, name=name)
    return None


def _is_second_header(
    row: int, cells: Sequence[str], name: str, header: _Header
) -> bool:
    suspect = row <= N_HEADER_ROWS or header.spelled.get(_squash(name)) == "name"
    needed = header.required or _known(header.columns, header.spelled)
    return suspect and _known(cells, header.spelled) >= needed


def _swallows(cell: str, header: _Header) -> bool:
    """Whether a stray quotation mark has taken whole rows into this cell."""
    if "\n" not in cell and "\r" not in cell:
        return False
    n_separators = max(len(header.columns) - 1, 3)
    lines = re.split(r"[\r\n]+", cell)
    return any(line.count(header.separator) >= n_separators for line in lines)


def _too_long(row: Row, columns: Sequence[str]) -> Iterator[Fault]:
    for column, cell in by_column(columns, row.cells).items():
        if len(cell) > MOST_CELL_CHARACTERS:
            yield cell_too_long("the cell").at(row=row.number, column=column)

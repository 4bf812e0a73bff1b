"""Bytes to a table: its header found by our own column names, its rows as text.

Every cell stays text here; what a cell means is for the reader of its column.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING

from kit.errors import Fault, KitError, shorten
from kit.files.csv_records import (
    MOST_CELL_CHARACTERS,
    SEPARATORS,
    cell_too_long,
    is_hint,
    open_quote,
    records,
    separators,
    unguard,
)
from kit.files.decoding import decode
from kit.files.header import (
    N_HEADER_ROWS,
    Header,
    Source,
    column_notes,
    find_header,
    header_faults,
    known_in,
    no_header,
    other_words,
    squash,
)
from kit.files.table import Row, Table, by_column
from kit.files.workbook import is_workbook, read_sheets

if TYPE_CHECKING:
    from kit.files.sheet_rows import Grid


def read_rows(
    data: bytes,
    *,
    known: Sequence[str],
    required: Sequence[str],
    file: str = "",
    also: Mapping[str, str] = MappingProxyType({}),
) -> tuple[Table, tuple[Fault, ...]]:
    """A table and the faults of its shape, for a reader that adds those of its cells.

    `also`: other words, as `header.squash` leaves them, for columns of ours.
    A text, or the first sheet of a workbook that holds our header. Rows with a fault of
    shape are left out of the table. Raises KitError where there is no table to speak
    of: another kind of file, an empty one, no header.
    """
    if is_workbook(data):
        header, notes, place = _sheet_header(data, known, required, file, also)
    else:
        header, notes = _text_header(data, known, required, file, also)
        place = file
    above, rows, odd = _split(header)
    faults = header_faults(header, known, required) + odd
    if not rows and not faults:
        faults.append(Fault("no_rows", says="There are no rows under the header"))
    # One that begins with a sign would be made harmless, and then not be known again.
    heads = tuple(
        (column, head)
        for column, head in zip(header.columns, header.heads, strict=True)
        if column in header.names and head != column and head[:1].isalnum()
    )
    table = _trimmed(Table(header.columns, rows, above, heads))
    notes += tuple(other_words(header, place))
    notes += tuple(column_notes(table.columns, known, header.row, place))
    table = replace(table, notes=notes, place=place)
    return table, tuple(f.at(file=place) for f in faults)


# --- where the header is --------------------------------------------------------------


def _text_header(
    data: bytes,
    known: Sequence[str],
    required: Sequence[str],
    file: str,
    also: Mapping[str, str],
) -> tuple[Header, tuple[str, ...]]:
    """The header of a text, and what is to be told of the text's decoding."""
    text, notes = decode(data, file=file)
    if not text.strip(' \t\r\n,;|"'):
        raise KitError(_empty().at(file=file))
    sources = [Source(mark, partial(records, text, mark)) for mark in separators(text)]
    header, broken = find_header(sources, known, required, also)
    if header is None:
        raise KitError(fault.at(file=file) for fault in broken or [no_header(known)])
    return header, notes


def _sheet_header(
    data: bytes,
    known: Sequence[str],
    required: Sequence[str],
    file: str,
    also: Mapping[str, str],
) -> tuple[Header, tuple[str, ...], str]:
    """The first sheet's header that is whole, else the first at all; notes; place.

    Sheets that are hidden are not read: nobody sees what is in them.
    """
    sheets = read_sheets(data, file=file)
    shown = [sheet for sheet in sheets if not sheet.hidden]
    if not any(sheet.width for sheet in sheets):
        raise KitError(_empty().at(file=file))
    found = _with_header(shown, known, required, also)
    if not found:
        away = _with_header([s for s in sheets if s.hidden], known, required, also)
        fault = _in_hidden(away[0][0]) if away else no_header(known)
        raise KitError(fault.at(file=file))
    sheet, header = next((f for f in found if f[1].is_whole), found[0])
    place = f'{file}, sheet "{shorten(sheet.name)}"' if len(shown) > 1 else file
    others = [s.name for s, h in found if s is not sheet and h.is_whole]
    return header, tuple(_sheet_notes(sheet, header, others, place)), place


def _with_header(
    sheets: Sequence[Grid],
    known: Sequence[str],
    required: Sequence[str],
    also: Mapping[str, str],
) -> list[tuple[Grid, Header]]:
    found = []
    for sheet in sheets:
        header, _ = find_header([Source("", sheet.records)], known, required, also)
        if header:
            found.append((sheet, header))
    return found


def _sheet_notes(
    sheet: Grid, header: Header, others: Sequence[str], place: str
) -> Iterator[str]:
    if others:
        listed = ", ".join(f'"{shorten(name)}"' for name in others)
        yield f"{place}: sheets further on have such a header too and wait: {listed}."
    ours = {at for at, name in enumerate(header.columns, 1) if name in header.names}
    rows = [row for row, at in sorted(sheet.dates) if row > header.row and at in ours]
    if rows:
        listed = ", ".join(map(str, dict.fromkeys(rows[:12])))
        yield (
            f"{place}: the spreadsheet has made dates of cells in rows {listed}"
            f"{', …' if len(rows) > 12 else ''}. Where a name such as 2/3 was meant, "
            "type it again in a cell formatted as text."
        )


def _empty() -> Fault:
    return Fault("empty_file", says="The file is empty")


def _in_hidden(sheet: Grid) -> Fault:
    says = f'The sheet "{shorten(sheet.name)}", which has the header, is hidden'
    advice = "Show it in the spreadsheet, save, and read it again."
    return Fault("hidden_sheet", says=says, advice=advice)


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
    return Table(table.columns[:width], rows, table.above, table.heads)


# --- rows -----------------------------------------------------------------------------


def _split(
    header: Header,
) -> tuple[tuple[tuple[str, ...], ...], tuple[Row, ...], list[Fault]]:
    """What stands above the header, the rows under it, the faults of their shape."""
    above, rows = [], []
    faults: list[Fault] = []
    for number, cells in header.source.records():
        if isinstance(cells, Fault):
            faults.append(cells.at(row=number))
        elif number == header.row or is_hint(number, cells):
            continue
        elif fault := _shape_fault(number, cells, header):
            faults.append(fault)
        elif number < header.row:
            is_text = header.source.separator
            kept = cells if is_text else _without_end(cells)
            above.append(tuple(map(unguard, kept)))
        elif not _is_blank(cells):
            row = Row(tuple(map(unguard, cells[: len(header.columns)])), number)
            rows.append(row)
            faults += _too_long(row, header.columns)
    return tuple(above), tuple(rows), faults


def _without_end(cells: list[str]) -> list[str]:
    """Without the blanks at the end, which every row of a sheet may have."""
    while cells and not cells[-1]:
        cells = cells[:-1]
    return cells


def _is_blank(cells: Sequence[str]) -> bool:
    return not any(cell.strip("\u200b\ufeff \t\xa0\r\n") for cell in cells)


def _shape_fault(row: int, cells: list[str], header: Header) -> Fault | None:
    name = by_column(header.columns, cells).get("name", "")
    if _is_second_header(row, cells, name, header):
        says = "this row is a second header"
        advice = "Keep one header and delete the other."
        return Fault("two_headers", says=says, advice=advice, row=row)
    n_columns = len(header.columns)
    if row > header.row and not _is_blank(cells[n_columns:]):
        kind = SEPARATORS.get(header.source.separator, header.source.separator)
        found, expected = f"{len(cells)} cells", f"{n_columns} as in the header"
        advice = f'Put quotation marks ("…") round a cell that holds a {kind}.'
        fault = Fault("row_too_long", found, expected, advice=advice)
        return fault.at(row=row, name=name)
    if any(_swallows(cell, header) for cell in cells):
        return open_quote().at(row=row, name=name)
    return None


def _is_second_header(
    row: int, cells: Sequence[str], name: str, header: Header
) -> bool:
    suspect = row <= N_HEADER_ROWS or header.spelled.get(squash(name)) == "name"
    needed = header.required or known_in(header.columns, header.spelled)
    return suspect and known_in(cells, header.spelled) >= needed


def _swallows(cell: str, header: Header) -> bool:
    """Whether a stray quotation mark has taken whole rows into this cell."""
    of_a_sheet = not header.source.separator
    if of_a_sheet or ("\n" not in cell and "\r" not in cell):
        return False
    n_separators = max(len(header.columns) - 1, 3)
    lines = re.split(r"[\r\n]+", cell)
    return any(line.count(header.source.separator) >= n_separators for line in lines)


def _too_long(row: Row, columns: Sequence[str]) -> Iterator[Fault]:
    for column, cell in by_column(columns, row.cells).items():
        if len(cell) > MOST_CELL_CHARACTERS:
            yield cell_too_long("the cell").at(row=row.number, column=column)

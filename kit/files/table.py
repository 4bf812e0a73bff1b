"""A table of text: rows under columns, and back to CSV."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from kit.files.csv_records import record_text


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
    heads   known columns that were typed otherwise: (our name, as it was typed)
    notes   what the user should be told although the table is used
    place   the file, with the sheet where a workbook has several
    """

    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    above: tuple[tuple[str, ...], ...] = ()
    heads: tuple[tuple[str, str], ...] = field(default=(), compare=False)
    notes: tuple[str, ...] = field(default=(), compare=False)
    place: str = field(default="", compare=False)

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
    width, typed = len(table.columns), dict(table.heads)
    heads = [typed.get(column, column) for column in table.columns]
    rows = (row.cells + ("",) * (width - len(row.cells)) for row in table.rows)
    return "".join(map(record_text, (*table.above, heads, *rows)))

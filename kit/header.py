"""Where a table's header is: the row, and the way to split it, that name columns."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache

from kit.errors import Fault, shorten
from kit.records import unguard

N_HEADER_ROWS = 10

Record = tuple[int, list[str] | Fault]


@dataclass(frozen=True, slots=True)
class Source:
    """One way to read a file as records: by one separator, or one of its sheets.

    separator   "" for a sheet, whose cells cannot be split wrongly
    """

    separator: str
    records: Callable[[], Iterator[Record]]


@dataclass(frozen=True, slots=True)
class Header:
    """A header that was found. `spelled` is {squashed: our name} of all we know."""

    source: Source
    row: int
    columns: tuple[str, ...]
    spelled: dict[str, str]
    required: frozenset[str]

    @property
    def names(self) -> set[str]:
        """All our names of columns."""
        return {*self.spelled.values()}

    @property
    def is_whole(self) -> bool:
        """Whether no required column is missing."""
        return self.required <= {*self.columns}


def find_header(
    sources: Sequence[Source], known: Sequence[str], required: Sequence[str]
) -> tuple[Header | None, list[Fault]]:
    """The source and the row under which most of our column names are found.

    Where there is none, the first record that could not be read, with its row.
    """
    spelled = {squash(name): name for name in known}
    best, most = None, 0
    broken: list[Fault] = []
    for source in sources:
        for row, cells in source.records():
            if row > N_HEADER_ROWS:
                break
            if isinstance(cells, Fault):
                broken = broken or [cells.at(row=row)]
                continue
            found = known_in(cells, spelled)
            if len(found) > most and (len(found) > 1 or found & {*required}):
                columns = tuple(_column(cell, spelled) for cell in cells)
                best = Header(source, row, columns, spelled, frozenset(required))
                most = len(found)
    return best, [] if best else broken


@lru_cache(maxsize=10_000)
def squash(head: str) -> str:
    """A heading without case and blanks, in our spelling: `COLOR s` -> `colours`."""
    squashed = re.sub(r"[\s_\-\u200b\ufeff]+", "", head).casefold()
    squashed = squashed.replace("color", "colour").replace("meter", "metre")
    return squashed.replace("fiber", "fibre")


def _column(head: str, spelled: dict[str, str]) -> str:
    return spelled.get(squash(head), unguard(head.strip("\u200b\ufeff").strip()))


def known_in(cells: Sequence[str], spelled: dict[str, str]) -> set[str]:
    """Our names of those cells that are headings we know."""
    return {spelled[squash(cell)] for cell in cells if squash(cell) in spelled}


def no_header(known: Sequence[str]) -> Fault:
    """The fault of a file in which no header was found."""
    says = f"No header was found in the first {N_HEADER_ROWS} rows"
    advice = f"Type the names of the columns in row 1: {', '.join(known)}."
    return Fault("no_header", says=says, advice=advice, row=1)


def header_faults(
    header: Header, known: Sequence[str], required: Sequence[str]
) -> list[Fault]:
    """Columns of ours that stand there twice, and required ones that are missing."""
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


def column_notes(
    columns: Sequence[str], known: Sequence[str], row: int, file: str
) -> Iterator[str]:
    """What to tell of the columns that are not ours."""
    place = f"{file}, row {row}" if file else f"Row {row}"
    absent = [column for column in known if column not in columns]
    others = []
    for at, column in enumerate(columns, 1):
        near = get_close_matches(squash(column), absent, n=1, cutoff=0.75)
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

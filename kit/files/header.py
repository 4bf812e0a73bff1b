"""Where a table's header is: the row, and the way to split it, that name columns."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from types import MappingProxyType

from kit.errors import Fault, shorten
from kit.files.csv_records import unguard

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
    """A header that was found. `spelled` is {squashed: our name} of all we know, other
    words for them too; `heads` are the cells as they were typed."""

    source: Source
    row: int
    columns: tuple[str, ...]
    spelled: dict[str, str]
    required: frozenset[str]
    heads: tuple[str, ...] = ()

    @property
    def names(self) -> set[str]:
        """All our names of columns."""
        return {*self.spelled.values()}

    @property
    def is_whole(self) -> bool:
        """Whether no required column is missing."""
        return self.required <= {*self.columns}


def find_header(
    sources: Sequence[Source],
    known: Sequence[str],
    required: Sequence[str],
    also: Mapping[str, str] = MappingProxyType({}),
) -> tuple[Header | None, list[Fault]]:
    """The source and the row under which most of our column names are found.

    `also`: other words, squashed, for columns of ours. Where there is no header, the
    first record that could not be read, with its row.
    """
    spelled = {**also, **{squash(name): name for name in known}}
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
                columns = _columns(cells, spelled)
                heads = tuple(map(_as_typed, cells))
                needed = frozenset(required)
                best = Header(source, row, columns, spelled, needed, heads)
                most = len(found)
    return best, [] if best else broken


@lru_cache(maxsize=10_000)
def squash(head: str) -> str:
    """A heading without case and blanks, in our spelling: `COLOR s` -> `colours`."""
    squashed = re.sub(r"[\s_\-\u200b\ufeff]+", "", head).casefold()
    squashed = squashed.replace("color", "colour").replace("meter", "metre")
    return squashed.replace("fiber", "fibre")


def _columns(cells: Sequence[str], spelled: dict[str, str]) -> tuple[str, ...]:
    """Our names of headings; another word for one of ours that stands there itself is
    a column of the knitter's own."""
    own = {spelled[squash(cell)] for cell in cells if is_ours(cell, spelled)}
    columns = []
    for cell in cells:
        name = spelled.get(squash(cell), "")
        mine = name and (name not in own or is_ours(cell, spelled))
        columns.append(name if mine else _as_typed(cell))
    return tuple(columns)


def is_ours(head: str, spelled: Mapping[str, str]) -> bool:
    """Whether a heading is our name of a column, not another word for it."""
    return squash(spelled.get(squash(head), "")) == squash(head) != ""


def _as_typed(head: str) -> str:
    return unguard(head.strip("\u200b\ufeff").strip())


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
    faults = [
        twice.at(column=name, **_both_words(name, header))
        for name in known
        if columns.count(name) > 1
    ]
    says, advice = "the header has no such column", "Add it and fill it in."
    missing = Fault("column_missing", says=says, advice=advice, row=header.row)
    for name in required:
        if name not in columns:
            near = get_close_matches(name, columns, n=1)
            hint = f'If "{shorten(near[0])}" is meant, call it {name}.' if near else ""
            faults.append(missing.at(column=name, advice=hint or advice))
    return faults


def _both_words(name: str, header: Header) -> dict[str, str]:
    """What to say of two columns that have different words and mean the same."""
    both = zip(header.columns, header.heads, strict=False)
    words = [head for column, head in both if column == name]
    if len({*map(squash, words)}) < 2:
        return {}
    listed = " and ".join(f'"{shorten(word)}"' for word in words)
    return {"says": f"{listed} are both read as {name}"}


def other_words(header: Header, file: str) -> Iterator[str]:
    """What to tell of columns that were found by another word for them."""
    pairs = zip(header.heads, header.columns, strict=True)
    read = [
        f'"{shorten(head)}" as {column}'
        for head, column in pairs
        if column in header.names and not is_ours(head, header.spelled)
    ]
    if read:
        place = f"{file}, row {header.row}" if file else f"Row {header.row}"
        yield f"{place}: read as columns of ours: {', '.join(read)}."


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

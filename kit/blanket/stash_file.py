"""A stash.csv that is being worked on: read, changed, saved, and put back.

What was read is kept with its digest: where another program has changed the file in
the meantime, it stays as it is, and what was to be saved is kept beside it.

A workbook is read as it is and never written: its first change makes a stash.csv.

A change is made in the text of the table and the whole is read again, so that nothing
is saved which the reader would refuse, and columns that are not ours stay.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from kit.blanket.choices import Choices
from kit.blanket.folder import Blanket, name_faults, open_blanket, stash_path
from kit.blanket.stash import Stash, Yarn
from kit.blanket.stash_csv import csv_of, read_stash
from kit.blanket.stash_rows import PER_100G
from kit.errors import Fault, KitError, shorten
from kit.files import Table, check_can_save, digest, read_bytes
from kit.files.decoding import BOM, with_line_ends
from kit.files.folders import CHOICES, STASH
from kit.files.reading import digest_of
from kit.files.saving import mend, save_bytes
from kit.files.table import Row, by_column
from kit.files.workbook import ending, is_workbook

# What two skeins of one yarn have in common; amount, colour and dye lot are their own.
LABEL = (
    *PER_100G,
    "weight",
    "surface",
    "fibre",
    "care",
)

_FIRST = re.compile(
    r"(?P<lead>\s*)(?:lab\([^)]*\)|[^,%]*?)"
    r"(?P<share>\s*\d+(?:[.,]\d+)?\s*%)?\s*(?P<rest>,(?!\d+\s*%).*)?",
    re.IGNORECASE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class StashFile:
    """One blanket's stash.csv as last read or saved.

    seen      its digest then
    past      what it held before each change made since it was read, oldest first
    blanket   the whole folder, None where its other files cannot be read: `said` why
    workbook  its bytes where what was read is a workbook called stash.csv, else none
    """

    path: Path
    stash: Stash
    data: bytes
    seen: str
    past: tuple[bytes, ...]
    blanket: Blanket | None
    sentences: tuple[str, ...]
    workbook: bytes = b""

    def __repr__(self) -> str:
        return f"StashFile({self.stash!r}, {len(self.past)} changes)"

    @property
    def units(self) -> str:
        """How amounts are shown: "metric" or "imperial"."""
        return self.blanket.choices.units if self.blanket else "metric"


def open_stash(folder: str | Path) -> StashFile:
    """Read a blanket's stash. Raises KitError with every fault of stash.csv.

    Faults of the other files are only said: the stash can be worked on all the same.
    """
    mend(folder)
    path, found = Path(folder) / STASH, stash_path(folder)
    seen = digest(path)  # first: a change made in between is then noticed
    data = read_bytes(found)
    stash = read_stash(data, file=found.name)
    blanket: Blanket | None = None
    said: tuple[str, ...] = ()
    try:
        blanket = open_blanket(folder)
    except KitError as error:
        said = tuple(str(error).splitlines())
    try:
        check_can_save(path)
    except KitError as error:
        said += ("Changes cannot be saved as things are.", *str(error).splitlines())
    if not is_workbook(data):
        return StashFile(path, stash, data, seen, (), blanket, said)
    said += (
        f"{found.name} is a workbook: the first change is saved as {STASH}, which is "
        "read from then on; the workbook stays as it is.",
    )
    workbook = data if found == path else b""
    text = file_bytes(stash, b"")
    return StashFile(path, stash, text, seen, (), blanket, said, workbook)


def save_table(file: StashFile, table: Table) -> StashFile:
    """Read the changed table again and save it. Raises KitError, all as it was.

    Refused too: a change by which blanket.toml would name a yarn that is gone.
    """
    after = reread(file.stash, table)
    if file.blanket:
        shop: tuple[Yarn, ...] = file.blanket.shop.yarns if file.blanket.shop else ()
        check_kept_names(file.blanket.choices, file.stash, after, shop)
    data = file_bytes(after, file.data)
    if data == file.data:
        return replace(file, stash=after)
    seen = _write(file, data)
    past = (*file.past, file.data)
    return replace(file, stash=after, data=data, seen=seen, past=past, workbook=b"")


def undone(file: StashFile) -> StashFile:
    """Put back the very bytes that were there before the last change."""
    if not file.past:
        return file
    *past, data = file.past
    seen = _write(file, data)
    return replace(file, stash=read_stash(data), data=data, seen=seen, past=tuple(past))


def _write(file: StashFile, data: bytes) -> str:
    if file.workbook:
        _set_aside(file)
    return save_bytes(
        file.path,
        data,
        keep_previous=True,
        unless_changed_since=file.seen,
        copy_beside=True,
    )


def _set_aside(file: StashFile) -> None:
    """Keep a workbook that is called stash.csv under its right ending, once."""
    n, right = 1, ending(file.workbook)
    aside = file.path.with_suffix(right)
    while digest(aside) not in ("", digest_of(file.workbook)):
        n += 1
        aside = file.path.with_name(f"{file.path.stem}-{n}{right}")
    save_bytes(aside, file.workbook)


# --- the table as text ----------------------------------------------------------------


def cells_of(table: Table, at: int) -> dict[str, str]:
    """The cells of one row by column, as they were typed."""
    return by_column(table.columns, table.rows[at].cells)


def with_cells(table: Table, at: int, cells: Mapping[str, str]) -> Table:
    """The table with these cells of row `at` changed; columns it lacks are added.

    >>> table = Table(("name", "colours", "mine"), (Row(("Sage", "#9caf88", "x")),))
    >>> with_cells(table, 0, {"grams": "50"}).rows[0].cells
    ('Sage', '#9caf88', 'x', '50')
    """
    new = [c for c, text in cells.items() if text and c not in table.columns]
    columns = (*table.columns, *new)
    was = dict(enumerate(table.rows[at].cells))
    places = {columns.index(c): text for c, text in cells.items() if c in columns}
    row = Row(tuple((was | places).get(k, "") for k in range(len(columns))))
    rows = (*table.rows[:at], row, *table.rows[at + 1 :])
    return replace(table, columns=columns, rows=rows)


def with_row(stash: Stash, cells: Mapping[str, str]) -> Table:
    """The table with a new yarn below; where tags are numbered it gets the next one."""
    table = stash.table
    if "no" in table.columns and not cells.get("no"):
        cells = {**cells, "no": str(1 + max(yarn.no for yarn in stash.yarns))}
    longer = replace(table, rows=(*table.rows, Row(())))
    return with_cells(longer, len(table.rows), cells)


def without_row(stash: Stash, at: int) -> Table:
    """The table without one yarn. Tags are out there on the balls: numbers that only
    followed from the order of the rows are written down before it changes."""
    table = stash.table
    for k, yarn in enumerate(stash.yarns):
        table = with_cells(table, k, {"no": str(yarn.no)})
    return replace(table, rows=(*table.rows[:at], *table.rows[at + 1 :]))


def label_cells(cells: Mapping[str, str]) -> dict[str, str]:
    """Of a row's cells those to copy where another yarn is the same but for colour.

    Blank ones are not copied, but of the columns for its length all or none.

    >>> label_cells({"name": "Sage", "yards_per_100g": "440", "care": ""})
    {'yards_per_100g': '440', 'metres_per_100g': '', 'yards_per_oz': ''}
    """
    copied = {column: cells[column] for column in LABEL if cells.get(column)}
    if any(column in copied for column in PER_100G):
        copied |= {column: cells.get(column, "") for column in PER_100G}
    return copied


def with_first_colour(text: str, colour: str) -> str:
    """A `colours` cell with its first colour changed; its share and the others stay.

    >>> with_first_colour("#c8cdd0 70%, dusty rose", "#112233")
    '#112233 70%, dusty rose'
    """
    found = _FIRST.fullmatch(text)
    if not found:
        return colour
    return f"{found['lead']}{colour}{found['share'] or ''}{found['rest'] or ''}"


# --- reading it again -----------------------------------------------------------------


def reread(stash: Stash, table: Table) -> Stash:
    """The changed table as a stash, read from its text. Raises KitError."""
    text = csv_of(replace(stash, table=table))
    return read_stash(text.encode("utf-8", "replace"), file=STASH)


def check_kept_names(
    choices: Choices, before: Stash, after: Stash, shop: Sequence[Yarn] = ()
) -> None:
    """Raise KitError where blanket.toml names a yarn that `after` has lost."""
    lost = {fault.found for fault in name_faults(choices, [*before.yarns, *shop])}
    held: dict[str, list[str]] = {}
    for fault in name_faults(choices, [*after.yarns, *shop]):
        if fault.found not in lost and fault.column not in held.get(fault.found, []):
            held.setdefault(fault.found, []).append(fault.column)
    if held:
        raise KitError(_held(name, keys) for name, keys in held.items())


def _held(name: str, keys: Iterable[str]) -> Fault:
    says = f'{CHOICES} still speaks of "{shorten(name)}" ({", ".join(keys)})'
    advice = "Take it out there first, or leave its name as it is."
    return Fault("name_held", says=says, advice=advice)


def row_number(table: Table, at: int) -> int:
    """The row as a spreadsheet will count it once the table is saved."""
    return len(table.above) + 2 + at


def file_bytes(stash: Stash, like: bytes) -> bytes:
    """A stash.csv as bytes, with the byte order mark and the line ends of `like`."""
    data = _encoded(with_line_ends(csv_of(stash), like))
    return BOM + data if like.startswith(BOM) else data


def _encoded(text: str) -> bytes:
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError:
        says = f"{STASH} was not saved: its text holds half a letter (a lone surrogate)"
        advice = "Type the text again instead of pasting it."
        raise KitError(Fault("encoding", says=says, advice=advice)) from None

"""Changes to a stash.csv as text: cells, rows, copies; and a folder to begin with.

A change is made in the text of the table and the whole is read again, so that nothing
is saved which the reader would refuse, and columns that are not ours stay.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from kit.blanket.choices import Choices
from kit.blanket.folder import family_faults, name_faults
from kit.blanket.stash import Stash, Yarn, read_stash, stash_csv
from kit.blanket.stash_rows import PER_100G
from kit.errors import Fault, KitError, shorten
from kit.files import Table, save_all
from kit.files.disk import CHOICES, STASH, file_name
from kit.files.table import Row, by_column

# What two skeins of one yarn have in common; amount, colour and dye lot are their own.
LABEL = (
    *PER_100G,
    "weight",
    "surface",
    "fibre",
    "care",
)
BOM = b"\xef\xbb\xbf"

_FIRST = re.compile(
    r"(?P<lead>\s*)(?:lab\([^)]*\)|[^,%]*?)"
    r"(?P<share>\s*\d+(?:[.,]\d+)?\s*%)?\s*(?P<rest>,(?!\d+\s*%).*)?",
    re.IGNORECASE | re.DOTALL,
)


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
    text = stash_csv(replace(stash, table=table))
    changed = read_stash(text.encode("utf-8", "replace"), file=STASH)
    if faults := family_faults(changed, STASH):
        raise KitError(faults)
    return changed


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
    text = stash_csv(stash)
    if b"\n" in like and like.count(b"\n") == like.count(b"\r\n"):
        text = text.replace("\r\n", "\n").replace("\n", "\r\n")
    data = _encoded(text)
    return BOM + data if like.startswith(BOM) else data


def _encoded(text: str) -> bytes:
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError:
        says = f"{STASH} was not saved: its text holds half a letter (a lone surrogate)"
        advice = "Type the text again instead of pasting it."
        raise KitError(Fault("encoding", says=says, advice=advice)) from None


# --- a new blanket --------------------------------------------------------------------

EXAMPLE = (
    "no,name,colours,grams,metres_per_100g,weight,style,surface,family,fibre,lot,care,"
    "role,notes\n"
    '1,An example,"#9caf88 60%, #b9c7a4 40%",50,400,fingering,tonal,smooth,,wool,,,,'
    "make this row your first yarn\n"
)


def begin_blanket(below: str | Path, name: str) -> Path:
    """Make a folder with a stash of one example row and a blanket.toml; its path.

    The folder lies in `below` and is called after the blanket. Raises KitError where
    the name is blank or such a folder is there already.
    """
    import tomlkit

    name = " ".join(name.split())
    if not name:
        fault = Fault("missing", "nothing", "a name", column="New blanket")
        raise KitError(fault)
    folder = Path(below) / file_name(name)
    if os.path.lexists(folder):
        says = f"{folder} is there already, so nothing was made"
        raise KitError(Fault("folder_exists", says=says, advice="Take another name."))
    text = tomlkit.dumps({"name": name})
    save_all(folder, {STASH: EXAMPLE.encode(), CHOICES: text.encode()})
    return folder.resolve()

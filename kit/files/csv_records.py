"""Separated text to records and back: quotation marks, and formulas made harmless."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence

from kit.errors import Fault

MOST_CELL_CHARACTERS = 10_000
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}

_SEP_LINE = re.compile(r'"?sep=([^\w\s"]|\t)"?[,;\t|]*(?=[\r\n]|$)', re.IGNORECASE)
_PLAIN_NUMBER = re.compile(r"[+\-]?[\d.,]*")
# First characters of what spreadsheets run; some take the wide forms for the same.
_FORMULA_STARTS = tuple("=+-@\t\r\n＝＋－＠")


def separators(text: str) -> list[str]:
    """Separators to try: the one of a `sep=` line first, then the usual ones.

    >>> separators("sep=^")[0]
    '^'
    """
    hint = _SEP_LINE.match(text)
    return list(dict.fromkeys([*([hint[1]] if hint else []), *SEPARATORS]))


def is_hint(number: int, cells: Sequence[str]) -> bool:
    """Whether this record is the `sep=` line that some spreadsheets write first."""
    return number == 1 and bool(cells) and cells[0].lower().startswith("sep=")


def records(text: str, separator: str) -> Iterator[tuple[int, list[str] | Fault]]:
    """Each record's row as a spreadsheet counts, and its cells or what is wrong.

    A quotation mark that swallows the lines after it ends the reading: what is inside
    and what is outside is not known any more.

    >>> list(records("Sage;#9caf88", ";"))
    [(1, ['Sage', '#9caf88'])]
    """
    lines = io.StringIO(text, newline="")
    reader = csv.reader(lines, delimiter=separator, strict=True, skipinitialspace=True)
    number = 0
    while True:
        number += 1
        line = reader.line_num
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            swallowed = reader.line_num - line > 1
            yield number, _unreadable(str(error), swallowed)
            if swallowed:
                return
        else:
            yield number, cells


def _unreadable(error: str, swallowed: bool) -> Fault:
    if error.startswith("field larger"):
        return cell_too_long("one of its cells")
    rest = " The rows after it could not be read." if swallowed else ""
    return open_quote(rest)


def open_quote(rest: str = "") -> Fault:
    """The fault of a quotation mark that opens a cell and does not close it."""
    says = "a quotation mark opens a cell here and does not close it properly"
    advice = 'Close it or take it out; inside such a cell, type "" for one.'
    return Fault("quote", says=says, advice=advice + rest)


def cell_too_long(which: str) -> Fault:
    """The fault of a cell over 10 000 characters."""
    says = f"{which} is longer than {MOST_CELL_CHARACTERS} characters"
    advice = "Shorten it, and see that every quotation mark before it is closed."
    return Fault("too_long", says=says, advice=advice)


def record_text(cells: Sequence[str]) -> str:
    r"""One record as CSV with commas, its formulas guarded.

    >>> record_text(["Sage", "soft, warm", "=1+1"])
    'Sage,"soft, warm",\'=1+1\n'
    """
    return ",".join(map(_quoted, cells)) + "\n"


def _quoted(cell: str) -> str:
    # Other separators too: a spreadsheet may split there and run what follows.
    cell = guard(cell)
    if cell.strip() == cell and not re.search('[,;|\t\r\n"]', cell):
        return cell
    return '"' + cell.replace('"', '""') + '"'


def guard(cell: str) -> str:
    """A cell that a spreadsheet would run as a formula, with a `'` in front.

    Plain numbers stay. `unguard` takes the `'` off again.

    >>> guard("=1+1"), guard("-5"), unguard(guard("'=1+1"))
    ("'=1+1", '-5', "'=1+1")
    """
    return f"'{cell}" if _would_run(cell) else cell


def unguard(cell: str) -> str:
    """The cell that `guard` was given."""
    return cell[1:] if cell.startswith("'") and _would_run(cell) else cell


def _would_run(cell: str) -> bool:
    core = cell.lstrip("' \xa0")
    return core.startswith(_FORMULA_STARTS) and not _PLAIN_NUMBER.fullmatch(core)

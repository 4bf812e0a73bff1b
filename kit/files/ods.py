"""Sheets of an .ods workbook as text (OpenDocument 1.3 part 3)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from kit.errors import Fault, KitError
from kit.files.archive import Archive, Attributes, local, read_xml
from kit.files.sheet_rows import MOST_CELLS, MOST_COLUMNS, Grid, number_text, truth_text

CONTENT = "content.xml"
MOST_BLANKS = 10_000  # one cell holds no more

_TEXT = {"p", "h", "span", "a"}
_BESIDE = {"annotation", "shape", "shapes", "ruby-text", "frame"}
_AT_MIDNIGHT = re.compile(r"T00:00(:00(\.0*)?)?$")


def read_ods(archive: Archive, file: str) -> list[Grid]:
    """The tables in the order of their tabs. Raises KitError."""
    content = archive.part(CONTENT)
    reader = _OdsReader(_hidden_styles(content, file), file)
    read_xml(content, file=file, start=reader.start, end=reader.end, text=reader.take)
    return reader.sheets


def _hidden_styles(content: bytes, file: str) -> set[str]:
    """The names of the styles whose tables are not displayed."""
    hidden: set[str] = set()
    style = [""]

    def start(name: str, found: Attributes) -> None:
        if name == "style":
            style[0] = local(found, "name")
        elif name == "table-properties" and local(found, "display") == "false":
            hidden.add(style[0])

    read_xml(content, file=file, start=start)
    return hidden


class _OdsReader:
    """Reads tables: 9.1.2 to 9.1.4, values 19.379 to 19.389."""

    def __init__(self, hidden: set[str], file: str) -> None:
        self.sheets: list[Grid] = []
        self._hidden, self._file = hidden, file
        self._row = 1
        self._row_repeats = 1
        self._cells: list[tuple[int, int, str, bool]] = []  # column, how many, text
        self._column = 1
        self._attributes: Attributes = {}
        self._lines: list[str] | None = None
        self._depth_beside = 0  # inside a remark or a drawing: not the cell's text
        self._in_text = 0

    def start(self, name: str, found: Attributes) -> None:
        if self._depth_beside or name in _BESIDE:
            self._depth_beside += 1
        elif name in _TEXT:
            if name in ("p", "h") and self._lines is not None:
                self._lines.append("")
            self._in_text += 1
        elif name in ("s", "tab", "line-break"):
            n_blanks = _times(local(found, "c")) if name == "s" else 1
            blank = {"s": " ", "tab": "\t"}.get(name, "\n")
            self.take(blank * min(n_blanks, MOST_BLANKS))
        elif name in ("table-cell", "covered-table-cell"):
            self._attributes, self._lines = found, []
        elif name == "table-row":
            self._row_repeats = _times(local(found, "number-rows-repeated"))
            self._cells, self._column = [], 1
        elif name == "table":
            hidden = local(found, "style-name") in self._hidden
            self.sheets.append(Grid(local(found, "name"), hidden, self._file))
            self._row = 1

    def take(self, text: str) -> None:
        if self._in_text and not self._depth_beside and self._lines:
            self._lines[-1] += text

    def end(self, name: str) -> None:
        if self._depth_beside:
            self._depth_beside -= 1
        elif name in _TEXT:
            self._in_text -= 1
        elif name in ("table-cell", "covered-table-cell"):
            self._end_cell()
        elif name == "table-row":
            self._end_row()

    def _end_cell(self) -> None:
        found, lines = self._attributes, self._lines or []
        self._lines = None
        n_columns = _times(local(found, "number-columns-repeated"))
        text, is_date = _shown(found, "\n".join(lines))
        if text:
            if n_columns > MOST_COLUMNS:
                raise self._too_much()
            self._cells.append((self._column, n_columns, text, is_date))
        self._column += n_columns

    def _end_row(self) -> None:
        if self._cells and self.sheets:
            if self._row_repeats > MOST_CELLS:
                raise self._too_much()
            for row in range(self._row, self._row + self._row_repeats):
                for column, text, is_date in self._spread():
                    self.sheets[-1].put(row, column, text)
                    if is_date:
                        self.sheets[-1].dates.add((row, column))
        self._row += self._row_repeats

    def _spread(self) -> Iterator[tuple[int, str, bool]]:
        for first, n_columns, text, is_date in self._cells:
            for column in range(first, first + n_columns):
                yield column, text, is_date

    def _too_much(self) -> KitError:
        says = "one cell or row of this sheet is repeated without end"
        advice = "Copy the yarns into a sheet of their own."
        fault = Fault("too_big", says=says, advice=advice, file=self._file)
        return KitError(fault.at(row=self._row))


def _shown(found: Attributes, text: str) -> tuple[str, bool]:
    """A cell as it is shown, numbers with all their digits, and whether it is a date.

    A formula that was never worked out shows itself.
    """
    kind = local(found, "value-type")
    if kind == "boolean":
        return truth_text(local(found, "boolean-value") == "true"), False
    if kind in ("float", "currency", "percentage"):
        return _number(local(found, "value"), kind, text), False
    if kind == "date":
        return _AT_MIDNIGHT.sub("", local(found, "date-value")).replace("T", " "), True
    if kind == "time":
        return text or local(found, "time-value"), True
    formula = local(found, "formula")
    if not kind and not text and formula:
        return "=" + formula.partition("=")[2], False
    return text or local(found, "string-value"), False


def _number(value: str, kind: str, text: str) -> str:
    try:
        number = float(value)
    except ValueError:
        return text or value
    if kind == "percentage":
        return f"{number_text(100 * number)}%"
    if re.fullmatch(r"0\d+", text):  # 007
        return text
    return number_text(number, scientific=bool(re.search(r"\dE[+-]?\d", text)))


def _times(number: str) -> int:
    """How often something is repeated; 1 where it is not said or makes no sense."""
    plain = number.isascii() and number.isdecimal() and len(number) < 12
    return max(int(number), 1) if plain else 1

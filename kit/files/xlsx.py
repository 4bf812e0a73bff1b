"""Sheets of an .xlsx workbook as text (ECMA-376 part 1, SpreadsheetML)."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kit.files.archive import Archive, Attributes, damaged, read_xml
from kit.files.sheet_rows import (
    DAY_ZERO,
    DAY_ZERO_1904,
    Grid,
    date_text,
    number_text,
    truth_text,
)

WORKBOOK = "xl/workbook.xml"

# Built-in number formats, ECMA-376 part 1, 18.8.30.
_BUILT_IN = {9: "0%", 10: "0.00%", 11: "0.00E+00", 48: "##0.0E+0"}
_BUILT_IN |= dict.fromkeys((*range(14, 23), *range(45, 48)), "d")
_NOT_SHOWN = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]|[_*].')
_PLACE = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})")
_ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")  # 22.9.2.19: ST_Xstring


@dataclass(frozen=True, slots=True)
class _WorkbookParts:
    """What all sheets share: texts, how each cell format shows a number, day zero."""

    texts: Sequence[str]
    formats: Sequence[str]
    since: datetime

    def shown(self, number: str, style: str) -> tuple[str, bool]:
        """A number as its format shows it, and whether that is a date."""
        try:
            value = float(number)
        except ValueError:
            return number, False
        at = int(style) if style.isascii() and style.isdecimal() else 0
        return _in_format(value, self.formats[at : at + 1], self.since)


def read_xlsx(archive: Archive, file: str) -> list[Grid]:
    """The worksheets in the order of their tabs. Raises KitError."""
    listed, since = _listed(archive, file)
    parts = _parts(archive, WORKBOOK, file)
    shared = _WorkbookParts(_texts(archive, file), _formats(archive, file), since)
    sheets = []
    for name, hidden, relation in listed:
        kind, part = parts.get(relation, ("", ""))
        if kind == "worksheet" and part in archive:
            grid = Grid(name, hidden, file)
            _XlsxReader(grid, shared).read(archive.part(part))
            sheets.append(grid)
    return sheets


def _listed(
    archive: Archive, file: str
) -> tuple[list[tuple[str, bool, str]], datetime]:
    """Name, whether hidden, and relation of each sheet; and day zero of its dates."""
    sheets: list[tuple[str, bool, str]] = []
    since = [DAY_ZERO]

    def start(name: str, found: Attributes) -> None:
        if name == "sheet":
            hidden = found.get("state", "visible") != "visible"
            relation = next((found[k] for k in found if k.endswith(":id")), "")
            sheets.append((found.get("name", ""), hidden, relation))
        elif name == "workbookPr" and found.get("date1904") in ("1", "true"):
            since[0] = DAY_ZERO_1904

    read_xml(archive.part(WORKBOOK), file=file, start=start)
    return sheets, since[0]


def _parts(archive: Archive, of: str, file: str) -> dict[str, tuple[str, str]]:
    """{relation: (kind, part)} of one part, as its .rels beside it has them."""
    folder, name = posixpath.split(of)
    rels = f"{folder}/_rels/{name}.rels"
    parts: dict[str, tuple[str, str]] = {}

    def start(element: str, found: Attributes) -> None:
        if element == "Relationship":
            target = found.get("Target", "")
            inside = target.lstrip("/") if target.startswith("/") else ""
            path = inside or posixpath.normpath(posixpath.join(folder, target))
            kind = found.get("Type", "").rpartition("/")[2]
            parts[found.get("Id", "")] = (kind, path)

    if rels not in archive:
        raise damaged(file)
    read_xml(archive.part(rels), file=file, start=start)
    return parts


def _texts(archive: Archive, file: str) -> list[str]:
    """The shared texts. What is above the letters to help reading them is left out."""
    texts: list[str] = []
    inside: list[str] = []

    def start(name: str, _: Attributes) -> None:
        inside.append(name)
        if name == "si":
            texts.append("")

    def end(_: str) -> None:
        inside.pop()

    def text(piece: str) -> None:
        if texts and inside[-1] == "t" and "rPh" not in inside[-3:]:
            texts[-1] += piece

    part = "xl/sharedStrings.xml"
    if part in archive:
        read_xml(archive.part(part), file=file, start=start, end=end, text=text)
    return [_unescaped(text) for text in texts]


def _formats(archive: Archive, file: str) -> list[str]:
    """The number format of each cell format."""
    codes: dict[str, str] = {str(k): code for k, code in _BUILT_IN.items()}
    formats: list[str] = []
    inside: list[str] = [""]

    def start(name: str, found: Attributes) -> None:
        if name == "numFmt":
            codes[found.get("numFmtId", "")] = found.get("formatCode", "")
        elif name == "xf" and inside[-1] == "cellXfs":
            formats.append(codes.get(found.get("numFmtId", ""), ""))
        inside.append(name)

    def end(_: str) -> None:
        inside.pop()

    part = "xl/styles.xml"
    if part in archive:
        read_xml(archive.part(part), file=file, start=start, end=end)
    return formats


def _in_format(value: float, codes: Sequence[str], since: datetime) -> tuple[str, bool]:
    code = _NOT_SHOWN.sub("", codes[0].partition(";")[0]) if codes else ""
    if re.search("[dmyhs]", code, re.IGNORECASE):
        return date_text(value, since=since), True
    if "%" in code:
        return f"{number_text(100 * value)}%", False
    if re.search("E[+-]", code, re.IGNORECASE):
        return number_text(value, scientific=True), False
    text = number_text(value)
    if re.fullmatch("0+", code) and text.isdecimal():
        return text.zfill(len(code)), False  # 007
    return text, False


def _unescaped(text: str) -> str:
    if "_x" not in text:
        return text
    plain = _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text)
    return plain.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


# --- one sheet ------------------------------------------------------------------------


class _XlsxReader:
    """Reads the cells of one sheet: 18.3.1.4 and what stands in it."""

    def __init__(self, grid: Grid, shared: _WorkbookParts) -> None:
        self._grid, self._shared = grid, shared
        self._row = self._column = 0
        self._kind = self._style = ""
        self._value, self._formula, self._inline = "", "", ""
        self._texts: list[str] | None = None  # where what is read now is collected
        self._above = False  # what helps reading the letters below it

    def read(self, data: bytes) -> None:
        read_xml(
            data,
            file=self._grid.file,
            start=self._start,
            end=self._end,
            text=self._take,
        )

    def _start(self, name: str, found: Attributes) -> None:
        if name == "c":
            self._begin_cell(found)
        elif name in ("v", "f", "t"):
            self._texts = []
        elif name == "row":
            number = found.get("r", "")
            self._row = int(number) if _is_row(number) else self._row + 1
            self._column = 0
        elif name == "rPh":
            self._above = True

    def _begin_cell(self, found: Attributes) -> None:
        place = _PLACE.fullmatch(found.get("r", ""))
        if place:
            self._column, self._row = _column_number(place[1]), int(place[2])
        else:
            self._column += 1
        self._kind, self._style = found.get("t", "n"), found.get("s", "")
        self._value = self._formula = self._inline = ""

    def _take(self, text: str) -> None:
        if self._texts is not None:
            self._texts.append(text)

    def _end(self, name: str) -> None:
        if name == "c":
            self._put()
        elif name in ("v", "f", "t") and self._texts is not None:
            text, self._texts = "".join(self._texts), None
            if name == "v":
                self._value = text
            elif name == "f":
                self._formula = text or "…"  # shared with the cell above
            elif not self._above:
                self._inline += text
        elif name == "rPh":
            self._above = False

    def _put(self) -> None:
        text, is_date = self._shown()
        if text:
            self._grid.put(self._row, self._column, text)
            if is_date:
                self._grid.dates.add((self._row, self._column))

    def _shown(self) -> tuple[str, bool]:
        """A cell as it is shown. A formula that was never worked out shows itself."""
        kind, value = self._kind, self._value
        if kind == "inlineStr":
            return _unescaped(self._inline), False
        if not value:
            return (f"={self._formula}" if self._formula else ""), False
        if kind == "s":
            return self._shared_text(value), False
        if kind == "b":
            return truth_text(value.strip() not in ("0", "false")), False
        if kind == "n":
            return self._shared.shown(value, self._style)
        return _unescaped(value), kind == "d"

    def _shared_text(self, number: str) -> str:
        texts = self._shared.texts
        try:
            at = int(number)
        except ValueError:
            at = -1
        if not 0 <= at < len(texts):
            raise damaged(self._grid.file)
        return texts[at]


def _is_row(number: str) -> bool:
    return number.isascii() and number.isdecimal() and len(number) < 8


def _column_number(letters: str) -> int:
    """1 for A.

    >>> _column_number("AB")
    28
    """
    number = 0
    for letter in letters.upper():
        number = 26 * number + ord(letter) - 64
    return number

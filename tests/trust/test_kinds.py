"""The awkward stash files in every other dress: the same yarns, or the same faults.

Each file that is plain enough to be taken apart is written again in other encodings,
with other separators and line ends, quoted throughout, under a title, and as workbooks.
"""

import csv
import io
import json
from pathlib import Path

import pytest

from kit.blanket.stash_csv import read_stash
from kit.errors import KitError
from kit.files.decoding import decode
from tests.helpers.workbooks import ods, xlsx

STASHES = Path(__file__).resolve().parent.parent / "gold" / "stashes"
CASES = json.loads((STASHES / "manifest.json").read_text(encoding="utf-8"))["cases"]

# Files whose point is how they are written, or that no table writer would write.
TAKEN_APART = [
    case
    for case in CASES
    if int(case["file"][:2])
    in (
        1,
        16,
        18,
        20,
        22,
        24,
        34,
        40,
        42,
        44,
        46,
        48,
        50,
        52,
        54,
        56,
        58,
        60,
        62,
        64,
        66,
    )
]


def rows_of(case):
    text, _ = decode((STASHES / case["file"]).read_bytes())
    (head,) = [line for line in text.splitlines() if "name" in line.casefold()][:1]
    separator = max(",;\t|", key=head.count)
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))


def written(rows, *, separator=",", line_end="\n", quoting=csv.QUOTE_MINIMAL):
    text = io.StringIO(newline="")
    writer = csv.writer(
        text, delimiter=separator, lineterminator=line_end, quoting=quoting
    )
    writer.writerows(rows)
    return text.getvalue()


def encoded(encoding, mark=b""):
    return lambda rows: mark + written(rows).encode(encoding)


def as_sheet(make):
    """Blank cells are no cells there; a row without cells is no row."""
    return lambda rows: make(
        {"Notes": [["x"]], "Yarn": [[c or None for c in r] for r in rows]}
    )


DRESSES = {
    "UTF-8 with a mark": encoded("utf-8-sig"),
    "UTF-16 LE": encoded("utf-16-le", b"\xff\xfe"),
    "UTF-16 BE": encoded("utf-16-be", b"\xfe\xff"),
    "UTF-32": encoded("utf-32"),
    "semicolons": lambda rows: written(rows, separator=";").encode(),
    "tabs": lambda rows: written(rows, separator="\t").encode(),
    "bars": lambda rows: written(rows, separator="|").encode(),
    "CRLF": lambda rows: written(rows, line_end="\r\n").encode(),
    "CR": lambda rows: written(rows, line_end="\r").encode(),
    "quoted throughout": lambda rows: written(rows, quoting=csv.QUOTE_ALL).encode(),
    "sep= line": lambda rows: b"sep=;\r\n" + written(rows, separator=";").encode(),
    "under a title": lambda rows: b'"My stash"\n\n' + written(rows).encode(),
    "an end-of-file mark": lambda rows: written(rows).encode() + b"\x1a",
    "a formatted area": lambda rows: written(
        [*([*row, "", ""] for row in rows), *[[""] * 9] * 40]
    ).encode(),
    ".xlsx": as_sheet(xlsx),
    ".ods": as_sheet(ods),
}
ROWS_MOVED = {"sep= line": 1, "under a title": 2}


def outcome(data):
    """The yarns, or every fault's row, column and code."""
    try:
        return [(y.name, y.mix, y.grams, y.metres) for y in read_stash(data).yarns]
    except KitError as error:
        return {(fault.row, fault.column, fault.code) for fault in error.faults}


def moved(found, by):
    if isinstance(found, list):
        return found
    return {(row and row + by, column, code) for row, column, code in found}


@pytest.mark.parametrize("dress", DRESSES)
@pytest.mark.parametrize("case", TAKEN_APART, ids=[c["file"] for c in TAKEN_APART])
def test_the_dress_does_not_matter(case, dress):
    """Only what is in the cells counts."""
    plain = outcome(written(rows_of(case)).encode())
    dressed = outcome(DRESSES[dress](rows_of(case)))
    assert dressed == moved(plain, ROWS_MOVED.get(dress, 0))


def test_enough_of_them():
    """Twenty-one files in sixteen dresses; a third of the files are refused ones."""
    assert len(TAKEN_APART) * len(DRESSES) == 336
    assert sum(case["verdict"] == "refuse" for case in TAKEN_APART) >= 5

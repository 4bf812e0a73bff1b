"""Spoilt files by the thousand: each is read or refused in words, never a crash.

    python -m pytest tests/trust/test_mutants.py                       2 000 mutants
    python -m pytest -m long -k 20000 tests/trust/test_mutants.py      20 000
    python -m pytest -m long -k 300000 tests/trust/test_mutants.py     300 000

A mutant is made of a seed alone. One that once broke something has its number in SEEDS
and is tried first for ever.
"""

import csv
import io
import random
from itertools import chain
from pathlib import Path

import pytest

from kit.blanket.choices_toml import read_choices
from kit.blanket.stash_csv import csv_of, read_stash
from kit.errors import KitError
from tests.helpers.workbooks import ods, ods_parts, packed, xlsx, xlsx_parts
from tests.trust.hostile import hostile_stash

HERE = Path(__file__).resolve().parent
STASHES = sorted((HERE.parent / "gold" / "stashes").glob("*.csv"))
ROWS = [
    ["name", "colours", "grams", "metres_per_100g", "weight", "notes"],
    ["Sage", "#9CAF88 70%, #fff", 50, 200, "dk", "soft"],
    ["Crème", "dusty rose", 37.5, 210, "4", ""],
]
CHOICES = (HERE.parent.parent / "data/reading-room/blanket.toml").read_bytes()

# Seeds of mutants that once crashed a reader, by their kind.
SEEDS = {"csv": (), "parts": (), "bytes": (1178,), "toml": ()}

TOKENS = (
    *(b",", b";", b"\t", b"|", b'"', b"'", b"\n", b"\r", b"\r\n", b"\0", b"#", b"%"),
    *(b"=", b"-", b"+", b".", b"/", b"e", b"9" * 400, b"1e999", b"nan", b"-0", b"\xff"),
    *(b"\xc3", b"\xef\xbb\xbf", b"\xff\xfe", b"\xe2\x80\xae", b"\xf0\x9f\xa7\xb6"),
    *(b"sep=;\n", b"name,colours\n", b"lab(1e9% 0 0)", b"x" * 10_001, b"\x1a"),
    *("٣".encode(), "½".encode(), "１".encode(), b"<", b">", b"&", b"]]>", b"<!--"),
    *(b"[", b"]", b"{", b"}", b"\\", b"&#0;", b"&#x10ffff;", b'r="XFD1048576"'),
    *(
        b"number-rows-repeated",
        b'table:number-columns-repeated="99999999"',
        b"\xed\xa0",
    ),
)


def mutated(data: bytes, rng: random.Random) -> bytes:
    """The bytes with one to six changes: cut, doubled, moved, replaced, put in."""
    spoilt = bytearray(data)
    for _ in range(rng.randint(1, 6)):
        at, n_bytes = rng.randrange(len(spoilt) + 1), rng.choice((1, 2, 5, 30, 300))
        piece = bytes(spoilt[at : at + n_bytes])
        what = rng.randrange(6)
        if what == 0:
            del spoilt[at : at + n_bytes]
        elif what == 1:
            spoilt[at:at] = piece * rng.choice((1, 2, 40))
        elif what == 2:
            spoilt[at:at] = rng.choice(TOKENS)
        elif what == 3:
            spoilt[at : at + 1] = bytes([rng.randrange(256)])
        elif what == 4:
            spoilt[at : at + n_bytes] = rng.choice(TOKENS)
        else:
            other = rng.randrange(len(spoilt) + 1)
            spoilt[other:other] = piece
    return bytes(spoilt)


CSVS = [path.read_bytes() for path in STASHES if path.stat().st_size < 1000]
CSVS += [hostile_stash()[:3000]]
PARTS = [(xlsx_parts({"Notes": [["x"]], "Yarn": ROWS}), "xl/worksheets/sheet2.xml")]
PARTS += [(xlsx_parts({"Yarn": ROWS}), part) for part in xlsx_parts({"Yarn": []})]
PARTS += [(ods_parts({"Yarn": ROWS}), "content.xml")] * 3
BOOKS = [xlsx({"Yarn": ROWS}), ods({"Yarn": ROWS})]


def mutant(kind: str, seed: int) -> bytes:
    """One spoilt file of its kind: text, a workbook's part, a workbook, choices."""
    rng = random.Random(f"{kind} {seed}")
    if kind == "csv":
        return mutated(rng.choice(CSVS), rng)
    if kind == "toml":
        return mutated(CHOICES, rng)
    if kind == "bytes":
        return mutated(rng.choice(BOOKS), rng)
    parts, name = rng.choice(PARTS)
    return packed(parts | {name: mutated(parts[name].encode(), rng)}, compression=0)


def check_stash(data: bytes) -> bool:
    """Read or refused in words; what is read is written and read again the same."""
    try:
        stash = read_stash(data, file="stash")
    except KitError as error:
        assert str(error)
        assert all(fault.says or fault.expected for fault in error.faults)
        return False
    text = csv_of(stash)
    try:
        again = read_stash(text.encode("utf-8"), file="stash")
    except KitError as error:  # a cell of lines that look like rows: never guessed
        assert {fault.code for fault in error.faults} <= {"quote"}, error
        return True
    assert again.yarns == stash.yarns
    assert csv_of(again) == text
    cells = chain.from_iterable(csv.reader(io.StringIO(text, newline="")))
    assert not any(cell.lstrip().startswith(tuple("=@＝＠")) for cell in cells), text
    return True


def check_choices(data: bytes) -> bool:
    """blanket.toml: read or refused in words; one key changed leaves the others."""
    try:
        text = data.decode("utf-8-sig")
        choices = read_choices(text)
    except (UnicodeDecodeError, KitError):
        return False
    from kit.blanket.choices_toml import changed_toml

    changed = read_choices(changed_toml(text, {"name": "Another"}))
    assert changed.name == "Another"
    assert changed.arranging == choices.arranging
    assert changed.making == choices.making
    return True


@pytest.mark.parametrize("kind", ["csv", "parts", "bytes", "toml"])
@pytest.mark.parametrize(
    ("begin", "share"),
    [
        (0, 0.1),
        pytest.param(0, 1.0, marks=pytest.mark.long),
        pytest.param(1_000_000, 15.0, marks=pytest.mark.long),
    ],
    ids=["quick", "20000", "300000"],
)
def test_mutants(kind, begin, share):
    """None of them raises anything but a KitError; some are read, some refused."""
    n_mutants = {"csv": 9_000, "parts": 5_000, "bytes": 5_000, "toml": 1_000}[kind]
    check = check_choices if kind == "toml" else check_stash
    n_read = 0
    total = int(n_mutants * share)
    for seed in (*SEEDS[kind], *range(begin, begin + total)):
        try:
            n_read += check(mutant(kind, seed))
        except Exception as error:
            pytest.fail(f"{kind} mutant {seed}: {type(error).__name__}: {error}")
    assert 0 < n_read < total

"""Readers fed by a fuzzer that watches which branches they take.

    python tests/trust/guided.py csv -max_total_time=600 CORPUS

Kinds: csv, xlsx, ods, toml, log (knitted.csv), regions. Needs the extra `fuzz`; options
behind the kind are libFuzzer's. A file that breaks a reader is written as crash-*.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

Check = Callable[[bytes], object]

LOG = b"date,row,what,yarn,instead_of,grams,notes\n2026-11-01,27,joined,Sage,,41.5,\n"
REGIONS = b"name,role,shape,x,y,width,height\nSage,yarn,circle,212,183,213,213\n"


def check_log(data: bytes) -> None:
    """knitted.csv: read or refused in words, and what is read is written."""
    from kit.blanket.stash_csv import read_stash
    from kit.errors import KitError
    from kit.needles.log import log_text, read_log

    try:
        log_text(read_log(data, read_stash(b"name,colours\nSage,#9caf88\n").yarns))
    except KitError as error:
        assert str(error)


def check_regions(data: bytes) -> None:
    """A regions file: read or refused in words, and what is read is written."""
    from kit.errors import KitError
    from kit.photo import read_regions
    from kit.photo.regions import regions_csv

    try:
        regions_csv(read_regions(data, file="regions.csv"))
    except KitError as error:
        assert str(error)


def kinds() -> dict[str, tuple[Check, list[bytes]]]:
    """By kind: what is checked, and files to begin with."""
    from test_mutants import BOOKS, CHOICES, CSVS, check_choices, check_stash

    return {
        "csv": (check_stash, CSVS),
        "xlsx": (check_stash, BOOKS[:1]),
        "ods": (check_stash, BOOKS[1:]),
        "toml": (check_choices, [CHOICES]),
        "log": (check_log, [LOG]),
        "regions": (check_regions, [REGIONS]),
    }


def main() -> None:
    import atheris

    kind, *options = sys.argv[1:]
    sys.path[:0] = [str(Path(__file__).parents[k]) for k in range(3)]
    with atheris.instrument_imports(include=["kit"]):
        check, first = kinds()[kind]
        check(first[0])  # imports what it needs
    corpus = next((word for word in options if not word.startswith("-")), None)
    if corpus:
        Path(corpus).mkdir(exist_ok=True)
        for k, data in enumerate(first):
            Path(corpus, f"first-{k}").write_bytes(data)
    atheris.Setup([sys.argv[0], *options], lambda data: check(data) and None)
    atheris.Fuzz()


if __name__ == "__main__":
    main()

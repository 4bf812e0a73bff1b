"""Faults in what people typed: facts here, worded in one place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any

N_FAULTS_IN_FULL = 20  # faulty rows of a file (ours)
LEAST_BEGINNING = 4  # letters that tell which word was begun (ours)
_JOINERS = "\u200c\u200d"  # not seen either, but emoji and Persian need them


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong, and where.

    Either `found` and `expected` are given (text, or what becomes text by `str`), or
    `says` holds the sentence (without its full stop). `row` counts as a spreadsheet
    does: the header line is row 1 where it is the first line. `code` is for programs
    and tests; people read `words(fault)`.
    """

    code: str
    found: Any = ""
    expected: Any = ""
    says: str = ""
    advice: str = ""
    file: str = ""
    row: int | None = None
    column: str = ""
    name: str = ""

    def at(self, **place: Any) -> Fault:
        """The same fault with its place (`file`, `row`, `column`, `name`) filled in."""
        return replace(self, **place)

    def __str__(self) -> str:
        return words(self)


class KitError(ValueError):
    """Input that cannot be used. Carries facts (`faults`); `str()` words them.

    Parameters
    ----------
    faults : Fault or iterable of Fault
        What is wrong, and where: file, row, column, name.

    Examples
    --------
    >>> print(KitError(Fault("range", "-5", "0 or more", row=7, column="grams")))
    row 7, grams: found -5, expected 0 or more.
    """

    def __init__(self, faults: Fault | Iterable[Fault]) -> None:
        self.faults = (faults,) if isinstance(faults, Fault) else tuple(faults)
        super().__init__("\n".join(lines(self.faults)))


def words(fault: Fault) -> str:
    """One or two calm sentences: where, what was found, what was expected, what to do.

    >>> words(Fault("range", "-5", "0 or more", file="stash.csv", row=7,
    ...             column="grams", name="Heather 12"))
    'stash.csv, row 7 ("Heather 12"), grams: found -5, expected 0 or more.'
    """
    row = f"row {fault.row}" if fault.row is not None else ""
    if row and fault.name:
        row += f' ("{shorten(fault.name)}")'
    column = shorten(fault.column)
    place = ", ".join(part for part in (fault.file, row, column) if part)
    says = fault.says or f"found {shorten(str(fault.found))}, expected {fault.expected}"
    ending = "" if says.endswith((".", "?")) else "."
    return (f"{place}: " if place else "") + (f"{says}{ending} {fault.advice}").strip()


def lines(faults: tuple[Fault, ...]) -> list[str]:
    """File by file, the first faulty rows in full, then the other rows' numbers."""
    files = dict.fromkeys(f.file for f in faults)
    return [
        text
        for file in files
        for text in _lines_of_file(
            f"{file}: " if file and len(files) > 1 else "",
            [fault for fault in faults if fault.file == file],
        )
    ]


def _lines_of_file(place: str, faults: list[Fault]) -> list[str]:
    rows = list(dict.fromkeys(f.row for f in faults if f.row is not None))
    in_full = set(rows[:N_FAULTS_IN_FULL])
    texts = [words(f) for f in faults if f.row is None or f.row in in_full]
    rest = rows[N_FAULTS_IN_FULL:]
    if rest:
        shown = ", ".join(str(row) for row in rest[:60])
        more = ", …" if len(rest) > 60 else ""
        have = "row has" if len(rest) == 1 else "rows have"
        texts.append(f"{place}{len(rest)} more {have} faults: {shown}{more}.")
    return texts


def unknown(kind: str, word: str, known: Iterable[str]) -> Fault:
    """A word that is not on the list, with the nearest one that is.

    >>> words(unknown("arrangement", "smothest", ["value", "family", "smoothest"]))
    'No arrangement called "smothest". Did you mean "smoothest"? Known: value, family, smoothest.'
    """  # noqa: E501
    known = list(known)
    listed = ", ".join(known[:30]) + (", …" if len(known) > 30 else "") or "none"
    hint = f"{did_you_mean(word, known)} ".lstrip()
    says = f'No {kind} called "{shorten(word)}". {hint}Known: {listed}'
    return Fault("unknown", found=word, says=says)


def did_you_mean(word: str, known: Sequence[str]) -> str:
    """The one word that was begun, or the nearest, as a question; "" for none.

    >>> did_you_mean("smothest", ["value", "family", "smoothest"])
    'Did you mean "smoothest"?'
    """
    folded = {name.casefold(): name for name in reversed(known)}
    begun = [name for name in folded if name.startswith(word.casefold())]
    alone = begun if len(begun) == 1 and len(word) >= LEAST_BEGINNING else []
    near = alone or get_close_matches(word.casefold(), list(folded), n=1, cutoff=0.6)
    return f'Did you mean "{folded[near[0]]}"?' if near else ""


def shorten(text: str, most: int = 60) -> str:
    """Text that fits a message; the middle of a very long one becomes an ellipsis.

    What cannot be seen goes: some of it would move a terminal or turn the line round.

    >>> shorten("Sage \\x1b[31m\\n moss")
    'Sage [31m moss'
    """
    seen = "".join(c for c in text if c.isprintable() or c.isspace() or c in _JOINERS)
    text = " ".join(seen.split())
    if len(text) <= most:
        return text
    return f"{text[: most // 2].rstrip()} … {text[-most // 3 :].lstrip()}"

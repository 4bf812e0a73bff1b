"""Colours from a photograph as rows of a stash: new ones, replaced ones, a note."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path

from kit.blanket import Stash
from kit.blanket.stash_file import (
    cells_of,
    open_stash,
    save_table,
    with_cells,
    with_row,
)
from kit.errors import Fault, KitError, shorten
from kit.files import Table
from kit.files.folders import STASH
from kit.photo.correction import Correction
from kit.photo.marks import SAID, colours_text, spread
from kit.photo.sampling import Sample
from kit.yarn import counted

_NOTE = re.compile(r"(?:; )?colours from a photo[^;]*")


@dataclass(frozen=True, slots=True)
class Rows:
    """A stash's table with yarns from a photo: names `added` below, `replaced` where
    a row of that name got the new colours, `kept` where it stays as it was."""

    table: Table
    added: tuple[str, ...]
    replaced: tuple[str, ...]
    kept: tuple[str, ...]

    def __repr__(self) -> str:
        counts = map(len, (self.added, self.replaced, self.kept))
        return "Rows({} added, {} replaced, {} kept)".format(*counts)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What was put into the stash."""
        said = []
        if n := len(self.added):
            are, its, it = ("is", "Its", "it") if n == 1 else ("are", "Their", "them")
            added = f"{counted(n, 'yarn')} {are} added to {STASH}."
            said.append(f"{added} {its} grams are blank: weigh {it}.")
        if n := len(self.replaced):
            yarns = f"{counted(n, 'yarn')} {'has' if n == 1 else 'have'}"
            said.append(f"{yarns} the colours of the photo; all else is as it was.")
        if self.kept:
            listed = ", ".join(f'"{shorten(name, 30)}"' for name in self.kept)
            said.append(f"In {STASH} already, and left as they are: {listed}.")
        none = "No yarn on the photo has a new name: nothing was added."
        return tuple(said) or (none,)


def rows_from(
    stash: Stash,
    samples: Iterable[tuple[str, Sample]],
    correction: Correction,
    *,
    replacing: bool = False,
) -> Rows:
    """The stash's table with these yarns, by name and sample; grams stay blank.

    A name that is there already keeps its row as it is, or, where `replacing`, gets the
    new colours and the note: label, amount and everything else stay. Raises KitError
    where two samples have one name.
    """
    named = [(tidy(name), sample) for name, sample in samples]
    _check_apart([name for name, _ in named])
    there = places(stash)
    numbered = "no" in stash.table.columns
    added: list[str] = []
    replaced: list[str] = []
    kept: list[str] = []
    for name, sample in named:
        at = there.get(name.casefold())
        if at is None:
            no = 1 + max((yarn.no for yarn in stash.yarns), default=0) + len(added)
            cells = _cells(name, sample, correction)
            cells |= {"no": str(no)} if numbered else {}
            stash = replace(stash, table=with_row(stash, cells))
            added.append(name)
        elif replacing:
            new = _new_colours(cells_of(stash.table, at), sample, correction)
            stash = replace(stash, table=with_cells(stash.table, at, new))
            replaced.append(name)
        else:
            kept.append(name)
    return Rows(stash.table, tuple(added), tuple(replaced), tuple(kept))


def add_to_stash(
    folder: str | Path,
    samples: Iterable[tuple[str, Sample]],
    correction: Correction,
    *,
    replacing: bool = False,
) -> Rows:
    """Put named yarns into a blanket's stash.csv. Raises KitError, all as it was."""
    file = open_stash(folder)
    named = [(name, one) for name, one in samples if tidy(name)]
    rows = rows_from(file.stash, named, correction, replacing=replacing)
    save_table(file, rows.table)
    return rows


def note(sample: Sample, correction: Correction) -> str:
    """Where a row's colours came from, and how good they are."""
    by = SAID.get(correction.kind, correction.kind)
    return f"colours from a photo, {by}, about ±{ceil(spread(sample))} ΔE00"


def places(stash: Stash) -> dict[str, int]:
    """Where each yarn stands in the file, by its name in small letters."""
    return {tidy(yarn.name).casefold(): at for at, yarn in enumerate(stash.yarns)}


def tidy(name: str) -> str:
    """A name with one blank between its words and none around them."""
    return " ".join(name.split())


def _check_apart(names: Sequence[str]) -> None:
    folded = [name.casefold() for name in names]
    for name in names:
        n = folded.count(name.casefold())
        if n > 1:
            says = f'{n} regions are called "{shorten(name)}"'
            advice = "Give each its own name, or remove one: one region makes one row."
            raise KitError(Fault("equal_names", says=says, advice=advice))


def _cells(name: str, sample: Sample, correction: Correction) -> dict[str, str]:
    return {
        "name": name,
        "colours": colours_text(sample.mix),
        "style": sample.style,
        "notes": note(sample, correction),
    }


def _new_colours(
    cells: Mapping[str, str], sample: Sample, correction: Correction
) -> dict[str, str]:
    """New colours for a row; an older note of this kind gives way, others stay."""
    before = _NOTE.sub("", cells.get("notes", "")).removeprefix("; ")
    notes = "; ".join(filter(None, [before, note(sample, correction)]))
    new = {"colours": colours_text(sample.mix), "notes": notes}
    return (
        new if cells.get("style") == "self-striping" else new | {"style": sample.style}
    )

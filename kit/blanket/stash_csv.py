"""stash.csv as a Stash, with what was assumed of it in sentences, and back."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import count

import numpy as np

from kit.blanket.stash import Stash, Yarn, YarnLabel, first_dozen, n_have
from kit.blanket.stash_rows import (
    LEFT_M,
    MASSES,
    PER_100G,
    StashRow,
    read_lines,
    unlikely,
)
from kit.colour import ciede2000
from kit.colour.families import FAMILIES, family_named
from kit.colour.notation import SURVEY, named_otherwise, read_colour
from kit.colour.spaces import Lab, hex_to_lab, lab_to_hex
from kit.errors import Fault, KitError, shorten
from kit.files.table import csv_text
from kit.yarn import weight_class
from kit.yarn.weight_classes import WeightClass, typical_metres_per_100g

DEFAULT_WEIGHT = "fingering"
DEFAULT_SURFACE = "smooth"
DEFAULT_ROLE = "use"
FAR_NAMES = 10.0  # dE00: lists of names further apart than this are told (ours)

_BARE_HEX = re.compile(r"(?:(?<=,)|^)(\s*)(?=(?:[0-9a-fA-F]{3}){1,2}\s*(?:,|$|\s\d))")


def read_stash(data: bytes, *, file: str = "stash.csv") -> Stash:
    """The bytes of a stash.csv (or a shop.csv) as a Stash.

    Raises one KitError that holds every fault.

    >>> read_stash(b"name,colours,grams\\nSage,#9caf88,50\\n").yarns
    (Yarn(1 Sage, Mix(#9caf88 100%; L* 69.1), 50 g),)
    """
    table, lines = read_lines(data, file)
    names = _told_apart([line.values["name"] for line in lines])
    tags = _filled_tags([line.values.get("no") for line in lines])
    yarns = tuple(map(_yarn, lines, names, tags))
    assumed = (*_rough(lines, yarns), *_defaults(lines, yarns))
    notes = (
        *table.notes,
        *_equal_names(lines, yarns, file),
        *_marks(lines, file),
        *unlikely(lines, file),
    )
    if faults := _family_faults(yarns, lines, file):
        raise KitError(faults)
    return Stash(yarns, table, assumed, notes)


def csv_of(stash: Stash) -> str:
    """The stash as the text of a stash.csv, every hex colour with its `#`."""
    at = stash.table.columns.index("colours")
    rows = []
    for row in stash.table.rows:
        cells = list(row.cells)
        cells[at] = _BARE_HEX.sub(r"\1#", cells[at])
        rows.append(replace(row, cells=tuple(cells)))
    return csv_text(replace(stash.table, rows=tuple(rows)))


def _yarn(line: StashRow, name: str, no: int) -> Yarn:
    values, cells = line.values, line.cells
    mix, _ = values["colours"]
    weight: WeightClass = values.get("weight") or weight_class(DEFAULT_WEIGHT)
    length = line.first(*PER_100G)
    style = "solid" if len(mix.labs) == 1 else "variegated"
    label = YarnLabel(
        weight=weight.name,
        metres_per_100g=typical_metres_per_100g(weight) if length is None else length,
        typical=length is None,
        style=values.get("style") or style,
        surface=values.get("surface") or DEFAULT_SURFACE,
        fibre=cells.get("fibre", ""),
        lot=cells.get("lot", ""),
        care=cells.get("care", ""),
    )
    grams, metres = line.first(*MASSES), line.first(*LEFT_M)
    if metres is None and grams is not None:
        metres = grams * label.metres_per_100g / 100
    role = values.get("role") or DEFAULT_ROLE
    if metres == 0:  # told among the notes
        role = "leave out"
    return Yarn(name, no, mix, grams, metres, label, cells.get("family", ""), role)


def _family_faults(
    yarns: Sequence[Yarn], lines: Sequence[StashRow], file: str
) -> list[Fault]:
    """Cells of the column family that name none, each with its row."""
    faults: list[Fault] = []
    for yarn, line in zip(yarns, lines, strict=True):
        try:
            family_named(yarn.family or FAMILIES[0])
        except KitError as error:
            place = {"row": line.number, "column": "family", "name": yarn.name}
            faults += (fault.at(file=file, **place) for fault in error.faults)
    return faults


def _filled_tags(given: Sequence[int | None]) -> list[int]:
    """The given numbers; the others get the lowest free ones in file order."""
    taken = set(given)
    free = (no for no in count(1) if no not in taken)
    return [next(free) if no is None else no for no in given]


def _told_apart(names: Sequence[str]) -> list[str]:
    """Equal names with (2), (3) … behind, none of which is another yarn's name."""
    taken, apart = set(names), []
    used: set[str] = set()
    numbers: dict[str, Iterator[int]] = {}
    for name in names:
        unique = name
        while unique in used or (unique in taken and unique != name):
            unique = f"{name} ({next(numbers.setdefault(name, count(2)))})"
        used.add(unique)
        apart.append(unique)
    return apart


# --- what the user should be told -----------------------------------------------------


def _equal_names(
    lines: Sequence[StashRow], yarns: Sequence[Yarn], file: str
) -> Iterator[str]:
    by_name: dict[str, list[tuple[StashRow, Yarn]]] = {}
    for line, yarn in zip(lines, yarns, strict=True):
        by_name.setdefault(line.values["name"], []).append((line, yarn))
    for name, same in by_name.items():
        if len(same) > 1:
            rows = _rows([line for line, _ in same], file)
            yield (
                f'{rows} have one name, "{shorten(name)}". The file keeps it; from the '
                f'second on they are told apart as "{shorten(same[1][1].name)}".'
            )


def _marks(lines: Sequence[StashRow], file: str) -> Iterator[str]:
    marked = [line for line in lines if line.marked]
    if marked:
        yield (
            f"{_rows(marked, file)}: marks that cannot be seen, some of which turn the "
            "writing direction, were left out in reading."
        )


def _rough(lines: Sequence[StashRow], yarns: Sequence[Yarn]) -> Iterator[str]:
    named = [
        f"{yarn.name} ({', '.join(map(_taken_as, line.values['colours'][1]))})"
        for line, yarn in zip(lines, yarns, strict=True)
        if line.values["colours"][1]
    ]
    if named:
        said = f"{n_have(named)} colours by name, taken as rough"
        yield f"{said}: {first_dozen(sorted(named))}."
        yield from _disputed(lines, yarns)


def _disputed(lines: Sequence[StashRow], yarns: Sequence[Yarn]) -> Iterator[str]:
    """Names that the two lists give to colours far apart, one sentence each."""
    whose: dict[str, list[str]] = {}
    for line, yarn in zip(lines, yarns, strict=True):
        for name in line.values["colours"][1]:
            whose.setdefault(name.casefold(), []).append(yarn.name)
    for name, owners in sorted(whose.items()):
        survey = named_otherwise(name)
        if survey is None:
            continue
        taken, other = read_colour(name)[0], hex_to_lab(survey)
        apart = float(ciede2000(np.array(taken), np.array(other)))
        if apart > FAR_NAMES:
            yield (
                f'"{name}" is two colours ({first_dozen(sorted(owners))}): on the web '
                f"{_in_short(taken)}, which is taken; in the xkcd survey "
                f"{_in_short(other)}, {apart:.0f} ΔE00 away. For that one write "
                f"{SURVEY}{name}; a code is better."
            )


def _taken_as(name: str) -> str:
    return f"{name} as {_in_short(read_colour(name)[0])}"


def _in_short(lab: Lab) -> str:
    return f"{lab_to_hex(lab)}, L* {lab[0]:.0f}"


def _defaults(lines: Sequence[StashRow], yarns: Sequence[Yarn]) -> Iterator[str]:
    for column, default in (("weight", DEFAULT_WEIGHT), ("surface", DEFAULT_SURFACE)):
        blank = [
            yarn.name
            for line, yarn in zip(lines, yarns, strict=True)
            if not line.cells.get(column)
        ]
        if blank:
            said = f"{n_have(blank)} no {column} given: {default} is assumed"
            yield f"{said}: {first_dozen(sorted(blank))}."


def _rows(lines: Sequence[StashRow], file: str) -> str:
    kind = "row" if len(lines) == 1 else "rows"
    return f"{file}, {kind} {first_dozen([str(line.number) for line in lines])}"

"""The stash: yarns and what was assumed about them, from stash.csv and back."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count

import numpy as np

from kit.blanket.stash_rows import (
    LEFT_M,
    MASSES,
    PER_100G,
    StashRow,
    read_lines,
    unlikely,
)
from kit.colour import Mix, ciede2000
from kit.colour.families import FAMILIES, family_named
from kit.colour.notation import SURVEY, named_otherwise, read_colour
from kit.colour.spaces import Lab, hex_to_lab, lab_to_hex
from kit.errors import Fault, KitError, shorten
from kit.files import Table
from kit.files.table import csv_text
from kit.late import draws_itself
from kit.yarn import weight_class
from kit.yarn.measures import per_100g
from kit.yarn.yardage import WeightClass, typical_metres_per_100g

DEFAULT_WEIGHT = "fingering"
DEFAULT_SURFACE = "smooth"
DEFAULT_ROLE = "use"
N_NAMES_IN_A_SENTENCE = 12
FAR_NAMES = 10.0  # dE00: lists of names further apart than this are told (ours)

_BARE_HEX = re.compile(r"(?:(?<=,)|^)(\s*)(?=(?:[0-9a-fA-F]{3}){1,2}\s*(?:,|$|\s\d))")


@dataclass(frozen=True, slots=True)
class YarnLabel:
    """What the ball's paper or the file says besides colour and amount; "" if blank.

    `weight` is a class of the Standard Yarn Weight System; `typical` is True where
    `metres_per_100g` is that class's usual figure and not the label's.
    """

    weight: str
    metres_per_100g: float
    typical: bool
    style: str
    surface: str
    fibre: str
    lot: str
    care: str


@draws_itself("kit.pictures.notebook:yarn_svg")
@dataclass(frozen=True, slots=True)
class Yarn:
    """One row of the stash.

    name      unique: equal names are told apart as "Sage (2)"
    no        the number on the ball's tag
    grams     what is left, None where it was not weighed
    metres    what is left: measured, else grams x label; None where neither is known
    family    "" where it is to be computed
    role      one of ROLES
    """

    name: str
    no: int
    mix: Mix
    grams: float | None
    metres: float | None
    label: YarnLabel
    family: str
    role: str

    def __repr__(self) -> str:
        left = "unweighed" if self.grams is None else f"{self.grams:g} g"
        return f"Yarn({self.no} {self.name}, {self.mix!r}, {left})"


@draws_itself("kit.pictures.notebook:stash_svg")
@dataclass(frozen=True, slots=True)
class Stash:
    """The yarns in file order, and the rows as text for writing back.

    assumed   what was taken as rough or by default, in sentences; `assumed_in` says
              what is typical as well
    notes     what the user should be told although the file is used
    """

    yarns: tuple[Yarn, ...]
    table: Table
    assumed: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def mixes(self) -> tuple[Mix, ...]:
        """The yarns' colours, in file order."""
        return tuple(yarn.mix for yarn in self.yarns)

    def __repr__(self) -> str:
        grams = sum(yarn.grams or 0 for yarn in self.yarns)
        return f"Stash({len(self.yarns)} yarns, {grams:g} g)"

    def assumed_in(self, units: str) -> tuple[str, ...]:
        """All that was assumed, in sentences, lengths in these units."""
        return (*self.assumed, *_typical(self.yarns, units))


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


def stash_csv(stash: Stash) -> str:
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
        said = f"{_n_have(named)} colours by name, taken as rough"
        yield f"{said}: {_listed(sorted(named))}."
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
                f'"{name}" is two colours ({_listed(sorted(owners))}): on the web '
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
            said = f"{_n_have(blank)} no {column} given: {default} is assumed"
            yield f"{said}: {_listed(sorted(blank))}."


def _typical(yarns: Sequence[Yarn], units: str) -> Iterator[str]:
    by_label: dict[tuple[float, str], list[str]] = {}
    for yarn in yarns:
        if yarn.label.typical:
            key = (yarn.label.metres_per_100g, yarn.label.weight)
            by_label.setdefault(key, []).append(yarn.name)
    for (length_m, weight), names in sorted(by_label.items()):
        usual = per_100g(length_m, units)
        yield (
            f"{_n_have(names)} no label length: the typical {usual} "
            f"of {weight} is assumed (common practice, no source): "
            f"{_listed(sorted(names))}."
        )


def _n_have(names: Sequence[str]) -> str:
    return "1 yarn has" if len(names) == 1 else f"{len(names)} yarns have"


def _rows(lines: Sequence[StashRow], file: str) -> str:
    kind = "row" if len(lines) == 1 else "rows"
    return f"{file}, {kind} {_listed([str(line.number) for line in lines])}"


def _listed(names: Sequence[str]) -> str:
    more = len(names) - N_NAMES_IN_A_SENTENCE
    rest = f" and {more} more" if more > 0 else ""
    return ", ".join(map(shorten, names[:N_NAMES_IN_A_SENTENCE])) + rest

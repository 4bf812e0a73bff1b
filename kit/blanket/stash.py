"""The stash as values: yarns, what their labels say, and what was assumed of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.colour import Mix
from kit.errors import shorten
from kit.late import draws_itself
from kit.yarn.measures import per_100g

if TYPE_CHECKING:  # so that a yarn does not bring in all that reads files
    from kit.files import Table

N_NAMES_IN_A_SENTENCE = 12


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


def _typical(yarns: Sequence[Yarn], units: str) -> Iterator[str]:
    by_label: dict[tuple[float, str], list[str]] = {}
    for yarn in yarns:
        if yarn.label.typical:
            key = (yarn.label.metres_per_100g, yarn.label.weight)
            by_label.setdefault(key, []).append(yarn.name)
    for (length_m, weight), names in sorted(by_label.items()):
        usual = per_100g(length_m, units)
        yield (
            f"{n_have(names)} no label length: the typical {usual} "
            f"of {weight} is assumed (common practice, no source): "
            f"{first_dozen(sorted(names))}."
        )


def n_have(names: Sequence[str]) -> str:
    """How many yarns have something, as a sentence begins."""
    return "1 yarn has" if len(names) == 1 else f"{len(names)} yarns have"


def first_dozen(names: Sequence[str]) -> str:
    """Names for a sentence: the first dozen, and how many more there are."""
    more = len(names) - N_NAMES_IN_A_SENTENCE
    rest = f" and {more} more" if more > 0 else ""
    return ", ".join(map(shorten, names[:N_NAMES_IN_A_SENTENCE])) + rest

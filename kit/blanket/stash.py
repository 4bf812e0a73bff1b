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

    Attributes
    ----------
    weight : str
        A class of the Standard Yarn Weight System.
    metres_per_100g : float
        Length of 100 g, in m.
    typical : bool
        Whether that length is the class's usual one and not the label's.
    style : str
        How the colours lie along the strand: solid, tonal, variegated and so on.
    surface : str
        "smooth" or "fluffy".
    fibre : str
        As typed.
    lot : str
        Dye lot, as typed.
    care : str
        As typed.
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

    Attributes
    ----------
    name : str
        Unique: equal names are told apart as "Sage (2)".
    no : int
        The number on the ball's tag; no unit.
    mix : Mix
        Its colours.
    grams : float or None
        What is left, in g; None where it was not weighed.
    metres : float or None
        What is left, in m: measured, else grams x label; None where neither is known.
    label : YarnLabel
        What the ball's paper says.
    family : str
        As typed; "" where it is to be computed.
    role : str
        "use", "accent", "bridge" or "leave out".
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

    Attributes
    ----------
    yarns : tuple of Yarn
        Masses in g, lengths in m.
    table : Table
        The rows as they were typed.
    assumed : tuple of str
        What was taken as rough or by default, in sentences; `assumed_in` says what is
        typical as well.
    notes : tuple of str
        What the user should be told although the file is used.
    mixes : tuple of Mix
        The colours of the yarns, in file order.
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

    def assumed_in(self, units: str = "metric") -> tuple[str, ...]:
        """All that was assumed, in sentences.

        Parameters
        ----------
        units : str
            "metric" or "imperial": what lengths are told in.

        Returns
        -------
        tuple of str
            What was taken as rough, by default, or as typical.
        """
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

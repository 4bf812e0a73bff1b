"""What the stash holds: totals by family and weight class; a table of it as text."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from kit.arrangement.orders import family_name, value_of
from kit.blanket import Yarn
from kit.colour.families import FAMILIES
from kit.colour.mixes import hex_shares
from kit.yarn import counted, length, mass
from kit.yarn.weight_classes import WEIGHTS

LEFT_OUT = "left out"


def group_of(yarn: Yarn) -> str:
    """A yarn's family, or "left out"."""
    return LEFT_OUT if yarn.role == "leave out" else family_name(yarn)


@dataclass(frozen=True, slots=True)
class Total:
    """What a group of balls adds up to, as far as it is known.

    `n_assumed` of their lengths rest on the typical figure of a weight class;
    `n_unweighed` balls are in neither grams nor metres.
    """

    name: str
    n_balls: int
    grams: float
    metres: float
    n_assumed: int
    n_unweighed: int


def total(name: str, yarns: Iterable[Yarn]) -> Total:
    """The sum over some yarns, whatever their role."""
    yarns = tuple(yarns)
    return Total(
        name,
        len(yarns),
        sum(yarn.grams or 0.0 for yarn in yarns),
        sum(yarn.metres or 0.0 for yarn in yarns),
        sum(yarn.label.typical and yarn.metres is not None for yarn in yarns),
        sum(yarn.grams is None and yarn.metres is None for yarn in yarns),
    )


def totals_by_family(yarns: Iterable[Yarn]) -> tuple[Total, ...]:
    """A total for each family that is there, what is left out at the end."""
    return _totals(yarns, [*FAMILIES, LEFT_OUT], group_of)


def totals_by_weight(yarns: Iterable[Yarn]) -> tuple[Total, ...]:
    """A total for each weight class that is there, thinnest first; none left out."""
    used = [yarn for yarn in yarns if yarn.role != "leave out"]
    return _totals(used, [one.name for one in WEIGHTS], lambda yarn: yarn.label.weight)


def _totals(
    yarns: Iterable[Yarn], names: Iterable[str], key: Callable[[Yarn], str]
) -> tuple[Total, ...]:
    groups: dict[str, list[Yarn]] = {name: [] for name in names}
    for yarn in yarns:
        groups[key(yarn)].append(yarn)
    return tuple(total(name, group) for name, group in groups.items() if group)


def total_line(yarns: Iterable[Yarn], units: str = "metric") -> str:
    """The whole stash in one sentence; what is left out is named apart."""
    yarns = tuple(yarns)
    used = [yarn for yarn in yarns if yarn.role != "leave out"]
    one = total("", used)
    words = f"{counted(one.n_balls, 'ball')}: {_amount(one, units)}"
    if one.n_assumed:
        words += f", {one.n_assumed} of them by a typical length"
    if one.n_unweighed:
        words += f"; {one.n_unweighed} not weighed"
    if len(used) < len(yarns):
        rest = total("", (yarn for yarn in yarns if yarn.role == "leave out"))
        words += f". Left out: {counted(rest.n_balls, 'ball')}, {_amount(rest, units)}"
    return f"{words}."


def _amount(one: Total, units: str) -> str:
    return f"{mass(one.grams, units)}, {length(one.metres, units)}"


def total_rows(totals: Iterable[Total], units: str = "metric") -> list[list[str]]:
    """Totals as rows of text: name, balls, grams, metres, remarks."""
    rows = []
    for one in totals:
        remarks = []
        if one.n_assumed:
            remarks.append(f"{one.n_assumed} by typical length")
        if one.n_unweighed:
            remarks.append(f"{one.n_unweighed} not weighed")
        amounts = [mass(one.grams, units), length(one.metres, units)]
        rows.append([one.name, str(one.n_balls), *amounts, ", ".join(remarks)])
    return rows


# --- the table ------------------------------------------------------------------------

HEADINGS = (
    "no.", "name", "family", "L*", "left", "length", "in 100 g", "weight", "style",
    "role",
)  # fmt: skip
N_RIGHT = (0, 3, 4, 5, 6)  # columns of numbers


def table_rows(yarns: Iterable[Yarn], units: str = "metric") -> list[list[str]]:
    """One row of text for each yarn, under HEADINGS; `~` marks what is assumed."""
    return [_table_row(yarn, units) for yarn in yarns]


def _table_row(yarn: Yarn, units: str) -> list[str]:
    about = "~" if yarn.label.typical else ""
    return [
        str(yarn.no),
        yarn.name,
        family_name(yarn),
        f"{value_of(yarn):.0f}",
        "" if yarn.grams is None else mass(yarn.grams, units),
        "" if yarn.metres is None else length(yarn.metres, units),
        about + length(yarn.label.metres_per_100g, units),
        yarn.label.weight,
        yarn.label.style,
        yarn.role,
    ]


def largest_colours(yarn: Yarn) -> list[tuple[str, float]]:
    """A yarn's colours with their shares, largest first, for a small swatch."""
    return sorted(hex_shares(yarn.mix), key=lambda one: -one[1])


def stash_frame(yarns: Iterable[Yarn]) -> Any:
    """The stash as a pandas DataFrame, one row a yarn, for those who compute."""
    import pandas as pd

    rows = [
        {
            "no": yarn.no,
            "name": yarn.name,
            "family": family_name(yarn),
            "L*": round(value_of(yarn), 1),
            "grams": yarn.grams,
            "metres": yarn.metres,
            "metres_per_100g": yarn.label.metres_per_100g,
            "assumed": yarn.label.typical,
            "weight": yarn.label.weight,
            "style": yarn.label.style,
            "role": yarn.role,
        }
        for yarn in yarns
    ]
    return pd.DataFrame(rows).set_index("no") if rows else pd.DataFrame()

"""Whether halving the balls or pairing look-alikes suits a mirrored blanket, told."""

from __future__ import annotations

from dataclasses import dataclass

from kit.fabric.fabric import Fabric
from kit.fabric.strands import ROWS_APART
from kit.yarn import size

WAYS = {
    "halve": "halving every ball",
    "pair": "pairing look-alikes, no ball cut,",
}


@dataclass(frozen=True, slots=True)
class Shared:
    """A blanket knitted in one of the two ways, and its largest step between stripes,
    dE00."""

    sharing: str
    fabric: Fabric
    largest: float


def which_suits(chosen: Shared, other: Shared) -> str:
    """The way that suits: the one that reaches the wished length; where neither does,
    that which gets further by four rows; else that with the smaller largest step."""
    if _by_length(chosen, other):
        return max(chosen, other, key=lambda way: way.fabric.rows).sharing
    return min(chosen, other, key=lambda way: way.largest).sharing


def _by_length(chosen: Shared, other: Shared) -> bool:
    """Whether how far they reach decides. Knitted until the yarn ends it never does:
    any length will do."""
    short = [way.fabric.short is not None for way in (chosen, other)]
    apart = abs(other.fabric.rows - chosen.fabric.rows) >= ROWS_APART
    return short[0] != short[1] or (all(short) and apart)


def sharing_words(
    chosen: Shared, other: Shared, units: str = "metric", *, wished: bool = True
) -> str:
    """How far both ways reach and how they flow, and which suits this stash. `wished`:
    a length is, else it is knitted until the yarn ends."""
    by = "length" if _by_length(chosen, other) else "steps"
    full = "the full " if wished else ""
    ways = f"{_told(chosen, units, full)}; {_told(other, units, full)}"
    return (
        f"{ways[0].upper()}{ways[1:]}. By the {by}, sharing = "
        f'"{which_suits(chosen, other)}" suits this stash.'
    )


def _told(way: Shared, units: str, full: str) -> str:
    fabric = way.fabric
    long = size(fabric.length_cm, units)
    reach = f"reaches {full}{long}" if fabric.short is None else f"stops at {long}"
    return (
        f"{WAYS[way.sharing]} {reach} with a largest step between stripes of "
        f"{way.largest:.1f}"
    )

"""The yarns of a plan one by one: what becomes of each, and a tag for its ball."""

from __future__ import annotations

from dataclasses import dataclass

from kit.blanket import Yarn
from kit.fabric import rows_to_knit
from kit.fabric.fabric import Use
from kit.fabric.schedule import BallPart, Change, Entry, winding
from kit.plan import Plan
from kit.plan.facts import use_of
from kit.plan.middle import half_words


@dataclass(frozen=True, slots=True)
class Material:
    """A yarn and what becomes of it: `use` is None where it has no place, `ends` tells
    where each of its parts ends, `wound` what to wind off it before casting on."""

    yarn: Yarn
    use: Use | None
    ends: tuple[Change, ...]
    wound: tuple[BallPart, ...] = ()


@dataclass(frozen=True, slots=True)
class Tag:
    """A tag for a ball or a part of one: from row to row, where it is knitted, and in
    which half of a mirrored blanket a part of it is."""

    yarn: Yarn
    part: BallPart | None
    first_row: int | None
    last_row: int | None
    half: str = ""


def materials(plan: Plan) -> tuple[Material, ...]:
    """Every yarn of the stash by its number, and skeins of the shop that are used."""
    fabric = plan.fabric
    owned = sorted(plan.stash.yarns, key=lambda yarn: yarn.no)
    if fabric is None:
        return tuple(Material(yarn, None, ()) for yarn in owned)
    bought = [use.yarn for use in fabric.uses if use.yarn not in owned]
    ends = [end for entry in _entries(plan) for end in entry.ends]
    parted = () if plan.start.row else winding(fabric, plan.choices)
    wound = {parts[0].yarn.name: parts for parts in parted}
    return tuple(
        Material(
            yarn,
            use_of(yarn, fabric),
            tuple(end for end in ends if end.part.yarn == yarn),
            wound.get(yarn.name, ()),
        )
        for yarn in (*owned, *bought)
    )


def tags(plan: Plan) -> tuple[Tag, ...]:
    """One for each ball along the blanket, in the order in which they are joined; the
    parts of a shared ball have one each."""
    if plan.fabric is None:
        yarns = dict.fromkeys(plan.design.laid.yarns)
        return tuple(Tag(yarn, None, None, None) for yarn in yarns)
    width = plan.fabric.stitches
    parts: dict[BallPart, None] = {}
    for entry in _entries(plan):
        parts |= dict.fromkeys(change.part for change in entry.joins)
    return tuple(
        Tag(
            part.yarn,
            part,
            part.first // width + 1,
            (part.last - 1) // width + 1,
            half_words(part, plan),
        )
        for part in parts
    )


def _entries(plan: Plan) -> tuple[Entry, ...]:
    return rows_to_knit(plan.fabric, plan.choices) if plan.fabric else ()

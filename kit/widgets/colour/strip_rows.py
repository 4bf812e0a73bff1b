"""What the strip shows: yarns, steps and lines of text as plain values for a page."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from kit.arrangement.design import measure
from kit.arrangement.layout import Laid
from kit.arrangement.manual import ManualOrder
from kit.arrangement.orders import family_name, value_of
from kit.blanket import Yarn
from kit.blanket.choices import Judging
from kit.colour import Step
from kit.colour.steps import (
    hue_turns,
    largest_step,
    median_step,
    out_of_order,
    step_words,
)
from kit.pictures.swatches import bands, mark_of
from kit.yarn import counted

LATE = 0.5  # L*: a yarn out of value order by less is not marked


def yarn_row(yarn: Yarn, source: str) -> dict[str, Any]:
    """One yarn: its texts, and its colours as runs of [hex, share], also in greys."""
    paint, grey = (
        [[band.colour, round(band.length, 4)] for band in bands(yarn, grey=grey)]
        for grey in (False, True)
    )
    return {
        "name": yarn.name,
        "no": str(yarn.no),
        "value": f"{value_of(yarn):.0f}",
        "family": family_name(yarn),
        "accent": yarn.role == "accent",
        "source": source,
        "paint": paint,
        "grey": grey,
    }


def line_steps(line: Sequence[Yarn], judging: Judging) -> tuple[Step, ...]:
    """The steps along a line of yarns and bridges."""
    return measure(Laid(tuple(line)), judging)


def member_rows(
    hand: ManualOrder,
    yarns: Sequence[Yarn],
    at: Mapping[str, int],
    by_itself: frozenset[str],
    *,
    by_family: bool,
) -> list[dict[str, Any]]:
    """The members of the run: which yarn, and its marks in words.

    Families turn round on purpose, so value order is not told where they are the
    ground of the order.
    """
    order = [yarn for yarn in yarns if yarn.name not in hand.bridges]
    late = {} if by_family else out_of_order([value_of(yarn) for yarn in order])
    off = {order[i].name: amount for i, amount in late.items() if amount >= LATE}
    rows = []
    for yarn in yarns:
        name = yarn.name
        bridge = "" if name not in hand.bridges else "bridge"
        if name in by_itself:
            bridge = "bridge, put in by the kit"
        rows.append(
            {
                "yarn": at[name],
                "bridge": bridge,
                "locked": name in hand.locked,
                "tied": any(pair[0] == name for pair in hand.pairs),
                "late": f"{off[name]:.0f}" if name in off else "",
            }
        )
    return rows


def step_rows(line: Sequence[Yarn], steps: Sequence[Step]) -> list[dict[str, Any]]:
    """The steps between the members: number, mark, and all of it in words."""
    return [
        {
            "size": f"{step.size:.0f}",
            "mark": mark_of(step),
            "loud": step.jump and step.counts,
            "words": f"{one.name} → {two.name}: "
            + step_words(step, one.mix, two.mix)
            + ".",
        }
        for one, two, step in zip(line, line[1:], steps, strict=False)
    ]


def number_line(
    line: Sequence[Yarn], steps: Sequence[Step], bridges: Collection[str], how: str
) -> str:
    """The run in numbers: how it came about, largest and median step, hue turns."""
    turns = hue_turns([yarn.mix for yarn in line])
    return (
        f"{_count(line, bridges)} in the run, {how}: largest step "
        f"{largest_step(steps):.1f}, median {median_step(steps):.1f}, "
        f"{counted(turns, 'hue turn')} over 60°"
    )


def _count(line: Sequence[Yarn], bridges: Collection[str]) -> str:
    words = counted(len(line) - len(bridges), "yarn")
    if bridges:
        words += f" and {counted(len(bridges), 'bridge')}"
    return words


def best_place(
    line: Sequence[Yarn], yarn: Yarn, judging: Judging, *, inner: bool = False
) -> int:
    """Where a yarn fits best in a line: the larger of its steps smallest, then both
    together; the first such place. `inner`: at neither end, if there is such a place.
    """
    steps = [line_steps((yarn, one), judging)[0] for one in line]
    sizes = [step.size if step.counts else 0.0 for step in steps]
    both = list(zip([0.0, *sizes], [*sizes, 0.0], strict=True))
    places = range(1, len(line)) if inner else range(len(both))
    places = places or range(len(both))
    return min(places, key=lambda k: (round(max(both[k]), 9), round(sum(both[k]), 9)))


# --- what was done, in words ----------------------------------------------------------


def act_said(
    kind: str,
    name: str,
    hands: tuple[ManualOrder, ManualOrder],
    yarns: Mapping[str, Yarn],
    judging: Judging,
) -> str:
    """What an act did, from the hand before to the one after, in a sentence or two."""
    old, new = hands
    if kind in ("lock", "tie"):
        held = new.locked if kind == "lock" else {pair[0] for pair in new.pairs}
        return f"{name} {HELD[kind, name in held]}."
    if new.line == old.line:
        return f"{name} stays where it is."
    lines = [[yarns[one] for one in hand.line] for hand in hands]
    was, now = (line_steps(line, judging) for line in lines)
    gone = [one for one in old.line if one in old.bridges - new.bridges - {name}]
    told = [f"{one} is below again: it bridges nothing here." for one in gone]
    if name in new.bridges:
        return " ".join([_bridge_said(name, lines[1], was, now, judging), *told])
    places = [hand.line.index(name) + 1 for hand in hands if name in hand.line]
    if name not in new.line:
        where = "is below again" if name in old.bridges else "is left out"
    elif name not in old.line:
        where = f"is back, at place {places[0]}"
    else:
        where = f"goes from place {places[0]} to {places[1]}"
    return " ".join([f"{name} {where}. {steps_said(was, now)}", *told])


HELD = {
    ("lock", True): "is locked in its place",
    ("lock", False): "is free to move",
    ("tie", True): "stays beside the next",
    ("tie", False): "may part from the next",
}


def steps_said(was: Sequence[Step], now: Sequence[Step]) -> str:
    """The largest and the median step, before and after."""
    return (
        f"Largest step {largest_step(was):.1f} to {largest_step(now):.1f}, median "
        f"{median_step(was):.1f} to {median_step(now):.1f}."
    )


def _bridge_said(
    name: str,
    line: Sequence[Yarn],
    was: Sequence[Step],
    now: Sequence[Step],
    judging: Judging,
) -> str:
    """What a bridge does where it stands in the line: its gap, and the whole."""
    names = [yarn.name for yarn in line]
    k = names.index(name)
    gap = line_steps((line[k - 1], line[k + 1]), judging)[0].size
    one, two = now[k - 1 : k + 1]
    return (
        f"Bridge {name} between {names[k - 1]} and {names[k + 1]}: the step of "
        f"{gap:.1f} becomes {one.size:.1f} and {two.size:.1f}. {steps_said(was, now)}"
    )

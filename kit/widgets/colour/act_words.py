"""What hands did to the run, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from kit.arrangement.manual import ManualOrder
from kit.blanket import Yarn
from kit.blanket.choices import Judging
from kit.colour import Step
from kit.colour.steps import largest_step, median_step
from kit.widgets.colour.strip_rows import line_steps


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
    told = gone_said(old, new, but=name)
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


def gone_said(old: ManualOrder, new: ManualOrder, *, but: str = "") -> list[str]:
    """Bridges that lost the gap they stood in."""
    gone = [one for one in old.line if one in old.bridges - new.bridges - {but}]
    return [f"{one} is below again: it bridges nothing here." for one in gone]


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

"""What hands do to the run: one act after the other, each to a new state of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kit.arrangement.manual import (
    ManualOrder,
    bring_back,
    leave_out,
    move,
    put_bridge,
    put_in_order,
    shift,
    switch_lock,
    switch_tie,
)
from kit.blanket import Yarn
from kit.blanket.choices import ORDER_WORDS, Judging
from kit.blanket.keys import as_toml
from kit.widgets.colour.act_words import act_said, gone_said, steps_said
from kit.widgets.colour.state import ColourState
from kit.widgets.colour.strip import END, Act
from kit.widgets.colour.strip_rows import line_steps


def played(state: ColourState, act: Act) -> ManualOrder:
    """The run after a yarn or bridge was moved, locked, tied, left out, brought back or
    put in. Raises KitError where that cannot be."""
    hand, names = state.hand, list(state.pool.every)
    name = names[act.yarn]
    before = None if act.before == END else names[act.before]
    if act.kind == "place":
        before = _best_before(state, name)
    acts: dict[str, Callable[[], ManualOrder]] = {
        "shift": lambda: shift(hand, name, act.by),
        "out": lambda: leave_out(hand, name),
        "lock": lambda: switch_lock(hand, name),
        "tie": lambda: switch_tie(hand, name),
    }
    put = move if name in hand.line else put_bridge
    put = bring_back if name in hand.left_out else put
    return acts.get(act.kind, lambda: put(hand, name, before))()


def played_words(state: ColourState, act: Act, new: ManualOrder) -> str:
    """What an act did, in a sentence or two."""
    name = list(state.pool.every)[act.yarn]
    hands, judging = (state.hand, new), state.choices.judging
    return act_said(act.kind, name, hands, state.pool.every, judging)


def _best_before(state: ColourState, name: str) -> str | None:
    """What a yarn or bridge from below would stand before where it fits best."""
    hand, judging = state.hand, state.choices.judging
    inner = name not in hand.left_out  # a bridge stands between two
    place = best_place(state.line, state.pool.every[name], judging, inner=inner)
    return hand.line[place] if place < len(hand.line) else None


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


def hand_changes(
    state: ColourState, new: ManualOrder, *, act: Act | None = None
) -> dict[str, Any]:
    """The keys of [colours] that keep a run made by hand.

    Bridges kept for yarns that lie in neither run stay. A bridge taken out by `act` is
    not put in again by itself.
    """
    old, bridging = state.hand, state.choices.bridging
    known = {*old.line, *new.line}
    aside = [kept for kept in bridging.bridges_kept if kept.yarn not in known]
    locked = sorted(new.locked, key=new.line.index)
    changes: dict[str, Any] = {
        "order": list(new.order),
        "locked": as_toml((*locked, *new.pairs)),
        "left_out": as_toml(new.left_out),
        "bridges_kept": as_toml((*new.kept, *aside)),
    }
    if act and act.kind == "out" and list(state.pool.every)[act.yarn] in old.bridges:
        changes["bridges"] = min(bridging.bridges, len(new.bridges))
    return changes


def rearranged(
    state: ColourState, order: Sequence[Yarn], way: str
) -> tuple[ManualOrder, str]:
    """The run with its yarns in another order, and what came of it in words."""
    was, judging = state.hand, state.choices.judging
    new = put_in_order(was, [yarn.name for yarn in order])
    held = " round what is held" if was.locked or was.pairs else ""
    told = [f"Arranged {ORDER_WORDS[way]}{held}."]
    if new != was:
        old, now = (line_steps(state.pool.line(h.line), judging) for h in (was, new))
        told.append(steps_said(old, now))
    return new, " ".join([*told, *gone_said(was, new)])

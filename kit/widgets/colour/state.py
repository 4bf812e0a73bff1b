"""What the colour desk knows at one moment: one value, which its panels show."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Any

from kit.arrangement import lay_out
from kit.arrangement.manual import History, ManualOrder, manual_order
from kit.blanket import Blanket, Choices, Yarn
from kit.blanket.choices import BY_HAND
from kit.blanket.keys import as_toml
from kit.plan import Plan
from kit.widgets.lines import Lines

MOST_SHOWN = 60  # skeins of a shop on the shelf below the strip


@dataclass(frozen=True, slots=True)
class Turn:
    """What undo goes back to: the run, and the choices that keep it."""

    hand: ManualOrder
    kept: tuple[tuple[str, Any], ...]


@dataclass(frozen=True, slots=True)
class Pool:
    """Every yarn there is, by name, in the order in which the page numbers them: the
    stash, and of the shop the first few with all that are spoken of."""

    every: Mapping[str, Yarn]
    of_shop: frozenset[str]
    n_in_shop: int

    @property
    def at(self) -> dict[str, int]:
        """The page's number of each yarn."""
        return {name: k for k, name in enumerate(self.every)}

    def line(self, names: Sequence[str]) -> tuple[Yarn, ...]:
        return tuple(self.every[name] for name in names)


@dataclass(frozen=True, slots=True)
class ColourState:
    """A blanket with what is chosen now, the run, and the last plan worked out.

    After a move the plan is still that of the run before. `small` is the fabric as PNG
    where it is drawn already. `said` is what the strip is to say, None what it says
    already. `tried`: a plan that is only looked at; `settled`: one that stays.
    """

    blanket: Blanket
    plan: Plan
    pool: Pool
    history: History[Turn]
    small: bytes = b""
    said: str | None = None
    tried: bool = False
    settled: bool = False

    @property
    def choices(self) -> Choices:
        return self.blanket.choices

    @property
    def hand(self) -> ManualOrder:
        return self.history.now.hand

    @property
    def line(self) -> tuple[Yarn, ...]:
        """The yarns and bridges of the run."""
        return self.pool.line(self.hand.line)

    @property
    def planned(self) -> bool:
        """Whether the plan is one of this very run, laid out and judged as chosen."""
        plan, now = self.plan.choices, self.choices
        same = (plan.laying, plan.judging) == (now.laying, now.judging)
        return same and turn_of(self.plan, self.pool).hand == self.hand

    @property
    def laid(self) -> tuple[Yarn, ...]:
        """The yarns as they lie along the blanket."""
        if self.planned:
            return self.plan.design.laid.yarns
        return lay_out(self.line, self.choices.laying).yarns

    def with_plan(self, plan: Plan, small: bytes = b"") -> ColourState:
        """The same with another plan and its run, which is no turn."""
        history = replace(self.history, now=turn_of(plan, self.pool))
        return replace(self, plan=plan, history=history, small=small, settled=False)


def opened(blanket: Blanket, plan: Plan) -> ColourState:
    """A blanket as its files have it; nothing can be undone."""
    pool = _pool(blanket, plan)
    return ColourState(blanket, plan, pool, History(turn_of(plan, pool)))


def _pool(blanket: Blanket, plan: Plan) -> Pool:
    shop, design = blanket.shop.yarns if blanket.shop else (), plan.design
    ranked = [row[0] for one in design.suggestions for row in one.candidates]
    named = {y.name for y in (*ranked, *(bridge.yarn for bridge in design.bridges))}
    few = [y for k, y in enumerate(shop) if k < MOST_SHOWN or y.name in named]
    every = {yarn.name: yarn for yarn in (*blanket.stash.yarns, *few)}
    return Pool(every, frozenset(yarn.name for yarn in few), len(shop))


def turn_of(plan: Plan, pool: Pool) -> Turn:
    """The run of a plan with the bridges that stand between its neighbours."""
    line = [yarn.name for yarn in plan.design.arrangement.yarns]
    for bridge in plan.design.bridges:
        pair = {bridge.after.name, bridge.before.name}
        at = [k for k in range(1, len(line)) if {line[k - 1], line[k]} == pair]
        if at and bridge.yarn.name in pool.every:
            line.insert(at[0], bridge.yarn.name)
    choices = plan.choices
    hand = manual_order(
        line,
        bridges={bridge.yarn.name for bridge in plan.design.bridges},
        locked=choices.arranging.locked,
        left_out=[n for n in choices.laying.left_out if n in pool.every],
    )
    return Turn(hand, _kept(choices))


def _kept(choices: Choices) -> tuple[tuple[str, Any], ...]:
    """What blanket.toml must say for this run to come back."""
    arranging, bridging = choices.arranging, choices.bridging
    return (
        ("by", arranging.by),
        ("order", as_toml(arranging.order)),
        ("locked", as_toml(arranging.locked)),
        ("left_out", as_toml(choices.laying.left_out)),
        ("bridges_kept", as_toml(bridging.bridges_kept)),
        ("bridges", bridging.bridges),
        ("accents", as_toml(choices.judging.accents)),
    )


# --- changes that controls ask for ----------------------------------------------------

Changes = Callable[[ColourState], Mapping[str, Any]]  # keys of [colours]; {}: none
ChooseColours = Callable[[Changes, Lines], None]


def one_key(key: str, value: Any) -> Changes:
    """One key set to what a control says, unless that is chosen already."""
    if isinstance(value, float):
        value = round(value, 6)  # a page's slider makes 24.999999999999996 of 25

    def changes(state: ColourState) -> dict[str, Any]:
        if value == _chosen(state.choices, key):
            return {}
        return {key: "none" if value == inf else value}

    return changes


def _chosen(choices: Choices, key: str) -> Any:
    """What is chosen for a key of [colours]."""
    parts = (choices.arranging, choices.laying, choices.judging, choices.bridging)
    return next(getattr(part, key) for part in parts if hasattr(part, key))


def arranged_by(by: str) -> Changes:
    """Another arrangement; or the run as it lies, to be one's own."""

    def changes(state: ColourState) -> dict[str, Any]:
        hand = state.hand
        if by == BY_HAND:
            return {"order": list(hand.order), "bridges_kept": as_toml(hand.kept)}
        return {"by": by, "order": None, "locked": as_toml(hand.pairs)}

    return changes


def as_computed(_: ColourState) -> dict[str, Any]:
    """The computed order again."""
    return {"order": None, "locked": None}

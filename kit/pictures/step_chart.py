"""The step chart: every step along the blanket as a bar, the largest few named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations, product
from typing import Any

import numpy as np

from kit.colour import Step
from kit.pictures.captions import HEAD, head, name_of, run_words, step_key
from kit.pictures.charts import (
    CHART,
    FEET,
    RIGHT,
    UNDER_TEXT,
    Along,
    Scale,
    along_of,
    bridges_above,
    scale_lines,
    strips,
)
from kit.pictures.paper import (
    FAINT,
    WIDTH,
    Sheet,
    blank,
    box,
    key,
    key_height,
    line,
    mark,
    write,
)
from kit.pictures.run import group_letters
from kit.pictures.swatches import INK, PAPER
from kit.pictures.text import cut, onward, width_px
from kit.plan import Plan

N_NAMED = 5  # steps told with both names
LANE = 32.0  # px: the two lines of one flag
NUMBER = 17.0  # px: room for a number over a bar
TRACKS = 22.0  # px: for the two groups under the steps
APART = 0.5  # dE00: nearer than this, near and far are not marked


def step_picture(plan: Plan) -> Any:
    """Every step along the blanket as a bar, near and far as small marks.

    Returns a matplotlib Figure. The jump limit and what no order can beat (where it is
    known) are lines; the largest few steps carry both yarns' names and the cause.
    """
    steps, along, most = plan.design.steps, along_of(plan), _top_of(plan)
    flags, entries = _flags(plan, along), _key(plan)
    groups = group_letters(plan.design)
    top = HEAD + 40 + LANE * _n_lanes(flags)
    below = top + CHART + 24 + (TRACKS if groups else 0)
    sheet = blank(below + FEET + key_height(entries) + 12)

    def y_of(size: float) -> float:
        return top + CHART * (1 - size / most)

    head(sheet, plan, run_words(plan))
    scale_lines(sheet, along, y_of, range(0, int(most) + 1, 10), "ΔE00")
    _levels(sheet, plan, along, y_of)
    numbered = _numbered(steps, along.each)
    for k, step in enumerate(steps):
        x = along.left + (k + 1) * along.each
        _bar(sheet, step, x, along.each, y_of, k in numbered)
    _near_and_far(sheet, steps, along, y_of)
    for flag in flags:
        _raise(sheet, flag, top - 26, y_of)
    _tracks(sheet, plan, along, top + CHART + 8)
    bridges_above(sheet, plan, along, below - 9)
    foot = strips(sheet, plan, along, below)
    key(sheet, entries, foot + 16)
    return sheet.figure


def _highest(step: Step) -> float:
    return max(step.size, step.near, step.far)


def _top_of(plan: Plan) -> float:
    """The top of the scale, dE00: over every bar and mark and over the limit."""
    highest = max((_highest(step) for step in plan.design.steps), default=0.0)
    return max(1.18 * highest, 1.2 * plan.choices.judging.jump_limit, 10.0)


def _key(plan: Plan) -> list[tuple[str, str]]:
    if not plan.design.steps:
        return [("", "One place along the blanket: no steps.")]
    entries = [("", "A bar is the step between two neighbours."), *step_key(plan)]
    if any(_differ(step) for step in plan.design.steps):
        seen = [("near", "seen in the hand"), ("far", "seen across the room")]
        entries += [*seen, ("", "(both marked where they differ)")]
    return [*entries, *_best_key(plan)]


def _best_key(plan: Plan) -> list[tuple[str, str]]:
    """What no order can beat, in words, and which groups the tracks mark."""
    best = plan.design.arrangement.best
    if best is None:
        return []
    rule = "" if best.without_rule is None else " that keeps the value rule"
    said = f"No order of these yarns{rule} has a largest step under {best.largest:.1f}."
    if best.between is None:
        return [("", said)]
    apart = "Bars under the steps: A above, B below, two groups that lie so far apart."
    return [("", said), ("", apart)]


def _tracks(sheet: Sheet, plan: Plan, along: Along, top: float) -> None:
    """A bar under each yarn of the two groups that set the best possible, A above B."""
    letters = group_letters(plan.design)
    for letter, y in (("A", top), ("B", top + 12)):
        if letters:
            write(sheet, along.left - 8, y + 4, letter, size=10.5, align="right")
        for k, yarn in enumerate(plan.design.laid.yarns):
            if letters.get(yarn.name) == letter:
                ends = along.left + k * along.each, along.left + (k + 1) * along.each
                line(sheet, (ends[0] + 1, ends[1] - 1), (y, y), width=3, gid="group")


def _differ(step: Step) -> bool:
    return abs(step.near - step.far) >= APART


def _levels(sheet: Sheet, plan: Plan, along: Along, y_of: Scale) -> None:
    """The jump limit and the best possible as lines, named at their right end."""
    limit, best = plan.choices.judging.jump_limit, plan.design.arrangement.best
    levels = [(limit, ("jump limit", f"{limit:g}"), (5, 3))]
    if best is not None and plan.design.steps:
        levels.append((best.largest, ("best possible", f"{best.largest:.1f}"), (1, 2)))
    levels.sort(key=lambda level: -level[0])
    lowest = -np.inf
    for size, words, dashes in levels:
        y, right = y_of(size), along.right + 4
        put = max(y, lowest + 30)
        line(sheet, (along.left, right), (y, y), ls=(0, dashes), width=1.2, zorder=4)
        for row, word in enumerate(words):
            text = cut(word, RIGHT - 10, 10.5)
            write(sheet, right + 5, put - 2 + 13 * row, text, size=10.5)
        lowest = put


def _bar(
    sheet: Sheet, step: Step, x: float, each: float, y_of: Scale, numbered: bool
) -> None:
    """A bar, its number where there is room, and its mark on top."""
    kind, wide = step.kind, min(0.62 * each, 24.0)
    fill = {"jump": INK, "": "#b9b6b1"}.get(kind, PAPER)
    edge = None if kind in ("jump", "") else INK
    y, above = y_of(step.size), y_of(_highest(step)) - 8
    box(sheet, x - wide / 2, y, wide, y_of(0) - y, fill=fill, edge=edge, zorder=3)
    if numbered:
        put: dict[str, Any] = {"align": "center", "bbox": UNDER_TEXT, "zorder": 5}
        size = 10.5 if each >= NUMBER else 9.5
        write(sheet, x, above, f"{step.size:.0f}", size=size, bold=bool(kind), **put)
        above -= 15
    if kind:
        mark(sheet, kind, x, above, size=min(9.0, 4 + each / 3), zorder=5)


def _numbered(steps: Sequence[Step], each: float) -> set[int]:
    """Which bars carry their number: all, or where it is tight the largest marked."""
    if each >= NUMBER:
        return set(range(len(steps)))
    told: set[int] = set()
    marked = [k for k, step in enumerate(steps) if step.kind]
    for k in sorted(marked, key=lambda k: (-steps[k].size, k)):
        if all(abs(k - other) * each >= NUMBER for other in told):
            told.add(k)
    return told


def _crown(step: Step, numbered: bool) -> float:
    """How many px the number and the mark over a bar take."""
    return 8 + 13 * numbered + 15 * bool(step.kind)


def _near_and_far(
    sheet: Sheet, steps: Sequence[Step], along: Along, y_of: Scale
) -> None:
    """Near and far of every step where the two differ."""
    places = [(k, step) for k, step in enumerate(steps) if _differ(step)]
    xs = [along.left + (k + 1) * along.each for k, _ in places]
    size = float(np.clip(along.each * 0.5, 2.5, 6.5))
    mark(sheet, "far", xs, [y_of(s.far) for _, s in places], size=size, zorder=7)
    mark(sheet, "near", xs, [y_of(s.near) for _, s in places], size=size, zorder=8)


# --- flags ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Flag:
    """Two lines of words on a pole, from `low` to `high` px; lanes are counted upwards.

    `top` is the height of what it stands on, dE00; `crown` the px kept free over it.
    """

    x: float
    top: float
    crown: float
    names: str
    cause: str
    low: float
    high: float
    lane: int = 0

    def covers(self, other: Flag) -> bool:
        """Whether its words would lie over the other's pole."""
        return self.low < other.x < self.high

    def meets(self, other: Flag) -> bool:
        return self.low < other.high and other.low < self.high


def _flags(plan: Plan, along: Along) -> list[Flag]:
    """The largest few steps that count, each pair of yarns once."""
    yarns, steps = plan.design.laid.yarns, plan.design.steps
    pairs: dict[frozenset[str], int] = {}
    for k in sorted(range(len(steps)), key=lambda k: (-steps[k].size, k)):
        if steps[k].counts:
            pairs.setdefault(frozenset((yarns[k].name, yarns[k + 1].name)), k)
    choices, numbered = [], _numbered(steps, along.each)
    for k in list(pairs.values())[:N_NAMED]:
        x = along.left + (k + 1) * along.each
        two = [cut(name_of(yarn), 210, 11.5, bold=True) for yarn in yarns[k : k + 2]]
        names, cause = onward(*two), f"{steps[k].size:.1f}: {steps[k].cause}"
        foot = (_highest(steps[k]), _crown(steps[k], k in numbered))
        choices.append(_either_way(x, foot, names, cut(cause, 430, 11)))
    tried = [_in_lanes(flags) for flags in product(*choices)]
    return min(tried, key=lambda flags: (_crossings(flags), _n_lanes(flags)))


def _either_way(
    x: float, foot: tuple[float, float], names: str, cause: str
) -> list[Flag]:
    """A flag whose words run to the right of its pole, and one to the left."""
    wide = 11 + max(width_px(names, 11.5, bold=True), width_px(cause, 11))
    right = Flag(x, *foot, names, cause, x - 4, x + wide)
    left = Flag(x, *foot, names, cause, x - wide, x + 4)
    fit = [one for one in (right, left) if one.low > 8 and one.high < WIDTH - 8]
    return fit or [right]


def _in_lanes(flags: Sequence[Flag]) -> list[Flag]:
    """Each in the lowest lane over all whose poles its words would cover."""
    left = sorted(flags, key=lambda flag: -flag.x)
    placed: list[Flag] = []
    while left:
        burdens = [
            sum(one.covers(two) for two in left if two is not one) for one in left
        ]
        flag = left.pop(burdens.index(min(burdens)))
        lane = max((one.lane + 1 for one in placed if flag.covers(one)), default=0)
        taken = {one.lane for one in placed if flag.meets(one)}
        while lane in taken:
            lane += 1
        placed.append(replace(flag, lane=lane))
    return placed


def _crossings(flags: Sequence[Flag]) -> int:
    """How often words lie over another flag's pole."""
    pairs = permutations(flags, 2)
    return sum(one.covers(two) and one.lane < two.lane for one, two in pairs)


def _n_lanes(flags: Sequence[Flag]) -> int:
    return 1 + max((flag.lane for flag in flags), default=-1)


def _raise(sheet: Sheet, flag: Flag, ground: float, y_of: Scale) -> None:
    """Draw a flag: its pole down to what stands on the bar, its two lines of words."""
    y = ground - LANE * flag.lane
    pole = (y - 24, max(y_of(flag.top) - flag.crown, y))
    line(sheet, (flag.x, flag.x), pole, width=0.9, colour=FAINT, zorder=2)
    right = flag.high - flag.x > flag.x - flag.low
    x, align = (flag.x + 5, "left") if right else (flag.x - 5, "right")
    put: dict[str, Any] = {"align": align, "bbox": UNDER_TEXT, "zorder": 9}
    write(sheet, x, y - 14, flag.names, size=11.5, bold=True, **put)
    write(sheet, x, y, flag.cause, size=11, colour=FAINT, **put)

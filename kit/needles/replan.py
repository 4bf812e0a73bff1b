"""Planning anew from a row: what is knitted stays, the rest is worked out again.

The rest is knitted from what is really left, at the pace that was measured, and its
first stripe goes on with the strands on the needle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from kit.arrangement.layout import shared_in
from kit.blanket import Blanket, Choices, Stash, Yarn
from kit.blanket.keys import with_changes
from kit.colour import Step
from kit.colour.steps import largest_step
from kit.fabric import Start
from kit.fabric.fabric import NOT_BEGUN
from kit.fabric.schedule import weight_g
from kit.fabric.strands import ROWS_APART
from kit.needles.progress import Progress
from kit.needles.remaining import as_they_lie, start_now, stash_now, yarns_now
from kit.needles.replan_choices import (
    AS_IT_IS,
    ReplanChoices,
    changed_keys,
)
from kit.plan import Plan, plan
from kit.yarn import counted, mass, size

WORTH_MOVING = 1.0  # dE00: the order is only changed for so much (ours)


@dataclass(frozen=True, slots=True)
class Replan:
    """The plan before and the one from row `row` on, and what was done."""

    before: Plan
    after: Plan
    row: int
    sentences: tuple[str, ...]

    def __repr__(self) -> str:
        return f"Replan(from row {self.row}, {len(self.sides)} figures)"

    @property
    def sides(self) -> tuple[tuple[str, str, str], ...]:
        """Before and after side by side, in words: what, before, after."""
        one, two = (_figures(plan, self.row) for plan in (self.before, self.after))
        return tuple((what, one[what], two[what]) for what in one)


def plan_rest(
    blanket: Blanket, before: Plan, now: Progress, wanted: ReplanChoices = AS_IT_IS
) -> Replan:
    """Plan anew from the row that `now` stands at. Raises KitError.

    With nothing knitted and nothing wished it is the plan itself.
    """
    wanted.check(blanket)
    changes = changed_keys(blanket, before, now, wanted)
    choices = with_changes(blanket.choices, changes)
    stash = stash_now(blanket.stash, choices, now, wanted)
    shop = blanket.shop.yarns if blanket.shop else ()
    shop = yarns_now(shop, choices, now, wanted)
    start = start_now(stash, shop, choices, now, wanted, changes)
    if start == NOT_BEGUN and stash == blanket.stash:
        after = plan(blanket.stash, choices, shop=shop)
        return Replan(before, after, 0, ())
    after, said = _better(stash, choices, shop, start, now, before, wanted)
    return Replan(before, after, start.row, said)


def faster_rows(before: Plan, row: int) -> int:
    """Half the rows a colour gets from `row` on, no less than joins are kept apart."""
    assert before.fabric is not None
    ahead = [s.rows for s in before.fabric.stripes if s.last_row > row]
    usual = sorted(ahead)[len(ahead) // 2] if ahead else 2 * ROWS_APART
    return max(ROWS_APART, round(usual / 2))


# --- the rest in order ----------------------------------------------------------------


def _better(
    stash: Stash,
    choices: Choices,
    shop: Sequence[Yarn],
    start: Start,
    now: Progress,
    before: Plan,
    wanted: ReplanChoices,
) -> tuple[Plan, tuple[str, ...]]:
    """The order that is kept, or one made anew where that is plainly better; and what
    was done."""
    round_again = shared_in(choices.laying) > 1 or choices.laying.times_through > 1
    anew_wanted = bool(wanted.layout or wanted.leftovers or wanted.order == "anew")
    if start.row == 0:
        return plan(stash, choices, shop=shop, start=start), ()
    said = []
    if round_again and not wanted.layout and anew_wanted:
        said.append(
            "Balls come round again in this layout, so what is to come keeps its order."
        )
        anew_wanted = False
    plans = []
    if not anew_wanted:
        ahead = as_they_lie(stash, shop, choices, start, now, before, wanted)
        begun = replace(start, ahead=ahead)
        plans.append(plan(stash, choices, shop=shop, start=begun))
    anew_may_be = wanted.order != "keep" and not round_again and _some_to_come(now)
    if anew_wanted or (anew_may_be and not choices.arranging.order):
        plans.append(plan(stash, choices, shop=shop, start=start))
    best, *others = plans
    for other in others:
        if is_worth_moving(best, other, start.row):
            said.append(_moved(best, other, start.row))
            best = other
    return best, tuple(said)


def is_worth_moving(kept: Plan, anew: Plan, row: int) -> bool:
    """Whether an order made anew is so much better from a row on that it is taken."""
    return _misses(anew, row) < _misses(kept, row) - WORTH_MOVING


def _moved(kept: Plan, anew: Plan, row: int) -> str:
    """What an order made anew gains from a row on."""
    gains = []
    rows = [_short(one) for one in (kept, anew)]
    if (fewer := rows[0] - rows[1]) > 0:
        are = "is" if fewer == 1 else "are"
        gains.append(f"{counted(fewer, 'row')} fewer {are} missing")
    steps = [_worst(one, row) for one in (kept, anew)]
    if steps[0] > steps[1]:
        gains.append(
            f"the largest step ahead gets smaller, from {steps[0]:.1f} to "
            f"{steps[1]:.1f}"
        )
    return f"The yarns to come are arranged anew: {', and '.join(gains)}."


def _some_to_come(now: Progress) -> bool:
    return len(now.knitted.to_come) > 1


def _misses(plan: Plan, row: int) -> float:
    """Rows short count for more than any step; then the largest step ahead."""
    return 1000.0 * _short(plan) + _worst(plan, row)


def _short(plan: Plan) -> int:
    return plan.fabric.short.rows if plan.fabric and plan.fabric.short else 0


def _worst(plan: Plan, row: int) -> float:
    return largest_step(_steps_ahead(plan, row))


def _steps_ahead(plan: Plan, row: int) -> list[Step]:
    """Steps between stripes that end after a row."""
    assert plan.fabric is not None
    stripes, end = plan.fabric.stripes, row * plan.fabric.stitches
    return [
        step
        for step, (one, _) in zip(plan.fabric_steps, pairwise(stripes), strict=True)
        if one.last >= end
    ]


# --- side by side ---------------------------------------------------------------------


def _figures(plan: Plan, row: int) -> dict[str, str]:
    fabric, units = plan.fabric, plan.choices.units
    assert fabric is not None
    ahead = [s for s in fabric.stripes if s.last > row * fabric.stitches]
    short = counted(fabric.short.rows, "row") if fabric.short else "none"
    left_g = sum(weight_g(use.yarn, max(0, use.left_mm)) for use in fabric.uses)
    joins = sum(
        sum(yarn not in one.strands for yarn in two.strands)
        for one, two in pairwise(ahead)
    )
    return {
        "rows": str(fabric.rows),
        "length": size(fabric.length_cm, units),
        "rows short": short,
        "joins to come": str(joins),
        "largest step to come": f"{_worst(plan, row):.1f}",
        "left over of the yarns used": mass(left_g, units),
    }

"""Carried bridges: a yarn held beside the others across the hardest change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from kit.bridging import Bridge
from kit.carrying import TAIL_MM
from kit.choices import Carry, Choices
from kit.fabric import Fabric
from kit.stash import Yarn
from kit.steps import Step, largest_step
from kit.strands import tex_range
from kit.stripes import Stripe, had_mm, stripe_steps, stripe_tex

REACHES = (4, 8, 12)  # rows on either side of the change (our choice)
FEWER = 1e-9  # dE00: it must lower the largest step by more than this

Knit = Callable[[Choices, Sequence[Yarn]], Fabric]


@dataclass(frozen=True, slots=True)
class Crossed:
    """Fabric with yarns carried across its hardest changes, and those bridges."""

    fabric: Fabric
    steps: tuple[Step, ...]
    bridges: tuple[Bridge, ...]


def carry_across(
    fabric: Fabric,
    steps: tuple[Step, ...],
    candidates: Sequence[Yarn],
    choices: Choices,
    knit: Knit,
    *,
    most: int,
) -> Crossed:
    """Up to `most` yarns, each carried where the largest step between stripes is.

    Every candidate is tried along every reach and judged on stripes; it is taken only
    where the largest step of the whole fabric gets smaller and the tex stays in range.
    `knit(choices, carried)` knits with other carried yarns.
    """
    crossed = Crossed(fabric, steps, ())
    used: list[Yarn] = []
    for _ in range(most):
        left = [yarn for yarn in candidates if yarn not in used]
        better = _best(crossed, left, used, choices, knit)
        if better is None:
            break
        crossed, carry, yarn = better
        making = choices.making
        making = replace(making, carry=(*making.carry, carry))
        choices, used = replace(choices, making=making), [*used, yarn]
    return crossed


def _best(
    crossed: Crossed,
    candidates: Sequence[Yarn],
    used: Sequence[Yarn],
    choices: Choices,
    knit: Knit,
) -> tuple[Crossed, Carry, Yarn] | None:
    largest = largest_step(crossed.steps)
    counted = [k for k, step in enumerate(crossed.steps) if step.counts]
    if not counted or not candidates:
        return None
    k = max(counted, key=lambda place: crossed.steps[place].size)
    stripes = crossed.fabric.stripes
    tried = sorted(
        (round(_worst(stripes[k], stripes[k + 1], yarn, choices), 9), yarn.name, reach)
        for yarn in candidates
        for reach in REACHES
        if _fits(stripes, k, yarn, reach, choices)
    )
    if not tried or tried[0][0] >= largest - FEWER:
        return None
    step_after, name, reach = tried[0]
    yarn = next(yarn for yarn in candidates if yarn.name == name)
    carry = Carry(name, rows=_rows(stripes[k], reach, crossed.fabric.rows))
    making = replace(choices.making, carry=(*choices.making.carry, carry))
    changed = replace(choices, making=making)
    fabric = knit(changed, [*used, yarn])
    steps = stripe_steps(fabric.stripes, choices)
    if largest_step(steps) >= largest - FEWER:
        return None
    goes, comes = _change(stripes[k], stripes[k + 1])
    bridge = Bridge(
        yarn,
        goes,
        comes,
        crossed.steps[k].size,
        step_after,
        largest,
        largest_step(steps),
    )
    return Crossed(fabric, steps, (*crossed.bridges, bridge)), carry, yarn


def _worst(one: Stripe, two: Stripe, yarn: Yarn, choices: Choices) -> float:
    """The largest of the three steps where a yarn comes in, crosses and leaves."""
    along = [replace(stripe, carried=(*stripe.carried, yarn)) for stripe in (one, two)]
    return max(s.size for s in stripe_steps((one, *along, two), choices))


def _fits(
    stripes: Sequence[Stripe], k: int, yarn: Yarn, reach: int, choices: Choices
) -> bool:
    """Whether the yarn lasts, and no stripe along its way gets too thick."""
    row, change = stripes[k].row, stripes[k].last
    first, last = change - (reach + 1) * row, change + (reach + 1) * row
    along = [s for s in stripes if s.first < last and s.last > first]
    _, high = tex_range(choices.making.strands)
    held = (replace(s, carried=(*s.carried, yarn)) for s in along)
    stitches = sum(s.last - s.first for s in along)
    each_mm = 1000 * sum(s.metres_each for s in along) / max(stitches, 1)
    needed_mm = each_mm * row * (2 * reach + 1)
    return all(stripe_tex(s) <= high for s in held) and (
        yarn.metres is not None and needed_mm <= had_mm(yarn) - TAIL_MM
    )


def _rows(stripe: Stripe, reach: int, n_rows: int) -> tuple[int, int]:
    return max(1, stripe.last_row - reach + 1), min(n_rows, stripe.last_row + reach)


def _change(one: Stripe, two: Stripe) -> tuple[Yarn, Yarn]:
    """A yarn that goes and one that comes at a change (any held, if only one does)."""
    goes = [yarn for yarn in one.strands if yarn not in two.strands]
    comes = [yarn for yarn in two.strands if yarn not in one.strands]
    return (goes or list(one.strands))[0], (comes or list(two.strands))[0]

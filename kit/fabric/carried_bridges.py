"""Carried bridges: a yarn held beside the others across the hardest change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from kit.arrangement import Bridge
from kit.blanket import Choices, Yarn
from kit.blanket.choices import Carry
from kit.colour import Step, mean_lab
from kit.colour.delta_e import ciede2000_table
from kit.colour.steps import largest_step
from kit.fabric.carrying import TAIL_MM
from kit.fabric.fabric import Fabric
from kit.fabric.strands import tex_range
from kit.fabric.stripes import (
    Stripe,
    initial_mm,
    stripe_mix,
    stripe_steps,
    stripe_tex,
    yarn_tex,
)
from kit.search.problem import SAME

REACHES = (4, 8, 12)  # rows on either side of the change (our choice)
N_KNITTED = 4  # of the likeliest are knitted before a change is left as it is
LIKELY = 150  # of a longer list those nearest between the two stripes are tried

Knit = Callable[[Choices, Sequence[Yarn]], Fabric]


@dataclass(frozen=True, slots=True)
class Crossed:
    """Fabric with yarns carried across its hardest changes, those bridges, and what is
    to be said of them."""

    fabric: Fabric
    steps: tuple[Step, ...]
    bridges: tuple[Bridge, ...]
    sentences: tuple[str, ...] = ()


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

    Every candidate is tried along every reach on the two stripes that meet there; the
    likeliest few are knitted, and the first is taken that makes the largest step of
    the whole fabric smaller. The tex stays in range. `knit(choices, carried)` knits
    with other carried yarns. Of a long list only those whose averages lie nearest
    between the two stripes are tried, and that is said.
    """
    crossed = Crossed(fabric, steps, ())
    used: list[Yarn] = []
    for _ in range(most):
        left = [yarn for yarn in candidates if yarn not in used]
        better = _best(crossed, left, used, choices, knit)
        if better is None:
            break
        crossed, carry, yarn = better
        choices, used = _carrying(choices, carry), [*used, yarn]
    return crossed


def _best(
    crossed: Crossed,
    candidates: Sequence[Yarn],
    used: Sequence[Yarn],
    choices: Choices,
    knit: Knit,
) -> tuple[Crossed, Carry, Yarn] | None:
    """The first of the likeliest yarns that lowers the largest step, carried across
    it; None where none does."""
    largest = largest_step(crossed.steps)
    counted = [k for k, step in enumerate(crossed.steps) if step.counts]
    if not counted or not candidates:
        return None
    k = max(counted, key=lambda place: crossed.steps[place].size)
    stripes = crossed.fabric.stripes
    likely, cut = _likely(candidates, stripes[k], stripes[k + 1], choices)
    for estimate, yarn, reach in _ways(stripes, k, likely, choices)[:N_KNITTED]:
        if estimate >= largest - SAME:
            return None
        rows = _rows(stripes[k], reach, crossed.fabric.rows)
        carry = Carry(yarn.name, rows=rows)
        fabric = knit(_carrying(choices, carry), [*used, yarn])
        steps = stripe_steps(fabric.stripes, choices)
        if largest_step(steps) < largest - SAME:
            goes, comes = _change(stripes[k], stripes[k + 1])
            sizes = crossed.steps[k].size, _along(fabric, steps, rows)
            bridge = Bridge(yarn, goes, comes, *sizes, largest, largest_step(steps))
            said = _SAID if cut else crossed.sentences
            bridges = (*crossed.bridges, bridge)
            return Crossed(fabric, steps, bridges, said), carry, yarn
    return None


def _carrying(choices: Choices, carry: Carry) -> Choices:
    """The choices with one yarn more carried along."""
    making = choices.making
    return replace(choices, making=replace(making, carry=(*making.carry, carry)))


def _ways(
    stripes: Sequence[Stripe], k: int, likely: Sequence[Yarn], choices: Choices
) -> list[tuple[float, Yarn, int]]:
    """What each yarn would leave along each reach at stripe `k`, the least first."""
    ways = (
        (round(_worst(stripes[k], stripes[k + 1], yarn, choices), 9), yarn, reach)
        for yarn in likely
        for reach in REACHES
        if _fits(stripes, k, yarn, reach, choices)
    )
    return sorted(ways, key=lambda way: (way[0], way[1].name, way[2]))


_SAID = (
    f"Of the long list of yarns to carry, the {LIKELY} whose averages lie nearest "
    "between the two stripes were tried, so a better one may be in it.",
)


def _likely(
    candidates: Sequence[Yarn], one: Stripe, two: Stripe, choices: Choices
) -> tuple[list[Yarn], bool]:
    """Those thin enough to be held there too, and whether the list was cut."""
    _, high = tex_range(choices.making.strands)
    room = high - max(stripe_tex(one), stripe_tex(two))
    thin = [yarn for yarn in candidates if yarn_tex(yarn) <= room + 1e-6]
    if len(thin) <= LIKELY:
        return thin, False
    means = np.array([mean_lab(yarn.mix) for yarn in thin])
    ends = np.array([mean_lab(stripe_mix(stripe)) for stripe in (one, two)])
    far = np.round(ciede2000_table(means, ends).max(axis=1), 9).tolist()
    order = sorted(range(len(thin)), key=lambda k: (far[k], thin[k].name))
    return [thin[k] for k in order[:LIKELY]], True


def _along(fabric: Fabric, steps: Sequence[Step], rows: tuple[int, int]) -> float:
    """The largest step between stripes from where the yarn comes in until it goes."""
    row = fabric.stitches
    first, last = (rows[0] - 1) * row, rows[1] * row
    inside = [
        step.size
        for stripe, step in zip(fabric.stripes, steps, strict=False)
        if step.counts and first <= stripe.last <= last
    ]
    return max(inside, default=0.0)


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
        yarn.metres is not None and needed_mm <= initial_mm(yarn) - TAIL_MM
    )


def _rows(stripe: Stripe, reach: int, n_rows: int) -> tuple[int, int]:
    return max(1, stripe.last_row - reach + 1), min(n_rows, stripe.last_row + reach)


def _change(one: Stripe, two: Stripe) -> tuple[Yarn, Yarn]:
    """A yarn that goes and one that comes at a change (any held, if only one does)."""
    goes = [yarn for yarn in one.strands if yarn not in two.strands]
    comes = [yarn for yarn in two.strands if yarn not in one.strands]
    return (goes or list(one.strands))[0], (comes or list(two.strands))[0]

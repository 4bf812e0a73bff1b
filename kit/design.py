"""The colours of one blanket: arranged, bridged, laid out, and every step measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from kit.arrangement import Arrangement, arrange, value_of
from kit.bridging import Bridge, Ideal, add_bridges, ideal, rank
from kit.choices import Choices, Judging
from kit.layout import Laid, is_small, lay_out
from kit.stash import Yarn
from kit.steps import Step, out_of_order, steps_along

N_WORST = 6  # jumps for which bridges are ranked


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Bridges for one jump: each with where it is from and the step it leaves, dE00.

    `sought` is what to look for where nothing owned brings the step under the limit.
    """

    after: Yarn
    before: Yarn
    step: float
    candidates: tuple[tuple[Yarn, str, float], ...]
    sought: Ideal | None


@dataclass(frozen=True, slots=True)
class Design:
    """Yarns along the blanket with their steps, without and with bridges.

    `unruly` names yarns out of value order with how many L* (smoothest and by hand).
    """

    arrangement: Arrangement
    bridges: tuple[Bridge, ...]
    before: Laid
    steps_before: tuple[Step, ...]
    laid: Laid
    steps: tuple[Step, ...]
    suggestions: tuple[Suggestion, ...]
    unruly: tuple[tuple[str, float], ...]
    said: tuple[str, ...]


def design_colours(
    yarns: Sequence[Yarn],
    shop: Sequence[Yarn],
    choices: Choices,
    *,
    quick: bool = False,
    smooth: Callable[[tuple[Yarn, ...]], tuple[Yarn, ...]] | None = None,
) -> Design:
    """Arrange the yarns in use, lay out, put bridges in, measure. Shop: for bridges.

    `smooth` has the last word on the order of the arranged run.
    """
    judging = choices.judging
    in_use = [yarn for yarn in yarns if is_arranged(yarn, choices)]
    owned = [yarn for yarn in yarns if yarn.role == "bridge"]
    view = judging.view
    arrangement = arrange(in_use, choices.arranging, view=view, quick=quick)
    if smooth:
        arrangement = replace(arrangement, yarns=smooth(arrangement.yarns))
    before = lay_out(arrangement.yarns, choices.laying)
    # Bridged as laid out, since neighbours there may not be neighbours in the run.
    bridged = add_bridges(
        before.yarns,
        owned + list(shop if choices.bridging.bridges_from != "stash" else ()),
        choices.bridging,
        view=judging.view,
        counts=counting(judging),
        joins=before.joins,
        fits=_fits,
        kept_from=[*yarns, *shop],
    )
    laid = Laid(bridged.run, bridged.joins, before.said)
    steps = measure(laid, judging)
    used = {bridge.yarn.name for bridge in bridged.bridges}
    return Design(
        arrangement,
        bridged.bridges,
        before,
        measure(before, judging),
        laid,
        steps,
        _suggest(laid, steps, _left(owned, used), _left(shop, used), judging),
        _unruly(arrangement),
        (*arrangement.said, *bridged.said, *laid.said),
    )


def _fits(yarn: Yarn, n_places: int) -> bool:
    """Whether a ball may stand in so many places: a small one is not shared."""
    return n_places == 1 or not is_small(yarn)


def is_arranged(yarn: Yarn, choices: Choices) -> bool:
    """Whether a yarn has a place in the order: in use, and not carried along."""
    carried = (carry.yarn for carry in choices.making.carry)
    return yarn.role in ("use", "accent") and yarn.name not in carried


def counting(judging: Judging) -> Callable[[Yarn, Yarn], bool]:
    """Whether the step between two neighbours counts: nothing there is an accent."""
    kept = {frozenset(pair) for pair in judging.accents}

    def counts(one: Yarn, two: Yarn) -> bool:
        accent = "accent" in (one.role, two.role)
        return not accent and frozenset((one.name, two.name)) not in kept

    return counts


def measure(laid: Laid, judging: Judging) -> tuple[Step, ...]:
    """The steps between neighbours along the blanket."""
    counts, yarns = counting(judging), laid.yarns
    return steps_along(
        [yarn.mix for yarn in yarns],
        view=judging.view,
        limit=judging.jump_limit,
        accents={
            k
            for k in range(len(yarns) - 1)
            if k not in laid.joins and not counts(yarns[k], yarns[k + 1])
        },
        joins=laid.joins,
    )


def jumps(steps: Sequence[Step]) -> list[int]:
    """Where the flow breaks unintended: worst first."""
    places = [k for k, step in enumerate(steps) if step.jump and step.counts]
    return sorted(places, key=lambda k: (-steps[k].size, k))


def _left(yarns: Sequence[Yarn], used: set[str]) -> list[Yarn]:
    return [yarn for yarn in yarns if yarn.name not in used]


def _suggest(
    laid: Laid,
    steps: Sequence[Step],
    owned: Sequence[Yarn],
    shop: Sequence[Yarn],
    judging: Judging,
) -> tuple[Suggestion, ...]:
    """For the worst jumps, each pair of neighbours once."""
    told: dict[frozenset[str], Suggestion] = {}
    pairs = [frozenset((a.name, b.name)) for a, b in pairwise(laid.yarns)]
    from_shop = {yarn.name for yarn in shop}
    for k in jumps(steps):
        pair = laid.yarns[k], laid.yarns[k + 1]
        key = pairs[k]
        if key in told or len(told) == N_WORST:
            continue
        mine = [yarn for yarn in owned if _fits(yarn, pairs.count(key))]
        ranked = rank(laid.yarns, k, [*mine, *shop], view=judging.view)
        helpful = tuple(
            (yarn, "shop" if yarn.name in from_shop else "stash", step)
            for yarn, step in ranked
            if step < steps[k].size
        )
        best = rank(laid.yarns, k, mine, view=judging.view)
        enough = best and best[0][1] < min(steps[k].size, judging.jump_limit)
        sought = None if enough else ideal(pair[0].mix, pair[1].mix, view=judging.view)
        if sought and sought.step_after >= steps[k].size:
            sought = None
        told[key] = Suggestion(*pair, steps[k].size, helpful, sought)
    return tuple(told.values())


def _unruly(arrangement: Arrangement) -> tuple[tuple[str, float], ...]:
    """Yarns out of value order; families turn round on purpose, so not told there."""
    if arrangement.by == "family":
        return ()
    yarns = arrangement.yarns
    late = out_of_order([value_of(yarn) for yarn in yarns])
    return tuple((yarns[i].name, amount) for i, amount in late.items())

"""The colours of one blanket: arranged, laid out, bridged, and every step measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from kit.arrangement.bridges import Bridge, add_bridges
from kit.arrangement.candidates import Fits, candidates_of
from kit.arrangement.compared import Compared, compare, hand_notes
from kit.arrangement.ideal_bridge import IdealBridge, find_ideal
from kit.arrangement.layout import Laid, is_small, lay_out
from kit.arrangement.locked import keep_pairs
from kit.arrangement.orders import Arrangement, arrange, value_of
from kit.blanket import Choices, Yarn
from kit.blanket.choices import Judging, Making
from kit.colour import Step, steps_along
from kit.colour.steps import largest_step, out_of_order
from kit.late import draws_itself
from kit.yarn.gauge import stitch_yarn

N_WORST = 6  # jumps for which bridges are ranked
N_RANKED = 5  # candidates told for each jump
# A bridge is knitted over four rows at least, as joins lie apart, and woven in twice;
# without gauge and size that is taken as 15 m (our rule of thumb).
LEAST_ROWS, TAILS_M, LEAST_M = 4, 0.3, 15.0


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Bridges for one jump: each with where it is from and the step it leaves, dE00.

    `ideal` is what to look for where nothing owned brings the step under the limit.
    """

    after: Yarn
    before: Yarn
    step: float
    candidates: tuple[tuple[Yarn, str, float], ...]
    ideal: IdealBridge | None

    def __repr__(self) -> str:
        gap, n_found = f"{self.after.name} | {self.before.name}", len(self.candidates)
        return f"Suggestion({gap}, step {self.step:.1f}, {n_found} candidates)"


@draws_itself("kit.pictures.notebook:design_svg")
@dataclass(frozen=True, slots=True)
class Design:
    """Yarns along the blanket with their steps, without and with bridges.

    `out_of_value_order` names yarns out of value order with how many L* (smoothest
    and by hand).
    `compared` judges an order made by hand; None for a computed one.
    """

    arrangement: Arrangement
    bridges: tuple[Bridge, ...]
    before: Laid
    steps_before: tuple[Step, ...]
    laid: Laid
    steps: tuple[Step, ...]
    suggestions: tuple[Suggestion, ...]
    out_of_value_order: tuple[tuple[str, float], ...]
    sentences: tuple[str, ...]
    compared: Compared | None = None

    def __repr__(self) -> str:
        largest, bridges = largest_step(self.steps), len(self.bridges)
        yarns = f"{len(self.laid.yarns)} yarns by {self.arrangement.by}"
        return f"Design({yarns}, {bridges} bridged, largest step {largest:.1f})"


def design_colours(
    yarns: Sequence[Yarn],
    shop: Sequence[Yarn],
    choices: Choices,
    *,
    quick: bool = False,
    smooth: Callable[[tuple[Yarn, ...]], tuple[Yarn, ...]] | None = None,
    along: Laid | None = None,
) -> Design:
    """Arrange the yarns in use, lay out, put bridges in, measure. Shop: for bridges.

    `smooth` has the last word on the order of the arranged run. `along`: they are laid
    out so already, and only bridged and measured.
    """
    judging, fits = choices.judging, fits_in(choices.making)
    in_use = [yarn for yarn in yarns if is_arranged(yarn, choices)]
    owned = [yarn for yarn in yarns if yarn.role == "bridge"]
    by_hand = bool(choices.arranging.order) and not along
    if along:
        run = tuple(dict.fromkeys(along.yarns))
        owned = [yarn for yarn in owned if yarn not in run]
        arrangement, before = Arrangement(run, choices.arranging.by), along
    else:
        arrangement = _arranged(in_use, choices, smooth, quick)
        before = lay_out(arrangement.yarns, choices.laying, choices.units)
    # Bridged as laid out, since neighbours there may not be neighbours in the run.
    bridged = add_bridges(
        before.yarns,
        candidates_of(owned, shop if choices.bridging.bridges_from != "stash" else ()),
        choices.bridging,
        view=judging.view,
        counts=counting(judging),
        joins=before.joins,
        fits=fits,
        kept_from=[*yarns, *shop],
    )
    laid = Laid(bridged.run, bridged.joins, before.sentences)
    steps = measure(laid, judging)
    used = {bridge.yarn.name for bridge in bridged.bridges}
    return Design(
        arrangement,
        bridged.bridges,
        before,
        measure(before, judging),
        laid,
        steps,
        _suggest(laid, steps, (owned, shop, used), fits, judging),
        _out_of_value_order(arrangement),
        (
            *arrangement.sentences,
            *(() if along else hand_notes(arrangement.yarns, yarns, choices)),
            *bridged.sentences,
            *laid.sentences,
        ),
        _compared(arrangement.yarns, choices, quick) if by_hand else None,
    )


def _arranged(
    yarns: Sequence[Yarn],
    choices: Choices,
    smooth: Callable[[tuple[Yarn, ...]], tuple[Yarn, ...]] | None,
    quick: bool,
) -> Arrangement:
    """The run in order; what is to stay together does so but in an order by hand."""
    arranging, view = choices.arranging, choices.judging.view
    arrangement = arrange(yarns, arranging, view=view, quick=quick)
    if smooth:
        arrangement = replace(arrangement, yarns=smooth(arrangement.yarns))
    if arranging.order:
        return arrangement
    return keep_pairs(arrangement, arranging, view=view)


def _compared(run: tuple[Yarn, ...], choices: Choices, quick: bool) -> Compared:
    def steps(yarns: Sequence[Yarn]) -> tuple[Step, ...]:
        return measure(Laid(tuple(yarns)), choices.judging)

    return compare(run, choices, measure=steps, quick=quick)


def least_bridge_m(making: Making) -> float:
    """Metres a bridge takes at one place: four rows of its strand and its tails."""
    gauge, size = making.gauge, making.size
    if gauge is None or size is None:
        return LEAST_M
    stitches = size.width_cm * gauge.stitches_per_10cm / 10
    each_m = stitch_yarn(gauge, making.strands.fabric_tex).length_m
    return LEAST_ROWS * stitches * each_m + TAILS_M


def fits_in(making: Making) -> Fits:
    """Whether a ball may stand in so many places: a small one is not shared, and each
    place takes its metres. A ball of unknown length is taken to do."""
    least_m = least_bridge_m(making)

    def fits(yarn: Yarn, n_places: int) -> bool:
        if n_places > 1 and is_small(yarn):
            return False
        return yarn.metres is None or yarn.metres >= n_places * least_m

    return fits


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


def _suggest(
    laid: Laid,
    steps: Sequence[Step],
    bridges: tuple[Sequence[Yarn], Sequence[Yarn], set[str]],
    fits: Fits,
    judging: Judging,
) -> tuple[Suggestion, ...]:
    """For the worst jumps, each pair of neighbours once.

    `bridges`: those of the stash, of the shop, and the names of those put in already.
    """
    owned, shop, used = bridges
    told: dict[frozenset[str], Suggestion] = {}
    pairs = [frozenset((a.name, b.name)) for a, b in pairwise(laid.yarns)]
    worst = {pairs[k]: k for k in reversed(jumps(steps))}
    places = sorted(worst.values(), key=lambda k: (-steps[k].size, k))[:N_WORST]
    listed, view = candidates_of(owned, shop), judging.view
    listed.prepare([y.mix for k in places for y in laid.yarns[k : k + 2]], view=view)
    from_shop = {yarn.name for yarn in shop}
    for k in places:
        pair = laid.yarns[k], laid.yarns[k + 1]
        ends = pair[0].mix, pair[1].mix
        may = listed.may(fits, pairs.count(pairs[k]), used)
        ranked = listed.rank(ends, N_RANKED, may, view=view)
        helpful = tuple(
            (yarn, "shop" if yarn.name in from_shop else "stash", step)
            for yarn, step in ranked
            if step < steps[k].size
        )
        mine = may & np.array([y.name not in from_shop for y in listed.yarns], bool)
        best = listed.rank(ends, 1, mine, view=view)
        enough = best and best[0][1] < min(steps[k].size, judging.jump_limit)
        best_mix = None if enough else find_ideal(ends[0], ends[1], view=view)
        if best_mix and best_mix.step_after >= steps[k].size:
            best_mix = None
        told[pairs[k]] = Suggestion(*pair, steps[k].size, helpful, best_mix)
    return tuple(told.values())


def _out_of_value_order(arrangement: Arrangement) -> tuple[tuple[str, float], ...]:
    """Yarns out of value order; families turn round on purpose, so not told there."""
    if arrangement.by == "family":
        return ()
    yarns = arrangement.yarns
    late = out_of_order([value_of(yarn) for yarn in yarns])
    return tuple((yarns[i].name, amount) for i, amount in late.items())

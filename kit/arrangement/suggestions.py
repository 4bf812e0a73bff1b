"""What would bridge the worst jumps: yarns there are, or what to look for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from kit.arrangement.candidates import Fits, candidates_of
from kit.arrangement.ideal_bridge import IdealBridge, find_ideal
from kit.arrangement.layout import Laid
from kit.blanket import Yarn
from kit.blanket.choices import Judging
from kit.colour import Step
from kit.colour.steps import jumps

N_WORST = 6  # jumps for which bridges are ranked
N_RANKED = 5  # candidates told for each jump


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


def suggest(
    laid: Laid,
    steps: Sequence[Step],
    offered: tuple[Sequence[Yarn], Sequence[Yarn]],
    used: set[str],
    fits: Fits,
    judging: Judging,
) -> tuple[Suggestion, ...]:
    """For the worst jumps, each pair of neighbours once.

    `offered`: the yarns of the stash and of the shop; `used`: those put in already.
    """
    owned, shop = offered
    listed, view = candidates_of(owned, shop), judging.view
    from_shop = {yarn.name for yarn in shop}
    at_hand = np.array([y.name not in from_shop for y in listed.yarns], bool)
    gaps = worst_gaps(laid, steps)
    listed.prepare([y.mix for k, _ in gaps for y in laid.yarns[k : k + 2]], view=view)
    found = []
    for k, n_places in gaps:
        pair, size = (laid.yarns[k], laid.yarns[k + 1]), steps[k].size
        ends = pair[0].mix, pair[1].mix
        may = listed.may(fits, n_places, used)
        helpful = tuple(
            (yarn, "shop" if yarn.name in from_shop else "stash", step)
            for yarn, step in listed.rank(ends, N_RANKED, may, view=view)
            if step < size
        )
        best = listed.rank(ends, 1, may & at_hand, view=view)
        enough = best and best[0][1] < min(size, judging.jump_limit)
        ideal = None if enough else find_ideal(*ends, view=view)
        if ideal and ideal.step_after >= size:
            ideal = None
        found.append(Suggestion(*pair, size, helpful, ideal))
    return tuple(found)


def worst_gaps(laid: Laid, steps: Sequence[Step]) -> list[tuple[int, int]]:
    """The worst jumps, each pair of neighbours once: where, and at how many places."""
    worst: dict[frozenset[str], int] = {}
    for k in jumps(steps):
        one, two = laid.yarns[k : k + 2]
        worst.setdefault(frozenset((one.name, two.name)), k)
    gaps = laid.gaps
    return [(k, len(gaps[pair])) for pair, k in worst.items()][:N_WORST]

"""The best one, two or three bridges together: which gaps, how many, which yarns.

Gaps do not touch each other, so each is solved by itself for one, two and three yarns
and every way of dealing the bridges out is looked at. A yarn stands in one gap only, so
one that two gaps want is the only tie between them: then the best without it is sought
for the one and for the other in turn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from kit.arrangement.candidates import MOST_IN_CHAIN, Chain
from kit.search.problem import SAME

ChainOf = Callable[[int, int, frozenset[int]], Chain | None]
Apart = tuple[frozenset[int], ...]


@dataclass(frozen=True, slots=True)
class BridgeSet:
    """Which chain goes into which gap, worst gap first; `left`: the largest step of
    every gap afterwards, dE00, largest first."""

    chains: tuple[tuple[int, Chain], ...]
    left: tuple[float, ...]

    @property
    def n(self) -> int:
        return sum(len(chain.places) for _, chain in self.chains)

    @property
    def exact(self) -> bool:
        return all(chain.exact for _, chain in self.chains)


def best_set(sizes: Sequence[float], most: int, chain_of: ChainOf) -> BridgeSet | None:
    """The set of up to `most` (1-3) yarns that leaves the least largest step.

    `sizes` are the gaps' steps; `chain_of(gap, n, without)` the best n yarns for one.
    Among sets that leave the same largest step the smallest, then that whose next
    largest steps are less, then by the yarns' places in their list. None where the
    largest is not lowered.
    """
    order = sorted(range(len(sizes)), key=lambda gap: (-round(sizes[gap], 9), gap))
    best: BridgeSet | None = None
    for total in range(1, most + 1):
        under = (best.left[0] if best else sizes[order[0]]) if order else 0.0
        found = [
            one
            for parts in _dealt(total, len(order))
            if _floor(sizes, order, len(parts)) < under - SAME
            for one in [_filled(sizes, order, parts, chain_of)]
            if one and one.left[0] < under - SAME
        ]
        best = min(found, key=_score, default=best)
    return best


def _dealt(total: int, n_gaps: int) -> Iterator[tuple[int, ...]]:
    """Every way of dealing bridges out to the worst gaps, at least one to each.

    A gap that is not among the worst need not be lowered before they are.
    """
    if total == 0:
        yield ()
        return
    for first in range(1, min(total, MOST_IN_CHAIN) + 1):
        if n_gaps:
            yield from ((first, *rest) for rest in _dealt(total - first, n_gaps - 1))


def _floor(sizes: Sequence[float], order: Sequence[int], n: int) -> float:
    """The largest step that stays where the n worst gaps are bridged."""
    return sizes[order[n]] if n < len(order) else 0.0


def _score(one: BridgeSet) -> tuple[object, ...]:
    return one.left, [chain.places for _, chain in one.chains]


def _filled(
    sizes: Sequence[float],
    order: Sequence[int],
    parts: Sequence[int],
    chain_of: ChainOf,
) -> BridgeSet | None:
    """The best yarns where the number for each of the worst gaps is given."""
    gaps = order[: len(parts)]
    rest = [round(sizes[gap], 9) for gap in order[len(parts) :]]

    def filled(without: Apart) -> BridgeSet | None:
        chains = []
        for gap, n, apart in zip(gaps, parts, without, strict=True):
            chain = chain_of(gap, n, apart)
            if chain is None:
                return None
            chains.append((gap, chain))
        twice = _wanted_twice(chains)
        if twice is None:
            left = sorted([chain.step for _, chain in chains] + rest, reverse=True)
            return BridgeSet(tuple(chains), tuple(left))
        yarn, wanting = twice
        ways = [
            tuple(w | {yarn} if k == kept else w for k, w in enumerate(without))
            for kept in wanting
        ]
        found = [one for way in ways if (one := filled(way))]
        return min(found, key=_score, default=None)

    return filled((frozenset(),) * len(gaps))


def _wanted_twice(
    chains: Sequence[tuple[int, Chain]],
) -> tuple[int, list[int]] | None:
    """A yarn that several gaps want, and which they are."""
    wanting: dict[int, list[int]] = {}
    for k, (_, chain) in enumerate(chains):
        for yarn in chain.places:
            wanting.setdefault(yarn, []).append(k)
    for yarn, places in wanting.items():
        if len(places) > 1:
            return yarn, places
    return None

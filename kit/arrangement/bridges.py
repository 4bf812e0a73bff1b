"""What to put between two neighbours so that their step gets smaller."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from kit.arrangement.bridge_sets import BridgeSet, best_set
from kit.arrangement.candidates import Candidates, Chain, Fits, Gap
from kit.arrangement.layout import Laid
from kit.blanket import Yarn
from kit.blanket.choices import Bridging, Judging, Kept
from kit.colour.difference import pair_steps

MOST_TOGETHER = 3  # bridges judged together; more are put in so many at a time

Filling = dict[int, tuple[Yarn, ...]]  # gap -> the yarns put into it


@dataclass(frozen=True, slots=True)
class Bridge:
    """A yarn put between two of a run; steps in dE00. `by_hand`: the knitter's own.

    Bridges are told as if put in one after the other. Of several in one gap, which are
    judged together, the first alone may lower nothing.
    """

    yarn: Yarn
    after: Yarn
    before: Yarn
    step_before: float
    step_after: float
    largest_before: float
    largest_after: float
    by_hand: bool = False

    def __repr__(self) -> str:
        gap = f"{self.after.name} | {self.before.name}"
        return f"Bridge({self.yarn.name} in {gap}, to {self.step_after:.1f})"


@dataclass(frozen=True, slots=True)
class Bridged:
    """Yarns along the blanket with their bridges, and what is to be said of these."""

    laid: Laid
    bridges: tuple[Bridge, ...]
    sentences: tuple[str, ...] = ()


def add_bridges(
    laid: Laid,
    candidates: Candidates,
    bridging: Bridging,
    judging: Judging,
    *,
    fits: Fits = lambda yarn, n_places: True,
    kept_from: Sequence[Yarn] = (),
) -> Bridged:
    """First the bridges kept by hand, then up to `bridges` in all where they help.

    Where two yarns meet several times (mirrored), their bridge goes into each place;
    `fits(yarn, n_places)` tells whether a ball may be shared so. Up to three are judged
    together, exactly, by the largest step that remains (`bridge_sets.best_set`); more
    are put in three at a time.
    """
    bridged = Bridged(laid, ())
    for kept in bridging.bridges_kept:
        bridged = _with_kept(bridged, kept, kept_from, fits, judging)
    rounds, left = 0, bridging.bridges - len(bridged.bridges)
    while left > 0:
        most, so_far = min(left, MOST_TOGETHER), len(bridged.bridges)
        bridged = _with_best(bridged, candidates, most, fits, judging)
        rounds += len(bridged.bridges) > so_far
        left -= most
        if len(bridged.bridges) < so_far + most:
            break
    if rounds < 2:
        return bridged
    by_turns = (
        f"Bridges were put in {MOST_TOGETHER} at a time, each time the best "
        "together: all of them at once might do better."
    )
    return replace(bridged, sentences=(*bridged.sentences, by_turns))


def _with_kept(
    so_far: Bridged, kept: Kept, known: Sequence[Yarn], fits: Fits, judging: Judging
) -> Bridged:
    """The run with one bridge that the knitter put in, or why it is not there."""
    laid, sentences = so_far.laid, so_far.sentences
    places, yarn, why = _place_for(kept, laid, known)
    if yarn is None:
        not_used = f'The bridge "{kept.yarn}" is not used: {why}.'
        return replace(so_far, sentences=(*sentences, not_used))
    if len(places) > 1 and not fits(yarn, len(places)):
        places = places[:1]
        after = f'it stands once, after "{laid.yarns[places[0]].name}"'
        once = f'The bridge "{yarn.name}" is too small to share: {after}.'
        sentences = (*sentences, once)
    filling: Filling = dict.fromkeys(places, (yarn,))
    change: tuple[Filling, Filling, Yarn] = ({}, filling, yarn)
    bridge = _bridge(laid, change, places[0], judging, by_hand=True)
    return Bridged(laid.filled(filling), (*so_far.bridges, bridge), sentences)


def _with_best(
    so_far: Bridged, candidates: Candidates, most: int, fits: Fits, judging: Judging
) -> Bridged:
    """The run with the best up to three more; the same where none helps."""
    gaps = _Gaps(so_far.laid, candidates, judging)
    found = gaps.best(most, fits, {bridge.yarn.name for bridge in so_far.bridges})
    if found is None:
        return so_far
    laid = so_far.laid.filled(gaps.filling(found))
    likeliest = (
        "Three bridges in one place were sought among the likeliest of a long "
        "list only, so a better three may be in it."
    )
    sentences = so_far.sentences if found.exact else (*so_far.sentences, likeliest)
    return Bridged(laid, (*so_far.bridges, *gaps.bridges(found)), sentences)


class _Gaps:
    """The gaps of a run whose steps count, and what may go into them."""

    def __init__(self, laid: Laid, candidates: Candidates, judging: Judging) -> None:
        self.laid, self.candidates, self.judging = laid, candidates, judging
        self.places = [
            places
            for places in laid.gaps.values()
            if judging.counts(*laid.yarns[places[0] : places[0] + 2])
        ]
        sizes = _sizes(laid.yarns, judging)
        self.sizes = [float(sizes[places[0]]) for places in self.places]

    def best(self, most: int, fits: Fits, used: set[str]) -> BridgeSet | None:
        candidates, view = self.candidates, self.judging.view
        if not (self.places and len(candidates)):
            return None
        gaps: dict[int, Gap] = {}
        masks: dict[int, np.ndarray] = {}
        worst = sorted(range(len(self.sizes)), key=lambda g: -round(self.sizes[g], 9))
        ends = [yarn.mix for gap in worst[:most] for yarn in self.ends(gap)]
        candidates.prepare(ends, view=view)

        def chain_of(gap: int, n: int, without: frozenset[int]) -> Chain | None:
            if gap not in gaps:
                n_places = len(self.places[gap])
                if n_places not in masks:
                    masks[n_places] = candidates.may(fits, n_places, used)
                one, two = self.ends(gap)
                gaps[gap] = candidates.gap(one.mix, two.mix, masks[n_places], view=view)
            return gaps[gap].chain(n, without)

        return best_set(self.sizes, most, chain_of)

    def ends(self, gap: int) -> tuple[Yarn, Yarn]:
        k = self.places[gap][0]
        return self.laid.yarns[k], self.laid.yarns[k + 1]

    def filling(self, found: BridgeSet) -> Filling:
        filling: Filling = {}
        for gap, chain in found.chains:
            filling |= self._into(gap, self._yarns(chain))
        return filling

    def _yarns(self, chain: Chain) -> list[Yarn]:
        return [self.candidates.yarns[k] for k in chain.places]

    def _into(self, gap: int, yarns: Sequence[Yarn]) -> Filling:
        """Yarns into every place of a gap, turned round where it runs back."""
        run = self.laid.yarns
        first = run[self.places[gap][0]].name
        return {
            k: tuple(yarns if run[k].name == first else yarns[::-1])
            for k in self.places[gap]
        }

    def bridges(self, found: BridgeSet) -> list[Bridge]:
        """The bridges of a set as if put in one after the other."""
        bridges, filling = [], Filling()
        for gap, chain in found.chains:
            for yarn, so_far in self._one_by_one(gap, self._yarns(chain)):
                fuller = filling | self._into(gap, so_far)
                change, place = (filling, fuller, yarn), self.places[gap][0]
                bridges.append(_bridge(self.laid, change, place, self.judging))
                filling = fuller
        return bridges

    def _one_by_one(
        self, gap: int, yarns: Sequence[Yarn]
    ) -> Iterator[tuple[Yarn, list[Yarn]]]:
        """Each yarn of a chain as it is put in, and the chain so far: next comes the
        one that leaves the smallest step."""
        one, two = self.ends(gap)
        chosen: list[int] = []
        while len(chosen) < len(yarns):
            ways = []
            for k in set(range(len(yarns))) - set(chosen):
                so_far = sorted([*chosen, k])
                line = [one, *(yarns[i] for i in so_far), two]
                ways.append((float(_sizes(line, self.judging).max()), k, so_far))
            _, k, chosen = min(ways)
            yield yarns[k], [yarns[i] for i in chosen]


# --- by hand --------------------------------------------------------------------------


def _place_for(
    kept: Kept, laid: Laid, known: Sequence[Yarn]
) -> tuple[list[int], Yarn | None, str]:
    """Where a kept bridge goes and its yarn; None and why where it cannot."""
    places = laid.gaps.get(frozenset((kept.after, kept.before)), [])
    yarn = next((yarn for yarn in known if yarn.name == kept.yarn), None)
    if yarn is None:
        return places, None, "there is no such yarn"
    if yarn in laid.yarns:
        return places, None, "it stands in the arrangement already"
    if not places:
        pair = f'"{kept.after}" and "{kept.before}"'
        return places, None, f"{pair} are not neighbours in this arrangement"
    return places, yarn, ""


# --- runs, fuller and fuller ----------------------------------------------------------


def _bridge(
    laid: Laid,
    change: tuple[Filling, Filling, Yarn],
    place: int,
    judging: Judging,
    *,
    by_hand: bool = False,
) -> Bridge:
    """One yarn put in at a place of the run: fillings before and after, and the
    yarn."""
    was, now, yarn = change
    one, two = laid.yarns[place], laid.yarns[place + 1]
    before = one, *was.get(place, ()), two
    after = one, *now[place], two
    at = after.index(yarn)
    return Bridge(
        yarn,
        after[at - 1],
        after[at + 1],
        step_before=float(_sizes(before, judging)[at - 1]),
        step_after=float(_sizes(after, judging)[at - 1 : at + 1].max()),
        largest_before=_largest(laid.filled(was), judging),
        largest_after=_largest(laid.filled(now), judging),
        by_hand=by_hand,
    )


def _sizes(run: Sequence[Yarn], judging: Judging) -> np.ndarray:
    mixes = [yarn.mix for yarn in run]
    return pair_steps(mixes[:-1], mixes[1:], view=judging.view)


def _largest(laid: Laid, judging: Judging) -> float:
    pairs = enumerate(zip(laid.yarns, laid.yarns[1:], strict=False))
    counted = [k not in laid.joins and judging.counts(*pair) for k, pair in pairs]
    return float(_sizes(laid.yarns, judging)[counted].max(initial=0.0))

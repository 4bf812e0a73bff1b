"""What to put between two neighbours so that their step gets smaller."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from kit.arrangement.bridge_sets import BridgeSet, best_set
from kit.arrangement.candidates import Candidates, Chain, Fits, Gap
from kit.blanket import Yarn
from kit.blanket.choices import Bridging, Kept
from kit.colour.difference import pair_steps

MOST_TOGETHER = 3  # bridges judged together; more are put in so many at a time

Counts = Callable[[Yarn, Yarn], bool]
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
    """A run with its bridges, where it starts anew, and what is to be said of them."""

    run: tuple[Yarn, ...]
    joins: frozenset[int]
    bridges: tuple[Bridge, ...]
    sentences: tuple[str, ...] = ()


def add_bridges(
    run: Sequence[Yarn],
    candidates: Candidates,
    bridging: Bridging,
    *,
    view: float,
    counts: Counts,
    joins: Collection[int] = (),
    fits: Fits = lambda yarn, n_places: True,
    kept_from: Sequence[Yarn] = (),
) -> Bridged:
    """First the bridges kept by hand, then up to `bridges` in all where they help.

    `run` is the order along the blanket and `joins` the steps where it starts anew.
    Where two yarns meet several times (mirrored), their bridge goes into each place;
    `fits(yarn, n_places)` tells whether a ball may be shared so. `counts(a, b)` tells
    whether the step between two neighbours counts at all. Up to three are judged
    together, exactly, by the largest step that remains (`bridge_sets.best_set`); more
    are put in three at a time.
    """
    bridged = Bridged(tuple(run), frozenset(joins), ())
    for kept in bridging.bridges_kept:
        bridged = _with_kept(bridged, kept, kept_from, fits, view, counts)
    rounds, left = 0, bridging.bridges - len(bridged.bridges)
    while left > 0:
        most, so_far = min(left, MOST_TOGETHER), len(bridged.bridges)
        bridged = _with_best(bridged, candidates, most, fits, view, counts)
        rounds += len(bridged.bridges) > so_far
        left -= most
        if len(bridged.bridges) < so_far + most:
            break
    if rounds < 2:
        return bridged
    told = (
        f"Bridges were put in {MOST_TOGETHER} at a time, each time the best "
        "together: all of them at once might do better."
    )
    return replace(bridged, sentences=(*bridged.sentences, told))


def _with_kept(
    so_far: Bridged,
    kept: Kept,
    known: Sequence[Yarn],
    fits: Fits,
    view: float,
    counts: Counts,
) -> Bridged:
    """The run with one bridge that the knitter put in, or why it is not there."""
    run, joins, said = so_far.run, so_far.joins, so_far.sentences
    gaps, yarn, why = _place_for(kept, run, joins, known)
    if yarn is None:
        told = f'The bridge "{kept.yarn}" is not used: {why}.'
        return replace(so_far, sentences=(*said, told))
    if len(gaps) > 1 and not fits(yarn, len(gaps)):
        gaps = gaps[:1]
        after = f'it stands once, after "{run[gaps[0]].name}"'
        said += (f'The bridge "{yarn.name}" is too small to share: {after}.',)
    filling: Filling = dict.fromkeys(gaps, (yarn,))
    change: tuple[Filling, Filling, Yarn] = ({}, filling, yarn)
    bridge = _told(run, joins, change, gaps[0], view, counts, by_hand=True)
    return Bridged(*_filled(run, joins, filling), (*so_far.bridges, bridge), said)


def _with_best(
    so_far: Bridged,
    candidates: Candidates,
    most: int,
    fits: Fits,
    view: float,
    counts: Counts,
) -> Bridged:
    """The run with the best up to three more; the same where none helps."""
    line = _Line(so_far.run, so_far.joins, view, counts)
    used = {bridge.yarn.name for bridge in so_far.bridges}
    found = line.best(candidates, most, fits, used)
    if found is None:
        return so_far
    longer = _filled(so_far.run, so_far.joins, line.filling(found, candidates))
    told = (
        "Three bridges in one place were sought among the likeliest of a long "
        "list only, so a better three may be in it."
    )
    said = so_far.sentences if found.exact else (*so_far.sentences, told)
    return Bridged(*longer, (*so_far.bridges, *line.told(found, candidates)), said)


class _Line:
    """A run along the blanket and its gaps: each pair of neighbours once."""

    def __init__(
        self, run: tuple[Yarn, ...], joins: frozenset[int], view: float, counts: Counts
    ) -> None:
        self.run, self.joins, self.view, self.counts = run, joins, view, counts
        places: dict[frozenset[str], list[int]] = {}
        for k, (one, two) in enumerate(zip(run, run[1:], strict=False)):
            if k not in joins and counts(one, two):
                places.setdefault(frozenset((one.name, two.name)), []).append(k)
        self.places = list(places.values())
        sizes = _sizes(run, view)
        self.sizes = [float(sizes[ks[0]]) for ks in self.places]

    def best(
        self, candidates: Candidates, most: int, fits: Fits, used: set[str]
    ) -> BridgeSet | None:
        if not (self.places and len(candidates)):
            return None
        gaps: dict[int, Gap] = {}
        masks: dict[int, np.ndarray] = {}
        worst = sorted(range(len(self.sizes)), key=lambda g: -round(self.sizes[g], 9))
        ends = [yarn.mix for gap in worst[:most] for yarn in self.ends(gap)]
        candidates.prepare(ends, view=self.view)

        def chain_of(gap: int, n: int, without: frozenset[int]) -> Chain | None:
            if gap not in gaps:
                n_places = len(self.places[gap])
                if n_places not in masks:
                    masks[n_places] = candidates.may(fits, n_places, used)
                one, two = self.ends(gap)
                gaps[gap] = candidates.gap(
                    one.mix, two.mix, masks[n_places], view=self.view
                )
            return gaps[gap].chain(n, without)

        return best_set(self.sizes, most, chain_of)

    def ends(self, gap: int) -> tuple[Yarn, Yarn]:
        k = self.places[gap][0]
        return self.run[k], self.run[k + 1]

    def filling(self, found: BridgeSet, candidates: Candidates) -> Filling:
        filling: Filling = {}
        for gap, chain in found.chains:
            yarns = [candidates.yarns[k] for k in chain.places]
            filling |= self._into(gap, yarns)
        return filling

    def _into(self, gap: int, yarns: Sequence[Yarn]) -> Filling:
        """Yarns into every place of a gap, turned round where it runs back."""
        first = self.run[self.places[gap][0]].name
        return {
            k: tuple(yarns if self.run[k].name == first else yarns[::-1])
            for k in self.places[gap]
        }

    def told(self, found: BridgeSet, candidates: Candidates) -> list[Bridge]:
        """The bridges of a set as if put in one after the other."""
        bridges, filling = [], Filling()
        for gap, chain in found.chains:
            yarns = [candidates.yarns[k] for k in chain.places]
            for yarn, so_far in self._one_by_one(gap, yarns):
                fuller = filling | self._into(gap, so_far)
                k = self.places[gap][0]
                change = (filling, fuller, yarn)
                bridges.append(
                    _told(self.run, self.joins, change, k, self.view, self.counts)
                )
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
                ways.append((float(_sizes(line, self.view).max()), k, so_far))
            _, k, chosen = min(ways)
            yield yarns[k], [yarns[i] for i in chosen]


# --- by hand --------------------------------------------------------------------------


def _place_for(
    kept: Kept, run: Sequence[Yarn], joins: frozenset[int], known: Sequence[Yarn]
) -> tuple[list[int], Yarn | None, str]:
    """The gaps a kept bridge goes into and its yarn; None and why where it cannot."""
    gaps = _gaps(run, joins, kept.after, kept.before)
    yarn = next((yarn for yarn in known if yarn.name == kept.yarn), None)
    if yarn is None:
        return gaps, None, "there is no such yarn"
    if yarn in run:
        return gaps, None, "it stands in the arrangement already"
    if not gaps:
        pair = f'"{kept.after}" and "{kept.before}"'
        return gaps, None, f"{pair} are not neighbours in this arrangement"
    return gaps, yarn, ""


def _gaps(run: Sequence[Yarn], joins: Collection[int], one: str, two: str) -> list[int]:
    """Where two yarns are neighbours, either way round, joins left out."""
    names, pair = [yarn.name for yarn in run], {one, two}
    return [
        k
        for k in range(len(names) - 1)
        if k not in joins and {names[k], names[k + 1]} == pair
    ]


# --- runs, fuller and fuller ----------------------------------------------------------


def _told(
    run: tuple[Yarn, ...],
    joins: frozenset[int],
    change: tuple[Filling, Filling, Yarn],
    gap: int,
    view: float,
    counts: Counts,
    *,
    by_hand: bool = False,
) -> Bridge:
    """One yarn put in at a gap of the run: fillings before and after, and the yarn."""
    was, now, yarn = change
    before = run[gap], *was.get(gap, ()), run[gap + 1]
    after = run[gap], *now[gap], run[gap + 1]
    at = after.index(yarn)
    return Bridge(
        yarn,
        after[at - 1],
        after[at + 1],
        step_before=float(_sizes(before, view)[at - 1]),
        step_after=float(_sizes(after, view)[at - 1 : at + 1].max()),
        largest_before=_largest(*_filled(run, joins, was), view, counts),
        largest_after=_largest(*_filled(run, joins, now), view, counts),
        by_hand=by_hand,
    )


def _filled(
    run: Sequence[Yarn], joins: Collection[int], filling: Mapping[int, Sequence[Yarn]]
) -> tuple[tuple[Yarn, ...], frozenset[int]]:
    """The run with yarns in some of its gaps, and where its joins have moved."""
    line: list[Yarn] = []
    moved = set()
    for k, one in enumerate(run):
        line.append(one)
        if k in joins:
            moved.add(len(line) - 1)
        line += filling.get(k, ())
    return tuple(line), frozenset(moved)


def _sizes(run: Sequence[Yarn], view: float) -> np.ndarray:
    mixes = [yarn.mix for yarn in run]
    return pair_steps(mixes[:-1], mixes[1:], view=view)


def _largest(
    run: Sequence[Yarn], joins: Collection[int], view: float, counts: Counts
) -> float:
    pairs = enumerate(zip(run, run[1:], strict=False))
    counted = [k not in joins and counts(*pair) for k, pair in pairs]
    return float(_sizes(run, view)[counted].max(initial=0.0))

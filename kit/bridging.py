"""What to put between two neighbours so that their step gets smaller."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from kit.choices import Bridging, Kept
from kit.colour import Mix, blend, mean_lab, solid
from kit.difference import pair_steps, step_table
from kit.stash import Yarn

N_RANKED = 5  # candidates told for each jump
FEWER = 1e-9  # dE00: a bridge must lower the largest step by more than this
MOST_COLOURS = 4  # in what to look for
PURE_SHARES = tuple(round(0.2 + 0.05 * k, 2) for k in range(13))

Counts = Callable[[Yarn, Yarn], bool]
Fits = Callable[[Yarn, int], bool]


@dataclass(frozen=True, slots=True)
class Bridge:
    """A yarn put between two of a run; steps in dE00. `by_hand`: the knitter's own."""

    yarn: Yarn
    after: Yarn
    before: Yarn
    step_before: float
    step_after: float
    largest_before: float
    largest_after: float
    by_hand: bool = False


@dataclass(frozen=True, slots=True)
class Bridged:
    """A run with its bridges, where it starts anew, and what is to be said of them."""

    run: tuple[Yarn, ...]
    joins: frozenset[int]
    bridges: tuple[Bridge, ...]
    said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Ideal:
    """What would lie best between two yarns, and the larger step it leaves."""

    mix: Mix
    step_after: float


def add_bridges(
    run: Sequence[Yarn],
    candidates: Sequence[Yarn],
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
    `fits(yarn, n_places)` tells whether a ball may be shared so. Every candidate is
    tried between every two neighbours and judged by the largest step that remains,
    then by its own gap's. A bridge that does not lower the largest step is declined.
    `counts(a, b)` tells whether the step between two neighbours counts at all. Exact
    for one bridge; several are put in one after the other.
    """
    run, joins, bridges, said = tuple(run), frozenset(joins), [], []
    for kept in bridging.bridges_kept:
        gaps, yarn, why = _place_for(kept, run, joins, kept_from)
        if yarn is None:
            said.append(f'The bridge "{kept.yarn}" is not used: {why}.')
            continue
        if not fits(yarn, len(gaps)):
            gaps = gaps[:1]
            after = f'it stands once, after "{run[gaps[0]].name}"'
            said.append(f'The bridge "{yarn.name}" is too small to share: {after}.')
        longer = _put_in(run, joins, yarn, gaps)
        bridges.append(_by_hand(run, joins, longer, gaps[0], view, counts))
        run, joins = longer
    used = {bridge.yarn.name for bridge in bridges}
    left = [yarn for yarn in candidates if yarn.name not in used]
    for _ in range(bridging.bridges - len(bridges)):
        best = best_bridge(run, left, view=view, counts=counts, joins=joins, fits=fits)
        if best is None:
            break
        gaps = _gaps(run, joins, best.after.name, best.before.name)
        run, joins = _put_in(run, joins, best.yarn, gaps)
        bridges.append(best)
        left = [yarn for yarn in left if yarn is not best.yarn]
    return Bridged(run, joins, tuple(bridges), tuple(said))


def best_bridge(
    run: Sequence[Yarn],
    candidates: Sequence[Yarn],
    *,
    view: float,
    counts: Counts,
    joins: Collection[int] = (),
    fits: Fits = lambda yarn, n_places: True,
) -> Bridge | None:
    """The candidate and place that leave the least largest step; None if none helps."""
    places: dict[frozenset[str], list[int]] = {}
    for k, (one, two) in enumerate(zip(run, run[1:], strict=False)):
        if k not in joins and counts(one, two):
            places.setdefault(frozenset((one.name, two.name)), []).append(k)
    if not places or not candidates:
        return None
    gaps, n_places = [p[0] for p in places.values()], [len(p) for p in places.values()]
    sizes = _sizes(run, view)[gaps]
    largest = float(sizes.max())
    after = _steps_after(run, candidates, view)[:, gaps]
    remains = np.maximum(after, _largest_of_others(sizes)[None, :])
    ranked = [
        (round(float(remains[c, g]), 9), round(float(after[c, g]), 9), yarn.name, c, g)
        for c, yarn in enumerate(candidates)
        for g in range(len(gaps))
        if fits(yarn, n_places[g])
    ]
    if not ranked:
        return None
    *_, c, g = min(ranked)
    if remains[c, g] >= largest - FEWER:
        return None
    before = float(sizes[g]), float(after[c, g]), largest, float(remains[c, g])
    return Bridge(candidates[c], run[gaps[g]], run[gaps[g] + 1], *before)


def rank(
    run: Sequence[Yarn], gap: int, candidates: Sequence[Yarn], *, view: float
) -> list[tuple[Yarn, float]]:
    """The candidates that leave the smallest step after place `gap`, best first."""
    if not candidates:
        return []
    after = _steps_after(run, candidates, view)[:, gap]
    scored = sorted(
        (round(float(step), 9), yarn.name, k)
        for k, (step, yarn) in enumerate(zip(after, candidates, strict=True))
    )
    return [(candidates[k], step) for step, _, k in scored[:N_RANKED]]


@lru_cache(maxsize=1000)
def ideal(one: Mix, two: Mix, *, view: float) -> Ideal:
    """What to look for between two mixes: the best of solids and mixes of their own.

    Tried are solids along the way between the averages, their own colours in
    unequal shares (a bridge may want more dark than light), and these with a middle
    colour added; a search on a grid, not an optimum.
    """
    lab_1, lab_2 = np.array(mean_lab(one)), np.array(mean_lab(two))
    ways = [tuple(lab_1 + share * (lab_2 - lab_1)) for share in PURE_SHARES]
    solids = [solid(lab) for lab in ways]
    pure = [_fewer(blend((one, two), (share, 1 - share))) for share in PURE_SHARES]
    middles = [
        _fewer(blend((mix, middle), (0.6, 0.4)))
        for mix in pure
        for middle in solids[2:11:2]
    ]
    tried = solids + pure + middles
    table = step_table(tried, (one, two), view=view).max(axis=1)
    best = int(np.argmin(np.round(table, 9)))
    return Ideal(tried[best], float(table[best]))


def _fewer(mix: Mix) -> Mix:
    """The mix's largest colours only, so that a shopper can keep them in mind."""
    largest = sorted(zip(mix.shares, mix.labs, strict=True), reverse=True)[
        :MOST_COLOURS
    ]
    return Mix(tuple(lab for _, lab in largest), tuple(share for share, _ in largest))


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


def _by_hand(
    run: tuple[Yarn, ...],
    joins: frozenset[int],
    longer: tuple[tuple[Yarn, ...], frozenset[int]],
    gap: int,
    view: float,
    counts: Counts,
) -> Bridge:
    return Bridge(
        longer[0][gap + 1],
        run[gap],
        run[gap + 1],
        step_before=float(_sizes(run, view)[gap]),
        step_after=float(_sizes(longer[0], view)[gap : gap + 2].max()),
        largest_before=_largest(run, joins, view, counts),
        largest_after=_largest(*longer, view, counts),
        by_hand=True,
    )


def _gaps(run: Sequence[Yarn], joins: Collection[int], one: str, two: str) -> list[int]:
    """Where two yarns are neighbours, either way round, joins left out."""
    names, pair = [yarn.name for yarn in run], {one, two}
    return [
        k
        for k in range(len(names) - 1)
        if k not in joins and {names[k], names[k + 1]} == pair
    ]


def _put_in(
    run: Sequence[Yarn], joins: Collection[int], yarn: Yarn, gaps: Collection[int]
) -> tuple[tuple[Yarn, ...], frozenset[int]]:
    """The run with a yarn in each of the gaps, and where its joins have moved."""
    line: list[Yarn] = []
    moved = set()
    for k, one in enumerate(run):
        line.append(one)
        if k in joins:
            moved.add(len(line) - 1)
        if k in gaps:
            line.append(yarn)
    return tuple(line), frozenset(moved)


def _steps_after(
    run: Sequence[Yarn], candidates: Sequence[Yarn], view: float
) -> np.ndarray:
    """(candidates, gaps): the larger of the two steps that a candidate leaves.

    The table is made with the run's mixes sorted, so that another arrangement of the
    same yarns finds it remembered.
    """
    mixes = sorted({yarn.mix for yarn in run}, key=lambda mix: (mix.labs, mix.shares))
    table = step_table([yarn.mix for yarn in candidates], mixes, view=view)
    place = {mix: k for k, mix in enumerate(mixes)}
    along = table[:, [place[yarn.mix] for yarn in run]]
    return np.maximum(along[:, :-1], along[:, 1:])


def _largest_of_others(sizes: np.ndarray) -> np.ndarray:
    """For each gap the largest step elsewhere."""
    others = np.full(len(sizes), float(sizes.max()))
    top = int(np.argmax(sizes))
    others[top] = float(np.delete(sizes, top).max(initial=0.0))
    return others


def _sizes(run: Sequence[Yarn], view: float) -> np.ndarray:
    mixes = [yarn.mix for yarn in run]
    return pair_steps(mixes[:-1], mixes[1:], view=view)


def _largest(
    run: Sequence[Yarn], joins: Collection[int], view: float, counts: Counts
) -> float:
    pairs = enumerate(zip(run, run[1:], strict=False))
    counted = [k not in joins and counts(*pair) for k, pair in pairs]
    return float(_sizes(run, view)[counted].max(initial=0.0))

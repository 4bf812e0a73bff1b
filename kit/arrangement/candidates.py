"""The yarns that may bridge: for each gap the best one, two or three of them, exactly.

A chain of them is judged by its largest step. Bounds say which chains cannot be the
best; of the others the true steps are worked out, the most hopeful first. The list is
packed once, however often it is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf

import numpy as np

from kit.arrangement.catalogue import (
    BATCH,
    ROUNDING,
    Catalogue,
    StepsTo,
    bounds,
    catalogue,
)
from kit.blanket import Yarn
from kit.colour import Mix
from kit.colour.difference import pair_steps

MOST_IN_CHAIN = 3
SHELL = 32  # nearest mixes looked at first, then twice as many
GUESSES = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5)
ROWS, COLUMNS = 256, 1024  # pairs in memory at a time
MOST_TRIPLE_PAIRS = 1_000_000  # neighbours in threes; a longer list is cut, and told
CUT_TO = 300
MOST_KEPT = 200  # mixes whose steps to all candidates are remembered

Fits = Callable[[Yarn, int], bool]


@dataclass(frozen=True, slots=True)
class Chain:
    """Places in the list, in order, and the largest step left, dE00 to 9 digits.

    `exact`: no other chain of as many leaves less.
    """

    step: float
    places: tuple[int, ...]
    exact: bool = True


class Gap:
    """Two mixes, the list to bridge them from, and which of it may be used."""

    def __init__(
        self, listed: Catalogue, ends: tuple[StepsTo, StepsTo], may: np.ndarray
    ) -> None:
        self.listed, (self.one, self.two), self.may = listed, ends, may
        self.view = self.one.view
        self.remembered: dict[tuple[int, frozenset[int]], Chain | None] = {}

    def singles(self, n: int, without: Collection[int] = ()) -> list[tuple[float, int]]:
        """The n mixes that leave the least step, with it; ties in the list's order."""
        low = np.maximum(self._ends(self.one, without), self._ends(self.two, without))
        order = np.argsort(np.round(low, 9), kind="stable")
        order = order[: np.count_nonzero(np.isfinite(low))]
        best: list[tuple[float, int]] = []
        for start in range(0, len(order), BATCH):
            some = order[start : start + BATCH]
            if len(best) == n and low[some[0]] > best[-1][0] + ROUNDING:
                break
            self.one.measure(some)
            self.two.measure(some)
            steps = np.maximum(self.one.low[some], self.two.low[some])
            found = zip(np.round(steps, 9).tolist(), some.tolist(), strict=True)
            best = sorted([*best, *found])[:n]
        return best

    def chain(self, n: int, without: frozenset[int] = frozenset()) -> Chain | None:
        """The best chain of n (1-3) that uses none of `without`; None where there is
        none, or none that leaves less than a shorter one."""
        if (n, without) not in self.remembered:
            self.remembered[n, without] = self._chain(n, without)
        return self.remembered[n, without]

    def _chain(self, n: int, without: frozenset[int]) -> Chain | None:
        if n == 1:
            best = self.singles(1, without)
            return Chain(best[0][0], (best[0][1],)) if best else None
        # A longer chain is only of use where it leaves less.
        fewer = [self.chain(k, without) for k in range(1, n)]
        under = min((one.step for one in fewer if one), default=0.0)
        search = self._pair if n == 2 else self._triple
        return search(without, under)

    def _ends(self, steps: StepsTo, without: Collection[int]) -> np.ndarray:
        low = np.where(self.may, steps.low, inf)
        low[list(without)] = inf
        return low

    def _nearest(
        self, steps: StepsTo, without: Collection[int], under: float
    ) -> tuple[np.ndarray, np.ndarray]:
        """Places whose bound is under a step, nearest first, and these bounds."""
        low = self._ends(steps, without)
        order = np.argsort(low, kind="stable")
        order = order[: np.count_nonzero(low < under)]
        return order, low[order]

    # --- two ---

    def _pair(self, without: frozenset[int], under: float) -> Chain | None:
        xs, x_low = self._nearest(self.one, without, under)
        ys, y_low = self._nearest(self.two, without, under)
        best = self._first_guess(xs, ys, Chain(under, ()))
        xs = xs[: np.searchsorted(x_low, best.step + ROUNDING)]
        ys = ys[: np.searchsorted(y_low, best.step + ROUNDING)]
        done = 0
        while done < max(len(xs), len(ys)):
            upto = 2 * done or SHELL
            best = self._among(xs[done:upto], ys[:upto], best)
            best = self._among(xs[:done], ys[done:upto], best)
            done = upto
            xs = xs[: np.searchsorted(x_low, best.step + ROUNDING)]
            ys = ys[: np.searchsorted(y_low, best.step + ROUNDING)]
        return best if best.places else None

    def _first_guess(self, xs: np.ndarray, ys: np.ndarray, best: Chain) -> Chain:
        """A good pair to begin with, so that most others are ruled out: of those within
        a part of the step of one end the nearest to the other end."""
        for part in GUESSES:
            near_one = xs[self.one.low[xs] <= part * best.step]
            near_two = ys[self.two.low[ys] <= part * best.step]
            onward = np.argsort(self.two.low[near_one], kind="stable")[:SHELL]
            back = np.argsort(self.one.low[near_two], kind="stable")[:SHELL]
            best = self._block(near_one[onward], near_two[back], best)
        return best

    def _among(self, xs: np.ndarray, ys: np.ndarray, best: Chain) -> Chain:
        for i in range(0, len(xs), ROWS):
            for j in range(0, len(ys), COLUMNS):
                best = self._block(xs[i : i + ROWS], ys[j : j + COLUMNS], best)
        return best

    def _block(self, xs: np.ndarray, ys: np.ndarray, best: Chain) -> Chain:
        """The best of these pairs and of what was best before."""
        self.one.measure(xs)
        self.two.measure(ys)
        xs = xs[self.one.low[xs] <= best.step + ROUNDING]
        ys = ys[self.two.low[ys] <= best.step + ROUNDING]
        if not (xs.size and ys.size):
            return best
        ends = np.maximum(self.one.low[xs][:, None], self.two.low[ys][None, :])
        low = bounds(self.listed.only(xs), self.listed.only(ys), view=self.view)
        low = np.maximum(low, ends)
        low[xs[:, None] == ys[None, :]] = inf
        rows, columns = np.nonzero(low <= best.step + ROUNDING)
        order = np.argsort(low[rows, columns], kind="stable")
        rows, columns = rows[order], columns[order]
        for start in range(0, len(rows), BATCH):
            r, c = rows[start : start + BATCH], columns[start : start + BATCH]
            if low[r[0], c[0]] > best.step + ROUNDING:
                break
            steps = np.maximum(self.between(xs[r], ys[c]), ends[r, c])
            sides = np.round(steps, 9).tolist(), xs[r].tolist(), ys[c].tolist()
            best = _better(best, min(zip(*sides, strict=True)))
        return best

    def between(self, xs: np.ndarray, ys: np.ndarray) -> np.ndarray:
        """The true steps between listed mixes, pair by pair."""
        mixes = self.listed.mixes
        ones, twos = [mixes[k] for k in xs], [mixes[k] for k in ys]
        return pair_steps(ones, twos, view=self.view)

    # --- three ---

    def _triple(self, without: frozenset[int], under: float) -> Chain | None:
        """The middle one is chosen with the best bounds to either side, its steps are
        worked out, and so on until the best has no bound left in it."""
        xs, _ = self._nearest(self.one, without, under)
        ys, _ = self._nearest(self.two, without, under)
        middles = np.flatnonzero(np.isfinite(self._ends(self.one, without)))
        exact = len(middles) * (len(xs) + len(ys)) <= MOST_TRIPLE_PAIRS
        if not exact:
            xs, ys = xs[:CUT_TO], ys[:CUT_TO]
            middles = np.array([k for _, k in self.singles(CUT_TO, without)])
        self.one.measure(xs)
        self.two.measure(ys)
        if not (xs.size and ys.size and middles.size):
            return None
        sides = _Side(self, middles, xs, self.one), _Side(self, middles, ys, self.two)
        low = np.maximum(sides[0].low.min(axis=1), sides[1].low.min(axis=1))
        while True:
            m = int(low.argmin())
            if low[m] >= under - ROUNDING:
                return None
            step, x, y = _apart(sides[0].low[m], sides[1].low[m], xs, ys)
            if step > low[m] + ROUNDING:  # one skein cannot stand on both sides
                low[m] = step
            elif sides[0].known[m, x] and sides[1].known[m, y]:
                places = (int(xs[x]), int(middles[m]), int(ys[y]))
                return Chain(round(float(step), 9), places, exact)
            else:
                for side in sides:
                    side.measure(m)
                low[m] = max(side.low[m].min() for side in sides)


def _better(best: Chain, found: tuple[float, int, int]) -> Chain:
    """The better chain of two; the first place counts only where it leaves less."""
    step, *places = found
    if not best.places:
        return Chain(step, tuple(places)) if step < best.step - ROUNDING else best
    return min(best, Chain(step, tuple(places)), key=lambda one: (one.step, one.places))


class _Side:
    """StepsTo from every middle one to those on one side, the side's own step included;
    bounds at first."""

    def __init__(
        self, gap: Gap, middles: np.ndarray, others: np.ndarray, end: StepsTo
    ) -> None:
        self.gap, self.middles, self.others = gap, middles, others
        listed = gap.listed
        low = bounds(listed.only(middles), listed.only(others), view=gap.view)
        self.end = end.low[others]
        self.low = np.maximum(low, self.end[None, :])
        self.low[middles[:, None] == others[None, :]] = inf
        self.known = ~np.isfinite(self.low)

    def measure(self, m: int) -> None:
        """Work out the most hopeful few steps of one middle one."""
        left = np.flatnonzero(~self.known[m])
        left = left[np.argsort(self.low[m, left], kind="stable")][:4]
        middles = np.full(len(left), self.middles[m])
        steps = self.gap.between(middles, self.others[left])
        self.low[m, left] = np.maximum(steps, self.end[left])
        self.known[m, left] = True


def _apart(
    one: np.ndarray, two: np.ndarray, xs: np.ndarray, ys: np.ndarray
) -> tuple[float, int, int]:
    """The least larger of two steps, one of each row, that are of different skeins."""
    firsts, seconds = (np.argsort(row, kind="stable")[:2] for row in (one, two))
    pairs = [
        (max(float(one[x]), float(two[y])), int(x), int(y))
        for x in firsts
        for y in seconds
        if xs[x] != ys[y]
    ]
    return min(pairs, default=(inf, 0, 0))


# --- the list, packed -----------------------------------------------------------------


class Candidates:
    """Yarns by name, with their steps to any mix worked out where they may count."""

    def __init__(self, yarns: Sequence[Yarn]) -> None:
        self.yarns = tuple(sorted(yarns, key=lambda yarn: yarn.name))
        self.listed = catalogue([yarn.mix for yarn in self.yarns])
        self._steps: dict[tuple[Mix, float], StepsTo] = {}

    def __len__(self) -> int:
        return len(self.yarns)

    def may(
        self, fits: Fits, n_places: int, without: Sequence[str] | set[str] = ()
    ) -> np.ndarray:
        """(n,) whether each may stand in so many places."""
        return np.array(
            [yarn.name not in without and fits(yarn, n_places) for yarn in self.yarns],
            dtype=bool,
        )

    def prepare(self, mixes: Sequence[Mix], *, view: float) -> list[StepsTo]:
        """The steps to several mixes, bounded at once."""
        # A dict of its own to read from: another thread may begin afresh meanwhile.
        kept = self._steps if len(self._steps) <= MOST_KEPT else {}
        new = [mix for mix in dict.fromkeys(mixes) if (mix, view) not in kept]
        if new:
            low = bounds(self.listed, catalogue(new), view=view)
            for k, mix in enumerate(new):
                kept[mix, view] = StepsTo(self.listed, mix, low[:, k], view=view)
        self._steps = kept
        return [kept[mix, view] for mix in mixes]

    def gap(self, one: Mix, two: Mix, may: np.ndarray, *, view: float) -> Gap:
        """The place between two mixes, to be bridged by those that may."""
        to_one, to_two = self.prepare((one, two), view=view)
        return Gap(self.listed, (to_one, to_two), may)

    def rank(
        self, ends: tuple[Mix, Mix], n: int, may: np.ndarray, *, view: float
    ) -> list[tuple[Yarn, float]]:
        """The n that leave the smallest step between two mixes, best first."""
        if not self.yarns:
            return []
        best = self.gap(*ends, may, view=view).singles(n)
        return [(self.yarns[k], step) for step, k in best]


class _Same:
    """A long list told apart by being the same object: comparing it takes as long as
    packing it."""

    def __init__(self, yarns: tuple[Yarn, ...]) -> None:
        self.yarns = yarns

    def __hash__(self) -> int:
        return id(self.yarns)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.yarns is other.yarns


def candidates_of(owned: Sequence[Yarn], shop: Sequence[Yarn] = ()) -> Candidates:
    """Yarns of the stash and of a shop list as candidates, remembered."""
    return _packed(tuple(owned), _Same(tuple(shop)))


@lru_cache(maxsize=4)
def _packed(owned: tuple[Yarn, ...], shop: _Same) -> Candidates:
    return Candidates((*owned, *shop.yarns))

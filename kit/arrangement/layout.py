"""How an arrangement runs along the blanket: once or several times, mirrored or not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from kit.blanket import Yarn
from kit.blanket.choices import Laying
from kit.colour import step_table
from kit.yarn import mass

LOOK_ALIKE = 10.0  # dE00: small balls closer than this stand for each other (ours)
LEAST_SHARED_G = 15.0  # grams: a smaller ball is not shared (our rule of thumb)
# In which view look-alikes are found, whatever the blanket's own (our convention).
HALF_WAY = 0.5
UNEVEN_COUNTS = 10.0  # dE00 for one ball against nothing of the other (our convention)
N_PARTNERS = 14  # partners looked at for each ball of a large stash
LARGE = 60  # balls


@dataclass(frozen=True, slots=True)
class Laid:
    """Yarns along the blanket; `joins` are the steps where the run starts anew."""

    yarns: tuple[Yarn, ...]
    joins: frozenset[int] = frozenset()
    sentences: tuple[str, ...] = ()

    def __repr__(self) -> str:
        return f"Laid({len(self.yarns)} yarns, {len(self.joins)} joins)"

    @property
    def passes(self) -> tuple[tuple[Yarn, ...], ...]:
        """The yarns from one join to the next."""
        cuts = [0, *(k + 1 for k in sorted(self.joins)), len(self.yarns)]
        return tuple(self.yarns[a:b] for a, b in pairwise(cuts) if b > a)

    @property
    def gaps(self) -> dict[frozenset[str], list[int]]:
        """Each pair of neighbours by name, and where they meet, whichever way round;
        joins are no gaps."""
        places: dict[frozenset[str], list[int]] = {}
        for k, (one, two) in enumerate(pairwise(self.yarns)):
            if k not in self.joins:
                places.setdefault(frozenset((one.name, two.name)), []).append(k)
        return places

    def filled(self, filling: Mapping[int, Sequence[Yarn]]) -> Laid:
        """The same with yarns put into some places between neighbours."""
        line: list[Yarn] = []
        moved = set()
        for k, yarn in enumerate(self.yarns):
            line.append(yarn)
            if k in self.joins:
                moved.add(len(line) - 1)
            line += filling.get(k, ())
        return replace(self, yarns=tuple(line), joins=frozenset(moved))


def lay_out(run: Sequence[Yarn], laying: Laying, units: str = "metric") -> Laid:
    """One light-to-dark run, laid along the blanket.

    Mirrored runs light, dark, light with the darkest once. Where balls are shared
    ("halve") those under 15 g stand once: when mirrored, look-alikes among them one in
    each half, the others next to the turn; else in one time through. "pair" deals the
    balls out instead and cuts none.
    """
    if len(run) < 2 or n_parts(laying) == 1:
        yarns = run[::-1] if laying.layout == "dark-to-light" else run
        return Laid(tuple(yarns))
    sentences: tuple[str, ...] = ()
    if laying.sharing == "pair":
        passes = _dealt(run, laying)
    else:
        passes, sentences = _shared(run, laying, units)
    if laying.layout == "dark-to-light":
        passes = [one[::-1] for one in passes]
    yarns, joins = [], set()
    for one in passes:
        joins |= {len(yarns) - 1} if yarns and one else set()
        yarns += one
    return Laid(tuple(yarns), frozenset(joins), sentences)


def n_parts(laying: Laying) -> int:
    """How often the colours run along the blanket, there and back being two."""
    return laying.times_through * (2 if laying.layout == "mirrored" else 1)


def shared_in(laying: Laying) -> int:
    """Into how many parts a ball is cut: 1 where none is."""
    return 1 if laying.sharing == "pair" else n_parts(laying)


def is_small(yarn: Yarn) -> bool:
    """Whether a ball is too small to be shared; one of unknown weight is not."""
    return yarn.grams is not None and yarn.grams < LEAST_SHARED_G


def _shared(
    run: Sequence[Yarn], laying: Laying, units: str
) -> tuple[list[list[Yarn]], tuple[str, ...]]:
    """Every ball in every part; small ones stand once, dealt out over the times."""
    times, mirrored = laying.times_through, laying.layout == "mirrored"
    turn = run[-1] if mirrored else None
    small = [yarn for yarn in run if is_small(yarn) and yarn is not turn]
    if not mirrored:
        passes = [
            [yarn for yarn in run if not is_small(yarn) or yarn in small[time::times]]
            for time in range(times)
        ]
        return passes, _not_shared(small, "stands once in one time through", units)
    passes, paired, alone = [], [], []
    for time in range(times):
        pairs = _alike(small[time::times])
        left = [y for y in small[time::times] if not any(y in pair for pair in pairs)]
        passes.append(_there_and_back(run, pairs, left))
        paired += [yarn for yarn in small if any(yarn in pair for pair in pairs)]
        alone += left
    return passes, (
        *_not_shared(paired, "look-alikes stand one in each half", units),
        *_not_shared(alone, "stands once next to the turn", units),
    )


def _there_and_back(
    run: Sequence[Yarn], pairs: Sequence[tuple[Yarn, Yarn]], left: Sequence[Yarn]
) -> list[Yarn]:
    """Light to dark and back: small pairs in their own place, one in each half."""
    there, back = ({pair[k].name for pair in pairs} for k in (0, 1))
    inner = run[:-1]
    half = [yarn for yarn in inner if not is_small(yarn) or yarn.name in there]
    home = [yarn for yarn in inner if not is_small(yarn) or yarn.name in back]
    return [*half, *left, run[-1], *home[::-1]]


def _alike(small: Sequence[Yarn]) -> list[tuple[Yarn, Yarn]]:
    """Small balls in pairs close enough to stand for each other."""
    pairs = look_alikes(small)
    apart = difference_of(pairs)
    return [pair for pair, step in zip(pairs, apart, strict=True) if step <= LOOK_ALIKE]


def _not_shared(yarns: Sequence[Yarn], how: str, units: str) -> tuple[str, ...]:
    names = ", ".join(yarn.name for yarn in yarns)
    small = f"Under {mass(LEAST_SHARED_G, units)}, so not shared: {how}: {names}."
    return (small,) if yarns else ()


def _dealt(run: Sequence[Yarn], laying: Laying) -> list[list[Yarn]]:
    """No ball cut. Mirrored: look-alikes paired off, one in each half, the darkest at
    the turn. Several times through: neighbours in the run dealt out in turn."""
    times = laying.times_through
    if laying.layout != "mirrored":
        return [list(run[time::times]) for time in range(times)]
    return [_paired_off(run[time::times]) for time in range(times)]


def _paired_off(own: Sequence[Yarn]) -> list[Yarn]:
    if len(own) < 2:
        return list(own)
    inner = own[:-1]
    back = {pair[1].name for pair in look_alikes(inner)}
    there = [yarn for yarn in inner if yarn.name not in back]
    home = [yarn for yarn in inner if yarn.name in back]
    return [*there, own[-1], *home[::-1]]


# --- look-alikes ----------------------------------------------------------------------


def look_alikes(yarns: Sequence[Yarn]) -> tuple[tuple[Yarn, Yarn], ...]:
    """The balls in pairs whose differences add to the least (minimum-cost matching).

    A pair differs by its step and a little by how unequal the balls weigh, where both
    were weighed. Of an odd number one stays alone. Exact up to 60 balls; beyond, each
    ball's 14 nearest are looked at. Pairs are in the order given.
    """
    place = {yarn: k for k, yarn in enumerate(yarns)}
    # By name, so that the same balls in another order need not be matched again.
    matched = _matched(tuple(sorted(yarns, key=lambda yarn: yarn.name)))
    ordered = (sorted(pair, key=place.__getitem__) for pair in matched)
    return tuple(
        (one, two) for one, two in sorted(ordered, key=lambda pair: place[pair[0]])
    )


def difference_of(pairs: Sequence[tuple[Yarn, Yarn]]) -> list[float]:
    """The step within each pair, dE00."""
    return [
        float(step_table((one.mix,), (two.mix,), view=HALF_WAY)[0, 0])
        for one, two in pairs
    ]


@lru_cache(maxsize=64)
def _matched(yarns: tuple[Yarn, ...]) -> tuple[tuple[Yarn, Yarn], ...]:
    if len(yarns) < 2:
        return ()
    costs = _costs(yarns)
    i, j = _edges(costs)
    chosen = _least_matching(len(yarns), i, j, costs[i, j])
    return tuple(
        (yarns[a], yarns[b]) for a, b in zip(i[chosen], j[chosen], strict=True)
    )


def _costs(yarns: tuple[Yarn, ...]) -> np.ndarray:
    mixes = [yarn.mix for yarn in yarns]
    weights = [np.nan if yarn.grams is None else yarn.grams for yarn in yarns]
    grams = np.array(weights, dtype=float)
    whole = np.maximum(grams[:, None] + grams[None, :], 1e-9)
    uneven = np.nan_to_num(np.abs(grams[:, None] - grams[None, :]) / whole)
    return np.round(step_table(mixes, mixes, view=HALF_WAY) + UNEVEN_COUNTS * uneven, 9)


def _edges(costs: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The pairs that may be chosen, each once with i before j."""
    n = len(costs)
    if n <= LARGE:
        return np.triu_indices(n, 1)
    near = np.argsort(costs, axis=1, kind="stable")[:, : N_PARTNERS + 1]
    may = np.zeros((n, n), dtype=bool)
    may[np.arange(n)[:, None], near] = True
    may[np.arange(n - 1), np.arange(1, n)] = True  # so that a full matching exists
    i, j = np.nonzero(np.triu(may | may.T, 1))
    return i, j


def _least_matching(
    n: int, i: np.ndarray, j: np.ndarray, cost: np.ndarray
) -> np.ndarray:
    """Which edges make up the matching: as an integer programme, by HiGHS."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    each = np.arange(len(cost))
    ends = coo_array(
        (
            np.ones(2 * len(cost)),
            (np.concatenate([i, j]), np.concatenate([each, each])),
        ),
        shape=(n, len(cost)),
    )
    constraints = [LinearConstraint(ends.tocsr(), 0 if n % 2 else 1, 1)]
    if n % 2:  # all but one
        constraints.append(LinearConstraint(np.ones((1, len(cost))), n // 2, n // 2))
    found = milp(
        cost,
        integrality=1,
        bounds=Bounds(0, 1),
        constraints=constraints,
        options={"mip_rel_gap": 0},  # else up to a ten-thousandth too much would do
    )
    return np.flatnonzero(found.x > 0.5)

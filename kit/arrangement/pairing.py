"""Look-alikes: balls paired off so that the pairs differ least in all."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from kit.blanket import Yarn
from kit.colour import step_table

VIEW = 0.5  # half-way, whatever the blanket's own view (our convention)
UNEVEN_COUNTS = 10.0  # dE00 for one ball against nothing of the other (our convention)
N_NEAREST = 14  # partners looked at for each ball of a large stash
LARGE = 60

Pair = tuple[Yarn, Yarn]


def look_alikes(yarns: Sequence[Yarn]) -> tuple[Pair, ...]:
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


def difference_of(pairs: Sequence[Pair]) -> list[float]:
    """The step within each pair, dE00."""
    return [
        float(step_table((one.mix,), (two.mix,), view=VIEW)[0, 0]) for one, two in pairs
    ]


@lru_cache(maxsize=64)
def _matched(yarns: tuple[Yarn, ...]) -> tuple[Pair, ...]:
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
    return np.round(step_table(mixes, mixes, view=VIEW) + UNEVEN_COUNTS * uneven, 9)


def _edges(costs: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The pairs that may be chosen, each once with i before j."""
    n = len(costs)
    if n <= LARGE:
        return np.triu_indices(n, 1)
    near = np.argsort(costs, axis=1, kind="stable")[:, : N_NEAREST + 1]
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

"""All beginnings of orders side by side, one thing longer each time: exact search."""

from __future__ import annotations

import numpy as np

from kit.search.problem import SAME, Order, Problem

STATES = 500_000  # beginnings: callers deal them out over the layers
WIDEST = 50  # things open at a time, so that they fit the bits of a number

# A layer: first unplaced, bits of the placed ones after it, last, score, parent.
Layer = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def by_layers(
    problem: Problem,
    *,
    worst: float = np.inf,
    limit: float | None = None,
    states: int = STATES,
) -> tuple[Order | None, bool]:
    """The best order, among all, or among the best beginnings where memory is short.

    The value rule leaves only a window of things to choose from, so beginnings with the
    same things placed and the same last one are one state (Held & Karp 1962, J. SIAM
    10:196). Without `limit` the largest step is made smallest, looking only below
    `worst`; with it the sum is, among orders with no step over it. Returns the order
    (None if there is none) and whether the search was complete; when more than `states`
    are alive in one layer the best are kept and it no longer is.
    """
    if problem.window > WIDEST:
        return None, False
    layer, history, complete = _first_layer(problem), [], True
    history.append(layer)
    for placed in range(1, problem.n):
        closing = placed == problem.n - 1
        layer = _next_layer(problem, layer, worst, limit, closing)
        if len(layer[0]) > states:
            best = np.lexsort((layer[2], layer[1], layer[0], layer[3]))[:states]
            layer = tuple(part[np.sort(best)] for part in layer)  # type: ignore
            complete = False
        if not len(layer[0]):
            return None, complete
        history.append(layer)
    return _trace(history), complete


def _first_layer(problem: Problem) -> Layer:
    starts = np.arange(1) if problem.fixed_ends else np.arange(problem.reach[0] + 1)
    first = np.where(starts == 0, 1, 0)
    bits = np.where(starts == 0, 0, 1 << np.maximum(starts - 1, 0)).astype(np.int64)
    return first, bits, starts, np.zeros(len(starts)), np.full(len(starts), -1)


def _next_layer(
    problem: Problem, layer: Layer, worst: float, limit: float | None, closing: bool
) -> Layer:
    first, bits, last, score, _ = layer
    reach, grown = problem.reach, []
    for ahead in range(int((reach[first] - first).max()) + 1):
        free = (
            np.ones(len(first), bool) if ahead == 0 else (bits >> (ahead - 1)) & 1 == 0
        )
        free &= first + ahead <= reach[first]
        if problem.fixed_ends and not closing:
            free &= first + ahead < problem.n - 1
        parent = np.flatnonzero(free)
        thing = first[parent] + ahead
        step = problem.cost[last[parent], thing]
        if limit is None:
            new_score = np.maximum(score[parent], step)
            fits = new_score < worst - SAME
        else:
            new_score, fits = score[parent] + step, step <= limit + SAME
        parent, thing, new_score = parent[fits], thing[fits], new_score[fits]
        if ahead == 0:
            state = _skip_placed(first[parent] + 1, bits[parent])
        else:
            state = first[parent], bits[parent] | (1 << (ahead - 1))
        grown.append((*state, thing, new_score, parent))
    joined = tuple(np.concatenate(parts) for parts in zip(*grown, strict=True))
    return _best_of_each(joined, problem.n)  # type: ignore[arg-type]


def _skip_placed(first: np.ndarray, bits: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Move on to the next thing that is not placed; `bits` are of `first` and after."""
    first, bits = first.copy(), bits.copy()
    while (placed := bits & 1 == 1).any():
        first[placed] += 1
        bits[placed] >>= 1
    return first, bits >> 1


def _best_of_each(layer: Layer, n: int) -> Layer:
    first, bits, last, score, parent = layer
    key = bits * n + last  # `first` follows from how many bits are set
    order = np.lexsort((parent, score, key))
    key = key[order]
    lead = order[np.concatenate(([True], key[1:] != key[:-1]))] if len(key) else order
    return first[lead], bits[lead], last[lead], score[lead], parent[lead]


def _trace(history: list[Layer]) -> Order:
    at = int(np.argmin(history[-1][3]))
    order = []
    for layer in reversed(history):
        order.append(int(layer[2][at]))
        at = int(layer[4][at])
    return tuple(reversed(order))

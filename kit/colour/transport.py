"""Least cost of moving shares onto shares: the earth-mover's distance."""

from __future__ import annotations

import numpy as np

LEAST_SHARE = 1e-12


def transport_cost(
    cost: np.ndarray, supply: np.ndarray, demand: np.ndarray
) -> np.ndarray:
    """Least cost of moving `supply` (p, m) onto `demand` (p, n) at `cost` (p, m, n).

    The earth-mover's distance where both sides add to 1: p small problems at once, each
    by shortest augmenting paths (Bellman-Ford on the residual network), exact to
    rounding. Returns shape (p,).
    """
    p, m, n = cost.shape
    if m == 1 or n == 1:
        return (cost * supply[:, :, None] * demand[:, None, :]).sum(axis=(1, 2))
    flow = np.zeros_like(cost)
    supply, demand = supply.copy(), demand.copy()
    open_ = np.arange(p)
    while open_.size:
        part = flow[open_], supply[open_], demand[open_]
        _augment(cost[open_], *part)
        flow[open_], supply[open_], demand[open_] = part
        unmet = np.minimum(part[1].max(axis=1), part[2].max(axis=1))
        open_ = open_[unmet > LEAST_SHARE]
    return (flow * cost).sum(axis=(1, 2))


def _augment(
    cost: np.ndarray, flow: np.ndarray, supply: np.ndarray, demand: np.ndarray
) -> None:
    """Send as much as fits along one cheapest path in each problem; edits in place."""
    each = np.arange(len(cost))
    to_target, from_source, via = _cheapest_paths(cost, flow, supply)
    target = np.where(demand > LEAST_SHARE, to_target, np.inf).argmin(axis=1)
    steps = [(from_source[each, target], target, each)]
    amount = demand[each, target]
    for _ in range(cost.shape[1]):  # a path visits a source once
        source, _, on = steps[-1]
        back = via[on, source]
        going = back >= 0
        amount[on] = np.where(
            going,
            np.minimum(amount[on], flow[on, source, np.maximum(back, 0)]),
            np.minimum(amount[on], supply[on, source]),
        )
        if not going.any():
            break
        on, back = on[going], back[going]
        steps.append((from_source[on, back], back, on))
    for k, (source, column, on) in enumerate(steps):
        flow[on, source, column] += amount[on]
        back = via[on, source]
        ends, goes = back < 0, back >= 0
        supply[on[ends], source[ends]] -= amount[on[ends]]
        flow[on[goes], source[goes], back[goes]] -= amount[on[goes]]
        if k == 0:
            demand[on, column] -= amount[on]


def _cheapest_paths(
    cost: np.ndarray, flow: np.ndarray, supply: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Bellman-Ford from every source with supply left.

    Returns, for each target, its distance and the source before it on the path, and for
    each source the target it is reached back from (-1 where the path starts).
    """
    at_source = np.where(supply > LEAST_SHARE, 0.0, np.inf)
    at_target = np.full((len(cost), cost.shape[2]), np.inf)
    via = np.full(supply.shape, -1)
    from_source = np.zeros(at_target.shape, dtype=int)
    for _ in range(cost.shape[1]):
        # Only a truly shorter way replaces the one before: a tie would close a circle.
        reach = at_source[:, :, None] + cost
        shorter = reach.min(axis=1) < at_target - 1e-9
        from_source = np.where(shorter, reach.argmin(axis=1), from_source)
        at_target = np.where(shorter, reach.min(axis=1), at_target)
        back = np.where(flow > LEAST_SHARE, at_target[:, None, :] - cost, np.inf)
        nearer = back.min(axis=2) < at_source - 1e-9
        if not nearer.any():
            break
        via = np.where(nearer, back.argmin(axis=2), via)
        at_source = np.where(nearer, back.min(axis=2), at_source)
    return at_target, from_source, via

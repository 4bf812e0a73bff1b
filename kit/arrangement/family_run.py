"""Orders by family: light neutrals, the families in turn, dark neutrals. In numbers."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations
from math import inf

import numpy as np

from kit.blanket.choices import Arranging
from kit.colour.families import family_hue
from kit.search import Order

NEUTRALS = "neutrals"


def by_family(
    families: Sequence[str],
    light: Sequence[bool],
    arranging: Arranging,
    costs: np.ndarray,
) -> Order:
    """Light neutrals open, dark neutrals close, the other families between them.

    `families` and whether each thing is `light`, numbered from light to dark; `costs`
    (n, n) their steps in dE00.
    """
    groups: dict[str, list[int]] = {}
    opening: list[int] = []
    closing: list[int] = []
    listed = () if isinstance(arranging.family_order, str) else arranging.family_order
    for i, family in enumerate(families):
        if family == NEUTRALS and NEUTRALS not in listed:
            (opening if light[i] else closing).append(i)
        else:
            groups.setdefault(family, []).append(i)
    orders = _family_orders(groups, arranging, costs, opening, closing)
    if arranging.families == "light-to-dark":
        chains = [
            [*opening, *(i for group in families for i in group), *closing]
            for families in orders
        ]
    else:
        chains = [
            _alternating(opening, families, closing, starts_light)
            for families in orders
            for starts_light in (True, False)
        ]
    # One light-to-dark run, lighter end first.
    falling = [chain for chain in chains if chain[0] <= chain[-1]]
    best = min(falling or chains, key=lambda chain: (*_judge(chain, costs), chain))
    return tuple(best)


def _alternating(
    opening: list[int], families: Sequence[list[int]], closing: list[int], light: bool
) -> list[int]:
    """Families in alternating directions, the first from light to dark or not."""
    chain = [*opening]
    for group in families:
        chain += group if light else group[::-1]
        light = not light
    return chain + closing


def _judge(chain: Sequence[int], costs: np.ndarray) -> tuple[float, float]:
    steps = costs[list(chain[:-1]), list(chain[1:])]
    return (float(steps.max(initial=0.0)), round(float(steps.sum()), 6))


def _family_orders(
    groups: dict[str, list[int]],
    arranging: Arranging,
    costs: np.ndarray,
    opening: list[int],
    closing: list[int],
) -> list[list[list[int]]]:
    """The orders of families worth judging."""
    if not isinstance(arranging.family_order, str):
        listed = dict.fromkeys(arranging.family_order)
        named = [name for name in listed if name in groups]
        rest = [name for name in groups if name not in named]
        return [[groups[name] for name in named + sorted(rest, key=family_hue)]]
    round_circle = sorted(groups, key=family_hue)
    if arranging.family_order == "any":
        alternate = arranging.families == "alternate"
        return _any_order(list(groups.values()), costs, opening, closing, alternate)
    orders = []
    for start in range(len(round_circle) or 1):
        turned = round_circle[start:] + round_circle[:start]
        orders += [[groups[name] for name in way] for way in (turned, turned[::-1])]
    return orders


def _any_order(
    groups: list[list[int]],
    costs: np.ndarray,
    opening: list[int],
    closing: list[int],
    alternate: bool,
) -> list[list[list[int]]]:
    """For either start the order of families with the smallest largest step, then sum.

    Only orders whose lighter end comes first, where there is one.
    """
    if len(groups) <= 2:
        return [list(order) for order in permutations(groups)]
    inner = max(_judge(group, costs)[0] for group in [*groups, opening, closing])
    table = [[*row, 0.0] for row in costs.tolist()] + [[0.0] * (len(costs) + 1)]
    before = opening[-1] if opening else len(costs)  # no step to a missing neighbour
    after = closing[0] if closing else len(costs)
    found: list[Order] = []
    for falling in (True, False):  # where none begins at its lighter end, any will do
        for light in (True, False) if alternate else (True,):
            ends = [
                [(g[0], g[-1]) if not alternate or light == even else (g[-1], g[0])
                 for g in groups]
                for even in (True, False)
            ]  # fmt: skip
            each = [(tuple(range(len(groups))), -1)]
            starts = _falling(ends[0], opening, closing) if falling else each
            found += [
                _least_joins(ends, table, (before, after), start, inner)
                for start in starts
            ]
        found = [order for order in found if order]
        if found:
            break
    return [[groups[k] for k in order] for order in found]


def _falling(
    heads: list[tuple[int, int]], opening: list[int], closing: list[int]
) -> list[tuple[Order, int]]:
    """Which families may come first, and from what the run's last yarn must be darker.

    Things are numbered from light to dark. Light neutrals and dark neutrals at the ends
    settle it; with neither, every family is tried in turn.
    """
    each = tuple(range(len(heads)))
    if opening:
        return [(each, -1 if closing else opening[0])]
    if closing:
        fit = tuple(k for k in each if heads[k][0] <= closing[-1])
        return [(fit or each, -1)]
    return [((k,), heads[k][0]) for k in each]


def _least_joins(
    ends: list[list[tuple[int, int]]],
    table: list[list[float]],
    beside: tuple[int, int],
    falling: tuple[Order, int],
    inner: float,
) -> Order:
    """Held & Karp 1962 over (families used, last one): all orders in effect.

    The largest join is found first, then the sum among orders with none larger (or
    larger than `inner`, the largest step inside them). () where none falls.
    """
    n, limit = len(ends[0]), inf
    order: Order = ()
    for by_sum in (False, True):
        states: dict[tuple[int, int], tuple[float, Order]] = {(0, -1): (0.0, ())}
        for place in range(n):
            grown: dict[tuple[int, int], tuple[float, Order]] = {}
            for (used, last), (score, before) in states.items():
                tail = ends[(place - 1) % 2][last][1] if before else beside[0]
                for k in range(n) if place else falling[0]:
                    head, end = ends[place % 2][k]
                    closes = place == n - 1
                    if used >> k & 1 or (closes and end < falling[1]):
                        continue
                    joins = [table[tail][head], table[end][beside[1]] * closes]
                    if max(joins) > limit + 1e-9:
                        continue
                    new = score + sum(joins) if by_sum else max(score, *joins)
                    state, chain = (used | 1 << k, k), (*before, k)
                    if state not in grown or (new, chain) < grown[state]:
                        grown[state] = (new, chain)
            states = grown
        score, order = min(states.values(), default=(inf, ()))
        limit = max(score, inner)
    return order

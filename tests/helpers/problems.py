"""Things to put in order, and slow judges: every order, and a dynamic programme."""

from functools import lru_cache
from itertools import combinations, permutations
from math import inf

import numpy as np

from kit.colour import mean_lab, step_table
from kit.search import Problem
from tests.helpers.strategies import random_costs
from tests.helpers.yarns import leftovers

SAME = 1e-9
RULES = [
    (inf, False),
    (inf, True),
    (20.0, False),
    (20.0, True),
    (5.0, False),
    (5.0, True),
]
ids = {"ids": [f"slack {slack}, {'fixed' if f else 'free'} ends" for slack, f in RULES]}


def values_of(n, rng):
    """L* from light to dark in tenths, so that some differ by the slack exactly."""
    return tuple(sorted(rng.integers(150, 950, n) / 10, reverse=True))


def problem_of(n, rng, *, slack=inf, fixed=False):
    return Problem(random_costs(n, rng), values_of(n, rng), slack, fixed)


def on_a_plane(n, rng, *, slack=inf, fixed=False):
    """Things whose steps are distances, as colours' nearly are; clusters happen."""
    places = rng.choice([0, 60, 100], (n, 1)) * (1, 0) + rng.uniform(0, 30, (n, 2))
    cost = np.linalg.norm(places[:, None] - places[None], axis=-1)
    return Problem(np.round(cost, 9), values_of(n, rng), slack, fixed)


def of_leftovers(n, seed, *, slack=inf, fixed=False, view=0.5):
    """The problem that a realistic stash makes."""
    mixes = sorted(
        (one.mix for one in leftovers(n, seed)), key=lambda m: -mean_lab(m)[0]
    )
    cost = np.round(step_table(mixes, mixes, view=view), 9)
    return Problem(cost, tuple(mean_lab(mix)[0] for mix in mixes), slack, fixed)


@lru_cache
def every_order(n):
    return np.array(list(permutations(range(n)))).reshape(-1, n)


def allowed_orders(problem):
    """(m, n) all orders that keep the value rule and the ends, by their definition."""
    orders, V = every_order(problem.n), np.array(problem.values)
    keeps = np.ones(len(orders), bool)
    for first, later in combinations(range(problem.n), 2):
        keeps &= ~(V[orders[:, later]] - V[orders[:, first]] > problem.slack)
    if problem.fixed_ends:
        keeps &= (orders[:, 0] == 0) & (orders[:, -1] == problem.n - 1)
    return orders[keeps]


def keeps_rule(problem, order):
    """Whether an order keeps the value rule and the ends, pair by pair."""
    V, ends = [problem.values[i] for i in order], (0, problem.n - 1)
    late = any(b - a > problem.slack for a, b in combinations(V, 2))
    at_ends = not len(order) or (order[0], order[-1]) == ends
    return not late and (at_ends or not problem.fixed_ends)


def steps_of(problem, orders):
    return problem.cost[orders[:, :-1], orders[:, 1:]]


def brute_largest(problem):
    """The least largest step of all orders."""
    return steps_of(problem, allowed_orders(problem)).max(axis=1).min()


def weights(steps, limit):
    """What steps weigh under a limit: themselves, and more the nearer they come."""
    return steps + (limit or 1) * (steps / (limit or 1)) ** 6


def brute_lightest(problem, limit):
    """The least weight of all orders with no step over the limit."""
    steps = steps_of(problem, allowed_orders(problem))
    steps = steps[steps.max(axis=1) <= limit + SAME]
    return weights(steps, limit).sum(axis=1).min()


def weight_of(problem, order, limit):
    return weights(steps_of(problem, np.array([order])), limit).sum()


def held_karp(problem, limit=None):
    """Least largest step, or least weight with no step over `limit`, over all orders.

    Held & Karp 1962, J. SIAM 10:196: the best way to have placed a set of things and
    to stand at one of them, for every set and every one of its members.
    """
    n, V = problem.n, problem.values
    bit = [1 << i for i in range(n)]
    needs = [
        sum(bit[i] for i in range(n) if V[i] - V[j] > problem.slack) for j in range(n)
    ]
    cost = problem.cost if limit is None else weights(problem.cost, limit)
    rows, steps = cost.tolist(), problem.cost.tolist()
    starts = [0] if problem.fixed_ends else [j for j in range(n) if not needs[j]]
    reached = {(bit[j], j): 0.0 for j in starts}
    for n_placed in range(1, n):
        further = {}
        for (placed, last), score in reached.items():
            for j in range(n):
                closes = problem.fixed_ends and j == n - 1
                if placed & bit[j] or needs[j] & ~placed:
                    continue
                if closes and n_placed < n - 1:
                    continue
                if limit is not None and steps[last][j] > limit + SAME:
                    continue
                step = rows[last][j]
                new = max(score, step) if limit is None else score + step
                state = placed | bit[j], j
                if new < further.get(state, inf):
                    further[state] = new
        reached = further
    return min(reached.values(), default=inf)

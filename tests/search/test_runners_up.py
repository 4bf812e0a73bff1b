"""The sum and the runners-up, with the largest step held."""

from math import inf

import numpy as np
import pytest

from kit.search.bottleneck import least_largest
from kit.search.runners_up import anneal, polish, settle
from tests.helpers.problems import (
    RULES,
    SAME,
    brute_lightest,
    held_karp,
    ids,
    keeps_rule,
    of_leftovers,
    on_a_plane,
    weight_of,
)


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_polish(slack, fixed, rng):
    """Lighter than before, no step over the limit, and the rule is kept; of seven
    things no order is lighter."""
    for n in (7, 30):
        problem = on_a_plane(n, rng, slack=slack, fixed=fixed)
        start = tuple(range(n))
        limit = problem.largest(start)
        order = polish(problem, start, limit=limit)
        assert sorted(order) == list(start)
        assert keeps_rule(problem, order)
        assert problem.largest(order) <= limit + SAME
        weight = weight_of(problem, order, limit)
        assert weight < weight_of(problem, start, limit) or n == 7
        if n == 7:
            assert weight == pytest.approx(brute_lightest(problem, limit), abs=1e-7)


@pytest.mark.parametrize("fixed", [False, True])
def test_thirteen_things_by_integer_programming(fixed):
    """Without a value rule the lightest order is found at larger sizes, too."""
    problem = of_leftovers(13, 8, fixed=fixed)
    found = least_largest(problem)
    weight = weight_of(problem, found.order, found.largest)
    assert weight == pytest.approx(held_karp(problem, found.largest), abs=1e-6)


def test_lightest_of_many_beats_moves():
    """No order that moves come to is lighter than the exact one."""
    for seed in range(2):
        problem = of_leftovers(35, seed)
        found = least_largest(problem, polished=False)
        limit = found.largest
        exact = polish(problem, found.order, limit=limit)
        moved = settle(problem.weighed(limit), found.order)
        weights = [weight_of(problem, o, limit) for o in (exact, moved, found.order)]
        assert weights[0] <= weights[1] + 1e-6
        assert weights[1] <= weights[2]
        assert problem.largest(exact) <= limit + SAME


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_anneal(slack, fixed):
    """Never heavier, the rule kept, the same again; and lighter than settling."""
    gains = []
    for seed in range(3):
        problem = of_leftovers(40, seed, slack=slack, fixed=fixed)
        found = least_largest(problem, polished=False)
        weighed = problem.weighed(found.largest)
        calm = settle(weighed, found.order)
        once = anneal(weighed, calm, limit=found.largest)
        if seed == 0:
            assert anneal(weighed, calm, limit=found.largest) == once
        assert sorted(once) == list(range(40))
        assert keeps_rule(problem, once)
        assert problem.largest(once) <= found.largest + SAME
        assert weighed.total(once) <= weighed.total(calm) + SAME
        gains.append(weighed.total(calm) - weighed.total(once))
    assert max(gains) > 0


def test_runners_up_come_down_where_it_costs_little():
    """Against the least sum: second to fourth largest lower, the sum hardly larger."""
    # Our measurement on 24 stashes of 25 to 60 yarns: the sum 0-2 % larger.
    lower, dearer = [], []
    for seed in range(5):
        problem = of_leftovers(25, seed)
        found = least_largest(problem)
        plain = least_sum(problem, found.order, found.largest)
        steps = [sorted(steps_along(problem, o))[-4:-1] for o in (found.order, plain)]
        lower.append(np.mean(steps[0]) / np.mean(steps[1]))
        dearer.append(problem.total(found.order) / problem.total(plain))
    assert max(lower) <= 1 + 1e-9
    assert np.mean(lower) < 0.995
    assert max(dearer) < 1.04


def steps_along(problem, order):
    return [problem.cost[i, j] for i, j in zip(order, order[1:], strict=False)]


def least_sum(problem, order, limit):
    from kit.search.tours import cheapest

    plain, complete = cheapest(problem, limit)
    assert complete
    assert problem.largest(plain) <= limit + SAME
    return plain


def test_nothing_to_weigh():
    """Where every step is nothing, any order stays as it is."""
    problem = on_a_plane(5, np.random.default_rng(1), slack=inf)
    flat = type(problem)(np.zeros((5, 5)), problem.values, inf, False)
    assert sorted(polish(flat, tuple(range(5)), limit=0.0)) == list(range(5))

"""Orders as tours: the bound is never too high, the integer programme exact."""

from itertools import combinations
from math import inf

import numpy as np
import pytest

from kit.search.tours import _small_cuts, cheapest, fractional
from tests.helpers.problems import (
    SAME,
    allowed_orders,
    brute_largest,
    held_karp,
    keeps_rule,
    of_leftovers,
    on_a_plane,
    problem_of,
    steps_of,
)

FREE_OR_FIXED = pytest.mark.parametrize("fixed", [False, True])


@FREE_OR_FIXED
@pytest.mark.parametrize("slack", [inf, 12.0])
@pytest.mark.parametrize("kind", [problem_of, on_a_plane])
def test_bound_against_every_order(kind, slack, fixed):
    """What the linear programme calls impossible lies under the least largest step."""
    rng = np.random.default_rng(3)
    n_shown = 0
    for n in (4, 6, 7, 8):
        problem = kind(n, rng, slack=slack, fixed=fixed)
        largest, groups = brute_largest(problem), ()
        for limit in problem.levels[::3]:
            impossible, groups = fractional(problem, float(limit), groups)
            assert not impossible or limit < largest - SAME
            n_shown += impossible
        assert not fractional(problem, largest)[0]
    assert n_shown > 5


@FREE_OR_FIXED
def test_cheapest_against_every_order(fixed):
    """The order with the least sum among those within the limit, or none."""
    rng = np.random.default_rng(4)
    for n in (3, 5, 6, 7, 8):
        problem = problem_of(n, rng, fixed=fixed)
        steps = steps_of(problem, allowed_orders(problem))
        largest = steps.max(axis=1).min()
        for limit in (largest, largest + 4, 99.0):
            order, complete = cheapest(problem, limit)
            assert complete
            assert keeps_rule(problem, order)
            assert sorted(order) == list(range(n))
            least = steps[steps.max(axis=1) <= limit + SAME].sum(axis=1).min()
            assert problem.total(order) == pytest.approx(least, abs=1e-6)
        assert cheapest(problem, largest - 1e-6) == (None, True)


@FREE_OR_FIXED
def test_bound_of_twelve_yarns(fixed):
    """Linear bound <= least largest step = where the integer programme begins."""
    for seed in range(4):
        problem = of_leftovers(11, seed, fixed=fixed)
        largest = held_karp(problem)
        below = float(problem.levels[problem.level_of(largest) - 1])
        assert cheapest(problem, below) == (None, True)
        assert cheapest(problem, largest)[0]
        assert not fractional(problem, largest)[0]


def test_groups_left_too_seldom():
    """Each group found has less than two links out, and the smallest cut is found."""
    rng = np.random.default_rng(5)
    n_found = 0
    for _ in range(40):
        weight = np.triu(rng.choice([0, 0.25, 0.5, 1], (7, 7), p=[0.4, 0.2, 0.2, 0.2]))
        np.fill_diagonal(weight, 0)
        weight += weight.T
        every = [group for k in range(1, 7) for group in combinations(range(7), k)]
        least = min(out_of(weight, group) for group in every)
        found = _small_cuts(weight)
        assert all(out_of(weight, group) < 2 for group in found)
        assert bool(found) == (least < 2 - 1e-6)
        if found:
            assert out_of(weight, found[0]) == pytest.approx(least)
        n_found += bool(found)
    assert n_found > 0


def out_of(weight, group):
    rest = [i for i in range(len(weight)) if i not in group]
    return weight[np.ix_(list(group), rest)].sum()

"""What is allowed and what it costs, held against the definitions."""

from math import inf

import numpy as np
import pytest

from kit.search.problem import Problem, keeps_value_rule
from tests.helpers.problems import (
    RULES,
    allowed_orders,
    every_order,
    ids,
    keeps_rule,
    problem_of,
    weights,
)


@pytest.mark.parametrize("slack", [inf, 20.0, 5.0, 0.0])
def test_the_value_rule_pair_by_pair(slack, rng):
    """One look along an order says what comparing every pair in it says."""
    problem = problem_of(6, rng, slack=slack)
    allowed = {tuple(order) for order in allowed_orders(problem).tolist()}
    for order in every_order(6).tolist():
        values = [problem.values[i] for i in order]
        assert keeps_value_rule(values, slack) == (tuple(order) in allowed)
        assert keeps_rule(problem, order) == (tuple(order) in allowed)
    assert tuple(range(6)) in allowed


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_may_follow_forbids_nothing_allowed(slack, fixed, rng):
    """Whatever stands next to each other in an allowed order may do so."""
    for _ in range(8):
        problem = problem_of(6, rng, slack=slack, fixed=fixed)
        orders = allowed_orders(problem)
        assert problem.may_follow[orders[:, :-1], orders[:, 1:]].all()
        assert not np.diag(problem.may_follow).any()


def test_may_follow_forbids_what_cannot_be():
    """Not backwards by the rule, not past what must stand between, not end to end."""
    free = Problem(np.ones((3, 3)), (90, 70, 50), 10.0, False)
    assert np.argwhere(free.may_follow).tolist() == [[0, 1], [1, 2]]
    fixed = Problem(np.ones((4, 4)), (90, 89, 88, 87), 10.0, True)
    may = [[0, 1], [0, 2], [1, 2], [1, 3], [2, 1], [2, 3]]
    assert np.argwhere(fixed.may_follow).tolist() == may


def test_largest_and_total():
    """The largest step and the sum of an order; both are nothing for one thing."""
    cost = np.array([[0, 1, 5], [1, 0, 3], [5, 3, 0]], dtype=float)
    problem = Problem(cost, (90, 50, 10), inf, False)
    assert (problem.largest((0, 1, 2)), problem.total((0, 1, 2))) == (3, 4)
    assert (problem.largest((1, 0, 2)), problem.total((1, 0, 2))) == (5, 6)
    assert problem.largest((1,)) == problem.total(()) == 0


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_reach_and_window(slack, fixed, rng):
    """The reach of a thing is the last that the rule does not put after it."""
    for _ in range(8):
        problem = problem_of(7, rng, slack=slack, fixed=fixed)
        V = problem.values
        reach = [max(j for j in range(7) if V[i] - V[j] <= slack) for i in range(7)]
        assert problem.reach.tolist() == reach
        assert problem.window == max(last - i for i, last in enumerate(reach))


def test_levels_are_the_steps_that_may_be():
    """Every step that some allowed order takes is a level, and nothing else is."""
    rng = np.random.default_rng(7)
    for slack, fixed in RULES:
        problem = problem_of(6, rng, slack=slack, fixed=fixed)
        orders = allowed_orders(problem)
        taken = np.unique(problem.cost[orders[:, :-1], orders[:, 1:]])
        assert set(taken) <= set(problem.levels)
        for k, level in enumerate(problem.levels):
            assert problem.level_of(level) == k


def test_weighed(rng):
    """Heavier the nearer to the limit, and nothing over it."""
    problem = problem_of(7, rng)
    weighed = problem.weighed(18.0)
    below = problem.cost <= 18
    assert np.isinf(weighed.cost[~below]).all()
    assert weighed.cost[below] == pytest.approx(weights(problem.cost[below], 18))
    assert not Problem(np.zeros((3, 3)), (3, 2, 1), inf, False).weighed(0).cost.any()


def test_value_rule_of_a_run():
    """L* may rise over an earlier yarn's by the slack and no more."""
    assert keeps_value_rule([90, 40, 45], 5)
    assert not keeps_value_rule([90, 40, 60, 45.1], 5)
    assert keeps_value_rule([10, 90], inf)
    assert keeps_value_rule([], 0)

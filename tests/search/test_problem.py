"""What is allowed and what it costs, held against the definitions."""

from math import inf

import numpy as np
import pytest

from kit.search.problem import Puzzle, keeps_value_rule
from tests.helpers.puzzles import (
    RULES,
    allowed_orders,
    every_order,
    ids,
    keeps_rule,
    puzzle_of,
    weights,
)


@pytest.mark.parametrize("slack", [inf, 20.0, 5.0, 0.0])
def test_the_value_rule_pair_by_pair(slack, rng):
    """One look along an order says what comparing every pair in it says."""
    puzzle = puzzle_of(6, rng, slack=slack)
    allowed = {tuple(order) for order in allowed_orders(puzzle).tolist()}
    for order in every_order(6).tolist():
        values = [puzzle.values[i] for i in order]
        assert keeps_value_rule(values, slack) == (tuple(order) in allowed)
        assert keeps_rule(puzzle, order) == (tuple(order) in allowed)
    assert tuple(range(6)) in allowed


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_may_follow_forbids_nothing_allowed(slack, fixed, rng):
    """Whatever stands next to each other in an allowed order may do so."""
    for _ in range(8):
        puzzle = puzzle_of(6, rng, slack=slack, fixed=fixed)
        orders = allowed_orders(puzzle)
        assert puzzle.may_follow[orders[:, :-1], orders[:, 1:]].all()
        assert not np.diag(puzzle.may_follow).any()


def test_may_follow_forbids_what_cannot_be():
    """Not backwards by the rule, not past what must stand between, not end to end."""
    free = Puzzle(np.ones((3, 3)), (90, 70, 50), 10.0, False)
    assert np.argwhere(free.may_follow).tolist() == [[0, 1], [1, 2]]
    fixed = Puzzle(np.ones((4, 4)), (90, 89, 88, 87), 10.0, True)
    may = [[0, 1], [0, 2], [1, 2], [1, 3], [2, 1], [2, 3]]
    assert np.argwhere(fixed.may_follow).tolist() == may


def test_largest_and_total():
    """The largest step and the sum of an order; both are nothing for one thing."""
    cost = np.array([[0, 1, 5], [1, 0, 3], [5, 3, 0]], dtype=float)
    puzzle = Puzzle(cost, (90, 50, 10), inf, False)
    assert (puzzle.largest((0, 1, 2)), puzzle.total((0, 1, 2))) == (3, 4)
    assert (puzzle.largest((1, 0, 2)), puzzle.total((1, 0, 2))) == (5, 6)
    assert puzzle.largest((1,)) == puzzle.total(()) == 0


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_reach_and_window(slack, fixed, rng):
    """The reach of a thing is the last that the rule does not put after it."""
    for _ in range(8):
        puzzle = puzzle_of(7, rng, slack=slack, fixed=fixed)
        V = puzzle.values
        reach = [max(j for j in range(7) if V[i] - V[j] <= slack) for i in range(7)]
        assert puzzle.reach.tolist() == reach
        assert puzzle.window == max(last - i for i, last in enumerate(reach))


def test_levels_are_the_steps_that_may_be():
    """Every step that some allowed order takes is a level, and nothing else is."""
    rng = np.random.default_rng(7)
    for slack, fixed in RULES:
        puzzle = puzzle_of(6, rng, slack=slack, fixed=fixed)
        orders = allowed_orders(puzzle)
        taken = np.unique(puzzle.cost[orders[:, :-1], orders[:, 1:]])
        assert set(taken) <= set(puzzle.levels)
        for k, level in enumerate(puzzle.levels):
            assert puzzle.level_of(level) == k


def test_weighed(rng):
    """Heavier the nearer to the limit, and nothing over it."""
    puzzle = puzzle_of(7, rng)
    weighed = puzzle.weighed(18.0)
    below = puzzle.cost <= 18
    assert np.isinf(weighed.cost[~below]).all()
    assert weighed.cost[below] == pytest.approx(weights(puzzle.cost[below], 18))
    assert not Puzzle(np.zeros((3, 3)), (3, 2, 1), inf, False).weighed(0).cost.any()


def test_value_rule_of_a_run():
    """L* may rise over an earlier yarn's by the slack and no more."""
    assert keeps_value_rule([90, 40, 45], 5)
    assert not keeps_value_rule([90, 40, 60, 45.1], 5)
    assert keeps_value_rule([10, 90], inf)
    assert keeps_value_rule([], 0)

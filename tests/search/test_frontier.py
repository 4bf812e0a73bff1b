"""What the tally calls impossible is so, and the orders it comes upon are good."""

from math import inf

import numpy as np
import pytest

from kit.search.exact import by_layers
from kit.search.frontier import decide
from kit.search.problem import Problem
from tests.helpers.problems import (
    RULES,
    SAME,
    brute_largest,
    ids,
    keeps_rule,
    of_leftovers,
    on_a_plane,
    problem_of,
)


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
@pytest.mark.parametrize("kind", [problem_of, on_a_plane])
def test_against_every_order(kind, slack, fixed):
    """Below the least largest step it says impossible or nothing; from it up it never
    does; and its orders keep to the limit."""
    rng = np.random.default_rng(11)
    for n in (3, 5, 7, 8):
        problem = kind(n, rng, slack=slack, fixed=fixed)
        largest = brute_largest(problem)
        n_open = 0
        for limit in problem.levels[:: max(1, len(problem.levels) // 6)]:
            verdict = decide(problem, float(limit))
            if limit >= largest - SAME:
                assert not verdict.impossible
            else:
                assert verdict.order is None
                n_open += not verdict.impossible
            if verdict.order:
                assert keeps_rule(problem, verdict.order)
                assert sorted(verdict.order) == list(range(n))
                assert problem.largest(verdict.order) <= limit + SAME
        assert decide(problem, largest).order or decide(problem, largest).tally == ()
        assert n_open == 0  # so few things all go on the tally, and it is exact


@pytest.mark.parametrize("fixed", [False, True])
@pytest.mark.parametrize("slack", [5.0, 12.0])
def test_twenty_five_yarns(slack, fixed):
    """The step below the least one is impossible, as exact search has it."""
    for seed in range(4):
        problem = of_leftovers(25, seed, slack=slack, fixed=fixed)
        best, complete = by_layers(problem)
        assert complete
        largest = problem.largest(best)
        below = float(problem.levels[problem.level_of(largest) - 1])
        verdict = decide(problem, below)
        assert verdict.impossible
        assert verdict.order is None
        assert len(verdict.tally) < 25
        assert not decide(problem, largest).impossible
        assert decide(problem, below, tally=verdict.tally).impossible


def test_giving_up():
    """With few states it knows nothing, and says so."""
    problem = of_leftovers(25, 0, slack=12.0, fixed=True)
    best, _ = by_layers(problem)
    verdict = decide(problem, problem.largest(best), states=5)
    assert (verdict.order, verdict.impossible) == (None, False)


def test_too_many_things():
    """More things than a state has room for: nothing is known."""
    problem = Problem(np.ones((1025, 1025)), (50.0,) * 1025, inf, False)
    verdict = decide(problem, 1.0)
    assert (verdict.order, verdict.impossible) == (None, False)

"""Exact search layer by layer, judged by trying every order."""

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.search.exact import by_layers
from kit.search.problem import Problem
from tests.helpers.problems import (
    RULES,
    SAME,
    allowed_orders,
    brute_largest,
    keeps_rule,
    problem_of,
    steps_of,
)


@given(st.integers(0, 2**32 - 1), st.sampled_from(RULES), st.integers(2, 7))
def test_by_layers(seed, rule, n):
    """Layer by layer the best order is found, or it is said that none is better."""
    slack, fixed = rule
    problem = problem_of(n, np.random.default_rng(seed), slack=slack, fixed=fixed)
    largest = brute_largest(problem)
    steps = steps_of(problem, allowed_orders(problem))
    total = steps[steps.max(axis=1) <= largest + SAME].sum(axis=1).min()
    order, complete = by_layers(problem)
    assert complete
    assert keeps_rule(problem, order)
    assert problem.largest(order) == pytest.approx(largest, abs=SAME)
    assert by_layers(problem, worst=largest) == (None, True)
    order, complete = by_layers(problem, limit=largest)
    assert complete
    assert keeps_rule(problem, order)
    assert problem.total(order) == pytest.approx(total, abs=1e-7)
    assert by_layers(problem, limit=largest - 1e-6) == (None, True)


def test_by_layers_with_little_memory(rng):
    """With few states kept an order is found, and the search is not called complete."""
    problem = problem_of(12, rng)
    order, complete = by_layers(problem, states=50)
    assert not complete
    assert sorted(order) == list(range(12))
    wide = Problem(np.ones((60, 60)), (50.0,) * 60, inf, False)
    assert by_layers(wide) == (None, False)

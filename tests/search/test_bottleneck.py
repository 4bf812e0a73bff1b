"""The smallest largest step and its proof, judged by trying every order, and by a
dynamic programme written here."""

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.colour import step_table
from kit.colour.mixes import solid
from kit.search.bottleneck import least_largest
from kit.search.problem import Problem
from tests.helpers.problems import (
    RULES,
    SAME,
    brute_largest,
    brute_lightest,
    held_karp,
    ids,
    keeps_rule,
    of_leftovers,
    on_a_plane,
    problem_of,
    values_of,
    weight_of,
)
from tests.helpers.strategies import random_costs


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
@pytest.mark.parametrize("kind", [problem_of, on_a_plane])
def test_against_every_order(kind, slack, fixed, rng):
    """Up to eight things: no order has a smaller largest step, nor is then lighter."""
    for n in (3, 4, 5, 6, 7, 7, 8):
        problem = kind(n, rng, slack=slack, fixed=fixed)
        found, largest = least_largest(problem), brute_largest(problem)
        assert sorted(found.order) == list(range(n))
        assert keeps_rule(problem, found.order)
        assert found.largest == problem.largest(found.order)
        assert found.largest == pytest.approx(largest, abs=SAME)
        weight = weight_of(problem, found.order, largest)
        assert weight == pytest.approx(brute_lightest(problem, largest), abs=1e-7)
        assert found.bound == pytest.approx(largest, abs=SAME)
        assert found.proved


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_twelve_things(slack, fixed, rng):
    """Twelve things, too many to try every order: judged by dynamic programming."""
    problem = problem_of(12, rng, slack=slack, fixed=fixed)
    found = least_largest(problem)
    assert found.proved
    assert found.largest == pytest.approx(held_karp(problem), abs=SAME)
    weight = weight_of(problem, found.order, found.largest)
    assert weight == pytest.approx(held_karp(problem, found.largest), abs=1e-7)


def test_no_proof_without_memory(monkeypatch, rng):
    """Where the exact search had to forget, nothing is claimed to be proved."""
    monkeypatch.setattr("kit.search.bottleneck.STATES", 0)
    monkeypatch.setattr("kit.search.bottleneck.MOVES", 1)
    n_open = 0
    for _ in range(12):
        problem = problem_of(9, rng)
        found, largest = least_largest(problem), held_karp(problem)
        assert found.bound <= largest + SAME <= found.largest + 2 * SAME
        n_open += not found.proved
        assert found.proved == (found.largest <= found.bound + 1e-6)
    assert n_open > 0


def test_values_that_differ_by_the_slack_exactly():
    """42.2 - 40.6 is a last bit over 1.6, 42.5 - 40.9 is not: the rule says it once.

    The search must see each pair as the judges do, or it finds forbidden orders.
    """
    rng = np.random.default_rng(1)
    for n in (4, 5, 6) * 12:
        values = tuple(sorted(rng.integers(400, 430, n) / 10, reverse=True))
        slack = float(rng.integers(1, 20)) / 10
        problem = Problem(random_costs(n, rng), values, slack, bool(rng.integers(2)))
        found, largest = least_largest(problem), brute_largest(problem)
        assert keeps_rule(problem, found.order)
        assert found.largest == pytest.approx(largest, abs=SAME)
        assert found.bound == pytest.approx(largest, abs=SAME)
        weight = weight_of(problem, found.order, largest)
        assert weight == pytest.approx(brute_lightest(problem, largest), abs=1e-7)


@pytest.mark.parametrize("fixed", [False, True])
def test_no_slack_is_value_order(fixed, rng):
    """With a slack of nothing only sorting by value is left."""
    problem = problem_of(9, rng, slack=0.0, fixed=fixed)
    assert len(set(problem.values)) == 9
    assert least_largest(problem).order == tuple(range(9))


@pytest.mark.parametrize("fixed", [False, True])
@pytest.mark.parametrize("slack", [inf, 10.0])
@pytest.mark.parametrize("n", [0, 1, 2, 3])
def test_few_things(n, slack, fixed, rng):
    """None, one, two and three things have an answer too."""
    problem = problem_of(n, rng, slack=slack, fixed=fixed)
    found = least_largest(problem)
    assert keeps_rule(problem, found.order)
    largest = brute_largest(problem) if n > 1 else 0
    assert found.largest == found.bound == pytest.approx(largest, abs=SAME)
    assert found.proved
    assert least_largest(problem, quick=True).largest == found.largest


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
@pytest.mark.parametrize("n", [3, 9, 40])
def test_all_steps_equal(n, slack, fixed, rng):
    """Where every step is the same, any allowed order will do, and it is proved."""
    cost = np.where(np.eye(n, dtype=bool), 0.0, 7.0)
    problem = Problem(cost, values_of(n, rng), slack, fixed)
    found = least_largest(problem)
    assert keeps_rule(problem, found.order)
    assert (found.largest, found.bound, found.why) == (7, 7, "nothing")


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_identical_things(slack, fixed, rng):
    """Things all alike have no step; each twice over, twins stand together."""
    alike = Problem(np.zeros((9, 9)), (50.0,) * 9, slack, fixed)
    found = least_largest(alike)
    assert sorted(found.order) == list(range(9))
    assert found.largest == found.bound == 0
    few = problem_of(4, rng, slack=slack, fixed=fixed)
    twins = Problem(
        np.repeat(np.repeat(few.cost, 2, axis=0), 2, axis=1),
        tuple(value for value in few.values for _ in range(2)),
        slack,
        fixed,
    )
    found, largest = least_largest(twins), brute_largest(twins)
    assert found.largest == pytest.approx(largest, abs=SAME)
    weight = weight_of(twins, found.order, largest)
    assert weight == pytest.approx(brute_lightest(twins, largest), abs=1e-7)


@pytest.mark.parametrize(("slack", "fixed"), [(inf, False), (inf, True), (20.0, False)])
def test_three_hundred_things(slack, fixed, rng):
    """A very large stash still has an answer within the rule, and a bound below it."""
    problem = on_a_plane(300, rng, slack=slack, fixed=fixed)
    found = least_largest(problem, quick=slack < inf, polished=False)
    assert sorted(found.order) == list(range(300))
    assert keeps_rule(problem, found.order)
    assert found.bound <= found.largest + SAME
    assert found.largest <= problem.largest(range(300)) + SAME
    # The clusters of `on_a_plane` lie up to 60 apart; sorting jumps between all three.
    assert found.largest < 45 < 100 < problem.largest(range(300))


def test_same_answer_again(rng):
    """The same problem gives the same order, whatever was asked in between."""
    problem = on_a_plane(30, rng, slack=15.0)
    once = least_largest(problem)
    least_largest(problem, seed=1)
    again = Problem(
        problem.cost.copy(), problem.values, problem.slack, problem.fixed_ends
    )
    assert least_largest(again) == once


@given(st.integers(0, 2**32 - 1), st.sampled_from(RULES), st.integers(3, 7))
def test_quick_answer(seed, rule, n):
    """The quick answer keeps the rule, says its own step and claims no more."""
    slack, fixed = rule
    problem = problem_of(n, np.random.default_rng(seed), slack=slack, fixed=fixed)
    found = least_largest(problem, quick=True)
    largest = brute_largest(problem)
    assert keeps_rule(problem, found.order)
    assert found.largest == problem.largest(found.order)
    assert found.bound - SAME <= largest <= found.largest + SAME


# --- realistic stashes ----------------------------------------------------------------


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
@pytest.mark.parametrize("n", [8, 9, 10, 11, 11])
def test_leftovers_against_dynamic_programming(n, slack, fixed):
    """Thirty stashes of 8 to 11 yarns: largest step, bound and weight are the best."""
    seed = 100 * n + 10 * fixed + int(min(slack, 99)) // 5
    problem = of_leftovers(n, seed, slack=slack, fixed=fixed)
    found = least_largest(problem)
    assert keeps_rule(problem, found.order)
    assert found.largest == found.bound == pytest.approx(held_karp(problem), abs=SAME)
    weight = weight_of(problem, found.order, found.largest)
    assert weight == pytest.approx(held_karp(problem, found.largest), abs=1e-7)


@pytest.mark.parametrize("slack", [inf, 20, 12, 8, 5])
@pytest.mark.parametrize("fixed", [False, True])
def test_forty_leftovers_are_proved(slack, fixed):
    """At a usual size the best possible is proved, whatever the rule."""
    for seed in (1, 2):
        problem = of_leftovers(40, seed, slack=slack, fixed=fixed)
        found = least_largest(problem, polished=False)
        assert keeps_rule(problem, found.order)
        assert sorted(found.order) == list(range(40))
        assert found.proved


def test_a_detour_shorter_than_the_way():
    """CIEDE2000 is no metric: moss and plum lie further apart than by way of a grey.

    So the search must not rely on a triangle; here only the grey between them will do.
    The colours are of our own choosing.
    """
    moss, grey, plum = (46.0, -7.0, 8.0), (45.0, -2.0, -1.0), (43.0, 30.0, -15.0)
    mixes = [solid(lab) for lab in (moss, grey, plum)]
    cost = np.round(step_table(mixes, mixes, view=0.5), 9)
    assert cost[0, 2] > 1.3 * (cost[0, 1] + cost[1, 2])
    for fixed in (False, True):
        problem = Problem(cost, (46.0, 45.0, 43.0), inf, fixed)
        found = least_largest(problem)
        assert found.order in ((0, 1, 2), (2, 1, 0))
        assert found.largest == max(cost[0, 1], cost[1, 2])
        assert found.proved


def test_the_order_found_is_the_order_judged():
    """Without polishing the largest step and the bound are the same."""
    for slack, fixed in RULES:
        problem = of_leftovers(16, 3, slack=slack, fixed=fixed)
        rough, fine = (least_largest(problem, polished=p) for p in (False, True))
        assert (rough.largest, rough.bound) == (fine.largest, fine.bound)
        assert weight_of(problem, fine.order, fine.largest) <= (
            weight_of(problem, rough.order, rough.largest) + 1e-9
        )

"""A bound and its reason, held against the steps themselves and against every order."""

from itertools import combinations
from math import inf

import numpy as np
import pytest

from kit.search.bottleneck import least_largest
from kit.search.bounds import lower_bound
from kit.search.problem import Problem
from tests.helpers.problems import (
    RULES,
    SAME,
    brute_largest,
    ids,
    on_a_plane,
    problem_of,
)


def connected(links, members):
    """Whether some of the things hang together by the links among them."""
    members = list(members)
    seen, queue = set(members[:1]), members[:1]
    while queue:
        here = queue.pop()
        near = [j for j in members if links[here, j] and j not in seen]
        seen.update(near)
        queue += near
    return len(seen) == len(members)


def hold_reason(problem, bound, why, parts):
    """Hold a reason against the steps that are allowed and smaller than the bound."""
    may, n = problem.may_follow, problem.n
    steps = may & (problem.cost < bound - SAME)  # j may come after i by a smaller step
    links, everything = steps | steps.T, set(range(n))
    if why == "groups":
        one, two = parts
        assert sorted((*one, *two)) == sorted(everything)
        between = np.ix_(one, two)
        allowed = np.where((may | may.T)[between], problem.cost[between], inf)
        assert allowed.min() >= bound - SAME
        assert connected(links, one)
    elif why == "neighbours":
        ends = {0, n - 1} if problem.fixed_ends else set()
        poor = {
            i
            for i in everything - ends
            if links[i].sum() < 2 or not steps[i].any() or not steps[:, i].any()
        }
        ((named,),) = parts
        assert named in poor
        assert len(poor) > (0 if problem.fixed_ends else 2)
    elif why == "link":
        (link,), *groups = parts
        assert sorted([link, *(i for group in groups for i in group)]) == sorted(
            everything
        )
        for group in groups:
            assert connected(links, group)
            assert connected(links, (link, *group))
        for one, two in combinations(groups, 2):
            assert not links[np.ix_(one, two)].any()
        ends = [i in (0, n - 1) for i in range(n)]
        endless = [group for group in groups if not any(ends[i] for i in group)]
        at_end = problem.fixed_ends and (ends[link] or endless) and len(groups) > 1
        assert len(groups) > 2 or at_end
    else:
        assert why == "nothing"
        assert parts == ()
        assert bound == pytest.approx(problem.cost[may | may.T].min(), abs=SAME)


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
@pytest.mark.parametrize("kind", [problem_of, on_a_plane])
def test_bound_and_its_reason(kind, slack, fixed, rng):
    """The bound is never above the best order, and what it says of the things is so."""
    for n in (3, 4, 5, 6, 7, 8) * 3:
        problem = kind(n, rng, slack=slack, fixed=fixed)
        bound, why, parts = lower_bound(problem)
        assert bound <= brute_largest(problem) + SAME
        hold_reason(problem, bound, why, parts)


def test_reasons_all_occur(rng):
    """Among random problems each kind of reason is met: the test above bites."""
    whys = [least_largest(problem_of(7, rng)).why for _ in range(60)]
    assert {"groups", "neighbours", "link", "search"} <= set(whys)


def line_of(*places):
    """Things on a line, a step being their distance."""
    at = np.array(places, dtype=float)
    values = tuple(90.0 - i for i in range(len(places)))
    return np.abs(at[:, None] - at[None]), values


def test_two_groups():
    """Two groups 20 apart: no order steps less, and the groups are named."""
    cost, values = line_of(0, 1, 2, 22, 23)
    found = least_largest(Problem(cost, values, inf, False))
    assert (found.bound, found.why, found.parts) == (20, "groups", ((3, 4), (0, 1, 2)))
    assert found.largest == 20


def test_a_thing_with_one_neighbour():
    """Fixed ends: a thing between them whose second neighbour is 9 away needs it."""
    cost = np.full((5, 5), 3.0) - 3 * np.eye(5)
    cost[2, :], cost[:, 2] = 9, 9
    cost[2, 1] = cost[1, 2] = 2
    cost[2, 2] = 0
    found = least_largest(Problem(cost, (90, 80, 70, 60, 50), inf, True))
    assert (found.bound, found.why, found.parts) == (9, "neighbours", ((2,),))


def test_a_thing_that_nothing_can_follow():
    """Two neighbours are too few where the value rule puts both before the thing."""
    cost = np.full((5, 5), 3.0)
    cost[2, :], cost[:, 2] = 9, 9
    for i in (0, 1):
        cost[2, i] = cost[i, 2] = 2
    np.fill_diagonal(cost, 0)
    problem = Problem(cost, (90, 88, 60, 50, 40), 15.0, True)
    assert lower_bound(problem) == (9, "neighbours", ((2,),))
    assert brute_largest(problem) == 9


def test_a_thing_that_links_three_groups():
    """A hub with three pairs around it is passed but once: one pair must wait."""
    cost = np.full((7, 7), 12.0)
    for one, two in ((0, 1), (0, 3), (0, 5), (1, 2), (3, 4), (5, 6), (0, 2), (0, 4)):
        cost[one, two] = cost[two, one] = 4
    cost[0, 6] = cost[6, 0] = 4
    np.fill_diagonal(cost, 0)
    found = least_largest(Problem(cost, tuple(range(70, 63, -1)), inf, False))
    assert (found.bound, found.why) == (12, "link")
    assert found.parts == ((0,), (1, 2), (3, 4), (5, 6))

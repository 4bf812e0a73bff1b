"""Orders judged by trying every one, and by a dynamic programme written here."""

from functools import lru_cache
from itertools import combinations, pairwise, permutations
from math import inf
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.search import (
    Puzzle,
    by_layers,
    least_largest,
    least_total,
    lower_bound,
    walk,
)
from tests.strategies import random_costs

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


def puzzle_of(n, rng, *, slack=inf, fixed=False):
    return Puzzle(random_costs(n, rng), values_of(n, rng), slack, fixed)


def on_a_plane(n, rng, *, slack=inf, fixed=False):
    """Things whose steps are distances, as colours' nearly are; clusters happen."""
    places = rng.choice([0, 60, 100], (n, 1)) * (1, 0) + rng.uniform(0, 30, (n, 2))
    cost = np.linalg.norm(places[:, None] - places[None], axis=-1)
    return Puzzle(np.round(cost, 9), values_of(n, rng), slack, fixed)


@lru_cache
def every_order(n):
    return np.array(list(permutations(range(n)))).reshape(-1, n)


def allowed_orders(puzzle):
    """(m, n) all orders that keep the value rule and the ends, by their definition."""
    orders, V = every_order(puzzle.n), np.array(puzzle.values)
    keeps = np.ones(len(orders), bool)
    for first, later in combinations(range(puzzle.n), 2):
        keeps &= ~(V[orders[:, later]] - V[orders[:, first]] > puzzle.slack)
    if puzzle.fixed_ends:
        keeps &= (orders[:, 0] == 0) & (orders[:, -1] == puzzle.n - 1)
    return orders[keeps]


def steps_of(puzzle, orders):
    return puzzle.cost[orders[:, :-1], orders[:, 1:]]


def brute(puzzle):
    """The least largest step of all orders, and the least sum among those."""
    steps = steps_of(puzzle, allowed_orders(puzzle))
    largest = steps.max(axis=1).min()
    return largest, steps[steps.max(axis=1) <= largest + SAME].sum(axis=1).min()


def held_karp(puzzle, limit=None):
    """Least largest step, or least sum with no step over `limit`, over all orders.

    Held & Karp 1962, J. SIAM 10:196: the best way to have placed a set of things and
    to stand at one of them, for every set and every one of its members.
    """
    n, V = puzzle.n, puzzle.values
    needs = [{i for i in range(n) if V[i] - V[j] > puzzle.slack} for j in range(n)]
    starts = [0] if puzzle.fixed_ends else [j for j in range(n) if not needs[j]]
    reached = {(frozenset([j]), j): 0.0 for j in starts}
    for n_placed in range(1, n):
        further = {}
        for (placed, last), score in reached.items():
            for j in set(range(n)) - placed:
                closes = puzzle.fixed_ends and j == n - 1
                if not needs[j] <= placed or (closes and n_placed < n - 1):
                    continue
                step = puzzle.cost[last, j]
                if limit is not None and step > limit + SAME:
                    continue
                new = max(score, step) if limit is None else score + step
                state = placed | {j}, j
                further[state] = min(new, further.get(state, inf))
        reached = further
    return min(reached.values())


@pytest.fixture
def rng():
    return np.random.default_rng(2005)


# --- the puzzle -----------------------------------------------------------------------


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_keeps_rule(slack, fixed, rng):
    """An order is allowed just where the definition of the rule allows it."""
    puzzle = puzzle_of(6, rng, slack=slack, fixed=fixed)
    allowed = {tuple(order) for order in allowed_orders(puzzle).tolist()}
    for order in every_order(6).tolist():
        assert puzzle.keeps_rule(order) == (tuple(order) in allowed)
    assert puzzle.keeps_rule(range(6))


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


# --- the least largest step -----------------------------------------------------------


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
@pytest.mark.parametrize("kind", [puzzle_of, on_a_plane])
def test_against_every_order(kind, slack, fixed, rng):
    """Up to eight things: nothing beats the answer, neither its largest nor its sum."""
    for n in (3, 4, 5, 6, 7, 7, 8):
        puzzle = kind(n, rng, slack=slack, fixed=fixed)
        found, (largest, total) = least_largest(puzzle), brute(puzzle)
        assert sorted(found.order) == list(range(n))
        assert puzzle.keeps_rule(found.order)
        assert found.largest == puzzle.largest(found.order)
        assert found.largest == pytest.approx(largest, abs=SAME)
        assert puzzle.total(found.order) == pytest.approx(total, abs=1e-7)
        assert found.bound == pytest.approx(largest, abs=SAME)
        assert found.proved


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_twelve_things(slack, fixed, rng):
    """Twelve things, too many to try every order: judged by dynamic programming."""
    puzzle = puzzle_of(12, rng, slack=slack, fixed=fixed)
    found = least_largest(puzzle)
    assert found.proved
    assert found.largest == pytest.approx(held_karp(puzzle), abs=SAME)
    total = held_karp(puzzle, limit=found.largest)
    assert puzzle.total(found.order) == pytest.approx(total, abs=1e-7)


def test_no_proof_without_memory(monkeypatch, rng):
    """Where the exact search had to forget, nothing is claimed to be proved."""
    monkeypatch.setattr("kit.search.STATES", 0)
    monkeypatch.setattr("kit.search.MOVES", 1)
    n_open = 0
    for _ in range(12):
        puzzle = puzzle_of(9, rng)
        found, largest = least_largest(puzzle), held_karp(puzzle)
        assert found.bound <= largest + SAME <= found.largest + 2 * SAME
        n_open += not found.proved
        assert found.proved == (found.largest <= found.bound + 1e-6)
    assert n_open > 0


def test_values_that_differ_by_the_slack_exactly():
    """42.2 - 40.6 is a last bit over 1.6, 42.5 - 40.9 is not: the rule says it once.

    The search must see each pair as `keeps_rule` does, or it finds forbidden orders.
    """
    rng = np.random.default_rng(1)
    for n in (4, 5, 6) * 12:
        values = tuple(sorted(rng.integers(400, 430, n) / 10, reverse=True))
        slack = float(rng.integers(1, 20)) / 10
        puzzle = Puzzle(random_costs(n, rng), values, slack, bool(rng.integers(2)))
        found, (largest, total) = least_largest(puzzle), brute(puzzle)
        assert puzzle.keeps_rule(found.order)
        assert found.largest == pytest.approx(largest, abs=SAME)
        assert found.bound == pytest.approx(largest, abs=SAME)
        assert puzzle.total(found.order) == pytest.approx(total, abs=1e-7)


@pytest.mark.parametrize("fixed", [False, True])
def test_no_slack_is_value_order(fixed, rng):
    """With a slack of nothing only sorting by value is left."""
    puzzle = puzzle_of(9, rng, slack=0.0, fixed=fixed)
    assert len(set(puzzle.values)) == 9
    assert least_largest(puzzle).order == tuple(range(9))


@pytest.mark.parametrize("fixed", [False, True])
@pytest.mark.parametrize("slack", [inf, 10.0])
@pytest.mark.parametrize("n", [0, 1, 2, 3])
def test_few_things(n, slack, fixed, rng):
    """None, one, two and three things have an answer too."""
    puzzle = puzzle_of(n, rng, slack=slack, fixed=fixed)
    found = least_largest(puzzle)
    assert puzzle.keeps_rule(found.order)
    largest = brute(puzzle)[0] if n > 1 else 0
    assert found.largest == found.bound == pytest.approx(largest, abs=SAME)
    assert found.proved
    assert least_largest(puzzle, quick=True).largest == found.largest


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
@pytest.mark.parametrize("n", [3, 9, 40])
def test_all_steps_equal(n, slack, fixed, rng):
    """Where every step is the same, any allowed order will do, and it is proved."""
    cost = np.where(np.eye(n, dtype=bool), 0.0, 7.0)
    puzzle = Puzzle(cost, values_of(n, rng), slack, fixed)
    found = least_largest(puzzle)
    assert puzzle.keeps_rule(found.order)
    assert (found.largest, found.bound, found.why) == (7, 7, "nothing")


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_identical_things(slack, fixed, rng):
    """Things all alike have no step; each twice over, twins stand together."""
    alike = Puzzle(np.zeros((9, 9)), (50.0,) * 9, slack, fixed)
    found = least_largest(alike)
    assert sorted(found.order) == list(range(9))
    assert found.largest == found.bound == 0
    few = puzzle_of(4, rng, slack=slack, fixed=fixed)
    twins = Puzzle(
        np.repeat(np.repeat(few.cost, 2, axis=0), 2, axis=1),
        tuple(value for value in few.values for _ in range(2)),
        slack,
        fixed,
    )
    found, (largest, total) = least_largest(twins), brute(twins)
    assert found.largest == pytest.approx(largest, abs=SAME)
    assert twins.total(found.order) == pytest.approx(total, abs=1e-7)


@pytest.mark.parametrize(("slack", "fixed"), [(inf, False), (inf, True), (20.0, False)])
def test_three_hundred_things(slack, fixed, rng):
    """A very large stash still has an answer within the rule, and a bound below it."""
    puzzle = on_a_plane(300, rng, slack=slack, fixed=fixed)
    found = least_largest(puzzle, quick=slack < inf)
    assert sorted(found.order) == list(range(300))
    assert puzzle.keeps_rule(found.order)
    assert found.bound <= found.largest + SAME
    assert found.largest <= puzzle.largest(range(300)) + SAME
    # The clusters of `on_a_plane` lie up to 60 apart; sorting jumps between all three.
    assert found.largest < 45 < 100 < puzzle.largest(range(300))


def test_same_answer_again(rng):
    """The same puzzle gives the same order, whatever was asked in between."""
    puzzle = on_a_plane(30, rng, slack=15.0)
    once = least_largest(puzzle)
    least_largest(puzzle, seed=1)
    again = Puzzle(puzzle.cost.copy(), puzzle.values, puzzle.slack, puzzle.fixed_ends)
    assert least_largest(again) == once


@given(st.integers(0, 2**32 - 1), st.sampled_from(RULES), st.integers(3, 7))
@settings(max_examples=40, deadline=None)
def test_quick_answer(seed, rule, n):
    """The quick answer keeps the rule, says its own step and claims no more."""
    slack, fixed = rule
    puzzle = puzzle_of(n, np.random.default_rng(seed), slack=slack, fixed=fixed)
    found, (largest, _) = least_largest(puzzle, quick=True), brute(puzzle)
    assert puzzle.keeps_rule(found.order)
    assert found.largest == puzzle.largest(found.order)
    assert found.bound - SAME <= largest <= found.largest + SAME


# --- bounds and reasons ---------------------------------------------------------------


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


def hold_reason(puzzle, bound, why, parts):
    """Hold a reason against the steps that are allowed and smaller than the bound."""
    may, n = puzzle.may_follow, puzzle.n
    steps = may & (puzzle.cost < bound - SAME)  # j may come after i by a smaller step
    links, everything = steps | steps.T, set(range(n))
    if why == "groups":
        one, two = parts
        assert sorted((*one, *two)) == sorted(everything)
        between = np.ix_(one, two)
        allowed = np.where((may | may.T)[between], puzzle.cost[between], inf)
        assert allowed.min() >= bound - SAME
        assert connected(links, one)
    elif why == "neighbours":
        ends = {0, n - 1} if puzzle.fixed_ends else set()
        poor = {
            i
            for i in everything - ends
            if links[i].sum() < 2 or not steps[i].any() or not steps[:, i].any()
        }
        ((named,),) = parts
        assert named in poor
        assert len(poor) > (0 if puzzle.fixed_ends else 2)
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
        at_end = puzzle.fixed_ends and (ends[link] or endless) and len(groups) > 1
        assert len(groups) > 2 or at_end
    else:
        assert why == "nothing"
        assert parts == ()
        assert bound == pytest.approx(puzzle.cost[may | may.T].min(), abs=SAME)


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
@pytest.mark.parametrize("kind", [puzzle_of, on_a_plane])
def test_bound_and_its_reason(kind, slack, fixed, rng):
    """The bound is never above the best order, and what it says of the things is so."""
    for n in (3, 4, 5, 6, 7, 8) * 3:
        puzzle = kind(n, rng, slack=slack, fixed=fixed)
        bound, why, parts = lower_bound(puzzle)
        assert bound <= brute(puzzle)[0] + SAME
        hold_reason(puzzle, bound, why, parts)


def test_reasons_all_occur(rng):
    """Among random puzzles each kind of reason is met, so that the test above bites."""
    whys = [least_largest(puzzle_of(7, rng)).why for _ in range(60)]
    assert {"groups", "neighbours", "link", "search"} <= set(whys)


def line_of(*places):
    """Things on a line, a step being their distance."""
    at = np.array(places, dtype=float)
    values = tuple(90.0 - i for i in range(len(places)))
    return np.abs(at[:, None] - at[None]), values


def test_two_groups():
    """Two groups 20 apart: no order steps less, and the groups are named."""
    cost, values = line_of(0, 1, 2, 22, 23)
    found = least_largest(Puzzle(cost, values, inf, False))
    assert (found.bound, found.why, found.parts) == (20, "groups", ((3, 4), (0, 1, 2)))
    assert found.largest == 20


def test_a_thing_with_one_neighbour():
    """Fixed ends: a thing between them whose second neighbour is 9 away needs it."""
    cost = np.full((5, 5), 3.0) - 3 * np.eye(5)
    cost[2, :], cost[:, 2] = 9, 9
    cost[2, 1] = cost[1, 2] = 2
    cost[2, 2] = 0
    found = least_largest(Puzzle(cost, (90, 80, 70, 60, 50), inf, True))
    assert (found.bound, found.why, found.parts) == (9, "neighbours", ((2,),))


def test_a_thing_that_nothing_can_follow():
    """Two neighbours are too few where the value rule puts both before the thing."""
    cost = np.full((5, 5), 3.0)
    cost[2, :], cost[:, 2] = 9, 9
    for i in (0, 1):
        cost[2, i] = cost[i, 2] = 2
    np.fill_diagonal(cost, 0)
    puzzle = Puzzle(cost, (90, 88, 60, 50, 40), 15.0, True)
    assert lower_bound(puzzle) == (9, "neighbours", ((2,),))
    assert brute(puzzle)[0] == 9


def test_a_thing_that_links_three_groups():
    """A hub with three pairs around it is passed but once: one pair must wait."""
    cost = np.full((7, 7), 12.0)
    for one, two in ((0, 1), (0, 3), (0, 5), (1, 2), (3, 4), (5, 6), (0, 2), (0, 4)):
        cost[one, two] = cost[two, one] = 4
    cost[0, 6] = cost[6, 0] = 4
    np.fill_diagonal(cost, 0)
    found = least_largest(Puzzle(cost, tuple(range(70, 63, -1)), inf, False))
    assert (found.bound, found.why) == (12, "link")
    assert found.parts == ((0,), (1, 2), (3, 4), (5, 6))


# --- its parts ------------------------------------------------------------------------


@given(st.integers(0, 2**32 - 1), st.sampled_from(RULES), st.integers(2, 7))
@settings(max_examples=60, deadline=None)
def test_by_layers(seed, rule, n):
    """Layer by layer the best order is found, or it is said that none is better."""
    slack, fixed = rule
    puzzle = puzzle_of(n, np.random.default_rng(seed), slack=slack, fixed=fixed)
    largest, total = brute(puzzle)
    order, complete = by_layers(puzzle)
    assert complete
    assert puzzle.keeps_rule(order)
    assert puzzle.largest(order) == pytest.approx(largest, abs=SAME)
    assert by_layers(puzzle, worst=largest) == (None, True)
    order, complete = by_layers(puzzle, limit=largest)
    assert complete
    assert puzzle.keeps_rule(order)
    assert puzzle.total(order) == pytest.approx(total, abs=1e-7)
    assert by_layers(puzzle, limit=largest - 1e-6) == (None, True)


def test_by_layers_with_little_memory(rng):
    """With few states kept an order is found, and the search is not called complete."""
    puzzle = puzzle_of(12, rng)
    order, complete = by_layers(puzzle, states=50)
    assert not complete
    assert sorted(order) == list(range(12))
    wide = Puzzle(np.ones((60, 60)), (50.0,) * 60, inf, False)
    assert by_layers(wide) == (None, False)


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_walk(slack, fixed, rng):
    """A walk keeps the rule, adds no steps over its limit and repeats itself."""
    for n in (4, 8, 30):
        puzzle = on_a_plane(n, rng, slack=slack, fixed=fixed)
        start = tuple(range(n))
        limit = float(np.quantile(puzzle.cost, 0.15))
        once, again = (
            walk(puzzle, start, limit=limit, rng=Random(3), moves=500) for _ in range(2)
        )
        assert once == again
        assert sorted(once) == list(start)
        assert puzzle.keeps_rule(once)
        n_over = [
            sum(puzzle.cost[i, j] > limit + SAME for i, j in pairwise(order))
            for order in (start, once)
        ]
        assert n_over[1] <= n_over[0]


def test_walk_stops_where_nothing_is_over(rng):
    """An order without a step over the limit is left as it is."""
    puzzle = puzzle_of(8, rng)
    assert walk(puzzle, tuple(range(8)), limit=99, rng=Random(0), moves=99) == tuple(
        range(8)
    )


@pytest.mark.parametrize(("slack", "fixed"), RULES, **ids)
def test_least_total(slack, fixed, rng):
    """The sum gets no larger, no step passes the limit, and the rule is kept."""
    for n in (7, 30):
        puzzle = on_a_plane(n, rng, slack=slack, fixed=fixed)
        start = tuple(range(n))
        limit = puzzle.largest(start)
        order = least_total(puzzle, start, limit=limit)
        assert sorted(order) == list(start)
        assert puzzle.keeps_rule(order)
        assert puzzle.largest(order) <= limit + SAME
        assert puzzle.total(order) < puzzle.total(start) or n == 7
        if n == 7:
            steps = steps_of(puzzle, allowed_orders(puzzle))
            least = steps[steps.max(axis=1) <= limit + SAME].sum(axis=1).min()
            assert puzzle.total(order) == pytest.approx(least, abs=1e-7)

"""The rest arranged anew: what is pinned stays, the others go as well as they can."""

from dataclasses import replace
from itertools import combinations, pairwise, permutations
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.arrangement.locked import around_locked, arrange_rest, blocks, keep_pairs, seat
from kit.arrangement.orders import Arrangement, arrange, by_value_and_name, value_of
from kit.blanket.choices import Arranging
from kit.colour import step_table
from kit.colour.difference import pair_steps
from tests.helpers.yarns import drawn, names, runs, yarn

VIEW = 0.5
SMOOTH = Arranging("smoothest", ends="free", value_slack=inf)
WAYS = (Arranging("value"), Arranging("family"), Arranging("smoothest"), SMOOTH)


def largest(order):
    mixes = [one.mix for one in order]
    return max(pair_steps(mixes[:-1], mixes[1:], view=VIEW), default=0.0)


def fourth_powers(order):
    mixes = [one.mix for one in order]
    return sum(pair_steps(mixes[:-1], mixes[1:], view=VIEW) ** 4)


def holds(order, present, locked, pairs):
    """Whether locked yarns are where they were, and pairs are neighbours."""
    was, now = names(present), names(order)
    beside = {frozenset(pair) for pair in pairwise(now)}
    return all(now.index(n) == was.index(n) for n in locked) and all(
        frozenset(pair) in beside for pair in pairs
    )


@st.composite
def pinned(draw, *, most=9):
    yarns = draw(runs(least=1, most=most, roles=("use", "use", "accent")))
    n = len(yarns)
    locked = draw(st.sets(st.integers(0, n - 1), max_size=3))
    tied = draw(st.sets(st.integers(0, max(n - 2, 0)), max_size=2)) if n > 1 else ()
    pairs = [(yarns[k].name, yarns[k + 1].name) for k in sorted(tied)]
    return yarns, {yarns[k].name for k in locked}, pairs


@given(pinned(), st.sampled_from(WAYS))
def test_what_is_pinned_stays(held, arranging):
    """Every yarn is there once; locks and pairs hold; the same again is the same."""
    yarns, locked, pairs = held
    order = arrange_rest(yarns, arranging, locked=locked, pairs=pairs, view=VIEW)
    assert sorted(names(order)) == sorted(names(yarns))
    assert holds(order, yarns, locked, pairs)
    assert order == arrange_rest(
        yarns, arranging, locked=locked, pairs=pairs, view=VIEW
    )


@pytest.mark.parametrize("by", ["value", "family"])
def test_with_nothing_pinned_it_is_the_computed_order(by):
    """Anew, round nothing, is what the arrangement itself says."""
    yarns = drawn(20, 3)
    computed = arrange(yarns, Arranging(by), view=VIEW).yarns
    assert arrange_rest(yarns, Arranging(by, order=("y001",)), view=VIEW) == computed


def test_by_value_round_a_lock():
    """The free yarns fall in value, before and after the one that stays."""
    yarns = [yarn(f"v{value}", value) for value in (20, 50, 90, 70, 30)]
    order = arrange_rest(yarns, Arranging("value"), locked=["v50"], view=VIEW)
    assert names(order) == ["v90", "v50", "v70", "v30", "v20"]
    pair = [("v20", "v50")]
    order = arrange_rest(yarns, Arranging("value"), pairs=pair, view=VIEW)
    assert names(order) == ["v90", "v70", "v50", "v20", "v30"]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("kind", ["free", "locked", "tied"])
def test_smoothest_is_near_the_best_of_all_orders(seed, kind):
    """Judged by trying every order of seven yarns: the largest step is the least there
    can be, or (our own bound) at most a fifth above it."""
    yarns = drawn(7, seed)
    mixes = [one.mix for one in yarns]
    steps = step_table(mixes, mixes, view=VIEW)
    locked = {"locked": [1, 4]}.get(kind, ())
    tied = kind == "tied"
    least = min(
        steps[list(order[:-1]), list(order[1:])].max()
        for order in permutations(range(7))
        if all(order[k] == k for k in locked)
        and (not tied or abs(order.index(2) - order.index(3)) == 1)
    )
    order = arrange_rest(
        yarns,
        SMOOTH,
        locked=[yarns[k].name for k in locked],
        pairs=[("y002", "y003")] if tied else (),
        view=VIEW,
    )
    assert least - 1e-9 <= largest(order) <= 1.2 * least


@pytest.mark.parametrize("seed", range(4))
def test_smoothest_is_smoother(seed):
    """On drawn stashes in no order, round two locks, the largest step falls, and the
    sum of fourth powers by a third or more."""
    yarns = drawn(18, seed)
    order = arrange_rest(yarns, SMOOTH, locked=["y003", "y010"], view=VIEW)
    assert largest(order) < largest(yarns)
    assert fourth_powers(order) < fourth_powers(yarns) * 2 / 3


def test_ends_and_value_rule():
    """Lightest first and darkest last where nothing is pinned there; the value rule
    holds among the yarns that may move."""
    yarns = drawn(24, 2)
    arranging = Arranging("smoothest", value_slack=15)
    order = arrange_rest(yarns, arranging, locked=["y005"], view=VIEW)
    free = [value_of(one) for one in order if one.name != "y005"]
    assert (free[0], free[-1]) == (max(free), min(free))
    assert all(
        later - early <= 15 + 1e-9
        for k, early in enumerate(free)
        for later in free[k + 1 :]
    )
    first = names(yarns)[0]
    pinned_end = arrange_rest(yarns, arranging, locked=[first], view=VIEW)
    assert pinned_end[0].name == first


def test_accents_cost_nothing():
    """An accent may stand anywhere: two others are not parted for its sake."""
    yarns = [yarn("a", 90), yarn("loud", (50, 80, 60), role="accent"), yarn("b", 30)]
    yarns += [yarn("c", 88), yarn("d", 33)]
    order = arrange_rest(yarns, SMOOTH, locked=["loud"], view=VIEW)
    assert order[1].name == "loud"
    rest = names(one for one in order if one.name != "loud")
    assert {rest[0], *rest[1:]} == set("abcd")
    assert frozenset(rest[1:3]) != frozenset("ab")


# --- pairs in a computed arrangement --------------------------------------------------


def test_pairs_stay_neighbours_in_a_computed_arrangement():
    """The second joins the first; the lighter of the two comes first."""
    yarns = [yarn(f"v{value}", value) for value in (90, 70, 50, 30)]
    one = Arrangement(tuple(yarns), "value")
    tied = Arranging("value", locked=(("v30", "v90"), "v70"))
    assert names(keep_pairs(one, tied, view=VIEW).yarns) == ["v90", "v30", "v70", "v50"]
    chain = Arranging("value", locked=(("v90", "v50"), ("v50", "v30")))
    kept = keep_pairs(one, chain, view=VIEW)
    assert names(kept.yarns) == ["v90", "v50", "v30", "v70"]
    near = replace(tied, locked=(("v70", "v50"),))
    assert keep_pairs(one, near, view=VIEW) is one
    assert keep_pairs(one, Arranging(locked=(("gone", "v90"),)), view=VIEW) is one


def test_no_ring_and_no_third_neighbour():
    """A pair that cannot be is passed over; the others hold."""
    yarns = [yarn(c, v) for c, v in zip("abcd", (80, 60, 40, 20), strict=True)]
    one = Arrangement(tuple(yarns), "value")
    ring = Arranging(locked=(("a", "c"), ("c", "b"), ("b", "a"), ("c", "d")))
    assert names(keep_pairs(one, ring, view=VIEW).yarns) == ["a", "c", "b", "d"]


def test_best_possible_is_only_reached_where_it_is():
    """A pair that costs something takes the proof away; a harmless one does not."""
    yarns = by_value_and_name(drawn(9, 4))
    found = arrange(yarns, Arranging("smoothest"), view=VIEW)
    assert found.best.reached
    ends = (found.yarns[0].name, found.yarns[-2].name)
    kept = keep_pairs(found, Arranging("smoothest", locked=(ends,)), view=VIEW)
    assert kept.best.reached == (largest(kept.yarns) <= found.best.largest + 1e-6)
    assert not kept.best.reached
    assert kept.best.largest == found.best.largest


# --- who stands where -----------------------------------------------------------------


@given(st.data())
def test_places_are_filled_wherever_they_can_be(data):
    """Blocks find seats round what is fixed, judged by trying every order of them."""
    lengths = data.draw(st.lists(st.integers(1, 3), min_size=1, max_size=5))
    n_fixed = data.draw(st.integers(0, 2))
    n = sum(lengths) + n_fixed
    places = data.draw(st.sampled_from(list(combinations(range(n), n_fixed))))
    fixed = {place: (f"F{place}",) for place in places}
    made = [tuple(f"{k}{i}" for i in range(size)) for k, size in enumerate(lengths)]
    gaps = [b - a - 1 for a, b in zip((-1, *places), (*places, n), strict=True)]

    def fill(order):
        left = list(order)
        for gap in gaps:
            while gap > 0 and left:
                gap -= len(left.pop(0))
            if gap:
                return False
        return True

    can = any(fill(order) for order in permutations(made))
    try:
        seats = seat(made, fixed, n)
    except ValueError:
        assert not can
        return
    assert can
    assert sorted(seats) == sorted(
        [*(x for b in made for x in b), *map("F{}".format, places)]
    )
    assert all(seats[place] == f"F{place}" for place in places)
    for block in made:
        at = seats.index(block[0])
        assert seats[at : at + len(block)] == block
    if fill(made):  # then nothing had to give way
        free = [one for one in seats if not one.startswith("F")]
        assert free == [one for block in made for one in block]


def test_around_nothing_locked():
    """Without locks the wish is granted; blocks are what is tied."""
    assert around_locked("dcba", "abcd", ()) == tuple("dcba")
    assert blocks("abcd", [("c", "b")]) == [("a",), ("b", "c"), ("d",)]
    assert blocks("", []) == []

"""How the run lies along the blanket: once, several times, mirrored; balls shared."""

from collections import Counter
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.arrangement.layout import (
    Laid,
    _costs,
    difference_of,
    is_small,
    lay_out,
    look_alikes,
    shared_in,
)
from kit.blanket.choices import Laying
from tests.helpers.yarns import drawn, names, yarn

LAYOUTS = ("light-to-dark", "dark-to-light", "mirrored")
EVERY_WAY = [Laying(*way) for way in product(LAYOUTS, (1, 2, 3), ("halve", "pair"))]


def run_of(*grams):
    """Yarns from light to dark, named a, b, c …, with so many grams."""
    return [
        yarn("abcdefghijklmnopqrstuvwxyz"[k], 95 - 3 * k, grams=g)
        for k, g in enumerate(grams)
    ]


def laid(run, *way) -> str:
    return "".join(names(lay_out(run, Laying(*way)).yarns))


def test_gaps_and_passes():
    """Neighbours once, with every place where they meet; a join parts two passes."""
    a, b, c = run_of(50, 50, 50)
    out = Laid((a, b, c, b, a, a, b), joins=frozenset({4}))
    assert [names(one) for one in out.passes] == [["a", "b", "c", "b", "a"], ["a", "b"]]
    ab, bc = frozenset("ab"), frozenset("bc")
    assert out.gaps == {ab: [0, 3, 5], bc: [1, 2]}
    longer = out.filled({0: [c], 3: [c]})
    assert "".join(names(longer.yarns)) == "acbcbcaab"
    assert longer.joins == {6}


GRAMS = st.lists(st.sampled_from([5.0, 14.9, 15.0, 50.0, None]), max_size=9)


def test_once_through():
    """Light to dark is the run itself, dark to light the run reversed."""
    run = run_of(50, 5, 50, 50)
    assert laid(run, "light-to-dark") == "abcd"
    assert laid(run, "dark-to-light") == "dcba"
    for layout in LAYOUTS[:2]:
        assert lay_out(run, Laying(layout)).sentences == ()
        assert lay_out(run, Laying(layout)).joins == frozenset()


@given(GRAMS, st.sampled_from([1, 2, 3]), st.sampled_from(["halve", "pair"]))
def test_dark_to_light_is_light_to_dark_reversed(grams, times, sharing):
    """Each time through is the same one the other way round."""
    run = run_of(*grams)
    up, down = (lay_out(run, Laying(way, times, sharing)) for way in LAYOUTS[:2])
    assert parts(up) == [part[::-1] for part in parts(down)]


def parts(laid) -> list[str]:
    """The names of each time through."""
    cuts = [0, *(k + 1 for k in sorted(laid.joins)), len(laid.yarns)]
    line = "".join(names(laid.yarns))
    return [line[a:b] for a, b in zip(cuts, cuts[1:], strict=False)]


@given(st.lists(st.sampled_from([15.0, 50.0, None]), min_size=1, max_size=12))
def test_mirrored_is_a_palindrome(grams):
    """Light, dark, light with the darkest once: 2n - 1 places for halved balls."""
    run = run_of(*grams)
    mirrored = lay_out(run, Laying("mirrored"))
    found = names(mirrored.yarns)
    assert found == names(run) + names(run)[-2::-1]
    assert len(found) == 2 * len(run) - 1
    assert (mirrored.joins, mirrored.sentences) == (frozenset(), ())


def test_small_look_alikes_stand_one_in_each_half():
    """Balls under 15 g are not halved: two alike stand for each other; it is said."""
    run = run_of(50, 14.9, 15, 3, 60)
    mirrored = lay_out(run, Laying("mirrored"))
    assert "".join(names(mirrored.yarns)) == "abcedca"
    assert mirrored.sentences == (
        "Under 15 g, so not shared: look-alikes stand one in each half: b, d.",
    )


def test_small_balls_unlike_any_stand_next_to_the_turn():
    """A small ball with no look-alike stands once beside the darkest; it is said."""
    run = run_of(50, 5, *[50] * 7, 5, 50)
    mirrored = lay_out(run, Laying("mirrored"))
    assert "".join(names(mirrored.yarns)) == "acdefghi" + "bj" + "k" + "ihgfedca"
    assert mirrored.sentences == (
        "Under 15 g, so not shared: stands once next to the turn: b, j.",
    )


def test_small_darkest_is_the_turn():
    """The darkest stands once anyway, so a small one is nothing to speak of."""
    mirrored = lay_out(run_of(50, 50, 5), Laying("mirrored"))
    assert "".join(names(mirrored.yarns)) == "abcba"
    assert mirrored.sentences == ()


def test_all_small():
    """Where no ball can be halved look-alikes make the two halves, and it is said."""
    mirrored = lay_out(run_of(5, 5, 5), Laying("mirrored"))
    assert "".join(names(mirrored.yarns)) == "acb"
    assert mirrored.sentences[0].endswith("look-alikes stand one in each half: a, b.")


def test_several_times_through():
    """Every ball in every part; small ones in one part each, in their own place."""
    run = run_of(50, 5, 50, 6, 50)
    twice = lay_out(run, Laying("light-to-dark", 2))
    assert parts(twice) == ["abce", "acde"]
    assert twice.joins == {3}
    assert twice.sentences == (
        "Under 15 g, so not shared: stands once in one time through: b, d.",
    )
    assert laid(run, "dark-to-light", 2) == "ecba" + "edca"
    assert parts(lay_out(run_of(50, 50), Laying("mirrored", 2))) == ["aba", "aba"]


def test_pairs_are_dealt_out():
    """Look-alikes, neighbours in the run, go to different parts; no ball is cut."""
    run = run_of(*[50] * 7)
    assert laid(run, "mirrored", 1, "pair") == "acegfdb"
    six = laid(run_of(*[50] * 6), "mirrored", 1, "pair")
    assert sorted(six) == list("abcdef")
    assert six.index("f") in (2, 3)
    assert parts(lay_out(run, Laying("light-to-dark", 2, "pair"))) == ["aceg", "bdf"]
    assert lay_out(run_of(5, 5, 50), Laying("mirrored", 1, "pair")).sentences == ()


@given(GRAMS, st.sampled_from(EVERY_WAY))
def test_every_ball_as_often_as_it_is_shared(grams, laying):
    """Large balls stand in every part, small and uncut ones once, none never."""
    run = run_of(*grams)
    found = lay_out(run, laying)
    seen = Counter(names(found.yarns))
    assert set(seen) == set(names(run))
    n_parts = shared_in(laying)
    for k, one in enumerate(run):
        if len(run) == 1 or n_parts == 1:
            often = 1
        elif laying.layout == "mirrored" and k == len(run) - 1:
            often = laying.times_through
        else:
            often = 1 if is_small(one) else n_parts
        assert seen[one.name] == often


@given(GRAMS, st.sampled_from(EVERY_WAY))
def test_joins_part_the_times_through(grams, laying):
    """There is a join between every two times through that hold any yarn."""
    run = run_of(*grams)
    found = lay_out(run, laying)
    assert all(0 <= k < len(found.yarns) - 1 for k in found.joins)
    most = laying.times_through - 1
    assert len(found.joins) <= most
    if len(run) > 1 and not any(map(is_small, run)) and laying.sharing == "halve":
        assert len(found.joins) == most


@given(GRAMS, st.sampled_from(EVERY_WAY))
def test_each_part_runs_one_way_or_there_and_back(grams, laying):
    """Within a time through value falls, rises, or falls and then rises."""
    for part in parts(lay_out(run_of(*grams), laying)):
        turn = part.index(max(part)) if part else 0
        if laying.layout == "mirrored":
            there, back = part[: turn + 1], part[turn:]
            if laying.sharing == "halve" and any(map(is_small, run_of(*grams))):
                continue  # small balls stand beside the turn, out of their place
            assert list(there) == sorted(there)
            assert list(back) == sorted(back, reverse=True)
        else:
            dark_first = laying.layout == "dark-to-light"
            assert list(part) == sorted(part, reverse=dark_first)


@pytest.mark.parametrize(
    ("laying", "n"),
    [
        (Laying(), 1),
        (Laying("dark-to-light", 3), 3),
        (Laying("mirrored"), 2),
        (Laying("mirrored", 2), 4),
        (Laying("mirrored", 2, "pair"), 1),
    ],
)
def test_parts_of_a_ball(laying, n):
    """A ball is cut into as many parts as it has places; pairs are never cut."""
    assert shared_in(laying) == n


def test_small_is_under_fifteen_grams():
    """15 g is enough, and a ball of unknown weight is not called small."""
    sizes = [is_small(one) for one in run_of(14.99, 15, None, 0)]
    assert sizes == [True, False, False, True]


# --- look-alikes ----------------------------------------------------------------------


def least_in_all(costs, left):
    """The least total by trying every way to pair off (one stays alone if odd)."""
    if len(left) < 2:
        return 0.0
    first, rest = left[0], left[1:]
    ways = [
        costs[first][other] + least_in_all(costs, [k for k in rest if k != other])
        for other in rest
    ]
    if len(left) % 2:
        ways.append(least_in_all(costs, rest))
    return min(ways)


@pytest.mark.parametrize("n", [2, 3, 6, 7, 9, 10])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_against_every_way_to_pair_off(n, seed):
    """The matching is the best of all, and each ball is in one pair at most."""
    yarns = drawn(n, seed, grams=(10, 50, 100))
    pairs = look_alikes(yarns)
    used = [one.name for pair in pairs for one in pair]
    assert len(used) == len(set(used)) == n - n % 2
    costs = _costs(tuple(yarns))
    place = {one.name: k for k, one in enumerate(yarns)}
    total = sum(costs[place[a.name], place[b.name]] for a, b in pairs)
    assert total == pytest.approx(least_in_all(costs.tolist(), list(range(n))))


def test_against_the_assignment_bound():
    """More balls: half of scipy's least assignment is a bound no matching can beat."""
    from scipy.optimize import linear_sum_assignment

    yarns = drawn(40, 4)
    costs = _costs(tuple(yarns))
    place = {one.name: k for k, one in enumerate(yarns)}
    total = sum(costs[place[a.name], place[b.name]] for a, b in look_alikes(yarns))
    barred = costs.copy()
    barred[range(40), range(40)] = 1e6
    rows, columns = linear_sum_assignment(barred)
    bound = barred[rows, columns].sum() / 2
    assert bound - 1e-6 <= total <= 1.25 * bound


def test_alike_in_size_too():
    """Of two of one colour the ball of equal size is the better partner."""
    small, large, also_small = (
        yarn(name, 50.0, grams=g) for name, g in (("s", 20), ("l", 100), ("t", 20))
    )
    ((one, two),) = look_alikes([small, large, also_small])
    assert {one.name, two.name} == {"s", "t"}


def test_a_ball_that_was_not_weighed():
    """Nothing is known of its size, so it is as good a partner for large as small."""
    balls = [yarn(str(g), 50.0, grams=g) for g in (None, 100, 1, 0)]
    costs = _costs(tuple(balls))
    assert costs[0].tolist() == [0, 0, 0, 0]
    # By hand: 10 x 99 / 101 and 10 x 100 / 100.
    assert costs[1].tolist() == pytest.approx([0, 0, 990 / 101, 10])


def test_few_and_many():
    """None and one have no pair; 101 balls have 50; the difference is the step."""
    assert look_alikes([]) == look_alikes(drawn(1, 1)) == ()
    assert len(look_alikes(drawn(101, 5))) == 50
    pair = (yarn("a", 40.0), yarn("b", 40.0))
    assert difference_of([pair]) == [0.0]


@pytest.mark.parametrize("n", [7, 12])
def test_the_order_of_balls_does_not_matter(n):
    """The same pairs whatever order they come in; a pair and its balls keep to it."""
    yarns = drawn(n, 8)
    pairs, turned = look_alikes(yarns), look_alikes(yarns[::-1])
    assert turned == tuple(
        sorted(
            ((two, one) for one, two in pairs), key=lambda pair: -yarns.index(pair[0])
        )
    )
    places = [(yarns.index(one), yarns.index(two)) for one, two in pairs]
    assert places == sorted(places)
    assert all(one < two for one, two in places)

"""Look-alikes: pairs of balls that differ least in all."""

import pytest

from kit.arrangement.pairing import _costs, difference_of, look_alikes
from tests.helpers.yarns import drawn, yarn


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

"""Dealing bridges out to gaps, with chains made up so that every case is at hand."""

from kit.arrangement.bridge_sets import best_set
from kit.arrangement.candidates import Chain


def chains(table):
    """chain_of from {(gap, n): [(step, places), ...]}, best first."""

    def chain_of(gap, n, without):
        for step, places in table.get((gap, n), ()):
            if not without & set(places):
                return Chain(step, places)
        return None

    return chain_of


def test_worst_gaps_first_and_no_more_than_help():
    """A third bridge that would only lower a runner-up is not used."""
    sizes = [12.0, 30.0, 25.0]
    table = {(1, 1): [(20.0, (5,))], (2, 1): [(10.0, (6,))], (0, 1): [(3.0, (7,))]}
    found = best_set(sizes, 3, chains(table))
    assert [(gap, chain.places) for gap, chain in found.chains] == [
        (1, (5,)),
        (2, (6,)),
    ]
    assert (found.left, found.n, found.exact) == ((20.0, 12.0, 10.0), 2, True)


def test_two_in_the_worst_gap_where_that_leaves_less():
    """Both bridges go into one gap where the next gap is small anyway."""
    table = {(0, 1): [(20.0, (1,))], (0, 2): [(12.0, (2, 3))], (1, 1): [(5.0, (4,))]}
    found = best_set([30.0, 11.0], 2, chains(table))
    assert found.chains == ((0, Chain(12.0, (2, 3))),)
    three = {**table, (0, 3): [(9.0, (2, 3, 5))]}
    assert best_set([30.0, 11.0], 3, chains(three)).left == (11.0, 9.0)


def test_one_yarn_wanted_twice():
    """It goes where its lack would cost more."""
    table = {
        (0, 1): [(10.0, (1,)), (22.0, (2,))],
        (1, 1): [(9.0, (1,)), (11.0, (3,))],
    }
    found = best_set([30.0, 28.0], 2, chains(table))
    assert found.chains == ((0, Chain(10.0, (1,))), (1, Chain(11.0, (3,))))


def test_equal_gaps_need_a_bridge_each():
    """Where two gaps are the largest, one bridge helps nothing and two do."""
    table = {(0, 1): [(15.0, (1,))], (1, 1): [(15.0, (2,))]}
    assert best_set([30.0, 30.0], 1, chains(table)) is None
    assert best_set([30.0, 30.0], 2, chains(table)).n == 2


def test_none():
    """No gaps, no yarn, or none that helps."""
    assert best_set([], 3, chains({})) is None
    assert best_set([30.0], 3, chains({})) is None
    assert best_set([30.0], 3, chains({(0, 1): [(30.0, (1,))]})) is None


def test_what_is_not_exact_is_told():
    """A set is as exact as its chains."""
    rough = {(0, 1): Chain(5.0, (1,), exact=False)}
    found = best_set([30.0], 1, lambda gap, n, without: rough.get((gap, n)))
    assert not found.exact

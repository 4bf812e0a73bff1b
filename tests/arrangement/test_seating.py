"""Places round what is locked: filled wherever they can be."""

from itertools import combinations, permutations

from hypothesis import given, settings
from hypothesis import strategies as st

from kit.arrangement.seating import around_locked, blocks, seat


@given(st.data())
@settings(max_examples=150, deadline=None)
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

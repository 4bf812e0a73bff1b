"""Which strands are held when: thickness, the distance of joins, contrast, pace."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.blanket.choices import Pace, Strands
from kit.fabric.strands import (
    ROWS_APART,
    Supply,
    hold,
    in_range,
    tex_range,
    without_thin_end,
)
from kit.yarn.stitch_lengths import stitch_lengths_of
from tests.helpers.balls import stash

ROW = 100  # stitches; a stitch takes 10 mm, a row 1 m
LINE = stitch_lengths_of(ROW, 0.010, (1.0,))
TWO = Strands()  # 400 to 725 tex, 2 or 3 strands


def supply(*rows, tex=250.0, contrast=()):
    """Places with yarn for so many rows; `contrast` names pairs 50 dE00 apart."""
    n = len(rows)
    far = [[50.0 * ({a, b} in contrast) for b in range(n)] for a in range(n)]
    texes = tex if isinstance(tex, tuple) else (tex,) * n
    return Supply(tuple(round(1000 * r) for r in rows), texes, far)


def knit(places, rules=TWO, pace=None, **kw):
    """(first row, last row, held) of every stretch."""
    stretches = hold(places, rules, pace or Pace(), LINE, **kw)
    return [(s.first / ROW, s.last / ROW, s.held) for s in stretches]


def test_the_range_by_hand():
    """20 % under and 45 % over 500 tex are 400 and 725, ends included."""
    assert tex_range(TWO) == pytest.approx((400, 725))
    held = [(400, 2), (725, 3), (399, 2), (726, 2), (500, 1), (500, 4)]
    assert [in_range(tex, n, TWO) for tex, n in held] == [
        True, True, False, False, False, False,
    ]  # fmt: skip


def test_the_next_comes_where_one_runs_out():
    """A run of balls by hand: each ends where its yarn does, the next one joins."""
    # By hand: 0 and 1 begin; 0 ends at row 10; 2 lasts from 10 to 40; 1 ends at 30;
    # 3 joins at 30 for 20 rows, but 2 has no partner after row 40 to 3's 50.
    assert knit(supply(10, 30, 30, 20)) == [
        (0, 10, (0, 1)),
        (10, 30, (1, 2)),
        (30, 40, (2, 3)),
    ]


def test_one_is_broken_off_where_two_would_end_together():
    """Equal balls end at the same row: the first goes four rows sooner."""
    assert knit(supply(20, 20, 20, 20))[:2] == [(0, 16, (0, 1)), (16, 20, (1, 2))]


def test_three_strands_keep_apart():
    """Three equal strands go one after another, four rows between them."""
    rules = Strands(750.0, least=3)
    stretches = knit(supply(20, 20, 20, 30, 30, 30), rules)
    assert [last for _, last, _ in stretches][:3] == [12, 16, 20]


def test_a_small_ball_finds_room():
    """A ball of six rows comes in soon enough to run out before its neighbour."""
    # By hand: 1 ends at row 20; 2, joined at row 18, would end at 24 and be crowded by
    # it; 0 is broken off at row 12, so that 2 runs from there to 16 or later.
    ends = [last for _, last, _ in knit(supply(18, 20, 6, 30, 30))]
    assert all(b - a >= ROWS_APART for a, b in pairwise([0, *ends]))


def test_no_break_for_joins_after_the_end():
    """Near the last row no ball is cut for a join that never comes."""
    assert knit(supply(20, 20, 20), until=18 * ROW) == [(0, 18, (0, 1))]


def test_nothing_is_broken_when_no_more_joins_come():
    """With nothing to join, both strands are knitted to their end."""
    assert knit(supply(20, 20)) == [(0, 20, (0, 1))]


def test_joins_apart_where_balls_allow():
    """With balls of 12 rows and more, joins lie four rows apart throughout."""
    for seed in range(30):
        balls = stash(25, seed, mixed=False)
        rows = [12 + ball.metres / 10 for ball in balls]
        joins = [first for first, _, _ in knit(supply(*rows))]
        assert min(b - a for a, b in pairwise(joins)) >= ROWS_APART


def test_one_fingering_out_two_laces_in():
    """Where the next yarn is thin, two of it take the place of one."""
    # By hand: 250 + 125 is under 400 tex, 250 + 125 + 125 is in range.
    places = supply(10, 40, 40, 40, tex=(250.0, 250.0, 125.0, 125.0))
    assert knit(places)[:2] == [(0, 10, (0, 1)), (10, 40, (1, 2, 3))]


def test_too_thick_a_yarn_waits():
    """A yarn that would make the fabric too thick lets the next one pass."""
    places = supply(10, 40, 40, 40, tex=(250.0, 250.0, 600.0, 250.0))
    assert [held for _, _, held in knit(places)][:2] == [(0, 1), (1, 3)]


def test_contrast_is_steered():
    """Over the limit one of the next three joins instead; under it none does."""
    places = supply(10, 40, 40, 40, 40, contrast=[{1, 2}, {1, 3}])
    assert knit(places)[1][2] == (1, 4)
    calm = Strands(contrast=60.0)
    assert knit(places, calm)[1][2] == (1, 2)


def test_contrast_looks_no_further_than_three():
    """The fourth in the queue stays there, however well it would go."""
    places = supply(10, 40, 40, 40, 40, 40, contrast=[{1, 2}, {1, 3}, {1, 4}])
    assert knit(places)[1][2] == (1, 2)


def test_it_stops_where_the_thickness_cannot_be_made():
    """The last strand alone is not knitted, nor a last stretch that is too thin."""
    assert knit(supply(10, 30)) == [(0, 10, (0, 1))]
    thin = supply(10, 30, 30, tex=(250.0, 250.0, 100.0))
    assert knit(thin) == [(0, 10, (0, 1))]


def test_out_of_reach_is_still_knitted():
    """Where no stretch is in range, what there is stays."""
    places = supply(10, 20, 30, 30, tex=100.0)
    assert knit(places)[0] == (0, 10, (0, 1, 2))
    stretches = hold(places, TWO, Pace(), LINE)
    assert without_thin_end(stretches, places, TWO) == stretches


def test_a_fixed_pace():
    """One strand changes every so many rows, the one that came first."""
    places = supply(90, 90, 90, 90, 90)
    stretches = knit(places, pace=Pace(rows_per_colour=6), until=18 * ROW)
    assert stretches == [(0, 6, (0, 1)), (6, 12, (1, 2)), (12, 18, (2, 3))]


@pytest.mark.parametrize("longest", [3, 10, 30])
def test_no_colour_longer(longest):
    """No strand is held for more rows than the pace allows."""
    held: dict[int, float] = {}
    for first, last, places in knit(supply(*[90] * 9), pace=Pace(longest_rows=longest)):
        for k in places:
            held[k] = held.get(k, 0) + last - first
    assert 1 <= max(held.values()) <= longest


def test_begun():
    """From a row on, the first places are on the needle, the others wait."""
    places = supply(10, 20, 30, 40)
    stretches = knit(places, begun=(7 * ROW, 2), until=40 * ROW)
    assert stretches[0] == (7, 17, (0, 1))
    assert knit(places, begun=(7 * ROW, 2), until=7 * ROW) == []


def test_in_another_order():
    """Places are taken as `order` has them."""
    assert knit(supply(10, 30, 30, 20), order=(3, 1, 2, 0))[0] == (0, 20, (3, 1))


@given(
    st.lists(st.tuples(st.integers(0, 60_000), st.sampled_from((110.0, 250.0, 435.0))),
             max_size=12),
    st.sampled_from((TWO, Strands(least=1), Strands(750.0, least=3, most=4))),
    st.sampled_from((Pace(), Pace(longest_rows=7), Pace(rows_per_colour=3))),
    st.sampled_from((None, 1, 1234, 9000)),
)  # fmt: skip
def test_whatever_is_joined(balls, rules, pace, until):
    """Stretches follow each other, no place is overdrawn or held twice in a row."""
    mm, tex = tuple(mm for mm, _ in balls), tuple(tex for _, tex in balls)
    n = len(balls)
    places = Supply(mm, tex, [[float(abs(a - b)) for b in range(n)] for a in range(n)])
    stretches = hold(places, rules, pace, LINE, until=until)
    at, used = 0, [0] * n
    for stretch in stretches:
        assert stretch.first == at < stretch.last
        assert len(set(stretch.held)) == len(stretch.held) <= rules.most
        at = stretch.last
        for k in stretch.held:
            used[k] += LINE.mm_at(stretch.last) - LINE.mm_at(stretch.first)
    assert until is None or at <= until
    assert all(taken <= had for taken, had in zip(used, mm, strict=True))

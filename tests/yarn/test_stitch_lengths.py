"""Stitches to millimetres and back, along one end or both."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.yarn.stitch_lengths import BothEnds, stitch_lengths_of

FACTORS = st.lists(st.sampled_from((0.5, 0.8, 1.0, 1.3)), min_size=1, max_size=6)
LINES = st.builds(
    stitch_lengths_of, st.integers(1, 300), st.floats(0.002, 0.1), FACTORS
)


def test_by_hand():
    """Rows of 10 stitches, 20 mm each; every second row takes half as much again."""
    # By hand: rows of 200 mm and 300 mm in turn.
    lengths = stitch_lengths_of(10, 0.020, (1.0, 1.5))
    assert [lengths.mm_at(stitch) for stitch in (0, 1, 10, 11, 20, 25)] == [
        0, 20, 200, 230, 500, 600,
    ]  # fmt: skip
    assert [lengths.stitch_at(mm) for mm in (0, 19, 20, 200, 229, 230, 500)] == [
        0, 0, 1, 10, 10, 11, 20,
    ]  # fmt: skip


@given(LINES, st.integers(0, 10_000_000))
def test_a_length_makes_the_most_stitches_it_can(lengths, mm):
    """The stitches fit into the length, and one more would not."""
    stitch = lengths.stitch_at(mm)
    assert lengths.mm_at(stitch) <= mm < lengths.mm_at(stitch + 1)


@given(LINES, st.integers(2, 20_000), st.integers(0, 10_000_000))
def test_so_from_both_ends(lengths, end, mm):
    """Knitted from both ends, the pair of stretches fits, and one more would not."""
    both = BothEnds(lengths, end)
    stitch = both.stitch_at(mm)
    if stitch < both.middle:
        assert both.mm_at(stitch) <= mm < both.mm_at(stitch + 1)
    else:
        assert both.mm_at(both.middle) <= mm


@given(LINES, st.integers(2, 20_000))
def test_both_ends_take_the_whole(lengths, end):
    """Up to the middle, both halves take what the blanket takes from one end."""
    both = BothEnds(lengths, end)
    assert both.mm_at(both.middle) == lengths.mm_at(end)
    assert both.stitch_at(lengths.mm_at(end)) == both.middle


def test_a_mirror_image_takes_its_own_rows():
    """The last rows count by their own section, not by that of the first."""
    # By hand: 3 rows of 200, 300, 200 mm; the first and the last together take 400.
    both = BothEnds(stitch_lengths_of(10, 0.020, (1.0, 1.5)), 30)
    assert both.mm_at(10) == pytest.approx(400)

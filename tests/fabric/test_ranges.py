"""Ranges of drawn numbers, and rows of metres."""

import numpy as np
import pytest

from kit.fabric.ranges import Range, of_100, range_of, rows_at
from kit.yarn.stitch_lengths import stitch_lengths_of


def test_rows_are_named_as_they_are_knitted():
    """26.3 rows are knitted in row 27; at the very edge it is row 1."""
    assert Range(27.5, 26.3, 30.0).row_numbers == (27, 30)
    assert Range(0.0, 0.0, 0.2).row_numbers == (1, 1)


def test_nine_in_ten_of_what_was_drawn():
    """As numpy has the quantiles of 1 to 101: 6, 51, 96."""
    found = range_of(np.arange(1.0, 102.0))
    assert (found.low, found.likely, found.high) == pytest.approx((6, 51, 96))


def test_rows_of_metres():
    """2 m a row; of sections row by row; beyond the last one at the mean pace."""
    rows = rows_at(stitch_lengths_of(100, 0.02, (1.0,)), 10)
    assert rows(np.array([0.0, 3.0, 20.0])) == pytest.approx([0, 1.5, 10])
    assert rows(np.array([100.0])) == pytest.approx([50])
    rows = rows_at(stitch_lengths_of(100, 0.02, (0.5, 1.5)), 10)
    assert rows(np.array([1.0, 2.5, 4.0])) == pytest.approx([1, 1.5, 2])


def test_chances_never_promise():
    """All and nothing are beyond what draws can tell."""
    assert of_100(1.0) == "over 99 of 100"
    assert of_100(0.99) == "99 of 100"
    assert of_100(0.004) == "under 1 of 100"

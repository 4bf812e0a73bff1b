"""Whether the yarn is enough, in words: the chance, and the pace so far."""

import pytest

from kit.fabric.forecast import Forecast
from kit.fabric.ranges import Range
from kit.fabric.shortfall import chance_words, drift_words


@pytest.mark.parametrize(
    ("chance", "in_all", "told"),
    [
        (None, None, ""),
        (
            0.6,
            0.605,
            "The yarn suffices in 60 of 100 knittings. 8 rows in all would be safe in "
            "95 of 100.",
        ),
        (0.992, 1.0, "The yarn suffices in over 99 of 100 knittings."),
        (
            0.6,
            0.98,
            "The yarn suffices in 98 of 100 knittings if balls may be broken off later "
            "where it is needed, in 60 of 100 if not.",
        ),
        (
            0.6,
            0.8,
            "The yarn suffices in 80 of 100 knittings if balls may be broken off later "
            "where it is needed, in 60 of 100 if not. 8 rows in all would be safe in "
            "95 of 100.",
        ),
    ],
)
def test_the_chance_in_words(chance, in_all, told):
    """The surer chance first, the other only where it differs; a safe number of rows
    where neither is nine in ten; none without a length."""
    sure = Forecast((), Range(9, 8, 10), chance, in_all, (), {}, ())
    assert chance_words(sure) == told


def test_one_row_is_one_row():
    """Short or beyond by a single row."""

    def lasting(*more):
        lasts = Range(*(120 + rows for rows in more))
        return drift_words(Forecast((), lasts, None, None, (), {}, ()), 120)

    short = "At this rate the yarn ends about 1 row short: 1 to 2."
    assert lasting(-1.2, -1.6, -0.6) == short
    beyond = "At this rate the yarn lasts beyond the last row by about 1 row: 1 to 2."
    assert lasting(1.2, 0.6, 1.6).startswith(beyond)

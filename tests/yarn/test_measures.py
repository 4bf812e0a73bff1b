"""Quantities in words, metric and imperial."""

import math

import pytest

from kit.yarn.measures import (
    CM_PER_INCH,
    GRAMS_PER_OUNCE,
    METRES_PER_YARD,
    length,
    mass,
    size,
    three_digits,
)


def test_ounce_yard_and_inch_are_the_exact_ones():
    """The 1959 agreement's factors hold; sixteen ounces are the pound."""
    # International yard and pound agreement, 1959 (e.g. NIST SP 811, appendix B).
    assert (METRES_PER_YARD, CM_PER_INCH) == (0.9144, 2.54)
    # 28.349523125 g has eleven digits and is exact: a sixteenth of the pound.
    assert GRAMS_PER_OUNCE == 28.349523125
    assert math.isclose(16 * GRAMS_PER_OUNCE, 453.59237, rel_tol=1e-15)


def test_three_digits_are_shown():
    """More would claim more than a kitchen scale knows."""
    assert [three_digits(x) for x in (1234.5, 416.67, 99.96, 9.0)] == [
        "1230", "417", "100", "9",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        # International yard, pound and inch, 1959: 0.9144 m, 28.349523125 g, 2.54 cm
        (length(91.44, "imperial"), "100 yd"),
        (length(0.9144, "imperial"), "1 yd"),
        (mass(283.49523125, "imperial"), "10 oz"),
        (mass(28.349523125 / 2, "imperial"), "0.5 oz"),
        (mass(2.5, "imperial"), "0.09 oz"),
        (mass(28.3, "imperial"), "1 oz"),
        (size(127, "imperial"), "50 in"),
        (size(117.7), "117.7 cm"),
        (length(9.94), "9.9 m"),
        (length(9.96), "10 m"),
        (mass(0.04), "0 g"),
    ],
)
def test_rounded_for_people(said, expected):
    """Whole numbers from ten up, a tenth below, hundredths below an ounce."""
    assert said == expected

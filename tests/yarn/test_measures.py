"""Quantities in words, metric and imperial."""

import pytest

from kit.yarn.measures import length, mass, size


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

"""Lengths, weights and sizes in words: metric as computed, or imperial as a view."""

from __future__ import annotations

from kit.yardage import GRAMS_PER_OUNCE, METRES_PER_YARD

CM_PER_INCH = 2.54  # international inch, 1959: exact by definition


def length(metres: float, units: str = "metric") -> str:
    """Metres or yards; a tenth below ten.

    >>> length(151.143), length(151.143, "imperial"), length(2.47)
    ('151 m', '165 yd', '2.5 m')
    """
    if units == "imperial":
        return f"{_round(metres / METRES_PER_YARD)} yd"
    return f"{_round(metres)} m"


def mass(grams: float, units: str = "metric") -> str:
    """Grams or ounces, as finely as a kitchen scale shows them: hundredths below 1 oz.

    >>> mass(22.68), mass(2.1, "imperial"), mass(1239, "imperial")
    ('23 g', '0.07 oz', '44 oz')
    """
    if units == "imperial":
        ounces = grams / GRAMS_PER_OUNCE
        return f"{_hundredth(ounces) if ounces < 0.995 else _round(ounces)} oz"
    return f"{_round(grams)} g"


def size(cm: float, units: str = "metric") -> str:
    """Centimetres or inches, to a tenth.

    >>> size(120), size(120, "imperial")
    ('120 cm', '47.2 in')
    """
    if units == "imperial":
        return f"{_tenth(cm / CM_PER_INCH)} in"
    return f"{_tenth(cm)} cm"


def _round(number: float) -> str:
    return f"{number:.0f}" if abs(number) >= 9.95 else _tenth(number)


def _hundredth(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")


def _tenth(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")

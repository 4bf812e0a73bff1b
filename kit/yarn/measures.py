"""Lengths, weights and sizes in words: metric as computed, or imperial as a view."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

# International yard and pound agreement, 1959: exact by definition.
GRAMS_PER_OUNCE = 28.349523125
METRES_PER_YARD = 0.9144
CM_PER_INCH = 2.54


def counted(n: int, noun: str) -> str:
    """How many of something.

    >>> counted(1, "hue turn"), counted(0, "row"), counted(2, "stitch")
    ('1 hue turn', '0 rows', '2 stitches')
    """
    plural = f"{noun}es" if noun.endswith("ch") else f"{noun}s"
    return f"{n} {noun if n == 1 else plural}"


def row_span(first: int, last: int) -> str:
    """From which row to which.

    >>> row_span(5, 9), row_span(5, 5)
    ('rows 5 to 9', 'row 5')
    """
    return f"row {first}" if first == last else f"rows {first} to {last}"


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


def weighed(grams: float, units: str = "metric") -> str:
    """What a scale showed: grams to a tenth, ounces to a hundredth.

    >>> weighed(42), weighed(14.2), weighed(9.0718, "imperial")
    ('42 g', '14.2 g', '0.32 oz')
    """
    return f"{weighed_number(grams, units)} {'oz' if units == 'imperial' else 'g'}"


def weighed_number(grams: float, units: str = "metric") -> str:
    """The same without its unit, for a column that names it.

    >>> weighed_number(14.2), weighed_number(9.0718, "imperial")
    ('14.2', '0.32')
    """
    if units == "imperial":
        return _hundredth(grams / GRAMS_PER_OUNCE)
    return _tenth(grams)


def finely(grams: float, units: str = "metric") -> str:
    """Little, such as what a scale may be off by: to two digits.

    >>> finely(1), finely(0.1), finely(1, "imperial"), finely(0.1, "imperial")
    ('1 g', '0.1 g', '0.035 oz', '0.0035 oz')
    """
    one, unit = (GRAMS_PER_OUNCE, "oz") if units == "imperial" else (1.0, "g")
    return f"{float(f'{grams / one:.2g}'):g} {unit}"


def per_100g(metres: float, units: str = "metric") -> str:
    """A label's length of yarn in 100 g, to three digits.

    >>> per_100g(400), per_100g(400, "imperial"), per_100g(38.46)
    ('400 m per 100 g', '437 yd per 100 g', '38.5 m per 100 g')
    """
    one, unit = (METRES_PER_YARD, "yd") if units == "imperial" else (1.0, "m")
    return f"{three_digits(metres / one)} {unit} per 100 g"


def three_digits(number: float) -> str:
    """As many digits as a label or a weighing at home can bear.

    >>> three_digits(1234.5), three_digits(416.67), three_digits(38.46)
    ('1230', '417', '38.5')
    """
    return f"{float(f'{number:.3g}'):g}"


def per_length(per_10cm: float, units: str = "metric") -> str:
    """A count over 10 cm as it is, or over 4 in, which are 10.16 cm; no unit.

    >>> per_length(22), per_length(22, "imperial"), per_length(220 / 10.16, "imperial")
    ('22', '22.35', '22')
    """
    over_cm = 4 * CM_PER_INCH if units == "imperial" else 10.0
    return _hundredth(per_10cm * over_cm / 10)


def in_a_stitch(metres: float, units: str = "metric") -> str:
    """The yarn in one stitch, in mm or inches.

    >>> in_a_stitch(0.01909), in_a_stitch(0.01909, "imperial")
    ('19.1 mm', '0.75 in')
    """
    if units == "imperial":
        return f"{_hundredth(100 * metres / CM_PER_INCH)} in"
    return f"{1000 * metres:.1f} mm"


def size(cm: float, units: str = "metric") -> str:
    """Centimetres or inches, to a tenth.

    >>> size(120), size(120, "imperial")
    ('120 cm', '47.2 in')
    """
    return f"{_size_number(cm, units)} {'in' if units == 'imperial' else 'cm'}"


def sides(width_cm: float, length_cm: float, units: str = "metric") -> str:
    """Two sides, their unit once.

    >>> sides(15, 20), sides(15, 20, "imperial")
    ('15 x 20 cm', '5.9 x 7.9 in')
    """
    return f"{_size_number(width_cm, units)} x {size(length_cm, units)}"


def _size_number(cm: float, units: str) -> str:
    return _tenth(cm / CM_PER_INCH if units == "imperial" else cm)


@dataclass(frozen=True, slots=True)
class LengthWords:
    """Words with lengths in them, which are told in units when they are shown.

    `words` has a {} for each of `lengths_cm`.

    >>> least = LengthWords("at least {}", (5.45,))
    >>> str(least), str(in_units(least, "imperial"))
    ('at least 5.45 cm', 'at least 2.15 in')
    """

    words: str
    lengths_cm: tuple[float, ...]
    units: str = "metric"

    def __str__(self) -> str:
        return self.words.format(*map(self._told, self.lengths_cm))

    def _told(self, cm: float) -> str:
        if self.units == "imperial":
            return f"{cm / CM_PER_INCH:.3g} in"
        return f"{cm:g} cm"


def in_units(words: Any, units: str) -> Any:
    """Words as they are, those of `LengthWords` in these units."""
    return replace(words, units=units) if isinstance(words, LengthWords) else words


def _round(number: float) -> str:
    return f"{number:.0f}" if abs(number) >= 9.95 else _tenth(number)


def _hundredth(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")


def _tenth(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")

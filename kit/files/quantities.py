"""Numbers with their units, as cells and fields hold them, read strictly."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace

from kit.errors import Fault, KitError
from kit.yarn.measures import CM_PER_INCH, GRAMS_PER_OUNCE, METRES_PER_YARD


@dataclass(frozen=True, slots=True)
class Quantity:
    """A kind of number in a cell.

    units    what one of each unit is in the unit that is read: {"kg": 1000}; "" for a
             bare number, absent where a unit must be named
    example  how a cell may look
    least, most   range, in the unit that is read
    unit     what a bare number counts, for sentences
    advice   what to do where the number is below `least`
    written  what names the unit of a bare number in blanket.toml; "" where its key does
    over_cm  of a count: the length in cm that its unit is a count over, else 0
    """

    units: Mapping[str, float]
    example: str
    least: float
    most: float
    unit: str
    advice: str = ""
    written: str = ""
    over_cm: float = 0.0


def _units(*groups: tuple[str, float]) -> dict[str, float]:
    return {word: factor for words, factor in groups for word in words.split()}


_MASS = _units(
    ("g gr gram grams gramme grammes", 1.0),
    ("kg kilo kilos kilogram kilograms", 1000.0),
    ("oz ounce ounces", GRAMS_PER_OUNCE),
    ("lb lbs pound pounds", 16 * GRAMS_PER_OUNCE),
)
_LENGTH = _units(
    ("m metre metres meter meters", 1.0),
    ("km kilometre kilometres kilometer kilometers", 1000.0),
    ("yd yds yard yards", METRES_PER_YARD),
)
_SIZE = _units(
    ("cm centimetre centimetres centimeter centimeters", 1.0),
    ("mm millimetre millimetres millimeter millimeters", 0.1),
    ("m metre metres meter meters", 100.0),
    ("in inch inches", CM_PER_INCH),
    ("ft foot feet", 12 * CM_PER_INCH),
    ("yd yds yard yards", 100 * METRES_PER_YARD),
)
_USED_UP = "Leave the ball out of the file if it is used up."
_BLANK = "Leave the cell blank if it is not known."
# The upper ends are ours: beyond what one yarn of a stash can be, so a slip.
GRAMS = Quantity(_MASS | {"": 1.0}, "50 or 50 g", 0, 100_000, "g", _USED_UP)
OUNCES = Quantity(
    _MASS | {"": GRAMS_PER_OUNCE}, "1.75 or 1.75 oz", 0, 100_000, "oz", _USED_UP, "oz"
)
METRES = Quantity(_LENGTH | {"": 1.0}, "120 or 120 m", 0, 1_000_000, "m", _USED_UP)
YARDS = Quantity(
    _LENGTH | {"": METRES_PER_YARD}, "130 or 130 yd", 0, 1_000_000, "yd", _USED_UP
)
METRES_PER_100G = Quantity(
    _LENGTH | {"": 1.0}, "400 or 210 m / 50 g", 1, 20_000, "m per 100 g", _BLANK
)
YARDS_PER_100G = Quantity(
    _LENGTH | {"": METRES_PER_YARD},
    "440 or 230 yd / 50 g",
    1,
    20_000,
    "yd per 100 g",
    _BLANK,
)
_OZ_IN_100G = 100 / GRAMS_PER_OUNCE
YARDS_PER_OZ = Quantity(
    {unit: factor * _OZ_IN_100G for unit, factor in _LENGTH.items()}
    | {"": METRES_PER_YARD * _OZ_IN_100G},
    "125 or 437 yd / 100 g",
    1,
    20_000,
    "yd per oz",
    _BLANK,
)
CM = Quantity(_SIZE | {"": 1.0}, "120 or 47 in", 0, 10_000, "cm")
INCHES = Quantity(
    _SIZE | {"": CM_PER_INCH}, "28 or 71 cm", 0, 10_000, "in", written="in"
)
OVER_4_IN_CM = 4 * CM_PER_INCH  # the trade counts over 4 in or 10 cm: not the same
PER_10CM = Quantity({"": 1.0}, "22 or 22 / 4 in", 0, 200, "", over_cm=10)
PER_4_IN = Quantity(
    {"": 10 / OVER_4_IN_CM}, "22 or 22 / 10 cm", 0, 200, "",
    written="per 4 in", over_cm=OVER_4_IN_CM,
)  # fmt: skip
TAG = Quantity({"": 1.0}, "7", 1, 999_999, "", _BLANK)

_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_PER = re.compile(r"(?:(?<=[a-z])\s*/\s*|\s*\bper\b\s*)")
# Full-width forms to plain ones, the true minus, and marks of thousands to one kind.
_SAME = {0xFF01 + i: 0x21 + i for i in range(94)} | {0x2212: "-", 0x066B: "."}
_SAME |= dict.fromkeys(map(ord, "’٬"), "'") | {0x2044: "/"}

_SIGN = "[+-]?"
_PLAIN = re.compile(rf"{_SIGN}(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:e[+-]?\d+)?")
_TWO_WAYS = re.compile(rf"{_SIGN}[1-9]\d{{0,2}}[.,]\d{{3}}")
_FRACTION = re.compile(r"(?:(\d+) )?(\d+)/(\d+)")
_GROUPED = re.compile(
    rf"{_SIGN}\d{{1,3}}(?:(?:,\d{{3}})+\.\d+|(?:\.\d{{3}})+,\d+|(?:,\d{{3}}){{2,}}"
    r"|(?:\.\d{3}){2,}|(?:[ ']\d{3})+(?:[.,]\d+)?)"
)
_MOST_DENOMINATOR = 16  # 210/50 is metres per grams, not a fraction
_ENGLISH = frozenset(("in", "inch", "inches", "ft", "foot", "feet", "oz", "ounces"))
_INCH_SIGN = re.compile(r"\s*(?:[\"\u2033\u201d]|''|\u2032\u2032)$")
_OVER = re.compile(
    r"(?P<count>.+?)\s*\b(?:sts?|stitch|stitches|rows?)?\s*"
    r"(?:/|\b(?:per|over|to|in)\b)\s*(?P<over>(?:\d[\d.,]*\s*)?[^\s\d/.,]+)"
)


def read_quantity(text: str, quantity: Quantity) -> float | None:
    """A number with or without its unit; None for a blank cell. Raises KitError.

    Decimal points and commas, thousands where they are certain, fractions and the
    digits of other scripts are read; what could mean two numbers is refused.

    >>> read_quantity("0,1 kg", GRAMS), read_quantity("12½", GRAMS)
    (100.0, 12.5)
    >>> read_quantity('28"', CM), round(read_quantity("22 sts / 4 in", PER_10CM), 3)
    (71.12, 21.654)
    """
    plain = _plain(text)
    if not plain:
        return None
    if quantity.over_cm and (count := _OVER.fullmatch(plain)):
        return _in_range(_count(count, text, quantity), text, quantity)
    return _in_range(_with_unit(plain, text, quantity), text, quantity)


def read_metres_per_100g(text: str, quantity: Quantity) -> float | None:
    """A label's length in metres per 100 g; None for a blank cell. Raises KitError.

    Takes what `read_quantity` takes, and a length per mass as labels print it.

    >>> read_metres_per_100g("210 m / 50 g", METRES_PER_100G)
    420.0
    """
    length, *masses = _PER.split(_plain(text), maxsplit=1)
    if not masses or text.lstrip().startswith("="):
        return read_quantity(text, quantity)
    mass = f"1 {masses[0]}" if masses[0][:1].isalpha() else masses[0]
    weight_g = _with_unit(mass, text, replace(GRAMS, example=quantity.example))
    bare = quantity.units[""] / quantity.units["m"]  # what a bare length is, in metres
    lengths = replace(quantity, units=_LENGTH | {"": bare})
    value = _with_unit(length, text, lengths)
    if not weight_g > 0:
        raise KitError(Fault("out_of_range", text, "a weight above 0"))
    return _in_range(100 * value / weight_g, text, quantity)


def _count(match: re.Match[str], text: str, quantity: Quantity) -> float:
    """A count over a length that is named, per 10 cm."""
    over = f"1 {match['over']}" if match["over"][0].isalpha() else match["over"]
    sizes = Quantity(_SIZE, quantity.example, 0, 10_000, "cm")
    over_cm = _with_unit(over, text, sizes)
    if not over_cm > 0:
        raise KitError(Fault("out_of_range", text, "a length above 0 to count over"))
    return 10 * _number(match["count"], text, quantity, point=True) / over_cm


def read_tag(text: str) -> int | None:
    """The number on a ball's tag, 1 or more; None for a blank cell. Raises KitError."""
    number = read_quantity(text, TAG)
    if number is not None and number != int(number):
        raise KitError(Fault("not_a_number", text, "a whole number"))
    return None if number is None else int(number)


def _plain(text: str) -> str:
    """The cell in small letters, plain digits and plain signs; `½` as ` 1/2`."""
    return " ".join("".join(map(_plain_sign, text)).casefold().split())


def _plain_sign(c: str) -> str:
    if c.isascii():
        return c
    if unicodedata.category(c) == "Nd":
        return str(unicodedata.decimal(c))
    if unicodedata.decomposition(c).startswith("<fraction>"):
        return " " + unicodedata.normalize("NFKC", c).translate(_SAME)
    return c.translate(_SAME)


def _with_unit(plain: str, text: str, quantity: Quantity) -> float:
    if plain.startswith(("=", "@")):
        advice = "Paste the value instead of the formula."
        raise KitError(Fault("formula", text, _expected(quantity), advice=advice))
    if "in" in quantity.units:
        plain = _INCH_SIGN.sub(" in", plain)
    number = plain.removesuffix(".").rstrip(_LETTERS)
    unit = plain.removesuffix(".")[len(number) :]
    if unit not in quantity.units or (not unit and plain.endswith(".")):
        raise KitError(Fault("not_a_number", text, _expected(quantity)))
    point = unit in _ENGLISH or (not unit and bool(quantity.written))
    value = _number(number.rstrip(), text, quantity, point=point)
    return value * quantity.units[unit]


def _number(plain: str, text: str, quantity: Quantity, *, point: bool = False) -> float:
    """`point`: of an English measure, where a point stands before decimals only."""
    if _TWO_WAYS.fullmatch(plain) and not (point and "." in plain):
        whole, part = re.split("[.,]", plain)
        advice = (
            f"Write {whole}{part}, or {float(f'{whole}.{part}'):g} if that is meant."
        )
        expected = "a number that can be read one way only"
        raise KitError(Fault("ambiguous_number", text, expected, advice=advice))
    if _PLAIN.fullmatch(plain):
        return float(plain.replace(",", "."))
    if _GROUPED.fullmatch(plain):
        return _grouped(plain)
    if match := _FRACTION.fullmatch(plain):
        whole, top, bottom = (float(part or 0) for part in match.groups())
        if top < bottom <= _MOST_DENOMINATOR:
            return whole + top / bottom
    raise KitError(Fault("not_a_number", text, _expected(quantity)))


def _grouped(plain: str) -> float:
    """A number with marks of thousands; a mark that stands once, last, is decimal."""
    mark = re.search("[ ',.]", plain.lstrip("+-"))[0]  # type: ignore[index]
    return float(plain.replace(mark, "").replace(",", "."))


def _in_range(value: float, text: str, quantity: Quantity) -> float:
    """Limits are told as bare numbers are counted, a whole one rounded down."""
    unit = f" {quantity.unit}" if quantity.unit else ""
    bare = quantity.units.get("", 1.0)
    if value < quantity.least:
        expected = f"{quantity.least / bare:.3g} or more"
        advice = quantity.advice
    elif value > quantity.most or math.isnan(value):
        most = math.floor(quantity.most / bare)
        expected = f"{most:,}{unit} or less".replace(",", " ")
        advice = "See whether a digit or a decimal point has slipped."
    else:
        return abs(value)  # -0 is 0
    raise KitError(Fault("out_of_range", text, expected, advice=advice))


def _expected(quantity: Quantity) -> str:
    return f"a number such as {quantity.example}"

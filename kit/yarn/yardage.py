"""Yarn as numbers: length, mass and thickness, and the trade's weight classes.

`tex` is grams per kilometre (ISO 1144): the one scale in which strands held together
simply add. Other scales are read into it (`to_tex`) and written from it (`from_tex`).
It is mass per length, not girth: at equal tex cotton and silk are thinner than wool,
mohair is thicker.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

from kit.errors import Fault, KitError, unknown

# International yard and pound agreement, 1959: exact by definition.
GRAMS_PER_POUND = 453.59237
GRAMS_PER_OUNCE = 28.349523125
METRES_PER_YARD = 0.9144

# tex of a yarn that runs one yard to the pound; every hank system is a multiple of it.
_YARD_PER_POUND = 1000 * GRAMS_PER_POUND / METRES_PER_YARD

# Length in a mass: the larger the number the thinner the yarn, tex = constant / number.
# Hank lengths in yards to the pound, as textile tables agree on them; of the standards
# (ISO 1144, ASTM D2260) only the abstracts were read.
LENGTH_IN_A_MASS = {
    "metres_per_100g": 100_000.0,
    "metres_per_50g": 50_000.0,
    "yards_per_100g": 100_000.0 / METRES_PER_YARD,
    "yards_per_ounce": 1000 * GRAMS_PER_OUNCE / METRES_PER_YARD,
    "yards_per_pound": _YARD_PER_POUND,
    "Nm": 1000.0,  # metric count, metres per gram
    "Ne": _YARD_PER_POUND / 840,  # cotton count
    "NeK": _YARD_PER_POUND / 560,  # worsted count
    "woollen run": _YARD_PER_POUND / 1600,
    "Yorkshire skein": _YARD_PER_POUND / 256,
    "linen lea": _YARD_PER_POUND / 300,
}
# Mass of a length: the larger the number the thicker the yarn, tex = factor * number.
MASS_OF_A_LENGTH = {"tex": 1.0, "kilotex": 1000.0, "decitex": 1 / 10, "denier": 1 / 9}

PEIRCE = 26.72  # sqrt(tex) per mm of diameter, at specific volume 1.1


def to_tex(number: float, scale: str) -> float:
    """Any yarn number above 0 as tex (g/km). Raises KitError.

    >>> to_tex(400, "metres_per_100g"), to_tex(4, "Nm"), to_tex(2250, "denier")
    (250.0, 250.0, 250.0)
    """
    if not (math.isfinite(number) and number > 0):
        advice = "Read it again on the label, or leave it blank."
        found, expected = f"{number:g}", "more than 0"
        raise KitError(Fault("range", found, expected, column=scale, advice=advice))
    if scale in MASS_OF_A_LENGTH:
        return MASS_OF_A_LENGTH[scale] * number
    return _constant(scale) / number


def from_tex(tex: float, scale: str) -> float:
    """Tex (g/km, above 0) as a number of another scale; the inverse of `to_tex`.

    >>> round(from_tex(250, "yards_per_100g"), 2)
    437.45
    """
    if scale in MASS_OF_A_LENGTH:
        return tex / MASS_OF_A_LENGTH[scale]
    return _constant(scale) / tex


def _constant(scale: str) -> float:
    if scale not in LENGTH_IN_A_MASS:
        known = [*LENGTH_IN_A_MASS, *MASS_OF_A_LENGTH]
        raise KitError(unknown("yarn number", scale, known))
    return LENGTH_IN_A_MASS[scale]


def metres(weight_g: float, tex: float) -> float:
    """How far `weight_g` grams of a yarn of `tex` (g/km) go, in metres.

    >>> metres(50, to_tex(400, "metres_per_100g"))
    200.0
    """
    return 1000 * weight_g / tex


def grams(length_m: float, tex: float) -> float:
    """What `length_m` metres of a yarn of `tex` (g/km) weigh, in grams."""
    return length_m * tex / 1000


def held_tex(texes: Iterable[float]) -> float:
    """Strands held together as one: their tex (g/km) add.

    >>> from_tex(held_tex([250, 250]), "metres_per_100g")
    200.0
    """
    return math.fsum(texes)


def strand_width_mm(tex: float) -> float:
    """How wide a strand of `tex` (g/km) lies in the fabric's face, in mm.

    Its diameter by Peirce 1937 (specific volume 1.1): sqrt(tex) / 26.72, so width goes
    with the square root of tex for yarns of equal density. Wool and cotton are far
    looser than that by hand; what counts here is the ratio of two strands.

    >>> round(strand_width_mm(250), 3)
    0.592
    """
    return math.sqrt(tex) / PEIRCE


# --- weight classes -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WeightClass:
    """One row of the Standard Yarn Weight System.

    also                other names the chart or the trade uses
    stitches_per_10cm   the chart's plain-knit stitches per 4 inches, least and most;
                        the trade takes 4 inches for 10 cm. Least 0: "and fewer"
    needle_mm           thinnest and thickest, mm; infinite: "and larger"
    needle_us           the same as US labels, which are not numbers to compute with
    metres_per_100g     least and most; common practice from memory, in no standard
    """

    number: int
    name: str
    also: tuple[str, ...]
    stitches_per_10cm: tuple[float, float]
    needle_mm: tuple[float, float]
    needle_us: tuple[str, str]
    metres_per_100g: tuple[float, float]

    def __repr__(self) -> str:
        low, high = self.metres_per_100g
        return f"WeightClass({self.number} {self.name}, {low:g}-{high:g} m/100 g)"


# The chart of the Standard Yarn Weight System: rows 0-3 as its council publishes them,
# 4-7 from reprinted copies. Three words stand in two of its rows. Fingering (0 and 1)
# leads to 1, as the trade uses it; baby (1 and 2) to 1, roving (6 and 7) to 6. Names
# by ply (British and Australian trade), double knitting, super chunky and the metres
# per 100 g are common practice from memory; no standard gives them.
WEIGHTS = (
    WeightClass(
        0, "lace", ("thread", "2 ply"),
        (33, 40), (1.5, 2.25), ("000", "1"), (500, 1000),
    ),
    WeightClass(
        1, "fingering", ("super fine", "sock", "baby", "4 ply"),
        (27, 32), (2.25, 3.25), ("1", "3"), (350, 460),
    ),
    WeightClass(
        2, "sport", ("fine", "5 ply"),
        (23, 26), (3.25, 3.75), ("3", "5"), (260, 350),
    ),
    WeightClass(
        3, "DK", ("light", "light worsted", "double knitting", "8 ply"),
        (21, 24), (3.75, 4.5), ("5", "7"), (200, 260),
    ),
    WeightClass(
        4, "worsted", ("medium", "aran", "afghan", "10 ply"),
        (16, 20), (4.5, 5.5), ("7", "9"), (150, 210),
    ),
    WeightClass(
        5, "bulky", ("chunky", "craft", "rug", "12 ply"),
        (12, 15), (5.5, 8), ("9", "11"), (90, 140),
    ),
    WeightClass(
        6, "super bulky", ("super chunky", "roving"),
        (7, 11), (8, 12.75), ("11", "17"), (40, 90),
    ),
    WeightClass(
        7, "jumbo", (),
        (0, 6), (12.75, math.inf), ("17", ""), (10, 45),
    ),
)  # fmt: skip


def weight_class(text: str) -> WeightClass:
    """A weight class by its number, its name, or another name the trade uses.

    Case, blanks, hyphens and a closing "weight" do not matter. Raises KitError.

    >>> weight_class("Aran"), weight_class(" super-bulky ").number
    (WeightClass(4 worsted, 150-210 m/100 g), 6)
    """
    key = _squash(text)
    for weight in WEIGHTS:
        if key in map(_squash, (str(weight.number), weight.name, *weight.also)):
            return weight
    names = [weight.name for weight in WEIGHTS]
    others = [name for weight in WEIGHTS for name in weight.also]
    raise KitError(unknown("yarn weight", text, names + others))


def _squash(text: str) -> str:
    return re.sub(r"[\s_-]+", "", text.casefold()).removesuffix("weight")


def typical_metres_per_100g(weight: WeightClass | str) -> float:
    """What a yarn of this weight class usually runs, in metres per 100 g.

    Half-way between the class's thinnest and thickest yarn in tex, to the nearest 5 m.
    Common practice from memory, in no standard: a label or a weighing is better.

    >>> typical_metres_per_100g("fingering")
    400.0
    """
    if isinstance(weight, str):
        weight = weight_class(weight)
    texes = [to_tex(metres, "metres_per_100g") for metres in weight.metres_per_100g]
    middle = from_tex(held_tex(texes) / 2, "metres_per_100g")
    return 5.0 * round(middle / 5)

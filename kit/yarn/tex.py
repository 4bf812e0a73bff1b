"""Length, mass and thickness of yarn, by its tex.

`tex` is grams per kilometre (ISO 1144): the scale in which strands held together simply
add. It is mass per length, not girth: at equal tex cotton and silk are thinner than
wool, mohair is thicker.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

PEIRCE = 26.72  # sqrt(tex) per mm of diameter, at specific volume 1.1


def to_tex(metres_per_100g: float) -> float:
    """A label's metres per 100 g, above 0, as tex (g/km).

    The same sum leads back, from tex to metres per 100 g.

    >>> to_tex(400), to_tex(250)
    (250.0, 400.0)
    """
    return 100_000 / metres_per_100g


def metres(weight_g: float, tex: float) -> float:
    """How far `weight_g` grams of a yarn of `tex` (g/km) go, in metres.

    >>> metres(50, to_tex(400))
    200.0
    """
    return 1000 * weight_g / tex


def grams(length_m: float, tex: float) -> float:
    """What `length_m` metres of a yarn of `tex` (g/km) weigh, in grams."""
    return length_m * tex / 1000


def held_tex(texes: Iterable[float]) -> float:
    """Strands held together as one: their tex (g/km) add.

    >>> held_tex([to_tex(400), to_tex(800)])
    375.0
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

"""The trade's weight classes: lace, fingering and so on, and what they usually run."""

from __future__ import annotations

import re
from dataclasses import dataclass

from kit.errors import KitError, unknown
from kit.yarn.tex import to_tex


@dataclass(frozen=True, slots=True)
class WeightClass:
    """One row of the Standard Yarn Weight System.

    also                other names the chart or the trade uses
    stitches_per_10cm   the chart's plain-knit stitches per 4 inches, least and most;
                        the trade takes 4 inches for 10 cm. Least 0: "and fewer"
    metres_per_100g     least and most; common practice from memory, in no standard
    """

    number: int
    name: str
    also: tuple[str, ...]
    stitches_per_10cm: tuple[float, float]
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
        (33, 40), (500, 1000),
    ),
    WeightClass(
        1, "fingering", ("super fine", "sock", "baby", "4 ply"),
        (27, 32), (350, 460),
    ),
    WeightClass(
        2, "sport", ("fine", "5 ply"),
        (23, 26), (260, 350),
    ),
    WeightClass(
        3, "DK", ("light", "light worsted", "double knitting", "8 ply"),
        (21, 24), (200, 260),
    ),
    WeightClass(
        4, "worsted", ("medium", "aran", "afghan", "10 ply"),
        (16, 20), (150, 210),
    ),
    WeightClass(
        5, "bulky", ("chunky", "craft", "rug", "12 ply"),
        (12, 15), (90, 140),
    ),
    WeightClass(
        6, "super bulky", ("super chunky", "roving"),
        (7, 11), (40, 90),
    ),
    WeightClass(
        7, "jumbo", (),
        (0, 6), (10, 45),
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
    middle_tex = sum(map(to_tex, weight.metres_per_100g)) / 2
    return 5.0 * round(to_tex(middle_tex) / 5)

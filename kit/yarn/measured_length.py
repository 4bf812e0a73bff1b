"""A ball without a label: metres per 100 g from a measured length and its weight."""

from __future__ import annotations

from dataclasses import dataclass

from kit.errors import Fault, KitError
from kit.yarn.measures import METRES_PER_YARD, finely, per_100g, three_digits
from kit.yarn.weight_classes import WEIGHTS

# Ours: how far off a kitchen scale may be, and a tape along yarn that gives a little.
SCALE_G = 1.0
TAPE = 0.01


@dataclass(frozen=True, slots=True)
class MeasuredLength:
    """Metres per 100 g as measured, and the least and most it can really be."""

    metres_per_100g: float
    least: float
    most: float

    def __repr__(self) -> str:
        low, high = three_digits(self.least), three_digits(self.most)
        figure = three_digits(self.metres_per_100g)
        return f"MeasuredLength({figure}, {low}-{high} m/100 g)"


def weigh_length(
    length_m: float,
    weight_g: float,
    *,
    scale_g: float = SCALE_G,
    tape: float = TAPE,
    units: str = "metric",
) -> MeasuredLength:
    """What a cut length says about its yarn, with both ends of the possible error.

    `length_m` metres weigh `weight_g` grams; the scale is off by up to `scale_g` grams
    and the tape by up to the share `tape`. Both ends are taken at their worst together,
    since one weighing has nothing to average. Raises KitError where the scale cannot
    tell the weight from nothing, in words of these units.

    >>> weigh_length(50, 12.5)
    MeasuredLength(400, 367-439 m/100 g)
    """
    if not length_m > 0:
        raise KitError(Fault("range", f"{length_m:g}", "more than 0", column="Length"))
    if not weight_g > scale_g:
        expected = f"more than {finely(scale_g, units)}, what the scale may be off by"
        advice = "Measure off more yarn, or use a finer scale."
        fault = Fault("range", finely(weight_g, units), expected, advice=advice)
        raise KitError(fault.at(column="It weighs"))
    return MeasuredLength(
        100 * length_m / weight_g,
        100 * length_m * (1 - tape) / (weight_g + scale_g),
        100 * length_m * (1 + tape) / (weight_g - scale_g),
    )


def classes_of(measured: MeasuredLength) -> tuple[str, ...]:
    """Weight classes whose usual lengths meet the measured one, thinnest first.

    By the metres per 100 g of `WEIGHTS`: common practice, in no standard.

    >>> classes_of(weigh_length(100, 22))
    ('fingering',)
    """
    return tuple(
        one.name
        for one in WEIGHTS
        if one.metres_per_100g[0] <= measured.most
        and one.metres_per_100g[1] >= measured.least
    )


def length_lines(
    measured: MeasuredLength, *, scale_g: float = SCALE_G, units: str = "metric"
) -> list[str]:
    """It in sentences: figure, limits, what they rest on, weight class."""
    low, high = measured.least, measured.most
    figure = per_100g(measured.metres_per_100g, units)
    one = METRES_PER_YARD if units == "imperial" else 1.0
    least, most = three_digits(low / one), three_digits(high / one)
    scale = finely(scale_g, units)
    lines = [
        f"{figure}; it may be anything from {least} to {most}.",
        f"For the limits the scale is taken as right within {scale} and the tape "
        f"within {100 * TAPE:g} %: our own assumption.",
    ]
    classes = classes_of(measured)
    if classes:
        lines.append(
            f"Yarns of this length are usually called {' or '.join(classes)} (common "
            "practice, no source)."
        )
    if high > 1.2 * low:
        lines.append("Measure off more of it, and the limits draw together.")
    return lines

"""How far off a reading may be: scale, label, moisture, gauge, loop length, tension.

A limit either way, with nothing known in between, has the standard uncertainty
limit / sqrt(3) (JCGM 100:2008, 4.3.7, from memory: the rectangular distribution).
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from kit.blanket import Yarn
from kit.blanket.choices import Making
from kit.yarn import to_tex, weight_class
from kit.yarn.gauge import ESTIMATE_WITHIN
from kit.yarn.measured_length import SCALE_G, TAPE

# Tolerable negative error of prepackages, Directive 76/211/EEC, Annex I 2.4: nominal
# quantity up to (g), percent of it or grams. The last row is from memory.
TNE = (
    (50.0, 9.0, None),
    (100.0, None, 4.5),
    (200.0, 4.5, None),
    (300.0, None, 9.0),
    (500.0, 3.0, None),
    (1000.0, None, 15.0),
    (10_000.0, 1.5, None),
)
# Standard errors above which a normal lies in 5 of 100, and either side of 90 of 100
# (norm.ppf of scipy).
Z95 = 1.645
NEW_BALL_G = 100.0  # what is bought
SOLD_G = (50.0, 100.0)  # balls as sold (common practice, no source)

# Moisture that counts as yarn, percent of dry mass: Regulation (EU) 1007/2011, Annex
# IX. Words as labels have them, the longer ones first.
ALLOWANCE = (
    ("mercerised cotton", 10.5), ("modacrylic", 2.0), ("polypropylene", 2.0),
    ("polyester", 1.5), ("polyamide", 6.25), ("polylactide", 1.5), ("cashmere", 18.25),
    ("acrylic", 2.0), ("elastane", 1.5), ("acetate", 9.0), ("viscose", 13.0),
    ("lyocell", 13.0), ("bamboo", 13.0), ("merino", 18.25), ("mohair", 18.25),
    ("alpaca", 18.25), ("angora", 18.25), ("cotton", 8.5), ("nylon", 6.25),
    ("linen", 12.0), ("modal", 13.0), ("cupro", 13.0), ("ramie", 8.5), ("wool", 18.25),
    ("silk", 11.0), ("hemp", 12.0), ("flax", 12.0), ("hair", 18.25), ("yak", 18.25),
)  # fmt: skip
WOOL = 18.25
# What fibres really hold at 65 % relative humidity, percent: Morton & Hearle, as cited
# in the check values. Others are taken to hold the same part of their allowance as
# wool (our assumption), and a fibre that is not given as wool.
REGAIN = {18.25: (14.0, 18.0), 8.5: (7.0, 8.0)}


@dataclass(frozen=True, slots=True)
class Limits:
    """What each reading may be off by, either way.

    scale_g   grams, each weighing (a kitchen scale; common practice, no source)
    tape      share of a measured length (ours)
    label     1: the prepackage tolerance of the ball, taken to hold for its length
              too, which the directive does not cover (our assumption)
    gauge     share of the yarn in a stitch by which blanket and swatch may differ
              (5-10 % from memory, no source)
    loop      share by which Munden's relation may be off; without a swatch only (ours)
    tension   share by which one ball's stretch may differ from another (ours)
    moisture  1: what Annex IX allows against what fibres hold
    """

    scale_g: float = SCALE_G
    tape: float = TAPE
    label: float = 1.0
    gauge: float = 0.05
    loop: float = ESTIMATE_WITHIN
    tension: float = 0.03
    moisture: float = 1.0


USUAL = Limits()


def standard(limit: float) -> float:
    """The standard uncertainty of a limit either way.

    >>> round(standard(1.0), 4)
    0.5774
    """
    return limit / math.sqrt(3)


def tne_g(nominal_g: float) -> float:
    """How much too light a ball of a nominal mass (g) may be, in grams.

    Percentages are rounded up to a tenth of a gram (from memory).

    >>> tne_g(50), tne_g(100), tne_g(400)
    (4.5, 4.5, 12.0)
    """
    rows = ((percent, fixed) for up_to, percent, fixed in TNE if nominal_g <= up_to)
    percent, fixed = next(rows, TNE[-1][1:])
    if percent is None:
        return float(fixed or 0.0)
    return math.ceil(round(nominal_g * percent / 10, 6)) / 10


def label_limit(yarn: Yarn) -> float:
    """By what share metres per gram may differ from the label's, either way.

    A leftover is part of a ball of 50 or 100 g. Where the length is only typical of
    its weight class, half the width of that class.
    """
    if yarn.label.typical:
        thin, thick = weight_class(yarn.label.weight).metres_per_100g
        texes = [to_tex(metres) for metres in (thin, thick)]
        return abs(texes[0] - texes[1]) / sum(texes)
    small, large = SOLD_G
    nominal = small if (yarn.grams or 0.0) <= small else large
    return tne_g(nominal) / nominal


# --- moisture -------------------------------------------------------------------------


def allowance(fibre: str) -> float:
    """Annex IX's percentage for a label's fibres, by their shares; wool where unknown.

    >>> allowance("superwash wool 75 %, nylon 25 %"), allowance("cotton"), allowance("")
    (15.25, 8.5, 18.25)
    """
    shares = []
    for part in re.split(r"[,;/+]", fibre.casefold()):
        number = re.search(r"(\d+(?:\.\d+)?)\s*%", part)
        share = float(number[1]) if number else 1.0
        percent = next((p for word, p in ALLOWANCE if word in part), WOOL)
        shares.append((share, percent))
    whole = sum(share for share, _ in shares)
    return sum(s * p for s, p in shares) / whole if whole else WOOL


def _regain(percent: float) -> tuple[float, float]:
    low, high = REGAIN[WOOL]
    scaled = percent * low / WOOL, percent * high / WOOL
    return REGAIN.get(percent, scaled)


def dry_limit(yarn: Yarn) -> float:
    """By what share a ball may weigh less than its yarn counts for, the room being dry.

    A label's metres per 100 g hold at the allowance: wool at 14 % instead of 18.25 %
    weighs 96.41 g for 100 g, so a gram is 3.7 % more yarn than it says. Not corrected
    for, since the room is not known: taken as a limit either way.
    """
    percent = allowance(yarn.label.fibre)
    return (1 + percent / 100) / (1 + _regain(percent)[0] / 100) - 1


def day_limit(yarn: Yarn) -> float:
    """By what share two days' weighings of one ball may differ from their mean."""
    low, high = _regain(allowance(yarn.label.fibre))
    return (high - low) / 2 / (100 + (low + high) / 2)


# --- put together ---------------------------------------------------------------------


def pace_doubts(
    making: Making, yarns: Sequence[Yarn], limits: Limits = USUAL
) -> dict[str, float]:
    """Standard uncertainties of the yarn in a stitch, as shares, by what they are of.

    They are independent, so their squares add. A swatch weighed in the same house as
    the balls takes the moisture out of their ratio, but for the days' difference.
    """
    gauge = making.gauge
    swatch = gauge.swatch if gauge else None
    limit = day_limit if swatch else dry_limit
    dry = sum(map(limit, yarns)) / len(yarns) if yarns else 0.0
    doubts = {"gauge": standard(limits.gauge)}
    if swatch:
        doubts["swatch"] = standard(limits.scale_g) / swatch.grams
    else:
        doubts["loop length"] = standard(limits.loop)
    doubts["moisture"] = standard(dry * limits.moisture)
    return doubts


def together(doubts: Sequence[float]) -> float:
    """Independent standard uncertainties of a sum (of shares: of a product).

    >>> together([3.0, 4.0])
    5.0
    """
    return math.hypot(*doubts)


def buying_margin(making: Making, *, limits: Limits = USUAL) -> float:
    """By what share more yarn than computed is to be bought, so that it suffices in 95
    of 100. Closed form: the doubts of a product, squared and added; new balls of 100 g.

    A label's own doubt counts once, as though every ball of a lot were off alike.
    """
    doubts = list(pace_doubts(making, (), limits).values())
    label = tne_g(NEW_BALL_G) / NEW_BALL_G
    return Z95 * together([*doubts, standard(label * limits.label)])

"""How sure the rows are: where strands run out, whether the yarn lasts, what to keep.

Seeded Monte Carlo on drawn blankets (see `strand_chains`); the chance that all yarn
together suffices, and the margin to buy, in closed form.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil
from types import MappingProxyType

import numpy as np

from kit.belief import Belief
from kit.choices import Choices, Making
from kit.fabric import Fabric
from kit.gauge import Swatch
from kit.loom import BIND_OFF_ROWS, set_up
from kit.schedule import weight_g
from kit.stash import Yarn
from kit.strand_chains import (
    Knits,
    Strand,
    first_belief,
    knit_drawn,
    metres_at,
    strands_of,
)
from kit.tolerance import (
    USUAL,
    Limits,
    pace_doubts,
    standard,
    tne_g,
    together,
)
from kit.yardline import Yardline

INSIDE = 0.90  # what a range is to hold
SURE = 0.95  # what a reserve is to suffice for: the upper end of such a range
Z95 = 1.645  # standard errors above which a normal lies in 5 of 100 (scipy's norm.ppf)
NEW_BALL_G = 100.0  # what is bought


@dataclass(frozen=True, slots=True)
class Range:
    """A number as expected, and the ends between which it lies in nine of ten."""

    likely: float
    low: float
    high: float

    def __repr__(self) -> str:
        return f"Range({self.likely:.1f}: {self.low:.1f} to {self.high:.1f})"

    @property
    def width(self) -> float:
        return self.high - self.low

    @property
    def row_numbers(self) -> tuple[int, int]:
        """Rows knitted by then, low and high, as the rows in which it happens.

        >>> Range(27.5, 26.3, 30.0).row_numbers
        (27, 30)
        """
        return max(1, ceil(self.low)), max(1, ceil(self.high))


@dataclass(frozen=True, slots=True)
class Ending:
    """Where a strand ends, in rows from the cast-on edge (parts of rows too)."""

    strand: Strand
    joins: Range
    ends: Range


@dataclass(frozen=True, slots=True)
class Reserve:
    """What to hold back of a yarn for the bind-off, in grams: as planned, and so that
    it suffices in 95 of 100."""

    yarn: Yarn
    planned_g: float
    sure_g: float


@dataclass(frozen=True, slots=True)
class Better:
    """A better measurement, and what of the range of rows it leaves (1: no use)."""

    what: str
    says: str
    leaves: float


@dataclass(frozen=True, slots=True)
class Sureness:
    """How sure one fabric is.

    lasts     rows the yarn lasts for, going by the plan
    chance    that it lasts to the planned last row; None where it is knitted until the
              yarn ends
    in_all    the same for all yarn together, had every gram its use
    doubts    standard uncertainties of the yarn in a stitch, as shares
    """

    endings: tuple[Ending, ...]
    lasts: Range
    chance: float | None
    in_all: float | None
    reserves: tuple[Reserve, ...]
    doubts: Mapping[str, float]
    better: tuple[Better, ...]

    def __repr__(self) -> str:
        return f"Sureness(lasts {self.lasts!r}, chance {self.chance})"


# --- the answer -----------------------------------------------------------------------


def of_100(chance: float) -> str:
    """A chance in words, never promising all or nothing.

    >>> of_100(0.572), of_100(0.9985), of_100(0.0)
    ('57 of 100', 'over 99 of 100', 'under 1 of 100')
    """
    if chance > 0.99:
        return "over 99 of 100"
    return f"{100 * chance:.0f} of 100" if chance >= 0.01 else "under 1 of 100"


@lru_cache(maxsize=8)
def how_sure(fabric: Fabric, choices: Choices, *, limits: Limits = USUAL) -> Sureness:
    """How sure a planned fabric is, before a stitch is knitted."""
    line = set_up(choices.making).line
    strands = strands_of(fabric, choices)
    yarns = [use.yarn for use in fabric.uses]
    belief = first_belief(yarns, choices, limits)
    knits = knit_drawn(strands, belief, line)
    sure = judged(fabric, choices, strands, knits, belief)
    doubts = pace_doubts(choices.making, [y for y in yarns if y.metres], limits)
    better = _better(fabric, choices, strands, sure.lasts.width, limits)
    return replace(sure, doubts=doubts, better=better)


def judged(
    fabric: Fabric,
    choices: Choices,
    strands: Sequence[Strand],
    knits: Knits,
    belief: Belief,
    gone: Mapping[str, int] = MappingProxyType({}),
) -> Sureness:
    """Drawn blankets as ranges, chances and reserves. `gone`: yarns that are lost or to
    be skipped, with the millimetres knitted of them by the plan's yarn in a stitch."""
    line = set_up(choices.making).line
    rows = _rows_at(line, fabric.rows)
    endings = tuple(
        Ending(one, _range(rows(knits.joins[:, k])), _range(rows(knits.ends[:, k])))
        for k, one in enumerate(strands)
    )
    chance = in_all = None
    until = set_up(choices.making).rows
    if until is not None:
        needed = metres_at(line)(min(until, fabric.rows) * line.stitches)
        chance = float(np.mean(knits.lasts >= needed - 1e-3))
        in_all = _chance_in_all(fabric, belief, line, gone)
    return Sureness(
        endings,
        _range(rows(knits.lasts)),
        chance,
        in_all,
        _reserves(strands, line, knits),
        {},
        (),
    )


def _rows_at(line: Yardline, n_rows: int):
    """Metres of one strand to rows, parts of rows too."""
    marks = np.arange(2 * n_rows + 2)
    at = np.array([line.mm_at(int(row) * line.stitches) for row in marks]) / 1000
    per_m = (marks[-1] - marks[0]) / max(at[-1], 1e-9)

    def rows(metres: np.ndarray) -> np.ndarray:
        beyond = np.maximum(0.0, metres - at[-1]) * per_m
        return np.interp(metres, at, marks) + beyond

    return rows


def _range(numbers: np.ndarray) -> Range:
    low, likely, high = np.quantile(numbers, [(1 - INSIDE) / 2, 0.5, (1 + INSIDE) / 2])
    return Range(float(likely), float(low), float(high))


def _chance_in_all(
    fabric: Fabric, belief: Belief, line: Yardline, gone: Mapping[str, int]
) -> float:
    """Closed form: grams there are less grams needed, a sum that is linear in all that
    is doubted, so normal with the slopes' variance. Both are as before the first
    reading, since the belief is a deviation from that."""
    from scipy.stats import norm  # late: scipy is large

    over, slope = 0.0, np.zeros(len(belief.mean))
    needed = _needed_mm(fabric, line)
    for use in fabric.uses:
        name, per_mm = use.yarn.name, weight_g(use.yarn, 1.0)
        at, used = belief.at(name), needed.get(name, 0)
        had = 1000 * belief.balls[(at - 1) // 3].metres - use.kept_mm
        if name in gone:  # what of it was to be knitted is missing
            over += (gone[name] - used) * per_mm
            continue
        over += (had - used) * per_mm
        slope[at] += 1000 * belief.balls[(at - 1) // 3].metres * per_mm
        slope[0] -= used * per_mm
        slope[at + 2] -= used * per_mm
    over += float(slope @ belief.mean)
    error = float(np.sqrt(slope @ belief.covariance @ slope))
    return float(norm.cdf(over / error)) if error else float(over >= 0)


def _needed_mm(fabric: Fabric, line: Yardline) -> dict[str, int]:
    """What the fabric takes of every yarn."""
    needed: dict[str, int] = {}
    for stripe in fabric.stripes:
        mm = line.mm_at(stripe.last) - line.mm_at(stripe.first)
        for yarn in stripe.strands + stripe.carried:
            needed[yarn.name] = needed.get(yarn.name, 0) + mm
    return needed


def _reserves(
    strands: Sequence[Strand], line: Yardline, knits: Knits
) -> tuple[Reserve, ...]:
    """For the strands bound off: four rows' yarn at the pace's upper end, and what the
    scale may be off by when it is weighed."""
    row_m = line.mm_at(line.stitches) / 1000 * BIND_OFF_ROWS
    pace = float(np.quantile(knits.pace, SURE))
    last = [one.part.yarn for one in strands if one.kind == "bind off"]
    return tuple(
        Reserve(
            yarn,
            weight_g(yarn, 1000 * row_m),
            weight_g(yarn, 1000 * row_m) * pace + Z95 * standard(USUAL.scale_g),
        )
        for yarn in dict.fromkeys(last)
    )


# --- what to measure better -----------------------------------------------------------


def _better(
    fabric: Fabric,
    choices: Choices,
    strands: Sequence[Strand],
    width: float,
    limits: Limits,
) -> tuple[Better, ...]:
    """The range of rows left by each better measurement, the most helpful first."""
    yarns = [use.yarn for use in fabric.uses]
    line = set_up(choices.making).line
    rows = _rows_at(line, fabric.rows)
    found = []
    for what, says, changed, finer in _measurements(fabric, choices, limits):
        knits = knit_drawn(strands, first_belief(yarns, changed, finer), line)
        leaves = _range(rows(knits.lasts)).width / width if width else 1.0
        found.append(Better(what, says, leaves))
    return tuple(sorted(found, key=lambda one: one.leaves))


def _measurements(fabric: Fabric, choices: Choices, limits: Limits):
    gauge = choices.making.gauge
    assert gauge is not None
    if gauge.swatch:
        size = gauge.swatch
        large = Swatch(2 * size.width_cm, 2 * size.length_cm, 4 * size.grams)
        says = (
            f"Weigh a bigger swatch ({large.width_cm:g} x {large.length_cm:g} cm "
            f"instead of {size.width_cm:g} x {size.length_cm:g} cm)"
        )
        yield "swatch", says, _with_swatch(choices, large), limits
    else:
        usual = _usual_swatch(fabric, choices)
        says = f"Weigh a washed swatch of 20 x 20 cm (about {usual.grams:.0f} g)"
        yield "swatch", says, _with_swatch(choices, usual), limits
    says = "Weigh the balls on a scale that shows tenths of a gram"
    yield "scale", says, choices, replace(limits, scale_g=limits.scale_g / 10)
    says = "Knit the swatch as the blanket is knitted, so that both agree within 2 %"
    yield "gauge", says, choices, replace(limits, gauge=min(limits.gauge, 0.02))
    says = "Measure a length of each ball and weigh it, instead of trusting its label"
    yield "label", says, choices, replace(limits, label=0.0)


def _with_swatch(choices: Choices, swatch: Swatch) -> Choices:
    assert choices.making.gauge is not None
    gauge = replace(choices.making.gauge, swatch=swatch)
    return replace(choices, making=replace(choices.making, gauge=gauge))


def _usual_swatch(fabric: Fabric, choices: Choices) -> Swatch:
    """20 x 20 cm as this fabric weighs on average."""
    used_g = sum(weight_g(use.yarn, use.used_mm) for use in fabric.uses)
    area = max(fabric.width_cm * fabric.length_cm, 1e-9)
    return Swatch(20, 20, max(used_g * 400 / area, 0.1))


# --- how much to buy ------------------------------------------------------------------


def buying_margin(making: Making, *, limits: Limits = USUAL) -> float:
    """By what share more yarn than computed is to be bought, so that it suffices in 95
    of 100. Closed form: the doubts of a product, squared and added; new balls of 100 g.

    A label's own doubt counts once, as though every ball of a lot were off alike.
    """
    doubts = list(pace_doubts(making, (), limits).values())
    label = tne_g(NEW_BALL_G) / NEW_BALL_G
    return Z95 * together([*doubts, standard(label * limits.label)])

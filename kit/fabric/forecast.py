"""How sure the rows are: where strands run out, whether the yarn lasts, what to keep,
and what to measure for surer ones.

Seeded Monte Carlo on drawn blankets (see `strand_chains`); the chance that all yarn
together suffices in closed form.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from kit.blanket import Choices, Yarn
from kit.fabric.fabric import Fabric
from kit.fabric.posterior import Posterior
from kit.fabric.ranges import Range, range_of, rows_at
from kit.fabric.schedule import BallPart, weight_g
from kit.fabric.setup import BIND_OFF_ROWS, set_up
from kit.fabric.strand_chains import (
    Knits,
    Strand,
    knit_drawn,
    metres_at,
    prior,
    strands_of,
)
from kit.fabric.tolerance import (
    USUAL,
    Z95,
    Limits,
    pace_doubts,
    standard,
    together,
)
from kit.yarn import Swatch, mass
from kit.yarn.measures import sides
from kit.yarn.stitch_lengths import StitchLengths

SURE = 0.95  # what a reserve is to suffice for: the upper end of such a range


@dataclass(frozen=True, slots=True)
class Ending:
    """Where a strand joins and ends, in rows from the cast-on edge (parts of rows too).

    `lasts`: the rows between, drawn blanket by blanket. A strand that joins late ends
    late, so that where the join is known its end is much surer than `ends`.
    """

    strand: Strand
    joins: Range
    ends: Range
    lasts: Range

    def once_joined(self, row: float) -> Range:
        """Where it ends if it is joined when `row` rows are knitted: as long after as
        its yarn lasts, or where it is to be broken off, though not before."""
        if self.strand.kind in ("runs out", "bind off"):
            return self.lasts.after(row)
        ends = self.ends
        return Range(*(max(row, n) for n in (ends.likely, ends.low, ends.high)))


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
class Forecast:
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

    def rows_short_of(self, rows: int) -> Range:
        """How many rows before the last of so many the yarn ends; below 0: after."""
        lasts = self.lasts
        return Range(rows - lasts.likely, rows - lasts.high, rows - lasts.low)

    def __repr__(self) -> str:
        return f"Forecast(lasts {self.lasts!r}, chance {self.chance})"


# --- the answer -----------------------------------------------------------------------


@lru_cache(maxsize=8)
def forecast_fabric(
    fabric: Fabric, choices: Choices, *, limits: Limits = USUAL
) -> Forecast:
    """How sure a planned fabric is, before a stitch is knitted."""
    lengths = set_up(choices.making).lengths
    strands = strands_of(fabric, choices)
    yarns = [use.yarn for use in fabric.uses]
    posterior = prior(yarns, choices, limits)
    knits = knit_drawn(strands, posterior, lengths)
    forecast = forecast_from(fabric, choices, strands, knits, posterior)
    doubts = pace_doubts(choices.making, [y for y in yarns if y.metres], limits)
    better = better_measurements(fabric, choices, strands, forecast.lasts.width, limits)
    return replace(forecast, doubts=doubts, better=better)


def ends_as_joined(forecast: Forecast, stitches: int) -> dict[BallPart, Range]:
    """Where every part ends if it is joined in its planned row of so many stitches."""
    return {
        one.strand.part: one.once_joined(one.strand.first / stitches)
        for one in forecast.endings
    }


def forecast_from(
    fabric: Fabric,
    choices: Choices,
    strands: Sequence[Strand],
    knits: Knits,
    posterior: Posterior,
    gone: Mapping[str, int] = MappingProxyType({}),
) -> Forecast:
    """Drawn blankets as ranges, chances and reserves. `gone`: yarns that are lost or to
    be skipped, with the millimetres knitted of them by the plan's yarn in a stitch."""
    setup = set_up(choices.making)
    lengths, until = setup.lengths, setup.rows
    rows = rows_at(lengths, fabric.rows)
    joins, ends = rows(knits.joins), rows(knits.ends)
    endings = tuple(
        Ending(one, *(range_of(n[:, k]) for n in (joins, ends, ends - joins)))
        for k, one in enumerate(strands)
    )
    chance = in_all = None
    if until is not None:
        needed = metres_at(lengths)(min(until, fabric.rows) * lengths.stitches)
        chance = float(np.mean(knits.lasts >= needed - 1e-3))
        in_all = _chance_in_all(fabric, posterior, lengths, gone)
    return Forecast(
        endings,
        range_of(rows(knits.lasts)),
        chance,
        in_all,
        _reserves(strands, lengths, knits),
        {},
        (),
    )


def _chance_in_all(
    fabric: Fabric,
    posterior: Posterior,
    lengths: StitchLengths,
    gone: Mapping[str, int],
) -> float:
    """Closed form: grams there are less grams needed, a sum that is linear in all that
    is doubted, so normal with the slopes' variance. Both are as before the first
    reading, since the posterior is a deviation from that."""
    from scipy.special import ndtr  # late: scipy is large

    over, slope = 0.0, np.zeros(len(posterior.mean))
    needed = _needed_mm(fabric, lengths)
    for use in fabric.uses:
        name, per_mm = use.yarn.name, weight_g(use.yarn, 1.0)
        at, used = posterior.at(name), needed.get(name, 0)
        had = 1000 * posterior.balls[(at - 1) // 3].metres - use.kept_mm
        if name in gone:  # what of it was to be knitted is missing
            over += (gone[name] - used) * per_mm
            continue
        over += (had - used) * per_mm
        slope[at] += 1000 * posterior.balls[(at - 1) // 3].metres * per_mm
        slope[0] -= used * per_mm
        slope[at + 2] -= used * per_mm
    over += float(slope @ posterior.mean)
    error = float(np.sqrt(slope @ posterior.covariance @ slope))
    return float(ndtr(over / error)) if error else float(over >= 0)


def _needed_mm(fabric: Fabric, lengths: StitchLengths) -> dict[str, int]:
    """What the fabric takes of every yarn."""
    needed: dict[str, int] = {}
    for stripe in fabric.stripes:
        mm = lengths.mm_between(stripe.first, stripe.last)
        for yarn in stripe.strands + stripe.carried:
            needed[yarn.name] = needed.get(yarn.name, 0) + mm
    return needed


def _reserves(
    strands: Sequence[Strand], lengths: StitchLengths, knits: Knits
) -> tuple[Reserve, ...]:
    """For the strands bound off: four rows' yarn at the pace, and as much more as pace
    and scale, whose doubts add as squares, may be off by."""
    row_m = lengths.mm_at(lengths.stitches) / 1000 * BIND_OFF_ROWS
    pace, most = (float(np.quantile(knits.pace, share)) for share in (0.5, SURE))
    scale_g = Z95 * standard(USUAL.scale_g)
    last = [one.part.yarn for one in strands if one.kind == "bind off"]
    reserves = []
    for yarn in dict.fromkeys(last):
        planned_g = weight_g(yarn, 1000 * row_m)
        more_g = together([planned_g * (most - pace), scale_g])
        reserves.append(Reserve(yarn, planned_g, planned_g * pace + more_g))
    return tuple(reserves)


# --- what to measure ------------------------------------------------------------------


def better_measurements(
    fabric: Fabric,
    choices: Choices,
    strands: Sequence[Strand],
    width: float,
    limits: Limits,
) -> tuple[Better, ...]:
    """The range of rows left by each better measurement, the most helpful first."""
    yarns = [use.yarn for use in fabric.uses]
    lengths = set_up(choices.making).lengths
    rows = rows_at(lengths, fabric.rows)
    found = []
    for what, says, changed, of_pace, of_balls in _measurements(
        fabric, choices, limits
    ):
        posterior = prior(yarns, changed, of_balls, of_pace=of_pace)
        knits = knit_drawn(strands, posterior, lengths)
        leaves = range_of(rows(knits.lasts)).width / width if width else 1.0
        found.append(Better(what, says, leaves))
    return tuple(sorted(found, key=lambda one: one.leaves))


def _measurements(
    fabric: Fabric, choices: Choices, limits: Limits
) -> Iterator[tuple[str, str, Choices, Limits, Limits]]:
    """What is measured, in words, and with what choices and limits, of the pace and of
    the balls, one then draws.

    Not a piece of each ball, measured and weighed: 50 m on a scale of 1 g say no more
    than a label does.
    """
    gauge, units = choices.making.gauge, choices.units
    assert gauge is not None
    fine = "hundredths of an ounce" if units == "imperial" else "tenths of a gram"
    on_finer = replace(limits, scale_g=limits.scale_g / 10)
    if gauge.swatch:
        own = gauge.swatch
        large = Swatch(2 * own.width_cm, 2 * own.length_cm, 4 * own.grams)
        now, then = (sides(s.width_cm, s.length_cm, units) for s in (own, large))
        says = f"Weigh a bigger swatch ({then} instead of {now})"
        yield "swatch", says, _with_swatch(choices, large), limits, limits
        says = f"Weigh the swatch on a scale that shows {fine}"
        yield "swatch's scale", says, choices, on_finer, limits
    else:
        usual = _usual_swatch(fabric)
        wide, side_cm = (
            ("8 x 8 in", 20.32) if units == "imperial" else ("20 x 20 cm", 20)
        )
        about = mass(usual.grams * (side_cm / 20) ** 2, units)  # else as good as 20 cm
        says = f"Weigh a washed swatch of {wide} (about {about})"
        yield "swatch", says, _with_swatch(choices, usual), limits, limits
    says = f"Weigh the balls on a scale that shows {fine}"
    yield "scale", says, choices, limits, on_finer
    says = "Knit the swatch as the blanket is knitted, so that both agree within 2 %"
    surer = replace(limits, gauge=min(limits.gauge, 0.02))
    yield "gauge", says, choices, surer, limits


def _with_swatch(choices: Choices, swatch: Swatch) -> Choices:
    assert choices.making.gauge is not None
    gauge = replace(choices.making.gauge, swatch=swatch)
    return replace(choices, making=replace(choices.making, gauge=gauge))


def _usual_swatch(fabric: Fabric) -> Swatch:
    """20 x 20 cm as this fabric weighs on average."""
    used_g = sum(weight_g(use.yarn, use.used_mm) for use in fabric.uses)
    area = max(fabric.width_cm * fabric.length_cm, 1e-9)
    return Swatch(20, 20, max(used_g * 400 / area, 0.1))

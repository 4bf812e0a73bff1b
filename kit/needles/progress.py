"""Where things stand: weighings and joins as readings, the forecast corrected by them.

The yarn in a stitch and every ball are estimated by Bayesian linear regression (see
`posterior`), with the swatch and the labels as prior; the rest is then knitted on in a
thousand drawn blankets, as `forecast` does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from kit.arrangement.layout import shared_in
from kit.blanket import Choices, Yarn
from kit.fabric.carrying import TAIL_MM
from kit.fabric.forecast import Forecast, forecast_from
from kit.fabric.posterior import Posterior, Reading, learned, left_m
from kit.fabric.ranges import Range, range_of
from kit.fabric.schedule import weight_g
from kit.fabric.setup import Setup, set_up
from kit.fabric.strand_chains import Strand, knit_drawn, prior
from kit.fabric.stripes import initial_mm
from kit.fabric.tolerance import Z95
from kit.needles.knitted import Knitted, knitted_by_log
from kit.needles.log import Log
from kit.needles.readings import readings_of, weighed_before
from kit.needles.weighings import given_m, without_odd
from kit.plan import Plan

FAR = 3.0  # standard errors of the pace beyond which readings are doubted (ours)


class BallState(StrEnum):
    """What has become of a ball; its words are for people to read."""

    TO_COME = "to come"
    ON_THE_NEEDLE = "on the needle"
    RAN_OUT = "ran out"
    BROKEN_OFF = "broken off"
    GONE = "lost or skipped"
    NOT_PLANNED = "not in the plan"


@dataclass(frozen=True, slots=True)
class Ball:
    """One yarn as it is now believed to be; had = knitted + cast on + left, whole mm.

    `left_g` in grams: what a scale would show.
    """

    yarn: Yarn
    initial_mm: int
    knitted_mm: int
    left_g: Range
    state: BallState
    cast_on_mm: int = 0

    @property
    def left_mm(self) -> int:
        return self.initial_mm - self.knitted_mm - self.cast_on_mm

    def __repr__(self) -> str:
        return f"Ball({self.yarn.name}, {self.left_g.likely:.0f} g left, {self.state})"


@dataclass(frozen=True, slots=True)
class Join:
    """A join to come: the yarn, the one it stands for ("" where nothing ends), and the
    row as planned and as now forecast. `together`: the yarn joined before it where that
    one ends, as two thin ones for a thick one."""

    yarn: Yarn
    instead_of: str
    planned_row: int
    row: Range
    together: str = ""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a plan has been knitted, and what is to be expected of the rest.

    knitted    so far: row, stripes, strands on the needle
    rows       the plan's last row
    posterior  pace and balls after all readings
    pace       yarn in a stitch as a share of the plan's
    forecast   chances, reserves, rows the yarn lasts for; `endings` of strands to end
    """

    knitted: Knitted
    rows: int
    readings: tuple[Reading, ...]
    posterior: Posterior
    pace: Range
    forecast: Forecast
    balls: tuple[Ball, ...]
    joins: tuple[Join, ...]
    sentences: tuple[str, ...]

    def __repr__(self) -> str:
        return f"Progress(row {self.knitted.row}, pace {self.pace.likely:.3f})"

    @property
    def ends(self) -> tuple[int, int]:
        """Ends to weave in that hang by now, and those of the whole blanket."""
        begun = sum(one.begun is not None for one in self.knitted.strands)
        ended = sum(end is not None for end in self.knitted.ended)
        return begun + ended, 2 * len(self.knitted.strands)


def progress_of(plan: Plan, log: Log, base: Choices, yarns: Sequence[Yarn]) -> Progress:
    """Follow a log along a plan with fabric, learn from it, and forecast the rest.

    `base` are the choices of blanket.toml, `yarns` those of the stash (and the shop)
    as they were before the first stitch: what is weighed is compared with them.
    """
    assert plan.fabric is not None
    setup = set_up(base.making)
    knitted = knitted_by_log(plan.fabric, plan.choices, log, yarns, sure=plan.start.row)
    first = prior(yarns, base, fabric=plan.fabric)
    log, odd = without_odd(log, knitted, yarns, setup, first, base.units)
    yarns, log, anew = weighed_before(log, knitted, yarns, setup, base.units)
    readings, said = readings_of(log, knitted, yarns, setup, base.units)
    first = prior(yarns, base, fabric=plan.fabric)
    posterior = learned(first, readings)
    strands = _ahead(knitted, plan.choices, setup)
    now = knitted.row * setup.stitches
    knits = knit_drawn(strands, posterior, setup.lengths, now=now)
    lost_mm = {name: knitted.used_mm(name, setup.lengths, now) for name in knitted.gone}
    forecast = forecast_from(plan.fabric, base, strands, knits, posterior, lost_mm)
    pace = range_of(knits.pace)
    if not readings:
        pace = replace(pace, likely=1.0)
    balls = tuple(_ball(yarn, knitted, posterior, setup) for yarn in yarns)
    return Progress(
        knitted, plan.fabric.rows, readings, posterior, pace, forecast, balls,
        _joins(forecast, strands, setup),
        (*knitted.sentences, *odd, *anew, *said, *_far_off(posterior, first)),
    )  # fmt: skip


def _far_off(posterior: Posterior, first: Posterior) -> list[str]:
    """Told where readings make more of the pace than the swatch or the gauge allow."""
    limit = FAR * first.pace_error
    if abs(posterior.pace - 1) <= limit:
        return []
    return [
        "By these weighings the pace is far from what was measured or estimated before "
        f"(within {100 * limit:.0f} %). Weigh once more, and count the gauge on the "
        "blanket itself."
    ]


def _ahead(knitted: Knitted, choices: Choices, setup: Setup) -> list[Strand]:
    """The strands on the needle and to come; what they wait for numbered anew. One that
    waits for a strand that has ended waits no more."""
    pairs = knitted.with_ends
    on = [k for k, (_, end) in enumerate(pairs) if end is None]
    place = {k: n for n, k in enumerate(on)}
    strands = []
    for one in (pairs[k][0] for k in on):
        due = any(j not in place for j in one.after)
        after = () if due else tuple(place[j] for j in one.after)
        spent_m = _spent_m(one, knitted, choices, setup)
        strands.append(replace(one, after=after, spent_m=spent_m))
    return strands


def _spent_m(
    one: Strand, knitted: Knitted, choices: Choices, setup: Setup
) -> float | None:
    """What a ball gave before its last part, by the plan's yarn in a stitch; None where
    that part is not simply all that is left of it."""
    name = one.part.yarn.name
    own = [(strand, end) for strand, end in knitted.of_yarn(name) if strand != one]
    wound = shared_in(choices.laying) > 1
    if not own or any(end is None for _, end in own):
        return None
    if wound and any(strand.kind != "runs out" for strand, _ in own):
        return None
    if wound and one.part.n_parts != one.part.number:
        return None
    begun = knitted.row * setup.stitches if one.begun is None else one.begun
    row = knitted.row
    cast_on_m = given_m(name, row, knitted, setup) - _used_m(name, row, knitted, setup)
    given = knitted.used_mm(name, setup.lengths, begun) + TAIL_MM * len(own)
    return given / 1000 + cast_on_m


def _joins(
    forecast: Forecast, strands: Sequence[Strand], setup: Setup
) -> tuple[Join, ...]:
    coming = [one for one in forecast.endings if one.strand.begun is None]
    coming.sort(key=lambda one: (one.joins.likely, one.strand.first))
    joins: list[Join] = []
    first: dict[tuple[int, ...], str] = {}  # who joins first where a strand ends
    for one in coming:
        yarn, after = one.strand.part.yarn, one.strand.after
        join = Join(
            yarn,
            strands[after[0]].part.yarn.name if after else "",
            one.strand.first // setup.stitches + 1,
            Range(*(n + 1 for n in (one.joins.likely, one.joins.low, one.joins.high))),
            first.get(after, "") if after else "",
        )
        first.setdefault(after, yarn.name)
        joins.append(join)
    return tuple(joins)


# --- balls ----------------------------------------------------------------------------


def _ball(yarn: Yarn, knitted: Knitted, posterior: Posterior, setup: Setup) -> Ball:
    state = _state(yarn.name, knitted)
    if not yarn.metres:
        return Ball(yarn, 0, 0, Range(0.0, 0.0, 0.0), state)
    used_m = _used_m(yarn.name, knitted.row, knitted, setup)
    given = given_m(yarn.name, knitted.row, knitted, setup)
    in_rows = round(1000 * used_m * posterior.pace)
    cast_on = round(1000 * (given - used_m) * posterior.pace)
    expected, error = left_m(posterior, yarn.name, given)
    touched = (
        bool(posterior.n_readings) and posterior.mean[posterior.at(yarn.name)] != 0
    )
    left = round(1000 * expected) if touched else initial_mm(yarn) - in_rows - cast_on
    least = TAIL_MM if state is BallState.ON_THE_NEEDLE else 0
    left = max(least, left)
    per_m = weight_g(yarn, 1000.0) * (1 + posterior.mean[posterior.at(yarn.name) + 1])
    spread = Z95 * error * per_m
    likely = left / 1000 * per_m
    left_g = Range(likely, max(0.0, likely - spread), likely + spread)
    return Ball(yarn, in_rows + cast_on + left, in_rows, left_g, state, cast_on)


def _used_m(name: str, row: int, knitted: Knitted, setup: Setup) -> float:
    """Metres a ball has in the rows, without the cast-on."""
    return knitted.used_mm(name, setup.lengths, row * setup.stitches) / 1000


def _state(name: str, knitted: Knitted) -> BallState:
    own = knitted.of_yarn(name)
    if name in knitted.gone:
        return BallState.GONE
    if not own:
        return BallState.NOT_PLANNED
    if any(strand.begun is not None and end is None for strand, end in own):
        return BallState.ON_THE_NEEDLE
    if any(strand.begun is None for strand, _ in own):
        return BallState.TO_COME
    ran_out = own[-1][0].kind == "runs out"
    return BallState.RAN_OUT if ran_out else BallState.BROKEN_OFF

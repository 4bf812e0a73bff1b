"""Before knitting: cast-on and rows for gauge and size, and what each ball can give."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from kit.arrangement.layout import Laid, shared_in
from kit.blanket import Choices, Yarn
from kit.blanket.choices import Making
from kit.colour import step_table
from kit.errors import Fault, KitError
from kit.fabric.carrying import TAIL_MM
from kit.fabric.strands import Supply
from kit.fabric.stripes import initial_mm, yarn_tex
from kit.yarn import cast_on
from kit.yarn.gauge import rows_for, stitch_yarn, yarn_factors
from kit.yarn.stitch_lengths import StitchLengths, stitch_lengths_of

CAST_ON_ROWS = 2  # a row's yarn per strand, twice (common practice, no source)
BIND_OFF_ROWS = 4  # the same
SECOND_HALF_RESERVE = 0.06  # of a shared ball (our rule of thumb)
TRIM_WITHIN_MM = 500  # balls are trimmed to half a metre


@dataclass(frozen=True, slots=True)
class Setup:
    """What the knitting is done on: cast-on, yarn along the rows, the wished end.

    `rows` is None where it is knitted until the yarn ends.
    """

    stitches: int
    width_cm: float
    lengths: StitchLengths
    rows: int | None
    estimated: bool

    @property
    def until(self) -> int | None:
        """The wished end in stitches."""
        return self.rows and self.rows * self.stitches


def set_up(making: Making) -> Setup:
    """Gauge and size as stitches, rows and yarn per stitch. Raises KitError."""
    gauge, size = making.gauge, making.size
    if gauge is None or size is None:
        says = "Fabric needs both [gauge] and [size]"
        raise KitError(Fault("no_gauge", says=says))
    try:
        chosen = cast_on(size.width_cm, gauge, edge_stitches=size.edge_stitches).nearest
        rows = size.length_cm and rows_for(size.length_cm, gauge, making.sections)
    except KitError as error:
        placed = (f.at(column=f"size.{f.column}") for f in error.faults)
        raise KitError(placed) from None
    stitch = stitch_yarn(gauge, making.strands.fabric_tex)
    cycle = sum(section.rows for section in making.sections) or 1
    factors = yarn_factors(cycle, making.sections).tolist()
    lengths = stitch_lengths_of(chosen.stitches, stitch.length_m, factors)
    return Setup(
        chosen.stitches, chosen.width_cm, lengths, rows or None, stitch.estimated
    )


@dataclass(frozen=True, slots=True)
class BallPlace:
    """A ball, or the part of it used at one place along the blanket.

    `part` of the ball's usable length; `time` counts the times through, from 0.
    """

    yarn: Yarn
    part: float
    time: int = 0


def places_of(laid: Laid, choices: Choices) -> tuple[BallPlace, ...]:
    """Where the balls stand, each parted evenly among its places."""
    counts = Counter(yarn.name for yarn in laid.yarns)
    mirrored = choices.laying.layout == "mirrored" and shared_in(choices.laying) > 1
    reserve = SECOND_HALF_RESERVE if mirrored else 0.0
    return tuple(
        BallPlace(
            yarn,
            (1 - (reserve if counts[yarn.name] > 1 else 0)) / counts[yarn.name],
            sum(join < k for join in laid.joins),
        )
        for k, yarn in enumerate(laid.yarns)
    )


def kept_back(
    places: Iterable[BallPlace],
    begin: Collection[str],
    end: Collection[str],
    setup: Setup,
) -> dict[str, int]:
    """Millimetres kept back of each yarn: a tail a place, cast-on and bind-off for
    those named. No more than there is."""
    row_mm = setup.lengths.mm_at(setup.stitches)
    kept: dict[str, int] = {}
    had = {place.yarn.name: initial_mm(place.yarn) for place in places}
    for name, n in Counter(place.yarn.name for place in places).items():
        edges = CAST_ON_ROWS * (name in begin) + BIND_OFF_ROWS * (name in end)
        kept[name] = min(had[name], TAIL_MM * n + edges * row_mm)
    return kept


def supply_of(places: Sequence[BallPlace], kept: dict[str, int]) -> Supply:
    """The places' lengths as numbers to knit with."""
    mm = []
    for place in places:
        usable = max(0, initial_mm(place.yarn) - kept.get(place.yarn.name, 0))
        mm.append(int(usable * place.part))
    tex = tuple(yarn_tex(place.yarn) for place in places)
    contrasts = _contrasts(tuple(place.yarn for place in places))
    times = tuple(place.time for place in places)
    return Supply(tuple(mm), tex, contrasts, times if any(times) else ())


def least_cap(fills: Callable[[int], bool], high: int) -> int:
    """The least length, to half a metre, at which all balls may be cut so that the
    blanket is still full; `high` is known to do."""
    low = 0
    while high - low > TRIM_WITHIN_MM:
        middle = (low + high) // 2
        low, high = (low, middle) if fills(middle) else (middle, high)
    return high


@lru_cache(maxsize=64)
def _contrasts(yarns: tuple[Yarn, ...]) -> list[list[float]]:
    mixes = [yarn.mix for yarn in yarns]
    return step_table(mixes, mixes, view=1.0).tolist()

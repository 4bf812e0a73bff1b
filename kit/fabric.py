"""The blanket as fabric: stripes of strands held together, and what each ball gives.

Lengths are whole millimetres inside, so that kept back + used + left = had, exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from kit.carrying import TAIL_MM, carry_along
from kit.choices import Choices, Making, Pace
from kit.colour import lab_to_xyz, mean_lab, xyz_to_lab
from kit.difference import ciede2000, step_table
from kit.errors import Fault, KitError
from kit.gauge import cast_on, row_heights_cm, rows_for, stitch_yarn, yarn_factors
from kit.layout import Laid, shared_in
from kit.search import improve
from kit.stash import Yarn
from kit.steps import largest_step
from kit.strands import Stretch, Supply, Yardline, hold, tex_range, yardline
from kit.stripes import (
    Stripe,
    had_mm,
    is_out_of_range,
    stripe_steps,
    visible_width,
    yarn_tex,
)

CAST_ON_ROWS = 2  # a row's yarn per strand, twice (common practice, no source)
BIND_OFF_ROWS = 4  # the same
SMOOTHING_MOVES = 4000  # orders tried
SECOND_HALF_RESERVE = 0.06  # of a shared ball (our rule of thumb)


@dataclass(frozen=True, slots=True)
class Use:
    """Where one yarn's millimetres go. kept + used + left = had."""

    yarn: Yarn
    had_mm: int
    kept_mm: int
    used_mm: int

    @property
    def left_mm(self) -> int:
        return self.had_mm - self.kept_mm - self.used_mm


@dataclass(frozen=True, slots=True)
class Short:
    """What is missing for the wished length: rows, cm, metres of strand, grams."""

    rows: int
    length_cm: float
    metres: float
    grams: float


@dataclass(frozen=True, slots=True)
class Fabric:
    """The knitted blanket: size, stripes in knitting order, yarn use, what was said."""

    stitches: int
    rows: int
    width_cm: float
    length_cm: float
    stripes: tuple[Stripe, ...]
    uses: tuple[Use, ...]
    short: Short | None
    said: tuple[str, ...]

    def __repr__(self) -> str:
        return (
            f"Fabric({self.stitches} stitches x {self.rows} rows, "
            f"{len(self.stripes)} stripes)"
        )


# --- the whole fabric -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Loom:
    """What the knitting is done on: cast-on, yarn along the rows, the wished end."""

    stitches: int
    width_cm: float
    line: Yardline
    rows: int | None
    estimated: bool


def set_up(making: Making) -> Loom:
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
    line = yardline(chosen.stitches, stitch.length_m, factors)
    return Loom(chosen.stitches, chosen.width_cm, line, rows or None, stitch.estimated)


@dataclass(frozen=True, slots=True)
class Start:
    """Where knitting stands: rows done and the yarns on the needle, by name.

    What is left of each ball is what the stash says. At row 0 nothing is knitted yet.
    """

    row: int = 0
    held: tuple[str, ...] = ()


NOT_BEGUN = Start()


def make_fabric(
    laid: Laid, carried: Sequence[Yarn], choices: Choices, start: Start = NOT_BEGUN
) -> Fabric:
    """Knit the yarns along the blanket. Every yarn must have a length in metres.

    Kept back first: cast-on, bind-off, tails. The wished length is met by finishing
    small balls and trimming the largest; where the yarn ends before, `short` says so.
    The first ball is begun whole or half, whichever leaves the smaller largest step
    between stripes.
    """
    loom = set_up(choices.making)
    places = _places(_held_first(laid.yarns, start), choices)
    made = [
        _made(places, carried, choices, loom, start, half)
        for half in (
            (False, True) if _may_begin_half(places, choices, start) else (False,)
        )
    ]
    return min(
        made,
        key=lambda f: (
            round(largest_step(stripe_steps(f.stripes, choices)), 6)
            + 1000 * (f.short is not None)
        ),
    )


def _may_begin_half(places: Sequence[Place], choices: Choices, start: Start) -> bool:
    return not start.row and len(places) > 2 and choices.laying.layout != "mirrored"


def _held_first(yarns: Sequence[Yarn], start: Start) -> tuple[Yarn, ...]:
    held = [yarn for name in start.held for yarn in yarns if yarn.name == name]
    held = list(dict.fromkeys(held))
    return (*held, *(yarn for yarn in yarns if yarn not in held))


def _made(
    places: Sequence[Place],
    carried: Sequence[Yarn],
    choices: Choices,
    loom: Loom,
    start: Start,
    half: bool,
) -> Fabric:
    if half:
        places = [replace(places[0], part=places[0].part / 2), *places[1:]]
    stretches, kept = _knit(places, loom, choices, start)
    stripes = [_stripe(stretch, places, loom.line) for stretch in stretches]
    stripes, carry_said = carry_along(_joined(stripes), carried, choices, loom.line)
    uses = _uses([place.yarn for place in places], carried, stripes, kept)
    n = stripes[-1].last if stripes else start.row * loom.stitches
    rows = -(-n // loom.stitches)
    begun = [f'"{places[0].yarn.name}" is begun with half its ball.'] if half else []
    return Fabric(
        loom.stitches,
        rows,
        loom.width_cm,
        _length_cm(rows, choices.making),
        tuple(stripes),
        uses,
        _short(rows, loom, stripes, choices),
        (*begun, *carry_said, *_said(stripes, places, loom, choices)),
    )


@dataclass(frozen=True, slots=True)
class Place:
    """A ball, or the part of it used at one place along the blanket."""

    yarn: Yarn
    part: float  # of the ball's usable length


def _places(yarns: Sequence[Yarn], choices: Choices) -> tuple[Place, ...]:
    counts: dict[str, int] = {}
    for yarn in yarns:
        counts[yarn.name] = counts.get(yarn.name, 0) + 1
    mirrored = choices.laying.layout == "mirrored" and shared_in(choices.laying) > 1
    reserve = SECOND_HALF_RESERVE if mirrored else 0.0
    return tuple(
        Place(yarn, (1 - (reserve if counts[yarn.name] > 1 else 0)) / counts[yarn.name])
        for yarn in yarns
    )


def _supply(
    places: Sequence[Place], kept: dict[str, int], cap: int | None = None
) -> Supply:
    mm = []
    for place in places:
        usable = max(0, had_mm(place.yarn) - kept.get(place.yarn.name, 0))
        share = int(usable * place.part)
        mm.append(share if cap is None else min(share, cap))
    tex = tuple(yarn_tex(place.yarn) for place in places)
    return Supply(tuple(mm), tex, _contrasts(tuple(place.yarn for place in places)))


@lru_cache(maxsize=64)
def _contrasts(yarns: tuple[Yarn, ...]) -> list[list[float]]:
    mixes = [yarn.mix for yarn in yarns]
    return step_table(mixes, mixes, view=1.0).tolist()


def _knit(
    places: Sequence[Place], loom: Loom, choices: Choices, start: Start
) -> tuple[list[Stretch], dict[str, int]]:
    """The stretches, and what is kept back of each yarn, mm.

    Which strands begin and end is only known once they are knitted: the yarn for their
    cast-on and bind-off is set aside and the blanket knitted again, until those that
    begin and end have theirs.
    """
    row_mm = loom.line.mm_at(loom.stitches)
    first: set[str] = set()
    last: set[str] = set()
    while True:
        kept = {
            name: TAIL_MM * sum(place.yarn.name == name for place in places)
            + CAST_ON_ROWS * row_mm * (name in first and not start.row)
            + BIND_OFF_ROWS * row_mm * (name in last)
            for name in {place.yarn.name for place in places}
        }
        kept = {p.yarn.name: min(kept[p.yarn.name], had_mm(p.yarn)) for p in places}
        stretches = _to_length(places, kept, loom, choices, start)
        if not stretches:
            return [], kept
        begins = {places[k].yarn.name for k in stretches[0].held}
        ends = {places[k].yarn.name for k in stretches[-1].held}
        if begins <= first and ends <= last:
            return stretches, kept
        first, last = first | begins, last | ends


def _to_length(
    places: Sequence[Place],
    kept: dict[str, int],
    loom: Loom,
    choices: Choices,
    start: Start,
) -> list[Stretch]:
    """Knit to the wished length with the largest balls trimmed to what is needed."""
    until = loom.rows and loom.rows * loom.stitches

    def knit(cap: int | None) -> list[Stretch]:
        return _one_way(places, _supply(places, kept, cap), until, loom, choices, start)

    stretches = knit(None)
    paced = choices.making.pace != Pace()
    if not until or paced or not stretches or stretches[-1].last < until:
        return stretches

    def fills(cap: int) -> bool:
        tried = knit(cap)
        return bool(tried) and tried[-1].last >= until

    return knit(_least(fills, max(_supply(places, kept).mm)))


def _least(fills: Callable[[int], bool], high: int) -> int:
    """The least length, to half a metre, at which all balls may be cut so that the
    blanket is still full; `high` is known to do."""
    low = 0
    while high - low > 500:
        middle = (low + high) // 2
        low, high = (low, middle) if fills(middle) else (middle, high)
    return high


def _one_way(
    places: Sequence[Place],
    supply: Supply,
    until: int | None,
    loom: Loom,
    choices: Choices,
    start: Start,
) -> list[Stretch]:
    """Along the blanket; mirrored with no small ball: one half, and its mirror image."""
    making = choices.making
    rules, pace = making.strands, making.pace
    n = len(places)
    names = [place.yarn.name for place in places]
    palindrome = n > 2 and names == names[::-1] and choices.laying.times_through == 1
    if choices.laying.layout != "mirrored" or not palindrome or start.row:
        begun = start.row * loom.stitches, len(start.held)
        return hold(supply, rules, pace, loom.line, until=until, begun=begun)
    middle = n // 2
    mm = (*supply.mm[:middle], supply.mm[middle] // 2)
    half = Supply(mm, supply.tex[: middle + 1], supply.contrast)
    # The even half of an uneven count; the middle stripe takes the odd stitch.
    stretches = hold(half, rules, pace, loom.line, until=until and until // 2)
    if not stretches:
        return []
    whole = until if until and stretches[-1].last == until // 2 else None
    end = whole or 2 * stretches[-1].last
    back = [
        Stretch(end - s.last, end - s.first, tuple(n - 1 - k for k in s.held))
        for s in reversed(stretches)
    ]
    back[0] = replace(back[0], first=stretches[-1].last)
    return stretches + back


def _stripe(stretch: Stretch, places: Sequence[Place], line: Yardline) -> Stripe:
    mm = line.mm_at(stretch.last) - line.mm_at(stretch.first)
    strands = tuple(places[k].yarn for k in stretch.held)
    return Stripe(stretch.first, stretch.last, line.stitches, strands, (), mm / 1000)


def _joined(stripes: Sequence[Stripe]) -> list[Stripe]:
    """Neighbours with the same strands as one stripe (the middle of a mirrored run)."""
    joined: list[Stripe] = []
    for stripe in stripes:
        if joined and set(joined[-1].strands) == set(stripe.strands):
            before = joined.pop()
            metres = round(before.metres_each + stripe.metres_each, 3)
            stripe = replace(before, last=stripe.last, metres_each=metres)
        joined.append(stripe)
    return joined


def _length_cm(rows: int, making: Making) -> float:
    assert making.gauge is not None
    return float(row_heights_cm(rows, making.gauge, making.sections).sum())


def _short(
    rows: int, loom: Loom, stripes: Sequence[Stripe], choices: Choices
) -> Short | None:
    if loom.rows is None or rows >= loom.rows:
        return None
    making = choices.making
    missing_mm = loom.line.mm_at(loom.rows * loom.stitches) - (
        loom.line.mm_at(stripes[-1].last) if stripes else 0
    )
    strands = making.strands
    n_strands = max(strands.least, min(strands.most, 2))
    return Short(
        rows=loom.rows - rows,
        length_cm=_length_cm(loom.rows, making) - _length_cm(rows, making),
        metres=missing_mm / 1000 * n_strands,
        grams=missing_mm / 1e6 * strands.fabric_tex,
    )


def _uses(
    yarns: Sequence[Yarn],
    carried: Sequence[Yarn],
    stripes: Sequence[Stripe],
    kept: dict[str, int],
) -> tuple[Use, ...]:
    used: dict[str, int] = {}
    for stripe in stripes:
        for yarn in stripe.strands + stripe.carried:
            mm = round(1000 * stripe.metres_each)
            used[yarn.name] = used.get(yarn.name, 0) + mm
    uses = []
    for yarn in dict.fromkeys((*yarns, *carried)):
        tails = min(TAIL_MM, had_mm(yarn)) if yarn in carried else 0
        keep = kept.get(yarn.name, tails)
        uses.append(Use(yarn, had_mm(yarn), keep, used.get(yarn.name, 0)))
    return tuple(uses)


# --- in words, and as a judge ---------------------------------------------------------


def _said(
    stripes: Sequence[Stripe],
    places: Sequence[Place],
    loom: Loom,
    choices: Choices,
) -> list[str]:
    said = []
    if loom.estimated:
        said.append(
            "Yarn use is estimated from the gauge (Munden's plain-knit relation, about "
            "15 % either way, not for garter or eyelets). A weighed swatch is surer."
        )
    low, high = tex_range(choices.making.strands)
    asked = f"{low:.0f} to {high:.0f} tex"
    if not stripes:
        said.append(f"Nothing can be knitted: no strands here make {asked}.")
    out = sum(s.rows for s in stripes if is_out_of_range(s, choices.making))
    if out:
        said.append(
            f"About {out:.0f} rows are out of the range of {asked}: other strands, or "
            "another fabric_tex under [strands], would mend it."
        )
    joined = {yarn.name for stripe in stripes for yarn in stripe.strands}
    unused = list(
        dict.fromkeys(p.yarn.name for p in places if p.yarn.name not in joined)
    )
    if unused:
        said.append(f"Left over whole: {', '.join(unused)}.")
    return said


def can_be_made(yarns: Sequence[Yarn], making: Making) -> bool:
    """Whether gauge and size are given and every yarn has a length."""
    measured = all(yarn.metres is not None for yarn in yarns)
    return making.gauge is not None and making.size is not None and measured


def stripe_judge(
    yarns: Sequence[Yarn], choices: Choices
) -> Callable[[tuple[int, ...]], float]:
    """A judge of orders of these yarns: the largest step between stripes, from far.

    Knits each order without its last details (kept back are tails alone, every ball is
    trimmed to one length) and compares averages only, since thousands are tried.
    """
    loom, making = set_up(choices.making), choices.making
    parts = shared_in(choices.laying)
    supply = _one_trim(yarns, parts, loom, making)
    xyz = np.array([lab_to_xyz(np.array(mean_lab(yarn.mix))) for yarn in yarns])
    weight = np.array([visible_width(yarn) for yarn in yarns])
    accents = np.array([yarn.role == "accent" for yarn in yarns])
    backwards = choices.laying.layout == "dark-to-light"

    def judge(order: tuple[int, ...]) -> float:
        along = order[::-1] if backwards else order
        stretches = hold(
            _reordered(supply, along), making.strands, making.pace, loom.line
        )
        shown = np.zeros((len(stretches), len(yarns)))
        for row, stretch in enumerate(stretches):
            held = [along[k] for k in stretch.held]
            shown[row, held] = weight[held]
        if len(shown) < 2:
            return 0.0
        means = xyz_to_lab(shown / shown.sum(axis=1, keepdims=True) @ xyz)
        steps = ciede2000(means[:-1], means[1:])
        moved = (shown[:-1] > 0) != (shown[1:] > 0)
        steps[(moved & accents).any(axis=1)] = 0.0
        # The runners-up a little as well, so that a plateau has a slope.
        return float(steps.max() + 0.02 * np.sort(steps)[-5:].mean())

    return judge


def _reordered(supply: Supply, along: Sequence[int]) -> Supply:
    contrast = supply.contrast
    return Supply(
        tuple(supply.mm[k] for k in along),
        tuple(supply.tex[k] for k in along),
        [[contrast[a][b] for b in along] for a in along],
    )


def _one_trim(yarns: Sequence[Yarn], parts: int, loom: Loom, making: Making) -> Supply:
    """The balls' parts, trimmed to the one length at which the blanket is just full."""
    kept = {yarn.name: min(TAIL_MM * parts, had_mm(yarn)) for yarn in yarns}
    places = [Place(yarn, 1 / parts) for yarn in yarns]
    until = loom.rows and loom.rows * loom.stitches // parts

    def fills(cap: int) -> bool:
        tried = hold(_supply(places, kept, cap), making.strands, making.pace, loom.line)
        return bool(tried) and tried[-1].last >= (until or 0)

    whole = _supply(places, kept)
    if not until or not fills(max(whole.mm)):
        return whole
    return _supply(places, kept, _least(fills, max(whole.mm)))


def smoother_run(run: tuple[Yarn, ...], choices: Choices) -> tuple[Yarn, ...]:
    """The run in an order whose stripes lie closer, by `stripe_judge`; `run` where none
    is found. Ends and value rule hold. Seeded, with a budget of tried orders."""
    slack, fixed = choices.arranging.value_slack, choices.arranging.ends == "fixed"
    values = [mean_lab(yarn.mix)[0] for yarn in run]

    def allowed(order: tuple[int, ...]) -> bool:
        if fixed and (order[0], order[-1]) != (0, len(run) - 1):
            return False
        darkest = np.minimum.accumulate([values[k] for k in order])
        late = np.array([values[k] for k in order])[1:] - darkest[:-1]
        return bool(np.all(late <= slack))

    judge = stripe_judge(run, choices)
    start = tuple(range(len(run)))
    found = improve(start, judge, allowed=allowed, moves=SMOOTHING_MOVES)
    return tuple(run[k] for k in found)

"""The blanket as fabric: stripes of strands held together, and what each ball gives.

Lengths are whole millimetres inside, so that kept back + used + left = had, exactly.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from kit.carrying import TAIL_MM, carry_along
from kit.choices import Choices, Making
from kit.gauge import row_heights_cm
from kit.layout import Laid
from kit.loom import (
    BIND_OFF_ROWS,
    CAST_ON_ROWS,
    SECOND_HALF_RESERVE,
    Loom,
    Place,
    places_of,
    set_up,
)
from kit.measures import length
from kit.reaching import knit_well
from kit.smoothing import smoother_run, stripe_judge
from kit.stash import Yarn
from kit.strands import tex_range
from kit.stripes import (
    Stripe,
    had_mm,
    is_out_of_range,
    yarn_tex,
)
from kit.trimming import Task
from kit.yardage import grams, held_tex

# The door to the fabric: what it is made with lies in the modules before this one.
__all__ = [
    "BIND_OFF_ROWS",
    "CAST_ON_ROWS",
    "NOT_BEGUN",
    "SECOND_HALF_RESERVE",
    "Ahead",
    "Fabric",
    "Short",
    "Start",
    "Use",
    "can_be_made",
    "continued",
    "make_fabric",
    "set_up",
    "smoother_run",
    "stripe_judge",
]


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
    """What the rows missing to the wished length would take.

    Rows, cm, metres of all strands together and grams, held as in the rows there are.
    What is left of the balls in hand is not taken off: a strand needs a partner.
    """

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


@dataclass(frozen=True, slots=True)
class Ahead:
    """A yarn still to come: `part` of what is left of it, in which time through."""

    yarn: str
    part: float = 1.0
    time: int = 0


@dataclass(frozen=True, slots=True)
class Start:
    """Where knitting stands: rows done and the yarns on the needle, by name.

    finished  yarns that are not to be used any more: knitted up, lost, set aside
    knitted   the stripes so far; the stash then says what each ball had before them.
              Without, the stash says what is left
    ahead     what is to come along the blanket, in order, the held first; left out,
              the rest is arranged anew
    changes   keys of blanket.toml that hold otherwise from here on

    At row 0 nothing is knitted yet.
    """

    row: int = 0
    held: tuple[str, ...] = ()
    finished: tuple[str, ...] = ()
    knitted: tuple[Stripe, ...] = ()
    ahead: tuple[Ahead, ...] = ()
    changes: tuple[tuple[str, Any], ...] = ()


NOT_BEGUN = Start()


def can_be_made(yarns: Sequence[Yarn], making: Making) -> bool:
    """Whether gauge and size are given and every yarn has a length."""
    measured = all(yarn.metres is not None for yarn in yarns)
    return making.gauge is not None and making.size is not None and measured


def make_fabric(
    laid: Laid, carried: Sequence[Yarn], choices: Choices, start: Start = NOT_BEGUN
) -> Fabric:
    """Knit the yarns along the blanket. Every yarn must have a length in metres.

    Kept back first: cast-on, bind-off, tails. The wished length is met by finishing
    small balls and trimming the largest; where the yarn ends before, `short` says so.
    The first ball is begun with half of it where that makes the largest step between
    stripes smaller, and the blanket no shorter than wished.
    """
    loom = set_up(choices.making)
    full = {yarn.name: yarn for yarn in (*laid.yarns, *carried)}
    if start.knitted:
        laid = replace(laid, yarns=tuple(_left(y, start, loom) for y in laid.yarns))
        carried = [_left(yarn, start, loom) for yarn in carried]
    places = _places_ahead(laid, start) if start.ahead else places_of(laid, choices)
    n_held = 0
    if start.row:
        places, n_held = _held_first(places, start)
    fabric = _made(places, carried, Task(choices, loom, start.row, n_held))
    return _as_had(fabric, full) if start.knitted else fabric


def _places_ahead(laid: Laid, start: Start) -> tuple[Place, ...]:
    """The yarns laid out, each with the part it was given; a bridge put in is whole."""
    waiting, places, time = list(start.ahead), [], 0
    for yarn in laid.yarns:
        one = next((one for one in waiting if one.yarn == yarn.name), None)
        if one is not None:
            waiting.remove(one)
            time = one.time
        places.append(Place(yarn, one.part if one else 1.0, time))
    return tuple(places)


def _held_first(
    places: tuple[Place, ...], start: Start
) -> tuple[tuple[Place, ...], int]:
    """The places on the needle (the first of each yarn held), then the others."""
    rest, held = list(places), []
    for name in dict.fromkeys(start.held):
        first = next((place for place in rest if place.yarn.name == name), None)
        if first is not None:
            rest.remove(first)
            held.append(first)
    return (*held, *rest), len(held)


def _made(places: Sequence[Place], carried: Sequence[Yarn], task: Task) -> Fabric:
    choices, loom = task.choices, task.loom
    knitted, half = knit_well(places, task)
    stripes, carry_said = carry_along(
        list(knitted.stripes), carried, choices, loom.line
    )
    uses = _uses([place.yarn for place in places], carried, stripes, knitted.kept)
    begun = [f'"{places[0].yarn.name}" is begun with half its ball.'] if half else []
    rows = stripes[-1].last // loom.stitches if stripes else task.row
    return Fabric(
        loom.stitches,
        rows,
        loom.width_cm,
        _length_cm(rows, choices.making),
        tuple(stripes),
        uses,
        _short(rows, loom, stripes, choices.making),
        (*begun, *carry_said, *_said(stripes, uses, carried, loom, choices)),
    )


# --- going on -------------------------------------------------------------------------


def continued(fabric: Fabric, start: Start, choices: Choices) -> Fabric:
    """The whole blanket: what is knitted as it was, and the fabric from there on.

    kept + used + left = had for every yarn, knitted part and rest together.
    """
    if not start.knitted:
        return fabric
    loom = set_up(choices.making)
    stripes = _end_to_end(start.knitted, fabric.stripes)
    said = () if loom.rows and start.row >= loom.rows else fabric.said
    return replace(
        fabric,
        stripes=stripes,
        uses=_uses_in_all(fabric, start, loom),
        short=_short(fabric.rows, loom, stripes, choices.making),
        said=said,
    )


def _left(yarn: Yarn, start: Start, loom: Loom) -> Yarn:
    """A yarn with what is left of it after the knitted part."""
    gone = _used_mm(start.knitted, yarn.name)
    left = had_mm(yarn) - gone - _kept_so_far(yarn, start, loom)
    return replace(yarn, metres=max(0, left) / 1000)


def _as_had(fabric: Fabric, full: dict[str, Yarn]) -> Fabric:
    """The fabric with its yarns as they were before the knitted part."""

    def whole(yarns: tuple[Yarn, ...]) -> tuple[Yarn, ...]:
        return tuple(full[yarn.name] for yarn in yarns)

    stripes = tuple(
        replace(stripe, strands=whole(stripe.strands), carried=whole(stripe.carried))
        for stripe in fabric.stripes
    )
    uses = []
    for use in fabric.uses:
        yarn = full[use.yarn.name]
        uses.append(replace(use, yarn=yarn, had_mm=had_mm(yarn)))
    return replace(fabric, stripes=stripes, uses=tuple(uses))


def _end_to_end(done: Sequence[Stripe], coming: Sequence[Stripe]) -> tuple[Stripe, ...]:
    """Knitted stripes and those to come; one that goes on is one stripe."""
    if not (done and coming) or not _same_strands(done[-1], coming[0]):
        return (*done, *coming)
    metres = round(done[-1].metres_each + coming[0].metres_each, 3)
    on = replace(done[-1], last=coming[0].last, metres_each=metres)
    return (*done[:-1], on, *coming[1:])


def _same_strands(one: Stripe, two: Stripe) -> bool:
    own = Counter(one.strands) == Counter(two.strands)
    return own and Counter(one.carried) == Counter(two.carried)


def _used_mm(stripes: Sequence[Stripe], name: str) -> int:
    return sum(
        round(1000 * stripe.metres_each)
        for stripe in stripes
        for yarn in stripe.strands + stripe.carried
        if yarn.name == name
    )


def _kept_so_far(yarn: Yarn, start: Start, loom: Loom) -> int:
    """Cast-on, and a tail for every time the yarn was joined and has ended."""
    stripes, name = start.knitted, yarn.name
    spells, carried, before = 0, False, False
    for stripe in stripes:
        on = any(one.name == name for one in stripe.strands)
        spells += on and not before
        carried = carried or any(one.name == name for one in stripe.carried)
        before = on
    if before and name in start.held:
        spells -= 1  # on the needle: its tail is kept back with what is to come
    edge = CAST_ON_ROWS * loom.line.mm_at(loom.stitches)
    begins = any(one.name == name for one in stripes[0].strands)
    kept = TAIL_MM * (spells + (carried and not spells)) + edge * begins
    return min(kept, max(0, had_mm(yarn) - _used_mm(stripes, name)))


def _uses_in_all(fabric: Fabric, start: Start, loom: Loom) -> tuple[Use, ...]:
    coming = {use.yarn.name: use for use in fabric.uses}
    knitted = {
        yarn.name: yarn
        for stripe in start.knitted
        for yarn in stripe.strands + stripe.carried
    }
    edge = BIND_OFF_ROWS * loom.line.mm_at(loom.stitches)
    uses = []
    for name, yarn in ({n: use.yarn for n, use in coming.items()} | knitted).items():
        used, kept, had = _used_mm(start.knitted, name), 0, had_mm(yarn)
        if used:
            kept = _kept_so_far(yarn, start, loom)
        use = coming.get(name)
        if use and use.used_mm:
            used, kept = used + use.used_mm, kept + use.kept_mm
        elif name in start.held:
            kept += TAIL_MM + (edge if not fabric.stripes else 0)
        uses.append(Use(yarn, had, max(0, min(kept, had - used)), used))
    return tuple(uses)


# --- numbers --------------------------------------------------------------------------


def _length_cm(rows: int, making: Making) -> float:
    assert making.gauge is not None
    return float(row_heights_cm(rows, making.gauge, making.sections).sum())


def _short(
    rows: int, loom: Loom, stripes: Sequence[Stripe], making: Making
) -> Short | None:
    if loom.rows is None or rows >= loom.rows:
        return None
    done = loom.line.mm_at(rows * loom.stitches)
    missing_m = (loom.line.mm_at(loom.rows * loom.stitches) - done) / 1000
    n_strands, tex = _usual(stripes, making)
    return Short(
        rows=loom.rows - rows,
        length_cm=_length_cm(loom.rows, making) - _length_cm(rows, making),
        metres=missing_m * n_strands,
        grams=grams(missing_m, tex),
    )


def _usual(stripes: Sequence[Stripe], making: Making) -> tuple[float, float]:
    """Strands and tex of the stripes by length; as asked for where there are none."""
    metres = sum(stripe.metres_each for stripe in stripes)
    if not metres:
        return max(making.strands.least, 1), making.strands.fabric_tex
    n = sum(len(stripe.strands) * stripe.metres_each for stripe in stripes)
    tex = sum(_own_tex(stripe) * stripe.metres_each for stripe in stripes)
    return n / metres, tex / metres


def _own_tex(stripe: Stripe) -> float:
    return held_tex(yarn_tex(yarn) for yarn in stripe.strands)


def _uses(
    yarns: Sequence[Yarn],
    carried: Sequence[Yarn],
    stripes: Sequence[Stripe],
    kept: dict[str, int],
) -> tuple[Use, ...]:
    """Nothing is kept back of a yarn that is not knitted."""
    used: Counter[str] = Counter()
    for stripe in stripes:
        for yarn in stripe.strands + stripe.carried:
            used[yarn.name] += round(1000 * stripe.metres_each)
    uses = []
    for yarn in dict.fromkeys((*yarns, *carried)):
        keep = kept.get(yarn.name, min(TAIL_MM, had_mm(yarn)))
        mm = used[yarn.name]
        uses.append(Use(yarn, had_mm(yarn), keep if mm else 0, mm))
    return tuple(uses)


# --- in words -------------------------------------------------------------------------


def _said(
    stripes: Sequence[Stripe],
    uses: Sequence[Use],
    carried: Sequence[Yarn],
    loom: Loom,
    choices: Choices,
) -> list[str]:
    making, said = choices.making, []
    if loom.estimated:
        said.append(
            "Yarn use is estimated from the gauge (Munden's plain-knit relation, about "
            "15 % either way, not for garter or eyelets). A weighed swatch is surer."
        )
    said += _said_of_range(stripes, uses, making)
    if stripes and stripes[-1].last != loom.until:
        said += _said_of_end(stripes, uses, loom, choices)
    idle = (u.yarn for u in uses if not u.used_mm and u.yarn not in carried)
    unused = [yarn.name for yarn in idle]
    if unused:
        said.append(f"Left over whole: {', '.join(unused)}.")
    return said


def _asked(making: Making) -> str:
    low, high = tex_range(making.strands)
    return f"{low:.0f} to {high:.0f} tex"


def _said_of_range(
    stripes: Sequence[Stripe], uses: Sequence[Use], making: Making
) -> list[str]:
    """Where the thickness is missed, and what to change."""
    rules = making.strands
    if not stripes:
        strands = f"{rules.least} to {rules.most} strands of {_asked(making)}"
        return [
            f"Nothing can be knitted: the yarns here do not make {strands}. Change "
            "fabric_tex, least or most under [strands], or add yarn."
        ]
    out = [stripe for stripe in stripes if is_out_of_range(stripe, making)]
    rows = sum(stripe.rows for stripe in out)
    if not out:
        return []
    said = f"About {max(1, rows):.0f} rows are out of the range of {_asked(making)}"
    if len(out) < len(stripes):
        return [
            f"{said}: other strands, or another fabric_tex under [strands], would "
            "mend it."
        ]
    tex = sum(_own_tex(stripe) * stripe.rows for stripe in out) / rows
    return [
        f"{said}: no strands here make it. As held they are about {tex:.0f} tex; set "
        "fabric_tex near that under [strands], or change least or most."
    ]


def _said_of_end(
    stripes: Sequence[Stripe], uses: Sequence[Use], loom: Loom, choices: Choices
) -> list[str]:
    """Why knitting stops where the yarn ends, with what is left on the needle there;
    with mirrored halves that is in the middle, whose rows end first."""
    row_mm, last, reserve = loom.line.mm_at(loom.stitches), stripes[-1], 0.0
    where = f"Knitting stops after row {last.last_row}"
    held = [{yarn.name for yarn in stripe.strands} for stripe in stripes]
    if choices.laying.layout == "mirrored" and len(held) > 1 and held == held[::-1]:
        where = f"The colours go back after row {last.last_row // 2}"
        last, reserve = stripes[len(stripes) // 2], SECOND_HALF_RESERVE
    left = [
        f"{use.yarn.name} ({length(use.left_mm / 1000, choices.units)})"
        for use in uses
        if use.yarn in last.strands and use.left_mm >= row_mm + reserve * use.had_mm
    ]
    if not left:
        return []
    return [
        f"{where}: what is left on the needle cannot make {_asked(choices.making)} "
        f"alone: {', '.join(left)}."
    ]

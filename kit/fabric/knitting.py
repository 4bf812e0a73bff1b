"""The yarns knitted along the blanket: from the cast-on edge, or on from a row.

One that is begun is knitted with what its balls have left, then told as a whole again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from kit.arrangement.layout import Laid
from kit.blanket import Choices, Yarn
from kit.fabric.ball_shares import Task
from kit.fabric.carrying import TAIL_MM, carry_along
from kit.fabric.fabric import (
    NOT_BEGUN,
    Fabric,
    Start,
    Use,
    length_cm_of,
    missing,
    used_mm_of,
    uses_of,
)
from kit.fabric.mirror_reach import knit_well
from kit.fabric.setup import (
    BIND_OFF_ROWS,
    CAST_ON_ROWS,
    BallPlace,
    Setup,
    places_of,
    set_up,
)
from kit.fabric.stripes import Stripe, initial_mm
from kit.fabric.words import fabric_said


def make_fabric(
    laid: Laid, carried: Sequence[Yarn], choices: Choices, start: Start = NOT_BEGUN
) -> Fabric:
    """Knit the yarns along the blanket. Every yarn must have a length in metres.

    Kept back first: cast-on, bind-off, tails. The wished length is met by finishing
    small balls and trimming the largest; where the yarn ends before, `short` says so.
    The first ball is begun with half of it where that makes the largest step between
    stripes smaller, and the blanket no shorter than wished.
    """
    setup = set_up(choices.making)
    full = {yarn.name: yarn for yarn in (*laid.yarns, *carried)}
    if start.knitted:
        laid = replace(
            laid, yarns=tuple(left_after(y, start, setup) for y in laid.yarns)
        )
        carried = [left_after(yarn, start, setup) for yarn in carried]
    places = _places_ahead(laid, start) if start.ahead else places_of(laid, choices)
    n_held = 0
    if start.row:
        places, n_held = _held_first(places, start)
    fabric = _made(places, carried, Task(choices, setup, start.row, n_held))
    return as_had(fabric, full) if start.knitted else fabric


def _places_ahead(laid: Laid, start: Start) -> tuple[BallPlace, ...]:
    """The yarns laid out, each with the part it was given; a bridge put in is whole."""
    waiting, places, time = list(start.ahead), [], 0
    for yarn in laid.yarns:
        one = next((one for one in waiting if one.yarn == yarn.name), None)
        if one is not None:
            waiting.remove(one)
            time = one.time
        places.append(BallPlace(yarn, one.part if one else 1.0, time))
    return tuple(places)


def _held_first(
    places: tuple[BallPlace, ...], start: Start
) -> tuple[tuple[BallPlace, ...], int]:
    """The places on the needle (the first of each yarn held), then the others."""
    rest, held = list(places), []
    for name in dict.fromkeys(start.held):
        first = next((place for place in rest if place.yarn.name == name), None)
        if first is not None:
            rest.remove(first)
            held.append(first)
    return (*held, *rest), len(held)


def _made(places: Sequence[BallPlace], carried: Sequence[Yarn], task: Task) -> Fabric:
    choices, setup = task.choices, task.setup
    knitted, half = knit_well(places, task)
    stripes, carry_said = carry_along(
        list(knitted.stripes), carried, choices, setup.lengths
    )
    uses = uses_of([place.yarn for place in places], carried, stripes, knitted.kept)
    begun = [f'"{places[0].yarn.name}" is begun with half its ball.'] if half else []
    rows = stripes[-1].last // setup.stitches if stripes else task.row
    return Fabric(
        setup.stitches,
        rows,
        setup.width_cm,
        length_cm_of(rows, choices.making),
        tuple(stripes),
        uses,
        missing(rows, setup, stripes, choices.making),
        (*begun, *carry_said, *fabric_said(stripes, uses, carried, setup, choices)),
    )


# --- a blanket that is begun ----------------------------------------------------------


def continued(fabric: Fabric, start: Start, choices: Choices) -> Fabric:
    """The whole blanket: what is knitted as it was, and the fabric from there on.

    kept + used + left = had for every yarn, knitted part and rest together.
    """
    if not start.knitted:
        return fabric
    setup = set_up(choices.making)
    stripes = _end_to_end(start.knitted, fabric.stripes)
    said = () if setup.rows and start.row >= setup.rows else fabric.sentences
    return replace(
        fabric,
        stripes=stripes,
        uses=_uses_in_all(fabric, start, setup),
        short=missing(fabric.rows, setup, stripes, choices.making),
        sentences=said,
    )


def left_after(yarn: Yarn, start: Start, setup: Setup) -> Yarn:
    """A yarn with what is left of it after the knitted part."""
    gone = used_mm_of(start.knitted, yarn.name)
    left = initial_mm(yarn) - gone - _kept_so_far(yarn, start, setup)
    return replace(yarn, metres=max(0, left) / 1000)


def as_had(fabric: Fabric, full: dict[str, Yarn]) -> Fabric:
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
        uses.append(replace(use, yarn=yarn, initial_mm=initial_mm(yarn)))
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


def _kept_so_far(yarn: Yarn, start: Start, setup: Setup) -> int:
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
    edge = CAST_ON_ROWS * setup.lengths.mm_at(setup.stitches)
    begins = any(one.name == name for one in stripes[0].strands)
    kept = TAIL_MM * (spells + (carried and not spells)) + edge * begins
    return min(kept, max(0, initial_mm(yarn) - used_mm_of(stripes, name)))


def _uses_in_all(fabric: Fabric, start: Start, setup: Setup) -> tuple[Use, ...]:
    coming = {use.yarn.name: use for use in fabric.uses}
    knitted = {
        yarn.name: yarn
        for stripe in start.knitted
        for yarn in stripe.strands + stripe.carried
    }
    edge = BIND_OFF_ROWS * setup.lengths.mm_at(setup.stitches)
    uses = []
    for name, yarn in ({n: use.yarn for n, use in coming.items()} | knitted).items():
        used, kept, had = used_mm_of(start.knitted, name), 0, initial_mm(yarn)
        if used:
            kept = _kept_so_far(yarn, start, setup)
        use = coming.get(name)
        if use and use.used_mm:
            used, kept = used + use.used_mm, kept + use.kept_mm
        elif name in start.held:
            kept += TAIL_MM + (edge if not fabric.stripes else 0)
        uses.append(Use(yarn, had, max(0, min(kept, had - used)), used))
    return tuple(uses)

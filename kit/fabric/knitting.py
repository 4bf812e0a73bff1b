"""The yarns knitted along the blanket: make_fabric."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from kit.arrangement.layout import Laid
from kit.blanket import Choices, Yarn
from kit.fabric.ball_shares import Task
from kit.fabric.carrying import carry_along
from kit.fabric.fabric import NOT_BEGUN, Fabric, Start
from kit.fabric.fabric_sums import length_cm_of, missing, uses_of
from kit.fabric.mirror_reach import knit_well
from kit.fabric.resume import as_had, left_after
from kit.fabric.setup import Place, places_of, set_up
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
    loom = set_up(choices.making)
    full = {yarn.name: yarn for yarn in (*laid.yarns, *carried)}
    if start.knitted:
        laid = replace(
            laid, yarns=tuple(left_after(y, start, loom) for y in laid.yarns)
        )
        carried = [left_after(yarn, start, loom) for yarn in carried]
    places = _places_ahead(laid, start) if start.ahead else places_of(laid, choices)
    n_held = 0
    if start.row:
        places, n_held = _held_first(places, start)
    fabric = _made(places, carried, Task(choices, loom, start.row, n_held))
    return as_had(fabric, full) if start.knitted else fabric


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
    uses = uses_of([place.yarn for place in places], carried, stripes, knitted.kept)
    begun = [f'"{places[0].yarn.name}" is begun with half its ball.'] if half else []
    rows = stripes[-1].last // loom.stitches if stripes else task.row
    return Fabric(
        loom.stitches,
        rows,
        loom.width_cm,
        length_cm_of(rows, choices.making),
        tuple(stripes),
        uses,
        missing(rows, loom, stripes, choices.making),
        (*begun, *carry_said, *fabric_said(stripes, uses, carried, loom, choices)),
    )

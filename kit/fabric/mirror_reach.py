"""The knitting that flows and reaches best: begun well, mirrored runs joined well."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from kit.blanket.choices import Pace
from kit.colour.steps import largest_step
from kit.fabric.ball_shares import Outcome, Task, is_folded, knit, one_way
from kit.fabric.setup import BallPlace
from kit.fabric.strands import ROWS_APART, Stretch, Supply
from kit.fabric.stripes import Stripe, stripe_steps
from kit.search.local_search import carry_out

N_EXCHANGES = 8  # one after the other
N_NEAR = 9  # places before the fold, or the last edge, that may be exchanged
N_KNITTED = 3  # of the exchanges that reach furthest


def knit_well(places: Sequence[BallPlace], task: Task) -> tuple[Outcome, bool]:
    """Knit with the first ball begun whole, or with half of it (True) where that makes
    the largest step between stripes smaller, and the blanket no shorter than wished.
    """
    whole_ball = knit(places, task)
    if task.row or len(places) < 3:
        return whole_ball, False
    if task.choices.laying.layout == "mirrored":
        return _further(whole_ball, places, task), False
    halved = replace(places[0], part=places[0].part / 2), *places[1:]
    half_ball = knit(halved, task)
    better = _flow(half_ball, task) < _flow(whole_ball, task)
    return (half_ball if better else whole_ball), better


def _flow(knitted: Outcome, task: Task) -> tuple[int, float]:
    """Stitches missing to the wished length, and the largest step: less is better."""
    last = knitted.stripes[-1].last if knitted.stripes else 0
    steps = stripe_steps(knitted.stripes, task.choices)
    return max(0, (task.setup.until or 0) - last), round(largest_step(steps), 6)


# --- mirrored runs --------------------------------------------------------------------


def _further(knitted: Outcome, places: Sequence[BallPlace], task: Task) -> Outcome:
    """A mirrored blanket that is short of yarn, joined so that less is lost; the same
    where that gains nothing.

    A strand that has no partner left at the fold, or at the last edge, is lost: which
    balls run out together depends on who joined whom. So a ball and the next, or the
    next but one, change places as long as that gains something.
    """
    until, choices = task.setup.until, task.choices
    if choices.making.pace != Pace() or choices.arranging.order or not knitted.stripes:
        return knitted
    n = len(places)
    order = tuple(range((n + 1) // 2 if is_folded(places, task) else n))
    for _ in range(N_EXCHANGES):
        last = _end(knitted.stripes)
        if last == until:
            break
        rows = _least_rows(knitted, places, task)
        far = [
            (_reaches(places, knitted.supply, replace(one, least_rows=rows)), one)
            for one in (replace(task, order=o) for o in _exchanged(order, places))
        ]
        for reach, one in sorted(far, key=lambda way: -way[0])[:N_KNITTED]:
            tried = knit(places, one) if reach >= last else knitted
            if _gains(tried, knitted, places, task):
                knitted, order = tried, one.order
                break
        else:
            break
    return _with_the_darkest(knitted, places, replace(task, order=order))


def _least_rows(knitted: Outcome, places: Sequence[BallPlace], task: Task) -> int:
    """Fewer rows than these gain nothing: four more, or as many with the darkest in."""
    rows = _end(knitted.stripes) // task.setup.stitches
    if not is_folded(places, task) or _darkest_rows(knitted, places) >= ROWS_APART:
        rows += ROWS_APART
    return min(rows, task.setup.rows or rows)


def _gains(
    tried: Outcome, knitted: Outcome, places: Sequence[BallPlace], task: Task
) -> bool:
    """Whether it reaches the wished end or four rows further, with no step between
    stripes over the jump limit or over the largest there was; or brings in the darkest,
    that had no room at the fold, and is no shorter."""
    folded = is_folded(places, task)
    if folded and len(places) % 2:
        darkest = places[len(places) // 2].yarn
        if _spells([darkest in one.strands for one in tried.stripes]) > 1:
            return False
    least = _end(knitted.stripes) + ROWS_APART * task.setup.stitches
    if _end(tried.stripes) >= min(least, task.setup.until or least):
        most = max(task.choices.judging.fabric_jump_limit, _largest(knitted, task))
        if _largest(tried, task) <= most + 1e-6:
            return True
    if not folded or _end(tried.stripes) < _end(knitted.stripes):
        return False
    return _darkest_rows(knitted, places) < ROWS_APART <= _darkest_rows(tried, places)


def _exchanged(
    order: tuple[int, ...], places: Sequence[BallPlace]
) -> Iterator[tuple[int, ...]]:
    """Orders in which two near each other, of the last few, change places."""
    for i in range(max(1, len(order) - N_NEAR), len(order)):
        for j in range(i + 1, min(i + 3, len(order))):
            if places[order[i]].time == places[order[j]].time:
                line = list(order)
                carry_out(line, (i, i + 1, j, j + 1, 0))
                yield tuple(line)


def _reaches(places: Sequence[BallPlace], supply: Supply, task: Task) -> int:
    """The last stitch in another order; 0 where the darkest at the fold, or the last
    of all, would be joined before its turn and not be held in one go."""
    stretches = one_way(places, supply, task)
    last = len(task.order) - 1
    in_one_go = _spells([last in one.held for one in stretches]) == 1
    return _end(stretches) if in_one_go or task.order[-1] == last else 0


def _spells(held: Sequence[bool]) -> int:
    return sum(now and not before for before, now in pairwise([False, *held]))


def _with_the_darkest(
    knitted: Outcome, places: Sequence[BallPlace], task: Task
) -> Outcome:
    """The same; where the darkest has no room at the fold, a ball held there is broken
    off four rows sooner in either half, so that the colours do reach it.

    That costs no row: what the other strand is held with for those rows is another.
    """
    n, rows = len(places), task.setup.stitches * ROWS_APART
    stands_once = n % 2 and is_folded(places, task) and knitted.stripes
    if not stands_once or _darkest_rows(knitted, places) >= ROWS_APART:
        return knitted
    last, less = _end(knitted.stripes), task.setup.lengths.mm_at(rows)
    least = last if last == task.setup.until else last - rows
    middle = next(stripe for stripe in knitted.stripes if 2 * stripe.last > last)
    found = []
    for k in range(n // 2):
        mm = knitted.supply.mm[k]
        if places[k].yarn not in middle.strands or mm <= less:
            continue
        cut = replace(places[k], part=places[k].part * (1 - less / mm))
        shorter = (cut if i in (k, n - 1 - k) else one for i, one in enumerate(places))
        tried = knit(tuple(shorter), task)
        known = _darkest_rows(tried, places) >= ROWS_APART
        found += [tried] * (known and _end(tried.stripes) >= least)
    return min(found, key=lambda one: _largest(one, task), default=knitted)


def _darkest_rows(knitted: Outcome, places: Sequence[BallPlace]) -> float:
    """Rows with the ball that stands once, at the turn."""
    darkest = places[len(places) // 2].yarn
    return sum(one.rows for one in knitted.stripes if darkest in one.strands)


def _end(along: Sequence[Stretch | Stripe]) -> int:
    return along[-1].last if along else 0


def _largest(knitted: Outcome, task: Task) -> float:
    return largest_step(stripe_steps(knitted.stripes, task.choices))

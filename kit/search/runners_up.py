"""An order made calmer with its largest step kept: a small sum, low runners-up."""

from __future__ import annotations

import random
from collections.abc import Iterator

from kit.search.exact import STATES, by_layers
from kit.search.local_search import (
    FIRST,
    SECOND,
    Move,
    cooling,
    descend,
    draw_move,
    growth_of,
    keeps_rule,
    walk,
    with_ends,
    without_ends,
)
from kit.search.problem import SAME, Order, Problem
from kit.search.tours import cheapest

SMALL = 12  # up to here every order is looked at, in effect
TOURS = 100  # without a value rule exact up to here, by integer programming
TRIED = 1000  # otherwise tried, for each thing
HOT, COLD = 1 / 4, 1 / 80  # of the limit: how much heavier an order may be and be taken
NEAR = 30  # places that moves mostly reach over


def polish(problem: Problem, order: Order, *, limit: float) -> Order:
    """The lightest order with no step over `limit`, as `Problem.weighed` weighs steps.

    Exact where small: up to 100 things without a value rule, and with one where few may
    be open at a time. Otherwise by seeded moves.
    """
    weighed = problem.weighed(limit)
    heaviest = float(weighed.levels[-1])
    if problem.ruled or problem.n <= SMALL:
        states = STATES // problem.n // 4
        lighter, complete = by_layers(weighed, limit=heaviest, states=states)
    elif problem.n <= TOURS:
        lighter, complete = cheapest(weighed, heaviest)
    else:
        lighter, complete = None, False
    known = [order] if lighter is None else [order, lighter]
    if not complete:
        calm = min((settle(weighed, one) for one in known), key=weighed.total)
        cooled = anneal(weighed, calm, limit=limit)
        known += [calm, settle(weighed, cooled)]
    return min(known, key=lambda one: round(weighed.total(one), 9))


def anneal(problem: Problem, order: Order, *, limit: float, seed: int = 0) -> Order:
    """Stretches moved at random by `walk`; the order with the least sum met on the
    way."""
    rows, line = problem.rows, with_ends(problem, order)
    reach, n_moves = max(min(problem.window or NEAR, NEAR), 3), TRIED * problem.n
    chance, hot, length = random.Random(seed).random, HOT * (limit or 1.0), len(line)

    def draw() -> Move | None:
        cut = 1 + int(chance() * (length - 1))
        return draw_move(cut, length, reach, chance)

    steps = walk(
        line,
        draw=draw,
        growth=lambda line, move: growth_of(rows, line, move),
        heats=cooling(hot, COLD / HOT, n_moves),
        chance=chance,
        allowed=lambda line, move: keeps_rule(problem, line, move),
    )
    best, spare = line.copy(), 0.0
    for more in steps:
        spare += more  # what this order is heavier than the best
        if spare < -SAME:
            best, spare = line.copy(), 0.0
    return without_ends(problem, best)


def settle(problem: Problem, order: Order, *, sweeps: int = 6) -> Order:
    """Move and turn short stretches while that lowers the sum."""
    rows, line = problem.rows, with_ends(problem, order)
    descend(
        line,
        moves=lambda: _short_moves(len(line)),
        growth=lambda line, move: growth_of(rows, line, move),
        allowed=lambda line, move: keeps_rule(problem, line, move),
        sweeps=sweeps,
    )
    return without_ends(problem, line)


def _short_moves(length: int, *, n_longest: int = 3, far: int = 60) -> Iterator[Move]:
    for i in range(1, length - 1):
        for j in range(i + 1, min(i + 1 + far, length)):
            if j - i > 1:
                yield i, j, j, j, FIRST
            for size in range(1, n_longest + 1):
                if j + size < length:
                    yield i, j, j, j + size, 0
                if i + size < j and j - i > n_longest:
                    yield i, i + size, i + size, j, 0
                if j + size < length:
                    shorter = FIRST if j - i <= size else SECOND
                    yield i, j, j, j + size, shorter
                if i + size < j and j - i > n_longest:
                    yield (
                        i,
                        i + size,
                        i + size,
                        j,
                        FIRST if 2 * size <= j - i else SECOND,
                    )

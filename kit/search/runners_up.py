"""An order made calmer with its largest step kept: a small sum, low runners-up."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

from kit.search.exact import STATES, by_layers
from kit.search.local_search import (
    Move,
    allowed,
    carry_out,
    joints,
    random_move,
    with_ends,
    without_ends,
)
from kit.search.problem import SAME, Order, Problem
from kit.search.tours import cheapest

SMALL = 12  # up to here every order is looked at, in effect
TOURS = 100  # without a value rule exact up to here, by integer programming
MOVES = 1000  # otherwise tried, for each thing
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
        calm = min((descend(weighed, one) for one in known), key=weighed.total)
        cooled = anneal(weighed, calm, limit=limit)
        known += [calm, descend(weighed, cooled)]
    return min(known, key=lambda one: round(weighed.total(one), 9))


def anneal(problem: Problem, order: Order, *, limit: float, seed: int = 0) -> Order:
    """Stretches moved at random (simulated annealing: Kirkpatrick, Gelatt & Vecchi
    1983, Science 220:671); the order with the least sum met on the way."""
    rows, line = problem.rows, with_ends(problem, order)
    reach, n_moves = min(problem.window or NEAR, NEAR), MOVES * problem.n
    chance, heat = random.Random(seed).random, HOT * (limit or 1.0)
    cooling, best, spare = (COLD / HOT) ** (1 / n_moves), line.copy(), 0.0
    for _ in range(n_moves):
        heat *= cooling
        cut = 1 + int(chance() * (len(line) - 1))
        move = random_move(cut, len(line), max(reach, 3), chance)
        if move is None:
            continue
        saved = _saving(line, rows, move)
        if saved < 0 and (saved < -8 * heat or chance() >= math.exp(saved / heat)):
            continue
        if allowed(problem, line, move):
            carry_out(line, move)
            spare -= saved  # what this order is heavier than the best
            if spare < -SAME:
                best, spare = line.copy(), 0.0
    return without_ends(problem, best)


def descend(problem: Problem, order: Order, *, sweeps: int = 6) -> Order:
    """Move and turn short stretches while that lowers the sum."""
    rows, line = problem.rows, with_ends(problem, order)
    for _ in range(sweeps):
        before = line.copy()
        for move in _short_moves(len(line)):
            if _saving(line, rows, move) > SAME and allowed(problem, line, move):
                carry_out(line, move)
        if line == before:
            break
    return without_ends(problem, line)


def _short_moves(length: int, *, n_longest: int = 3, far: int = 60) -> Iterator[Move]:
    for i in range(1, length - 1):
        for j in range(i + 1, min(i + 1 + far, length)):
            if j - i > 1:
                yield i, j, j, True
            for size in range(1, n_longest + 1):
                for turned in (False, True):
                    if j + size < length:
                        yield i, j, j + size, turned
                    if i + size < j and j - i > n_longest:
                        yield i, i + size, j, turned


def _saving(order: list[int], rows: list[list[float]], move: Move) -> float:
    """By how much the move lowers the sum of steps."""
    old, new = joints(order, move)
    made = sum(rows[new[k]][new[k + 1]] for k in range(0, len(new), 2))
    return sum(rows[old[k]][old[k + 1]] for k in range(0, len(old), 2)) - made

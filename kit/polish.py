"""An order made calmer with its largest step held: a small sum, low runners-up."""

from __future__ import annotations

from collections.abc import Iterator

from kit.beginnings import STATES, by_layers
from kit.puzzle import SAME, Order, Puzzle
from kit.tours import cheapest
from kit.walk import Move, allowed, carry_out, joints, with_ends, without_ends

SMALL = 12  # up to here every order is looked at, in effect
TOURS = 60  # without a value rule exact up to here, by integer programming


def polish(puzzle: Puzzle, order: Order, *, limit: float) -> Order:
    """The lightest order with no step over `limit`, as `Puzzle.weighed` weighs steps.

    Exact where small: up to 60 things without a value rule, and with one where few may
    be open at a time. Otherwise by moves.
    """
    weighed = puzzle.weighed(limit)
    heaviest = float(weighed.levels[-1])
    if puzzle.ruled or puzzle.n <= SMALL:
        states = STATES // puzzle.n // 4
        lighter, complete = by_layers(weighed, limit=heaviest, states=states)
    elif puzzle.n <= TOURS:
        lighter, complete = cheapest(weighed, heaviest)
    else:
        lighter, complete = None, False
    if lighter and weighed.total(lighter) < weighed.total(order) - SAME:
        order = lighter
    return order if complete else settle(weighed, order)


def settle(puzzle: Puzzle, order: Order, *, sweeps: int = 6) -> Order:
    """Move and turn short stretches while that lowers the sum."""
    rows, line = puzzle.rows, with_ends(puzzle, order)
    for _ in range(sweeps):
        before = line.copy()
        for move in _short_moves(len(line)):
            if _saves(line, rows, move) and allowed(puzzle, line, move):
                carry_out(line, move)
        if line == before:
            break
    return without_ends(puzzle, line)


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


def _saves(order: list[int], rows: list[list[float]], move: Move) -> bool:
    """Whether the move lowers the sum of steps."""
    old, new = joints(order, move)
    made = sum(rows[new[k]][new[k + 1]] for k in range(0, len(new), 2))
    return made < sum(rows[old[k]][old[k + 1]] for k in range(0, len(old), 2)) - SAME

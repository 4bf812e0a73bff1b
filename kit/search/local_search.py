"""Orders made better by moves: one notation for a move, one seeded walk, one descent.

A move exchanges two stretches of a line, which is an order as a list. Whoever searches
says which moves to draw, by how much one makes the line worse, and which are allowed.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import repeat
from math import exp

import numpy as np

from kit.search.problem import SAME, Order, Problem

# (a, b, c, d, turned): the stretches a:b and c:d change places, what lies between them
# stays; `turned` is FIRST, SECOND, their sum for both, or 0. With an empty second
# stretch (b = c = d) the first is turned where it stands.
Move = tuple[int, int, int, int, int]
FIRST, SECOND = 1, 2
HOPELESS = 8.0  # times the heat: what is so much worse is not even left to chance

Line = list[int]
Growth = Callable[[Line, Move], float]
Allowed = Callable[[Line, Move], bool]
Twins = Sequence[int] | None  # what each thing is when it is turned; itself if None


# --- the search -----------------------------------------------------------------------


def walk(
    line: Line,
    *,
    draw: Callable[[], Move | None],
    growth: Growth,
    heats: Iterable[float],
    chance: Callable[[], float],
    allowed: Allowed = lambda line, move: True,
    hopeless: float = HOPELESS,
) -> Iterator[float]:
    """Try a move for each heat, and make it in place unless it is too much worse.

    `growth` says by how much worse; sideways is taken, and worse the more often the
    hotter it is (simulated annealing: Kirkpatrick, Gelatt & Vecchi 1983, Science
    220:671), at no heat never. `chance` draws from 0 to 1. Yields the growth with each
    move made; a growth for which `allowed` is asked is one that would be taken.
    """
    for heat in heats:
        move = draw()
        if move is None:
            continue
        more = growth(line, move)
        if more > 0 and (more > hopeless * heat or chance() >= exp(-more / heat)):
            continue
        if allowed(line, move):
            carry_out(line, move)
            yield more


def descend(
    line: Line,
    *,
    moves: Callable[[], Iterable[Move]],
    growth: Growth,
    allowed: Allowed,
    sweeps: int,
    least: float = SAME,
    twins: Twins = None,
) -> None:
    """Make every move that makes the line better by more than `least`, in place, until
    a sweep of `moves` finds none."""
    for _ in range(sweeps):
        before = line.copy()
        for move in moves():
            if growth(line, move) < -least and allowed(line, move):
                carry_out(line, move, twins)
        if line == before:
            break


def cooling(hot: float, by: float, n: int) -> Iterator[float]:
    """n heats, each the same share of the one before; the last is `by` times `hot`."""
    share = by ** (1 / n)
    for _ in range(n):
        hot *= share
        yield hot


# --- moves ----------------------------------------------------------------------------


def moved(line: Line, move: Move, twins: Twins = None) -> Line:
    """What stands from the first cut to the last after the move."""
    a, b, c, d, turned = move
    first, second = line[a:b], line[c:d]
    if turned & FIRST:
        first = _turned(first, twins)
    if turned & SECOND:
        second = _turned(second, twins)
    return second + line[b:c] + first


def _turned(stretch: Line, twins: Twins) -> Line:
    return [twins[k] for k in stretch[::-1]] if twins else stretch[::-1]


def carry_out(line: Line, move: Move, twins: Twins = None) -> None:
    """Make the move; edits the line in place."""
    line[move[0] : move[3]] = moved(line, move, twins)


def growth_of(
    rows: Sequence[Sequence[float]], line: Line, move: Move, twins: Twins = None
) -> float:
    """By how much the sum of steps grows with a move inside the line; `rows` has the
    step from each to each, the same both ways round."""
    a, b, c, d, turned = move
    before, p, q, after = line[a - 1], line[a], line[b - 1], line[d]
    one, two = (q, p) if turned & FIRST else (p, q)
    if twins and turned & FIRST:
        one, two = twins[one], twins[two]
    if c == d:
        return (rows[before][one] + rows[two][after]) - (
            rows[before][p] + rows[q][after]
        )
    r, s = line[c], line[d - 1]
    three, four = (s, r) if turned & SECOND else (r, s)
    if twins and turned & SECOND:
        three, four = twins[three], twins[four]
    if b == c:
        return (rows[before][three] + rows[four][one] + rows[two][after]) - (
            rows[before][p] + rows[q][r] + rows[s][after]
        )
    m, n = line[b], line[c - 1]
    return (rows[before][three] + rows[four][m] + rows[n][one] + rows[two][after]) - (
        rows[before][p] + rows[q][m] + rows[n][r] + rows[s][after]
    )


def draw_move(
    cut: int, length: int, reach: int, chance: Callable[[], float]
) -> Move | None:
    """Neighbouring stretches exchanged, the shorter one turned or not, or one turned on
    the spot; inside a line of this length, one of the cuts at `cut`.

    `reach`: how far apart the cuts are, mostly.
    """
    other = _place(cut, length, reach, chance)
    if chance() < 0.3:
        i, j = (cut, other) if cut < other else (other, cut)
        return (i, j, j, j, FIRST) if j - i > 1 else None
    if chance() < 0.4:
        third = _place(cut, length, reach, chance)
    else:
        beside = cut if chance() < 0.5 else other
        third = beside + (-3, -2, -1, 1, 2, 3)[int(chance() * 6)]
        third = min(length - 1, max(1, third))
    i, j, k = sorted((cut, other, third))
    if not i < j < k:
        return None
    shorter = FIRST if j - i <= k - j else SECOND
    return i, j, j, k, shorter if chance() < 0.5 else 0


def _place(cut: int, length: int, reach: int, chance: Callable[[], float]) -> int:
    """A place to cut at: anywhere, or under a value rule mostly near `cut`."""
    if reach >= length or chance() < 0.15:
        return 1 + int(chance() * (length - 1))
    away = 1 + int(chance() ** 2 * reach)
    return min(length - 1, max(1, cut + away if chance() < 0.5 else cut - away))


# --- lines of a problem ---------------------------------------------------------------


def with_ends(problem: Problem, order: Sequence[int]) -> Line:
    """The order with the stands beyond free ends, so that every move lies inside."""
    return list(order) if problem.fixed_ends else [problem.n, *order, problem.n]


def without_ends(problem: Problem, line: Line) -> Order:
    """The order without those stands."""
    return tuple(i for i in line if i < problem.n)


def keeps_rule(problem: Problem, line: Line, move: Move) -> bool:
    """Whether the value rule still holds inside the moved part."""
    if not problem.ruled:
        return True
    values, slack, darkest = problem.values, problem.slack, float("inf")
    for thing in moved(line, move):
        value = values[thing]
        if value - darkest > slack:
            return False
        darkest = min(darkest, value)
    return True


def walk_to(
    problem: Problem, start: Order, *, limit: float, rng: random.Random, moves: int
) -> Order:
    """Move stretches so that fewer steps exceed `limit`; sideways moves are taken.

    Counting the steps over the limit, not their size, leaves plateaus that a random
    walk crosses. Stops when none exceeds it or after `moves` tries.
    """
    far = (np.array(problem.rows) > limit + SAME).tolist()
    line = with_ends(problem, start)
    reach = max(problem.window, 3) if problem.ruled else len(line)
    bad = _over(line, far)

    def draw() -> Move | None:
        cut = bad[int(rng.random() * len(bad))] + 1  # a bad step lies before `cut`
        return draw_move(cut, len(line), reach, rng.random)

    steps = walk(
        line,
        draw=draw,
        growth=lambda line, move: growth_of(far, line, move),
        heats=repeat(0.0, moves if bad else 0),
        chance=rng.random,
        allowed=lambda line, move: keeps_rule(problem, line, move),
    )
    for _ in steps:
        bad = _over(line, far)
        if not bad:
            break
    return without_ends(problem, line)


def walk_down(
    problem: Problem, start: Order, *, bound: float, rng: random.Random, moves: int
) -> Order:
    """Walk at the bound; where that fails, at levels between it and the best so far."""
    best = walk_to(problem, start, limit=bound, rng=rng, moves=moves)
    if problem.largest(best) <= bound + SAME:
        return best
    best = min(best, start, key=problem.largest)
    low, high = problem.level_of(bound) + 1, problem.level_of(problem.largest(best))
    while low < high:
        middle = (low + high) // 2
        limit = float(problem.levels[middle])
        tried = walk_to(problem, best, limit=limit, rng=rng, moves=moves // 4)
        if problem.largest(tried) <= limit + SAME:
            best = tried
            high = problem.level_of(problem.largest(best))
        else:
            low = middle + 1
    return best


def _over(line: Line, far: list[list[bool]]) -> list[int]:
    return [k for k, i in enumerate(line[:-1]) if far[i][line[k + 1]]]

"""Orders walked down to a limit: stretches moved so that fewer steps exceed it."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

import numpy as np

from kit.search.problem import SAME, Order, Problem

Move = tuple[int, int, int, bool]


def walk(
    problem: Problem, start: Order, *, limit: float, rng: random.Random, moves: int
) -> Order:
    """Move stretches so that fewer steps exceed `limit`; sideways moves are taken.

    Counting the steps over the limit, not their size, leaves plateaus that a random
    walk crosses. Stops when none exceeds it or after `moves` tries.
    """
    far = (np.array(problem.rows) > limit + SAME).tolist()
    order = with_ends(problem, start)
    reach = max(problem.window, 3) if problem.ruled else len(order)
    bad = _over(order, far)
    while bad and moves > 0:
        moves -= 1
        cut = bad[int(rng.random() * len(bad))] + 1  # a bad step lies before `cut`
        move = random_move(cut, len(order), reach, rng.random)
        if move is None or _worse(order, far, move):
            continue
        if allowed(problem, order, move):
            carry_out(order, move)
            bad = _over(order, far)
    return without_ends(problem, order)


def walk_down(
    problem: Problem, start: Order, *, bound: float, rng: random.Random, moves: int
) -> Order:
    """Walk at the bound; where that fails, at levels between it and the best so far."""
    best = walk(problem, start, limit=bound, rng=rng, moves=moves)
    if problem.largest(best) <= bound + SAME:
        return best
    best = min(best, start, key=problem.largest)
    low, high = problem.level_of(bound) + 1, problem.level_of(problem.largest(best))
    while low < high:
        middle = (low + high) // 2
        limit = float(problem.levels[middle])
        tried = walk(problem, best, limit=limit, rng=rng, moves=moves // 4)
        if problem.largest(tried) <= limit + SAME:
            best = tried
            high = problem.level_of(problem.largest(best))
        else:
            low = middle + 1
    return best


def with_ends(problem: Problem, order: Sequence[int]) -> list[int]:
    """The order with the stands beyond free ends, so that every move lies inside."""
    return list(order) if problem.fixed_ends else [problem.n, *order, problem.n]


def without_ends(problem: Problem, order: Sequence[int]) -> Order:
    """The order without those stands."""
    return tuple(i for i in order if i < problem.n)


def _over(order: list[int], far: list[list[bool]]) -> list[int]:
    return [k for k, i in enumerate(order[:-1]) if far[i][order[k + 1]]]


# --- moves ----------------------------------------------------------------------------


def random_move(
    cut: int, length: int, reach: int, chance: Callable[[], float]
) -> Move | None:
    """(i, j, k, turned): swap the stretches i:j and j:k, the shorter one turned or not.

    One of the three cut places is `cut`. With an empty second stretch the first is
    turned on the spot. `reach`: how far apart the places are, mostly.
    """
    other = _place(cut, length, reach, chance)
    if chance() < 0.3:
        i, j = (cut, other) if cut < other else (other, cut)
        return (i, j, j, True) if j - i > 1 else None
    if chance() < 0.4:
        third = _place(cut, length, reach, chance)
    else:
        beside = cut if chance() < 0.5 else other
        third = beside + (-3, -2, -1, 1, 2, 3)[int(chance() * 6)]
        third = min(length - 1, max(1, third))
    i, j, k = sorted((cut, other, third))
    return (i, j, k, chance() < 0.5) if i < j < k else None


def _place(cut: int, length: int, reach: int, chance: Callable[[], float]) -> int:
    """A place to cut at: anywhere, or under a value rule mostly near `cut`."""
    if reach >= length or chance() < 0.15:
        return 1 + int(chance() * (length - 1))
    away = 1 + int(chance() ** 2 * reach)
    return min(length - 1, max(1, cut + away if chance() < 0.5 else cut - away))


def _moved(order: list[int], move: Move) -> list[int]:
    """What stands at i:k after the move."""
    i, j, k, turned = move
    first, second = order[i:j], order[j:k]
    if turned and len(first) <= len(second) or not second:
        first = first[::-1]
    elif turned:
        second = second[::-1]
    return second + first


def joints(order: list[int], move: Move) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The neighbours that a move parts and those it brings together, each flat."""
    i, j, k, turned = move
    a, b, y, z = order[i - 1], order[i], order[k - 1], order[k]
    if j == k:
        return (a, b, y, z), (a, y, b, z)
    p, q = order[j - 1], order[j]
    if not turned:
        return (a, b, p, q, y, z), (a, q, y, b, p, z)
    if j - i <= k - j:
        return (a, b, p, q, y, z), (a, q, y, p, b, z)
    return (a, b, p, q, y, z), (a, y, q, b, p, z)


def _worse(order: list[int], far: list[list[bool]], move: Move) -> bool:
    """Whether the move makes more steps that are too far."""
    old, new = joints(order, move)
    if len(old) == 4:
        return far[new[0]][new[1]] + far[new[2]][new[3]] > (
            far[old[0]][old[1]] + far[old[2]][old[3]]
        )
    return far[new[0]][new[1]] + far[new[2]][new[3]] + far[new[4]][new[5]] > (
        far[old[0]][old[1]] + far[old[2]][old[3]] + far[old[4]][old[5]]
    )


def allowed(problem: Problem, order: list[int], move: Move) -> bool:
    """Whether the value rule still holds inside the moved part."""
    if not problem.ruled:
        return True
    values, slack, darkest = problem.values, problem.slack, float("inf")
    for thing in _moved(order, move):
        value = values[thing]
        if value - darkest > slack:
            return False
        darkest = min(darkest, value)
    return True


def carry_out(order: list[int], move: Move) -> None:
    """Make the move; edits the order in place."""
    order[move[0] : move[2]] = _moved(order, move)

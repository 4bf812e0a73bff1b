"""Orders of n things between which every step is as small as possible.

Numbers only. A `Puzzle` says what an order costs and which orders are allowed; the
functions find good orders and prove how good any order can be. Things are numbered from
light to dark, so the order 0, 1, 2, … is always allowed.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

Order = tuple[int, ...]
SAME = 1e-9  # costs closer than this count as equal
SMALL = 12  # up to here every puzzle is solved exactly
STATES = 500_000  # partial orders the exact search may keep, in all its layers
MOVES = 300  # tries of the walk for each thing


@dataclass(frozen=True)
class Puzzle:
    """What to put in order.

    `cost` (n, n) symmetric steps in dE00; `values` (n,) L*, falling; `slack`: i must
    come before j where values[i] - values[j] exceeds it (inf for no rule);
    `fixed_ends`: the order starts with 0 and ends with n - 1.
    """

    cost: np.ndarray
    values: tuple[float, ...]
    slack: float
    fixed_ends: bool

    @property
    def n(self) -> int:
        return len(self.values)

    @cached_property
    def rows(self) -> list[list[float]]:
        """The costs as lists, with a free row for the stands beyond free ends."""
        padded = np.zeros((self.n + 1, self.n + 1))
        padded[: self.n, : self.n] = self.cost
        return padded.tolist()

    @cached_property
    def before(self) -> np.ndarray:
        """(n, n) bool: i must come before j, by the value rule."""
        V = np.array(self.values)
        return V[:, None] - V[None, :] > self.slack

    @cached_property
    def may_follow(self) -> np.ndarray:
        """(n, n) bool: j may come directly after i in some allowed order."""
        before = self.before
        # Somebody must stand between i and j: darker than i by more than the slack and
        # lighter than j by more than it. Both are whole stretches of the things.
        n_above = before.sum(axis=0)[None, :]
        n_upto = (~before).sum(axis=1)[:, None]
        allowed = ~before.T & ~(n_upto < n_above)
        np.fill_diagonal(allowed, False)
        if self.fixed_ends and self.n > 1:
            allowed[:, 0] = allowed[self.n - 1, :] = False
            allowed[0, self.n - 1] = self.n == 2
        return allowed

    def largest(self, order: Sequence[int]) -> float:
        pairs = zip(order, order[1:], strict=False)
        return max((self.rows[i][j] for i, j in pairs), default=0.0)

    def total(self, order: Sequence[int]) -> float:
        return sum(self.rows[i][j] for i, j in zip(order, order[1:], strict=False))

    def keeps_rule(self, order: Sequence[int]) -> bool:
        """Whether an order is allowed: value rule and ends."""
        darkest, ends = np.inf, (0, self.n - 1)
        for i in order:
            if self.values[i] - darkest > self.slack:
                return False
            darkest = min(darkest, self.values[i])
        return not self.fixed_ends or not order or (order[0], order[-1]) == ends


@dataclass(frozen=True, slots=True)
class Found:
    """An order with its largest step, and the least largest step that any could have.

    `bound` is proved from below; `why` says by what ("groups", "neighbours", "link",
    "search", "nothing"), `parts` the indices it speaks of.
    """

    order: Order
    largest: float
    bound: float
    why: str
    parts: tuple[tuple[int, ...], ...]

    @property
    def proved(self) -> bool:
        return self.largest <= self.bound + 1e-6


def least_largest(puzzle: Puzzle, *, seed: int = 0, quick: bool = False) -> Found:
    """The order whose largest step is smallest, then the sum of steps.

    Bound from the graph of steps; a seeded walk down to it; where a gap stays, the
    exact search layer by layer as far as its memory goes. `quick` leaves out all but
    the bound and a short walk. Budgets are in moves and states, never in seconds.
    """
    if puzzle.n <= 2:
        order = tuple(range(puzzle.n))
        return Found(order, puzzle.largest(order), puzzle.largest(order), "nothing", ())
    bound, why, parts = lower_bound(puzzle)
    moves = MOVES * puzzle.n // (10 if quick else 1)
    order = _walk_down(puzzle, bound, random.Random(seed), moves)
    largest = puzzle.largest(order)
    if quick:
        order = _settle(puzzle, order, largest + SAME, sweeps=1)
        return Found(order, puzzle.largest(order), bound, why, parts)
    if largest > bound + SAME:
        better, complete = by_layers(puzzle, worst=largest, states=_states(puzzle))
        if better and puzzle.largest(better) < largest - SAME:
            order, largest = better, puzzle.largest(better)
        if complete:
            bound, why, parts = largest, "search", ()
    order = least_total(puzzle, order, limit=largest)
    return Found(order, puzzle.largest(order), bound, why, parts)


def keeps_value_rule(values: Iterable[float], slack: float) -> bool:
    """Whether L* along an order never rises by more than `slack` over one before it.

    >>> keeps_value_rule([90, 70, 75, 60], 5), keeps_value_rule([90, 70, 76, 60], 5)
    (True, False)
    """
    darkest = math.inf
    for value in values:
        if value - darkest > slack:
            return False
        darkest = min(darkest, value)
    return True


# --- bounds ---------------------------------------------------------------------------


def lower_bound(puzzle: Puzzle) -> tuple[float, str, tuple[tuple[int, ...], ...]]:
    """A largest step that no order can beat, why, and of which things it speaks.

    The smallest cost at which the graph of steps up to it hangs together, gives every
    thing enough neighbours, and has no thing that alone links three parts.
    """
    cost = np.where(puzzle.may_follow, puzzle.cost, np.inf)
    either = np.minimum(cost, cost.T)
    levels = np.unique(either[np.isfinite(either)])
    low, high = 0, len(levels) - 1
    while low < high:
        middle = (low + high) // 2
        if _obstacle(puzzle, cost, levels[middle]) is None:
            high = middle
        else:
            low = middle + 1
    if low == 0:
        return float(levels[0]), "nothing", ()
    why, parts = _obstacle(puzzle, cost, levels[low - 1]) or ("nothing", ())
    return float(levels[low]), why, parts


def _obstacle(
    puzzle: Puzzle, cost: np.ndarray, level: float
) -> tuple[str, tuple[tuple[int, ...], ...]] | None:
    """What stands in the way of an order with all steps up to `level`, if anything."""
    steps = cost <= level + SAME
    links = steps | steps.T
    groups = _groups(links)
    if len(groups) > 1:
        first = min(groups, key=lambda group: (len(group), group))
        rest = tuple(i for i in range(puzzle.n) if i not in first)
        return "groups", (first, rest)
    return _too_few(puzzle, steps, links) or _cut_links(puzzle, links)


def _too_few(
    puzzle: Puzzle, steps: np.ndarray, links: np.ndarray
) -> tuple[str, tuple[tuple[int, ...], ...]] | None:
    """Inner things need one neighbour before and another after; free ends but one."""
    inner = range(1, puzzle.n - 1) if puzzle.fixed_ends else range(puzzle.n)
    into, out, near = steps.sum(axis=0), steps.sum(axis=1), links.sum(axis=1)
    poor = [i for i in inner if near[i] < 2 or into[i] < 1 or out[i] < 1]
    spare = 0 if puzzle.fixed_ends else 2
    return ("neighbours", ((poor[0],),)) if len(poor) > spare else None


def _cut_links(
    puzzle: Puzzle, links: np.ndarray
) -> tuple[str, tuple[tuple[int, ...], ...]] | None:
    """A thing that alone links three parts, or two that both lie on its one side."""
    ends = {0, puzzle.n - 1} if puzzle.fixed_ends else set()
    for i in _cut_points(links):
        others = np.delete(np.arange(puzzle.n), i)
        parts = _groups(links[np.ix_(others, others)])
        named = tuple(tuple(int(others[k]) for k in part) for part in parts)
        without_end = [part for part in named if not ends & set(part)]
        if len(named) > 2 or (ends and (without_end or i in ends)):
            return "link", ((i,), *named)
    return None


def _groups(links: np.ndarray) -> list[tuple[int, ...]]:
    """Connected parts of a graph (n, n) bool, each sorted, in order of first member."""
    left = set(range(len(links)))
    neighbours = [np.flatnonzero(row).tolist() for row in links]
    groups = []
    while left:
        part, queue = set(), [min(left)]
        while queue:
            i = queue.pop()
            if i not in part:
                part.add(i)
                queue += [j for j in neighbours[i] if j not in part]
        left -= part
        groups.append(tuple(sorted(part)))
    return groups


def _cut_points(links: np.ndarray) -> list[int]:
    """Things whose removal splits a graph (Tarjan 1972, SIAM J. Comput. 1:146-160)."""
    neighbours = [np.flatnonzero(row).tolist() for row in links]
    seen, low, cuts = {0: 0}, {0: 0}, set()
    stack, root_children = [(0, -1, iter(neighbours[0]))], 0
    while stack:
        i, parent, rest = stack[-1]
        j = next(rest, None)
        if j is None:
            stack.pop()
            if parent >= 0:
                low[parent] = min(low[parent], low[i])
                root_children += parent == 0
                if parent != 0 and low[i] >= seen[parent]:
                    cuts.add(parent)
        elif j not in seen:
            seen[j] = low[j] = len(seen)
            stack.append((j, i, iter(neighbours[j])))
        elif j != parent:
            low[i] = min(low[i], seen[j])
    return sorted(cuts | ({0} if root_children > 1 else set()))


# --- the walk -------------------------------------------------------------------------


def _walk_down(puzzle: Puzzle, bound: float, rng: random.Random, moves: int) -> Order:
    """Walk at the bound; where that fails, at levels between it and the best so far."""
    start = tuple(range(puzzle.n))
    best = walk(puzzle, start, limit=bound, rng=rng, moves=moves)
    if puzzle.largest(best) <= bound + SAME:
        return best
    levels = np.unique(puzzle.cost[puzzle.cost > bound + SAME])
    best = min(best, start, key=puzzle.largest)
    low, high = 0, int(np.searchsorted(levels, puzzle.largest(best) - SAME))
    while low < high:
        middle = (low + high) // 2
        tried = walk(puzzle, best, limit=levels[middle], rng=rng, moves=moves // 4)
        if puzzle.largest(tried) <= levels[middle] + SAME:
            best = tried
            high = int(np.searchsorted(levels, puzzle.largest(best) - SAME))
        else:
            low = middle + 1
    return best


def walk(
    puzzle: Puzzle, start: Order, *, limit: float, rng: random.Random, moves: int
) -> Order:
    """Move stretches so that fewer steps exceed `limit`; sideways moves are taken.

    Counting the steps over the limit, not their size, leaves plateaus that a random
    walk crosses. Stops when none exceeds it or after `moves` tries.
    """
    far = (np.array(puzzle.rows) > limit + SAME).tolist()
    order = _with_ends(puzzle, start)
    bad = _over(order, far)
    while bad and moves > 0:
        moves -= 1
        cut = bad[int(rng.random() * len(bad))] + 1  # a bad step lies before `cut`
        move = _random_move(cut, len(order), rng.random)
        if move is None or _worse(order, far, *move):
            continue
        if _allowed(puzzle, order, *move):
            _carry_out(order, *move)
            bad = _over(order, far)
    return _without_ends(puzzle, order)


def _with_ends(puzzle: Puzzle, order: Sequence[int]) -> list[int]:
    return list(order) if puzzle.fixed_ends else [puzzle.n, *order, puzzle.n]


def _without_ends(puzzle: Puzzle, order: Sequence[int]) -> Order:
    return tuple(i for i in order if i < puzzle.n)


def _over(order: list[int], far: list[list[bool]]) -> list[int]:
    return [k for k, i in enumerate(order[:-1]) if far[i][order[k + 1]]]


def _random_move(
    cut: int, length: int, chance: Callable[[], float]
) -> tuple[int, int, int, bool] | None:
    """(i, j, k, turned): swap the stretches i:j and j:k, the shorter one turned or not.

    One of the three cut places is `cut`. With an empty second stretch the first is
    turned on the spot.
    """
    other = 1 + int(chance() * (length - 1))
    if chance() < 0.3:
        i, j = (cut, other) if cut < other else (other, cut)
        return (i, j, j, True) if j - i > 1 else None
    if chance() < 0.3:
        third = 1 + int(chance() * (length - 1))
    else:
        near = cut + (-3, -2, -1, 1, 2, 3)[int(chance() * 6)]
        third = min(length - 1, max(1, near))
    i, j, k = sorted((cut, other, third))
    return (i, j, k, chance() < 0.5) if i < j < k else None


def _moved(order: list[int], i: int, j: int, k: int, turned: bool) -> list[int]:
    """What stands at i:k after the move."""
    first, second = order[i:j], order[j:k]
    if turned and len(first) <= len(second) or not second:
        first = first[::-1]
    elif turned:
        second = second[::-1]
    return second + first


def _joints(order: list[int], *move: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
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


def _worse(order: list[int], far: list[list[bool]], *move: int) -> bool:
    """Whether the move makes more steps that are too far."""
    old, new = _joints(order, *move)
    if len(old) == 4:
        return far[new[0]][new[1]] + far[new[2]][new[3]] > (
            far[old[0]][old[1]] + far[old[2]][old[3]]
        )
    return far[new[0]][new[1]] + far[new[2]][new[3]] + far[new[4]][new[5]] > (
        far[old[0]][old[1]] + far[old[2]][old[3]] + far[old[4]][old[5]]
    )


def _allowed(puzzle: Puzzle, order: list[int], *move: int) -> bool:
    """Whether the value rule still holds inside the moved part."""
    if puzzle.slack == np.inf:
        return True
    values, darkest = puzzle.values, np.inf
    for thing in _moved(order, *move):  # type: ignore[arg-type]
        value = values[thing]
        if value - darkest > puzzle.slack:
            return False
        darkest = min(darkest, value)
    return True


def _carry_out(order: list[int], *move: int) -> None:
    order[move[0] : move[2]] = _moved(order, *move)  # type: ignore[arg-type]


# --- exact search ---------------------------------------------------------------------


def by_layers(
    puzzle: Puzzle,
    *,
    worst: float = np.inf,
    limit: float | None = None,
    states: int = STATES,
) -> tuple[Order | None, bool]:
    """All partial orders side by side, one thing longer in each layer.

    The value rule leaves only a window of things to choose from, so partial orders with
    the same things placed and the same last one are one state (Held & Karp 1962,
    J. SIAM 10:196). Without `limit` the largest step is made smallest, looking only
    below `worst`; with it the sum is, among orders with no step over it. Returns the
    order (None if there is none) and whether the search was complete; when more than
    `states` are alive in a layer the best are kept and it no longer is.
    """
    reach = (~puzzle.before).sum(axis=1) - 1  # last in window
    if int((reach - np.arange(puzzle.n)).max()) > 50:
        return None, False
    n, ends = puzzle.n, puzzle.fixed_ends
    starts = np.arange(1) if ends else np.arange(reach[0] + 1)
    layer = _first_layer(starts)
    history, complete = [layer], True
    for placed in range(1, n):
        closing = placed == n - 1
        layer = _next_layer(puzzle, layer, reach, worst, limit, closing)
        if len(layer[0]) > states:
            best = np.lexsort((layer[2], layer[1], layer[0], layer[3]))[:states]
            layer = tuple(part[np.sort(best)] for part in layer)  # type: ignore
            complete = False
        if not len(layer[0]):
            return None, complete
        history.append(layer)
    return _trace(history), complete


# A layer: first unplaced, bits of the placed ones after it, last, score, parent.
Layer = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def _first_layer(starts: np.ndarray) -> Layer:
    first = np.where(starts == 0, 1, 0)
    bits = np.where(starts == 0, 0, 1 << np.maximum(starts - 1, 0)).astype(np.int64)
    return first, bits, starts, np.zeros(len(starts)), np.full(len(starts), -1)


def _next_layer(
    puzzle: Puzzle,
    layer: Layer,
    reach: np.ndarray,
    worst: float,
    limit: float | None,
    closing: bool,
) -> Layer:
    first, bits, last, score, _ = layer
    grown = []
    for ahead in range(int((reach[first] - first).max()) + 1):
        free = (
            np.ones(len(first), bool) if ahead == 0 else (bits >> (ahead - 1)) & 1 == 0
        )
        free &= first + ahead <= reach[first]
        if puzzle.fixed_ends and not closing:
            free &= first + ahead < puzzle.n - 1
        parent = np.flatnonzero(free)
        thing = first[parent] + ahead
        step = puzzle.cost[last[parent], thing]
        if limit is None:
            new_score = np.maximum(score[parent], step)
            fits = new_score < worst - SAME
        else:
            new_score, fits = score[parent] + step, step <= limit + SAME
        parent, thing, new_score = parent[fits], thing[fits], new_score[fits]
        if ahead == 0:
            state = _skip_placed(first[parent] + 1, bits[parent])
        else:
            state = first[parent], bits[parent] | (1 << (ahead - 1))
        grown.append((*state, thing, new_score, parent))
    joined = tuple(np.concatenate(parts) for parts in zip(*grown, strict=True))
    return _best_of_each(joined, puzzle.n)  # type: ignore[arg-type]


def _skip_placed(first: np.ndarray, bits: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Move on to the next thing that is not placed; `bits` are of `first` and after."""
    first, bits = first.copy(), bits.copy()
    while (placed := bits & 1 == 1).any():
        first[placed] += 1
        bits[placed] >>= 1
    return first, bits >> 1


def _best_of_each(layer: Layer, n: int) -> Layer:
    first, bits, last, score, parent = layer
    key = bits * n + last  # `first` follows from how many bits are set
    order = np.lexsort((parent, score, key))
    key = key[order]
    lead = order[np.concatenate(([True], key[1:] != key[:-1]))] if len(key) else order
    return first[lead], bits[lead], last[lead], score[lead], parent[lead]


def _trace(history: list[Layer]) -> Order:
    at = int(np.argmin(history[-1][3]))
    order = []
    for layer in reversed(history):
        order.append(int(layer[2][at]))
        at = int(layer[4][at])
    return tuple(reversed(order))


def _states(puzzle: Puzzle) -> int:
    return STATES // puzzle.n


# --- after the largest step, the sum --------------------------------------------------


def least_total(puzzle: Puzzle, order: Order, *, limit: float) -> Order:
    """A smaller sum with no step over `limit`: exact where small, else by moves."""
    if puzzle.n <= SMALL or puzzle.slack < np.inf:
        states = _states(puzzle) // 4
        better, complete = by_layers(puzzle, limit=limit, states=states)
        if better and complete:
            return better
        if better and puzzle.total(better) < puzzle.total(order) - SAME:
            order = better
    return _settle(puzzle, order, limit + SAME)


def _settle(puzzle: Puzzle, order: Order, limit: float, *, sweeps: int = 6) -> Order:
    """Move and turn short stretches while that lowers the sum."""
    rows, line = puzzle.rows, _with_ends(puzzle, order)
    for _ in range(sweeps):
        before = line.copy()
        for move in _short_moves(len(line)):
            if _saves(line, rows, limit, *move) and _allowed(puzzle, line, *move):
                _carry_out(line, *move)
        if line == before:
            break
    return _without_ends(puzzle, line)


def _short_moves(length: int, *, n_longest: int = 3, far: int = 60):
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


def _saves(order: list[int], rows: list[list[float]], limit: float, *move: int) -> bool:
    """Whether the move lowers the sum of steps with none over the limit."""
    old, new = _joints(order, *move)
    made = [rows[new[k]][new[k + 1]] for k in range(0, len(new), 2)]
    parted = sum(rows[old[k]][old[k + 1]] for k in range(0, len(old), 2))
    return max(made) <= limit and sum(made) < parted - SAME

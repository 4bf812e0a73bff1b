"""The rest of a run arranged anew round the yarns that are locked to their places.

Locked yarns keep their places and pairs stay neighbours; everything else goes by value,
by family, or so that the steps are as small as a search by moves finds them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from math import inf

import numpy as np

from kit.arrangement.orders import Arrangement, arrange, step_costs, value_of
from kit.blanket import Yarn
from kit.blanket.choices import Arranging
from kit.search import keeps_value_rule
from kit.search.local_search import (
    FIRST,
    SECOND,
    Line,
    Move,
    carry_out,
    descend,
    growth_of,
)

POWER = 4  # of a step in the sum, so that a large one outweighs many small (ours)
SWEEPS = 12
FAR = 30  # blocks that one is moved past in one go, or turned together, at most
LONGEST = 3  # blocks that are moved or exchanged together
LEAST_GAIN = 1e-6  # in such a sum

Pair = tuple[str, str]
Block = tuple[str, ...]  # yarns that move as one


def arrange_rest(
    yarns: Sequence[Yarn],
    arranging: Arranging,
    *,
    locked: Collection[str] = (),
    pairs: Collection[Pair] = (),
    view: float,
) -> tuple[Yarn, ...]:
    """The yarns of a run, in their present order, arranged anew as `arranging.by` says.

    `locked` are names that keep their places; each of `pairs` stands together in the
    present order and in the new one, lighter end first. Smoothest: the sum of the
    fourth powers of the steps is made small by moves from several starts, then the
    start with the least largest step wins. The value rule holds where the locked yarns
    and the pairs let it. The same yarns and locks give the same order.
    """
    names = {yarn.name: yarn for yarn in yarns}
    computed = arrange(yarns, replace(arranging, order=()), view=view, quick=True)
    if not (locked or pairs or arranging.by == "smoothest"):
        return computed.yarns

    def placed(wished: Sequence[Yarn]) -> tuple[str, ...]:
        order = _paired([yarn.name for yarn in wished], pairs, names)
        return around_locked(order, list(names), locked, pairs)

    if arranging.by != "smoothest":
        return tuple(names[name] for name in placed(computed.yarns))
    search = _Search(yarns, locked, pairs, arranging, view)
    by_value = arrange(yarns, Arranging(by="value"), view=view).yarns
    starts = [placed(wished) for wished in (computed.yarns, by_value, yarns)]
    order = min((search.settled(start) for start in starts), key=search.judged)
    return tuple(names[name] for name in order)


def keep_pairs(
    arrangement: Arrangement, arranging: Arranging, *, view: float
) -> Arrangement:
    """A computed arrangement in which the pairs of `arranging.locked` are neighbours.

    Whichever comes later moves beside the other, the lighter one first; nothing else
    changes.
    """
    names = {yarn.name: yarn for yarn in arrangement.yarns}
    pairs = [
        pair
        for pair in arranging.locked
        if not isinstance(pair, str) and set(pair) <= names.keys()
    ]
    order = _paired(list(names), pairs, names)
    if order == list(names):
        return arrangement
    yarns, best = tuple(names[name] for name in order), arrangement.best
    if best:
        largest = max(_steps(yarns, view), default=0.0)
        best = replace(best, reached=largest <= best.largest + 1e-6)
    return replace(arrangement, yarns=yarns, best=best)


def _steps(yarns: Sequence[Yarn], view: float) -> list[float]:
    return np.diagonal(step_costs(yarns, view=view), 1).tolist()


def _paired(
    order: Sequence[str], pairs: Collection[Pair], names: dict[str, Yarn]
) -> list[str]:
    """An order in which every pair stands together, where one of it stands first.

    Yarns kept together in a row run from their lighter end.
    """
    groups = _chains(order, pairs)
    placed: dict[str, None] = {}
    for name in order:
        chain = groups.get(name, (name,))
        if value_of(names[chain[0]]) < value_of(names[chain[-1]]):
            chain = chain[::-1]
        placed |= dict.fromkeys(chain)
    return list(placed)


def _chains(order: Sequence[str], pairs: Collection[Pair]) -> dict[str, Block]:
    """For each yarn of a pair, all that hang together with it, end to end.

    A pair that would give a yarn a third neighbour, or close a ring, is passed over.
    """
    chain_of: dict[str, Block] = {}
    for one, two in pairs:
        first, second = chain_of.get(one, (one,)), chain_of.get(two, (two,))
        ends = one in (first[0], first[-1]) and two in (second[0], second[-1])
        if first == second or not ends or not {one, two} <= set(order):
            continue
        first = first if first[-1] == one else first[::-1]
        second = second if second[0] == two else second[::-1]
        chain_of |= dict.fromkeys((*first, *second), (*first, *second))
    return chain_of


class _Search:
    """Moves of blocks that make the steps of a run smaller. Yarns are numbered, and so
    are blocks: from 0 up as they stand in `blocks`, each twice, turned and not."""

    def __init__(
        self,
        yarns: Sequence[Yarn],
        locked: Collection[str],
        pairs: Collection[Pair],
        arranging: Arranging,
        view: float,
    ) -> None:
        self.names = [yarn.name for yarn in yarns]
        self.slack = arranging.value_slack
        n = len(yarns)
        steps = np.zeros((n + 1, n + 1))  # the last: beyond either end
        steps[:n, :n] = step_costs(yarns, view=view)
        self.steps, self.values = steps, [value_of(yarn) for yarn in yarns]
        at = {name: i for i, name in enumerate(self.names)}
        named = blocks(self.names, pairs)
        self.locked = {
            at[name]
            for block in named
            if not set(locked).isdisjoint(block)
            for name in block
        }
        ways = [tuple(at[name] for name in block) for block in named]
        self.blocks = [*ways, *(block[::-1] for block in ways), (n,)]
        m = len(ways)
        self.twins = [*range(m, 2 * m), *range(m), 2 * m]
        heads, tails = ([block[side] for block in self.blocks] for side in (0, -1))
        self.costs: list[list[float]] = (steps[np.ix_(tails, heads)] ** POWER).tolist()
        self.ends = self._ends() if arranging.ends == "fixed" else (None, None)

    def _ends(self) -> tuple[float | None, float | None]:
        """The values that stand first and last, where nothing is locked there."""
        free = [v for i, v in enumerate(self.values) if i not in self.locked] or [0.0]
        first = None if 0 in self.locked else max(free)
        return first, None if len(self.names) - 1 in self.locked else min(free)

    def judged(
        self, order: Sequence[str]
    ) -> tuple[bool, float, float, tuple[str, ...]]:
        """What makes an order the better one: value rule, largest step, their sum."""
        run = [self.names.index(name) for name in order]
        steps = self.steps[run[:-1], run[1:]]
        largest, total = float(steps.max(initial=0)), float(steps.sum())
        return not self._keeps(run), round(largest, 6), round(total, 6), (*order,)

    def settled(self, start: Sequence[str]) -> tuple[str, ...]:
        """The order moved about until no move makes it better."""
        line = self._line(start)
        keeps, free = self._keeps(self._run(line)), self._free(line)

        def moves() -> Iterator[Move]:
            return (move for move in _moves(len(line)) if self._fits(line, free, move))

        def allowed(line: Line, move: Move) -> bool:
            nonlocal keeps
            tried = line.copy()
            carry_out(tried, move, self.twins)
            kept = self._keeps(self._run(tried))
            if keeps and not kept:
                return False
            keeps, free[:] = kept, self._free(tried)
            return True

        descend(
            line,
            moves=moves,
            growth=lambda line, move: growth_of(self.costs, line, move, self.twins),
            allowed=allowed,
            sweeps=SWEEPS,
            least=LEAST_GAIN,
            twins=self.twins,
        )
        return tuple(self.names[i] for i in self._run(line))

    def _line(self, order: Sequence[str]) -> Line:
        """An order as blocks by number, with the stand beyond at either end."""
        number = {block: k for k, block in enumerate(self.blocks)}
        end, line, block = len(self.blocks) - 1, [], []
        for name in order:
            block.append(self.names.index(name))
            if tuple(block) in number:
                line.append(number[tuple(block)])
                block = []
        return [end, *line, end]

    def _run(self, line: Line) -> list[int]:
        return [i for k in line[1:-1] for i in self.blocks[k]]

    def _free(self, line: Line) -> list[int]:
        """For each block up to where the blocks from it on are free; 0: it is not."""
        upto, end = [0] * len(line), len(line) - 1
        for k in range(len(line) - 2, 0, -1):
            if self.blocks[line[k]][0] in self.locked:
                end = k
            else:
                upto[k] = end
        return upto

    def _fits(self, line: Line, free: list[int], move: Move) -> bool:
        """Whether a move touches no locked yarn and shifts none: within one free
        stretch, or for equally many yarns."""
        a, b, c, d, _ = move
        if free[a] < b or (c < d and free[c] < d):
            return False
        return free[a] >= d or self._n(line[a:b]) == self._n(line[c:d])

    def _n(self, stretch: Line) -> int:
        return sum(len(self.blocks[k]) for k in stretch)

    def _keeps(self, run: Sequence[int]) -> bool:
        """Whether ends and value rule are kept among the yarns that may move."""
        values = [self.values[i] for i in run if i not in self.locked]
        first, last = self.ends
        if values and first is not None and values[0] != first:
            return False
        if values and last is not None and values[-1] != last:
            return False
        return self.slack == inf or keeps_value_rule(values, self.slack)


def _moves(length: int) -> Iterator[Move]:
    """Moves in a line with an end on either side: stretches turned, moved past others,
    and exchanged."""
    last = length - 1
    for a in range(1, last):
        for b in range(a + 1, min(a + FAR, last) + 1):
            yield a, b, b, b, FIRST
            farthest = b + (FAR if b - a <= LONGEST else LONGEST)
            for d in range(b + 1, min(farthest, last) + 1):
                yield a, b, b, d, 0
                yield a, b, b, d, FIRST + SECOND
        for c in range(a + 2, last):
            yield a, a + 1, c, c + 1, 0
            yield a, a + 1, c, c + 1, FIRST + SECOND
            if c + 2 <= last:
                yield a, a + 1, c, c + 2, 0  # a pair for two yarns
            yield a, a + 2, c, c + 1, 0
            if c + 2 <= last:
                yield a, a + 2, c, c + 2, 0


# --- who stands where -----------------------------------------------------------------


def blocks(order: Sequence[str], pairs: Collection[Pair]) -> list[Block]:
    """An order as yarns that move as one: each alone, or with those kept beside it.

    >>> blocks("abcde", [("b", "c"), ("c", "d")])
    [('a',), ('b', 'c', 'd'), ('e',)]
    """
    tied = {frozenset(pair) for pair in pairs}
    made: list[list[str]] = []
    for name in order:
        if made and frozenset((made[-1][-1], name)) in tied:
            made[-1].append(name)
        else:
            made.append([name])
    return [tuple(block) for block in made]


def around_locked(
    wished: Sequence[str],
    order: Sequence[str],
    locked: Collection[str],
    pairs: Collection[Pair] = (),
) -> tuple[str, ...]:
    """The wished order as nearly as the locked yarns allow, which keep their places.

    `order` is the present one: there every pair stands together, so the places can be
    filled. The same names are in both.

    >>> around_locked("bcdae", "abcde", "c")
    ('b', 'd', 'c', 'a', 'e')
    """
    locked_blocks = [b for b in blocks(order, pairs) if not set(locked).isdisjoint(b)]
    fixed = {order.index(block[0]): block for block in locked_blocks}
    still = {name for block in locked_blocks for name in block}
    free = blocks([name for name in wished if name not in still], pairs)
    return seat(free, fixed, len(order))


def seat(free: Sequence[Block], fixed: dict[int, Block], n: int) -> tuple[str, ...]:
    """Blocks in turn into the places that `fixed` ({place: block}) leaves among n.

    Where the next block is too long for a stretch, the first that fits goes before it.
    """
    waiting, seats = list(free), list(_stretches(fixed, n))
    order: list[str] = []
    for k, (room, block) in enumerate(seats):
        later = tuple(length for length, _ in seats[k + 1 :])
        while room:
            chosen = _first_that_fill(waiting, room, later)
            room -= len(chosen)
            order += chosen
            waiting.remove(chosen)
        order += block
    return tuple(order)


def _first_that_fill(
    waiting: Sequence[Block], room: int, later: tuple[int, ...]
) -> Block:
    """The first block with which all the others still find room."""
    for i, one in enumerate(waiting):
        rest = _sizes(waiting, without=i)
        if len(one) <= room and _fill((room - len(one), *later), rest):
            return one
    raise ValueError("these blocks do not fill these places")


def _stretches(fixed: dict[int, Block], n: int) -> Iterator[tuple[int, Block]]:
    """How many places are free before each fixed block, and before the end."""
    at = 0
    for place in sorted(fixed):
        yield place - at, fixed[place]
        at = place + len(fixed[place])
    yield n - at, ()


def _sizes(waiting: Sequence[Block], *, without: int) -> tuple[tuple[int, int], ...]:
    """How many blocks there are of each length, longest first."""
    lengths = [len(block) for i, block in enumerate(waiting) if i != without]
    return tuple((n, lengths.count(n)) for n in sorted(set(lengths), reverse=True))


@lru_cache(maxsize=100_000)
def _fill(rooms: tuple[int, ...], sizes: tuple[tuple[int, int], ...]) -> bool:
    """Whether blocks of these lengths fill rooms of these lengths exactly."""
    if not sizes:
        return not any(rooms)
    (size, count), *more = sizes
    if size == 1:  # single yarns fill whatever is left
        return sum(rooms) == count
    if count == 0:
        return _fill(rooms, tuple(more))
    rooms = tuple(sorted(rooms, reverse=True))
    left = ((size, count - 1), *more)
    return any(
        _fill((*rooms[:k], room - size, *rooms[k + 1 :]), left)
        for k, room in enumerate(rooms)
        if room >= size and room not in rooms[:k]
    )

"""Who stands where: yarns that move as one, and the places round what is locked.

Names only.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from functools import lru_cache

Pair = tuple[str, str]
Block = tuple[str, ...]  # yarns that move as one


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
    filled. Both hold the same names.

    >>> around_locked("bcdae", "abcde", "c")
    ('b', 'd', 'c', 'a', 'e')
    """
    held = [b for b in blocks(order, pairs) if not set(locked).isdisjoint(b)]
    fixed = {order.index(block[0]): block for block in held}
    still = {name for block in held for name in block}
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
            chosen = _first_that_fits(waiting, room, later)
            room -= len(chosen)
            order += chosen
            waiting.remove(chosen)
        order += block
    return tuple(order)


def _first_that_fits(
    waiting: Sequence[Block], room: int, later: tuple[int, ...]
) -> Block:
    """The first block with which all the others still find room."""
    for i, one in enumerate(waiting):
        rest = _sizes(waiting, without=i)
        if len(one) <= room and _fits((room - len(one), *later), rest):
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
def _fits(rooms: tuple[int, ...], sizes: tuple[tuple[int, int], ...]) -> bool:
    """Whether blocks of these lengths fill rooms of these lengths exactly."""
    if not sizes:
        return not any(rooms)
    (size, count), *more = sizes
    if size == 1:  # single yarns fill whatever is left
        return sum(rooms) == count
    if count == 0:
        return _fits(rooms, tuple(more))
    rooms = tuple(sorted(rooms, reverse=True))
    left = ((size, count - 1), *more)
    return any(
        _fits((*rooms[:k], room - size, *rooms[k + 1 :]), left)
        for k, room in enumerate(rooms)
        if room >= size and room not in rooms[:k]
    )

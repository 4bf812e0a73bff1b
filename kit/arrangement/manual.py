"""An order made by hand, and what may be done to it, move by move.

Names only. A yarn that is locked keeps its place in the order, two that are kept
together stay neighbours, one that is left out waits aside. Bridges stand between two
yarns and count no place of their own.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Generic, TypeVar

from kit.arrangement.locked import Block, Pair, around_locked, blocks
from kit.blanket.choices import Kept
from kit.errors import Fault, KitError, shorten

T = TypeVar("T")
MOST_TURNS = 500  # that can be undone


@dataclass(frozen=True, slots=True)
class ManualOrder:
    """The yarns of one run as a knitter has laid them, light end first.

    `line` has yarns and bridges; `locked` are yarns that keep their place; `pairs` are
    neighbours that stay so, as they stand in the line; `left_out` wait aside.
    """

    line: tuple[str, ...]
    bridges: frozenset[str] = frozenset()
    locked: frozenset[str] = frozenset()
    pairs: tuple[Pair, ...] = ()
    left_out: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        order = set(self.order)
        ends = {*self.line[:1], *self.line[-1:]}
        sound = (
            len({*self.line, *self.left_out}) == len(self.line) + len(self.left_out)
            and self.bridges <= set(self.line)
            and not self.bridges & ends
            and self.locked <= order
            and set(self.pairs) <= set(pairwise(self.line))
            and all(name in order for pair in self.pairs for name in pair)
        )
        if not sound:
            raise ValueError("names twice, or a lock, pair or bridge without its place")

    @property
    def order(self) -> tuple[str, ...]:
        """The yarns alone, bridges aside."""
        return tuple(name for name in self.line if name not in self.bridges)

    @property
    def kept(self) -> tuple[Kept, ...]:
        """The bridges with what they stand between, so that each finds its place when
        they are put in one after the other."""
        return tuple(
            Kept(name, self.line[k - 1], self._next_yarn(k))
            for k, name in enumerate(self.line)
            if name in self.bridges
        )

    def _next_yarn(self, place: int) -> str:
        return next(n for n in self.line[place + 1 :] if n not in self.bridges)


def manual_order(
    line: Sequence[str],
    *,
    bridges: Collection[str] = (),
    locked: Iterable[str | Pair] = (),
    left_out: Iterable[str] = (),
) -> ManualOrder:
    """A line with the locks and pairs of `locked` that have a place in it.

    A pair counts where its two yarns are neighbours, whichever way round.
    """
    locked, beside = tuple(locked), set(pairwise(line))
    pairs = []
    for pair in locked:
        if not isinstance(pair, str):
            either = (pair, pair[::-1])
            pairs += [way for way in either if way in beside and way not in pairs]
    bridged = frozenset(bridges) & set(line)
    return ManualOrder(
        tuple(line),
        bridged,
        frozenset(n for n in locked if isinstance(n, str)) & (set(line) - bridged),
        tuple(pair for pair in pairs if not bridged & set(pair)),
        tuple(name for name in dict.fromkeys(left_out) if name not in line),
    )


# --- moves ----------------------------------------------------------------------------


def move(hand: ManualOrder, name: str, before: str | None) -> ManualOrder:
    """Put a yarn or bridge before another of the line; None: at the end.

    What is kept together with it comes along; locked yarns keep their places and the
    others flow round them. Raises KitError where it is locked itself.
    """
    _in_line(hand, name, before)
    if name == before:
        return hand
    if name in hand.bridges:
        return _bridge_at(hand, name, before)
    block = _block_of(hand, name)
    if locked := [one for one in block if one in hand.locked]:
        name = shorten(locked[0])
        raise _refused(f'"{name}" is locked in its place: unlock it first')
    if before in block:
        return hand
    rest = [one for one in hand.line if one not in block]
    falling = before is None or hand.line.index(name) < hand.line.index(before)
    place = _beside_block(hand, rest, before, after=falling)
    return _with_order(hand, [*rest[:place], *block, *rest[place:]])


def shift(hand: ManualOrder, name: str, by: int) -> ManualOrder:
    """Put a yarn or bridge so many places earlier (below 0) or later in the line."""
    _in_line(hand, name)
    if by == 0:
        return hand
    block = _block_of(hand, name)
    first = hand.line.index(block[0])
    rest = [*(one for one in hand.line if one not in block), None]
    place = min(max(first + by, 0), len(rest) - 1)
    tied = {later for _, later in hand.pairs}
    onward = 1 if by > 0 else -1
    while 0 < place < len(rest) - 1:
        # Not between two kept together, and past those that are locked.
        if rest[place] not in tied and move(hand, name, rest[place]) != hand:
            break
        place += onward
    return move(hand, name, rest[place])


def leave_out(hand: ManualOrder, name: str) -> ManualOrder:
    """Put a yarn aside; a bridge goes back to where it came from."""
    _in_line(hand, name)
    line = [one for one in hand.line if one != name]
    if name in hand.bridges:
        return _lined(hand, line)
    if len(hand.order) == 1:
        raise _refused("One yarn must stay in the run")
    return _lined(
        hand,
        line,
        locked=hand.locked - {name},
        pairs=tuple(pair for pair in hand.pairs if name not in pair),
        left_out=(*hand.left_out, name),
    )


def bring_back(hand: ManualOrder, name: str, before: str | None) -> ManualOrder:
    """Put a yarn that was left out before another of the line; None: at the end."""
    if name not in hand.left_out:
        raise _refused(f'"{shorten(name)}" is not among those left out')
    _in_line(hand, before=before)
    place = _beside_block(hand, hand.line, before, after=False)
    left = tuple(one for one in hand.left_out if one != name)
    line = (*hand.line[:place], name, *hand.line[place:])
    return _lined(hand, line, left_out=left)


def put_bridge(hand: ManualOrder, name: str, before: str | None) -> ManualOrder:
    """Put a bridge that is in no line yet before a yarn or bridge."""
    if name in hand.line:
        raise _refused(f'"{shorten(name)}" stands in the run already')
    _in_line(hand, before=before)
    return _bridge_at(hand, name, before)


def switch_lock(hand: ManualOrder, name: str) -> ManualOrder:
    """Lock a yarn in its place, or let it go."""
    _in_line(hand, name)
    if name in hand.bridges:
        raise _refused("A bridge goes where its neighbours go: lock those")
    return replace(hand, locked=hand.locked ^ {name})


def switch_tie(hand: ManualOrder, name: str) -> ManualOrder:
    """Keep a yarn together with the next one, or let the two part."""
    _in_line(hand, name)
    place = hand.line.index(name) + 1
    if place == len(hand.line):
        raise _refused(f'No yarn follows "{shorten(name)}"')
    pair = (name, hand.line[place])
    if hand.bridges & set(pair):
        raise _refused("A bridge stands between them: take it out first")
    pairs = tuple(one for one in hand.pairs if one != pair)
    return replace(hand, pairs=pairs if pair in hand.pairs else (*hand.pairs, pair))


def put_in_order(hand: ManualOrder, order: Sequence[str]) -> ManualOrder:
    """The same hand with its yarns in another order; left out is what is not in it.

    A bridge stays where its two neighbours still are neighbours, else it goes back.
    """
    line: list[str] = []
    between = _between(hand)
    for name in order:
        if line:
            gap = (line[-1], name)
            turned = between.get(gap[::-1], ())[::-1]
            line += between.get(gap, turned)
        line.append(name)
    bridges = hand.bridges & set(line)
    return manual_order(
        line,
        bridges=bridges,
        locked=(*hand.locked, *hand.pairs),
        left_out=(*hand.left_out, *(n for n in hand.order if n not in line)),
    )


def _between(hand: ManualOrder) -> dict[Pair, tuple[str, ...]]:
    """The bridges between two neighbours of the order."""
    between: dict[Pair, tuple[str, ...]] = {}
    waiting: list[str] = []
    last = ""
    for name in hand.line:
        if name in hand.bridges:
            waiting.append(name)
            continue
        if waiting:
            between[last, name] = tuple(waiting)
        last, waiting = name, []
    return between


def _refused(says: str) -> KitError:
    return KitError(Fault("refused", says=says))


def _in_line(hand: ManualOrder, *names: str | None, before: str | None = None) -> None:
    for name in (*names, before):
        if name is not None and name not in hand.line:
            raise _refused(f'"{shorten(name)}" is not in the run any more')


def _block_of(hand: ManualOrder, name: str) -> Block:
    if name in hand.bridges:
        return (name,)
    return next(b for b in blocks(hand.order, hand.pairs) if name in b)


def _beside_block(
    hand: ManualOrder, line: Sequence[str], before: str | None, *, after: bool
) -> int:
    """The place before a name in a line; never between two that are kept together."""
    if before is None:
        return len(line)
    block = _block_of(hand, before)
    if before == block[0]:
        return line.index(before)
    return line.index(block[-1]) + 1 if after else line.index(block[0])


def _bridge_at(hand: ManualOrder, name: str, before: str | None) -> ManualOrder:
    rest = [one for one in hand.line if one != name]
    place = len(rest) if before is None else rest.index(before)
    if not 0 < place < len(rest):
        raise _refused("A bridge stands between two yarns, not at an end")
    beside = (rest[place - 1], rest[place])
    if beside in hand.pairs:
        raise _refused(f"{_two(beside)} are kept together: let them part first")
    line = (*rest[:place], name, *rest[place:])
    return replace(hand, line=line, bridges=hand.bridges | {name})


def _two(pair: Pair) -> str:
    return f'"{shorten(pair[0])}" and "{shorten(pair[1])}"'


def _with_order(hand: ManualOrder, line: Sequence[str]) -> ManualOrder:
    """The hand with this line, its locked yarns back in their places; every bridge
    stays after the yarn that it stands after in the line."""
    behind: dict[str, list[str]] = {}
    last = ""
    for name in line:
        if name in hand.bridges:
            behind.setdefault(last, []).append(name)
        else:
            last = name
    wished = [name for name in line if name not in hand.bridges]
    order = around_locked(wished, hand.order, hand.locked, hand.pairs)
    whole = [one for name in order for one in (name, *behind.get(name, ()))]
    return _lined(hand, whole)


def _lined(hand: ManualOrder, line: Sequence[str], **changes: Any) -> ManualOrder:
    """The hand with another line, but no bridges at its ends, where they bridge
    nothing."""
    line = list(line)
    while line and line[-1] in hand.bridges:
        line.pop()
    while line and line[0] in hand.bridges:
        line.pop(0)
    bridges = hand.bridges & set(line)
    return replace(hand, line=tuple(line), bridges=bridges, **changes)


# --- what was, and what was undone ----------------------------------------------------


@dataclass(frozen=True, slots=True)
class History(Generic[T]):
    """What is, what was before it and what was undone; each way in turn."""

    now: T
    past: tuple[T, ...] = ()
    future: tuple[T, ...] = ()

    def turn(self, new: T) -> History[T]:
        """A new state; what was undone is gone. The same state again is no turn."""
        if new == self.now:
            return self
        return History(new, (*self.past, self.now)[-MOST_TURNS:])

    def undone(self) -> History[T]:
        """One turn back, if there is one."""
        if not self.past:
            return self
        return History(self.past[-1], self.past[:-1], (self.now, *self.future))

    def redone(self) -> History[T]:
        """One turn forward again, if there is one."""
        if not self.future:
            return self
        return History(self.future[0], (*self.past, self.now), self.future[1:])

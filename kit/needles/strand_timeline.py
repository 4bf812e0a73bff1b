"""Strands while a log is followed along them: who is held, who waits, who ends where.

A link is a strand with what has become of it. Links are numbered in the plan's joining
order; strands the plan has not come behind them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from kit.blanket import Yarn
from kit.fabric.carrying import TAIL_MM
from kit.fabric.schedule import BallPart
from kit.fabric.strand_chains import Strand
from kit.fabric.strands import ROWS_APART
from kit.fabric.stripes import initial_mm


@dataclass(slots=True)
class StrandState:
    """A strand while the log is being followed; `after` as the strand's, by number."""

    strand: Strand
    after: list[int]
    begun: int | None = None
    ended: int | None = None
    gone: bool = False

    @property
    def name(self) -> str:
        return self.strand.part.yarn.name

    @property
    def held(self) -> bool:
        return self.begun is not None and self.ended is None

    @property
    def waits(self) -> bool:
        return self.begun is None and not self.gone

    def goes_at(self, row: int) -> int:
        """The stitch where it ends if nothing is logged: broken off at its row, though
        four rows after its own join; else as long after its join as planned."""
        strand = self.strand
        begun = strand.first if self.begun is None else self.begun
        whole = strand.last - strand.first
        if strand.kind == "runs out" and not strand.carried:
            return begun + whole
        return max(strand.last, begun + min(ROWS_APART * row, whole))


@dataclass(slots=True)
class StrandTimeline:
    """All links of a blanket of `row` stitches a row. Places are stitches.

    `ran_out`: yarns known to have been knitted to their end. `lag`: how much later than
    planned the last join was that is known.
    """

    row: int
    yarns: Sequence[Yarn]
    all: list[StrandState]
    ran_out: set[str] = field(default_factory=set)
    lag: int = 0

    def __getitem__(self, k: int) -> StrandState:
        return self.all[k]

    # --- who ---

    def held(self, name: str) -> int | None:
        """The strand of a yarn that is on the needle."""
        return next((k for k in self._of(name) if self[k].held), None)

    def just_ended(self, name: str, at: int) -> int | None:
        """The strand of a yarn that ended hereabouts: more may be joined there too."""
        near = ROWS_APART * self.row
        ends = {k: self[k].ended for k in self._of(name)}
        gone = [k for k, e in ends.items() if e is not None and abs(e - at) <= near]
        return gone[-1] if gone else None

    def waiting(self, name: str, at: int, out: int | None = None) -> int | None:
        """The strand of a yarn that is to come and whose place fits best: the one that
        waits for `out`, else the nearest by the plan and the lag."""
        own = [k for k in self._of(name) if self[k].waits]
        follows = [k for k in own if out is not None and out in self[k].after]
        return min(follows or own, key=lambda k: self.far(k, at), default=None)

    def far(self, k: int, at: int) -> int:
        """How far from its place a strand would be joined."""
        return abs(self[k].strand.first + self.lag - at)

    def to_come(self) -> list[int]:
        """Strands that wait, in joining order."""
        return [k for k, one in enumerate(self.all) if one.waits]

    def due(self, k: int) -> int:
        """Where a strand is to be joined: where those it waits for have ended, else
        where the first of them goes, else by the plan."""
        after = [self[j] for j in self[k].after]
        freed = [one.ended for one in after if one.ended is not None]
        goes = [one.goes_at(self.row) for one in after if one.held]
        return max(freed) if freed else min(goes, default=self[k].strand.first)

    def is_awaited(self, k: int) -> bool:
        """Whether a strand to come is joined where this one ends."""
        return self.follower(k) is not None

    def follower(self, k: int) -> int | None:
        """The first strand to come that is joined where this one ends."""
        waits = (j for j in self.to_come() if k in self[j].after)
        return next(waits, None)

    def hangs(self, k: int) -> bool:
        """Whether a strand waits for strands that are all to come themselves."""
        after = self[k].after
        return bool(after) and all(self[j].waits for j in after)

    def _of(self, name: str) -> Iterator[int]:
        return (k for k, one in enumerate(self.all) if one.name == name)

    # --- other strands than planned ---

    def swapped(self, k: int, q: int) -> int:
        """Two change places; the place of `q`."""
        one, two = self[k].strand, self[q].strand
        self[k].strand = replace(one, part=two.part)
        self[q].strand = replace(two, part=one.part)
        return q

    def replaced(self, q: int, name: str) -> int:
        """A yarn that is not to come takes the place of one that is."""
        link = self[q]
        part = self._whole_ball(name, link.strand.first, link.strand.last)
        kind = "runs out" if link.strand.kind != "bind off" else "bind off"
        link.strand = replace(link.strand, part=part, kind=kind)
        return q

    def put_in(self, name: str, at: int, out: int) -> int:
        """A strand the plan has not: it goes before those that waited for the one it
        stands for."""
        old = self[out]
        k = len(self.all)
        for one in self.all:
            one.after = [k if j == out else j for j in one.after]
        last = max(old.strand.last, at + 1)
        part = self._whole_ball(name, at, last)
        kind = "bind off" if old.strand.kind == "bind off" else "runs out"
        self.all.append(StrandState(Strand(part, at, last, kind, (out,)), [out]))
        if old.strand.kind == "bind off":
            old.strand = replace(old.strand, kind="runs out")
        return k

    def _whole_ball(self, name: str, first: int, last: int) -> BallPart:
        yarn = next(yarn for yarn in self.yarns if yarn.name == name)
        had = initial_mm(yarn)
        return BallPart(yarn, 1, 1, first, last, had, min(had, TAIL_MM), 0)

    # --- begin and end ---

    def begin(self, k: int, at: int, out: int | None = None) -> None:
        """A strand is joined, and the one that ended is let go: `out` where that is
        known, else those it waited for."""
        link = self[k]
        self._one_at_a_time(k, at)
        link.begun = at
        due = [j for j in link.after if self[j].held]
        if out is None:
            for j in due:
                self.leave(j, at, logged=True)
            return
        if not self[out].held:  # ended already, another was joined there
            return
        if due and out not in due:  # those after `out` wait for the other one now
            for one in self.all:
                if one.waits:
                    one.after = [due[0] if j == out else j for j in one.after]
        self.leave(out, at, logged=True)
        for j in due:  # several were to end here: others go at their own rows
            if j != out and out in due and self[j].goes_at(self.row) <= at + self.row:
                self.leave(j, at, logged=True)

    def _one_at_a_time(self, k: int, at: int) -> None:
        """Where a later part of a ball begins its earlier one has ended."""
        before = self.held(self[k].name)
        if before is not None and before != k:
            self.leave(before, at)

    def leave(self, j: int, at: int, *, logged: bool = False) -> None:
        """A strand ends; `logged`: one that was to run out is known to have done so."""
        one = self[j]
        one.ended = max(at, one.begun or 0)
        if logged and one.strand.kind == "runs out":
            self.ran_out.add(one.name)

    def known_end(self, k: int, out: str) -> None:
        """A join of the knitted part was logged: what was to run out there has done so,
        `out` by name or else what the strand followed."""
        begun = self[k].begun or 0
        named = self.just_ended(out, begun) if out else None
        for j in self[k].after if named is None else [named]:
            if self[j].ended is not None and self[j].strand.kind == "runs out":
                self.ran_out.add(self[j].name)

    def begin_as_planned(self, k: int, here: int) -> int:
        """A strand is joined where it is due; that place."""
        one, at = self[k], min(self.due(k), here)
        self._one_at_a_time(k, at)
        one.begun = at
        for j in one.after:
            if self[j].held:
                self.leave(j, at)
        return at

    def drop(self, name: str, at: int) -> None:
        """A yarn is gone: held no more, to come no more; others wait in its place."""
        for k in self._of(name):
            one = self[k]
            if one.held:
                one.ended = at
            elif one.waits:
                one.gone = True
                for other in self.all:
                    if k in other.after:
                        kept = [j for j in other.after if j != k]
                        other.after = [*kept, *one.after]

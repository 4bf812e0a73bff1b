"""A log followed along a plan's strands, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from kit.blanket import Choices, Yarn
from kit.fabric import Fabric
from kit.fabric.setup import set_up
from kit.fabric.strand_chains import strands_of
from kit.fabric.strands import N_LOOK_AHEAD
from kit.needles.join_of import (
    LATE_ROWS,
    LogAhead,
    amid_row,
    comes_early,
    is_waited_for,
    log_ahead,
    whose_end,
)
from kit.needles.log import LOG, Log, Note
from kit.needles.strand_timeline import StrandState, StrandTimeline
from kit.yarn.stitch_lengths import Lengths


@dataclass(frozen=True, slots=True)
class Replayed:
    """Where a log leads: its timeline, the stitch reached, yarns gone, what is told."""

    timeline: StrandTimeline
    at: int
    gone: frozenset[str]
    sentences: tuple[str, ...]


def replay_log(
    fabric: Fabric, choices: Choices, log: Log, yarns: Sequence[Yarn], sure: int = 0
) -> Replayed:
    """Follow a log to its end. Up to row `sure` the plan itself tells what was."""
    lengths, ahead = set_up(choices.making).lengths, log_ahead(log, fabric)
    walk = _Replay(fabric, lengths, sure, _timeline(fabric, choices, yarns), ahead)
    walk.careful = bool(ahead.joins)
    walk.begin()
    for note in log.notes:
        walk.take(note)
    return walk.done()


def _timeline(
    fabric: Fabric, choices: Choices, yarns: Sequence[Yarn]
) -> StrandTimeline:
    strands = strands_of(fabric, choices)
    return StrandTimeline(
        fabric.stitches, yarns, [StrandState(one, list(one.after)) for one in strands]
    )


@dataclass(slots=True)
class _Replay:
    """Where the log has been followed to; `replay_log` drives it."""

    fabric: Fabric
    lengths: Lengths
    sure: int
    timeline: StrandTimeline
    ahead: LogAhead
    careful: bool = False
    at: int = 0
    gone: set[str] = field(default_factory=set)
    sentences: list[str] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)

    @property
    def row(self) -> int:
        return self.fabric.stitches

    def begin(self) -> None:
        self.at = self.sure * self.row
        self.settle(self.at)

    def done(self) -> Replayed:
        self.settle(self.at)
        if self.taken:
            names = ", ".join(self.taken)
            self.sentences.append(
                f"Joins that are not in {LOG}, taken as planned: {names}."
            )
        return Replayed(
            self.timeline, self.at, frozenset(self.gone), tuple(self.sentences)
        )

    # --- one line -----------------------------------------------------------------

    def take(self, note: Note) -> None:
        if note.row > self.fabric.rows:
            self.tell(
                note,
                f"row {note.row} lies beyond the plan's last row, {self.fabric.rows}: "
                "taken as that row.",
            )
            note = replace(note, row=self.fabric.rows)
        here = note.row * self.row
        if note.what == "joined":
            self.settle(max(0, here - self.row))
            self.ahead.read(note)
            self.joined(note)
        else:
            self.ahead.read(note)
            self.settle(here)
            if note.what == "ran out":
                self.runs_out(note, here)
            elif note.what in ("lost", "skipped"):
                self.gone.add(note.yarn)
                self.timeline.drop(note.yarn, here)
        self.at = max(self.at, here)

    def tell(self, note: Note, what: str) -> None:
        self.sentences.append(f"{LOG}, row {note.number}: {what}")

    def joined(self, note: Note) -> None:
        timeline, at = self.timeline, amid_row(note.row, self.fabric)
        if (known := self.known(note)) is not None:
            timeline.known_end(known, note.instead_of)
            return
        on = timeline.held(note.yarn)
        if on is not None and timeline[on].begun == 0 and note.row <= 1:
            return  # cast on with it: so it is in the plan
        if self.is_on_already(note.yarn, at):
            self.tell(note, f'"{note.yarn}" is on the needle already: not used.')
            return
        out, q = self.stands_for(note, at)
        if out is None and q is None:
            out, q = self.supposed(note, at)
        k = timeline.waiting(note.yarn, at, out)
        if k is not None:
            k = self.in_turn(k, q, at, out)
        elif q is not None:
            k = timeline.replaced(q, note.yarn)
        else:
            assert out is not None
            k = timeline.put_in(note.yarn, at, out)
        timeline.lag = at - timeline[k].strand.first
        timeline.begin(k, self.exact(k, note.row, at), out)

    def stands_for(self, note: Note, at: int) -> tuple[int | None, int | None]:
        """The strand that ended for this join, or the one to come that it replaces."""
        timeline, name = self.timeline, note.instead_of
        if not name:
            return None, None
        out = timeline.held(name)
        if out is None:
            out = timeline.just_ended(name, at)
        if out is not None:
            return out, None
        q = timeline.waiting(name, at)
        if q is None or not self.is_its_place(q, at):
            why = f'"{name}" is neither on the needle nor to come'
            self.tell(note, f"{why}; taken as though nothing were said.")
            return None, None
        return None, q

    def supposed(self, note: Note, at: int) -> tuple[int | None, int | None]:
        """The same where nothing is said, told where it may be another."""
        one = whose_end(self.timeline, self.ahead, self.lengths, note, at)
        if one.sentences:
            self.tell(note, one.sentences)
        return one.out, one.place

    def is_its_place(self, q: int, at: int) -> bool:
        """Whether a strand to come may be meant here: of a ball that comes round again
        only one that is soon due."""
        if self.timeline[q].strand.part.n_parts == 1:
            return True
        soon = self.timeline.to_come()[:N_LOOK_AHEAD]
        return q in soon or self.timeline.far(q, at) <= LATE_ROWS * self.row

    def known(self, note: Note) -> int | None:
        """The strand of a join that stands in the plan already, in its knitted part."""
        return next(
            (
                k
                for k, one in enumerate(self.timeline.all)
                if note.row <= self.sure
                and one.name == note.yarn
                and one.begun is not None
                and abs(one.begun // self.row + 1 - note.row) <= 1
            ),
            None,
        )

    def is_on_already(self, name: str, at: int) -> bool:
        """Whether the strand meant is on the needle, not the ball's next part."""
        on, k = self.timeline.held(name), self.timeline.waiting(name, at)
        if on is None:
            return False
        return k is None or self.timeline.far(k, at) >= abs(
            at - (self.timeline[on].begun or 0)
        )

    def exact(self, k: int, row: int, at: int) -> int:
        """The plan's own stitch where the join is in the plan's row."""
        first = self.timeline[k].strand.first
        same = first // self.row + 1 == row or (first == 0 and row <= 1)
        return first if same else at

    def in_turn(self, k: int, q: int | None, at: int, out: int | None) -> int:
        """The strand that is joined; one from further on changes places with the one
        whose turn it was, or that was to follow the one that ended."""
        timeline = self.timeline
        if q is not None:
            return timeline.swapped(k, q) if q != k else k
        its_own = out is not None and out in timeline[k].after
        if not its_own and (soon := comes_early(timeline, k, at)):
            place = None if out is None else timeline.follower(out)
            return timeline.swapped(k, soon[0] if place is None else place)
        for j in timeline.to_come():
            if j < k and timeline[j].strand.first < timeline[k].strand.first:
                waits = is_waited_for(timeline, self.ahead, j, k, at) or timeline.hangs(
                    j
                )
                if not waits:
                    self.as_planned(j, at)
        return k

    def runs_out(self, note: Note, here: int) -> None:
        timeline, k = self.timeline, self.timeline.held(note.yarn)
        if k is not None:
            timeline[k].strand = replace(timeline[k].strand, kind="runs out")
            timeline.leave(k, max(0, here - self.row // 2), logged=True)
        elif any(one.name == note.yarn and one.ended for one in timeline.all):
            timeline.ran_out.add(note.yarn)
        else:
            self.tell(note, f'"{note.yarn}" is not on the needle: not used.')

    # --- what is not logged ---------------------------------------------------------

    def settle(self, here: int) -> None:
        """What the plan has up to a stitch and the log has not: taken as planned."""
        sure, timeline = self.sure * self.row, self.timeline
        late = LATE_ROWS * self.row if self.careful else 0
        for k in timeline.to_come():
            one, first = timeline[k], timeline[k].strand.first
            if first < sure or first == 0:
                self.as_planned(k, here, told=False)
            elif self.ahead.is_joined(timeline, k) or timeline.hangs(k):
                continue
            elif not one.after and first < here:
                self.as_planned(k, here, told=False)
            elif timeline.due(k) < here - late:
                self.as_planned(k, here)
        self.end_unawaited(here)

    def end_unawaited(self, here: int) -> None:
        """Strands that no join waits for end by the plan."""
        end = min(here, self.fabric.rows * self.row - 1)
        for k, one in enumerate(self.timeline.all):
            if one.held and one.strand.kind != "bind off":
                goes = self.ahead.goes_at(self.timeline, k)
                if goes <= end and not self.timeline.is_awaited(k):
                    self.timeline.leave(k, goes)

    def as_planned(self, k: int, here: int, *, told: bool = True) -> None:
        at = self.timeline.begin_as_planned(k, here)
        if told and self.careful:
            self.taken.append(f"{self.timeline[k].name} (row {at // self.row + 1})")

"""Whose end a join is at, where the log does not say: of several the likeliest.

The plan's own join tells it. Where another yarn is joined than the one planned there,
it is a strand that just ended and that none follows yet, else of those on the needle
the one nearest its end. What the lines still to be read say goes before either: a
strand that one of them joins is not joined yet, one that it ends is still on the
needle, and a ball the scale shows later is not over.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from kit.fabric import Fabric
from kit.fabric.carrying import TAIL_MM
from kit.fabric.strands import N_LOOK_AHEAD, ROWS_APART
from kit.fabric.tolerance import USUAL
from kit.needles.log import Log, Note
from kit.needles.strand_timeline import StrandTimeline
from kit.yarn.stitch_lengths import Lengths

LATE_ROWS = 12  # a join that is not logged is only taken for made so much later (ours)


# --- what is still to be read ---------------------------------------------------------


@dataclass(slots=True)
class LogAhead:
    """By yarn: `joins` places of the joins still to be read, `ends` how many lines
    still to be read end one of its strands, `weighed` every weighing's stitch and
    grams. Places are stitches.
    """

    joins: dict[str, list[int]] = field(default_factory=dict)
    ends: Counter[str] = field(default_factory=Counter)
    weighed: dict[str, list[tuple[int, float]]] = field(default_factory=dict)

    def read(self, note: Note) -> None:
        """A line lies ahead no more."""
        self.ends.subtract(_ended(note))
        if note.what == "joined":
            self.joins[note.yarn].pop(0)

    def is_joined(self, timeline: StrandTimeline, k: int) -> bool:
        """Whether a line still to be read is this strand's join. Of several parts of a
        ball each line takes the nearest."""
        name = timeline[k].name
        lines = self.joins.get(name, [])
        if not lines:
            return False
        if len(lines) >= len(_to_come(timeline, name)):
            return True
        return any(timeline.waiting(name, at) == k for at in lines)

    def is_ended(self, timeline: StrandTimeline, k: int) -> bool:
        """Whether a line still to be read ends this strand; of a ball that comes round
        again lines may end its later parts."""
        name = timeline[k].name
        return self.ends[name] > len(_to_come(timeline, name))

    def goes_at(self, timeline: StrandTimeline, k: int) -> int:
        """Where a strand ends if nothing is logged; one that is to run out not before
        the last of it was weighed."""
        one = timeline[k]
        goes = one.goes_at(timeline.row)
        parted = one.strand.part.n_parts > 1  # more of the ball lies aside
        if one.strand.kind != "runs out" or parted:
            return goes
        return max(goes, self._seen(one.name, timeline.row))

    def ends_at(
        self, timeline: StrandTimeline, k: int, at: int, lengths: Lengths
    ) -> int:
        """The same as told at a stitch: by the last weighing before it, if any."""
        goes, end = (
            self.goes_at(timeline, k),
            self._weighed_end(timeline, k, at, lengths),
        )
        if end is None:
            return goes
        if timeline[k].strand.kind != "runs out":
            return min(goes, end)
        return max(end, self._seen(timeline[k].name, timeline.row))

    def _seen(self, name: str, row: int) -> int:
        """The stitch up to which a yarn is there, for a scale has shown it."""
        seen = [at for at, grams in self.weighed.get(name, []) if grams > USUAL.scale_g]
        return seen[-1] + row // 2 if seen else 0

    def _weighed_end(
        self, timeline: StrandTimeline, k: int, at: int, lengths: Lengths
    ) -> int | None:
        """Where the grams on the scale end at the plan's yarn in a stitch. None where
        no weighing tells; of a ball in parts it shows those aside too."""
        one = timeline[k]
        yarn, begun = one.strand.part.yarn, one.begun or 0
        last = [w for w in self.weighed.get(one.name, []) if begun < w[0] <= at]
        parted = one.strand.part.n_parts > 1
        if not last or parted or not (yarn.metres and yarn.grams):
            return None
        stitch, grams = last[-1]
        left_mm = round(1000 * grams * yarn.metres / yarn.grams) - TAIL_MM
        return lengths.stitch_at(lengths.mm_at(stitch) + max(0, left_mm))


def log_ahead(log: Log, fabric: Fabric) -> LogAhead:
    """All of a log, before its first line is read."""
    ahead = LogAhead()
    for note in log.notes:
        ahead.ends.update(_ended(note))
        if note.what == "joined":
            ahead.joins.setdefault(note.yarn, []).append(amid_row(note.row, fabric))
        elif note.what == "weighed":
            stitch = min(note.row, fabric.rows) * fabric.stitches
            weighed = ahead.weighed.setdefault(note.yarn, [])
            weighed.append((stitch, note.grams or 0.0))
    return ahead


def amid_row(row: int, fabric: Fabric) -> int:
    """The stitch amid a row: a join logged by its row was somewhere in it."""
    before = max(0, min(row, fabric.rows) - 1)
    return before * fabric.stitches + fabric.stitches // 2


def _ended(note: Note) -> Iterator[str]:
    """The yarn of which a line ends a strand, if it does."""
    if note.what == "joined" and note.instead_of:
        yield note.instead_of
    elif note.what == "ran out":
        yield note.yarn


def _to_come(timeline: StrandTimeline, name: str) -> Sequence[int]:
    return [k for k in timeline.to_come() if timeline[k].name == name]


# --- whose end it is ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WhoseEnd:
    """The strand that ended and the one to come in whose place the join is; both None
    where the plan's own join holds. `said`: what is told, "" where it is sure."""

    out: int | None = None
    place: int | None = None
    sentences: str = ""


def whose_end(
    timeline: StrandTimeline, ahead: LogAhead, lengths: Lengths, note: Note, at: int
) -> WhoseEnd:
    """Whose end a join at stitch `at` is at that has no `instead_of`."""
    k = timeline.waiting(note.yarn, at)
    if k is not None and not timeline[k].after:  # by the plan nothing ends there
        return WhoseEnd()
    sure = len(on_needle(timeline)) == 1 and just_freed(timeline, at) is None
    if (
        k is None
        or comes_early(timeline, k, at)
        or _is_ruled_out(timeline, ahead, k, at)
    ):
        out, why = _likeliest(timeline, ahead, lengths, at)
        said = "" if sure else _taken(note, timeline[out].name, why)
        return WhoseEnd(out, None if k is None else timeline.follower(out), said)
    sure = sure or any(timeline[j].ended is not None for j in timeline[k].after)
    turn = None if sure else _whose_turn(timeline, ahead, k, at)
    if turn is None:
        return WhoseEnd()
    why = f'as planned, though before "{timeline[turn].name}"'
    return WhoseEnd(sentences=_taken(note, timeline[timeline[k].after[0]].name, why))


def _taken(note: Note, name: str, why: str) -> str:
    return (
        f'"{note.yarn}" joined in row {note.row} is taken as in place of "{name}", '
        f"{why}. If it was another, write that one under instead_of."
    )


# --- by the plan ----------------------------------------------------------------------


def comes_early(timeline: StrandTimeline, k: int, at: int) -> list[int]:
    """Strands that were to be joined before this one, though not for long yet."""
    far = at + LATE_ROWS * timeline.row
    before = (j for j in timeline.to_come() if j < k)
    soon = [j for j in before if timeline[j].strand.first > far]
    early = soon and timeline[k].strand.first > timeline[soon[0]].strand.first
    return soon if early else []


def is_waited_for(
    timeline: StrandTimeline, ahead: LogAhead, j: int, k: int, at: int
) -> bool:
    """Whether a strand to come may still be joined after `k`, which was to follow."""
    waiting, first = timeline.to_come(), timeline[j].strand.first
    nearby = waiting.index(k) - waiting.index(j) < N_LOOK_AHEAD
    late = first > at - LATE_ROWS * timeline.row
    return (nearby and late) or ahead.is_joined(timeline, j)


def _whose_turn(
    timeline: StrandTimeline, ahead: LogAhead, k: int, at: int
) -> int | None:
    """A strand that was to be joined before this one and is still waited for."""
    first, after = timeline[k].strand.first, timeline[k].after
    turns = (
        j
        for j in timeline.to_come()
        if j < k and timeline[j].strand.first < first and not timeline.hangs(j)
        if timeline[j].after and timeline[j].after != after
        if is_waited_for(timeline, ahead, j, k, at)
    )
    return next(turns, None)


def _is_ruled_out(timeline: StrandTimeline, ahead: LogAhead, k: int, at: int) -> bool:
    """Whether the strands a join waits for are all to come, or all on the needle for
    longer, or another has just ended instead of them."""
    after = timeline[k].after
    if any(timeline[j].ended is not None for j in after):
        return False
    if just_freed(timeline, at) is not None:
        return True
    return all(
        ahead.is_ended(timeline, j)
        if timeline[j].held
        else is_waited_for(timeline, ahead, j, k, at) or timeline.hangs(j)
        for j in after
    )


# --- by what is known -----------------------------------------------------------------


def _likeliest(
    timeline: StrandTimeline, ahead: LogAhead, lengths: Lengths, at: int
) -> tuple[int, str]:
    """Of all strands the likeliest to have ended, and why that one."""
    if (freed := just_freed(timeline, at)) is not None:
        return freed, "which had just ended"
    on = on_needle(timeline) or [k for k, one in enumerate(timeline.all) if one.ended]
    held = [k for k in on if not ahead.is_ended(timeline, k)] or on

    def ends(k: int) -> tuple[int, int]:
        return ahead.ends_at(timeline, k, at, lengths), timeline[k].strand.last

    return min(held, key=ends), "the strand nearest its end"


def just_freed(timeline: StrandTimeline, at: int) -> int | None:
    """The last strand that ended hereabouts and that a strand to come still follows,
    but none joined yet does."""
    near = ROWS_APART * timeline.row
    followed = {j for one in timeline.all if one.begun is not None for j in one.after}
    freed = [
        (one.ended, k)
        for k, one in enumerate(timeline.all)
        if one.ended is not None and -timeline.row <= at - one.ended <= near
        if k not in followed and timeline.is_awaited(k)
    ]
    return max(freed)[1] if freed else None


def on_needle(timeline: StrandTimeline) -> list[int]:
    """Strands that are held, those carried along only where there are no others."""
    held = [k for k, one in enumerate(timeline.all) if one.held]
    return [k for k in held if not timeline[k].strand.carried] or held

"""Whose end a join is at, where the log does not say: of several the likeliest.

The plan's own join tells it. Where another yarn is joined than the one planned there,
it is a strand that just ended and that none follows yet, else of those on the needle
the one nearest its end; one that a later line of the log ends is none of them.
"""

from __future__ import annotations

from dataclasses import dataclass

from kit.fabric.strands import N_LOOK_AHEAD, ROWS_APART
from kit.needles.log import Note
from kit.needles.log_ahead import LogAhead
from kit.needles.strand_timeline import Links
from kit.yarn.stitch_lengths import Lengths

LATE_ROWS = 12  # a join that is not logged is only taken for made so much later (ours)


@dataclass(frozen=True, slots=True)
class WhoseEnd:
    """The strand that ended and the one to come in whose place the join is; both None
    where the plan's own join holds. `said`: what is told, "" where it is sure."""

    out: int | None = None
    place: int | None = None
    sentences: str = ""


def whose_end(
    links: Links, ahead: LogAhead, lengths: Lengths, note: Note, at: int
) -> WhoseEnd:
    """Whose end a join at stitch `at` is at that has no `instead_of`."""
    k = links.waiting(note.yarn, at)
    if k is not None and not links[k].after:  # by the plan nothing ends there
        return WhoseEnd()
    sure = len(on_needle(links)) == 1 and just_freed(links, at) is None
    if k is None or comes_early(links, k, at) or _is_ruled_out(links, ahead, k, at):
        out, why = _likeliest(links, ahead, lengths, at)
        said = "" if sure else _taken(note, links[out].name, why)
        return WhoseEnd(out, None if k is None else links.follower(out), said)
    sure = sure or any(links[j].ended is not None for j in links[k].after)
    turn = None if sure else _whose_turn(links, ahead, k, at)
    if turn is None:
        return WhoseEnd()
    why = f'as planned, though before "{links[turn].name}"'
    return WhoseEnd(sentences=_taken(note, links[links[k].after[0]].name, why))


def _taken(note: Note, name: str, why: str) -> str:
    return (
        f'"{note.yarn}" joined in row {note.row} is taken as in place of "{name}", '
        f"{why}. If it was another, write that one under instead_of."
    )


# --- by the plan ----------------------------------------------------------------------


def comes_early(links: Links, k: int, at: int) -> list[int]:
    """Strands that were to be joined before this one, though not for long yet."""
    far = at + LATE_ROWS * links.row
    before = (j for j in links.to_come() if j < k)
    soon = [j for j in before if links[j].strand.first > far]
    early = soon and links[k].strand.first > links[soon[0]].strand.first
    return soon if early else []


def is_waited_for(links: Links, ahead: LogAhead, j: int, k: int, at: int) -> bool:
    """Whether a strand to come may still be joined after `k`, which was to follow."""
    waiting, first = links.to_come(), links[j].strand.first
    nearby = waiting.index(k) - waiting.index(j) < N_LOOK_AHEAD
    late = first > at - LATE_ROWS * links.row
    return (nearby and late) or ahead.is_joined(links, j)


def _whose_turn(links: Links, ahead: LogAhead, k: int, at: int) -> int | None:
    """A strand that was to be joined before this one and is still waited for."""
    first, after = links[k].strand.first, links[k].after
    turns = (
        j
        for j in links.to_come()
        if j < k and links[j].strand.first < first and not links.hangs(j)
        if links[j].after and links[j].after != after
        if is_waited_for(links, ahead, j, k, at)
    )
    return next(turns, None)


def _is_ruled_out(links: Links, ahead: LogAhead, k: int, at: int) -> bool:
    """Whether the strands a join waits for are all to come, or all on the needle for
    longer, or another has just ended instead of them."""
    after = links[k].after
    if any(links[j].ended is not None for j in after):
        return False
    if just_freed(links, at) is not None:
        return True
    return all(
        ahead.is_ended(links, j)
        if links[j].held
        else is_waited_for(links, ahead, j, k, at) or links.hangs(j)
        for j in after
    )


# --- by what is known -----------------------------------------------------------------


def _likeliest(
    links: Links, ahead: LogAhead, lengths: Lengths, at: int
) -> tuple[int, str]:
    """Of all strands the likeliest to have ended, and why that one."""
    if (freed := just_freed(links, at)) is not None:
        return freed, "which had just ended"
    on = on_needle(links) or [k for k, one in enumerate(links.all) if one.ended]
    held = [k for k in on if not ahead.is_ended(links, k)] or on

    def ends(k: int) -> tuple[int, int]:
        return ahead.ends_at(links, k, at, lengths), links[k].strand.last

    return min(held, key=ends), "the strand nearest its end"


def just_freed(links: Links, at: int) -> int | None:
    """The last strand that ended hereabouts and that a strand to come still follows,
    but none joined yet does."""
    near = ROWS_APART * links.row
    followed = {j for one in links.all if one.begun is not None for j in one.after}
    freed = [
        (one.ended, k)
        for k, one in enumerate(links.all)
        if one.ended is not None and -links.row <= at - one.ended <= near
        if k not in followed and links.is_awaited(k)
    ]
    return max(freed)[1] if freed else None


def on_needle(links: Links) -> list[int]:
    """Strands that are held, those carried along only where there are no others."""
    held = [k for k, one in enumerate(links.all) if one.held]
    return [k for k in held if not links[k].strand.carried] or held

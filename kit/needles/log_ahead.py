"""What the lines of a log still to be read say of strands, while it is followed.

A strand that a later line joins is not joined yet, one that a later line ends is still
on the needle, and a ball the scale shows later is not over.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from kit.fabric import Fabric
from kit.fabric.carrying import TAIL_MM
from kit.fabric.tolerance import USUAL
from kit.needles.log import Log, Note
from kit.needles.strand_timeline import Links
from kit.yarn.stitch_lengths import Lengths


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

    def is_joined(self, links: Links, k: int) -> bool:
        """Whether a line still to be read is this strand's join. Of several parts of a
        ball each line takes the nearest."""
        name = links[k].name
        lines = self.joins.get(name, [])
        if not lines:
            return False
        if len(lines) >= len(_to_come(links, name)):
            return True
        return any(links.waiting(name, at) == k for at in lines)

    def is_ended(self, links: Links, k: int) -> bool:
        """Whether a line still to be read ends this strand; of a ball that comes round
        again lines may end its later parts."""
        name = links[k].name
        return self.ends[name] > len(_to_come(links, name))

    def goes_at(self, links: Links, k: int) -> int:
        """Where a strand ends if nothing is logged; one that is to run out not before
        the last of it was weighed."""
        one = links[k]
        goes = one.goes_at(links.row)
        parted = one.strand.part.n_parts > 1  # more of the ball lies aside
        if one.strand.kind != "runs out" or parted:
            return goes
        return max(goes, self._seen(one.name, links.row))

    def ends_at(self, links: Links, k: int, at: int, lengths: Lengths) -> int:
        """The same as told at a stitch: by the last weighing before it, if any."""
        goes, end = self.goes_at(links, k), self._weighed_end(links, k, at, lengths)
        if end is None:
            return goes
        if links[k].strand.kind != "runs out":
            return min(goes, end)
        return max(end, self._seen(links[k].name, links.row))

    def _seen(self, name: str, row: int) -> int:
        """The stitch up to which a yarn is there, for a scale has shown it."""
        seen = [at for at, grams in self.weighed.get(name, []) if grams > USUAL.scale_g]
        return seen[-1] + row // 2 if seen else 0

    def _weighed_end(
        self, links: Links, k: int, at: int, lengths: Lengths
    ) -> int | None:
        """Where the grams on the scale end at the plan's yarn in a stitch. None where
        no weighing tells; of a ball in parts it shows those aside too."""
        one = links[k]
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
            ahead.joins.setdefault(note.yarn, []).append(middle(note.row, fabric))
        elif note.what == "weighed":
            stitch = min(note.row, fabric.rows) * fabric.stitches
            weighed = ahead.weighed.setdefault(note.yarn, [])
            weighed.append((stitch, note.grams or 0.0))
    return ahead


def middle(row: int, fabric: Fabric) -> int:
    """The stitch amid a row: a join logged by its row was somewhere in it."""
    before = max(0, min(row, fabric.rows) - 1)
    return before * fabric.stitches + fabric.stitches // 2


def _ended(note: Note) -> Iterator[str]:
    """The yarn of which a line ends a strand, if it does."""
    if note.what == "joined" and note.instead_of:
        yield note.instead_of
    elif note.what == "ran out":
        yield note.yarn


def _to_come(links: Links, name: str) -> Sequence[int]:
    return [k for k in links.to_come() if links[k].name == name]

"""A log followed along a plan's strands, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from kit.choices import Choices
from kit.fabric import Fabric
from kit.links import Link, Links
from kit.needle_log import LOG, Log, Note
from kit.stash import Yarn
from kit.strand_chains import strands_of
from kit.strands import N_LOOK_AHEAD
from kit.tolerance import USUAL

LATE_ROWS = 12  # a join that is not logged is only taken for made so much later (ours)


@dataclass(frozen=True, slots=True)
class Followed:
    """Where a log leads: links, the stitch reached, yarns gone, what is told."""

    links: Links
    at: int
    gone: frozenset[str]
    said: tuple[str, ...]


def follow(
    fabric: Fabric, choices: Choices, log: Log, yarns: Sequence[Yarn], sure: int = 0
) -> Followed:
    """Follow a log to its end. Up to row `sure` the plan itself tells what was."""
    walk = _Walk(fabric, sure, _links(fabric, choices, yarns))
    for note in log.notes:
        if note.what == "joined":
            walk.to_follow.setdefault(note.yarn, []).append(walk.middle(note.row))
        elif note.what == "weighed" and (note.grams or 0.0) > USUAL.scale_g:
            walk.seen[note.yarn] = walk.middle(note.row + 1)
    walk.careful = bool(walk.to_follow)
    walk.begin()
    for note in log.notes:
        walk.take(note)
    return walk.done()


def _links(fabric: Fabric, choices: Choices, yarns: Sequence[Yarn]) -> Links:
    strands = strands_of(fabric, choices)
    return Links(
        fabric.stitches, yarns, [Link(one, list(one.after)) for one in strands]
    )


@dataclass(slots=True)
class _Walk:
    """Where the log has been followed to; `follow` drives it.

    `to_follow`: places of the joins that are still to be read, by yarn. `seen`: the
    stitch up to which a yarn is still there, for a scale has shown it.
    """

    fabric: Fabric
    sure: int
    links: Links
    careful: bool = False
    to_follow: dict[str, list[int]] = field(default_factory=dict)
    seen: dict[str, int] = field(default_factory=dict)
    at: int = 0
    gone: set[str] = field(default_factory=set)
    said: list[str] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)

    @property
    def row(self) -> int:
        return self.fabric.stitches

    def middle(self, row: int) -> int:
        """The stitch amid a row: a join logged by its row was somewhere in it."""
        return max(0, min(row, self.fabric.rows) - 1) * self.row + self.row // 2

    def begin(self) -> None:
        self.at = self.sure * self.row
        self.settle(self.at)

    def done(self) -> Followed:
        self.settle(self.at)
        if self.taken:
            names = ", ".join(self.taken)
            self.said.append(f"Joins that are not in {LOG}, taken as planned: {names}.")
        return Followed(self.links, self.at, frozenset(self.gone), tuple(self.said))

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
            self.to_follow[note.yarn].pop(0)
            self.joined(note)
        else:
            self.settle(here)
            if note.what == "ran out":
                self.runs_out(note, here)
            elif note.what in ("lost", "skipped"):
                self.gone.add(note.yarn)
                self.links.drop(note.yarn, here)
        self.at = max(self.at, here)

    def tell(self, note: Note, what: str) -> None:
        self.said.append(f"{LOG}, row {note.number}: {what}")

    def joined(self, note: Note) -> None:
        links, middle = self.links, self.middle(note.row)
        if self.is_known(note):
            return
        on = links.held(note.yarn)
        if on is not None and links[on].begun == 0 and note.row <= 1:
            return  # cast on with it: so it is in the plan
        if self.is_on_already(note.yarn, middle):
            self.tell(note, f'"{note.yarn}" is on the needle already: not used.')
            return
        out, q = self.stands_for(note, middle)
        k = links.waiting(note.yarn, middle, out)
        if k is not None:
            k = self.in_turn(k, q, middle, out)
        elif q is not None:
            k = links.replaced(q, note.yarn)
        else:
            out = self.ends_next(note) if out is None else out
            k = links.put_in(note.yarn, middle, out)
        links.lag = middle - links[k].strand.first
        links.begin(k, self.exact(k, note.row, middle), out)

    def stands_for(self, note: Note, at: int) -> tuple[int | None, int | None]:
        """The strand that ended for this join, or the one to come that it replaces."""
        links, name = self.links, note.instead_of
        if not name:
            return None, None
        out = links.held(name)
        if out is None:
            out = links.just_ended(name, at)
        if out is not None:
            return out, None
        q = links.waiting(name, at)
        if q is None or not self.is_its_place(q, at):
            why = f'"{name}" is neither on the needle nor to come'
            self.tell(note, f"{why}; which strand ended is taken from the plan.")
            return None, None
        return None, q

    def is_its_place(self, q: int, at: int) -> bool:
        """Whether a strand to come may be meant here: of a ball that comes round again
        only one that is soon due."""
        if self.links[q].strand.part.n_parts == 1:
            return True
        soon = self.links.to_come()[:N_LOOK_AHEAD]
        return q in soon or self.links.far(q, at) <= LATE_ROWS * self.row

    def is_known(self, note: Note) -> bool:
        """Whether this join stands in the plan already, in the knitted part of it."""
        return note.row <= self.sure and any(
            one.name == note.yarn
            and one.begun is not None
            and abs(one.begun // self.row + 1 - note.row) <= 1
            for one in self.links.all
        )

    def is_on_already(self, name: str, at: int) -> bool:
        """Whether the strand meant is on the needle, not the ball's next part."""
        on, k = self.links.held(name), self.links.waiting(name, at)
        if on is None:
            return False
        return k is None or self.links.far(k, at) >= abs(
            at - (self.links[on].begun or 0)
        )

    def exact(self, k: int, row: int, middle: int) -> int:
        """The plan's own stitch where the join is in the plan's row."""
        first = self.links[k].strand.first
        same = first // self.row + 1 == row or (first == 0 and row <= 1)
        return first if same else middle

    def in_turn(self, k: int, q: int | None, middle: int, out: int | None) -> int:
        """The strand that is joined; one from further on changes places with the one
        whose turn it was."""
        links = self.links
        if q is not None and q != k:
            return links.swapped(k, q)
        waiting, first = links.to_come(), links[k].strand.first
        far = middle + LATE_ROWS * self.row
        soon = [j for j in waiting if j < k and links[j].strand.first > far]
        its_own = out is not None and out in links[k].after
        if soon and first > links[soon[0]].strand.first and not its_own:
            return links.swapped(k, soon[0])
        for j in waiting:
            if j < k and links[j].strand.first < first:
                nearby = waiting.index(k) - waiting.index(j) < N_LOOK_AHEAD
                late = links[j].strand.first > middle - LATE_ROWS * self.row
                waits = (nearby and late) or self.is_to_follow(j) or links.hangs(j)
                if not waits:
                    self.as_planned(j, middle)
        return k

    def ends_next(self, note: Note) -> int:
        """Of the strands on the needle the one that was to end next, and told."""
        on = [j for j, one in enumerate(self.links.all) if one.held]
        own = [j for j in on if not self.links[j].strand.carried] or on
        out = min(own, key=lambda j: self.links[j].strand.last)
        self.tell(
            note,
            f'which strand "{note.yarn}" stands for is not said: taken as '
            f'"{self.links[out].name}", which was to end next.',
        )
        return out

    def runs_out(self, note: Note, here: int) -> None:
        links, k = self.links, self.links.held(note.yarn)
        if k is not None:
            links[k].strand = replace(links[k].strand, kind="runs out")
            links.leave(k, max(0, here - self.row // 2), logged=True)
        elif any(one.name == note.yarn and one.ended for one in links.all):
            links.ran_out.add(note.yarn)
        else:
            self.tell(note, f'"{note.yarn}" is not on the needle: not used.')

    # --- what is not logged ---------------------------------------------------------

    def settle(self, here: int) -> None:
        """What the plan has up to a stitch and the log has not: taken as planned."""
        sure, links = self.sure * self.row, self.links
        late = LATE_ROWS * self.row if self.careful else 0
        for k in links.to_come():
            one, first = links[k], links[k].strand.first
            if first < sure or first == 0:
                self.as_planned(k, here, told=False)
            elif self.is_to_follow(k) or links.hangs(k):
                continue
            elif not one.after and first < here:
                self.as_planned(k, here, told=False)
            elif links.due(k) < here - late:
                self.as_planned(k, here)
        self.end_unawaited(here)

    def end_unawaited(self, here: int) -> None:
        """Strands that no join waits for end by the plan."""
        end = min(here, self.fabric.rows * self.row - 1)
        for k, one in enumerate(self.links.all):
            if one.held and one.strand.kind != "bind off":
                goes = self.goes_at(k)
                if goes <= end and not self.links.is_awaited(k):
                    self.links.leave(k, goes)

    def goes_at(self, k: int) -> int:
        """Where a strand ends if nothing is logged; one that is to run out not before
        the last of it was weighed."""
        one = self.links[k]
        goes = one.goes_at(self.row)
        parted = one.strand.part.n_parts > 1  # more of the ball lies aside
        if one.strand.kind != "runs out" or parted:
            return goes
        return max(goes, self.seen.get(one.name, 0))

    def is_to_follow(self, k: int) -> bool:
        """Whether a line still to be read is this strand's join. Of several parts of a
        ball each line takes the nearest."""
        name = self.links[k].name
        lines = self.to_follow.get(name, [])
        if not lines:
            return False
        waiting = [j for j in self.links.to_come() if self.links[j].name == name]
        if len(lines) >= len(waiting):
            return True
        return any(self.links.waiting(name, at) == k for at in lines)

    def as_planned(self, k: int, here: int, *, told: bool = True) -> None:
        at = self.links.begin_as_planned(k, here)
        if told and self.careful:
            self.taken.append(f"{self.links[k].name} (row {at // self.row + 1})")

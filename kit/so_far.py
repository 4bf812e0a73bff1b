"""The blanket as knitted so far: the plan's strands, with what the log says of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from kit.carrying import TAIL_MM
from kit.choices import Choices
from kit.fabric import Fabric
from kit.loom import set_up
from kit.needle_log import LOG, Log, Note
from kit.schedule import Part
from kit.stash import Yarn
from kit.strand_chains import Strand, strands_of
from kit.strands import N_LOOK_AHEAD
from kit.stripes import Stripe, had_mm
from kit.yardline import Yardline

LATE_ROWS = 12  # a join that is not logged is only taken for made so much later (ours)


@dataclass(frozen=True, slots=True)
class SoFar:
    """What is knitted: whole rows from the cast-on edge, stripes, who is on the needle.

    strands   the plan's, those that are begun with their stitch, in joining order;
              others may have taken a place
    ended     where each of them ended, None while it is held or to come
    gone      yarns that are lost or to be skipped
    ran_out   yarns known to have been knitted to their end
    """

    row: int
    stripes: tuple[Stripe, ...]
    strands: tuple[Strand, ...]
    ended: tuple[int | None, ...]
    gone: frozenset[str]
    ran_out: frozenset[str]
    said: tuple[str, ...]

    def __repr__(self) -> str:
        return f"SoFar(row {self.row}, held {', '.join(self.held)})"

    @property
    def on_needle(self) -> tuple[Strand, ...]:
        """Strands that are held, carried ones too, in joining order."""
        pairs = zip(self.strands, self.ended, strict=True)
        on = [s for s, end in pairs if s.begun is not None and end is None]
        return tuple(sorted(on, key=lambda one: one.begun or 0))

    @property
    def held(self) -> tuple[str, ...]:
        """Their names, without those carried along."""
        return tuple(s.part.yarn.name for s in self.on_needle if not s.carried)

    @property
    def to_come(self) -> tuple[Strand, ...]:
        """Strands not joined yet, in the plan's order."""
        return tuple(one for one in self.strands if one.begun is None)

    def used_mm(self, name: str, line: Yardline, stitch: int) -> int:
        """What a yarn has given up to a stitch, by the yarn in a stitch of `line`."""
        return sum(
            line.mm_at(min(stripe.last, stitch)) - line.mm_at(stripe.first)
            for stripe in self.stripes
            if stripe.first < stitch
            for yarn in stripe.strands + stripe.carried
            if yarn.name == name
        )


def knitted_so_far(
    fabric: Fabric, choices: Choices, log: Log, yarns: Sequence[Yarn], *, sure: int = 0
) -> SoFar:
    """Follow the log along the plan. Of what is not logged the plan is believed: with
    no joins in the log at once, with some of them a dozen rows later. Up to row `sure`
    the plan itself tells what was knitted.
    """
    walk = _Walk(fabric, choices, yarns, sure)
    walk.told_later = Counter(n.yarn for n in log.notes if n.what == "joined")
    walk.careful = bool(walk.told_later)
    for note in log.notes:
        walk.follow(note)
    return walk.done()


@dataclass(slots=True)
class _Link:
    """A strand while the log is being followed."""

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


@dataclass(slots=True)
class _Walk:
    """Where the log has been followed to; `knitted_so_far` drives it."""

    fabric: Fabric
    choices: Choices
    yarns: Sequence[Yarn]
    sure: int
    careful: bool = False
    told_later: Counter[str] = field(default_factory=Counter)
    at: int = 0
    links: list[_Link] = field(default_factory=list)
    gone: set[str] = field(default_factory=set)
    ran_out: set[str] = field(default_factory=set)
    said: list[str] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        strands = strands_of(self.fabric, self.choices)
        self.links = [_Link(one, list(one.after)) for one in strands]
        self.at = self.sure * self.row
        self.settle(self.at)

    @property
    def row(self) -> int:
        return self.fabric.stitches

    @property
    def end(self) -> int:
        return self.fabric.rows * self.row

    # --- one line -----------------------------------------------------------------

    def follow(self, note: Note) -> None:
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
            self.told_later[note.yarn] -= 1
            self.joined(note)
        else:
            self.settle(here)
            if note.what == "ran out":
                self.runs_out(note, here)
            elif note.what in ("lost", "skipped"):
                self.goes(note, here)
        self.at = max(self.at, here)

    def tell(self, note: Note, what: str) -> None:
        self.said.append(f"{LOG}, row {note.number}: {what}")

    def joined(self, note: Note) -> None:
        middle = max(0, note.row - 1) * self.row + self.row // 2
        if self.is_known(note):
            return
        if self.held(note.yarn) is not None:
            self.tell(note, f'"{note.yarn}" is on the needle already: not used.')
            return
        k, q = self.waiting(note.yarn), self.waiting(note.instead_of)
        out = self.held(note.instead_of)
        if out is None and q is None and note.instead_of:
            why = f'"{note.instead_of}" is neither on the needle nor to come'
            self.tell(note, f"{why}; which strand ended is taken from the plan.")
        if k is not None:
            k = self.in_turn(k, q, middle, out)
        elif q is not None:
            k = self.replaced(q, note.yarn)
        else:
            k = self.put_in(note, middle, out)
        self.begin(k, self.exact(k, note.row, middle), out)

    def is_known(self, note: Note) -> bool:
        """Whether this join stands in the plan already, in the knitted part of it."""
        return note.row <= self.sure and any(
            one.name == note.yarn
            and one.begun is not None
            and abs(one.begun // self.row + 1 - note.row) <= 1
            for one in self.links
        )

    def exact(self, k: int, row: int, middle: int) -> int:
        """The plan's own stitch where the join is in the plan's row."""
        first = self.links[k].strand.first
        same = first // self.row + 1 == row or (first == 0 and row <= 1)
        return first if same else middle

    def in_turn(self, k: int, q: int | None, middle: int, out: int | None) -> int:
        """The strand that is joined; one from further on changes places with the one
        whose turn it was."""
        if q is not None and q != k:
            return self.swapped(k, q)
        waiting = [j for j, one in enumerate(self.links) if one.waits]
        soon = [
            j
            for j in waiting
            if j < k and self.links[j].strand.first > middle + LATE_ROWS * self.row
        ]
        its_own = out is not None and out in self.links[k].after
        later = soon and self.links[k].strand.first > self.links[soon[0]].strand.first
        if later and not its_own:
            return self.swapped(k, soon[0])
        for j in waiting:
            one = self.links[j]
            if j < k and one.strand.first < self.links[k].strand.first:
                nearby = waiting.index(k) - waiting.index(j) < N_LOOK_AHEAD
                late = one.strand.first > middle - LATE_ROWS * self.row
                if not (nearby and late):
                    self.as_planned(j, middle)
        return k

    def swapped(self, k: int, q: int) -> int:
        one, two = self.links[k].strand, self.links[q].strand
        self.links[k].strand = replace(one, part=two.part)
        self.links[q].strand = replace(two, part=one.part)
        return q

    def replaced(self, q: int, name: str) -> int:
        link = self.links[q]
        part = self.whole_ball(name, link.strand.first, link.strand.last)
        kind = "runs out" if link.strand.kind != "bind off" else "bind off"
        link.strand = replace(link.strand, part=part, kind=kind)
        return q

    def put_in(self, note: Note, at: int, out: int | None) -> int:
        """A strand the plan has not: it goes before those that waited for the one it
        stands for."""
        if out is None:
            on = [j for j, one in enumerate(self.links) if one.held]
            own = [j for j in on if not self.links[j].strand.carried] or on
            out = min(own, key=lambda j: self.links[j].strand.last)
            self.tell(
                note,
                f'which strand "{note.yarn}" stands for is not said: taken as '
                f'"{self.links[out].name}", which was to end next.',
            )
        old = self.links[out]
        k = len(self.links)
        for one in self.links:
            one.after = [k if j == out else j for j in one.after]
        last = max(old.strand.last, at + 1)
        part = self.whole_ball(note.yarn, at, last)
        kind = "bind off" if old.strand.kind == "bind off" else "runs out"
        strand = Strand(part, at, last, kind, (out,))
        self.links.append(_Link(strand, [out]))
        if old.strand.kind == "bind off":
            old.strand = replace(old.strand, kind="runs out")
        self.begin(k, at, out)
        return k

    def whole_ball(self, name: str, first: int, last: int) -> Part:
        yarn = next(yarn for yarn in self.yarns if yarn.name == name)
        had = had_mm(yarn)
        return Part(yarn, 1, 1, first, last, had, min(had, TAIL_MM), 0)

    def begin(self, k: int, at: int, out: int | None = None) -> None:
        link = self.links[k]
        self.one_at_a_time(k, at)
        link.begun = at
        leaves = [j for j in link.after if self.links[j].held]
        if out is not None and out not in leaves and self.links[out].held:
            if leaves:  # another strand has ended: those after it wait for this one now
                for one in self.links:
                    if one.waits:
                        one.after = [leaves[0] if j == out else j for j in one.after]
            leaves = [out]
        for j in leaves:
            self.leave(j, at, logged=True)

    def one_at_a_time(self, k: int, at: int) -> None:
        """Where a later part of a ball begins its earlier one has ended."""
        before = self.held(self.links[k].name)
        if before is not None and before != k:
            self.leave(before, at)

    def leave(self, j: int, at: int, *, logged: bool = False) -> None:
        one = self.links[j]
        one.ended = max(at, one.begun or 0)
        if logged and one.strand.kind == "runs out":
            self.ran_out.add(one.name)

    def runs_out(self, note: Note, here: int) -> None:
        k = self.held(note.yarn)
        if k is None:
            if any(one.name == note.yarn and one.ended for one in self.links):
                self.ran_out.add(note.yarn)
            else:
                self.tell(note, f'"{note.yarn}" is not on the needle: not used.')
            return
        self.links[k].strand = replace(self.links[k].strand, kind="runs out")
        self.leave(k, max(0, here - self.row // 2), logged=True)

    def goes(self, note: Note, here: int) -> None:
        self.gone.add(note.yarn)
        for k, one in enumerate(self.links):
            if one.name != note.yarn:
                continue
            if one.held:
                one.ended = here
            elif one.waits:
                one.gone = True
                for other in self.links:
                    if k in other.after:
                        kept = [j for j in other.after if j != k]
                        other.after = [*kept, *one.after]

    def held(self, name: str) -> int | None:
        return next(
            (k for k, one in enumerate(self.links) if one.name == name and one.held),
            None,
        )

    def waiting(self, name: str) -> int | None:
        return next(
            (k for k, one in enumerate(self.links) if one.name == name and one.waits),
            None,
        )

    # --- what is not logged ---------------------------------------------------------

    def settle(self, here: int) -> None:
        """What the plan has up to a stitch and the log has not: taken as planned."""
        sure = self.sure * self.row
        late = LATE_ROWS * self.row if self.careful else 0
        for k, one in enumerate(self.links):
            if not one.waits:
                continue
            first = one.strand.first
            freed = [self.links[j].ended or 0 for j in one.after if self.links[j].ended]
            if first < sure or first == 0 or (not one.after and first < here):
                self.as_planned(k, here, told=False)
            elif self.told_later[one.name] > 0:
                continue
            elif min(first, max(freed, default=first)) < here - late:
                self.as_planned(k, here)
        for one in self.links:
            follows = any(self.links.index(one) in other.after for other in self.links)
            over = one.strand.last <= min(here, self.end - 1)
            if one.held and not follows and over and one.strand.kind != "bind off":
                one.ended = one.strand.last

    def as_planned(self, k: int, here: int, *, told: bool = True) -> None:
        one = self.links[k]
        freed = [self.links[j].ended or 0 for j in one.after if self.links[j].ended]
        at = min(one.strand.first, here)
        if freed:
            at = max(freed)
        self.one_at_a_time(k, at)
        one.begun = at
        for j in one.after:
            if self.links[j].held:
                self.links[j].ended = max(at, self.links[j].begun or 0)
        if told and self.careful:
            self.taken.append(f"{one.name} (row {at // self.row + 1})")

    # --- the answer -----------------------------------------------------------------

    def done(self) -> SoFar:
        self.settle(self.at)
        if self.taken:
            names = ", ".join(self.taken)
            self.said.append(f"Joins that are not in {LOG}, taken as planned: {names}.")
        kept = {k for k, one in enumerate(self.links) if not one.gone}
        place = {k: n for n, k in enumerate(sorted(kept, key=self._order))}
        links = sorted((self.links[k] for k in kept), key=lambda o: self._order_of(o))
        strands = tuple(
            replace(
                one.strand,
                begun=one.begun,
                after=tuple(place[j] for j in one.after if j in place),
            )
            for one in links
        )
        row = min(self.at // self.row, self.fabric.rows)
        ended = tuple(one.ended for one in links)
        stripes = tuple(self.stripes(strands, ended, row * self.row))
        gone, out = frozenset(self.gone), frozenset(self.ran_out)
        return SoFar(row, stripes, strands, ended, gone, out, tuple(self.said))

    def _order(self, k: int) -> tuple[int, int]:
        one = self.links[k]
        return (one.strand.first if one.begun is None else one.begun), k

    def _order_of(self, link: _Link) -> tuple[int, int]:
        return self._order(self.links.index(link))

    def stripes(
        self, strands: Sequence[Strand], ended: Sequence[int | None], end: int
    ) -> Iterator[Stripe]:
        """What is held between each two changes, up to a stitch."""
        line = set_up(self.choices.making).line
        spans = [
            (one, one.begun, end if last is None else min(last, end))
            for one, last in zip(strands, ended, strict=True)
            if one.begun is not None and one.begun < end and not one.carried
        ]
        along = [  # carried yarns keep to the plan's rows, with the gaps they have
            (yarn, stripe.first, min(stripe.last, end))
            for stripe in self.fabric.stripes
            for yarn in stripe.carried
            if stripe.first < end and yarn.name not in self.gone
        ]
        cuts = (
            two.first
            for one, two in pairwise(self.fabric.stripes)
            if one.strands == two.strands and one.carried == two.carried
            if two.first < end
        )
        changes = (e for _, a, b in (*spans, *along) for e in (a, b))
        edges = sorted({0, end, *changes, *cuts})
        anew = {stripe.first for stripe in self.fabric.stripes if stripe.anew}
        for first, last in zip(edges, edges[1:], strict=False):
            own = tuple(s.part.yarn for s, a, b in spans if a <= first < b)
            beside = tuple(yarn for yarn, a, b in along if a <= first < b)
            own = self.in_plan_order(own, first)
            if own:
                mm = line.mm_at(last) - line.mm_at(first)
                yield Stripe(
                    first, last, self.row, own, beside, mm / 1000, first in anew
                )

    def in_plan_order(self, own: tuple[Yarn, ...], at: int) -> tuple[Yarn, ...]:
        """Strands held together as the plan lists them, where it has the same ones."""
        lies = (s.strands for s in self.fabric.stripes if s.first <= at < s.last)
        planned = next(lies, ())
        return planned if Counter(planned) == Counter(own) else own

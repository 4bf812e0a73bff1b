"""The blanket as knitted so far: the plan's strands, with what the log says of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from kit.blanket import Choices, Yarn
from kit.fabric import Fabric, Stripe
from kit.fabric.setup import set_up
from kit.fabric.strand_chains import Strand
from kit.needles.log import Log
from kit.needles.replay import replay_log
from kit.needles.strand_timeline import StrandTimeline
from kit.yarn.stitch_lengths import StitchLengths


@dataclass(frozen=True, slots=True)
class Knitted:
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
    sentences: tuple[str, ...]

    def __repr__(self) -> str:
        return f"Knitted(row {self.row}, held {', '.join(self.held)})"

    @property
    def with_ends(self) -> tuple[tuple[Strand, int | None], ...]:
        """Every strand with where it ended."""
        return tuple(zip(self.strands, self.ended, strict=True))

    def of_yarn(self, name: str) -> list[tuple[Strand, int | None]]:
        """The same of one yarn's strands."""
        return [pair for pair in self.with_ends if pair[0].part.yarn.name == name]

    @property
    def on_needle(self) -> tuple[Strand, ...]:
        """Strands that are held, carried ones too, in joining order."""
        on = [s for s, end in self.with_ends if s.begun is not None and end is None]
        return tuple(sorted(on, key=lambda one: one.begun or 0))

    @property
    def held(self) -> tuple[str, ...]:
        """Their names, without those carried along."""
        return tuple(s.part.yarn.name for s in self.on_needle if not s.carried)

    @property
    def to_come(self) -> tuple[Strand, ...]:
        """Strands not joined yet, in the plan's order."""
        return tuple(one for one in self.strands if one.begun is None)

    def used_mm(self, name: str, lengths: StitchLengths, stitch: int) -> int:
        """What a yarn has given up to a stitch, by the yarn in a stitch of these."""
        return sum(
            lengths.mm_between(stripe.first, min(stripe.last, stitch))
            for stripe in self.stripes
            if stripe.first < stitch
            for yarn in stripe.strands + stripe.carried
            if yarn.name == name
        )


def knitted_by_log(
    fabric: Fabric, choices: Choices, log: Log, yarns: Sequence[Yarn], *, sure: int = 0
) -> Knitted:
    """Follow the log along the plan. Of what is not logged the plan is believed: with
    no joins in the log at once, with some of them a dozen rows later. Up to row `sure`
    the plan itself tells what was knitted.
    """
    followed = replay_log(fabric, choices, log, yarns, sure)
    timeline, row = followed.timeline, fabric.stitches
    order = _in_order(timeline)
    strands = _strands(timeline, order)
    ended = tuple(timeline[k].ended for k in order)
    rows = min(followed.at // row, fabric.rows)
    stripes = tuple(
        _stripes(fabric, choices, strands, ended, followed.gone, rows * row)
    )
    out = frozenset(timeline.ran_out)
    return Knitted(
        rows, stripes, strands, ended, followed.gone, out, followed.sentences
    )


def _in_order(timeline: StrandTimeline) -> list[int]:
    """Links that are not gone, in the order in which they are joined."""

    def joined(k: int) -> tuple[int, int]:
        one = timeline[k]
        return (one.strand.first if one.begun is None else one.begun), k

    kept = (k for k, one in enumerate(timeline.all) if not one.gone)
    return sorted(kept, key=joined)


def _strands(timeline: StrandTimeline, order: Sequence[int]) -> tuple[Strand, ...]:
    place = {k: n for n, k in enumerate(order)}
    return tuple(
        replace(
            timeline[k].strand,
            begun=timeline[k].begun,
            after=tuple(place[j] for j in timeline[k].after if j in place),
        )
        for k in order
    )


def _stripes(
    fabric: Fabric,
    choices: Choices,
    strands: Sequence[Strand],
    ended: Sequence[int | None],
    gone: frozenset[str],
    end: int,
) -> Iterator[Stripe]:
    """What is held between each two changes, up to a stitch."""
    lengths = set_up(choices.making).lengths
    spans = [
        (one, one.begun, end if last is None else min(last, end))
        for one, last in zip(strands, ended, strict=True)
        if one.begun is not None and one.begun < end and not one.carried
    ]
    along = [  # carried yarns keep to the plan's rows, with the gaps they have
        (yarn, stripe.first, min(stripe.last, end))
        for stripe in fabric.stripes
        for yarn in stripe.carried
        if stripe.first < end and yarn.name not in gone
    ]
    cuts = (
        two.first
        for one, two in pairwise(fabric.stripes)
        if one.strands == two.strands and one.carried == two.carried
        if two.first < end
    )
    changes = (e for _, a, b in (*spans, *along) for e in (a, b))
    edges = sorted({0, end, *changes, *cuts})
    restart = {stripe.first for stripe in fabric.stripes if stripe.restart}
    for first, last in zip(edges, edges[1:], strict=False):
        own = tuple(s.part.yarn for s, a, b in spans if a <= first < b)
        beside = tuple(yarn for yarn, a, b in along if a <= first < b)
        own = _in_plan_order(own, fabric, first)
        if own:
            mm = lengths.mm_between(first, last)
            yield Stripe(
                first, last, fabric.stitches, own, beside, mm / 1000, first in restart
            )


def _in_plan_order(own: tuple[Yarn, ...], fabric: Fabric, at: int) -> tuple[Yarn, ...]:
    """Strands held together as the plan lists them, where it has the same ones."""
    lies = (s.strands for s in fabric.stripes if s.first <= at < s.last)
    planned = next(lies, ())
    return planned if Counter(planned) == Counter(own) else own

"""A blanket that is begun: what its balls have left, and the whole of it again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from kit.blanket import Choices, Yarn
from kit.fabric.carrying import TAIL_MM
from kit.fabric.fabric import Fabric, Start, Use
from kit.fabric.fabric_sums import missing, used_mm_of
from kit.fabric.setup import BIND_OFF_ROWS, CAST_ON_ROWS, Loom, set_up
from kit.fabric.stripes import Stripe, initial_mm


def continued(fabric: Fabric, start: Start, choices: Choices) -> Fabric:
    """The whole blanket: what is knitted as it was, and the fabric from there on.

    kept + used + left = had for every yarn, knitted part and rest together.
    """
    if not start.knitted:
        return fabric
    loom = set_up(choices.making)
    stripes = _end_to_end(start.knitted, fabric.stripes)
    said = () if loom.rows and start.row >= loom.rows else fabric.sentences
    return replace(
        fabric,
        stripes=stripes,
        uses=_uses_in_all(fabric, start, loom),
        short=missing(fabric.rows, loom, stripes, choices.making),
        sentences=said,
    )


def left_after(yarn: Yarn, start: Start, loom: Loom) -> Yarn:
    """A yarn with what is left of it after the knitted part."""
    gone = used_mm_of(start.knitted, yarn.name)
    left = initial_mm(yarn) - gone - _kept_so_far(yarn, start, loom)
    return replace(yarn, metres=max(0, left) / 1000)


def as_had(fabric: Fabric, full: dict[str, Yarn]) -> Fabric:
    """The fabric with its yarns as they were before the knitted part."""

    def whole(yarns: tuple[Yarn, ...]) -> tuple[Yarn, ...]:
        return tuple(full[yarn.name] for yarn in yarns)

    stripes = tuple(
        replace(stripe, strands=whole(stripe.strands), carried=whole(stripe.carried))
        for stripe in fabric.stripes
    )
    uses = []
    for use in fabric.uses:
        yarn = full[use.yarn.name]
        uses.append(replace(use, yarn=yarn, initial_mm=initial_mm(yarn)))
    return replace(fabric, stripes=stripes, uses=tuple(uses))


def _end_to_end(done: Sequence[Stripe], coming: Sequence[Stripe]) -> tuple[Stripe, ...]:
    """Knitted stripes and those to come; one that goes on is one stripe."""
    if not (done and coming) or not _same_strands(done[-1], coming[0]):
        return (*done, *coming)
    metres = round(done[-1].metres_each + coming[0].metres_each, 3)
    on = replace(done[-1], last=coming[0].last, metres_each=metres)
    return (*done[:-1], on, *coming[1:])


def _same_strands(one: Stripe, two: Stripe) -> bool:
    own = Counter(one.strands) == Counter(two.strands)
    return own and Counter(one.carried) == Counter(two.carried)


def _kept_so_far(yarn: Yarn, start: Start, loom: Loom) -> int:
    """Cast-on, and a tail for every time the yarn was joined and has ended."""
    stripes, name = start.knitted, yarn.name
    spells, carried, before = 0, False, False
    for stripe in stripes:
        on = any(one.name == name for one in stripe.strands)
        spells += on and not before
        carried = carried or any(one.name == name for one in stripe.carried)
        before = on
    if before and name in start.held:
        spells -= 1  # on the needle: its tail is kept back with what is to come
    edge = CAST_ON_ROWS * loom.line.mm_at(loom.stitches)
    begins = any(one.name == name for one in stripes[0].strands)
    kept = TAIL_MM * (spells + (carried and not spells)) + edge * begins
    return min(kept, max(0, initial_mm(yarn) - used_mm_of(stripes, name)))


def _uses_in_all(fabric: Fabric, start: Start, loom: Loom) -> tuple[Use, ...]:
    coming = {use.yarn.name: use for use in fabric.uses}
    knitted = {
        yarn.name: yarn
        for stripe in start.knitted
        for yarn in stripe.strands + stripe.carried
    }
    edge = BIND_OFF_ROWS * loom.line.mm_at(loom.stitches)
    uses = []
    for name, yarn in ({n: use.yarn for n, use in coming.items()} | knitted).items():
        used, kept, had = used_mm_of(start.knitted, name), 0, initial_mm(yarn)
        if used:
            kept = _kept_so_far(yarn, start, loom)
        use = coming.get(name)
        if use and use.used_mm:
            used, kept = used + use.used_mm, kept + use.kept_mm
        elif name in start.held:
            kept += TAIL_MM + (edge if not fabric.stripes else 0)
        uses.append(Use(yarn, had, max(0, min(kept, had - used)), used))
    return tuple(uses)

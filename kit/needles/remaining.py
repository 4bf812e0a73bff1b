"""What is left to knit: balls as they are believed to be now, strands as they lie."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from kit.blanket import Choices, Stash, Yarn
from kit.colour.difference import pair_steps
from kit.fabric import Start, Stripe
from kit.fabric.fabric import Ahead
from kit.fabric.setup import set_up
from kit.fabric.strand_chains import Strand
from kit.fabric.stripes import initial_mm
from kit.needles.knitted import Knitted
from kit.needles.progress import BallState, Progress
from kit.needles.replan_choices import ReplanChoices
from kit.plan import Plan


def stash_now(
    stash: Stash, choices: Choices, now: Progress, wanted: ReplanChoices
) -> Stash:
    """The stash with `yarns_now`; itself where nothing is believed otherwise."""
    yarns = yarns_now(stash.yarns, choices, now, wanted)
    return stash if yarns == stash.yarns else replace(stash, yarns=yarns)


def yarns_now(
    yarns: Sequence[Yarn], choices: Choices, now: Progress, wanted: ReplanChoices
) -> tuple[Yarn, ...]:
    """The yarns with what they had, as is believed now: knitted and left add to it.

    One that is taken in or on the needle is a yarn in use, whatever its role was.
    """
    lengths = set_up(choices.making).lengths
    end = now.knitted.row * lengths.stitches
    left = {ball.yarn.name: ball for ball in now.balls}
    on = {one.part.yarn.name for one in now.knitted.on_needle if now.knitted.row}
    found = []
    for yarn in yarns:
        ball = left.get(yarn.name)
        used = now.knitted.used_mm(yarn.name, lengths, end)
        had = initial_mm(yarn)
        if ball is not None and yarn.metres and (ball.initial_mm != had or used):
            had = max(ball.initial_mm - ball.knitted_mm + used, used)
        if had != initial_mm(yarn):
            yarn = replace(yarn, metres=had / 1000)
        if yarn.role != "use" and (yarn.name in wanted.add or yarn.name in on):
            yarn = replace(yarn, role="accent" if yarn.role == "accent" else "use")
        found.append(yarn)
    return tuple(found)


def start_now(
    stash: Stash,
    shop: Sequence[Yarn],
    choices: Choices,
    now: Progress,
    wanted: ReplanChoices,
    changes: Mapping[str, Any],
) -> Start:
    """Where the rest begins: strands on the needle, yarns that are over or gone, what
    is knitted at the pace measured; `changes` hold from here on."""
    knitted = now.knitted
    away = knitted.gone | set(wanted.drop)
    held = tuple(name for name in knitted.held if name not in away and knitted.row)
    coming = {one.part.yarn.name for one in knitted.to_come}
    done = {one.part.yarn.name for one, end in knitted.with_ends if end is not None}
    kept = {one.part.yarn.name for one in knitted.on_needle} | coming | set(wanted.add)
    if wanted.leftovers:
        off = [one for one in now.balls if one.state is BallState.BROKEN_OFF]
        kept |= {ball.yarn.name for ball in off}
    finished = (away | (done - kept)) - set(wanted.add)
    yarns = {yarn.name: yarn for yarn in (*shop, *stash.yarns)}
    stripes = tuple(_again(stripe, yarns, choices) for stripe in knitted.stripes)
    return Start(
        knitted.row,
        held,
        tuple(sorted(finished)),
        stripes if knitted.row else (),
        (),
        tuple(sorted(changes.items())),
    )


def _again(stripe: Stripe, yarns: Mapping[str, Yarn], choices: Choices) -> Stripe:
    """A knitted stripe with the yarns as believed now, at the pace measured."""
    lengths = set_up(choices.making).lengths
    mm = lengths.mm_between(stripe.first, stripe.last)
    return replace(
        stripe,
        strands=tuple(yarns[yarn.name] for yarn in stripe.strands),
        carried=tuple(yarns[yarn.name] for yarn in stripe.carried),
        metres_each=mm / 1000,
    )


# --- in order -------------------------------------------------------------------------


def as_they_lie(
    stash: Stash,
    shop: Sequence[Yarn],
    choices: Choices,
    start: Start,
    now: Progress,
    before: Plan,
    wanted: ReplanChoices,
) -> tuple[Ahead, ...]:
    """The strands on the needle and to come as they lie, new ones put in where they
    fit best. Bridges not begun yet are left out, to be chosen anew."""
    by_hand = {kept.yarn for kept in choices.bridging.bridges_kept}
    on = [s for s in now.knitted.on_needle if s.part.yarn.name in start.held]
    coming = [
        one
        for one in now.knitted.to_come
        if one.part.yarn.name not in start.finished
        and not one.carried
        and (one.part.yarn.role != "bridge" or one.part.yarn.name in by_hand)
    ]
    times = _times(before, now.knitted.strands)
    left = {ball.yarn.name: ball.left_mm for ball in now.balls}
    lie = [
        Ahead(
            one.part.yarn.name,
            _part(one, [*on, *coming], left, now.knitted),
            times.get((one.part.yarn.name, one.part.number), 0),
        )
        for one in (*on, *coming)
    ]
    yarns = {yarn.name: yarn for yarn in (*shop, *stash.yarns)}
    there = {one.yarn for one in lie}
    for name in wanted.add:
        if name not in there:
            lie = _put_in(lie, len(on), yarns[name], yarns, choices)
    return tuple(lie)


def _part(
    one: Strand, rest: Sequence[Strand], left: Mapping[str, int], knitted: Knitted
) -> float:
    """Which part of what is left of its ball a strand is: parts wound off for later
    are what they were; the one on the needle has the rest, and so has the last one
    where those before it have run out."""
    name = one.part.yarn.name
    own = [s for s in rest if s.part.yarn.name == name]
    later = {s.part.number: s.part.mm - s.part.kept_mm for s in own if s.begun is None}
    if len(own) == 1:
        if one.begun is not None or not _broken_off(one, knitted):
            return 1.0
        usable = left.get(name, 0) - one.part.kept_mm
        return min(1.0, later[one.part.number] / max(1, usable))
    on = max(0, left.get(name, 0) - sum(later.values()))
    if one.begun is not None:
        return on / max(1, on + sum(later.values()))
    held = on if any(s.begun is not None for s in own) else 0
    return later[one.part.number] / max(1, held + sum(later.values()))


def _broken_off(one: Strand, knitted: Knitted) -> bool:
    """Whether something is left of an earlier part of the ball, which lies aside."""
    return any(
        end is not None and strand.kind == "break off"
        for strand, end in knitted.of_yarn(one.part.yarn.name)
    )


def _times(before: Plan, strands: Sequence[Strand]) -> dict[tuple[str, int], int]:
    """Which time through each part of a ball to come belongs to.

    Two places of a ball that adjoin are knitted as one part, so the nearest places of
    a ball are taken together until there are as many as parts.
    """
    assert before.fabric is not None
    begun = before.start.row * before.fabric.stitches
    times: dict[tuple[str, int], int] = {}
    for name, places in _places(before).items():
        parts = {s.part.number for s in strands if s.part.yarn.name == name
                 and s.part.last > begun}  # fmt: skip
        while len(places) > max(1, len(parts)):
            gaps = [two - one for (one, _), (two, _) in pairwise(places)]
            del places[gaps.index(min(gaps)) + 1]
        ends = zip(sorted(parts)[::-1], places[::-1], strict=False)
        times |= {(name, number): time for number, (_, time) in ends}
    return times


def _places(before: Plan) -> dict[str, list[tuple[int, int]]]:
    """Where each yarn lies along a plan: its places, and which time through each is."""
    if before.start.ahead:
        order = [(one.yarn, one.time) for one in before.start.ahead]
    else:
        laid, time, order = before.design.laid, 0, []
        for k, yarn in enumerate(laid.yarns):
            order.append((yarn.name, time))
            time += k in laid.joins
    places: dict[str, list[tuple[int, int]]] = {}
    for k, (name, time) in enumerate(order):
        places.setdefault(name, []).append((k, time))
    return places


def _put_in(
    lie: list[Ahead],
    first: int,
    yarn: Yarn,
    yarns: Mapping[str, Yarn],
    choices: Choices,
) -> list[Ahead]:
    """A yarn put where it makes the larger of its two steps smallest."""

    def worse(at: int) -> float:
        beside = [yarns[one.yarn] for one in (*lie[at - 1 : at], *lie[at : at + 1])]
        view = choices.judging.view
        steps = [pair_steps([yarn.mix], [b.mix], view=view)[0] for b in beside]
        return max((float(step) for step in steps), default=0.0)

    at = min(range(max(1, first), len(lie) + 1), key=worse, default=len(lie))
    time = lie[at - 1].time if lie[at - 1 : at] else 0
    return [*lie[:at], Ahead(yarn.name, 1.0, time), *lie[at:]]

"""Strands as chains: each joins where another ends; drawn blankets knitted by them.

Every strand is one link: where it ends is where the lengths before it add up to. So a
few thousand blankets, each with its own drawn balls and pace, are knitted at once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from kit.blanket import Choices, Yarn
from kit.fabric.fabric import Fabric
from kit.fabric.posterior import BallDoubt, Posterior, ball_doubt, drawn, normal_prior
from kit.fabric.schedule import BallPart, rows_to_knit, weight_g
from kit.fabric.strands import ROWS_APART
from kit.fabric.stripes import initial_mm, yarn_tex
from kit.fabric.tolerance import (
    USUAL,
    Limits,
    day_limit,
    label_limit,
    pace_doubts,
    standard,
    together,
)
from kit.yarn.stitch_lengths import StitchLengths

N_DRAWS = 4000  # a chance is then sure to 0.8 of 100, a standard error
SEED = 20
LEAST_DRAWS = 50  # that agree with what is known; fewer say too little of a range


@dataclass(frozen=True, slots=True)
class Strand:
    """One ball or part of one along the blanket, and what it waits for.

    `first` and `last` stitch by the plan, `kind` of its end as in the schedule. It
    joins at the end of any strand of `after`; none at the cast-on edge. `begun`: the
    stitch where it really was joined, None where that is to come. `spent_m`: where all
    earlier parts of its ball are knitted up, what they took by the plan's yarn in a
    stitch, so that it has the rest of the ball.
    """

    part: BallPart
    first: int
    last: int
    kind: str
    after: tuple[int, ...]
    carried: bool = False
    begun: int | None = None
    spent_m: float | None = None


# --- the chain of strands -------------------------------------------------------------


def strands_of(fabric: Fabric, choices: Choices) -> tuple[Strand, ...]:
    """A fabric's balls and parts in the order in which they are joined."""
    strands: list[Strand] = []
    gone: list[BallPart] = []
    place: dict[BallPart, int] = {}
    for entry in rows_to_knit(fabric, choices):
        waits = _waiting(gone, [c.part for c in entry.joins if c.part not in place])
        for change in entry.joins:
            part = change.part
            if part in place:  # carried, and taken up again
                continue
            carried = change.kind == "carry"
            after = () if carried else tuple(place[one] for one in waits[part])
            place[part] = len(strands)
            strands.append(Strand(part, part.first, part.last, "", after, carried))
        gone = []
        for change in entry.ends:
            if change.kind == "lay down":
                continue
            k = _ends_here(change.part, place, strands)
            last = change.part.last
            strands[k] = replace(strands[k], kind=change.kind, last=last)
            if not strands[k].carried:
                gone.append(strands[k].part)
    return tuple(strands)


def _ends_here(
    part: BallPart, place: dict[BallPart, int], strands: Sequence[Strand]
) -> int:
    """The strand of a part; where two parts of a ball lie beside each other they are
    one strand to whoever joins, and end as the later one does."""
    if part in place:
        return place[part]
    own = (k for k, one in enumerate(strands) if one.part.yarn == part.yarn)
    return max(own)


def _waiting(
    gone: Sequence[BallPart], come: Sequence[BallPart]
) -> dict[BallPart, list[BallPart]]:
    """Who joins at whose end: one for one, several at the one end, one at any of
    several."""
    if not gone:
        return {part: [] for part in come}
    if len(come) < len(gone):
        return {part: list(gone) for part in come}
    return {part: [gone[min(k, len(gone) - 1)]] for k, part in enumerate(come)}


# --- drawn blankets -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Knits:
    """Drawn blankets, one a row: where strands join and end and how far the yarn
    lasts, all in metres of one strand by the plan's yarn in a stitch. `pace` is the
    yarn in a stitch as a multiple of the plan's."""

    joins: np.ndarray
    ends: np.ndarray
    lasts: np.ndarray
    pace: np.ndarray


def knit_drawn(
    strands: Sequence[Strand],
    posterior: Posterior,
    lengths: StitchLengths,
    *,
    now: int = 0,
    n: int = N_DRAWS,
    seed: int = SEED,
) -> Knits:
    """Knit on from stitch `now`, as often as drawn.

    Draws in which a ball on the needle would have run out already are left out. Only
    the balls of these strands are drawn, in their order: the same strands and the same
    posterior give the same knittings, whatever else lies in the stash.
    """
    posterior = posterior.of(list(dict.fromkeys(one.part.yarn.name for one in strands)))
    rng = np.random.default_rng(seed)
    x = drawn(posterior, n, rng)
    winds = {s.part: rng.standard_normal(n) for s in strands if s.part.number > 1}
    at_m = metres_at(lengths)
    now_m = at_m(now)
    joins, ends, empty = (np.empty((n, len(strands))) for _ in range(3))
    for k, strand in enumerate(strands):
        joins[:, k] = _joined(strand, ends, at_m, now_m)
        j = posterior.at(strand.part.yarn.name)
        usable = _usable(strand, posterior, x, winds)
        empty[:, k] = joins[:, k] + usable / (1 + x[:, 0] + x[:, j + 2])
        goes = _goes(strand, joins[:, k], lengths)
        ends[:, k] = np.minimum(empty[:, k], np.maximum(goes, now_m))
    last = [k for k, one in enumerate(strands) if one.kind == "bind off"]
    lasts = ends[:, last].min(axis=1) if last else np.full(n, now_m)
    on = [k for k, one in enumerate(strands) if one.begun is not None]
    kept = (empty[:, on] >= now_m).all(axis=1) & (x[:, 0] > -0.9)
    if kept.sum() < min(LEAST_DRAWS, n):
        kept[:] = True
        ends, lasts = np.maximum(ends, now_m), np.maximum(lasts, now_m)
    return Knits(joins[kept], ends[kept], lasts[kept], 1 + x[kept, 0])


def metres_at(lengths: StitchLengths) -> Callable[[int], float]:
    """Stitches knitted to metres of one strand, by the plan's yarn in a stitch."""
    return lambda stitch: lengths.mm_at(int(stitch)) / 1000


def _joined(
    strand: Strand, ends: np.ndarray, at_m: Callable[[int], float], now_m: float
) -> np.ndarray:
    n = len(ends)
    if strand.begun is not None:
        return np.full(n, at_m(strand.begun))
    if strand.after:
        return np.maximum(ends[:, list(strand.after)].min(axis=1), now_m)
    return np.full(n, max(at_m(strand.first), now_m))


def _goes(strand: Strand, joins: np.ndarray, lengths: StitchLengths) -> np.ndarray:
    """Where a strand goes though yarn is left, metres: one that is to be broken off at
    its row, or four rows after its own join where that comes later; others nowhere."""
    if strand.kind != "break off" and not strand.carried:
        return np.full(len(joins), np.inf)
    at_m = metres_at(lengths)
    planned_m = at_m(strand.last)
    least_m = min(planned_m - at_m(strand.first), at_m(ROWS_APART * lengths.stitches))
    return np.maximum(planned_m, joins + least_m)


def _usable(
    strand: Strand,
    posterior: Posterior,
    x: np.ndarray,
    winds: Mapping[BallPart, np.ndarray],
) -> np.ndarray:
    """What a ball or a part of one gives, metres.

    Later parts are wound off by weight on the same scale: a label that promises too
    many metres makes them shorter. The first part is what remains of the ball.
    """
    part = strand.part
    at = posterior.at(part.yarn.name)
    ball = posterior.balls[(at - 1) // 3]
    length, tex, tension = (x[:, at + k] for k in range(3))
    whole, kept = ball.metres * (1 + length), part.kept_mm / 1000
    if strand.spent_m is not None:
        return np.maximum(0.0, whole - strand.spent_m * (1 + x[:, 0] + tension) - kept)
    if part.n_parts == 1:
        return np.maximum(0.0, whole - kept)
    as_read = ball.metres / max(1e-9, initial_mm(part.yarn) / 1000)
    wound = {
        one: one.mm / 1000 * as_read * (1 - tex) + error * _wound_m(one)
        for one, error in winds.items()
        if one.yarn.name == part.yarn.name
    }
    mine = wound[part] if part in wound else whole - sum(wound.values(), 0.0)
    return np.maximum(0.0, mine - kept)


def _wound_m(part: BallPart) -> float:
    """By how much a part may be off that is wound off by the scale, metres."""
    return standard(USUAL.scale_g) * 1000 / yarn_tex(part.yarn)


# --- what is doubted ------------------------------------------------------------------


def prior(
    yarns: Sequence[Yarn],
    choices: Choices,
    limits: Limits = USUAL,
    *,
    fabric: Fabric | None = None,
    of_pace: Limits | None = None,
) -> Posterior:
    """What is believed before a stitch is knitted, of these yarns. `fabric`: what is
    knitted of them, whose yarns the pace is of; else of all. `limits` are of the balls,
    and of the pace where `of_pace` has no others."""
    measured = [yarn for yarn in yarns if yarn.metres]
    knitted = [use.yarn for use in fabric.uses] if fabric else measured
    doubts = pace_doubts(choices.making, knitted, of_pace or limits)
    balls = [_doubt(yarn, limits) for yarn in measured]
    return normal_prior(together(list(doubts.values())), balls)


def _doubt(yarn: Yarn, limits: Limits) -> BallDoubt:
    assert yarn.metres is not None
    by_label = (yarn.grams or 0.0) * yarn.label.metres_per_100g / 100
    taped = not yarn.grams or abs(by_label - yarn.metres) > 1e-6 * yarn.metres
    return ball_doubt(
        yarn.name,
        yarn.metres,
        weight_g(yarn, 1000.0),
        scale=standard(limits.scale_g) / yarn.grams if yarn.grams else 0.0,
        label=standard(label_limit(yarn) * limits.label),
        tape=standard(limits.tape) if taped else None,
        tension=standard(limits.tension),
        day=standard(day_limit(yarn) * limits.moisture),
    )

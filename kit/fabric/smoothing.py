"""An order of yarns judged by the fabric it makes: the steps between its stripes."""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from math import inf

import numpy as np

from kit.arrangement import lay_out
from kit.arrangement.layout import shared_in
from kit.blanket import Choices, Yarn
from kit.colour import ciede2000, mean_lab, step_table
from kit.colour.difference import at_view
from kit.colour.spaces import lab_to_xyz, xyz_to_lab
from kit.colour.steps import largest_step
from kit.fabric.ball_shares import Task, restarts
from kit.fabric.mirror_reach import knit_well
from kit.fabric.setup import places_of, set_up
from kit.fabric.strands import Stretch, Supply, hold
from kit.fabric.stripes import stripe_steps, visible_width, yarn_tex
from kit.search import Order, keeps_value_rule
from kit.search.local_search import Line, Move, carry_out, cooling, walk

TRIES = 1_500  # orders judged
SITTINGS = 6  # after each the balls are trimmed anew, for the best order so far
WARM, COLD = 0.8, 0.05  # dE00: how much worse an order may be and still be taken
NEXT_FIVE = 0.2  # what the mean of the next five steps counts: a plateau has a slope


@dataclass(frozen=True, slots=True)
class Millimetres:
    """A yarn line in which a stitch takes a millimetre: all that a trial needs."""

    stitches: int

    def mm_at(self, stitch: int) -> int:
        return stitch

    def stitch_at(self, mm: int) -> int:
        return mm


@dataclass(frozen=True)
class Trial:
    """What judging an order needs of n yarns, all numbered alike.

    `supply` what each gives at its first place, knitted along `line` to `until` mm;
    `near` (n, n) the steps between yarns in the hand; `xyz` (n, 3) their averages;
    `width` (n,) of the fabric's face; `kept` (n, n) bool: a change from one to the
    other is wanted.
    """

    yarns: tuple[Yarn, ...]
    choices: Choices
    supply: Supply
    line: Millimetres
    until: int | None
    near: np.ndarray
    xyz: np.ndarray
    width: np.ndarray
    kept: np.ndarray


def _judged(trial: Trial, order: Order) -> tuple[float, list[int]]:
    """An order's score, and the yarns that come at its largest step.

    The score is the largest step between stripes, dE00, and a fifth of the mean of the
    next five, so that a plateau has a slope. Each order is knitted from the balls as
    they are trimmed for the order of the trial, once through. Steps are those of
    `stripe_steps`, but that in the hand what leaves a stripe is moved evenly to what
    comes: a little more than the least, where more than one strand changes.
    """
    making = trial.choices.making
    along, turns = _along(trial, order)
    supply = trial.supply
    if times := _halves(trial, order, along):
        supply = replace(supply, times=times)
    stretches = hold(
        supply, making.strands, making.pace, trial.line, order=along, until=trial.until
    )
    steps = _steps(trial, stretches, turns)
    if not len(steps):
        return 0.0, []
    worst = int(steps.argmax())
    before, after = stretches[worst].held, stretches[worst + 1].held
    return _weighed(steps), [k for k in after if k not in before]


def _along(trial: Trial, order: Order) -> tuple[Sequence[int], dict[int, int]]:
    """Yarns as they first stand along the blanket, the image in a mirror and further
    times through left out; and where balls are dealt out, the time of each."""
    laying = trial.choices.laying
    if laying.layout != "mirrored" and laying.times_through == 1:
        return (order[::-1] if laying.layout == "dark-to-light" else order), {}
    laid = lay_out([trial.yarns[k] for k in order], laying)
    number = {trial.yarns[k].name: k for k in order}
    along = [number[yarn.name] for yarn in laid.yarns]
    joins = sorted(laid.joins)
    if shared_in(laying) > 1:
        return list(dict.fromkeys(along[: joins[0] + 1] if joins else along)), {}
    return along, {k: bisect_left(joins, at) for at, k in enumerate(along)}


def _halves(trial: Trial, order: Order, along: Sequence[int]) -> tuple[int, ...]:
    """Of a mirrored run what comes from the turn on as 1, so that the darkest has its
    turn, as in the fabric: itself where balls are shared, else what follows it."""
    laying, shared = trial.choices.laying, shared_in(trial.choices.laying) > 1
    if laying.layout != "mirrored" or laying.times_through > 1:
        return ()
    if shared and len(set(trial.supply.tex)) > 1:
        return ()
    turn = along.index(order[-1])
    later = set(along[turn if shared else turn + 1 :])
    return tuple(int(k in later) for k in range(len(trial.yarns)))


def _weighed(steps: np.ndarray) -> float:
    ranked = np.sort(steps)
    return float(ranked[-1] + NEXT_FIVE * ranked[-6:-1].sum() / 5)


def _trial(yarns: tuple[Yarn, ...], choices: Choices) -> Trial:
    mixes, counts = [yarn.mix for yarn in yarns], choices.judging.counts
    setup = set_up(choices.making)
    _, mm = _as_knitted(yarns, choices)
    supply = Supply(
        tuple(mm[yarn.name] for yarn in yarns),
        tuple(yarn_tex(yarn) for yarn in yarns),
        step_table(mixes, mixes, view=1.0).tolist(),
    )
    kept = [[not counts(one, two) for two in yarns] for one in yarns]
    return Trial(
        yarns=yarns,
        choices=choices,
        supply=supply,
        line=Millimetres(setup.lengths.mm_at(setup.stitches)),
        until=setup.until
        and setup.lengths.mm_at(setup.until) // shared_in(choices.laying),
        near=step_table(mixes, mixes, view=0.0),
        xyz=np.array([lab_to_xyz(np.array(mean_lab(mix))) for mix in mixes]),
        width=np.array([visible_width(yarn) for yarn in yarns]),
        kept=np.array(kept),
    )


def _as_knitted(
    along: Sequence[Yarn], choices: Choices
) -> tuple[float, dict[str, int]]:
    """The largest step between stripes of the fabric as it will be, dE00, and what
    each yarn gives at its first place in it, mm."""
    places = places_of(lay_out(along, choices.laying), choices)
    knitted, _ = knit_well(places, Task(choices, set_up(choices.making)))
    mm: dict[str, int] = {}
    for place, length in zip(places, knitted.supply.mm, strict=True):
        mm.setdefault(place.yarn.name, length)
    return largest_step(stripe_steps(knitted.stripes, choices)), mm


def _steps(
    trial: Trial, stretches: Sequence[Stretch], turns: dict[int, int]
) -> np.ndarray:
    """The steps between stretches, dE00; wanted ones and joins are 0."""
    if len(stretches) < 2:
        return np.zeros(0)
    shares = np.zeros((len(stretches), len(trial.width)))
    for row, stretch in enumerate(stretches):
        held = list(stretch.held)
        shares[row, held] = trial.width[held]
    shares /= shares.sum(axis=1, keepdims=True)
    labs = xyz_to_lab(shares @ trial.xyz)
    far = ciede2000(labs[:-1], labs[1:])
    moved = shares[1:] - shares[:-1]
    goes, comes = np.maximum(-moved, 0), np.maximum(moved, 0)
    near = ((goes @ trial.near) * comes).sum(axis=1)
    near /= np.maximum(comes.sum(axis=1), 1e-12)
    view = trial.choices.judging.view
    steps = at_view(view, near, far)
    if trial.kept.any():
        left, came = (shares[:-1] > 0) & (shares[1:] == 0), shares[:-1] == 0
        came &= shares[1:] > 0
        accents = trial.kept.all(axis=1)
        wanted = ((left @ trial.kept) & came).any(axis=1)
        steps[wanted | ((left | came) & accents).any(axis=1)] = 0.0
    for k in range(len(steps) if turns else 0):
        if restarts(stretches[k].held, stretches[k + 1].held, turns):
            steps[k] = 0.0
    return steps


# --- the search -----------------------------------------------------------------------


def smoother_run(run: tuple[Yarn, ...], choices: Choices) -> tuple[Yarn, ...]:
    """The run in an order whose stripes lie closer; `run` where none is found.

    Ends and value rule hold. Judged by a trial, and after each sitting by the fabric
    itself. Seeded, with a budget of tried orders: the same run gives the same
    answer.
    """
    if len(run) < 4:
        return run
    trial, rng, rule = _trial(run, choices), random.Random(0), _rule(run, choices)
    start = best = tuple(range(len(run)))
    least, _ = _as_knitted(run, choices)
    for sitting in range(SITTINGS):
        warm = WARM * (COLD / WARM) ** (sitting / SITTINGS)
        start = _sitting(trial, start, rng, warm, rule)
        along = tuple(run[k] for k in start)
        step, mm = _as_knitted(along, choices)
        if step < least - 1e-9:
            best, least = start, step
        supply = replace(trial.supply, mm=tuple(mm[yarn.name] for yarn in run))
        trial = replace(trial, supply=supply)
    return tuple(run[k] for k in best)


def _rule(run: Sequence[Yarn], choices: Choices) -> Callable[[Order], bool]:
    """Whether an order keeps the ends and the value rule."""
    slack, fixed = choices.arranging.value_slack, choices.arranging.ends == "fixed"
    values = [mean_lab(yarn.mix)[0] for yarn in run]

    def allowed(order: Order) -> bool:
        first, last = order[0], order[-1]
        if fixed and (first, last) != (0, len(run) - 1):
            return False
        if not keeps_value_rule((values[k] for k in order), slack):
            return False
        return fixed or values[first] >= values[last]  # the lighter end first

    return allowed


def _sitting(
    trial: Trial,
    start: Order,
    rng: random.Random,
    warm: float,
    allowed: Callable[[Order], bool],
) -> Order:
    """One sitting of `walk`: an order worse by up to about `warm` may be taken, later
    ones less so. The best order met."""
    line, budget = list(start), TRIES // SITTINGS
    tried = now = _judged(trial, start)
    best, (least, _) = start, now
    draws = iter(range(20 * budget))  # orders that break the rule cost next to nothing

    def draw() -> Move | None:
        for _ in draws:
            move = _drawn(line, now[1], rng)
            if move and allowed(_after(line, move)):
                return move
        return None

    def growth(line: Line, move: Move) -> float:
        nonlocal tried
        tried = _judged(trial, _after(line, move))
        return tried[0] - now[0]

    heats = islice(cooling(warm, COLD / WARM, TRIES), budget)
    steps = walk(
        line, draw=draw, growth=growth, heats=heats, chance=rng.random, hopeless=inf
    )
    for _ in steps:
        now = tried
        if now[0] < least:
            best, least = tuple(line), now[0]
    return best


def _after(line: Line, move: Move) -> Order:
    made = line.copy()
    carry_out(made, move)
    return tuple(made)


def _drawn(line: Line, spots: Sequence[int], rng: random.Random) -> Move | None:
    """One yarn put elsewhere, two exchanged, or two stretches; mostly near a spot."""
    n = len(line)
    at = rng.randrange(n)
    if spots and rng.random() < 0.7:
        at = line.index(rng.choice(spots)) + rng.randint(-2, 2)
    at = min(n - 1, max(0, at))
    near, kind = rng.random() < 0.5, rng.random()
    to = min(n - 1, max(0, at + rng.randint(-4, 4))) if near else rng.randrange(n)
    i, k = sorted((at, to))
    if kind < 0.3:
        return (i, i + 1, k, k + 1, 0) if i < k else None
    if kind < 0.8:
        later = (rng.random() < 0.5) == (at < to)
        j = i + 1 if later else k
        return (i, j, j, k + 1, 0) if i < k else None
    i, j, k = sorted((at, to, rng.randrange(n)))
    j = min(j, i + 3)
    return (i, j, j, k, 0) if i < j < k else None

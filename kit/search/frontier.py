"""What no order can do under a value rule, shown by keeping a tally of few things.

All beginnings of orders grow side by side, one place longer each time, as in
`exact`; but only for the things on the tally is it known whether they have been
placed. The others may come twice or never, as long as they stand where the value rule
could put them and no step is too large. If even so no order comes to its end, none can.
Otherwise some of what came twice or never goes on the tally, and the beginnings grow
again, among those that came to an end before (decremental state space relaxation:
Righini & Salani 2008, Networks 51:155-170).
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from kit.search.problem import SAME, Order, Problem

MOST_STATES = 150_000  # beginnings kept account of, in all, before it is given up
MOST = 53  # things on the tally
LAST = np.uint64(1023)  # a state: bits of the tally, then ten bits for the last thing
SHIFT = np.uint64(10)
N_SAMPLES = 12  # ways through that are looked at each time (ours)
N_ADDED = 4  # things that go on the tally each time (ours)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is known of a limit: an order within it, that there is none, or neither.

    `tally`: the things that it took to know.
    """

    order: Order | None
    impossible: bool
    tally: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class _Rules:
    """Which thing may follow which, must come before which, and where each may stand
    (places `early` to `late`)."""

    follows: np.ndarray
    before: np.ndarray
    early: np.ndarray
    late: np.ndarray


@dataclass(frozen=True, slots=True)
class _Net:
    """Beginnings that come to an end: for each place their states, sorted, and the arcs
    (from, to) between those of the place before and this one. `known`: the bits of a
    state."""

    states: tuple[np.ndarray, ...]
    arcs: tuple[tuple[np.ndarray, np.ndarray], ...]
    known: np.uint64


def decide(
    problem: Problem,
    limit: float,
    *,
    tally: tuple[int, ...] = (),
    states: int = MOST_STATES,
    seed: int = 0,
) -> Verdict:
    """Whether an order within the value rule has no step over `limit`.

    Starts from `tally`, and gives up after `states` or `MOST` things.
    """
    if problem.n > LAST:
        return Verdict(None, False)
    rules, rng = _rules(problem, limit), random.Random(seed)
    net, spent = None, 0
    while len(tally) <= MOST:
        net, used = _grown(rules, tally, net, states - spent)
        spent += used
        if net is None:
            return Verdict(None, spent <= states, tally)
        added = np.zeros(problem.n)
        for path in _sampled(net, rng):
            wrong = _wrong(problem, path)
            if not wrong.any():
                return Verdict(tuple(path), False, tally)
            added += wrong
        # What has few neighbours is what orders come to grief over.
        added /= np.maximum(1, (rules.follows | rules.follows.T).sum(axis=1))
        added[list(tally)] = 0
        ranked = np.argsort(-added, kind="stable")[:N_ADDED].tolist()
        tally = (*tally, *(i for i in ranked if added[i] > 0))
    return Verdict(None, False)


def _rules(problem: Problem, limit: float) -> _Rules:
    n, before = problem.n, problem.before
    early, late = before.sum(axis=0), n - 1 - before.sum(axis=1)
    if problem.fixed_ends:
        early, late = np.maximum(early, 1), np.minimum(late, n - 2)
        early[0] = late[0] = 0
        early[n - 1] = late[n - 1] = n - 1
    follows = problem.may_follow & (problem.cost <= limit + SAME)
    return _Rules(follows, before, early, late)


# --- growing --------------------------------------------------------------------------


def _grown(
    rules: _Rules, tally: tuple[int, ...], last_net: _Net | None, most: int
) -> tuple[_Net | None, int]:
    """All beginnings that come to an end, None if there are none, and their number; if
    it is over `most`, nothing is known."""
    n = len(rules.early)
    bit = np.zeros(n, np.uint64)
    bit[list(tally)] = [1 << k for k in range(len(tally))]
    first = np.flatnonzero(rules.early == 0)
    layer = np.sort((bit[first] << SHIFT) | first.astype(np.uint64))
    layers, arcs, spent = [layer], [], 0
    for place in range(1, n):
        origin, states = _next(rules, bit, layer, place)
        if last_net and len(states):
            lives = _among(last_net.states[place], states & last_net.known)
            origin, states = origin[lives], states[lives]
        layer, target = np.unique(states, return_inverse=True)
        spent += len(layer)
        if not len(layer) or spent > most:
            return None, spent
        layers.append(layer)
        arcs.append((origin, target))
    known = (np.bitwise_or.reduce(bit) << SHIFT) | LAST
    return _living(layers, arcs, known), spent


def _next(
    rules: _Rules, bit: np.ndarray, layer: np.ndarray, place: int
) -> tuple[np.ndarray, np.ndarray]:
    """The states that a layer leads to at a place, and from which each came."""
    here = (rules.early <= place) & (place <= rules.late)
    due = np.bitwise_or.reduce(bit[rules.late <= place], initial=np.uint64(0))
    things = np.flatnonzero(here)
    needed = _any_bit(bit, rules.before[:, things].T)
    shut = _any_bit(bit, rules.before[things]) | bit[things]
    placed, last = layer >> SHIFT, (layer & LAST).astype(np.intp)
    origin, k = np.nonzero(rules.follows[last[:, None], things])
    fits = (placed[origin] & (needed | shut)[k]) == needed[k]
    after = placed[origin] | bit[things][k]
    fits &= (after & due) == due
    origin, k = origin[fits], k[fits]
    states = (after[fits] << SHIFT) | things[k].astype(np.uint64)
    return origin, states


def _any_bit(bit: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """The bits of the things in each row of (m, n) bool."""
    chosen = np.where(rows, bit, np.uint64(0))
    return np.bitwise_or.reduce(chosen, axis=1, initial=np.uint64(0))


def _among(known: np.ndarray, states: np.ndarray) -> np.ndarray:
    at = np.searchsorted(known, states)
    at[at == len(known)] = 0
    return known[at] == states


def _living(
    layers: list[np.ndarray],
    arcs: list[tuple[np.ndarray, np.ndarray]],
    known: np.uint64,
) -> _Net:
    """The states from which the last place is reached, and the arcs between them."""
    lives = np.ones(len(layers[-1]), bool)
    states, kept = [layers[-1]], []
    for layer, (origin, target) in zip(layers[-2::-1], arcs[::-1], strict=True):
        stays = lives[target]
        origin, target = origin[stays], np.cumsum(lives)[target[stays]] - 1
        lives = np.zeros(len(layer), bool)
        lives[origin] = True
        states.append(layer[lives])
        kept.append((np.cumsum(lives)[origin] - 1, target))
    return _Net(tuple(states[::-1]), tuple(kept[::-1]), known)


# --- what goes on the tally -----------------------------------------------------------


def _sampled(net: _Net, rng: random.Random) -> list[list[int]]:
    """Some ways through the net, each taking what it has met least where it can."""
    things = [(layer & LAST).astype(np.intp).tolist() for layer in net.states]
    ways: list[list[list[int]]] = []
    for layer, (origin, target) in zip(net.states, net.arcs, strict=False):
        at = np.searchsorted(origin, np.arange(len(layer) + 1)).tolist()
        to = target.tolist()
        ways.append([to[a:b] for a, b in zip(at, at[1:], strict=False)])
    return [_way(things, ways, rng) for _ in range(N_SAMPLES)]


def _way(
    things: list[list[int]], ways: list[list[list[int]]], rng: random.Random
) -> list[int]:
    at = int(rng.random() * len(things[0]))
    path, met = [things[0][at]], {things[0][at]: 1}
    for place, onward in enumerate(ways, start=1):
        least = min(met.get(things[place][k], 0) for k in onward[at])
        fresh = [k for k in onward[at] if met.get(things[place][k], 0) == least]
        at = fresh[int(rng.random() * len(fresh))]
        thing = things[place][at]
        met[thing] = met.get(thing, 0) + 1
        path.append(thing)
    return path


def _wrong(problem: Problem, path: Sequence[int]) -> np.ndarray:
    """(n,) how often each thing comes too often, too seldom, or out of value order."""
    wrong = np.abs(np.bincount(path, minlength=problem.n) - 1).astype(float)
    darkest = path[0]
    for thing in path[1:]:
        if problem.before[thing, darkest]:
            wrong[thing] += 1
            wrong[darkest] += 1
        darkest = max(darkest, thing)
    return wrong

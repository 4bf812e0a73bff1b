"""The order whose largest step is smallest, and the proof that none can do better.

Each way is tried only while the one before leaves a gap between the best order and what
no order can beat: the graph of steps, a walk, a bound by linear programming or by a
tally, exact search. Budgets are in moves, nodes and states, never in seconds, so the
same problem gives the same answer.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from kit.search.bounds import Parts, lower_bound
from kit.search.exact import STATES, by_layers
from kit.search.frontier import Verdict, decide
from kit.search.local_search import walk_down
from kit.search.problem import SAME, Order, Problem
from kit.search.runners_up import SMALL, anneal, polish, settle
from kit.search.tours import cheapest, fractional

MOVES = 300  # tries of the walk for each thing
WALKS = 6  # when the bound has risen
MOST_MOVES = 60_000  # of each of them
TALLY_STATES = (150_000, 600_000)  # with other samples each time
OPEN = 4  # levels of which a way may know nothing before the next is tried
WHOLE = 250  # things: with more, integer programming may take long, so is not asked
ANY = 0.01  # whatever the sum of an order, here only its largest step counts


@dataclass(frozen=True, slots=True)
class Found:
    """An order with its largest step, and the least largest step that any could have.

    `bound` is proved from below; `why` says by what ("groups", "neighbours", "link",
    "search", "nothing"), `parts` the indices it speaks of.
    """

    order: Order
    largest: float
    bound: float
    why: str
    parts: Parts

    @property
    def proved(self) -> bool:
        return self.largest <= self.bound + 1e-6


def least_largest(
    problem: Problem, *, seed: int = 0, quick: bool = False, polished: bool = True
) -> Found:
    """The order whose largest step is smallest, then the lightest of those.

    `quick` leaves out all but the bound and a short walk. Without `polished` any order
    with the smallest largest step will do.
    """
    if problem.n <= 2:
        order = tuple(range(problem.n))
        return Found(
            order, problem.largest(order), problem.largest(order), "nothing", ()
        )
    bound, why, parts = lower_bound(problem)
    rng, moves = random.Random(seed), MOVES * problem.n
    order = walk_down(
        problem, tuple(range(problem.n)), bound=bound, rng=rng,
        moves=moves // 10 if quick else moves,
    )  # fmt: skip
    if quick:
        order = settle(problem.weighed(problem.largest(order)), order, sweeps=1)
        return Found(order, problem.largest(order), bound, why, parts)
    if problem.largest(order) > bound + SAME:
        order, proved = _closed(problem, order, bound, rng)
        if proved > bound + SAME:
            bound, why, parts = proved, "search", ()
    if polished:
        order = polish(problem, order, limit=problem.largest(order))
    return Found(order, problem.largest(order), bound, why, parts)


# --- closing the gap ------------------------------------------------------------------

Ask = Callable[[float], Verdict]


def _closed(
    problem: Problem, order: Order, bound: float, rng: random.Random
) -> tuple[Order, float]:
    """A better order or a higher bound, until they meet or all ways are tried."""
    if problem.n <= SMALL:
        better, complete = by_layers(
            problem, worst=problem.largest(order), states=STATES // problem.n
        )
        order = better or order
        return order, problem.largest(order) if complete else bound
    low, walked = problem.level_of(bound), -1
    for ask in _by_frontier(problem) if problem.ruled else _by_tours(problem):
        low, order = _squeezed(problem, low, order, ask)
        if low > walked:
            order = _walked(problem, order, float(problem.levels[low]), rng)
            walked = low
        if problem.level_of(problem.largest(order)) <= low:
            break
    return order, float(problem.levels[low])


def _squeezed(problem: Problem, low: int, order: Order, ask: Ask) -> tuple[int, Order]:
    """Gallop up the levels from `low`, then halve, asking at each.

    Returns the lowest level that is not known to be impossible, and the best order.
    """
    stride, top, galloping = 1, problem.level_of(problem.largest(order)), True
    n_open = 0
    while low < top and n_open < OPEN:
        at = min(low + stride, top) - 1 if galloping else (low + top) // 2
        verdict = ask(float(problem.levels[at]))
        if verdict.impossible:
            low, stride = at + 1, 2 * stride
            continue
        galloping, top = False, at
        if verdict.order:
            order = verdict.order
            top = problem.level_of(problem.largest(order))
        else:
            n_open += 1
    return low, order


def _walked(problem: Problem, order: Order, limit: float, rng: random.Random) -> Order:
    """Walk down to the level that may be the least: afresh, since where a walk gets
    stuck is chance, and by turns from the best order with its large steps lowered."""
    moves = min(MOVES * problem.n, MOST_MOVES)
    for k in range(WALKS):
        largest = problem.largest(order)
        if largest <= limit + SAME:
            break
        start = tuple(range(problem.n))
        if k % 2:
            start = anneal(problem.weighed(largest), order, limit=largest, seed=k)
        tried = walk_down(problem, start, bound=limit, rng=rng, moves=moves)
        order = min(order, tried, key=problem.largest)
    return order


def _by_frontier(problem: Problem) -> tuple[Ask, ...]:
    """What the tally shows, with more memory each time; what it took at one level is
    tried first at the next."""

    def asking(seed: int, states: int) -> Ask:
        tally: tuple[int, ...] = ()

        def ask(limit: float) -> Verdict:
            nonlocal tally
            verdict = decide(problem, limit, tally=tally, states=states, seed=seed)
            tally = verdict.tally if verdict.impossible else tally
            return verdict

        return ask

    return tuple(asking(seed, states) for seed, states in enumerate(TALLY_STATES))


def _by_tours(problem: Problem) -> tuple[Ask, ...]:
    """The linear programme, then the whole one; they share the groups of things."""
    groups: tuple[tuple[int, ...], ...] = ()

    def ask_linear(limit: float) -> Verdict:
        nonlocal groups
        impossible, groups = fractional(problem, limit, groups)
        return Verdict(None, impossible)

    def ask_whole(limit: float) -> Verdict:
        order, complete = cheapest(problem, limit, groups, gap=ANY)
        return Verdict(order, complete and not order)

    return (ask_linear, ask_whole) if problem.n <= WHOLE else (ask_linear,)

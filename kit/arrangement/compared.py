"""An order made by hand beside the computed one and the best possible."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf

from kit.arrangement.locked import keep_pairs
from kit.arrangement.orders import arrange, by_value_and_name, step_costs, value_of
from kit.blanket import Choices, Yarn
from kit.blanket.choices import ORDER_WORDS, Arranging
from kit.colour import Step
from kit.colour.steps import hue_turns, largest_step, median_step
from kit.errors import shorten
from kit.search import Problem, lower_bound
from kit.yarn import counted

Measure = Callable[[Sequence[Yarn]], Sequence[Step]]


@dataclass(frozen=True, slots=True)
class Measured:
    """One order: what it is, largest and median step (dE00), hue turns over 60°."""

    what: str
    largest: float
    median: float
    hue_turns: int


@dataclass(frozen=True, slots=True)
class Compared:
    """An order made by hand, the computed one, and the largest step (dE00) that no
    order of these yarns can beat, ends and value rule set aside. Bridges aside."""

    by_hand: Measured
    computed: Measured
    least: float


def compare(
    run: Sequence[Yarn], choices: Choices, *, measure: Measure, quick: bool = False
) -> Compared:
    """Judge a run made by hand. `measure` gives the steps along yarns; `quick` as in
    `arrange`."""
    arranging, judging = choices.arranging, choices.judging
    computed = _computed(
        by_value_and_name(run), replace(arranging, order=()), judging.view, quick
    )
    kept = frozenset(frozenset(pair) for pair in judging.accents)
    return Compared(
        _measured("by hand", run, measure),
        _measured(ORDER_WORDS[arranging.by], computed, measure),
        least_possible(by_value_and_name(run), judging.view, kept),
    )


@lru_cache(maxsize=64)
def _computed(
    yarns: tuple[Yarn, ...], arranging: Arranging, view: float, quick: bool
) -> tuple[Yarn, ...]:
    """Remembered, since moving a yarn by hand changes nothing here."""
    computed = arrange(yarns, arranging, view=view, quick=quick)
    return keep_pairs(computed, arranging, view=view).yarns


def _measured(what: str, run: Sequence[Yarn], measure: Measure) -> Measured:
    steps = measure(run)
    turns = hue_turns([yarn.mix for yarn in run])
    return Measured(what, largest_step(steps), median_step(steps), turns)


@lru_cache(maxsize=64)
def least_possible(
    yarns: tuple[Yarn, ...], view: float, kept: frozenset[frozenset[str]]
) -> float:
    """A largest step, dE00, that no order of the yarns (lightest first) can beat.

    Steps beside an accent and the pairs `kept` on purpose do not count.
    """
    if len(yarns) < 2:
        return 0.0
    costs = step_costs(yarns, view=view)
    for i, one in enumerate(yarns):
        for j, two in enumerate(yarns):
            if frozenset((one.name, two.name)) in kept:
                costs[i, j] = 0.0
    values = tuple(value_of(yarn) for yarn in yarns)
    return lower_bound(Problem(costs, values, inf, False))[0]


def compared_lines(compared: Compared | None) -> list[str]:
    """The comparison in two sentences."""
    if compared is None:
        return []
    hand, computed = compared.by_hand, compared.computed
    least = f"{compared.least:.1f}"
    reached = " The order made by hand reaches it."
    return [
        f"Made {_words(hand)}; computed {_words(computed)}. Bridges aside.",
        f"No order of these yarns has a largest step under {least}, ends and value "
        "rule set aside." + (reached if hand.largest <= compared.least + 1e-6 else ""),
    ]


def _words(one: Measured) -> str:
    turns = counted(one.hue_turns, "hue turn")
    return f"{one.what}: largest {one.largest:.1f}, median {one.median:.1f}, {turns}"


# --- what is to be said of an order made by hand --------------------------------------


def hand_notes(
    run: Sequence[Yarn], yarns: Sequence[Yarn], choices: Choices
) -> list[str]:
    """Sentences on names that the choices place but the run has not, and on locks.

    `run` is the arrangement, `yarns` the whole stash.
    """
    arranging = choices.arranging
    place = {yarn.name: k for k, yarn in enumerate(run, start=1)}
    return [
        *_unplaced(place, yarns, choices),
        *_lock_notes(place, [x for x in arranging.locked if isinstance(x, str)]),
        *_pair_notes(place, [x for x in arranging.locked if not isinstance(x, str)]),
    ]


def _unplaced(
    place: dict[str, int], yarns: Sequence[Yarn], choices: Choices
) -> list[str]:
    roles = {yarn.name: yarn.role for yarn in yarns}
    why = {"bridge": "held back as a bridge", "leave out": "left out"}
    lost = [
        f'"{shorten(name)}" ({why.get(roles.get(name, ""), "carried along")})'
        for name in dict.fromkeys(choices.arranging.order)
        if name not in place
    ]
    said = "Named in the order made by hand, but not arranged"
    return [f"{said}: {', '.join(lost)}."] if lost else []


def _lock_notes(place: dict[str, int], names: Sequence[str]) -> list[str]:
    placed = [f'"{shorten(n)}" at place {place[n]}' for n in names if n in place]
    lost = [f'"{shorten(n)}"' for n in names if n not in place]
    said = "Locked, should the others be arranged anew by hand"
    return [
        *([f"{said}: {', '.join(placed)}."] if placed else []),
        *([f"Locked, but not in the run: {', '.join(lost)}."] if lost else []),
    ]


def _pair_notes(place: dict[str, int], pairs: Sequence[tuple[str, str]]) -> list[str]:
    together: list[str] = []
    apart: list[str] = []
    for one, two in pairs:
        near = abs(place.get(one, -9) - place.get(two, 9)) == 1
        words = f'"{shorten(one)}" and "{shorten(two)}"'
        (together if near else apart).append(words)
    return [
        *([f"Kept together: {'; '.join(together)}."] if together else []),
        *([f"To be kept together, but apart: {'; '.join(apart)}."] if apart else []),
    ]

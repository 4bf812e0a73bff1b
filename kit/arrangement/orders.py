"""The yarns of one blanket in order: by value, by family, smoothest, or by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf

import numpy as np

from kit.arrangement.best import Best, best_of, listed
from kit.arrangement.family_run import by_family
from kit.blanket import Yarn
from kit.blanket.choices import BY_HAND, Arranging
from kit.colour import Mix, family_of, mean_lab, step_table
from kit.colour.families import family_named, is_light
from kit.search import Found, Order, Puzzle, keeps_value_rule, least_largest


@dataclass(frozen=True, slots=True)
class Arrangement:
    """One light-to-dark run of yarns, and how it came about."""

    yarns: tuple[Yarn, ...]
    by: str
    best: Best | None = None
    sentences: tuple[str, ...] = ()

    def __repr__(self) -> str:
        return f"Arrangement({len(self.yarns)} yarns by {self.by})"


def value_of(yarn: Yarn) -> float:
    """A yarn's value: L* of its average."""
    return mean_lab(yarn.mix)[0]


def family_name(yarn: Yarn) -> str:
    """A yarn's family: its own column's where given, else by its average colour."""
    return family_named(yarn.family) if yarn.family else family_of(mean_lab(yarn.mix))


def by_value_and_name(yarns: Sequence[Yarn]) -> tuple[Yarn, ...]:
    """Lightest first, ties by name: the order every search starts from."""
    return tuple(sorted(yarns, key=lambda yarn: (-value_of(yarn), yarn.name)))


def arrange(
    yarns: Sequence[Yarn], arranging: Arranging, *, view: float, quick: bool = False
) -> Arrangement:
    """Put yarns in order as the choices say, with steps measured at `view` (0-1).

    A yarn with role accent stays in the order, but its steps count nothing.
    """
    yarns = by_value_and_name(yarns)
    if arranging.order:
        return _by_hand(yarns, arranging)
    if arranging.by == "value" or len(yarns) < 2:
        order: Sequence[int] = range(len(yarns))
    elif arranging.by == "family":
        families = [family_name(yarn) for yarn in yarns]
        light = [is_light(mean_lab(yarn.mix)) for yarn in yarns]
        order = by_family(families, light, arranging, step_costs(yarns, view=view))
    else:
        return _smoothest(yarns, arranging, view, quick)
    return Arrangement(tuple(yarns[i] for i in order), arranging.by)


def step_costs(yarns: Sequence[Yarn], *, view: float) -> np.ndarray:
    """Steps between all pairs, dE00 (n, n); those beside an accent cost nothing."""
    return _costs([yarn.mix for yarn in yarns], _accents(yarns), view)


def _accents(yarns: Sequence[Yarn]) -> tuple[int, ...]:
    return tuple(i for i, yarn in enumerate(yarns) if yarn.role == "accent")


def _costs(mixes: Sequence[Mix], accents: tuple[int, ...], view: float) -> np.ndarray:
    costs = np.round(step_table(mixes, mixes, view=view), 9)  # so that ties are ties
    costs[list(accents), :] = costs[:, list(accents)] = 0.0
    return costs


# --- smoothest ------------------------------------------------------------------------


def _smoothest(
    yarns: tuple[Yarn, ...], arranging: Arranging, view: float, quick: bool
) -> Arrangement:
    mixes = tuple(yarn.mix for yarn in yarns)
    accents = _accents(yarns)
    slack, fixed = arranging.value_slack, arranging.ends == "fixed"
    found = _solve(mixes, accents, view, slack, fixed, quick, True)
    order = found.order
    if order[-1] < order[0] and _keeps_rule(yarns, order[::-1], arranging):
        order = order[::-1]  # the lighter end first
    order = _twins_by_name(order, [(one.mix, one.role) for one in yarns])
    free = None
    if slack < inf and not quick:
        free = _solve(mixes, accents, view, inf, fixed, quick, False).largest
    names, costs = [yarn.name for yarn in yarns], _costs(mixes, accents, view)
    best = best_of(found, names, arranging, costs, without_rule=free)
    return Arrangement(tuple(yarns[i] for i in order), "smoothest", best)


@lru_cache(maxsize=64)
def _solve(
    mixes: tuple[Mix, ...],
    accents: tuple[int, ...],
    view: float,
    slack: float,
    fixed: bool,
    quick: bool,
    polished: bool,
) -> Found:
    """Remembered, so that going back to an earlier choice is instant."""
    values = tuple(mean_lab(mix)[0] for mix in mixes)
    puzzle = Puzzle(_costs(mixes, accents, view), values, slack, fixed)
    return least_largest(puzzle, quick=quick, polished=polished)


def _twins_by_name(order: Order, kinds: Sequence[object]) -> Order:
    """The order with yarns of one colour among themselves by their numbers."""
    places: dict[object, list[int]] = {}
    for place, i in enumerate(order):
        places.setdefault(kinds[i], []).append(place)
    by_name = dict.fromkeys(range(len(order)), 0)
    for twins in places.values():
        by_name |= zip(twins, sorted(order[place] for place in twins), strict=True)
    return tuple(by_name.values())


def _keeps_rule(yarns: Sequence[Yarn], order: Order, arranging: Arranging) -> bool:
    if arranging.ends == "fixed":
        return False
    return keeps_value_rule((value_of(yarns[i]) for i in order), arranging.value_slack)


# --- by hand --------------------------------------------------------------------------


def _by_hand(yarns: tuple[Yarn, ...], arranging: Arranging) -> Arrangement:
    """The order the knitter made; yarns it does not name follow at the end, told."""
    by_name = {yarn.name: yarn for yarn in yarns}
    named = [
        by_name[name] for name in dict.fromkeys(arranging.order) if name in by_name
    ]
    placed = {yarn.name for yarn in named}
    rest = [yarn for yarn in yarns if yarn.name not in placed]
    said: tuple[str, ...] = ()
    if rest:
        names = listed([yarn.name for yarn in rest])
        said = (f"Not in the order made by hand, so put at its end: {names}.",)
    return Arrangement((*named, *rest), BY_HAND, sentences=said)

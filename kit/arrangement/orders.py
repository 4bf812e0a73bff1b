"""The yarns of one blanket in order: by value, by family, smoothest, or by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf

import numpy as np

from kit.arrangement.family_run import by_family
from kit.blanket import Yarn
from kit.blanket.choices import BY_HAND, Arranging
from kit.colour import Mix, family_of, mean_lab, step_table
from kit.colour.families import family_named, is_light
from kit.search import Found, Order, Problem, keeps_value_rule, least_largest


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
    problem = Problem(_costs(mixes, accents, view), values, slack, fixed)
    return least_largest(problem, quick=quick, polished=polished)


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


# --- what no order can beat -----------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Best:
    """What no order of these yarns can beat: `largest` in dE00.

    `found`: the largest step of the best order that was found. `reached`: the
    arrangement does as well as no order can beat. `between`: the two groups of names
    that lie that far apart, where it is such a gap. `without_rule`: what an order
    without the value rule has, None where there is no rule or it costs nothing.
    """

    largest: float
    found: float
    reached: bool
    because: str
    between: tuple[tuple[str, ...], tuple[str, ...]] | None
    without_rule: float | None

    @property
    def still_open(self) -> bool:
        """Whether some order may be better than the best that was found."""
        return self.found > self.largest + 1e-6


def best_of(
    found: Found,
    names: Sequence[str],
    arranging: Arranging,
    costs: np.ndarray,
    *,
    without_rule: float | None,
) -> Best:
    """What a search found, told of yarns by their names.

    `costs` (n, n) the steps in dE00; `without_rule` the largest step that an order
    without the value rule has, None where it was not sought.
    """
    between = _between(found, names)
    apart = between is not None and _apart(found, costs)
    costly = without_rule is not None and without_rule < found.bound - 1e-6
    return Best(
        largest=found.bound,
        found=found.largest,
        reached=found.proved,
        because=_because(found, names, arranging, apart=apart),
        between=between if apart else None,
        without_rule=without_rule if costly else None,
    )


def _apart(found: Found, costs: np.ndarray) -> bool:
    """Whether the two groups lie that far apart by themselves, the rule set aside."""
    one, two = (list(part) for part in found.parts)
    return float(costs[np.ix_(one, two)].min()) >= found.bound - 1e-6


def _between(
    found: Found, names: Sequence[str]
) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    if found.why != "groups":
        return None
    one, two = (tuple(names[i] for i in part) for part in found.parts)
    return one, two


def _because(
    found: Found, names: Sequence[str], arranging: Arranging, *, apart: bool
) -> str:
    """Why no order can do better, in words."""
    step, kept = f"{found.bound:.1f}", _kept(arranging)
    if found.why == "groups":
        few = listed([names[i] for i in min(found.parts, key=len)])
        if not apart:
            return f"{kept}no step between {few} and the others is smaller."
        return (
            f"{few} and all the others lie {step} apart; only a bridge "
            "between them can help."
        )
    if found.why == "neighbours":
        name = names[found.parts[0][0]]
        if arranging.ends == "free":
            return (
                f'{kept}with steps under {step}, "{name}" and two or more others have '
                "too few neighbours, and only two can stand at the ends."
            )
        return f'{kept}"{name}" has too few neighbours nearer than {step}.'
    if found.why == "link":
        name, n_parts = names[found.parts[0][0]], len(found.parts) - 1
        return (
            f'{kept}with steps under {step}, only "{name}" links {n_parts} groups of '
            "yarns, and an order passes it but once."
        )
    if found.why == "search":
        return (
            f"{kept}every order begun with steps under {step} comes to a dead end, "
            "by search."
        )
    return f"{kept}no step between these yarns is smaller."


def _kept(arranging: Arranging) -> str:
    """What limits the orders that are looked at, to begin a sentence with."""
    limits = ["the ends"] if arranging.ends == "fixed" else []
    limits += ["the value rule"] if arranging.value_slack < inf else []
    return f"with {' and '.join(limits)} kept, " if limits else ""


def listed(names: Sequence[str], most: int = 4) -> str:
    """A few names, and how many more there are.

    >>> listed(["Ash", "Bay", "Cob", "Dun", "Elm"])
    '"Ash", "Bay", "Cob", "Dun" and 1 more'
    """
    shown = ", ".join(f'"{name}"' for name in names[:most])
    return shown + (f" and {len(names) - most} more" if len(names) > most else "")

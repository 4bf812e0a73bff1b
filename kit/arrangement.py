"""The yarns of one blanket in order: by value, by family, smoothest, or by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations
from math import inf

import numpy as np

from kit.choices import Arranging
from kit.colour import Mix, mean_lab
from kit.difference import step_table
from kit.families import family_hue, family_named, family_of, is_light
from kit.search import Found, Puzzle, keeps_value_rule, least_largest
from kit.stash import Yarn

NEUTRALS = "neutrals"
Chain = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Best:
    """What no order of these yarns can beat: `largest` in dE00.

    `reached`: the arrangement does as well, so neither can be bettered. `between`: the
    two groups of names that lie that far apart, where it is such a gap. `without_rule`:
    the same without the value rule, None where there is no rule or it costs nothing.
    """

    largest: float
    reached: bool
    because: str
    between: tuple[tuple[str, ...], tuple[str, ...]] | None
    without_rule: float | None


@dataclass(frozen=True, slots=True)
class Arrangement:
    """One light-to-dark run of yarns, and how it came about."""

    yarns: tuple[Yarn, ...]
    by: str
    best: Best | None = None
    said: tuple[str, ...] = ()

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
        order = _by_family(yarns, arranging, _costs(yarns, view))
    else:
        return _smoothest(yarns, arranging, view, quick)
    return Arrangement(tuple(yarns[i] for i in order), arranging.by)


def _costs(yarns: Sequence[Yarn], view: float) -> np.ndarray:
    """Steps between all pairs, rounded so that ties are ties; accents cost nothing."""
    mixes = [yarn.mix for yarn in yarns]
    costs = np.round(step_table(mixes, mixes, view=view), 9)
    accents = [i for i, yarn in enumerate(yarns) if yarn.role == "accent"]
    costs[accents, :] = costs[:, accents] = 0.0
    return costs


# --- smoothest ------------------------------------------------------------------------


def _smoothest(
    yarns: tuple[Yarn, ...], arranging: Arranging, view: float, quick: bool
) -> Arrangement:
    mixes = tuple(yarn.mix for yarn in yarns)
    accents = tuple(i for i, yarn in enumerate(yarns) if yarn.role == "accent")
    slack, fixed = arranging.value_slack, arranging.ends == "fixed"
    found = _solve(mixes, accents, view, slack, fixed, quick)
    order = found.order
    if order[-1] < order[0] and _keeps_rule(yarns, order[::-1], arranging):
        order = order[::-1]  # the lighter end first
    order = _twins_by_name(order, [(one.mix, one.role) for one in yarns])
    names = [yarn.name for yarn in yarns]
    free = None
    if slack < inf and not quick:
        free = _solve(mixes, accents, view, inf, fixed, quick).largest
    costs_something = free is not None and free < found.bound - 1e-6
    between = _between(found, names)
    apart = between is not None and _apart(found, _costs(yarns, view))
    best = Best(
        largest=found.bound,
        reached=found.proved,
        because=_because(found, names, arranging, apart=apart),
        between=between if apart else None,
        without_rule=free if costs_something else None,
    )
    return Arrangement(tuple(yarns[i] for i in order), "smoothest", best)


@lru_cache(maxsize=64)
def _solve(
    mixes: tuple[Mix, ...],
    accents: Chain,
    view: float,
    slack: float,
    fixed: bool,
    quick: bool,
) -> Found:
    """Remembered, so that going back to an earlier choice is instant."""
    costs = np.round(step_table(mixes, mixes, view=view), 9)
    costs[list(accents), :] = costs[:, list(accents)] = 0.0
    values = tuple(mean_lab(mix)[0] for mix in mixes)
    return least_largest(Puzzle(costs, values, slack, fixed), quick=quick)


def _twins_by_name(order: Chain, kinds: Sequence[object]) -> Chain:
    """The order with yarns of one colour among themselves by their numbers."""
    places: dict[object, list[int]] = {}
    for place, i in enumerate(order):
        places.setdefault(kinds[i], []).append(place)
    by_name = dict.fromkeys(range(len(order)), 0)
    for twins in places.values():
        by_name |= zip(twins, sorted(order[place] for place in twins), strict=True)
    return tuple(by_name.values())


def _keeps_rule(yarns: Sequence[Yarn], order: Chain, arranging: Arranging) -> bool:
    if arranging.ends == "fixed":
        return False
    return keeps_value_rule((value_of(yarns[i]) for i in order), arranging.value_slack)


def _apart(found: Found, costs: np.ndarray) -> bool:
    """Whether the two groups lie that far apart by themselves, the rule set aside."""
    one, two = (list(part) for part in found.parts)
    return float(costs[np.ix_(one, two)].min()) >= found.bound - 1e-6


def _between(
    found: Found, names: list[str]
) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    if found.why != "groups":
        return None
    one, two = (tuple(names[i] for i in part) for part in found.parts)
    return one, two


def _because(
    found: Found, names: list[str], arranging: Arranging, *, apart: bool
) -> str:
    """Why no order can do better, in words."""
    step, kept = f"{found.bound:.1f}", _kept(arranging)
    if found.why == "groups":
        few = _listed([names[i] for i in min(found.parts, key=len)])
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
            f"by search: {kept}every order with steps under {step} comes to a dead end."
        )
    return f"{kept}no step between these yarns is smaller."


def _kept(arranging: Arranging) -> str:
    """What limits the orders that are looked at, to begin a sentence with."""
    limits = ["the ends"] if arranging.ends == "fixed" else []
    limits += ["the value rule"] if arranging.value_slack < inf else []
    return f"with {' and '.join(limits)} kept, " if limits else ""


def _listed(names: Sequence[str], most: int = 4) -> str:
    shown = ", ".join(f'"{name}"' for name in names[:most])
    return shown + (f" and {len(names) - most} more" if len(names) > most else "")


# --- by family ------------------------------------------------------------------------


def _by_family(
    yarns: tuple[Yarn, ...], arranging: Arranging, costs: np.ndarray
) -> list[int]:
    """Light neutrals open, dark neutrals close, the other families between them."""
    groups: dict[str, list[int]] = {}
    opening: list[int] = []
    closing: list[int] = []
    listed = () if isinstance(arranging.family_order, str) else arranging.family_order
    for i, yarn in enumerate(yarns):
        family = family_name(yarn)
        if family == NEUTRALS and NEUTRALS not in listed:
            (opening if is_light(mean_lab(yarn.mix)) else closing).append(i)
        else:
            groups.setdefault(family, []).append(i)
    chains = [
        _joined(opening, families, closing, starts_light)
        for families in _family_orders(groups, arranging, costs, opening, closing)
        for starts_light in (True, False)
    ]
    if arranging.families == "light-to-dark":
        chains = [
            [*opening, *(i for group in families for i in group), *closing]
            for families in _family_orders(groups, arranging, costs, opening, closing)
        ]
    # One light-to-dark run, lighter end first; things are numbered from light to dark.
    falling = [chain for chain in chains if chain[0] <= chain[-1]]
    return min(falling or chains, key=lambda chain: (*_judge(chain, costs), chain))


def _joined(
    opening: list[int], families: Sequence[list[int]], closing: list[int], light: bool
) -> list[int]:
    """Families in alternating directions, the first from light to dark or not."""
    chain = [*opening]
    for group in families:
        chain += group if light else group[::-1]
        light = not light
    return chain + closing


def _judge(chain: Sequence[int], costs: np.ndarray) -> tuple[float, float]:
    steps = costs[list(chain[:-1]), list(chain[1:])]
    return (float(steps.max(initial=0.0)), round(float(steps.sum()), 6))


def _family_orders(
    groups: dict[str, list[int]],
    arranging: Arranging,
    costs: np.ndarray,
    opening: list[int],
    closing: list[int],
) -> list[list[list[int]]]:
    """The orders of families worth judging."""
    if not isinstance(arranging.family_order, str):
        listed = dict.fromkeys(arranging.family_order)
        named = [name for name in listed if name in groups]
        rest = [name for name in groups if name not in named]
        return [[groups[name] for name in named + sorted(rest, key=family_hue)]]
    round_circle = sorted(groups, key=family_hue)
    if arranging.family_order == "any":
        alternate = arranging.families == "alternate"
        return _any_order(list(groups.values()), costs, opening, closing, alternate)
    orders = []
    for start in range(len(round_circle) or 1):
        turned = round_circle[start:] + round_circle[:start]
        orders += [[groups[name] for name in way] for way in (turned, turned[::-1])]
    return orders


def _any_order(
    groups: list[list[int]],
    costs: np.ndarray,
    opening: list[int],
    closing: list[int],
    alternate: bool,
) -> list[list[list[int]]]:
    """For either start the order of families with the smallest largest step, then sum.

    Only orders whose lighter end comes first, where there is one.
    """
    if len(groups) <= 2:
        return [list(order) for order in permutations(groups)]
    inner = max(_judge(group, costs)[0] for group in [*groups, opening, closing])
    table = [[*row, 0.0] for row in costs.tolist()] + [[0.0] * (len(costs) + 1)]
    before = opening[-1] if opening else len(costs)  # no step to a missing neighbour
    after = closing[0] if closing else len(costs)
    found = []
    for light in (True, False) if alternate else (True,):
        ends = [
            [(g[0], g[-1]) if not alternate or light == even else (g[-1], g[0])
             for g in groups]
            for even in (True, False)
        ]  # fmt: skip
        found += [
            order
            for first, lightest in _falling(ends[0], opening, closing)
            if (
                order := _least_joins(
                    ends, table, (before, after), (first, lightest), inner
                )
            )
        ]
    return [[groups[k] for k in order] for order in found]


def _falling(
    heads: list[tuple[int, int]], opening: list[int], closing: list[int]
) -> list[tuple[Chain, int]]:
    """Which families may come first, and from what the run's last yarn must be darker.

    Things are numbered from light to dark. Light neutrals and dark neutrals at the ends
    settle it; with neither, every family is tried in turn.
    """
    each = tuple(range(len(heads)))
    if opening:
        return [(each, -1 if closing else opening[0])]
    if closing:
        fit = tuple(k for k in each if heads[k][0] <= closing[-1])
        return [(fit or each, -1)]
    return [((k,), heads[k][0]) for k in each]


def _least_joins(
    ends: list[list[tuple[int, int]]],
    table: list[list[float]],
    beside: tuple[int, int],
    falling: tuple[Chain, int],
    inner: float,
) -> Chain:
    """Held & Karp 1962 over (families used, last one): all orders in effect.

    The largest join is found first, then the sum among orders with none larger (or
    larger than `inner`, the largest step inside them). () where none falls.
    """
    n, limit = len(ends[0]), inf
    order: Chain = ()
    for by_sum in (False, True):
        states: dict[tuple[int, int], tuple[float, Chain]] = {(0, -1): (0.0, ())}
        for place in range(n):
            grown: dict[tuple[int, int], tuple[float, Chain]] = {}
            for (used, last), (score, before) in states.items():
                tail = ends[(place - 1) % 2][last][1] if before else beside[0]
                for k in range(n) if place else falling[0]:
                    head, end = ends[place % 2][k]
                    closes = place == n - 1
                    if used >> k & 1 or (closes and end < falling[1]):
                        continue
                    joins = [table[tail][head], table[end][beside[1]] * closes]
                    if max(joins) > limit + 1e-9:
                        continue
                    new = score + sum(joins) if by_sum else max(score, *joins)
                    state, chain = (used | 1 << k, k), (*before, k)
                    if state not in grown or (new, chain) < grown[state]:
                        grown[state] = (new, chain)
            states = grown
        score, order = min(states.values(), default=(inf, ()))
        limit = max(score, inner)
    return order


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
        names = _listed([yarn.name for yarn in rest])
        said = (f"Not in the order made by hand, so put at its end: {names}.",)
    return Arrangement((*named, *rest), "hand", said=said)

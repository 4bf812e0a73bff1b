"""Orders of yarns for tests: what they cost, which the rules allow, all of them."""

from itertools import pairwise, permutations, product
from math import inf

from kit.arrangement.orders import family_name, value_of
from kit.blanket.choices import Arranging
from kit.colour import mean_lab, step_table
from kit.colour.difference import pair_steps
from kit.colour.families import family_hue, is_light

VIEW = 0.5
RULES = [
    Arranging(by="smoothest", ends=ends, value_slack=slack)
    for ends in ("fixed", "free")
    for slack in (5.0, 20.0, inf)
]


def sizes(yarns, view=VIEW) -> list[float]:
    """The steps that count: those beside no accent."""
    mixes = [one.mix for one in yarns]
    steps = pair_steps(mixes[:-1], mixes[1:], view=view)
    beside = ["accent" in (a.role, b.role) for a, b in pairwise(yarns)]
    return [0.0 if free else float(s) for s, free in zip(steps, beside, strict=True)]


def largest(yarns, view=VIEW) -> float:
    return max(sizes(yarns, view), default=0.0)


def keeps_rule(run, slack: float) -> bool:
    values = [value_of(one) for one in run]
    late = (b - a > slack for k, a in enumerate(values) for b in values[k + 1 :])
    return not any(late)


def all_by_family(ordered, arranging):
    """Every order the rules allow: light neutrals, families any way, dark neutrals."""
    opening, closing, groups = [], [], {}
    for one in ordered:
        if family_name(one) == "neutrals":
            (opening if is_light(mean_lab(one.mix)) else closing).append(one)
        else:
            groups.setdefault(family_name(one), []).append(one)
    circle = sorted(groups, key=family_hue)
    if arranging.family_order == "any":
        orders = [list(order) for order in permutations(circle)]
    else:
        turned = [circle[k:] + circle[:k] for k in range(len(circle) or 1)]
        orders = [way for one in turned for way in (one, one[::-1])]
    phases = (0, 1) if arranging.families == "alternate" else (None,)
    for order, phase in product(orders, phases):
        middle = [
            groups[name][:: -1 if phase is not None and k % 2 != phase else 1]
            for k, name in enumerate(order)
        ]
        yield [*opening, *(one for group in middle for one in group), *closing]


def fast_scores(ordered, chains, *, weighed=False) -> list[tuple[float, float]]:
    """(largest, sum) of steps of each chain; in the sum those near the largest may be
    weighed as the smoothest arrangement weighs them."""
    mixes = tuple(one.mix for one in ordered)
    table = step_table(mixes, mixes, view=VIEW)
    place = {one.name: k for k, one in enumerate(ordered)}
    scores = []
    for chain in chains:
        at = [place[one.name] for one in chain]
        steps = table[at[:-1], at[1:]]
        largest = round(float(steps.max(initial=0)), 7)
        if weighed and largest:
            steps = steps + largest * (steps / largest) ** 6
        scores.append((largest, float(steps.sum())))
    return scores

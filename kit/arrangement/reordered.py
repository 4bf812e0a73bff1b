"""Bridges that join the yarns and are put in order with them, not between two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations

from kit.arrangement.candidates import candidates_of
from kit.arrangement.design import (
    Design,
    design_colours,
    fits_in,
    is_arranged,
    measure,
)
from kit.arrangement.layout import lay_out
from kit.arrangement.orders import arrange
from kit.blanket import Choices, Yarn
from kit.colour.steps import JUST_TOLD, jumps, largest_step
from kit.errors import shorten

N_TRIED = {"smoothest": 4, "value": 12, "family": 12}  # sets; each is arranged whole


@dataclass(frozen=True, slots=True)
class Reordered:
    """The two ways of using bridges, by the balls' own steps: the largest, in dE00.

    `put_in` with the bridges `between` put between neighbours, `arranged` with `yarns`
    among the others, whose run then is `order`; `without` has none.
    """

    yarns: tuple[Yarn, ...]
    order: tuple[Yarn, ...]
    between: tuple[Yarn, ...]
    without: float
    put_in: float
    arranged: float

    @property
    def better(self) -> str:
        """ "put in", "arranged anew" or "either"."""
        if abs(self.put_in - self.arranged) <= JUST_TOLD:
            return "either"
        return "put in" if self.put_in < self.arranged else "arranged anew"


def reorder(
    design: Design, yarns: Sequence[Yarn], choices: Choices
) -> Reordered | None:
    """The best of a few sets of bridges arranged with the others, beside putting in.

    Tried are those put in, and of the yarns held back those that suit the worst gaps
    best, alone or two or three together as the choices allow: a short list, so a set
    that was not tried might do better. None where the order is made by hand, no bridge
    is wanted, or there is none to try.
    """
    most = choices.bridging.bridges
    if choices.arranging.order or most < 1 or not design.steps:
        return None
    put_in = tuple(bridge.yarn for bridge in design.bridges)
    owned = tuple(yarn for yarn in yarns if yarn.role == "bridge")
    in_use = tuple(yarn for yarn in yarns if is_arranged(yarn, choices))
    if not (put_in or owned):
        return None
    return _tried(in_use, owned, put_in, replace(choices, given=frozenset()))


@lru_cache(maxsize=16)
def _tried(
    in_use: tuple[Yarn, ...],
    owned: tuple[Yarn, ...],
    put_in: tuple[Yarn, ...],
    choices: Choices,
) -> Reordered | None:
    # Both ways by the balls' own steps and the same search, so that they compare.
    shop = tuple(yarn for yarn in put_in if yarn not in owned)
    base = design_colours([*in_use, *owned], shop, choices, quick=True)
    best: tuple[float, int, tuple[Yarn, ...], tuple[Yarn, ...]] | None = None
    for rank, chosen in enumerate(_sets(base, owned, put_in, choices)):
        joined = [*in_use, *chosen]
        run = arrange(
            joined, choices.arranging, view=choices.judging.view, quick=True
        ).yarns
        steps = measure(lay_out(run, choices.laying), choices.judging)
        found = round(largest_step(steps), 9), rank, chosen, run
        best = min(best or found, found, key=lambda one: one[:2])
    if best is None:
        return None
    largest, _, chosen, run = best
    between = tuple(bridge.yarn for bridge in base.bridges)
    sizes = largest_step(base.steps_before), largest_step(base.steps)
    return Reordered(chosen, run, between, *sizes, largest)


def _sets(
    base: Design, owned: Sequence[Yarn], put_in: tuple[Yarn, ...], choices: Choices
) -> list[tuple[Yarn, ...]]:
    """The sets to try: those put in, then of the yarns held back the most promising
    for the worst gaps, alone and together."""
    view, fits = choices.judging.view, fits_in(choices.making)
    listed = candidates_of(owned)
    may = listed.may(fits, 1)
    worst = jumps(base.steps_before) or [0]
    suited: dict[Yarn, None] = {}
    for k in worst[:3]:
        ends = base.before.yarns[k].mix, base.before.yarns[k + 1].mix
        suited |= dict.fromkeys(y for y, _ in listed.rank(ends, 3, may, view=view))
    sets = [put_in] if put_in else []
    sets += [(yarn,) for yarn in suited]
    for n in range(2, min(choices.bridging.bridges, 3) + 1):
        sets += list(combinations(list(suited)[:4], n))
    return list(dict.fromkeys(sets))[: N_TRIED.get(choices.arranging.by, 4)]


def reordered_words(ways: Reordered | None) -> str:
    """The two ways and which is the better, in a sentence or two; "" for none."""
    if ways is None:
        return ""
    said = (
        f"With {_names(ways.between)} put between two balls the largest step between "
        f"balls is {ways.put_in:.1f}"
    )
    if not ways.between:
        said = (
            "No bridge put between two balls lowers the largest step between balls, "
            f"{ways.put_in:.1f}"
        )
    said += f"; with {_names(ways.yarns)} put in order among all the others it would be"
    if ways.better == "arranged anew":
        them = "them" if len(ways.yarns) > 1 else "it"
        return f'{said} {ways.arranged:.1f}. Give {them} the role "use" for that.'
    if ways.better == "put in":
        return f"{said} {ways.arranged:.1f}, which is no better."
    return f"{said} the same."


def _names(yarns: Sequence[Yarn]) -> str:
    return " and ".join(f'"{shorten(yarn.name)}"' for yarn in yarns)

"""What no order of these yarns can beat, and why, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from kit.blanket.choices import Arranging
from kit.search import Found


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

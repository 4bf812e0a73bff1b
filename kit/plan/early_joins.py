"""Yarns that are joined before their turn in the run, and how that is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from kit.errors import shorten
from kit.fabric.strand_chains import strands_of
from kit.plan.compose import Plan

N_TOLD = 4


def out_of_turn(plan: Plan) -> tuple[str, tuple[tuple[str, str], ...]]:
    """("before" or "after", pairs): yarns joined before, or after, their turn, each
    with one that it goes before, or after; whichever list is the shorter.

    To keep strands held together alike, and in a mirrored run to lose less yarn at the
    fold, the joining may choose among the next few. A yarn that lies at several places
    is counted at each. Nothing once knitting began.
    """
    if plan.fabric is None or plan.start.row:
        return "before", ()
    run = _numbered(yarn.name for yarn in plan.design.laid.yarns)
    turn = {place: k for k, place in enumerate(run)}
    strands = strands_of(plan.fabric, plan.choices)
    names = _numbered(s.part.yarn.name for s in strands if not s.carried)
    joined = [place for place in names if place in turn]
    early, late = [], []
    for k, place in enumerate(joined):
        passed = [one for one in joined[k + 1 :] if turn[one] < turn[place]]
        if passed:
            early.append((place[0], min(passed, key=turn.__getitem__)[0]))
        ahead = [one for one in joined[:k] if turn[one] > turn[place]]
        if ahead:
            late.append((place[0], ahead[-1][0]))
    if len(late) < len(early):
        return "after", tuple(late)
    return "before", tuple(early)


def _numbered(names: Iterable[str]) -> list[tuple[str, int]]:
    """Names with how often each has come before."""
    seen: Counter[str] = Counter()
    places = []
    for name in names:
        places.append((name, seen[name]))
        seen[name] += 1
    return places


def early_join_words(plan: Plan) -> str:
    """That the knitted order is not quite the run, and why; "" where it is."""
    word, pairs = out_of_turn(plan)
    if not pairs:
        return ""
    told = [f'"{shorten(one)}" {word} "{shorten(two)}"' for one, two in pairs[:N_TOLD]]
    more = f", and {len(pairs) - N_TOLD} more" if len(pairs) > N_TOLD else ""
    lasts = ""
    if plan.choices.laying.layout == "mirrored":
        lasts = ", or to lose less yarn where the colours go back"
    return (
        f"To keep strands held together alike in colour and thickness{lasts}, "
        f"these are joined {word} their turn in the run: {', '.join(told)}{more}."
    )

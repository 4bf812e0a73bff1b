"""How an arrangement runs along the blanket: once or several times, mirrored or not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kit.choices import Laying
from kit.stash import Yarn

LEAST_SHARED_G = 15.0  # grams: a smaller ball is not shared (our rule of thumb)


@dataclass(frozen=True, slots=True)
class Laid:
    """Yarns along the blanket; `joins` are the steps where the run starts anew."""

    yarns: tuple[Yarn, ...]
    joins: frozenset[int] = frozenset()
    said: tuple[str, ...] = ()


def lay_out(run: Sequence[Yarn], laying: Laying) -> Laid:
    """One light-to-dark run, laid along the blanket.

    Mirrored runs light, dark, light with the darkest once. Where balls are shared
    ("halve") those under 15 g stand once: next to the turn when mirrored, else in one
    time through. "pair" deals the balls out instead and cuts none.
    """
    n_parts = laying.times_through * (2 if laying.layout == "mirrored" else 1)
    if len(run) < 2 or n_parts == 1:
        yarns = run[::-1] if laying.layout == "dark-to-light" else run
        return Laid(tuple(yarns))
    said: tuple[str, ...] = ()
    if laying.sharing == "pair":
        passes = _dealt(run, laying)
    else:
        passes, said = _shared(run, laying)
    if laying.layout == "dark-to-light":
        passes = [one[::-1] for one in passes]
    yarns, joins = [], set()
    for one in passes:
        joins |= {len(yarns) - 1} if yarns and one else set()
        yarns += one
    return Laid(tuple(yarns), frozenset(joins), said)


def shared_in(laying: Laying) -> int:
    """Into how many parts a ball is cut: 1 where none is."""
    if laying.sharing == "pair":
        return 1
    return laying.times_through * (2 if laying.layout == "mirrored" else 1)


def is_small(yarn: Yarn) -> bool:
    """Whether a ball is too small to be shared; one of unknown weight is not."""
    return yarn.grams is not None and yarn.grams < LEAST_SHARED_G


def _shared(
    run: Sequence[Yarn], laying: Laying
) -> tuple[list[list[Yarn]], tuple[str, ...]]:
    """Every ball in every part; small ones stand once, dealt out over the times."""
    times, mirrored = laying.times_through, laying.layout == "mirrored"
    turn = run[-1] if mirrored else None
    small = [yarn for yarn in run if is_small(yarn) and yarn is not turn]
    passes = []
    for time in range(times):
        own = small[time::times]
        if mirrored:
            half = [yarn for yarn in run[:-1] if not is_small(yarn)]
            passes.append([*half, *own, run[-1], *half[::-1]])
        else:
            passes.append([yarn for yarn in run if not is_small(yarn) or yarn in own])
    where = "next to the turn" if mirrored else "in one time through"
    names = ", ".join(yarn.name for yarn in small)
    said = f"Under {LEAST_SHARED_G:g} g, so not shared: stands once {where}: {names}."
    return passes, (said,) if small else ()


def _dealt(run: Sequence[Yarn], laying: Laying) -> list[list[Yarn]]:
    """Neighbours in the run are look-alikes: dealt to the parts in turn."""
    times = laying.times_through
    if laying.layout != "mirrored":
        return [list(run[time::times]) for time in range(times)]
    passes = []
    for time in range(times):
        own = list(run[time::times])
        near, far = own[-1::-2][::-1], own[-2::-2]
        passes.append([*near, *far])
    return passes

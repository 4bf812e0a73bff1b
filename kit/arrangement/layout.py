"""How an arrangement runs along the blanket: once or several times, mirrored or not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kit.arrangement.pairing import difference_of, look_alikes
from kit.blanket import Yarn
from kit.blanket.choices import Laying
from kit.yarn import mass

LOOK_ALIKE = 10.0  # dE00: small balls closer than this stand for each other (ours)
LEAST_SHARED_G = 15.0  # grams: a smaller ball is not shared (our rule of thumb)


@dataclass(frozen=True, slots=True)
class Laid:
    """Yarns along the blanket; `joins` are the steps where the run starts anew."""

    yarns: tuple[Yarn, ...]
    joins: frozenset[int] = frozenset()
    sentences: tuple[str, ...] = ()

    def __repr__(self) -> str:
        return f"Laid({len(self.yarns)} yarns, {len(self.joins)} joins)"


def lay_out(run: Sequence[Yarn], laying: Laying, units: str = "metric") -> Laid:
    """One light-to-dark run, laid along the blanket.

    Mirrored runs light, dark, light with the darkest once. Where balls are shared
    ("halve") those under 15 g stand once: when mirrored, look-alikes among them one in
    each half, the others next to the turn; else in one time through. "pair" deals the
    balls out instead and cuts none.
    """
    if len(run) < 2 or n_parts(laying) == 1:
        yarns = run[::-1] if laying.layout == "dark-to-light" else run
        return Laid(tuple(yarns))
    said: tuple[str, ...] = ()
    if laying.sharing == "pair":
        passes = _dealt(run, laying)
    else:
        passes, said = _shared(run, laying, units)
    if laying.layout == "dark-to-light":
        passes = [one[::-1] for one in passes]
    yarns, joins = [], set()
    for one in passes:
        joins |= {len(yarns) - 1} if yarns and one else set()
        yarns += one
    return Laid(tuple(yarns), frozenset(joins), said)


def n_parts(laying: Laying) -> int:
    """How often the colours run along the blanket, there and back being two."""
    return laying.times_through * (2 if laying.layout == "mirrored" else 1)


def shared_in(laying: Laying) -> int:
    """Into how many parts a ball is cut: 1 where none is."""
    return 1 if laying.sharing == "pair" else n_parts(laying)


def is_small(yarn: Yarn) -> bool:
    """Whether a ball is too small to be shared; one of unknown weight is not."""
    return yarn.grams is not None and yarn.grams < LEAST_SHARED_G


def _shared(
    run: Sequence[Yarn], laying: Laying, units: str
) -> tuple[list[list[Yarn]], tuple[str, ...]]:
    """Every ball in every part; small ones stand once, dealt out over the times."""
    times, mirrored = laying.times_through, laying.layout == "mirrored"
    turn = run[-1] if mirrored else None
    small = [yarn for yarn in run if is_small(yarn) and yarn is not turn]
    if not mirrored:
        passes = [
            [yarn for yarn in run if not is_small(yarn) or yarn in small[time::times]]
            for time in range(times)
        ]
        return passes, _told(small, "stands once in one time through", units)
    passes, paired, alone = [], [], []
    for time in range(times):
        pairs = _alike(small[time::times])
        left = [y for y in small[time::times] if not any(y in pair for pair in pairs)]
        passes.append(_there_and_back(run, pairs, left))
        paired += [yarn for yarn in small if any(yarn in pair for pair in pairs)]
        alone += left
    return passes, (
        *_told(paired, "look-alikes stand one in each half", units),
        *_told(alone, "stands once next to the turn", units),
    )


def _there_and_back(
    run: Sequence[Yarn], pairs: Sequence[tuple[Yarn, Yarn]], left: Sequence[Yarn]
) -> list[Yarn]:
    """Light to dark and back: small pairs in their own place, one in each half."""
    there, back = ({pair[k].name for pair in pairs} for k in (0, 1))
    inner = run[:-1]
    half = [yarn for yarn in inner if not is_small(yarn) or yarn.name in there]
    home = [yarn for yarn in inner if not is_small(yarn) or yarn.name in back]
    return [*half, *left, run[-1], *home[::-1]]


def _alike(small: Sequence[Yarn]) -> list[tuple[Yarn, Yarn]]:
    """Small balls in pairs close enough to stand for each other."""
    pairs = look_alikes(small)
    apart = difference_of(pairs)
    return [pair for pair, step in zip(pairs, apart, strict=True) if step <= LOOK_ALIKE]


def _told(yarns: Sequence[Yarn], how: str, units: str) -> tuple[str, ...]:
    names = ", ".join(yarn.name for yarn in yarns)
    said = f"Under {mass(LEAST_SHARED_G, units)}, so not shared: {how}: {names}."
    return (said,) if yarns else ()


def _dealt(run: Sequence[Yarn], laying: Laying) -> list[list[Yarn]]:
    """No ball cut. Mirrored: look-alikes paired off, one in each half, the darkest at
    the turn. Several times through: neighbours in the run dealt out in turn."""
    times = laying.times_through
    if laying.layout != "mirrored":
        return [list(run[time::times]) for time in range(times)]
    return [_paired_off(run[time::times]) for time in range(times)]


def _paired_off(own: Sequence[Yarn]) -> list[Yarn]:
    if len(own) < 2:
        return list(own)
    inner = own[:-1]
    back = {pair[1].name for pair in look_alikes(inner)}
    there = [yarn for yarn in inner if yarn.name not in back]
    home = [yarn for yarn in inner if yarn.name in back]
    return [*there, own[-1], *home[::-1]]

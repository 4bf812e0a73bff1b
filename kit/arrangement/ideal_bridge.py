"""What to look for where no yarn at hand will do: colours, shares and words."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from kit.arrangement.candidates import Gap
from kit.arrangement.catalogue import Catalogue, StepsTo, bounds, catalogue
from kit.colour import Mix, blend, mean_lab
from kit.colour.difference import pair_steps
from kit.colour.spaces import Lab, hex_to_lab, lab_to_hex, lab_to_linear
from kit.colour.words import lightness_word, name_for

MOST_COLOURS = 4
TWENTIETHS = 20  # shares are told in steps of 5 %
# The search: how far colours are moved (L*, a*, b*), how many are kept and tried.
SHIFTS = (8.0, 6.0, 4.0, 3.0, 2.0, 1.0)
POOL, TRIES = 4, 8
OUTSIDE = 1e-3  # of sRGB's range: what rounding to a hex colour takes back
# Ours: a colour of up to a fifth is flecks; one of three quarters of the largest share
# is named beside it; what lies between is patches.
FLECKS, EVEN = 0.2, 0.75

Shares = tuple[int, ...]  # twentieths
Try = tuple[tuple[Lab, ...], Shares]


@dataclass(frozen=True, slots=True)
class IdealBridge:
    """What would lie best between two yarns, and the larger step it leaves."""

    mix: Mix
    step_after: float


@lru_cache(maxsize=1000)
def find_ideal(one: Mix, two: Mix, *, view: float) -> IdealBridge:
    """Two to four colours that lie between two mixes: a search, not a proof.

    It starts from their own colours in every proportion (a bridge may want more dark
    than light), with and without one from half-way, and from two on the way between
    their averages; then shares and colours are moved as long as the larger of the two
    steps falls. Only colours that a screen can show.
    """
    ends, rng = catalogue((one, two)), random.Random(0)
    pool = _best_of(list(_starts(one, two)), ends, view)
    for by in SHIFTS:
        tried = [_moved(each, by, rng) for _, each in pool for _ in range(TRIES)]
        pool = _best_of([each for _, each in pool] + tried, ends, view)
    best = pool[0]
    labs, shares = best[1]
    shown = zip(shares, map(_shown, labs), strict=True)
    largest_first = sorted(shown, key=lambda part: -part[0])
    mix = Mix(
        tuple(lab for _, lab in largest_first),
        tuple(share for share, _ in largest_first),
    )
    step = pair_steps((mix, mix), (one, two), view=view).max()
    return IdealBridge(mix, float(step))


def _starts(one: Mix, two: Mix) -> Iterator[Try]:
    lab_1, lab_2 = np.array(mean_lab(one)), np.array(mean_lab(two))
    way = [
        _shown((lab_1 + part * (lab_2 - lab_1)).tolist())
        for part in (0.2, 0.35, 0.5, 0.65, 0.8)
    ]
    for here, there in ((0, 4), (1, 3), (0, 2), (2, 4)):
        for share in (6, 10, 14):
            yield (way[here], way[there]), (share, TWENTIETHS - share)
    own = _main(one), _main(two)
    for share in range(4, 17, 2):
        yield _whole(blend(own, (share, TWENTIETHS - share)))
        for middle in way[1:4]:
            shares = (share, TWENTIETHS - share, 12)
            yield _whole(blend((*own, Mix((middle,), (1,))), shares))


def _main(mix: Mix) -> Mix:
    """A mix's two largest colours."""
    parts = sorted(zip(mix.shares, mix.labs, strict=True), reverse=True)[:2]
    return Mix(tuple(lab for _, lab in parts), tuple(share for share, _ in parts))


def _whole(mix: Mix) -> Try:
    """A mix's largest few colours with shares in twentieths, none under one."""
    parts = sorted(zip(mix.shares, mix.labs, strict=True), reverse=True)[:MOST_COLOURS]
    total = sum(share for share, _ in parts)
    shares = [max(1, round(TWENTIETHS * share / total)) for share, _ in parts]
    shares[0] += TWENTIETHS - sum(shares)
    return tuple(_shown(lab) for _, lab in parts), tuple(shares)


def _shown(lab: Sequence[float]) -> Lab:
    """The nearest colour that a screen can show, as it would be written."""
    return hex_to_lab(lab_to_hex((lab[0], lab[1], lab[2])))


def _moved(start: Try, by: float, rng: random.Random) -> Try:
    """A twentieth or two from one colour to another, and colours moved."""
    labs, shares = list(start[0]), list(start[1])
    for _ in range(rng.randrange(3)):
        i, j = rng.sample(range(len(labs)), 2)
        if shares[i] > 1 or len(labs) > 2:
            shares[i], shares[j] = shares[i] - 1, shares[j] + 1
            if not shares[i]:
                del labs[i], shares[i]
    for i, (L, a, b) in enumerate(labs):
        if rng.random() < 0.6:
            labs[i] = L + rng.gauss(0, by), a + rng.gauss(0, by), b + rng.gauss(0, by)
    return tuple(labs), tuple(shares)


def _best_of(
    tried: Sequence[Try], ends: Catalogue, view: float
) -> list[tuple[float, Try]]:
    """Of those that a screen can show, the few with the least larger step, and it."""
    tried = [each for each in dict.fromkeys(tried) if len(each[0]) > 1]
    listed = catalogue([Mix(*each) for each in tried])
    low = bounds(listed, ends, view=view)
    one, two = (
        StepsTo(listed, mix, low[:, k], view=view) for k, mix in enumerate(ends.mixes)
    )
    light = lab_to_linear(listed.labs)
    shown = ((light >= -OUTSIDE) & (light <= 1 + OUTSIDE)).all(axis=1)
    may = np.logical_and.reduceat(shown, listed.starts)
    best = Gap(listed, (one, two), may).singles(POOL)
    return [(step, tried[k]) for step, k in best]


# --- words ----------------------------------------------------------------------------


def mix_words(mix: Mix) -> str:
    """A mix in plain words, as one would ask for it in a shop.

    >>> mix_words(Mix(((40.0, 22.0, -8.0), (48.0, 35.0, 38.0)), (85, 15)))
    'a dusty grape with clear terracotta flecks, middling dark'
    """
    parts = sorted(zip(mix.shares, mix.labs, strict=True), reverse=True)
    share_of: dict[str, float] = {}
    for share, lab in parts:
        name = name_for(lab)
        share_of[name] = share_of.get(name, 0.0) + share
    light = lightness_word(mean_lab(mix)[0])
    names = list(share_of)
    if len(names) == 1:
        tones = "" if len(parts) == 1 else f" in {_NUMBERS[len(parts)]} tones"
        return f"{_a(names[0])}{tones}, {light}"
    most = max(share_of.values())
    least = max(EVEN * most, FLECKS + 1e-6) - 1e-9  # sums of shares are rounded
    even = [name for name in names if share_of[name] >= least]
    head = even[0] if len(even) == 1 else f"mix of {_and(even)}"
    rest = [
        f"{name} {'flecks' if share_of[name] <= FLECKS + 1e-6 else 'patches'}"
        for name in names
        if name not in even
    ]
    return f"{_a(head)}{' with ' * bool(rest)}{_and(rest)}, {light}"


_NUMBERS = {2: "two", 3: "three", 4: "four"}


def _and(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), *names[-1:]] if names[1:] else names)


def _a(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"

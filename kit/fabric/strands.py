"""Which strands are held together when: a run of balls joined one after another.

Numbers only: stitches, whole millimetres of yarn, tex. A place is one ball, or the part
of a ball that is used at one place of the blanket.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf

from kit.blanket.choices import Pace, Strands
from kit.yarn.stitch_lengths import Lengths

# Joins closer than this make one hard stripe (common practice, no source).
ROWS_APART = 4
N_LOOK_AHEAD = 3  # how many of the next places the joining may choose from


@dataclass(frozen=True, slots=True)
class Stretch:
    """Stitches `first` to `last` (counted as knitted before) with these places held."""

    first: int
    last: int
    held: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Supply:
    """What can be joined: mm and tex of each place, and how much the colours of two
    places differ (`contrast`, dE00). `times`: which time through each belongs to; all
    to one if left out."""

    mm: tuple[int, ...]
    tex: tuple[float, ...]
    contrast: Sequence[Sequence[float]]
    times: tuple[int, ...] = ()


def in_range(tex: float, n_strands: int, rules: Strands) -> bool:
    """Whether strands held together have the number and the tex asked for."""
    low, high = tex_range(rules)
    return rules.least <= n_strands <= rules.most and low <= tex <= high


def tex_range(rules: Strands) -> tuple[float, float]:
    """The least and the most tex allowed, with a hair for rounding."""
    low, high = 1 - rules.thinner, 1 + rules.thicker
    return rules.fabric_tex * low - 1e-9, rules.fabric_tex * high + 1e-9


def hold(
    supply: Supply,
    rules: Strands,
    pace: Pace,
    lengths: Lengths,
    *,
    order: Sequence[int] | None = None,
    until: int | None = None,
    begun: tuple[int, int] = (0, 0),
) -> list[Stretch]:
    """Join places in order while number and tex stay in range, and knit.

    When a strand runs out the next place is joined; one is broken off early where joins
    would come less than four rows apart. Stops at `until` stitches, or when what is
    left cannot make the thickness. `order`: the places in their order, as numbered if
    left out. `begun`: how many stitches are knitted already, and how many of the first
    places are on the needle.
    """
    order = range(len(supply.mm)) if order is None else order
    at, n_held = begun
    needle = _Needle(supply, rules, pace, lengths, at, order, n_held)
    stretches: list[Stretch] = []
    while until is None or at < until:
        needle.join(at)
        if not needle.may_go_on():
            return without_thin_end(stretches, supply, rules)
        stop, gone = needle.next_change(at, inf if until is None else until)
        if stop > at:
            stretches.append(Stretch(at, stop, tuple(needle.held)))
        needle.knit(at, stop, gone)
        at = stop
    return stretches


class _Needle:
    """What is on the needle and waiting while knitting goes on; `hold` drives it."""

    def __init__(
        self,
        supply: Supply,
        rules: Strands,
        pace: Pace,
        lengths: Lengths,
        at: int,
        order: Sequence[int],
        n_held: int,
    ) -> None:
        self.supply, self.rules, self.pace, self.lengths = supply, rules, pace, lengths
        self.left = list(supply.mm)
        self.held = [k for k in order[:n_held] if self.left[k] > 0]  # as they joined
        self.queue = [k for k in order[n_held:] if self.left[k] > 0]
        self.joined = dict.fromkeys(self.held, at)
        self.apart = _rows_apart(rules, pace) * lengths.stitches
        self.tex_range = tex_range(rules)
        self.known: tuple[list[int], list[int]] | None = None  # who joins whom next

    def join(self, at: int) -> None:
        coming, self.known = self._joining(self.held), None
        for k in coming:
            self.queue.remove(k)
            self.held.append(k)
            self.joined[k] = at

    def may_go_on(self) -> bool:
        """Whether the strands held make the thickness, or more are to come."""
        if self.queue or not self.held:
            return bool(self.held)
        tex = sum(self.supply.tex[k] for k in self.held)
        return in_range(tex, len(self.held), self.rules)

    def knit(self, at: int, stop: int, gone: Sequence[int]) -> None:
        used = self.lengths.mm_at(stop) - self.lengths.mm_at(at)
        for k in self.held:
            self.left[k] -= used
        self.held = [k for k in self.held if k not in gone]

    def next_change(self, at: int, until: float) -> tuple[int, list[int]]:
        """At which stitch a strand goes next, and which go there: one, unless several
        run out at that very stitch. None where knitting comes to its end first."""
        ends = self._ends(self.held, at)
        first = min(ends.values())
        if first >= until:
            return int(until), []
        stop = first
        if self.queue:
            before = [end for end in ends.values() if end < until]
            latest = _in_time(before, self.apart, len(self.queue))
            stop = min(first, max(latest, at + self.apart))
            stop = self._eased(at, stop, ends, until)
        gone = [k for k in self.held if ends[k] <= stop]
        return max(stop, at), gone or [min(self.held, key=ends.__getitem__)]

    def _ends(self, places: Sequence[int], at: int) -> dict[int, int]:
        """The stitch at which each place has to go, by its length or the pace."""
        row, here = self.lengths.stitches, self.lengths.mm_at(at)
        ends = {k: self.lengths.stitch_at(here + self.left[k]) for k in places}
        if self.pace.longest_rows is not None:
            longest, since = self.pace.longest_rows * row, self.joined
            ends = {k: min(end, since.get(k, at) + longest) for k, end in ends.items()}
        if self.pace.rows_per_colour is not None and self.queue:
            paced = (at // row + self.pace.rows_per_colour) * row
            ends |= {k: min(ends[k], paced) for k in self.held[:1] if k in ends}
        return ends

    def _eased(self, at: int, stop: int, ends: dict[int, int], until: float) -> int:
        """`stop`, or a few rows sooner where the joins after it would else be crowded.

        Looks one join ahead: what comes in may be a small ball that runs out just
        where another strand does.
        """
        goes = min(self.held, key=ends.__getitem__)
        stay = [k for k in self.held if k != goes and ends[k] > stop]
        coming = self._joining(stay)
        n_joins = len(self.queue) - len(coming)
        if not n_joins or not stay or not coming:
            return stop
        others, apart = [ends[k] for k in stay], self.apart

        def crowded(soon: int) -> int:
            then = [*others, *self._ends(coming, soon).values()]
            return _crowding([e for e in then if e < until], soon, apart, n_joins)

        if not crowded(stop):
            return stop
        sooner = {end - m * apart for end in others for m in (1, 2, 3)}
        tried = [s for s in sorted(sooner)[::-1] if at + apart <= s < stop]
        return min([stop, *tried], key=crowded)

    def _joining(self, held: list[int]) -> list[int]:
        """The places to join: the next ones that fit, or others close behind them."""
        if self.known is not None and held == self.known[0]:
            return self.known[1]
        supply, rules, low = self.supply, self.rules, self.tex_range[0]
        now, chosen, waiting = list(held), [], self.queue
        tex = sum(supply.tex[k] for k in now)
        while waiting and len(now) < rules.most:
            enough = len(now) >= rules.least
            if enough and tex >= low:
                break
            near = self._near(waiting)
            k = self._choice(now, tex, near)
            if k is None and enough:
                break
            if k is None:  # nothing fits, yet there must be more: least out of range
                k = min(near, key=supply.tex.__getitem__)
            waiting = [other for other in waiting if other != k]
            now.append(k)
            chosen.append(k)
            tex += supply.tex[k]
        self.known = list(held), chosen
        return chosen

    def _near(self, waiting: list[int]) -> list[int]:
        """The places to choose from: none overtakes an earlier time through."""
        near, times = waiting[:N_LOOK_AHEAD], self.supply.times
        if not times:
            return near
        return [k for k in near if times[k] == times[near[0]]]

    def _choice(self, now: list[int], tex: float, near: list[int]) -> int | None:
        """The first of the next places that keeps the tex in range; another where its
        contrast with the held strands is over the limit and that one's is lower."""
        supply, (low, high) = self.supply, self.tex_range
        fits = [k for k in near if tex + supply.tex[k] <= high]
        if len(now) + 1 == self.rules.most:
            fits = [k for k in fits if tex + supply.tex[k] >= low] or fits
        if not fits:
            return None
        if supply.times:  # where the run starts anew, contrast is wanted
            time = supply.times[fits[0]]
            now = [other for other in now if supply.times[other] == time]
        contrasts = [
            max([supply.contrast[k][other] for other in now], default=0.0) for k in fits
        ]
        if contrasts[0] <= self.rules.contrast:
            return fits[0]
        return fits[contrasts.index(min(contrasts))]


def _rows_apart(rules: Strands, pace: Pace) -> int:
    """How many rows joins are kept apart: four, unless the pace asks for less."""
    apart = min(ROWS_APART, pace.rows_per_colour or ROWS_APART)
    if pace.longest_rows is not None:
        apart = min(apart, pace.longest_rows // rules.most)
    return max(1, apart)


def _in_time(ends: Iterable[int], apart: int, n_joins: int) -> int:
    """The latest stitch for the next change that leaves room for those after it."""
    return min(end - j * apart for j, end in enumerate(sorted(ends)[:n_joins]))


def _crowding(ends: Iterable[int], at: int, apart: int, n_joins: int) -> int:
    """By how many stitches the changes after `at` come too soon, all told."""
    late = enumerate(sorted(ends)[:n_joins], start=1)
    return sum(max(0, at + j * apart - end) for j, end in late)


def without_thin_end(
    stretches: list[Stretch], supply: Supply, rules: Strands
) -> list[Stretch]:
    """Without last stretches that are too thin: knitting stops before them.

    Where none is in range they all stay: that is said elsewhere, and still knitted.
    """
    fit = [
        in_range(sum(supply.tex[k] for k in s.held), len(s.held), rules)
        for s in stretches
    ]
    n = max((k + 1 for k, fits in enumerate(fit) if fits), default=len(fit))
    return stretches[:n]

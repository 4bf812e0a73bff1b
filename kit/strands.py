"""Which strands are held together when: a run of balls joined one after another.

Numbers only: stitches, whole millimetres of yarn, tex. A place is one ball, or the part
of a ball that is used at one place of the blanket.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from kit.choices import Pace, Strands

ROWS_APART = (
    4  # joins closer than this make one hard stripe (common practice, no source)
)
N_LOOK_AHEAD = 3  # how many of the next places the joining may choose from


@dataclass(frozen=True, slots=True)
class Yardline:
    """Yarn used along the blanket: stitches knitted to mm of each strand, and back.

    `stitches` in a row; `row_um` the micrometres of yarn in one stitch of each row, for
    one cycle of sections.
    """

    stitches: int
    row_um: tuple[int, ...]
    start_um: tuple[int, ...]

    def mm_at(self, stitch: int) -> int:
        """Millimetres of each strand used when `stitch` stitches are knitted."""
        row, across = divmod(stitch, self.stitches)
        cycles, k = divmod(row, len(self.row_um))
        um = cycles * self.start_um[-1] + self.start_um[k] + across * self.row_um[k]
        return um // 1000

    def stitch_at(self, mm: int) -> int:
        """The most stitches that `mm` millimetres of each strand will make."""
        cycles, rest = divmod(1000 * mm + 999, self.start_um[-1])
        k = bisect_right(self.start_um, rest) - 1
        across = (rest - self.start_um[k]) // self.row_um[k]
        return (cycles * len(self.row_um) + k) * self.stitches + across


def yardline(stitches: int, stitch_m: float, factors: Sequence[float]) -> Yardline:
    """The Yardline of rows of `stitches`, `stitch_m` metres of yarn each; `factors`
    multiply it row by row over one cycle of sections."""
    row_um = tuple(max(1, round(1e6 * stitch_m * factor)) for factor in factors)
    start = [0]
    for um in row_um:
        start.append(start[-1] + um * stitches)
    return Yardline(stitches, row_um, tuple(start))


@dataclass(frozen=True, slots=True)
class Stretch:
    """Stitches `first` to `last` (counted as knitted before) with these places held."""

    first: int
    last: int
    held: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Supply:
    """What can be joined, in order: mm and tex of each place, and how much the colours
    of two places differ (`contrast`, dE00)."""

    mm: tuple[int, ...]
    tex: tuple[float, ...]
    contrast: Sequence[Sequence[float]]


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
    line: Yardline,
    *,
    until: int | None = None,
    begun: tuple[int, int] = (0, 0),
) -> list[Stretch]:
    """Join places in order while number and tex stay in range, and knit.

    When a strand runs out the next place is joined. Where two would run out less than
    four rows apart, the first is broken off early if its own join lies far enough back.
    Stops at `until` stitches, or when what is left cannot make the thickness. `begun`:
    how many stitches are knitted already, and how many of the places are on the needle.
    """
    left = list(supply.mm)
    queue = [k for k, mm in enumerate(left) if mm > 0]
    at, n_held = begun
    held, queue = queue[:n_held], queue[n_held:]
    joined = dict.fromkeys(held, at)
    stretches, changed = [], at
    while True:
        for k in _joining(held, queue, supply, rules):
            queue.remove(k)
            held.append(k)
            joined[k] = at
        tex = sum(supply.tex[k] for k in held)
        if not held or (not queue and not in_range(tex, len(held), rules)):
            return _whole(stretches, supply, rules)
        here = line.mm_at(at)
        ends = {k: line.stitch_at(here + left[k]) for k in held}
        stop, gone = _next_change(ends, joined, changed, bool(queue), pace, line)
        stop = max(stop, at)
        if until is not None and stop >= until:
            stop, gone = until, []
        used = line.mm_at(stop) - here
        for k in held:
            left[k] -= used
        if stop > at:
            stretches.append(Stretch(at, stop, tuple(held)))
        if stop == until:
            return stretches
        held = [k for k in held if k not in gone]
        at = changed = stop


def _joining(
    held: Sequence[int], queue: Sequence[int], supply: Supply, rules: Strands
) -> list[int]:
    """The places to join now: the next ones that fit, or others close behind them."""
    low, _ = tex_range(rules)
    now, waiting, chosen = list(held), list(queue), []
    while waiting and len(now) < rules.most:
        tex = sum(supply.tex[k] for k in now)
        if len(now) >= rules.least and tex >= low:
            break
        k = _choice(now, tex, waiting[:N_LOOK_AHEAD], supply, rules)
        if (
            k is None
        ):  # nothing fits: knit on out of range only where there must be more
            if len(now) >= rules.least:
                break
            k = waiting[0]
        waiting.remove(k)
        now.append(k)
        chosen.append(k)
    return chosen


def _choice(
    now: Sequence[int], tex: float, near: Sequence[int], supply: Supply, rules: Strands
) -> int | None:
    """The first of the next places that keeps the tex in range; another where its
    contrast with the held strands is over the limit and that one's is lower."""
    low, high = tex_range(rules)
    last = len(now) + 1 == rules.most
    fits = [k for k in near if tex + supply.tex[k] <= high]
    fits = [k for k in fits if not last or tex + supply.tex[k] >= low] or fits
    if not fits:
        return None

    def contrast(k: int) -> float:
        return max((supply.contrast[k][other] for other in now), default=0.0)

    if contrast(fits[0]) <= rules.contrast:
        return fits[0]
    return min(fits, key=contrast)


def _next_change(
    ends: dict[int, int],
    joined: dict[int, int],
    changed: int,
    more: bool,
    pace: Pace,
    line: Yardline,
) -> tuple[int, list[int]]:
    """At which stitch a strand goes next, and which ones go there."""
    row = line.stitches
    if pace.longest_rows is not None:
        longest = pace.longest_rows * row
        ends = {k: min(end, joined[k] + longest) for k, end in ends.items()}
    order = sorted(ends, key=lambda k: (ends[k], joined[k], k))
    if more and pace.rows_per_colour is not None:
        stop = (changed // row + pace.rows_per_colour) * row
        if stop < ends[order[0]]:
            return stop, [min(ends, key=lambda k: (joined[k], k))]
    first = ends[order[0]]
    gone = [k for k in order if ends[k] == first]
    if more and len(order) > 1:
        early = ends[order[1]] - ROWS_APART * row
        if early < first and early >= changed + ROWS_APART * row:
            return early, [order[0]]
    return first, gone


def _whole(stretches: list[Stretch], supply: Supply, rules: Strands) -> list[Stretch]:
    """Without a last stretch that is too thin: knitting stops before it."""
    while stretches:
        held = stretches[-1].held
        if in_range(sum(supply.tex[k] for k in held), len(held), rules):
            break
        if all(not _fits(s, supply, rules) for s in stretches):
            break  # nothing is in range: said elsewhere, and still knitted
        stretches = stretches[:-1]
    return stretches


def _fits(stretch: Stretch, supply: Supply, rules: Strands) -> bool:
    tex = sum(supply.tex[k] for k in stretch.held)
    return in_range(tex, len(stretch.held), rules)

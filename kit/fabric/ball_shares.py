"""The places along a blanket knitted to its length: stripes, and what is kept back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from kit.blanket import Choices
from kit.blanket.choices import Pace
from kit.fabric.setup import BallPlace, Setup, kept_back, least_cap, supply_of
from kit.fabric.strands import ROWS_APART, Stretch, Supply, hold, without_thin_end
from kit.fabric.stripes import Stripe
from kit.yarn.stitch_lengths import BothEnds


@dataclass(frozen=True, slots=True)
class Task:
    """What one knitting is about, beside the places: rows done and places held then.

    `order`: of the places (mirrored: to the fold) as they are joined; as they stand if
    left out. `least_rows`: mirrored halves that do not make so many are not knitted.
    """

    choices: Choices
    setup: Setup
    row: int = 0
    n_held: int = 0
    order: tuple[int, ...] = ()
    least_rows: int = 0

    @property
    def begun(self) -> tuple[int, int]:
        return self.row * self.setup.stitches, self.n_held


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came off the needle, what is kept back of each yarn (mm), and the supply
    that was knitted from: the places' lengths, trimmed."""

    stripes: tuple[Stripe, ...]
    kept: dict[str, int]
    supply: Supply


def knit(places: Sequence[BallPlace], task: Task) -> Outcome:
    """Knit to the wished length, or until the yarn ends.

    Which strands begin and end is only known once they are knitted: the yarn for their
    cast-on and bind-off is set aside and the blanket knitted again, until those that
    begin and end have theirs.
    """
    edges: tuple[set[str], set[str]] = (set(), set())
    for tried in range(len(places) + 10):
        begin = edges[0] if not task.row else ()
        kept = kept_back(places, begin, edges[1], task.setup)
        supply = _trimmed(places, kept, task)
        stretches = one_way(places, supply, task)
        if not stretches:
            break
        found = [{places[k].yarn.name for k in stretches[at].held} for at in (0, -1)]
        if tried > 4:  # they take turns: set it aside for all of them
            found = [one | two for one, two in zip(found, edges, strict=True)]
        if edges == (found[0], found[1]):
            break
        edges = found[0], found[1]
    stripes = _joined(_stripes(stretches, places, task.setup))
    return Outcome(tuple(stripes), kept, supply)


def _trimmed(places: Sequence[BallPlace], kept: dict[str, int], task: Task) -> Supply:
    """The supply with the largest balls trimmed to what the wished length needs."""
    until, making, lengths = task.setup.until, task.choices.making, task.setup.lengths
    whole_balls = supply_of(places, kept)
    longest = max(whole_balls.mm, default=0)
    if until is None or making.pace != Pace():
        return whole_balls
    # Fewer strands than the least are never knitted.
    needed = making.strands.least * (lengths.mm_between(task.begun[0], until))

    def cut(cap: int) -> Supply:
        return replace(whole_balls, mm=tuple(min(mm, cap) for mm in whole_balls.mm))

    def fills(cap: int) -> bool:
        supply = cut(cap)
        if sum(supply.mm) < needed:
            return False
        tried = one_way(places, supply, task)
        return bool(tried) and tried[-1].last >= until

    return cut(least_cap(fills, longest)) if fills(longest) else whole_balls


def one_way(places: Sequence[BallPlace], supply: Supply, task: Task) -> list[Stretch]:
    """Along the blanket in whole rows; mirrored from both ends to the middle."""
    making, setup, until = task.choices.making, task.setup, task.setup.until
    order = task.order or None
    if is_folded(places, task):
        return _mirrored(supply, task)
    if task.choices.laying.layout == "mirrored" and not task.row:
        supply = _in_two_halves(places, supply)
    stretches = hold(
        supply, making.strands, making.pace, setup.lengths, order=order, until=until,
        begun=task.begun,
    )  # fmt: skip
    if not stretches or stretches[-1].last == until:
        return stretches
    end = stretches[-1].last // setup.stitches * setup.stitches
    cut = (replace(one, last=min(one.last, end)) for one in stretches)
    return [one for one in cut if one.first < one.last]


def _in_two_halves(places: Sequence[BallPlace], supply: Supply) -> Supply:
    """The same, where nothing on the way back overtakes what lies at the turn: passed
    over for its contrast, it would never be joined."""
    if supply.times:
        return supply
    names = [place.yarn.name for place in places]
    back = [k for k, name in enumerate(names) if name in names[:k]]
    turn = min(back, default=len(names) // 2 + 1) - 1  # dealt in pairs none comes twice
    return replace(supply, times=tuple(int(k > turn) for k in range(len(places))))


def is_folded(places: Sequence[BallPlace], task: Task) -> bool:
    """Whether both halves have the same balls, so that they are knitted at once."""
    names = [place.yarn.name for place in places]
    mirrored = task.choices.laying.layout == "mirrored" and not task.row
    return mirrored and len(places) > 2 and names == names[::-1]


def _mirrored(supply: Supply, task: Task) -> list[Stretch]:
    """Both halves at once, joins at mirrored rows; as many whole rows as there is yarn
    for. The darkest does not go before its turn, so that it lies at the fold, unless
    yarns differ in thickness and the blanket then reaches four rows further."""
    n, setup = len(supply.mm), task.setup
    middle = n // 2
    pairs = zip(supply.mm[:middle], supply.mm[::-1], strict=False)
    mm = (*(one + two for one, two in pairs), *supply.mm[middle : n - middle])
    first = slice(n - middle)
    shared = replace(supply, mm=mm, tex=supply.tex[first], times=supply.times[first])
    if not n % 2 or supply.times:
        return _to_the_fold(shared, n, task)
    in_turn = replace(shared, times=(0,) * middle + (1,))
    best = _to_the_fold(in_turn, n, task)
    if _met(best, setup) or len(set(shared.tex)) == 1:
        return best
    freely = _to_the_fold(shared, n, task)
    gain = (freely[-1].last if freely else 0) - (best[-1].last if best else 0)
    enough = ROWS_APART * setup.stitches
    return freely if gain >= enough or (gain and _met(freely, setup)) else best


def _met(stretches: Sequence[Stretch], setup: Setup) -> bool:
    return bool(stretches) and stretches[-1].last == setup.until


def _to_the_fold(shared: Supply, n: int, task: Task) -> list[Stretch]:
    """Half of n places, each with its image, and that half mirrored. The middle stripe
    takes the odd stitch."""
    making, setup, order = task.choices.making, task.setup, task.order or None

    def knitted(rows: int) -> list[Stretch]:
        both = BothEnds(setup.lengths, rows * setup.stitches)
        half = hold(
            shared, making.strands, making.pace, both, order=order, until=both.middle
        )
        half = without_thin_end(half, shared, making.strands)
        full = half and half[-1].last == both.middle
        return _with_image(half, both.end, n) if full else []

    high = setup.rows or setup.lengths.stitch_at(sum(shared.mm)) // setup.stitches
    if stretches := knitted(high):
        return stretches
    low = min(task.least_rows, high)
    if low and not knitted(low):
        return []
    while high - low > 1:
        rows = (low + high) // 2
        low, high = (rows, high) if knitted(rows) else (low, rows)
    return knitted(low) if low else []


def _with_image(stretches: list[Stretch], end: int, n: int) -> list[Stretch]:
    back = [
        Stretch(end - s.last, end - s.first, tuple(n - 1 - k for k in s.held))
        for s in reversed(stretches)
    ]
    back[0] = replace(back[0], first=stretches[-1].last)
    return stretches + back


def _stripes(
    stretches: Sequence[Stretch], places: Sequence[BallPlace], setup: Setup
) -> list[Stripe]:
    """As stripes; `restart` where the next time through joins the one before."""
    stripes = []
    before: Sequence[int] = ()
    times = [place.time for place in places]
    for one in stretches:
        mm = setup.lengths.mm_between(one.first, one.last)
        strands = tuple(places[k].yarn for k in one.held)
        restart = restarts(before, one.held, times)
        stripe = Stripe(
            one.first, one.last, setup.stitches, strands, (), mm / 1000, restart
        )
        stripes.append(stripe)
        before = one.held
    return stripes


def restarts(
    before: Sequence[int],
    after: Sequence[int],
    times: Sequence[int] | Mapping[int, int],
) -> bool:
    """Whether a strand of the next time through joins one of the time before."""
    comes = [times[k] for k in after if k not in before]
    return bool(before and comes) and max(comes) > min(times[k] for k in before)


def _joined(stripes: Sequence[Stripe]) -> list[Stripe]:
    """Neighbours with the same strands as one stripe (the middle of a mirrored run)."""
    joined: list[Stripe] = []
    for stripe in stripes:
        if joined and Counter(joined[-1].strands) == Counter(stripe.strands):
            before = joined.pop()
            metres = round(before.metres_each + stripe.metres_each, 3)
            stripe = replace(before, last=stripe.last, metres_each=metres)
        joined.append(stripe)
    return joined

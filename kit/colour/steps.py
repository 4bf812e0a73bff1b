"""Steps between neighbours: how large, which ones break the flow, in words."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from kit.colour.causes import LEAST_CHROMA, busier_word, term_words, why
from kit.colour.difference import VIEW, at_view, far_steps, near_steps
from kit.colour.mixes import Mix, mean_lab
from kit.colour.spaces import chroma_hue
from kit.late import draws_itself

LIMIT = 25.0  # dE00: a step over it is a jump, unless another is chosen (ours)
LEAST_JUMP = 10.0  # dE00: below this nothing stands out (our convention)
STANDS_OUT = 2.0  # times the median of the nearest steps (our convention)
N_NEAREST = 8  # steps (our convention)
TURN = 60.0  # degrees of hue (our convention)
JUST_TOLD = 0.05  # dE00: less is no difference where steps are told to a tenth
MOST_REMEMBERED = 20_000  # pairs of mixes

_remembered: dict[tuple[Mix, Mix], tuple[float, float, str]] = {}


@dataclass(frozen=True, slots=True)
class Step:
    """The colour difference between two neighbours.

    Attributes
    ----------
    size : float
        (1 - view) near + view far, ΔE00.
    near : float
        In the hand, ΔE00.
    far : float
        Across the room, ΔE00.
    reasons : tuple of str
        How it breaks the flow ("large", "stands out"); none if it does not.
    cause : str
        What the eye meets there, in words.
    accent : bool
        Kept on purpose; not counted in the largest step.
    join : bool
        Where the run starts anew; not counted either.
    jump : bool
        Whether it breaks the flow.
    counts : bool
        Whether it counts in the largest step.
    kind : str
        How it is marked: "join", "accent" or "jump"; "" for most.
    """

    size: float
    near: float
    far: float
    reasons: tuple[str, ...]
    cause: str
    accent: bool = False
    join: bool = False

    def __repr__(self) -> str:
        marks = (*self.reasons, *self.accent * ("accent",), *self.join * ("join",))
        said = "; ".join((self.cause, *marks))
        return (
            f"Step({self.size:.1f}: near {self.near:.1f}, far {self.far:.1f}; {said})"
        )

    @property
    def jump(self) -> bool:
        return bool(self.reasons)

    @property
    def counts(self) -> bool:
        return not (self.accent or self.join)

    @property
    def kind(self) -> str:
        """How it is marked: "join", "accent" or "jump"; "" for most."""
        if self.join:
            return "join"
        if self.accent:
            return "accent"
        return "jump" if self.jump else ""


@draws_itself("kit.pictures.notebook:steps_html")
class Steps(tuple[Step, ...]):
    """Steps in their order: a tuple of `Step` that a notebook shows as a table."""

    __slots__ = ()

    def __repr__(self) -> str:
        return f"Steps({len(self)}, largest {largest_step(self):.1f})"


def steps_along(
    mixes: Sequence[Mix],
    *,
    view: float = VIEW,
    limit: float = LIMIT,
    accents: Collection[int] = (),
    joins: Collection[int] = (),
) -> Steps:
    """The n - 1 steps along n mixes, which of them are jumps, and why.

    Parameters
    ----------
    mixes : sequence of Mix
        n mixes in their order.
    view : float
        From 0, in the hand, to 1, across the room; no unit.
    limit : float
        A step over it is a jump, ΔE00. One that stands out from those near it is too.
    accents : collection of int
        Indices (no unit) of steps kept on purpose.
    joins : collection of int
        Indices (no unit) of steps where the run starts anew.

    Returns
    -------
    Steps
        n - 1 steps, a tuple of `Step`; sizes in ΔE00.

    Examples
    --------
    >>> from kit.colour import read_mix
    >>> mixes = [read_mix(text)[0] for text in ("#ffffff", "#808080", "#000000")]
    >>> steps_along(mixes)[0]
    Step(33.2: near 33.2, far 33.2; darker by 46 L*; large)
    """
    known = _known(list(pairwise(mixes)))
    sizes = [at_view(view, near, far) for near, far, _ in known]
    reasons = _reasons(sizes, limit, set(accents) | set(joins))
    return Steps(
        Step(
            sizes[i], near, far, reasons[i], cause, accent=i in accents, join=i in joins
        )
        for i, (near, far, cause) in enumerate(known)
    )


def _known(pairs: Sequence[tuple[Mix, Mix]]) -> list[tuple[float, float, str]]:
    """Near, far and cause of each pair of mixes: the same neighbours are met again and
    again while a blanket is planned, so they are remembered."""
    global _remembered
    # Another thread may begin afresh meanwhile: this one goes on with what it has.
    known = _remembered if len(_remembered) <= MOST_REMEMBERED else {}
    new = [pair for pair in dict.fromkeys(pairs) if pair not in known]
    if new:
        before, after = ([pair[side] for pair in new] for side in (0, 1))
        near, far = near_steps(before, after), far_steps(before, after)
        found = zip(near.tolist(), far.tolist(), why(before, after), strict=True)
        known.update(zip(new, found, strict=True))
    _remembered = known
    return [known[pair] for pair in pairs]


def largest_step(steps: Sequence[Step]) -> float:
    """The largest step that counts, in dE00; 0 where none does."""
    return max((step.size for step in steps if step.counts), default=0.0)


def jumps(steps: Sequence[Step]) -> list[int]:
    """Where the flow breaks unintended: worst first."""
    places = [k for k, step in enumerate(steps) if step.jump and step.counts]
    return sorted(places, key=lambda k: (-steps[k].size, k))


def median_step(steps: Sequence[Step]) -> float:
    """The median of the steps that count, in dE00; 0 where none does."""
    return median([step.size for step in steps if step.counts] or [0.0])


def step_words(step: Step, one: Mix, two: Mix) -> str:
    """A step whole: its size, near and far where they differ, jump or accent, terms."""
    size = f"step {step.size:.1f}"
    if abs(step.near - step.far) >= JUST_TOLD:
        size += f" (in the hand {step.near:.1f}, across the room {step.far:.1f})"
    if step.join:
        size += ", where the run starts anew"
    elif step.accent:
        size += ", an accent, not counted"
    elif step.jump:
        size += f", a jump: {' and '.join(step.reasons)}"
    return "; ".join(filter(None, (size, term_words(one, two), busier_word(one, two))))


def _reasons(
    sizes: Sequence[float], limit: float, kept: Collection[int]
) -> list[tuple[str, ...]]:
    counted = [i for i in range(len(sizes)) if i not in kept]
    reasons = []
    for i, size in enumerate(sizes):
        others = sorted((abs(j - i), j) for j in counted if j != i)[:N_NEAREST]
        usual = median([sizes[j] for _, j in others]) if others else size
        stands_out = size > LEAST_JUMP and size > STANDS_OUT * usual
        named = (("large", size > limit), ("stands out", stands_out))
        reasons.append(tuple(word for word, holds in named if holds))
    return reasons


def hue_turns(mixes: Sequence[Mix]) -> int:
    """How often the hue turns by over 60 degrees between two coloured neighbours."""
    polar = [chroma_hue(mean_lab(mix)) for mix in mixes]
    return sum(
        min(one[0], two[0]) >= LEAST_CHROMA
        and abs((two[1] - one[1] + 180) % 360 - 180) > TURN
        for one, two in zip(polar, polar[1:], strict=False)
    )


def out_of_order(values: Sequence[float]) -> dict[int, float]:
    """Which places break a light-to-dark run of L*, and by how many L*.

    The longest run that does go from light to dark is kept; every other place is given
    the least change of L* that would let it stand where it does.

    >>> out_of_order([90, 80, 86, 70])
    {2: 6.0}
    """
    kept = _longest_descent(values)
    late = {}
    for i, value in enumerate(values):
        if i not in kept:
            above = min((values[k] for k in kept if k < i), default=100.0)
            below = max((values[k] for k in kept if k > i), default=0.0)
            late[i] = float(max(value - above, below - value))
    return late


def _longest_descent(values: Sequence[float]) -> set[int]:
    if not values:
        return set()
    length, link = [1] * len(values), [-1] * len(values)
    for i, value in enumerate(values):
        for j in range(i):
            if values[j] >= value and length[j] + 1 > length[i]:
                length[i], link[i] = length[j] + 1, j
    i = length.index(max(length))
    kept = set()
    while i >= 0:
        kept.add(i)
        i = link[i]
    return kept

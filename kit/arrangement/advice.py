"""What to do about a jump without another yarn: one move, one swap, one left out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf

import numpy as np

from kit.arrangement.design import Design
from kit.arrangement.layout import is_small, lay_out, n_parts, shared_in
from kit.arrangement.orders import family_name, value_of
from kit.arrangement.suggestions import worst_gaps
from kit.blanket import Choices, Yarn
from kit.colour import step_table
from kit.colour.steps import JUST_TOLD, largest_step, out_of_order
from kit.errors import shorten
from kit.search.problem import SAME

DOES = ("move", "swap", "leave out")

Passes = tuple[tuple[int, ...], ...]  # yarns by number, one pass after the other


@dataclass(frozen=True, slots=True)
class Advice:
    """What lowers one jump most, and what it breaks; steps in dE00.

    `does`: one of DOES. `beside`: the two yarns a moved one then stands between (one
    where it stands at an end), or the one it is swapped with. `step_after`: the largest
    of all the steps that are new.
    """

    jump: tuple[Yarn, Yarn, float]
    does: str
    yarn: Yarn
    beside: tuple[Yarn, ...]
    step_after: float
    largest_before: float
    largest_after: float
    breaks: tuple[str, ...]


def advise(design: Design, choices: Choices) -> tuple[Advice, ...]:
    """For each of the worst jumps the one change that helps most, if any does.

    Every yarn is tried in the gap, both its yarns everywhere else, swapped with every
    other, and left out; judged by the largest step that remains along the blanket, then
    by the largest of the steps that are new. A change is taken in every place that the
    yarn has. None that makes the largest step larger; bridges, accents and locked yarns
    stay where they are, and none is moved beside an accent, where its step would hide.
    A change that is the best for several jumps is told once, with the worst of them.
    """
    changes = _Changes(design, choices)
    worst = worst_gaps(design.laid, design.steps)
    found = [one for k, _ in worst if (one := changes.advice(k))]
    first = {
        (one.does, one.yarn, one.beside)
        if one.does != "swap"
        else frozenset((one.yarn, *one.beside)): one
        for one in reversed(found)
    }
    return tuple(one for one in found if one in first.values())


class _Changes:
    """What may be changed along a blanket: its yarns as numbers, with all steps."""

    def __init__(self, design: Design, choices: Choices) -> None:
        self.design, self.choices = design, choices
        laid, self.mirrored = design.laid, choices.laying.layout == "mirrored"
        self.yarns = list({yarn.name: yarn for yarn in laid.yarns}.values())
        number = {yarn.name: k for k, yarn in enumerate(self.yarns)}
        self.places = tuple(number[yarn.name] for yarn in laid.yarns)
        self.passes: Passes = tuple(
            tuple(number[yarn.name] for yarn in each) for each in laid.passes
        )
        mixes = [yarn.mix for yarn in self.yarns]
        counts = choices.judging.counts
        table = step_table(mixes, mixes, view=choices.judging.view)
        kept = [[counts(one, two) for two in self.yarns] for one in self.yarns]
        self.sizes = np.where(kept, table, 0.0).tolist()
        self.largest = largest_step(design.steps)
        fixed = {bridge.yarn.name for bridge in design.bridges}
        fixed |= {yarn.name for yarn in self.yarns if yarn.role == "accent"}
        self.pairs = []
        for locked in choices.arranging.locked:
            if isinstance(locked, str):
                fixed.add(locked)
            elif set(locked) <= set(number):
                self.pairs.append(frozenset(number[name] for name in locked))
        if shared_in(choices.laying) > 1:  # small balls stand where they are paired
            fixed |= {yarn.name for yarn in self.yarns if is_small(yarn)}
        self.movable = [number[y.name] for y in self.yarns if y.name not in fixed]
        self.beside = {frozenset(number[name] for name in gap) for gap in laid.gaps}
        self.n_places = [self.places.count(k) for k in range(len(self.yarns))]

    def advice(self, k: int) -> Advice | None:
        one, two = self.places[k : k + 2]
        size = self.design.steps[k].size
        ways = []
        for rank, yarn, beside, passes in self._ways(one, two):
            pairs = [pair for each in passes for pair in pairwise(each)]
            new = [pair for pair in pairs if frozenset(pair) not in self.beside]
            after = max((self.sizes[a][b] for a, b in new), default=0.0)
            if passes == self.passes or after >= size - SAME:
                continue
            if not self._keeps_pairs(passes):
                continue
            largest = max((self.sizes[a][b] for a, b in pairs), default=0.0)
            if largest <= self.largest + SAME and self._laid_so(
                rank, yarn, beside, passes
            ):
                score = round(largest, 9), round(after, 9), rank
                names = self.yarns[yarn].name, [self.yarns[b].name for b in beside]
                ways.append((score, names, yarn, beside))
        if not ways:
            return None
        (largest, after, rank), _, yarn, beside = min(ways)
        return Advice(
            (self.yarns[one], self.yarns[two], size),
            DOES[rank],
            self.yarns[yarn],
            tuple(self.yarns[b] for b in beside),
            after,
            self.largest,
            largest,
            self._breaks(rank, yarn, beside),
        )

    def _ways(
        self, one: int, two: int
    ) -> Iterator[tuple[int, int, tuple[int, ...], Passes]]:
        """What could be done: the kind, which yarn, beside whom, the passes then."""
        for yarn in self.movable:
            bare = tuple(tuple(k for k in each if k != yarn) for each in self.passes)
            gaps = {frozenset((one, two))}
            if yarn in (one, two):
                yield 2, yarn, (), bare
                gaps = {frozenset(pair) for each in bare for pair in pairwise(each)}
                for moved, n, end in _at_ends(bare, yarn, self.mirrored):
                    if n == self.n_places[yarn] and self._counts(yarn, (end,)):
                        yield 0, yarn, (end,), moved
            for gap in sorted(map(sorted, gaps)):
                moved, n = _put_between(bare, yarn, gap)
                if n == self.n_places[yarn] and self._counts(yarn, gap):
                    yield 0, yarn, tuple(gap), moved
        for yarn in (one, two):
            for other in self.movable:
                fits = self.n_places[yarn] == self.n_places[other] and yarn != other
                if fits and yarn in self.movable and other not in (one, two):
                    yield 1, yarn, (other,), _swapped(self.passes, yarn, other)

    def _counts(self, yarn: int, gap: Sequence[int]) -> bool:
        """Whether the steps to both would count: beside an accent they would hide."""
        return all(self.yarns[k].role != "accent" for k in (yarn, *gap))

    def _keeps_pairs(self, passes: Passes) -> bool:
        if not self.pairs:
            return True
        beside = {frozenset(pair) for each in passes for pair in pairwise(each)}
        return all(pair in beside for pair in self.pairs)

    def _laid_so(
        self, rank: int, yarn: int, beside: Sequence[int], passes: Passes
    ) -> bool:
        """Whether the run, changed so and laid out anew, lies as the change has it.
        Where balls are dealt out they may be dealt otherwise: a ball of the way back
        has no place of its own in the run."""
        laying = self.choices.laying
        if shared_in(laying) > 1 or n_parts(laying) == 1:
            return True
        bridges = {bridge.yarn.name for bridge in self.design.bridges}
        told = [self.yarns[k].name for each in passes for k in each]
        laid = lay_out(self._run(rank, yarn, beside), laying)
        return [name for name in told if name not in bridges] == [
            one.name for one in laid.yarns if one.name not in bridges
        ]

    def _breaks(self, rank: int, yarn: int, beside: Sequence[int]) -> tuple[str, ...]:
        """What the change breaks of how the yarns were asked to run, in words."""
        by = self.design.arrangement.by
        run = list(self.design.arrangement.yarns)
        now = self._run(rank, yarn, beside)
        broken: list[str] = []
        if by == "family":
            broken += _out_of_family(run, now)
        elif by == "value":
            broken += _out_of_value(now, 0.0)
        elif by == "smoothest":
            arranging = self.choices.arranging
            broken += _out_of_value(now, arranging.value_slack)
            if arranging.ends == "fixed" and (now[0], now[-1]) != (run[0], run[-1]):
                broken.append(
                    "the lightest and the darkest no longer stand at the ends"
                )
        return tuple(broken)

    def _run(self, rank: int, yarn: int, beside: Sequence[int]) -> list[Yarn]:
        """The light-to-dark run after a change, bridges aside."""
        run, moved = list(self.design.arrangement.yarns), self.yarns[yarn]
        if DOES[rank] == "swap":
            instead = {yarn: beside[0], beside[0]: yarn}
            names = {self.yarns[a].name: self.yarns[b] for a, b in instead.items()}
            return [names.get(one.name, one) for one in run]
        run.remove(moved)
        if DOES[rank] == "move":
            near = [self.yarns[k] for k in beside]
            if len(near) == 1:
                run.insert(0 if near[0] == run[0] else len(run), moved)
                return run
            places = [run.index(one) for one in near if one in run]
            if len(places) == 2:
                run.insert(max(places), moved)
            else:  # beside a bridge: on the side of its yarn where the bridge is
                light_first = self.choices.laying.layout != "dark-to-light"
                known = near[0] if near[0] in run else near[1]
                after = self.places.index(beside[near.index(known)])
                bridge = self.places.index(beside[1 - near.index(known)])
                run.insert(places[0] + ((after < bridge) == light_first), moved)
        return run


def _put_between(passes: Passes, yarn: int, gap: Sequence[int]) -> tuple[Passes, int]:
    """The passes with a yarn wherever two are neighbours, and how often that is."""
    n, longer, two = 0, [], set(gap)
    for each in passes:
        line: list[int] = []
        for k in each:
            if line and {line[-1], k} == two:
                line.append(yarn)
                n += 1
            line.append(k)
        longer.append(tuple(line))
    return tuple(longer), n


def _at_ends(
    passes: Passes, yarn: int, mirrored: bool
) -> Iterator[tuple[Passes, int, int]]:
    """The passes with a yarn at their beginning, or at their end (mirrored: at both),
    how often that is, and whom it then stands beside."""
    passes = tuple(each for each in passes if each)
    if passes and mirrored:
        both = tuple((yarn, *each, yarn) for each in passes)
        yield both, 2 * len(passes), passes[0][0]
    elif passes:
        first = tuple((yarn, *each) for each in passes)
        yield first, len(passes), passes[0][0]
        yield tuple((*each, yarn) for each in passes), len(passes), passes[0][-1]


def _swapped(passes: Passes, yarn: int, other: int) -> Passes:
    """The passes with two yarns in each other's places."""
    instead = {yarn: other, other: yarn}
    return tuple(tuple(instead.get(k, k) for k in each) for each in passes)


# --- what it breaks -------------------------------------------------------------------


def _out_of_family(was: Sequence[Yarn], now: Sequence[Yarn]) -> tuple[str, ...]:
    """Families that are in more pieces than they were."""

    def pieces(run: Sequence[Yarn]) -> dict[str, int]:
        families = [family_name(yarn) for yarn in run]
        return {
            family: sum(
                one == family != before for before, one in pairwise(["", *families])
            )
            for family in families
        }

    before = pieces(was)
    apart = sorted(f for f, n in pieces(now).items() if n > before.get(f, 0))
    return (f"the {' and the '.join(apart)} no longer stand together",) * bool(apart)


def _out_of_value(now: Sequence[Yarn], slack: float) -> tuple[str, ...]:
    """The yarn that sits out of value order by more than the rule allows."""
    if slack == inf:
        return ()
    values = [value_of(yarn) for yarn in now]
    lightest = np.maximum.accumulate(values[::-1])[::-1]
    most = float((lightest - values).max(initial=0.0))
    if most <= slack + SAME:
        return ()
    late = out_of_order(values)
    k = max(late, key=lambda k: (late[k], -k))
    rule = f"; the rule allows {slack:g}" if slack else ""
    name = shorten(now[k].name)
    return (f'"{name}" then stands {late[k]:.0f} L* out of value order{rule}',)


# --- in words -------------------------------------------------------------------------


def advice_words(one: Advice, *, mirrored: bool = False) -> str:
    """One change and what comes of it, in a sentence or two. `mirrored`: the ends of
    the run are the two ends of the blanket."""
    after, before, size = one.jump
    names = [f'"{shorten(yarn.name)}"' for yarn in one.beside]
    between = f"between {' and '.join(names)}"
    end = "both ends of the blanket" if mirrored else "the end of the run"
    at_end = f"past {''.join(names)} to {end}"
    where = between if len(names) > 1 else at_end
    does = {
        "move": f'Move "{shorten(one.yarn.name)}" {where}',
        "swap": f'Swap "{shorten(one.yarn.name)}" and {"".join(names)}',
        "leave out": f'Leave out "{shorten(one.yarn.name)}"',
    }[one.does]
    largest = (
        f"the largest step goes from {one.largest_before:.1f} to "
        f"{one.largest_after:.1f}"
        if one.largest_after < one.largest_before - JUST_TOLD
        else f"the largest step stays {one.largest_after:.1f}"
    )
    new = (
        f"no new step is over {one.step_after:.1f}"
        if one.step_after >= JUST_TOLD
        else "no new step arises"
    )
    broken = f" But {', and '.join(one.breaks)}." if one.breaks else ""
    return (
        f'{does}: instead of the jump from "{shorten(after.name)}" to '
        f'"{shorten(before.name)}", {size:.1f}, {new}, and '
        f"{largest}.{broken}"
    )

"""Where a mirrored blanket goes back, its middle, and what it meets twice."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from kit.arrangement.orders import value_of
from kit.blanket import Yarn
from kit.colour.steps import jumps
from kit.fabric import Stripe
from kit.fabric.schedule import BallPart, Entry
from kit.fabric.stripes import is_mirror_image
from kit.plan.compose import Plan

# --- where it is ----------------------------------------------------------------------


def middles(plan: Plan) -> tuple[int, ...]:
    """The stitches, counted as knitted before, at which the colours go back: one for
    each time through of a mirrored blanket, none where it stops before that.

    Half-way along the rows where both halves are each other's image; else half-way
    along the rows with the darkest, if others follow.
    """
    laying = plan.choices.laying
    if plan.fabric is None or laying.layout != "mirrored":
        return ()
    stripes = plan.fabric.stripes
    if laying.times_through == 1 and is_mirror_image(stripes):
        return (stripes[-1].last // 2,)
    turns = {spell for one in _turns(plan) for spell in _spells(stripes, one)}
    return tuple(sorted((first + last) // 2 for first, last in turns))


def _turns(plan: Plan) -> set[str]:
    """The yarns that lie at the turn: the last of the run, of each time where balls are
    dealt out. While knitting goes on, the darkest, where that stands at the turn."""
    laying, run = plan.choices.laying, plan.design.arrangement.yarns
    if plan.start.row:
        assert plan.fabric is not None
        arranging = plan.choices.arranging
        if arranging.order or arranging.by == "family" or arranging.ends != "fixed":
            return set()
        held = [yarn for stripe in plan.fabric.stripes for yarn in stripe.strands]
        return {min(held, key=value_of).name} if held else set()
    if laying.sharing == "pair":
        times = laying.times_through
        return {run[time::times][-1].name for time in range(min(times, len(run)))}
    return {run[-1].name} if run else set()


def _spells(stripes: Sequence[Stripe], name: str) -> list[tuple[int, int]]:
    """From and to which stitch a yarn is held, without the spell that ends it all."""
    spells: list[tuple[int, int]] = []
    for stripe in stripes:
        if not any(yarn.name == name for yarn in stripe.strands):
            continue
        if spells and spells[-1][1] == stripe.first:
            spells[-1] = spells[-1][0], stripe.last
        else:
            spells.append((stripe.first, stripe.last))
    return [spell for spell in spells if spell[1] < stripes[-1].last]


def middle_places(plan: Plan) -> tuple[int, ...]:
    """The places along the run at which it turns."""
    laying, yarns = plan.choices.laying, plan.design.laid.yarns
    if laying.layout != "mirrored" or plan.start.row or len(yarns) < 3:
        return ()
    turns = _turns(plan)
    return tuple(k for k, yarn in enumerate(yarns) if yarn.name in turns)


def row_after(plan: Plan, stitch: int) -> int:
    """The row that is knitted at a stitch, counted from 1."""
    assert plan.fabric is not None
    return stitch // plan.fabric.stitches + 1


def middle_words(plan: Plan, entry: Entry) -> str:
    """What a line of the schedule says of the middle that lies in it; "" in most."""
    at = []
    for stitch in middles(plan):
        if entry.stripe.first < stitch <= entry.stripe.last:
            row = row_after(plan, stitch)
            done = stitch % entry.stripe.row == 0
            at.append(f"after row {row - 1}" if done else f"in row {row}")
    if not at:
        return ""
    return f"The middle, {' and '.join(at)}: from there the colours go back."


def half_words(part: BallPart, plan: Plan) -> str:
    """In which half a part of a ball is knitted; "" where there are not two."""
    found = middles(plan)
    if len(found) != 1 or part.n_parts < 2:
        return ""
    if part.last <= found[0]:
        return "first half"
    return "second half" if part.first >= found[0] else ""


# --- met twice ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Met:
    """A jump, and every place at which it is met, the worst of them first."""

    places: tuple[int, ...]

    @property
    def words(self) -> str:
        """How often, where that is more than once."""
        n = len(self.places)
        if n == 1:
            return ""
        return f"{'twice' if n == 2 else f'{n} times'}: on the way out and back"


def ball_jumps(plan: Plan) -> list[Met]:
    """The jumps between neighbouring balls, worst first; of a mirrored run those of the
    way back with those of the way out."""
    yarns = plan.design.laid.yarns
    pairs: dict[int, Hashable] = {
        k: _names(yarns[k : k + 2]) for k in jumps(plan.design.steps)
    }
    return _met(plan, pairs)


def stripe_jumps(plan: Plan) -> list[Met]:
    """The same between stripes, by the strands that change."""
    if plan.fabric is None:
        return []
    pairs: dict[int, Hashable] = {}
    for k in jumps(plan.fabric_steps):
        one, two = (s.strands + s.carried for s in plan.fabric.stripes[k : k + 2])
        goes = _names([yarn for yarn in one if yarn not in two])
        pairs[k] = frozenset([goes, _names([yarn for yarn in two if yarn not in one])])
    return _met(plan, pairs)


def back_words(met: Met, plan: Plan) -> str:
    """In which rows else a jump between stripes is met; "" where nowhere."""
    if plan.fabric is None or len(met.places) == 1:
        return ""
    stripes = plan.fabric.stripes
    rows = sorted(stripes[k + 1].first_row for k in met.places[1:])
    return f"and turned round in row {', '.join(map(str, rows))}"


def _names(yarns: Sequence[Yarn]) -> frozenset[str]:
    return frozenset(yarn.name for yarn in yarns)


def _met(plan: Plan, pairs: dict[int, Hashable]) -> list[Met]:
    """Places by the pair that is met there, which comes worst first."""
    mirrored = plan.choices.laying.layout == "mirrored"
    places: dict[Hashable, list[int]] = {}
    for k, pair in pairs.items():
        places.setdefault(pair if mirrored else k, []).append(k)
    return [Met(tuple(at)) for at in places.values()]

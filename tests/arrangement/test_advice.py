"""What to do about a jump: against every move, swap and leaving-out there is."""

from dataclasses import replace
from itertools import pairwise

import pytest

from kit.arrangement.advice import Advice, advice_words, advise
from kit.arrangement.design import design_colours
from kit.blanket import Choices
from kit.blanket.choices import Arranging, Bridging, Judging, Laying
from kit.colour import step_table
from kit.colour.steps import jumps, largest_step
from tests.helpers.yarns import drawn, names, yarn


def design_of(yarns, by="value", **parts):
    arranging = parts.pop("arranging", Arranging(by=by))
    choices = Choices(
        "A blanket",
        arranging=arranging,
        bridging=parts.pop("bridging", Bridging(bridges=0)),
        judging=parts.pop("judging", Judging(jump_limit=12)),
        **parts,
    )
    return design_colours(yarns, [], choices), choices


def size(one, two):
    return float(step_table((one.mix,), (two.mix,), view=0.5)[0, 0])


def sizes(run):
    return {(a.name, b.name): size(a, b) for a, b in pairwise(run)}


def every_change(run, k):
    """Each run that one change makes, with its kind (0 move, 1 swap, 2 leave out)."""
    for i, one in enumerate(run):
        bare = [*run[:i], *run[i + 1 :]]
        beside = i in (k, k + 1)
        if beside:
            yield 2, bare
        for j in range(len(bare) + 1):
            moved = [*bare[:j], one, *bare[j:]]
            between = 0 < j < len(bare) and {bare[j - 1], bare[j]} == {*run[k : k + 2]}
            if moved != run and (beside or between):
                yield 0, moved
        if beside:
            for j, other in enumerate(run):
                if j not in (k, k + 1):
                    swapped = list(run)
                    swapped[i], swapped[j] = other, one
                    yield 1, swapped


@pytest.mark.parametrize("seed", range(8))
def test_against_every_change(seed):
    """No single change of a jump leaves a smaller largest step, then smaller new ones;
    what is told of it is what the changed run has."""
    yarns = drawn(5 + seed % 4, seed)
    design, choices = design_of(yarns)
    run = list(design.laid.yarns)
    was, before = sizes(run), largest_step(design.steps)
    told = {one.jump[:2]: one for one in advise(design, choices)}
    for k in jumps(design.steps)[:6]:
        ways = []
        for kind, changed in every_change(run, k):
            now = sizes(changed)
            both = {*was, *((b, a) for a, b in was)}
            # A pair that only runs the other way is not new.
            new = max((s for pair, s in now.items() if pair not in both), default=0.0)
            largest = max(now.values(), default=0.0)
            if new < design.steps[k].size - 1e-9 and largest <= before + 1e-9:
                ways.append((round(largest, 6), round(new, 6), kind))
        one = told.get((run[k], run[k + 1]))
        if not ways:
            assert one is None
            continue
        largest, new, kind = min(ways)
        if one is None:  # told already, with a worse jump that it mends too
            same = [(t.largest_after, t.step_after) for t in told.values()]
            assert pytest.approx((largest, new), abs=1e-5) in same
            continue
        assert one.largest_after == pytest.approx(largest, abs=1e-5)
        assert one.step_after == pytest.approx(new, abs=1e-5)
        assert one.does == ("move", "swap", "leave out")[kind]
        assert one.largest_before == pytest.approx(before)
        assert one.step_after < one.jump[2] == design.steps[k].size


def test_a_move_that_is_plain_to_see():
    """A yarn that stands in the wrong place is moved home, with both numbers."""
    greys = [yarn(f"grey {v}", v) for v in (90, 80, 70, 60, 50, 40)]
    order = [greys[0], greys[4], *greys[1:4], greys[5]]
    arranging = Arranging(order=tuple(names(order)))
    design, choices = design_of(order, arranging=arranging)
    (one, *_) = advise(design, choices)
    assert (one.does, one.yarn.name) == ("move", "grey 50")
    assert set(names(one.beside)) == {"grey 60", "grey 40"}
    assert one.largest_after == pytest.approx(
        max(size(a, b) for a, b in pairwise(greys))
    )
    assert one.breaks == ()
    assert advice_words(one) == (
        'Move "grey 50" between "grey 60" and "grey 40": instead of the jump from '
        f'"grey 90" to "grey 50", {one.jump[2]:.1f}, no new step is over '
        f"{one.step_after:.1f}, and the largest step goes from "
        f"{one.largest_before:.1f} to {one.largest_after:.1f}."
    )


def test_what_it_breaks_is_said():
    """By value a moved yarn is out of order; by family it leaves its family."""
    yarns = [yarn("a", 90), yarn("b", (70, 60, 40)), yarn("c", 68), yarn("d", 66)]
    yarns += [yarn("e", (64, 58, 40)), yarn("f", (62, 56, 40))]
    design, choices = design_of(yarns)
    told = [text for one in advise(design, choices) for text in one.breaks]
    assert told
    assert all("L* out of value order" in text for text in told)
    reds = [yarn(f"red {v}", (v, 55, 35)) for v in (70, 60, 30)]
    reds += [yarn(f"blue {v}", (v, 0, -45)) for v in (65, 55, 45)]
    design, choices = design_of(reds, "family")
    broken = [text for one in advise(design, choices) for text in one.breaks]
    assert all(text.endswith("no longer stand together") for text in broken)


def test_smoothest_keeps_or_tells_the_value_rule():
    """A change of a smoothest run that breaks the rule or the ends says so."""
    n_told = 0
    for seed in range(3):
        arranging = Arranging(by="smoothest", value_slack=6)
        design, choices = design_of(drawn(12, seed), arranging=arranging)
        for one in advise(design, choices):
            text = " ".join(one.breaks)
            lower = one.largest_after < one.largest_before - 1e-6
            if lower and one.does != "leave out":  # no order that keeps the rule does
                assert text or not design.arrangement.best.reached
            n_told += bool(text)
    assert n_told


def test_accents_bridges_and_locked_yarns_stay():
    """None of them is moved, swapped or left out, and nothing hides beside an accent;
    a pair that is locked together is not parted."""
    for seed in range(4):
        yarns = drawn(10, seed)
        yarns[3] = replace(yarns[3], role="accent")
        locked = (yarns[1].name, (yarns[5].name, yarns[6].name))
        bridge = yarn("bridge", 55, role="bridge")
        arranging = Arranging(by="value", locked=locked)
        design, choices = design_of(
            [*yarns, bridge], arranging=arranging, bridging=Bridging(bridges=1)
        )
        line = names(design.laid.yarns)
        together = abs(line.index(yarns[5].name) - line.index(yarns[6].name)) == 1
        for one in advise(design, choices):
            changed = {one.yarn.name}
            changed |= set(names(one.beside)) if one.does == "swap" else set()
            assert not changed & {yarns[3].name, "bridge", yarns[1].name}
            if one.does == "move":
                assert yarns[3].name not in names(one.beside)
            if together and one.does == "leave out":
                assert not changed & {yarns[5].name, yarns[6].name}


@pytest.mark.parametrize(
    "laying",
    [Laying("dark-to-light"), Laying("mirrored"), Laying("mirrored", sharing="pair")],
    ids=["dark-to-light", "mirrored", "paired"],
)
def test_laid_out_again_it_is_as_told(laying):
    """The run changed by hand and laid out anew has the largest step that was told."""
    checked = 0
    for seed in range(3 if laying.sharing == "halve" else 6):
        design, choices = design_of(drawn(9, seed), laying=laying)
        run = names(design.arrangement.yarns)
        for one in advise(design, choices):
            if one.does == "leave out":
                order = [name for name in run if name != one.yarn.name]
                kept = [y for y in design.arrangement.yarns if y.name in order]
            elif one.does == "swap":
                swap = {one.yarn.name: one.beside[0].name}
                swap |= {b: a for a, b in swap.items()}
                order = [swap.get(name, name) for name in run]
                kept = list(design.arrangement.yarns)
            else:
                order = [name for name in run if name != one.yarn.name]
                places = sorted(order.index(y.name) for y in one.beside)
                at = places[-1] if len(places) == 2 else places[0] and len(order)
                order.insert(at, one.yarn.name)
                kept = list(design.arrangement.yarns)
            anew, _ = design_of(
                kept, arranging=Arranging(order=tuple(order)), laying=laying
            )
            assert largest_step(anew.steps) == pytest.approx(
                one.largest_after, abs=1e-6
            )
            checked += 1
    assert checked > 3


def test_no_new_step():
    """Left out at the end, or at the turn between the two halves of one ball, a yarn
    leaves no new step, and none is numbered."""
    greys = [yarn(f"grey {v}", v) for v in range(90, 40, -5)]
    for laying in (Laying(), Laying("mirrored")):
        design, choices = design_of([*greys, yarn("ink", 5)], laying=laying)
        (one,) = advise(design, choices)
        assert (one.does, one.yarn.name, one.step_after) == ("leave out", "ink", 0.0)
        assert "no new step arises, and the largest step goes" in advice_words(one)
        assert "0.0" not in advice_words(one)


def test_an_end_of_a_mirrored_run_is_both_ends():
    """What moves to the light end moves to both edges of the blanket."""
    one = Advice(
        (yarn("a", 90), yarn("b", 40), 40.0), "move", yarn("b", 40), (yarn("c", 80),),
        5.0, 40.0, 6.0, (),
    )  # fmt: skip
    assert 'Move "b" past "c" to the end of the run' in advice_words(one)
    said = advice_words(one, mirrored=True)
    assert 'Move "b" past "c" to both ends of the blanket' in said


def test_nothing_to_do():
    """Where the colours flow, or only two yarns stand there, nothing is advised."""
    greys = [yarn(f"grey {v}", v) for v in range(90, 20, -5)]
    assert advise(*design_of(greys)) == ()
    assert advise(*design_of([yarn("a", 50)])) == ()


def test_one_change_is_told_once():
    """A stranger amid greys makes two jumps; the one change that mends both is told
    with the worse of them."""
    greys = [yarn(f"grey {v}", v) for v in range(90, 40, -5)]
    run = [*greys[:5], yarn("stranger", 20), *greys[5:]]
    order = tuple(one.name for one in run)
    design, choices = design_of(run, arranging=Arranging(order=order))
    told = advise(design, choices)
    assert len(jumps(design.steps)) == 2
    assert len(told) == 1
    assert told[0].jump[2] == largest_step(design.steps)

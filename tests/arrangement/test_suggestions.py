"""What would bridge the worst jumps: true of every yarn, worked out when asked."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest

from kit.arrangement.design import design_colours
from kit.arrangement.suggestions import N_WORST
from kit.blanket import Choices
from kit.blanket.choices import Judging, Laying
from kit.colour import step_table
from kit.colour.steps import jumps
from tests.helpers.yarns import drawn, held_back, yarn

GRAMS = (8.0, 14.0, 30.0, 80.0)


def size(one, two) -> float:
    return float(step_table((one.mix,), (two.mix,), view=0.5)[0, 0])


@pytest.mark.parametrize("laying", [Laying(), Laying("mirrored")])
@pytest.mark.parametrize("seed", range(4))
def test_suggestions(laying, seed):
    """The worst six jumps, each pair once, with what would really lower them."""
    yarns, shop = drawn(16, seed, grams=GRAMS), held_back(6, seed + 50)
    shop = [replace(one, name=f"shop {one.name}", role="use") for one in shop]
    owned = held_back(6, seed + 90, grams=GRAMS)
    choices = Choices("A blanket", laying=laying, judging=Judging(jump_limit=15))
    design = design_colours([*yarns, *owned], shop, choices)
    told = design.suggestions
    assert 0 < len(told) <= N_WORST
    assert [one.step for one in told] == sorted((o.step for o in told), reverse=True)
    pairs = [frozenset((one.after.name, one.before.name)) for one in told]
    assert len(set(pairs)) == len(pairs)
    worst = [design.steps[k].size for k in jumps(design.steps)]
    assert told[0].step == worst[0] == max(worst)
    meet = Counter(frozenset((a.name, b.name)) for a, b in pairwise(design.laid.yarns))
    put_in = {bridge.yarn.name for bridge in design.bridges}
    for one, pair in zip(told, pairs, strict=True):
        assert one.step == pytest.approx(size(one.after, one.before), abs=1e-6)
        met = [{a.name, b.name} for a, b in pairwise(design.laid.yarns)].index(
            set(pair)
        )
        assert design.laid.yarns[met : met + 2] == (one.after, one.before)
        steps = [step for _, _, step in one.candidates]
        assert steps == sorted(steps)
        for bridge, source, step in one.candidates:
            assert bridge.name not in put_in
            assert source == ("shop" if bridge.name.startswith("shop") else "stash")
            left = max(size(one.after, bridge), size(bridge, one.before))
            assert step == pytest.approx(left, abs=1e-6)
            assert step < one.step
            if source == "stash" and meet[pair] > 1:
                assert bridge.grams >= 15
        mine = [s for _, source, s in one.candidates if source == "stash"]
        if mine and mine[0] < choices.judging.jump_limit:
            assert one.ideal is None
        if one.ideal:
            table = step_table(
                (one.ideal.mix,), (one.after.mix, one.before.mix), view=0.5
            )
            assert one.ideal.step_after == pytest.approx(table.max(), abs=1e-9)
            assert one.ideal.step_after < one.step


def test_nothing_to_suggest():
    """Where the colours flow there is nothing to look for."""
    greys = [yarn(f"grey {v}", v) for v in range(90, 20, -5)]
    design = design_colours(greys, held_back(4, 1), Choices("A blanket"))
    assert (design.suggestions, design.bridges) == ((), ())
    assert design.out_of_value_order == ()


def test_suggestions_wait_until_asked():
    """Designing looks for none of them; asked again, they are the same ones."""
    design = design_colours(drawn(16, 1), held_back(6, 51), Choices("A blanket"))
    assert "suggestions" not in vars(design)
    assert design.suggestions is design.suggestions

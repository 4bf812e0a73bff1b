"""What no order can beat, in words that can be measured."""

import re
from math import inf

import numpy as np
import pytest

from kit.arrangement.best import best_of
from kit.arrangement.orders import arrange, by_value_and_name
from kit.blanket.choices import Arranging
from kit.colour import step_table
from kit.search import Found
from tests.helpers.orders import RULES, VIEW, largest
from tests.helpers.yarns import drawn, names, yarn

NAMES = ("Ash", "Bay", "Cob", "Dun")
FREE = Arranging(by="smoothest", ends="free", value_slack=inf)
RULED = Arranging(by="smoothest")
KEPT = "with the ends and the value rule kept, "


def told(why, parts, arranging, *, largest=9.0, without_rule=None, apart=12.0):
    found = Found((0, 1, 2, 3), largest, 9.0, why, parts)
    costs = np.full((4, 4), apart)
    return best_of(found, NAMES, arranging, costs, without_rule=without_rule)


@pytest.mark.parametrize(
    ("why", "parts", "free", "ruled"),
    [
        (
            "neighbours",
            ((2,),),
            'with steps under 9.0, "Cob" and two or more others have too few '
            "neighbours, and only two can stand at the ends.",
            KEPT + '"Cob" has too few neighbours nearer than 9.0.',
        ),
        (
            "link",
            ((1,), (0,), (2,), (3,)),
            'with steps under 9.0, only "Bay" links 3 groups of yarns, and an order '
            "passes it but once.",
            KEPT + 'with steps under 9.0, only "Bay" links 3 groups of yarns, and an '
            "order passes it but once.",
        ),
        (
            "search",
            (),
            "every order begun with steps under 9.0 comes to a dead end, by search.",
            KEPT + "every order begun with steps under 9.0 comes to a dead end, by "
            "search.",
        ),
        (
            "nothing",
            (),
            "no step between these yarns is smaller.",
            KEPT + "no step between these yarns is smaller.",
        ),
    ],
)
def test_reasons_in_words(why, parts, free, ruled):
    """Each reason names its yarns, and what limits the orders."""
    assert told(why, parts, FREE).because == free
    assert told(why, parts, RULED).because == ruled
    assert told(why, parts, FREE).between is None


def test_groups_apart_by_themselves_or_by_the_rule():
    """Only a gap that is there without any rule is called one for a bridge."""
    gap = told("groups", ((3,), (0, 1, 2)), RULED)
    assert gap.between == (("Dun",), ("Ash", "Bay", "Cob"))
    assert gap.because == (
        '"Dun" and all the others lie 9.0 apart; only a bridge between them can help.'
    )
    ruled = told("groups", ((3,), (0, 1, 2)), RULED, apart=4.0)
    assert ruled.between is None
    assert ruled.because == (KEPT + 'no step between "Dun" and the others is smaller.')


def test_what_is_open_and_what_the_rule_costs():
    """Reached only where the order found does as well; the rule costs only where one
    without it does better than any with it can."""
    proved = told("search", (), RULED, without_rule=9.0)
    assert (proved.reached, proved.still_open, proved.without_rule) == (
        True, False, None,
    )  # fmt: skip
    half = told("search", (), RULED, largest=9.5, without_rule=8.0)
    assert (half.reached, half.still_open, half.found) == (False, True, 9.5)
    assert (half.largest, half.without_rule) == (9.0, 8.0)


@pytest.mark.parametrize("arranging", RULES)
def test_words_are_true(arranging):
    """What is said of the best possible can be measured on the yarns themselves."""
    told = set()
    for seed in range(60):
        ordered = by_value_and_name(drawn(4 + seed % 5, 300 + seed))
        best = arrange(ordered, arranging, view=VIEW).best
        table = dict(zip(names(ordered), distances(ordered), strict=True))
        step, because = best.largest, best.because
        told.add(re.sub(r'[\d.]+|"[^"]*"(, )?|and \d+ more', "", because))
        if best.between:
            few, rest = best.between
            assert sorted(few + rest) == sorted(names(ordered))
            apart = min(table[a][b] for a in few for b in rest)
            assert apart == pytest.approx(step, abs=1e-6)
            assert f"all the others lie {step:.1f} apart; only a bridge" in because
        else:
            assert "apart" not in because
        if "too few neighbours nearer" in because:
            name = because.split('"')[1]
            steps = [s for other, s in table[name].items() if other != name]
            assert min(abs(s - step) for s in steps) < 1e-6
            if arranging.value_slack == inf:
                assert sum(s < step - 1e-6 for s in steps) < 2
        elif "too few neighbours" in because:
            poor = [
                name
                for name, row in table.items()
                if sum(s < step - 1e-6 for s in row.values()) < 3  # itself among them
            ]
            if arranging.value_slack == inf:
                assert len(poor) > 2
                assert because.split('"')[1] in poor
        if arranging.ends == "free" and arranging.value_slack == inf:
            assert "kept" not in because
    assert len(told) > 1


def distances(yarns) -> list[dict[str, float]]:
    mixes = tuple(one.mix for one in yarns)
    table = np.round(step_table(mixes, mixes, view=VIEW), 9)
    return [dict(zip(names(yarns), row, strict=True)) for row in table.tolist()]


def test_two_far_groups_are_named():
    """Greys and reds far apart: the gap is named with its size, and so a bridge."""
    yarns = [yarn(f"grey {v}", v) for v in (90, 88, 86)]
    yarns += [yarn(f"red {v}", (v, 60, 40)) for v in (42, 40)]
    best = arrange(yarns, Arranging(by="smoothest", value_slack=inf), view=VIEW).best
    assert best.reached
    assert best.between == (("red 42", "red 40"), ("grey 90", "grey 88", "grey 86"))
    gap = largest([yarns[2], yarns[3]])
    assert best.largest == pytest.approx(gap, abs=1e-6)
    assert best.because == (
        f'"red 42", "red 40" and all the others lie {gap:.1f} apart; only a bridge '
        "between them can help."
    )


def test_value_rule_that_costs_is_said():
    """Where the value rule keeps near colours apart, what it costs is known."""
    steps = [(80, 0, 0), (76, 60, 0), (72, 30, 0), (68, 60, 0)]
    yarns = [yarn(f"y{k}", lab) for k, lab in enumerate(steps)]
    strict = arrange(yarns, Arranging(by="smoothest", value_slack=3), view=VIEW).best
    loose = Arranging(by="smoothest", value_slack=inf)
    assert strict.without_rule == pytest.approx(
        arrange(yarns, loose, view=VIEW).best.largest, abs=1e-6
    )
    assert strict.largest > strict.without_rule + 3
    assert arrange(yarns, loose, view=VIEW).best.without_rule is None

"""Yarns in order: by value, by family, smoothest, by hand; judged by trying all."""

import random
import re
from dataclasses import replace
from itertools import permutations
from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.arrangement.orders import _solve, arrange, best_of, by_value_and_name, value_of
from kit.blanket.choices import Arranging
from kit.colour import Mix, mean_lab, step_table
from kit.search import Found
from tests.helpers.orders import (
    RULES,
    VIEW,
    all_by_family,
    fast_scores,
    keeps_rule,
    largest,
)
from tests.helpers.yarns import drawn, greys, labs, leftovers, names, runs, yarn

EVERY_WAY = [
    Arranging(by="value"),
    Arranging(),
    Arranging(families="light-to-dark"),
    Arranging(family_order="any"),
    Arranging(family_order="any", families="light-to-dark"),
    Arranging(family_order=("pinks", "blues", "neutrals")),
    Arranging(by="smoothest"),
    Arranging(by="smoothest", ends="free", value_slack=inf),
    Arranging(by="smoothest", value_slack=5),
    Arranging(order=("y01", "y00")),
]


# --- what holds for every arrangement -------------------------------------------------


@given(runs(roles=("use", "use", "accent")), st.sampled_from(EVERY_WAY), st.randoms())
def test_every_yarn_once_and_rows_do_not_matter(yarns, arranging, rng):
    """Each yarn stands once, and a stash in another order gives the same names."""
    found = names(arrange(yarns, arranging, view=VIEW).yarns)
    assert sorted(found) == sorted(names(yarns))
    rng.shuffle(yarns)
    assert names(arrange(yarns, arranging, view=VIEW).yarns) == found


@pytest.mark.parametrize("arranging", EVERY_WAY)
def test_forty_yarns_in_any_row_order(arranging):
    """The same for a stash of a usual size, with twins of one colour among it."""
    yarns = drawn(38, 4)
    yarns += [replace(yarns[k], name=f"twin {k}") for k in (0, 7)]
    found = names(arrange(yarns, arranging, view=VIEW).yarns)
    assert sorted(found) == sorted(names(yarns))
    for seed in range(3):
        random.Random(seed).shuffle(yarns)
        assert names(arrange(yarns, arranging, view=VIEW).yarns) == found


def test_sixty_yarns_in_any_row_order():
    """The same at sixty yarns under the value rule, nothing being remembered."""
    yarns, found = leftovers(60, 5), set()
    for seed in range(2):
        random.Random(seed).shuffle(yarns)
        _solve.cache_clear()
        run = arrange(yarns, Arranging(by="smoothest"), view=VIEW).yarns
        found.add(tuple(names(run)))
    assert len(found) == 1


@given(
    runs(least=2),
    st.sampled_from(
        [
            way
            for way in EVERY_WAY
            if not way.order and isinstance(way.family_order, str)
        ]
    ),
)
def test_lighter_end_first(yarns, arranging):
    """A run begins at its lighter end, wherever an order by these rules can."""
    run = arrange(yarns, arranging, view=VIEW).yarns
    first, last = (-value_of(run[0]), run[0].name), (-value_of(run[-1]), run[-1].name)
    if first <= last:
        return
    if arranging.by == "smoothest":  # the value rule forbids the reverse
        assert arranging.ends == "free"
        assert not keeps_rule(run[::-1], arranging.value_slack)
    else:
        assert arranging.by == "family"
        assert all(k > j for k, j in family_ends(yarns, arranging))


def family_ends(yarns, arranging):
    """First and last place, counted from the lightest, of every order by family."""
    ordered = by_value_and_name(yarns)
    place = {one.name: k for k, one in enumerate(ordered)}
    for chain in all_by_family(ordered, arranging):
        yield place[chain[0].name], place[chain[-1].name]


@pytest.mark.parametrize("arranging", EVERY_WAY)
def test_one_and_two_yarns(arranging):
    """One yarn stands alone; of two the lighter comes first unless ordered by hand."""
    one, two = yarn("y00", 30), yarn("y01", 80)
    assert arrange([one], arranging, view=VIEW).yarns == (one,)
    assert arrange([one, two], arranging, view=VIEW).yarns == (two, one)


@pytest.mark.parametrize("arranging", EVERY_WAY[:-1])
def test_all_the_same_colour(arranging):
    """Look-alikes stand by name, and nothing stands in the way."""
    yarns = [yarn(name, (60, 20, 10)) for name in "dbca"]
    arrangement = arrange(yarns, arranging, view=VIEW)
    assert names(arrangement.yarns) == list("abcd")
    if arrangement.best:
        assert (arrangement.best.largest, arrangement.best.reached) == (0.0, True)


@given(runs(colours=greys, least=2), st.sampled_from(EVERY_WAY[1:6]))
@settings(max_examples=30)
def test_all_grey(yarns, arranging):
    """Greys by family are greys by value."""
    run = arrange(yarns, arranging, view=VIEW).yarns
    assert run == by_value_and_name(yarns)


@pytest.mark.parametrize("arranging", EVERY_WAY[:-1])
def test_all_accents(arranging):
    """Where every yarn is an accent each is kept, and no step counts."""
    yarns = [replace(one, role="accent") for one in drawn(6, 2)]
    arrangement = arrange(yarns, arranging, view=VIEW)
    assert sorted(names(arrangement.yarns)) == sorted(names(yarns))
    if arrangement.best:
        assert (arrangement.best.largest, arrangement.best.reached) == (0.0, True)


@pytest.mark.parametrize(
    "arranging", [Arranging(by="value"), Arranging(), Arranging(family_order="any")]
)
def test_three_hundred_yarns(arranging):
    """A very large stash is put in order whole."""
    yarns = drawn(300, 3)
    assert len(set(names(arrange(yarns, arranging, view=VIEW).yarns))) == 300


def test_a_hundred_and_fifty_yarns_smoothest():
    """A very large stash is arranged smoothly; the bound never exceeds what is done."""
    arranging = Arranging(by="smoothest", value_slack=inf)
    arrangement = arrange(drawn(150, 3), arranging, view=VIEW)
    assert len(set(names(arrangement.yarns))) == 150
    done = largest(arrangement.yarns)
    assert arrangement.best.largest <= done + 1e-6
    assert arrangement.best.reached == (done <= arrangement.best.largest + 1e-6)


def test_no_yarns():
    """Nothing in order is nothing."""
    for arranging in EVERY_WAY:
        assert arrange([], arranging, view=VIEW).yarns == ()


def test_repr_is_one_line():
    """An arrangement says how many yarns and by what."""
    arrangement = arrange(drawn(5, 1), Arranging(), view=VIEW)
    assert repr(arrangement) == "Arrangement(5 yarns by family)"


@pytest.mark.parametrize("arranging", EVERY_WAY[:6])
def test_no_best_where_none_was_sought(arranging):
    """Only the smoothest speaks of what no order can beat."""
    assert arrange(drawn(6, 1), arranging, view=VIEW).best is None


# --- by value -------------------------------------------------------------------------


@given(runs())
def test_by_value_is_by_lightness(yarns):
    """L* of the average falls along the run; equal ones stand by name."""
    run = arrange(yarns, Arranging(by="value"), view=VIEW).yarns
    keys = [(-mean_lab(one.mix)[0], one.name) for one in run]
    assert keys == sorted(keys)


# --- smoothest ------------------------------------------------------------------------


def allowed_orders(ordered, arranging):
    """Every order of a few yarns that keeps the value rule and the ends."""
    for order in permutations(ordered):
        ends = (order[0], order[-1]) == (ordered[0], ordered[-1])
        if (ends or arranging.ends == "free") and keeps_rule(
            order, arranging.value_slack
        ):
            yield order


@pytest.mark.parametrize("arranging", RULES)
def test_smoothest_against_every_order(arranging):
    """No allowed order has a smaller largest step, nor is then lighter."""
    for seed in range(8):
        yarns = drawn(3 + seed % 4, 100 + seed)
        ordered = by_value_and_name(yarns)
        every = list(allowed_orders(ordered, arranging))
        best = min(fast_scores(ordered, every, weighed=True))
        arrangement = arrange(yarns, arranging, view=VIEW)
        assert arrangement.yarns in set(every)
        mine = fast_scores(ordered, [arrangement.yarns], weighed=True)[0]
        assert mine == pytest.approx(best, abs=1e-6)
        assert arrangement.best.reached
        assert arrangement.best.largest == pytest.approx(best[0], abs=1e-6)
        without = replace(arranging, value_slack=inf)
        free = min(fast_scores(ordered, allowed_orders(ordered, without)))[0]
        if free < best[0] - 1e-6:
            assert arrangement.best.without_rule == pytest.approx(free, abs=1e-6)
        else:
            assert arrangement.best.without_rule is None


def test_smoothest_of_eight_yarns():
    """The same with eight yarns, where most orders are wrong."""
    arranging = Arranging(by="smoothest", value_slack=inf)
    ordered = by_value_and_name(drawn(8, 41))
    ends = ordered[0], ordered[-1]
    every = [(ends[0], *inner, ends[1]) for inner in permutations(ordered[1:-1])]
    found = arrange(ordered, arranging, view=VIEW).yarns
    mine = fast_scores(ordered, [found], weighed=True)[0]
    best = min(fast_scores(ordered, every, weighed=True))
    assert mine == pytest.approx(best, abs=1e-6)


@given(runs(least=2, most=6, roles=("use", "use", "accent")), st.sampled_from(RULES))
@settings(max_examples=30)
def test_accents_cost_nothing_and_are_kept(yarns, arranging):
    """Beside an accent every step is free: the best order is the best of such steps."""
    ordered = by_value_and_name(yarns)
    best = min(map(largest, allowed_orders(ordered, arranging)))
    arrangement = arrange(yarns, arranging, view=VIEW)
    assert sorted(names(arrangement.yarns)) == sorted(names(yarns))
    assert largest(arrangement.yarns) == pytest.approx(best, abs=1e-6)
    assert arrangement.best.largest == pytest.approx(best, abs=1e-6)


def test_view_decides():
    """From across the room a speckle and its average are one; in the hand they differ.

    Cream 50 %, plum 50 % against a solid of their average and a lighter grey.
    """
    cream, plum = (90.0, 0.0, 10.0), (30.0, 25.0, -10.0)
    marl = Mix((cream, plum), (1, 1))
    run = [yarn("light", 95), yarn("marl", marl), yarn("mean", mean_lab(marl))]
    far, near = largest(run[1:], 1.0), largest(run[1:], 0.0)
    assert far < 1e-9
    assert near > 15
    best = [
        arrange([*run, yarn("dark", 20)], Arranging(by="smoothest"), view=view).best
        for view in (0.0, 1.0)
    ]
    assert best[0].largest != pytest.approx(best[1].largest, abs=1)


# --- by hand --------------------------------------------------------------------------


def test_order_by_hand():
    """The knitter's order holds; what it leaves out follows by value and is told."""
    yarns = [yarn("a", 20), yarn("b", 40), yarn("c", 60), yarn("d", 80)]
    by_hand = arrange(yarns, Arranging(order=("b", "d", "b")), view=VIEW)
    assert names(by_hand.yarns) == ["b", "d", "c", "a"]
    assert by_hand.by == "hand"
    assert by_hand.sentences == (
        'Not in the order made by hand, so put at its end: "c", "a".',
    )
    whole = arrange(yarns, Arranging(order=("b", "d", "a", "c")), view=VIEW)
    assert (names(whole.yarns), whole.sentences) == (["b", "d", "a", "c"], ())


@given(labs)
@settings(max_examples=30)
def test_value_is_lightness(lab):
    """A solid's value is its L*."""
    assert value_of(yarn("a", lab)) == pytest.approx(lab[0], abs=1e-9)


# --- what no order can beat -----------------------------------------------------------


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

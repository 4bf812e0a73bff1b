"""Yarns in order: by value, by family, smoothest, by hand; judged by trying all."""

import os
import random
import re
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise, permutations, product
from math import inf
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.arrangement import (
    arrange,
    by_value_and_name,
    family_name,
    value_of,
)
from kit.choices import Arranging
from kit.colour import Mix, hex_to_lab, mean_lab
from kit.difference import pair_steps, step_table
from kit.errors import KitError
from kit.families import FAMILIES, family_hue, is_light
from kit.stash import Yarn
from tests.yarns import drawn, greys, labs, names, runs, yarn

VIEW = 0.5
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


def sizes(yarns, view=VIEW) -> list[float]:
    """The steps that count: those beside no accent."""
    mixes = [one.mix for one in yarns]
    steps = pair_steps(mixes[:-1], mixes[1:], view=view)
    beside = ["accent" in (a.role, b.role) for a, b in pairwise(yarns)]
    return [0.0 if free else float(s) for s, free in zip(steps, beside, strict=True)]


def largest(yarns, view=VIEW) -> float:
    return max(sizes(yarns, view), default=0.0)


# --- what holds for every arrangement -------------------------------------------------


@given(runs(roles=("use", "use", "accent")), st.sampled_from(EVERY_WAY), st.randoms())
@settings(max_examples=150, deadline=None)
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


def test_threads_and_hashes_do_not_matter():
    """The same plan whatever the threads of linear algebra and the seed of hashes."""
    code = (
        "from tests.yarns import leftovers; from kit.arrangement import arrange\n"
        "from kit.choices import Arranging; from math import inf\n"
        "for slack, ends in ((inf, 'free'), (20.0, 'free'), (12.0, 'fixed')):\n"
        "    way = Arranging(by='smoothest', value_slack=slack, ends=ends)\n"
        "    found = arrange(leftovers(26, 2), way, view=0.5)\n"
        "    print([one.name for one in found.yarns], found.best)\n"
    )
    told = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={
                **os.environ,
                "PYTHONHASHSEED": hashes,
                "OMP_NUM_THREADS": threads,
                "OPENBLAS_NUM_THREADS": threads,
            },
            cwd=Path(__file__).resolve().parent.parent,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for hashes, threads in (("0", "1"), ("1", "2"))
    ]
    assert told[0] == told[1]
    assert told[0].count("reached=True") == 3


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
@settings(max_examples=150, deadline=None)
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


def keeps_rule(run, slack: float) -> bool:
    values = [value_of(one) for one in run]
    late = (b - a > slack for k, a in enumerate(values) for b in values[k + 1 :])
    return not any(late)


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
@settings(max_examples=30, deadline=None)
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


def test_three_hundred_yarns_smoothest():
    """A very large stash is arranged smoothly; the bound never exceeds what is done."""
    arranging = Arranging(by="smoothest", value_slack=inf)
    arrangement = arrange(drawn(300, 3), arranging, view=VIEW)
    assert len(set(names(arrangement.yarns))) == 300
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


# --- by value -------------------------------------------------------------------------


@given(runs())
@settings(max_examples=50, deadline=None)
def test_by_value_is_by_lightness(yarns):
    """L* of the average falls along the run; equal ones stand by name."""
    run = arrange(yarns, Arranging(by="value"), view=VIEW).yarns
    keys = [(-mean_lab(one.mix)[0], one.name) for one in run]
    assert keys == sorted(keys)


# --- by family ------------------------------------------------------------------------


def all_by_family(ordered, arranging):
    """Every order the rules allow: light neutrals, families any way, dark neutrals."""
    opening, closing, groups = [], [], {}
    for one in ordered:
        if family_name(one) == "neutrals":
            (opening if is_light(mean_lab(one.mix)) else closing).append(one)
        else:
            groups.setdefault(family_name(one), []).append(one)
    circle = sorted(groups, key=family_hue)
    if arranging.family_order == "any":
        orders = [list(order) for order in permutations(circle)]
    else:
        turned = [circle[k:] + circle[:k] for k in range(len(circle) or 1)]
        orders = [way for one in turned for way in (one, one[::-1])]
    phases = (0, 1) if arranging.families == "alternate" else (None,)
    for order, phase in product(orders, phases):
        middle = [
            groups[name][:: -1 if phase is not None and k % 2 != phase else 1]
            for k, name in enumerate(order)
        ]
        yield [*opening, *(one for group in middle for one in group), *closing]


def spread_families(n_families: int, seed: int) -> list[Yarn]:
    """Two to four yarns in each of so many families, neutrals on some sides or none."""
    rng = random.Random(seed)
    chosen = rng.sample([f for f in FAMILIES if f != "neutrals"], n_families)
    chosen += [f"neutrals {s}" for s in ("light", "dark") if rng.random() < 0.5]
    made = []
    for family in chosen:
        low, high = {"neutrals light": (50, 95), "neutrals dark": (10, 49)}.get(
            family, (15, 95)
        )
        for _ in range(rng.randint(1, 3)):
            lab = rng.uniform(low, high), rng.uniform(-30, 30), rng.uniform(-30, 30)
            made.append(yarn(f"y{len(made):02}", lab, family=family.split()[0]))
    return made


@pytest.mark.parametrize("families", ["alternate", "light-to-dark"])
@pytest.mark.parametrize("family_order", ["hue", "any"])
@pytest.mark.parametrize("n_families", [0, 1, 2, 3, 4, 5, 6])
def test_family_order_against_every_order(families, family_order, n_families):
    """No allowed order of families, begun either way, is better: largest, then sum."""
    arranging = Arranging(families=families, family_order=family_order)
    for seed in range(3 if n_families > 4 else 12):
        yarns = spread_families(n_families, seed)
        ordered = by_value_and_name(yarns)
        place = {one.name: k for k, one in enumerate(ordered)}
        chains = list(all_by_family(ordered, arranging))
        falling = [c for c in chains if c and place[c[0].name] <= place[c[-1].name]]
        scores = fast_scores(ordered, falling or chains)
        found = arrange(yarns, arranging, view=VIEW).yarns
        assert list(found) in chains
        if found:
            mine = fast_scores(ordered, [found])[0]
            assert mine == pytest.approx(min(scores), abs=1e-6)


@pytest.mark.parametrize("family_order", ["hue", "any"])
def test_accents_cost_nothing_among_families(family_order):
    """Families are turned for the steps that count, whatever an accent lies beside."""
    arranging = Arranging(family_order=family_order)
    for seed in range(12):
        yarns = spread_families(4, seed)
        for k in (1, 4):
            yarns[k] = replace(yarns[k], role="accent")
        ordered = by_value_and_name(yarns)
        place = {one.name: k for k, one in enumerate(ordered)}
        chains = [
            chain
            for chain in all_by_family(ordered, arranging)
            if place[chain[0].name] <= place[chain[-1].name]
        ]
        found = arrange(yarns, arranging, view=VIEW).yarns
        best = min(map(largest, chains))
        assert largest(found) == pytest.approx(best, abs=1e-6)


def fast_scores(ordered, chains, *, weighed=False) -> list[tuple[float, float]]:
    """(largest, sum) of steps of each chain; in the sum those near the largest may be
    weighed as the smoothest arrangement weighs them."""
    mixes = tuple(one.mix for one in ordered)
    table = step_table(mixes, mixes, view=VIEW)
    place = {one.name: k for k, one in enumerate(ordered)}
    scores = []
    for chain in chains:
        at = [place[one.name] for one in chain]
        steps = table[at[:-1], at[1:]]
        largest = round(float(steps.max(initial=0)), 7)
        if weighed and largest:
            steps = steps + largest * (steps / largest) ** 6
        scores.append((largest, float(steps.sum())))
    return scores


@pytest.mark.parametrize("families", ["alternate", "light-to-dark"])
def test_any_order_is_never_worse_than_hue_order(families):
    """All orders include those round the hue circle."""
    for seed in range(25):
        yarns = drawn(24, seed)
        hue, free = (
            arrange(yarns, Arranging(families=families, family_order=o), view=VIEW)
            for o in ("hue", "any")
        )
        assert largest(free.yarns) <= largest(hue.yarns) + 1e-6


@given(runs(least=4, most=12))
@settings(max_examples=60, deadline=None)
def test_families_keep_together_and_turn_about(yarns):
    """Neutrals at the ends, each family in one stretch, neighbours opposite ways."""
    run = arrange(yarns, Arranging(), view=VIEW).yarns
    stretches = families_of(run)
    kinds = [kind for kind, _ in stretches]
    assert len(set(kinds)) == len(kinds)
    assert "light neutrals" not in kinds[1:]
    assert "dark neutrals" not in kinds[:-1]
    ways = []
    for kind, stretch in stretches:
        down, up = by_value_and_name(stretch), by_value_and_name(stretch)[::-1]
        assert tuple(stretch) in (down, up)
        if "neutrals" in kind:
            assert tuple(stretch) == down
        else:
            ways.append(None if len(stretch) == 1 else tuple(stretch) == down)
    told = [(k % 2, way) for k, way in enumerate(ways) if way is not None]
    assert len({way == (place == 0) for place, way in told}) <= 1


def families_of(run) -> list[tuple[str, list[Yarn]]]:
    """The stretches of one family along a run, neutrals told apart by lightness."""
    stretches: list[tuple[str, list[Yarn]]] = []
    for one in run:
        kind = family_name(one)
        if kind == "neutrals":
            light = is_light(mean_lab(one.mix))
            kind = "light neutrals" if light else "dark neutrals"
        if not stretches or stretches[-1][0] != kind:
            stretches.append((kind, []))
        stretches[-1][1].append(one)
    return stretches


def test_every_family_light_to_dark():
    """Without alternation each family begins with its lightest yarn."""
    run = arrange(drawn(40, 6), Arranging(families="light-to-dark"), view=VIEW).yarns
    for _, stretch in families_of(run):
        assert tuple(stretch) == by_value_and_name(stretch)


def test_hue_order_goes_round_the_circle():
    """The families between the neutrals turn one way round and do not come back."""
    run = arrange(drawn(60, 8), Arranging(), view=VIEW).yarns
    kinds = [kind for kind, _ in families_of(run) if "neutrals" not in kind]
    assert len(kinds) > 5
    hues = [family_hue(kind) for kind in kinds]
    turns = {(b - a) % 360 < 180 for a, b in pairwise(hues)}
    assert len(turns) == 1
    way = 1 if turns == {True} else -1
    assert sum(way * (b - a) % 360 for a, b in pairwise(hues)) < 360


LISTED = [
    yarn("cream", hex_to_lab("#f3eee0")),
    yarn("coal", hex_to_lab("#222222")),
    yarn("sky", hex_to_lab("#88b8e0")),
    yarn("navy", hex_to_lab("#1c2f6b")),
    yarn("rose", hex_to_lab("#ee99b4")),
    yarn("leaf", hex_to_lab("#4e8f3a")),
]


@pytest.mark.parametrize(
    ("listed", "kinds"),
    [
        (
            ("greens", "blues", "pinks"),
            ["light neutrals", "greens", "blues", "pinks", "dark neutrals"],
        ),
        (
            ("pinks", "greens", "pinks"),
            ["light neutrals", "pinks", "greens", "blues", "dark neutrals"],
        ),
        (
            ("yellows", "blues"),
            ["light neutrals", "blues", "greens", "pinks", "dark neutrals"],
        ),
    ],
)
def test_listed_families_stand_as_listed(listed, kinds):
    """Listed families come in that order, once; others follow round the circle."""
    run = arrange(LISTED, Arranging(family_order=listed), view=VIEW).yarns
    assert [kind for kind, _ in families_of(run)] == kinds
    assert len(run) == len(LISTED)


def test_listed_neutrals_stand_where_listed():
    """Neutrals that are on the list stay together in their place there."""
    arranging = Arranging(family_order=("pinks", "neutrals", "greens"))
    run = arrange(LISTED, arranging, view=VIEW).yarns
    at = names(run)
    assert at[0] == "rose"
    assert set(at[1:3]) == {"cream", "coal"}
    assert at[3] == "leaf"


@pytest.mark.parametrize("word", ["pinks", "Pink", " PINKS "])
def test_family_column_overrides(word):
    """A yarn stands in the family its own column names, however that is written."""
    navy = replace(LISTED[3], family=word)
    assert family_name(navy) == "pinks"
    yarns = [navy, *(one for one in LISTED if one.name != "navy")]
    kinds = dict(families_of(arrange(yarns, Arranging(), view=VIEW).yarns))
    assert names(kinds["blues"]) == ["sky"]
    assert set(names(kinds["pinks"])) == {"rose", "navy"}


def test_family_column_may_say_neutral():
    """A colour called grey opens or closes with the other neutrals."""
    yarns = [replace(one, family="greys" * (one.name == "leaf")) for one in LISTED]
    run = arrange(yarns, Arranging(), view=VIEW).yarns
    assert names(families_of(run)[0][1]) == ["cream", "leaf"]


def test_unknown_family_is_said():
    """A family that there is not is answered with the nearest that there is."""
    with pytest.raises(
        KitError, match='No family called "pinkz". Did you mean "pinks"'
    ):
        arrange([*LISTED, yarn("a", 50, family="pinkz")], Arranging(), view=VIEW)


# --- smoothest ------------------------------------------------------------------------

RULES = [
    Arranging(by="smoothest", ends=ends, value_slack=slack)
    for ends in ("fixed", "free")
    for slack in (5.0, 20.0, inf)
]


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
@settings(max_examples=30, deadline=None)
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


# --- best possible, in words ----------------------------------------------------------


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


@pytest.mark.parametrize("arranging", EVERY_WAY[:6])
def test_no_best_where_none_was_sought(arranging):
    """Only the smoothest speaks of what no order can beat."""
    assert arrange(drawn(6, 1), arranging, view=VIEW).best is None


# --- by hand --------------------------------------------------------------------------


def test_order_by_hand():
    """The knitter's order holds; what it leaves out follows by value and is told."""
    yarns = [yarn("a", 20), yarn("b", 40), yarn("c", 60), yarn("d", 80)]
    by_hand = arrange(yarns, Arranging(order=("b", "d", "b")), view=VIEW)
    assert names(by_hand.yarns) == ["b", "d", "c", "a"]
    assert by_hand.by == "hand"
    assert by_hand.said == (
        'Not in the order made by hand, so put at its end: "c", "a".',
    )
    whole = arrange(yarns, Arranging(order=("b", "d", "a", "c")), view=VIEW)
    assert (names(whole.yarns), whole.said) == (["b", "d", "a", "c"], ())


@given(labs)
@settings(max_examples=30)
def test_value_is_lightness(lab):
    """A solid's value is its L*."""
    assert value_of(yarn("a", lab)) == pytest.approx(lab[0], abs=1e-9)

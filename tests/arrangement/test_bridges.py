"""What to put between two neighbours; judged by trying every yarn at every place."""

from functools import cache
from itertools import combinations_with_replacement, pairwise, permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.arrangement import bridges as bridging
from kit.arrangement.candidates import Candidates
from kit.arrangement.layout import Laid
from kit.blanket.choices import Bridging, Judging, Kept
from kit.colour import Mix, ciede2000, step_table
from tests.helpers.yarns import drawn, held_back, mixes, names, runs, yarn

VIEW = 0.5


def add_bridges(run, candidates, chosen, *, joins=(), **also):
    laid, judging = Laid(tuple(run), frozenset(joins)), Judging(view=VIEW)
    return bridging.add_bridges(laid, Candidates(candidates), chosen, judging, **also)


def best_bridge(run, candidates, **also):
    """The one bridge that helps most; None where none does."""
    bridges = add_bridges(run, candidates, Bridging(bridges=1), **also).bridges
    return bridges[0] if bridges else None


def always(_one, _two) -> bool:
    return True


@cache
def size(one, two, view=VIEW) -> float:
    return float(step_table((one.mix,), (two.mix,), view=view)[0, 0])


def largest(run, *, joins=(), counts=always) -> float:
    steps = [
        size(a, b)
        for k, (a, b) in enumerate(pairwise(run))
        if k not in joins and counts(a, b)
    ]
    return max(steps, default=0.0)


def every_bridge(run, candidates, counts=always):
    """(largest step left, step left in the gap) for each yarn at each place."""
    for k, (one, two) in enumerate(pairwise(run)):
        if counts(one, two):
            for bridge in candidates:
                longer = [*run[: k + 1], bridge, *run[k + 1 :]]
                left = max(size(one, bridge), size(bridge, two))
                yield largest(longer, counts=counts), left, bridge.name, k


@pytest.mark.parametrize("seed", range(15))
def test_best_bridge_against_every_one(seed):
    """No candidate at any place leaves a smaller largest step, then a smaller gap."""
    run, candidates = drawn(3 + seed % 5, seed), held_back(8, 50 + seed)
    best = best_bridge(run, candidates)
    remains, left, name, k = min(every_bridge(run, candidates))
    before = largest(run)
    if remains >= before - 1e-9:
        assert best is None
        return
    assert best.largest_after == pytest.approx(remains, abs=1e-6)
    assert best.step_after == pytest.approx(left, abs=1e-6)
    assert (best.yarn.name, best.after, best.before) == (name, run[k], run[k + 1])
    assert best.largest_before == pytest.approx(before, abs=1e-6)
    assert best.step_before == pytest.approx(size(run[k], run[k + 1]), abs=1e-6)
    assert not best.by_hand


def test_accents_do_not_count():
    """A step that does not count is neither bridged nor in the way."""
    run = [yarn("a", 90), yarn("loud", (60, 80, 60), role="accent"), yarn("b", 60)]
    run.append(yarn("c", 40))

    candidates = [yarn("half", 50, role="bridge"), yarn("red", (70, 40, 30))]
    best = best_bridge(run, candidates)
    assert (best.yarn.name, best.after.name, best.before.name) == ("half", "b", "c")
    assert best.largest_before == pytest.approx(size(run[2], run[3]))


@given(
    runs(least=2, most=8),
    st.integers(0, 3),
    st.integers(0, 40),
    st.sets(st.integers(0, 6), max_size=2),
)
def test_bridges_never_make_it_worse(run, n, seed, joins):
    """Bridges together lower the largest step that counts, and are told in turn."""
    joins = {k for k in joins if k < len(run) - 1}
    candidates = held_back(6, seed)
    bridged = add_bridges(run, candidates, Bridging(bridges=n), joins=joins)
    assert len(bridged.bridges) <= n
    before = level = largest(run, joins=joins)
    for bridge in bridged.bridges:
        assert bridge.largest_before == pytest.approx(level, abs=1e-6)
        level = bridge.largest_after
        gap, into = bridge.after, bridge.before
        assert bridge.step_before == pytest.approx(size(gap, into), abs=1e-6)
        left = max(size(gap, bridge.yarn), size(bridge.yarn, into))
        assert bridge.step_after == pytest.approx(left, abs=1e-6)
    assert level < before or not bridged.bridges
    line, moved = bridged.laid.yarns, bridged.laid.joins
    assert largest(line, joins=moved) == pytest.approx(level, abs=1e-6)
    used = {bridge.yarn.name for bridge in bridged.bridges}
    assert [one for one in line if one.name not in used] == list(run)
    assert len(line) == len(run) + len(bridged.bridges)
    before = {frozenset((run[k].name, run[k + 1].name)) for k in joins}
    after = [(line[k].name, line[k + 1].name) for k in moved]
    assert {frozenset(pair) for pair in after} == before


# --- several together -----------------------------------------------------------------


def every_filling(run, candidates, most):
    """The run with up to `most` candidates put in, in every way; each gap's steps."""
    n_gaps = len(run) - 1
    for n in range(most + 1):
        for chosen in permutations(candidates, n):
            for where in combinations_with_replacement(range(n_gaps), n):
                chains = [[] for _ in range(n_gaps)]
                for yarn_in, gap in zip(chosen, where, strict=True):
                    chains[gap].append(yarn_in)
                yield n, chains


def judged(run, chains):
    """The largest step of each gap, largest first, to nine digits."""
    left = []
    for k, chain in enumerate(chains):
        line = [run[k], *chain, run[k + 1]]
        left.append(round(max(size(a, b) for a, b in pairwise(line)), 9))
    return tuple(sorted(left, reverse=True))


@pytest.mark.parametrize("most", [2, 3])
@pytest.mark.parametrize("seed", range(12))
def test_sets_against_every_way(seed, most):
    """No pair or triple in any gaps, several in one allowed, leaves less; of those that
    leave the least the smallest, then by the next largest steps."""
    run = drawn(3 + seed % 2, seed)
    candidates = held_back(6 if most == 2 else 4, 70 + seed)
    ways = (
        (judged(run, chains)[0], n, judged(run, chains))
        for n, chains in every_filling(run, candidates, most)
    )
    expected = min(ways)
    bridged = add_bridges(run, candidates, Bridging(bridges=most))
    assert largest(bridged.laid.yarns) == pytest.approx(expected[0], abs=1e-6)
    assert len(bridged.bridges) == expected[1]
    put = {bridge.yarn.name for bridge in bridged.bridges}
    chains, k = [[] for _ in run[1:]], -1
    for one in bridged.laid.yarns:
        if one.name in put:
            chains[k].append(one)
        else:
            k += 1
    assert judged(run, chains) == pytest.approx(expected[2], abs=1e-6)


def test_one_skein_in_one_gap():
    """A skein that would do in two gaps is put into one of them."""
    run = [yarn("a", 90), yarn("b", 40), yarn("c", (88.0, 3.0, 0.0))]
    skein = yarn("skein", (65.0, 1.0, 0.0))
    bridged = add_bridges(run, [skein], Bridging(2))
    assert names(bridged.laid.yarns) == ["a", "skein", "b", "c"]


def test_two_in_one_gap_run_back_the_other_way():
    """A mirrored blanket has a pair turned round in its second half."""
    a, b = yarn("a", 95), yarn("b", 15)
    pair = [yarn("light", 70), yarn("dark", 42)]
    bridged = add_bridges([a, b, a], pair, Bridging(2))
    line = ["a", "light", "dark", "b", "dark", "light", "a"]
    assert names(bridged.laid.yarns) == line


def test_more_than_three_are_said_to_be_put_in_by_threes():
    """Six are allowed: they go in three at a time, and that is said."""
    run = [yarn(f"y{k}", v) for k, v in enumerate((95, 65, 97, 60, 94, 58))]
    many = [yarn(f"b{k}", v) for k, v in enumerate((78, 79, 80, 77, 76, 81))]
    bridged = add_bridges(run, many, Bridging(6))
    assert len(bridged.bridges) > 3
    assert bridged.sentences[-1].startswith("Bridges were put in 3 at a time")
    few = add_bridges(run, many, Bridging(3))
    assert few.sentences == ()


def test_it_does_not_rely_on_the_triangle_rule():
    """A way round may be shorter than the straight way: such a bridge is taken, and
    one half-way in Lab that makes the step larger is declined."""
    # The triple of tests/test_difference.py, computed with colour-science 0.4.7.
    one, two = yarn("one", (42.58, -76.64, -33.13)), yarn("two", (27.70, 78.97, 27.59))
    between = yarn("between", (35.47, -2.19, -4.08))
    straight = size(one, two)
    assert size(one, between) + size(between, two) < straight - 50
    best = best_bridge([one, two], [between])
    assert best.step_after == pytest.approx(34.38, abs=0.01)
    a, b, middle = worse_half_way()
    assert max(size(a, middle), size(middle, b)) > size(a, b)
    assert best_bridge([a, b], [middle]) is None


def worse_half_way():
    """Two colours whose Lab midpoint is further from one than they are apart; such
    pairs are rare, so one is drawn from many."""
    rng = np.random.default_rng(4)
    labs = rng.uniform((5, -70, -70), (98, 70, 70), (2, 40_000, 3))
    half = labs.mean(axis=0)
    apart = ciede2000(labs[0], labs[1])
    worst = np.maximum(ciede2000(labs[0], half), ciede2000(half, labs[1]))
    k = int((worst - apart).argmax())
    assert worst[k] > apart[k]
    return tuple(
        yarn(name, tuple(lab[k].tolist()))
        for name, lab in (("a", labs[0]), ("b", labs[1]), ("half", half))
    )


def test_declines_where_none_helps():
    """Far-off colours, the neighbours' own, or none at all: no bridge, no words."""
    run = [yarn("light", 80), yarn("dark", 60)]
    for candidates in (
        [],
        [yarn("red", (50, 70, 50)), yarn("blue", (30, 20, -60))],
        [yarn("light too", 80), yarn("dark too", 60)],
    ):
        assert best_bridge(run, candidates) is None
        bridged = add_bridges(run, candidates, Bridging(3))
        assert bridged == bridging.Bridged(Laid(tuple(run)), ())


def test_declines_where_another_step_is_as_large():
    """Two equal gaps and one skein: the largest step stays, so nothing is put in."""
    run = [yarn("a", 90), yarn("b", 60), yarn("c", 90.0), yarn("d", 88)]
    half = [yarn("half", 75)]
    assert best_bridge(run[:2], half) is not None
    assert best_bridge(run, half) is None


@pytest.mark.parametrize("n", [0, 1])
def test_short_runs(n):
    """Where there are no two neighbours there is nothing to bridge."""
    run = drawn(n, 1)
    assert best_bridge(run, held_back(3, 1)) is None


# --- where two yarns meet several times -----------------------------------------------


def test_mirrored_places_are_bridged_alike():
    """Where a step comes twice, its bridge goes into both places."""
    light, dark = yarn("light", 90), yarn("dark", 40)
    run, half = [light, dark, light], yarn("half", 65)
    bridged = add_bridges(run, [half], Bridging(1))
    assert names(bridged.laid.yarns) == ["light", "half", "dark", "half", "light"]
    assert len(bridged.bridges) == 1


def test_a_ball_that_does_not_fit_is_not_shared():
    """`fits` keeps a ball out where its step comes twice, not where it comes once."""
    a, b, c = yarn("a", 90), yarn("b", 60), yarn("c", 20)
    small, full = yarn("small", 42, grams=8), yarn("full", 30)

    def fits(one, n_places):
        return n_places == 1 or one is not small

    for run, used in (([a, b, c, b, a], "full"), ([a, b, c], "small")):
        bridged = add_bridges(run, [small, full], Bridging(1), fits=fits)
        assert [bridge.yarn.name for bridge in bridged.bridges] == [used]
    only = add_bridges([a, b, c, b, a], [small], Bridging(1), fits=fits)
    assert only.bridges == ()


def test_joins_are_left_alone():
    """The step from one time through to the next is not bridged, and it moves along."""
    a, b = yarn("a", 90), yarn("b", 40)
    bridged = add_bridges([a, b, a, b], [yarn("x", 65)], Bridging(1), joins={1})
    assert names(bridged.laid.yarns) == ["a", "x", "b", "a", "x", "b"]
    assert bridged.laid.joins == {2}


# --- by hand --------------------------------------------------------------------------


@given(runs(least=2, most=6), st.data())
def test_kept_bridges_go_where_asked(run, data):
    """A bridge kept by hand stands between its two, either way round, good or not."""
    k = data.draw(st.integers(0, len(run) - 2))
    pair = [run[k].name, run[k + 1].name]
    if data.draw(st.booleans()):
        pair.reverse()
    bridge = yarn("mine", data.draw(mixes()))
    bridging = Bridging(bridges=1, bridges_kept=(Kept("mine", *pair),))
    bridged = add_bridges(run, held_back(3, 1), bridging, kept_from=[bridge])
    assert bridged.laid.yarns == (*run[: k + 1], bridge, *run[k + 1 :])
    (put_in,) = bridged.bridges  # by hand it counts among the one that is allowed
    assert put_in.by_hand
    assert (put_in.after, put_in.before) == (run[k], run[k + 1])
    assert put_in.step_before == pytest.approx(size(run[k], run[k + 1]))
    left = max(size(run[k], bridge), size(bridge, run[k + 1]))
    assert put_in.step_after == pytest.approx(left)
    assert put_in.largest_before == pytest.approx(largest(run))
    assert put_in.largest_after == pytest.approx(largest(bridged.laid.yarns))


def test_kept_bridges_before_others():
    """By hand even where none may be put in; others fill up to the number allowed."""
    run = [yarn("a", 95), yarn("b", 60), yarn("c", 20)]
    mine, other = yarn("mine", 78), yarn("other", 40)
    kept = (Kept("mine", "a", "b"),)
    for n, expected in ((0, ["mine"]), (1, ["mine"]), (2, ["mine", "other"])):
        bridged = add_bridges(
            run,
            [mine, other],
            Bridging(bridges=n, bridges_kept=kept),
            kept_from=[mine, other],
        )
        assert [bridge.yarn.name for bridge in bridged.bridges] == expected


def test_two_kept_bridges_in_one_gap():
    """The second may stand beside the first."""
    run = [yarn("a", 95), yarn("b", 20)]
    one, two = yarn("one", 70), yarn("two", 45)
    kept = (Kept("one", "a", "b"), Kept("two", "one", "b"))
    bridged = add_bridges(
        run,
        [],
        Bridging(bridges_kept=kept),
        kept_from=[one, two],
    )
    assert names(bridged.laid.yarns) == ["a", "one", "two", "b"]


@pytest.mark.parametrize(
    ("kept", "why"),
    [
        (Kept("mine", "a", "c"), '"a" and "c" are not neighbours in this arrangement.'),
        (Kept("mine", "a", "gone"), '"a" and "gone" are not neighbours in this arra'),
        (Kept("b", "a", "c"), "it stands in the arrangement already."),
        (Kept("gone", "a", "b"), "there is no such yarn."),
    ],
)
def test_kept_bridge_that_cannot_be_is_told(kept, why):
    """What was asked for and cannot be done is said, and the run stays."""
    run = [yarn("a", 90), yarn("b", 70), yarn("c", 50)]
    bridged = add_bridges(
        run,
        [],
        Bridging(bridges_kept=(kept,)),
        kept_from=[*run, yarn("mine", 80)],
    )
    assert names(bridged.laid.yarns) == ["a", "b", "c"]
    (said,) = bridged.sentences
    assert said.startswith(f'The bridge "{kept.yarn}" is not used: {why}')


def test_small_kept_bridge_stands_once():
    """A ball too small to share stands at the first of its places, and it is said."""
    a, b, mine = yarn("a", 90), yarn("b", 40), yarn("mine", 65, grams=5)
    bridged = add_bridges(
        [a, b, a],
        [],
        Bridging(bridges_kept=(Kept("mine", "a", "b"),)),
        fits=lambda one, n_places: n_places == 1,
        kept_from=[mine],
    )
    assert names(bridged.laid.yarns) == ["a", "mine", "b", "a"]
    assert bridged.sentences == (
        'The bridge "mine" is too small to share: it stands once, after "a".',
    )


# --- mixes ---


def test_best_bridge_may_be_a_mix():
    """A skein of both neighbours' colours is tried like any other."""
    run = [yarn("cream", (90, 0, 12)), yarn("plum", (30, 25, -10))]
    skein = yarn("both", Mix(((90, 0, 12), (30, 25, -10)), (45, 55)))
    best = best_bridge(run, [skein])
    assert best.yarn is skein
    assert best.step_after < 0.75 * best.step_before

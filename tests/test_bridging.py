"""What to put between two neighbours; judged by trying every yarn at every place."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.bridging import MOST_COLOURS, N_RANKED, add_bridges, best_bridge, ideal, rank
from kit.choices import Bridging, Kept
from kit.colour import Mix, mean_lab, solid
from kit.difference import step_table
from tests.yarns import drawn, held_back, mixes, names, runs, yarn

VIEW = 0.5


def always(_one, _two) -> bool:
    return True


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
    best = best_bridge(run, candidates, view=VIEW, counts=always)
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

    def counts(one, two):
        return "accent" not in (one.role, two.role)

    candidates = [yarn("half", 50, role="bridge"), yarn("red", (70, 40, 30))]
    best = best_bridge(run, candidates, view=VIEW, counts=counts)
    assert (best.yarn.name, best.after.name, best.before.name) == ("half", "b", "c")
    assert best.largest_before == pytest.approx(size(run[2], run[3]))


@given(
    runs(least=2, most=8),
    st.integers(0, 3),
    st.integers(0, 40),
    st.sets(st.integers(0, 6), max_size=2),
)
@settings(max_examples=60, deadline=None)
def test_a_bridge_never_makes_it_worse(run, n, seed, joins):
    """Each bridge lowers the largest step that counts, so all of them together do."""
    joins = {k for k in joins if k < len(run) - 1}
    candidates = held_back(6, seed)
    bridged = add_bridges(
        run, candidates, Bridging(bridges=n), view=VIEW, counts=always, joins=joins
    )
    assert len(bridged.bridges) <= n
    level = largest(run, joins=joins)
    for bridge in bridged.bridges:
        assert bridge.largest_before == pytest.approx(level, abs=1e-6)
        assert bridge.largest_after < level
        level = bridge.largest_after
    assert largest(bridged.run, joins=bridged.joins) == pytest.approx(level, abs=1e-6)
    used = {bridge.yarn.name for bridge in bridged.bridges}
    assert [one for one in bridged.run if one.name not in used] == list(run)
    assert len(bridged.run) == len(run) + len(used)
    before = {frozenset((run[k].name, run[k + 1].name)) for k in joins}
    after = [(bridged.run[k].name, bridged.run[k + 1].name) for k in bridged.joins]
    assert {frozenset(pair) for pair in after} == before


def test_declines_where_none_helps():
    """Far-off colours, the neighbours' own, or none at all: no bridge, no words."""
    run = [yarn("light", 80), yarn("dark", 60)]
    for candidates in (
        [],
        [yarn("red", (50, 70, 50)), yarn("blue", (30, 20, -60))],
        [yarn("light too", 80), yarn("dark too", 60)],
    ):
        assert best_bridge(run, candidates, view=VIEW, counts=always) is None
        bridged = add_bridges(run, candidates, Bridging(3), view=VIEW, counts=always)
        assert (bridged.run, bridged.bridges, bridged.said) == (tuple(run), (), ())


def test_declines_where_another_step_is_as_large():
    """Two equal gaps and one skein: the largest step stays, so nothing is put in."""
    run = [yarn("a", 90), yarn("b", 60), yarn("c", 90.0), yarn("d", 88)]
    half = [yarn("half", 75)]
    assert best_bridge(run[:2], half, view=VIEW, counts=always) is not None
    assert best_bridge(run, half, view=VIEW, counts=always) is None


@pytest.mark.parametrize("n", [0, 1])
def test_short_runs(n):
    """Where there are no two neighbours there is nothing to bridge."""
    run = drawn(n, 1)
    assert best_bridge(run, held_back(3, 1), view=VIEW, counts=always) is None


# --- where two yarns meet several times -----------------------------------------------


def test_mirrored_places_are_bridged_alike():
    """Where a step comes twice, its bridge goes into both places."""
    light, dark = yarn("light", 90), yarn("dark", 40)
    run, half = [light, dark, light], yarn("half", 65)
    bridged = add_bridges(run, [half], Bridging(1), view=VIEW, counts=always)
    assert names(bridged.run) == ["light", "half", "dark", "half", "light"]
    assert len(bridged.bridges) == 1


def test_a_ball_that_does_not_fit_is_not_shared():
    """`fits` keeps a ball out where its step comes twice, not where it comes once."""
    a, b, c = yarn("a", 90), yarn("b", 60), yarn("c", 20)
    small, full = yarn("small", 42, grams=8), yarn("full", 30)

    def fits(one, n_places):
        return n_places == 1 or one is not small

    for run, used in (([a, b, c, b, a], "full"), ([a, b, c], "small")):
        bridged = add_bridges(
            run, [small, full], Bridging(1), view=VIEW, counts=always, fits=fits
        )
        assert [bridge.yarn.name for bridge in bridged.bridges] == [used]
    only = add_bridges(
        [a, b, c, b, a], [small], Bridging(1), view=VIEW, counts=always, fits=fits
    )
    assert only.bridges == ()


def test_joins_are_left_alone():
    """The step from one time through to the next is not bridged, and it moves along."""
    a, b = yarn("a", 90), yarn("b", 40)
    bridged = add_bridges(
        [a, b, a, b], [yarn("x", 65)], Bridging(1), view=VIEW, counts=always, joins={1}
    )
    assert names(bridged.run) == ["a", "x", "b", "a", "x", "b"]
    assert bridged.joins == {2}


# --- by hand --------------------------------------------------------------------------


@given(runs(least=2, most=6), st.data())
@settings(max_examples=40, deadline=None)
def test_kept_bridges_go_where_asked(run, data):
    """A bridge kept by hand stands between its two, either way round, good or not."""
    k = data.draw(st.integers(0, len(run) - 2))
    pair = [run[k].name, run[k + 1].name]
    if data.draw(st.booleans()):
        pair.reverse()
    bridge = yarn("mine", data.draw(mixes()))
    bridging = Bridging(bridges=1, bridges_kept=(Kept("mine", *pair),))
    bridged = add_bridges(
        run, held_back(3, 1), bridging, view=VIEW, counts=always, kept_from=[bridge]
    )
    assert bridged.run == (*run[: k + 1], bridge, *run[k + 1 :])
    (put_in,) = bridged.bridges  # by hand it counts among the one that is allowed
    assert put_in.by_hand
    assert (put_in.after, put_in.before) == (run[k], run[k + 1])
    assert put_in.step_before == pytest.approx(size(run[k], run[k + 1]))
    left = max(size(run[k], bridge), size(bridge, run[k + 1]))
    assert put_in.step_after == pytest.approx(left)
    assert put_in.largest_before == pytest.approx(largest(run))
    assert put_in.largest_after == pytest.approx(largest(bridged.run))


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
            view=VIEW,
            counts=always,
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
        view=VIEW,
        counts=always,
        kept_from=[one, two],
    )
    assert names(bridged.run) == ["a", "one", "two", "b"]


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
        view=VIEW,
        counts=always,
        kept_from=[*run, yarn("mine", 80)],
    )
    assert names(bridged.run) == ["a", "b", "c"]
    (said,) = bridged.said
    assert said.startswith(f'The bridge "{kept.yarn}" is not used: {why}')


def test_small_kept_bridge_stands_once():
    """A ball too small to share stands at the first of its places, and it is said."""
    a, b, mine = yarn("a", 90), yarn("b", 40), yarn("mine", 65, grams=5)
    bridged = add_bridges(
        [a, b, a],
        [],
        Bridging(bridges_kept=(Kept("mine", "a", "b"),)),
        view=VIEW,
        counts=always,
        fits=lambda one, n_places: n_places == 1,
        kept_from=[mine],
    )
    assert names(bridged.run) == ["a", "mine", "b", "a"]
    assert bridged.said == (
        'The bridge "mine" is too small to share: it stands once, after "a".',
    )


# --- what else could be put there -----------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_rank_is_sorted(seed):
    """The best few candidates for a gap, smallest step first, ties by name."""
    run, candidates = drawn(4, seed), held_back(9, seed)
    candidates.append(replace(candidates[0], name="a twin"))
    for gap in range(3):
        ranked = rank(run, gap, candidates, view=VIEW)
        every = sorted(
            (max(size(run[gap], one), size(one, run[gap + 1])), one.name)
            for one in candidates
        )
        assert [one.name for one, _ in ranked] == [name for _, name in every[:N_RANKED]]
        steps = [step for _, step in ranked]
        assert steps == pytest.approx([step for step, _ in every[:N_RANKED]], abs=1e-6)
    assert rank(run, 0, [], view=VIEW) == []


@given(mixes(), mixes(), st.sampled_from([0.0, 0.5, 1.0]))
@settings(max_examples=40, deadline=None)
def test_ideal_is_measured(one, two, view):
    """What is sought leaves the step that is stated, in few colours that add to 1."""
    sought = ideal(one, two, view=view)
    step = step_table((sought.mix,), (one, two), view=view).max()
    assert sought.step_after == pytest.approx(step, abs=1e-9)
    assert len(sought.mix.labs) <= MOST_COLOURS
    assert sum(sought.mix.shares) == pytest.approx(1)
    again = ideal(two, one, view=view)
    assert again.step_after == pytest.approx(sought.step_after, abs=1)


def test_ideal_halves_a_gap_of_greys():
    """Between two greys there is a grey that halves their step, within a twentieth."""
    one, two = solid((80, 0, 0)), solid((40, 0, 0))
    gap = float(step_table((one,), (two,), view=VIEW)[0, 0])
    sought = ideal(one, two, view=VIEW)
    assert sought.step_after < 0.55 * gap
    assert mean_lab(sought.mix)[0] == pytest.approx(60, abs=5)


def test_ideal_of_a_speckle_holds_its_colours():
    """Between cream and plum a mix of both helps in the hand as well as afar."""
    cream, plum = solid((90, 0, 12)), solid((30, 25, -10))
    gap = float(step_table((cream,), (plum,), view=VIEW)[0, 0])
    assert ideal(cream, plum, view=VIEW).step_after < 0.6 * gap


def test_best_bridge_may_be_a_mix():
    """A skein of both neighbours' colours is tried like any other."""
    run = [yarn("cream", (90, 0, 12)), yarn("plum", (30, 25, -10))]
    skein = yarn("both", Mix(((90, 0, 12), (30, 25, -10)), (45, 55)))
    best = best_bridge(run, [skein], view=VIEW, counts=always)
    assert best.yarn is skein
    assert best.step_after < 0.75 * best.step_before

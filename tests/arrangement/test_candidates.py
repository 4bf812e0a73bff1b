"""Yarns that may bridge: ranked for a gap, and packed only once."""

from dataclasses import replace
from itertools import pairwise, permutations

import numpy as np
import pytest

from kit.arrangement import candidates as module
from kit.arrangement.candidates import Candidates, Gap, candidates_of
from kit.arrangement.catalogue import StepsTo, bounds, catalogue
from kit.colour import step_table
from tests.helpers.strategies import random_mixes
from tests.helpers.yarns import drawn, held_back, names


def size(one, two):
    return float(step_table((one.mix,), (two.mix,), view=0.5)[0, 0])


def always(yarn, n_places):
    return True


@pytest.mark.parametrize("seed", range(6))
def test_rank_is_sorted(seed):
    """The best few candidates for a gap, smallest step first, ties by name."""
    one, two = drawn(2, seed)
    yarns = held_back(9, seed)
    yarns.append(replace(yarns[0], name="a twin"))
    listed = Candidates(yarns)
    ranked = listed.rank((one.mix, two.mix), 5, listed.may(always, 1), view=0.5)
    every = sorted(
        (round(max(size(one, each), size(each, two)), 9), each.name) for each in yarns
    )[:5]
    assert [(step, each.name) for each, step in ranked] == [
        (pytest.approx(step, abs=1e-6), name) for step, name in every
    ]


def test_who_may():
    """Those named are kept out, and those that do not fit so many places."""
    listed = Candidates(held_back(4, 2))
    first, second = names(listed.yarns)[:2]
    may = listed.may(lambda yarn, n: yarn.name != second or n == 1, 2, {first})
    assert may.tolist() == [False, False, True, True]
    ranked = listed.rank(tuple(y.mix for y in drawn(2, 1)), 9, may, view=0.5)
    assert {yarn.name for yarn, _ in ranked} == set(names(listed.yarns)[2:])


def test_none():
    """With no yarns there is nothing to rank."""
    one, two = drawn(2, 1)
    listed = Candidates([])
    assert listed.rank((one.mix, two.mix), 3, np.zeros(0, bool), view=0.5) == []


def test_others_may_ask_meanwhile(monkeypatch):
    """What another thread asks for takes away nothing that is being read."""
    monkeypatch.setattr("kit.arrangement.candidates.MOST_KEPT", 2)
    listed, may = Candidates(held_back(3, 1)), np.ones(3, bool)
    a, b, c, d, e = (yarn.mix for yarn in drawn(5, 3))
    alone = Candidates(held_back(3, 1)).rank((a, b), 3, may, view=0.5)
    others = [[d], [e]]  # one more than is kept, then afresh

    def meanwhile(*asked, **how):
        waiting = others[:]
        others.clear()
        for mixes in waiting:
            listed.prepare(mixes, view=0.5)
        return bounds(*asked, **how)

    listed.prepare([a, c], view=0.5)
    monkeypatch.setattr("kit.arrangement.candidates.bounds", meanwhile)
    assert listed.rank((a, b), 3, may, view=0.5) == alone
    assert not others


def test_the_same_lists_are_packed_once():
    """A shop list is known again as the same object, the stash by what it holds."""
    owned, shop = held_back(3, 1), tuple(drawn(3, 2))
    first = candidates_of(owned, shop)
    assert candidates_of(list(owned), shop) is first
    assert candidates_of(owned, (*shop,)) is not first
    assert names(first.yarns) == sorted(names([*owned, *shop]))


# --- between two mixes ----------------------------------------------------------------


VIEW = 0.4


def gap_of(many, one, two, may=None):
    packed = catalogue(many)
    low = bounds(packed, catalogue([one, two]), view=VIEW)
    ends = (
        StepsTo(packed, mix, low[:, k], view=VIEW) for k, mix in enumerate((one, two))
    )
    return Gap(packed, tuple(ends), np.ones(len(many), bool) if may is None else may)


def every_chain(many, one, two, n, *, may=None, without=()):
    """The least largest step of n different mixes between two, and which they are."""
    table = step_table([*many, one, two], [*many, one, two], view=VIEW)
    allowed = [
        k for k in range(len(many)) if (may is None or may[k]) and k not in without
    ]
    return min(
        (
            round(max(table[a, b] for a, b in pairwise((-2, *chosen, -1))), 9),
            chosen,
        )
        for chosen in permutations(allowed, n)
    )


def mixes_of(seed, n=11):
    rng = np.random.default_rng(seed)
    return random_mixes(n, rng, most=3), *random_mixes(2, rng, most=3)


@pytest.mark.parametrize("n", [1, 2, 3])
@pytest.mark.parametrize("seed", range(15))
def test_against_every_chain(seed, n, monkeypatch):
    """The chain found leaves what the best of all chains does; none is told only where
    a shorter one does as well."""
    monkeypatch.setattr(module, "SHELL", 2)
    monkeypatch.setattr(module, "ROWS", 3)
    monkeypatch.setattr(module, "COLUMNS", 4)
    many, one, two = mixes_of(seed)
    may = np.array([k % 5 != 4 for k in range(len(many))])
    for without in (frozenset(), frozenset({0, 3})):
        gap = gap_of(many, one, two, may)
        found = gap.chain(n, without)
        step, _ = every_chain(many, one, two, n, may=may, without=without)
        fewer = [
            every_chain(many, one, two, k, may=may, without=without)[0]
            for k in range(1, n)
        ]
        if found is None:
            assert step >= min(fewer) - 1e-6
            continue
        assert found.exact
        assert found.step == pytest.approx(step, abs=1e-6)
        assert len(set(found.places)) == n
        assert not set(found.places) & without
        assert all(may[k] for k in found.places)
        line = [one, *(many[k] for k in found.places), two]
        steps = [step_table((a,), (b,), view=VIEW)[0, 0] for a, b in pairwise(line)]
        assert max(steps) == pytest.approx(found.step, abs=1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_singles_are_the_first_few(seed):
    """The best few of a longer list in order, with their steps."""
    many, one, two = mixes_of(seed, 150)
    steps = step_table(many, (one, two), view=VIEW).max(axis=1)
    expected = np.argsort(steps, kind="stable")[:7]
    best = gap_of(many, one, two).singles(7)
    assert [k for _, k in best] == expected.tolist()
    assert [step for step, _ in best] == pytest.approx(steps[expected], abs=1e-6)


def test_few_true_steps_are_worked_out():
    """Of a long list most are ruled out by their bounds alone."""
    many, one, two = mixes_of(3, 600)
    while len(one.labs) == 1:
        one = many.pop()
    gap = gap_of(many, one, two)
    several = sum(len(mix.labs) > 1 for mix in many)
    gap.singles(3)
    settled = sum(gap.one.known[k] and len(mix.labs) > 1 for k, mix in enumerate(many))
    assert settled < several / 3


def test_nothing_to_choose_from():
    """Where none may be used there is no chain."""
    many, one, two = mixes_of(1, 4)
    gap = gap_of(many, one, two, np.zeros(4, bool))
    assert [gap.chain(n) for n in (1, 2, 3)] == [None, None, None]
    assert gap.singles(3) == []


def test_a_long_list_cut_for_threes_is_told(monkeypatch):
    """Where threes are sought among the likeliest only, the chain says so."""
    many, one, two = mixes_of(12, 40)
    whole = gap_of(many, one, two).chain(3)
    monkeypatch.setattr(module, "MOST_TRIPLE_PAIRS", 50)
    monkeypatch.setattr(module, "CUT_TO", 12)
    cut = gap_of(many, one, two).chain(3)
    assert whole.exact and not cut.exact
    assert cut.step >= whole.step - 1e-9

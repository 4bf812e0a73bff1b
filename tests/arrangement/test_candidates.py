"""Yarns that may bridge: ranked for a gap, and packed only once."""

from dataclasses import replace

import numpy as np
import pytest

from kit.arrangement.candidates import Candidates, candidates_of
from kit.arrangement.catalogue import bounds
from kit.colour import step_table
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

"""An order by hand beside the computed one and the best possible, and what is told."""

from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings

from kit.arrangement.compared import compare, compared_lines, hand_notes, least_possible
from kit.arrangement.design import design_colours, measure
from kit.arrangement.layout import Laid
from kit.arrangement.orders import arrange, by_value_and_name
from kit.blanket import Choices
from kit.blanket.choices import Arranging, Carry, Judging, Laying, Making
from kit.blanket.folder import name_faults
from kit.blanket.stash_csv import read_stash
from kit.colour.steps import hue_turns, largest_step, median_step
from kit.errors import KitError
from kit.plan import plan
from tests.helpers.yarns import drawn, names, runs, yarn


def choices(**also):
    return Choices("Test", **also)


def steps(yarns, judging=None):
    return measure(Laid(tuple(yarns)), judging or Judging())


def test_both_orders_are_measured():
    """Largest, median and hue turns are those of the steps along each order."""
    yarns = drawn(12, 5)
    by_hand = choices(arranging=Arranging("value", order=tuple(names(yarns))))
    found = compare(yarns, by_hand, measure=steps)
    by_value = arrange(yarns, Arranging("value"), view=0.5).yarns
    for one, run in ((found.by_hand, yarns), (found.computed, by_value)):
        assert one.largest == largest_step(steps(run))
        assert one.median == median_step(steps(run))
        assert one.hue_turns == hue_turns([y.mix for y in run])
    assert (found.by_hand.what, found.computed.what) == ("by hand", "by value")
    assert compared_lines(found) == [
        f"Made by hand: largest {found.by_hand.largest:.1f}, median "
        f"{found.by_hand.median:.1f}, {found.by_hand.hue_turns} hue turns; computed by "
        f"value: largest {found.computed.largest:.1f}, median "
        f"{found.computed.median:.1f}, {found.computed.hue_turns} hue turns. Bridges "
        "aside.",
        f"No order of these yarns has a largest step under {found.least:.1f}, ends and "
        "value rule set aside.",
    ]
    assert compared_lines(None) == []


@given(runs(most=5, roles=("use", "use", "accent")))
@settings(max_examples=20)
def test_nothing_beats_the_best_possible(yarns):
    """Judged by trying every order, with accents and one step kept on purpose."""
    kept = (yarns[0].name, yarns[-1].name)
    judging = Judging(accents=(kept,) if len(yarns) > 1 else ())
    pairs = frozenset(frozenset(pair) for pair in judging.accents)
    least = least_possible(by_value_and_name(yarns), 0.5, pairs)
    best = min(largest_step(steps(order, judging)) for order in permutations(yarns))
    assert least <= best + 1e-6


def test_reached():
    """An order that no other can beat is said to reach it."""
    yarns = [yarn(f"v{v}", v) for v in (90, 70, 50, 30)]
    by_hand = choices(arranging=Arranging(order=tuple(names(yarns))))
    found = compare(yarns, by_hand, measure=steps)
    assert found.by_hand.largest == pytest.approx(found.least, abs=1e-6)
    assert compared_lines(found)[1].endswith("The order made by hand reaches it.")


def test_the_computed_order_keeps_the_pairs():
    """What is kept together by hand is so in the order it is compared with."""
    yarns = [yarn(f"v{v}", v) for v in (90, 70, 50, 30)]
    order = ("v30", "v90", "v70", "v50")
    tied = Arranging("value", order=order, locked=(("v90", "v30"),))
    found = compare(yarns, choices(arranging=tied), measure=steps)
    free = compare(
        yarns, choices(arranging=Arranging("value", order=order)), measure=steps
    )
    assert found.computed.largest > free.computed.largest + 10


def test_the_design_carries_it():
    """A design by hand is compared, a computed one is not."""
    yarns = drawn(6, 1)
    order = Arranging(order=tuple(names(yarns)))
    assert design_colours(yarns, [], choices(arranging=order)).compared is not None
    assert design_colours(yarns, [], choices()).compared is None


# --- what is told ---------------------------------------------------------------------


def test_names_that_are_not_arranged_are_told():
    """A yarn of the order that is held back, left out or carried, each with why."""
    yarns = [
        yarn("a", 90),
        yarn("b", 50, role="bridge"),
        yarn("c", 40, role="leave out"),
        yarn("d", 30),
    ]
    by_hand = choices(
        arranging=Arranging(order=("a", "b", "c", "d", "b")),
        making=Making(carry=(Carry("d"),)),
    )
    assert hand_notes(yarns[:1], yarns, by_hand) == [
        "Named in the order made by hand, but not arranged: "
        '"b" (held back as a bridge), "c" (left out), "d" (carried along).'
    ]


def test_locks_and_pairs_are_told():
    """Where they hold, and where there is no room for them."""
    yarns = [yarn(c, 90 - 10 * k) for k, c in enumerate("abcde")]
    locked = ("b", "z", ("c", "d"), ("a", "e"))
    held = choices(arranging=Arranging(order=tuple("abcde"), locked=locked))
    assert hand_notes(yarns, yarns, held) == [
        'Locked, should the others be arranged anew by hand: "b" at place 2.',
        'Locked, but not in the run: "z".',
        'Kept together: "c" and "d".',
        'To be kept together, but apart: "a" and "e".',
    ]
    assert hand_notes(yarns, yarns, choices()) == []


def test_a_computed_arrangement_keeps_pairs():
    """`locked` pairs hold in every arrangement, also without an order by hand."""
    yarns = drawn(14, 3)
    pair = ("y001", "y012")
    for by in ("value", "family", "smoothest"):
        tied = choices(arranging=Arranging(by, locked=(pair,)), laying=Laying())
        design = design_colours(yarns, [], tied)
        run = names(design.arrangement.yarns)
        assert set(pair) in [set(one) for one in pairwise(run)]
        assert 'Kept together: "y001" and "y012".' in design.sentences


# --- left out of one blanket ----------------------------------------------------------


def test_left_out_of_this_blanket_alone():
    """It stands in no order and bridges nothing, the stash keeps its role, and the
    plan tells it; a name that no yarn has is a fault."""
    stash = read_stash(
        b"name,colours,role\nA,#fff,\nB,#888,\nC,#222,\nX,#bbb,bridge\nY,#555,accent\n"
    )
    out = choices(laying=Laying(left_out=("B", "X", "Y")))
    found = plan(stash, out)
    assert names(found.design.laid.yarns) == ["A", "C"]
    assert found.design.bridges == ()
    assert 'Left out of this blanket alone (colours.left_out): "B", "X", "Y".' in (
        found.assumed
    )
    assert [one.role for one in stash.yarns] == [
        "use",
        "use",
        "use",
        "bridge",
        "accent",
    ]
    (fault,) = name_faults(choices(laying=Laying(left_out=("D",))), stash.yarns)
    assert (fault.column, fault.found) == ("colours.left_out", "D")
    with pytest.raises(KitError, match="No yarn to arrange"):
        plan(stash, choices(laying=Laying(left_out=("A", "B", "C", "Y"))))

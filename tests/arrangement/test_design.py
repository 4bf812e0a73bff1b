"""The colours of a blanket put together: bridges, layouts, accents."""

from dataclasses import replace
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.arrangement.design import design_colours, least_bridge_m
from kit.arrangement.orders import value_of
from kit.blanket import Choices
from kit.blanket.choices import Arranging, Bridging, Judging, Kept, Laying, Making, Size
from kit.colour import step_table
from kit.colour.steps import jumps, largest_step, median_step
from kit.yarn import Gauge
from tests.helpers.yarns import drawn, held_back, names, runs, yarn

EVERY_LAYOUT = [
    Laying(*way)
    for way in product(
        ("light-to-dark", "dark-to-light", "mirrored"), (1, 2), ("halve", "pair")
    )
]
GRAMS = (8.0, 14.0, 30.0, 80.0)


def chosen(**parts) -> Choices:
    return Choices("A blanket", **parts)


def size(one, two) -> float:
    return float(step_table((one.mix,), (two.mix,), view=0.5)[0, 0])


@given(
    runs(least=2, most=9, roles=("use", "use", "use", "accent"), grams=GRAMS),
    st.sampled_from(EVERY_LAYOUT),
    st.integers(0, 3),
    st.integers(0, 30),
)
def test_bridges_never_make_a_layout_worse(yarns, laying, n, seed):
    """As laid out, bridges together lower the largest step, by what they say."""
    choices = chosen(
        arranging=Arranging(by="value"), laying=laying, bridging=Bridging(bridges=n)
    )
    design = design_colours([*yarns, *held_back(5, seed, grams=GRAMS)], [], choices)
    levels = [largest_step(design.steps_before)]
    for bridge in design.bridges:  # told one after the other, judged together
        assert bridge.largest_before == pytest.approx(levels[-1], abs=1e-6)
        levels.append(bridge.largest_after)
    assert not design.bridges or levels[-1] < levels[0]
    assert largest_step(design.steps) == pytest.approx(levels[-1], abs=1e-6)


@given(
    runs(least=2, most=8, grams=GRAMS),
    st.sampled_from(EVERY_LAYOUT),
    st.integers(0, 30),
)
@settings(max_examples=30)
def test_bridges_stand_where_they_are_said_to(yarns, laying, seed):
    """After, bridge, before follow each other along the blanket; small ones once."""
    choices = chosen(arranging=Arranging(by="value"), laying=laying)
    design = design_colours([*yarns, *held_back(5, seed, grams=GRAMS)], [], choices)
    line = names(design.laid.yarns)
    for bridge in design.bridges:
        three = (bridge.after.name, bridge.yarn.name, bridge.before.name)
        assert three in zip(line, line[1:], line[2:], strict=False)
        assert bridge.yarn.grams >= 15 or line.count(bridge.yarn.name) == 1
        left = max(size(bridge.after, bridge.yarn), size(bridge.yarn, bridge.before))
        assert bridge.step_after == pytest.approx(left, abs=1e-6)
    put_in = {bridge.yarn.name for bridge in design.bridges}
    assert [name for name in line if name not in put_in] == names(design.before.yarns)


def test_mirrored_stays_mirrored_with_a_bridge():
    """A bridge goes into both halves."""
    yarns = [yarn("a", 95), yarn("b", 60), yarn("c", 55), yarn("x", 77, role="bridge")]
    laying = Laying("mirrored")
    design = design_colours(yarns, [], chosen(laying=laying))
    assert names(design.laid.yarns) == list("axbcbxa")


def test_roles():
    """Left-out yarns are not there, held-back ones only as bridges, accents are."""
    yarns = [
        yarn("a", 90),
        yarn("b", 70),
        yarn("loud", (60, 70, 50), role="accent"),
        yarn("far", (20, 50, -60), role="bridge"),
        yarn("gone", 80, role="leave out"),
    ]
    design = design_colours(yarns, [], chosen(arranging=Arranging(by="value")))
    assert names(design.laid.yarns) == ["a", "b", "loud"]
    assert design.bridges == ()
    assert [step.accent for step in design.steps] == [False, True]
    assert largest_step(design.steps) == pytest.approx(size(yarns[0], yarns[1]))


def test_steps_of_an_accent_are_listed_and_do_not_count():
    """Both steps beside an accent yarn are marked, in every place it has."""
    yarns = drawn(9, 5)
    yarns[4] = replace(yarns[4], role="accent")
    for laying in EVERY_LAYOUT:
        choices = chosen(laying=laying, bridging=Bridging(bridges=0))
        design = design_colours(yarns, [], choices)
        for k, (one, two) in enumerate(pairwise(design.laid.yarns)):
            step = design.steps[k]
            beside = yarns[4] in (one, two)
            assert step.accent == (beside and not step.join)
            assert step.counts == (not beside and not step.join)
        counted = [step.size for step in design.steps if step.counts]
        assert largest_step(design.steps) == max(counted)
        assert median_step(design.steps) == pytest.approx(sorted_median(counted))


def sorted_median(sizes) -> float:
    ordered, n = sorted(sizes), len(sizes)
    return (ordered[(n - 1) // 2] + ordered[n // 2]) / 2


@pytest.mark.parametrize("pair", [("a", "c"), ("c", "a")])
def test_single_steps_are_kept(pair):
    """A step named in `accents` is marked either way round, and not bridged."""
    yarns = [yarn("a", 95), yarn("c", 30), yarn("d", 25), yarn("x", 60, role="bridge")]
    judging = Judging(accents=(pair,))
    for laying in (Laying(), Laying("dark-to-light"), Laying("mirrored")):
        design = design_colours(yarns, [], chosen(judging=judging, laying=laying))
        assert design.bridges == ()
        marked = [
            {one.name, two.name} == {"a", "c"}
            for one, two in pairwise(design.laid.yarns)
        ]
        assert [step.accent for step in design.steps] == marked
        assert any(marked)
        assert jumps(design.steps) == []


def test_joins_are_marked_and_do_not_count():
    """The step from one time through to the next is a join."""
    yarns = [yarn("a", 90), yarn("b", 80), yarn("c", 70)]
    laying = Laying(times_through=3)
    design = design_colours(yarns, [], chosen(laying=laying))
    assert names(design.laid.yarns) == list("abcabcabc")
    assert [k for k, step in enumerate(design.steps) if step.join] == [2, 5]
    assert largest_step(design.steps) == pytest.approx(
        max(size(yarns[0], yarns[1]), size(yarns[1], yarns[2]))
    )


# --- from where bridges come ----------------------------------------------------------


@pytest.mark.parametrize(
    ("bridges_from", "used"), [("stash", []), ("stash and shop", ["skein"])]
)
def test_shop_is_only_suggested_unless_asked(bridges_from, used):
    """Skeins of the shop list are put in where that is asked for, else suggested."""
    yarns, skein = [yarn("a", 95), yarn("b", 20)], yarn("skein", 58)
    choices = chosen(bridging=Bridging(bridges_from=bridges_from))
    design = design_colours(yarns, [skein], choices)
    assert [bridge.yarn.name for bridge in design.bridges] == used
    if not used:
        (one,) = design.suggestions
        assert [(s.name, source) for s, source, _ in one.candidates] == [
            ("skein", "shop")
        ]
        assert one.ideal is not None  # nothing owned helps


def test_kept_bridge_may_come_from_anywhere():
    """By hand any yarn of the stash or the shop may be put in."""
    yarns, skein = [yarn("a", 95), yarn("b", 20)], yarn("skein", 58)
    yarns.append(yarn("spare", 70, role="leave out"))
    for name in ("skein", "spare"):
        kept = Bridging(bridges_kept=(Kept(name, "a", "b"),))
        design = design_colours(yarns, [skein], chosen(bridging=kept))
        assert names(design.laid.yarns) == ["a", name, "b"]


def test_a_bridge_needs_four_rows_of_yarn():
    """A ball that does not last for four rows and its tails is neither put in nor
    suggested; one of unknown length is; without a gauge it is 15 m."""
    gauge = Gauge(stitches_per_10cm=20, rows_per_10cm=28)
    making = Making(gauge=gauge, size=Size(width_cm=100, length_cm=None))
    # By Munden's relation a row takes 4.2 times its width: 4 rows of 1 m are 16.8 m.
    assert least_bridge_m(making) == pytest.approx(16.8 + 0.3)
    assert least_bridge_m(Making()) == 15
    yarns = [yarn("a", 95), yarn("b", 20)]
    for grams, makings, fits in (
        (4.3, making, True),  # 400 m per 100 g: 17.2 m
        (4.2, making, False),
        (None, making, True),
        (3.8, Making(), True),
        (3.7, Making(), False),
        (0.0, Making(), False),
    ):
        short = yarn("short", 55, grams=grams, role="bridge")
        design = design_colours([*yarns, short], [], chosen(making=makings))
        assert bool(design.bridges) == fits
        bare = chosen(making=makings, bridging=Bridging(bridges=0))
        (one,) = design_colours([*yarns, short], [], bare).suggestions
        assert bool(one.candidates) == fits


# --- value order ----------------------------------------------------------------------


def test_out_of_value_order_is_named():
    """Smoothest and by hand name yarns out of order with their L*; families do not."""
    yarns = [yarn("a", 90), yarn("b", 70), yarn("c", 76), yarn("d", 50)]
    by_hand = Arranging(order=("a", "b", "c", "d"))
    design = design_colours(yarns, [], chosen(arranging=by_hand))
    assert design.out_of_value_order == (("c", pytest.approx(6)),)
    smooth = Arranging(by="smoothest", value_slack=20)
    for seed in range(5):
        design = design_colours(drawn(12, seed), [], chosen(arranging=smooth))
        values = [value_of(one) for one in design.arrangement.yarns]
        assert bool(design.out_of_value_order) == (
            values != sorted(values, reverse=True)
        )
        assert all(0 < amount <= 20 + 1e-9 for _, amount in design.out_of_value_order)
    assert design_colours(drawn(12, 1), [], chosen()).out_of_value_order == ()


@pytest.mark.parametrize("laying", EVERY_LAYOUT)
def test_one_yarn(laying):
    """One yarn is a blanket without steps."""
    design = design_colours([yarn("a", 50)], [yarn("s", 60)], chosen(laying=laying))
    assert names(design.laid.yarns) == ["a"]
    assert (design.steps, design.suggestions, design.bridges) == ((), (), ())


def test_what_is_said_is_passed_on():
    """What arranging, laying out and bridging say all reaches the design."""
    yarns = [yarn("a", 90), yarn("b", 70, grams=5), yarn("c", 50)]
    choices = chosen(
        arranging=Arranging(order=("a", "b")),
        laying=Laying("mirrored"),
        bridging=Bridging(bridges_kept=(Kept("s", "a", "zz"),)),
    )
    design = design_colours(yarns, [yarn("s", 60)], choices)
    assert design.sentences == (
        'Not in the order made by hand, so put at its end: "c".',
        'The bridge "s" is not used: "a" and "zz" are not neighbours in this '
        "arrangement.",
        "Under 15 g, so not shared: stands once next to the turn: b.",
    )

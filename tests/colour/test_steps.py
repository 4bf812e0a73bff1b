"""Steps along a run: their size, which ones break the flow, and the words for why."""

from itertools import combinations, pairwise
from math import cos, radians, sin
from statistics import median

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.colour.spaces import Mix, hex_to_lab, read_mix, solid
from kit.colour.steps import (
    HUES,
    Step,
    hue_turns,
    largest_step,
    median_step,
    out_of_order,
    steps_along,
    why,
)
from tests.helpers.runs import greys, run_of_sizes
from tests.helpers.strategies import mixes, random_mixes

ROUNDING = 1e-9


def lch(L, chroma, hue):
    """A solid of this lightness, chroma and hue angle in degrees."""
    return solid((L, chroma * cos(radians(hue)), chroma * sin(radians(hue))))


def words(one, two):
    (cause,) = why([one], [two])
    return cause


# --- sizes ----------------------------------------------------------------------------


@pytest.mark.parametrize("view", [0, 0.25, 1])
def test_solids_have_plain_ciede2000(view):
    """Between solids the step is CIEDE2000 from wherever one looks."""
    labs = [hex_to_lab(h) for h in ("#c8cdd0", "#8fa3ad", "#5c3458", "#b05a37")]
    steps = steps_along([solid(lab) for lab in labs], view=view, limit=25)
    for step, (one, two) in zip(steps, pairwise(labs), strict=True):
        plain = colour.delta_E(one, two, method="CIE 2000")
        assert step.size == pytest.approx(plain, abs=ROUNDING)
        assert step.near == pytest.approx(step.far, abs=ROUNDING)


@given(st.lists(mixes(most=3), min_size=2, max_size=4), st.floats(0, 1))
@settings(max_examples=50)
def test_step_lies_between_near_and_far(run, view):
    """One step fewer than mixes, each between its near and its far."""
    steps = steps_along(run, view=view, limit=25)
    assert len(steps) == len(run) - 1
    for step in steps:
        low, high = sorted((step.near, step.far))
        assert low - ROUNDING <= step.size <= high + ROUNDING
        blend = (1 - view) * step.near + view * step.far
        assert step.size == pytest.approx(blend, abs=ROUNDING)


def test_view_moves_the_step():
    """A mix beside its own mean: a step in the hand, none across the room."""
    mix, _ = read_mix("#5c3458 50%, #b05a37 50%")
    grey, _ = read_mix("#bcbcbc")
    black_and_white, _ = read_mix("#000, #fff")
    near, half, far = (
        steps_along([black_and_white, grey], view=view, limit=25)[0].size
        for view in (0, 0.5, 1)
    )
    assert far < 0.5 < 20 < half < near
    assert half == pytest.approx((near + far) / 2, abs=ROUNDING)
    (same,) = steps_along([mix, mix], view=0.5, limit=25)
    assert same.size == pytest.approx(0, abs=ROUNDING)


@pytest.mark.parametrize("run", [[], greys(50)])
def test_too_short_for_a_step(run):
    """Nothing and one mix have no steps, and no largest or median one."""
    steps = steps_along(run, view=0.5, limit=25)
    assert steps == ()
    assert largest_step(steps) == median_step(steps) == 0


# --- jumps ----------------------------------------------------------------------------


def reasons(*sizes, limit=25.0, accents=(), joins=()):
    run = run_of_sizes(*sizes)
    steps = steps_along(run, view=0, limit=limit, accents=accents, joins=joins)
    assert [step.size for step in steps] == pytest.approx(sizes, abs=1e-6)
    return [step.reasons for step in steps]


def test_large_is_over_the_limit():
    """A step over the limit is large; one just under it is none."""
    assert reasons(10.1, 9.9, 10.1, limit=10) == [("large",), (), ("large",)]


def test_standing_out():
    """Over twice the median of the others and over 10 stands out; both are needed."""
    assert reasons(5, 5, 10.2, 5) == [(), (), ("stands out",), ()]
    assert reasons(4, 4, 9.8, 4) == [(), (), (), ()]
    assert reasons(5.2, 5.2, 10.2, 5.2) == [(), (), (), ()]
    assert reasons(4, 4, 12, 4, limit=11) == [(), (), ("large", "stands out"), ()]


def test_a_lone_step_does_not_stand_out():
    """With nothing beside it a step can only be large."""
    assert reasons(24) == [()]
    assert reasons(26) == [("large",)]


def test_accents_and_joins_are_not_counted():
    """A step kept on purpose or where the run starts anew makes nothing larger."""
    run = run_of_sizes(4, 16, 5, 14)
    steps = steps_along(run, view=0.5, limit=15, accents={1}, joins=[3])
    assert [step.accent for step in steps] == [False, True, False, False]
    assert [step.join for step in steps] == [False, False, False, True]
    assert [step.counts for step in steps] == [True, False, True, False]
    assert largest_step(steps) == pytest.approx(5, abs=1e-6)
    assert median_step(steps) == pytest.approx(4.5, abs=1e-6)
    assert steps[1].jump
    assert not steps[0].jump


def test_accents_do_not_hide_a_jump():
    """The median that a step is held against leaves accents and joins out."""
    assert reasons(5, 11, 22, 22)[1] == ()
    assert reasons(5, 11, 22, 22, accents=[2], joins=[3])[1] == ("stands out",)


def test_nothing_counts():
    """A run of accents alone has no largest step."""
    steps = steps_along(greys(90, 10), view=0.5, limit=25, accents=[0])
    assert largest_step(steps) == median_step(steps) == 0


def test_largest_and_median(rng):
    """Largest and median are those of the steps that count."""
    steps = steps_along(random_mixes(12, rng), view=0.5, limit=25, joins=[4, 7])
    sizes = [step.size for i, step in enumerate(steps) if i not in (4, 7)]
    assert largest_step(steps) == max(sizes)
    assert median_step(steps) == median(sizes)


def test_steps_are_values():
    """Equal runs give equal steps."""
    run = greys(80, 60, 30)
    again = steps_along(tuple(run), view=0.5, limit=25, joins=(1,))
    assert steps_along(run, view=0.5, limit=25, joins={1}) == again
    assert Step(1.0, 1.0, 1.0, (), "") == Step(1.0, 1.0, 1.0, (), "")


# --- why ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "two", "said"),
    [
        (lch(80, 0, 0), lch(50, 0, 0), "darker by 30 L*"),
        (lch(50, 10, 40), lch(80, 10, 40), "lighter by 30 L*"),
        (lch(50, 60, 30), lch(50, 10, 30), "greyer"),
        (lch(50, 10, 30), lch(50, 60, 30), "more vivid"),
        (lch(60, 0, 0), lch(60, 40, 200), "more vivid"),
        (lch(60, 40, 200), lch(60, 0, 0), "greyer"),
        (lch(60, 40, 60), lch(60, 40, 90), "hue turns towards yellow"),
        (lch(60, 40, 10), lch(60, 40, 60), "hue turns towards orange"),
        (lch(60, 40, 350), lch(60, 40, 320), "hue turns towards purple"),
        (lch(60, 40, 350), lch(60, 40, 25), "hue turns towards red"),
        (lch(60, 40, 300), lch(60, 40, 270), "hue turns towards blue"),
        # Still a green afterwards, but on its way to yellow, not to green.
        (lch(60, 40, 150), lch(60, 40, 130), "hue turns towards yellow"),
        (lch(60, 40, 130), lch(60, 40, 155), "hue turns towards green"),
        # Two greys with a cast.
        (lch(60, 3, 20), lch(60, 3, 200), "hue turns towards teal"),
        (
            lch(70, 40, 60),
            lch(50, 40, 110),
            "hue turns towards yellow, darker by 20 L*",
        ),
        (lch(50, 20, 60), lch(50, 20, 60), "hardly any change"),
        (lch(50, 0, 0), lch(50.3, 0, 0), "hardly any change"),
        (lch(50, 0, 0), lch(50.7, 0, 0), "lighter by 1 L*"),
        # Too little for a number.
        (solid((50, 0.5, 0)), solid((50.4, 0.9, 0)), "more vivid, lighter"),
    ],
)
def test_cause(one, two, said):
    """The largest terms of CIEDE2000 are named, in words that are true of the pair."""
    assert words(one, two) == said


def test_busier_and_calmer():
    """A mix beside a solid of its own mean is busier, and no other word is needed."""
    black_and_white, _ = read_mix("#000, #fff")
    grey, _ = read_mix("#bcbcbc")
    assert words(grey, black_and_white) == "busier"
    assert words(black_and_white, grey) == "calmer"
    dark, _ = read_mix("#333333")
    assert words(dark, black_and_white) == "lighter by 55 L*, busier"


def test_hardly_busier():
    """A tonal mix is not called busy beside its solid."""
    tonal, _ = read_mix("#8fa3ad, #97abb5")
    assert words(solid(tonal.labs[0]), tonal) == "lighter by 2 L*"


@given(mixes(most=2), mixes(most=2))
@settings(max_examples=60)
def test_causes_are_true(one, two):
    """Every word said of a pair holds for the means that colour-science works out."""

    def polar(mix):
        xyz = np.array(mix.shares) @ colour.Lab_to_XYZ(np.array(mix.labs))
        return colour.models.Lab_to_LCHab(colour.XYZ_to_Lab(xyz))

    (L_1, C_1, h_1), (L_2, C_2, h_2) = polar(one), polar(two)
    for said in words(one, two).split(", "):
        if said.startswith(("darker", "lighter")):
            assert (L_2 < L_1) == said.startswith("darker")
            if " by " in said:
                assert float(said.split()[2]) == pytest.approx(
                    abs(L_2 - L_1), abs=0.5 + ROUNDING
                )
        elif said.startswith("hue turns towards "):
            there = HUES[said.removeprefix("hue turns towards ")]
            before, after = (abs((h - there + 180) % 360 - 180) for h in (h_1, h_2))
            assert after < before
        elif said in ("more vivid", "greyer"):
            # CIEDE2000 stretches a*, so two nearly equal chromas may change places.
            assert (C_2 > C_1) == (said == "more vivid") or abs(C_2 - C_1) < 0.5 * C_1
        else:
            assert said in ("busier", "calmer", "hardly any change")


def test_back_again():
    """On the way back darker becomes lighter and greyer becomes more vivid."""
    light, dark = lch(80, 10, 60), lch(40, 60, 60)
    assert words(light, dark) == "darker by 40 L*, more vivid"
    assert words(dark, light) == "lighter by 40 L*, greyer"


def test_no_neighbours_no_words():
    """Nothing is said of nothing."""
    assert why([], []) == []


# --- along the run --------------------------------------------------------------------


def test_hue_turns():
    """Turns over 60 degrees are counted, the short way round, greys left out."""
    run = [lch(50, 30, hue) for hue in (0, 59, 120, 355, 40, 101, 220)]
    # 59, 61, 125 (355 to 120 the short way), 45, 61, 119
    assert hue_turns(run) == 4
    assert hue_turns([lch(50, 30, 0), lch(50, 7.9, 180), lch(50, 30, 90)]) == 0
    assert hue_turns([lch(50, 30, 0), lch(50, 8.1, 180)]) == 1
    assert hue_turns([]) == hue_turns([lch(50, 30, 0)]) == 0


def test_hue_turns_of_mixes():
    """A mix turns by the hue of its mean."""
    half = Mix((hex_to_lab("#ff0000"), hex_to_lab("#0000ff")), (1, 1))
    assert hue_turns([half, solid(hex_to_lab("#bc00bc"))]) == 0


@pytest.mark.parametrize(
    ("values", "late"),
    [
        ([], {}),
        ([50], {}),
        ([90, 80, 80, 70], {}),
        ([90, 80, 86, 70], {2: 6}),
        ([90, 60, 80, 70], {1: 20}),
        ([20, 90, 80, 70], {0: 70}),
        ([90, 80, 70, 95], {3: 25}),
    ],
)
def test_out_of_order(values, late):
    """The yarns that break a light-to-dark run, and by how many L*."""
    assert out_of_order(values) == late


@given(st.lists(st.integers(0, 12).map(float), max_size=8))
def test_out_of_order_moves_as_few_as_can_be(values):
    """What is left is a longest falling run, and the changes told mend each place."""
    late = out_of_order(values)
    kept = [value for i, value in enumerate(values) if i not in late]
    assert all(one >= two for one, two in pairwise(kept))
    for longer in combinations(values, len(kept) + 1):
        assert any(one < two for one, two in pairwise(longer))
    for i, change in late.items():
        assert change > 0
        above = [v for k, v in enumerate(values) if k < i and k not in late]
        below = [v for k, v in enumerate(values) if k > i and k not in late]
        mended = (values[i] - change, values[i] + change)
        fits = [
            all(a >= value for a in above) and all(b <= value for b in below)
            for value in mended
        ]
        assert any(fits)

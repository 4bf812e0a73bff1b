"""Steps along a run: their size, which ones break the flow, in words."""

from itertools import combinations, pairwise
from statistics import median

import colour
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.colour.causes import term_words
from kit.colour.mixes import Mix, read_mix, solid
from kit.colour.spaces import hex_to_lab
from kit.colour.steps import (
    Step,
    hue_turns,
    largest_step,
    median_step,
    out_of_order,
    step_words,
    steps_along,
)
from tests.helpers.runs import greys, lch, run_of_sizes
from tests.helpers.strategies import mixes, random_mixes

ROUNDING = 1e-9


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


# --- in words -------------------------------------------------------------------------


@given(mixes(), mixes())
def test_a_step_tells_what_it_is(one, two):
    """Size always; near and far where they differ; a jump with its reasons."""
    (step,) = steps_along((one, two), view=0.5, limit=20)
    said = step_words(step, one, two)
    assert said.startswith(f"step {step.size:.1f}")
    assert ("in the hand" in said) == (abs(step.near - step.far) >= 0.05)
    assert ("a jump: " in said) == step.jump
    assert term_words(one, two) in said


def test_accents_and_joins_are_named():
    """Neither counts, and both are said to be what they are."""
    mix = solid((50, 0, 0))
    plain = Step(1.0, 1.0, 1.0, (), "")
    assert step_words(plain, mix, mix).startswith("step 1.0; lightness")
    accent = Step(1.0, 1.0, 1.0, ("large",), "", accent=True)
    assert "step 1.0, an accent, not counted;" in step_words(accent, mix, mix)
    join = Step(1.0, 1.0, 1.0, (), "", join=True)
    assert "step 1.0, where the run starts anew;" in step_words(join, mix, mix)


def test_a_busier_yarn_is_told():
    """By the mixes themselves, whatever else the step is."""
    black_and_white, grey = read_mix("#000, #fff")[0], read_mix("#bcbcbc")[0]
    plain = Step(1.0, 1.0, 1.0, (), "")
    assert step_words(plain, grey, black_and_white).endswith("; busier")
    assert step_words(plain, black_and_white, grey).endswith("; calmer")
    assert step_words(plain, grey, grey).endswith("hue: nearly the same")


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

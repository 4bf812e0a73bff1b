"""The steps in CAM16-UCS, against published values and colour-science."""

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import spearmanr

from kit.arrangement.design import design_colours
from kit.arrangement.second_opinion import (
    ADAPTING_CD_M2,
    Opinion,
    agreement,
    cam16_ucs,
    opinion_lines,
    second_opinion,
    steps_by_cam16,
)
from kit.blanket import Choices
from kit.blanket.choices import Arranging, Bridging, Judging
from kit.colour import Mix, mean_lab
from kit.colour.mixes import solid
from kit.colour.spaces import WHITE_D65, lab_to_xyz
from tests.helpers.strategies import random_mixes, shown_colours
from tests.helpers.yarns import drawn, yarn


def judged(labs):
    """J', a', b' by colour-science's own conversion, in its way of calling."""
    surround = colour.VIEWING_CONDITIONS_CAM16["Average"]
    seen = colour.XYZ_to_CAM16(
        lab_to_xyz(np.array(labs)) * 100, WHITE_D65 * 100, ADAPTING_CD_M2, 20, surround
    )
    jmh = np.stack([seen.J, seen.M, seen.h], axis=-1)
    return colour.JMh_CAM16_to_CAM16UCS(jmh)


def test_white_and_grey():
    """White is J' 100 without a tint; a grey has next to none."""
    white, grey = cam16_ucs(np.array([(100.0, 0, 0), (50.0, 0, 0)]))
    assert white[0] == pytest.approx(100, abs=1e-6)
    # Adaptation is not complete at this level, so white keeps a trace of its tint.
    assert abs(white[1:]).max() < 3 and abs(grey[1:]).max() < 3


@given(shown_colours, shown_colours)
@settings(max_examples=30)
def test_steps_of_solids_are_straight_distances(one, two):
    """Between solids near, far and the step are one Euclidean distance."""
    a, b = judged([one, two])
    expected = float(np.linalg.norm(a - b))
    for view in (0.0, 0.5, 1.0):
        found = steps_by_cam16([solid(one)], [solid(two)], view=view)
        assert found[0] == pytest.approx(expected, abs=1e-9)


def test_steps_of_mixes():
    """Far is between averages; near is what moving the colours costs at least."""
    rng = np.random.default_rng(5)
    ones, twos = random_mixes(12, rng, most=3), random_mixes(12, rng, most=3)
    far = steps_by_cam16(ones, twos, view=1.0)
    near = steps_by_cam16(ones, twos, view=0.0)
    half = steps_by_cam16(ones, twos, view=0.5)
    for k, (one, two) in enumerate(zip(ones, twos, strict=True)):
        a, b = judged([mean_lab(one), mean_lab(two)])
        assert far[k] == pytest.approx(np.linalg.norm(a - b), abs=1e-9)
        cost = np.linalg.norm(
            judged(one.labs)[:, None] - judged(two.labs)[None], axis=-1
        )
        assert near[k] <= np.array(one.shares) @ cost @ np.array(two.shares) + 1e-9
        assert near[k] >= cost.min() - 1e-9
        assert half[k] == pytest.approx((near[k] + far[k]) / 2)
    mix = Mix(((50, 1, 1), (70, 9, 9)), (1, 2))
    assert steps_by_cam16([mix], [mix], view=0.5)[0] == pytest.approx(0, abs=1e-9)
    assert steps_by_cam16([], [], view=0.5).shape == (0,)


def opinion_of(yarns):
    choices = Choices(
        "x", arranging=Arranging(by="value"), bridging=Bridging(bridges=0)
    )
    return second_opinion(design_colours(yarns, [], choices), Judging())


def test_each_pair_once_and_only_what_counts():
    """Steps beside an accent are left out; sizes are the plan's own."""
    yarns = [yarn("a", 90), yarn("loud", (70, 60, 50), role="accent"), yarn("b", 40)]
    assert opinion_of(yarns) == Opinion((), (), (), None)
    assert opinion_lines(opinion_of(yarns)) == [
        "No step counts, so there is nothing to measure a second time."
    ]
    two = opinion_of([yarn("a", 90), yarn("b", 40)])
    assert len(two.pairs) == 1 and two.agreement is None


def test_words_tell_where_they_differ():
    """Each step among the worst six of one way only is named with both places."""
    opinion = opinion_of(drawn(25, 3))
    ours = sorted(range(24), key=lambda k: -opinion.sizes[k])
    theirs = sorted(range(24), key=lambda k: -opinion.others[k])
    lines = opinion_lines(opinion)
    for k in range(24):
        one, two = opinion.pairs[k]
        named = [line for line in lines[2:] if f'"{one.name}" → "{two.name}"' in line]
        differ = (k in ours[:6]) != (k in theirs[:6])
        assert bool(named) == differ
        if differ:
            assert f"number {ours.index(k) + 1} by ΔE00" in named[0]
            assert f"{theirs.index(k) + 1} by CAM16-UCS" in named[0]
    rank = spearmanr(opinion.sizes, opinion.others).statistic  # SciPy, as the judge
    assert opinion.agreement == pytest.approx(rank, abs=1e-12)
    assert 0.5 < opinion.agreement <= 1
    assert f"{opinion.agreement:.2f}" in lines[-1]


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3))
def test_agreement_is_spearmans(pairs):
    """As SciPy has it, ties and all; none where one of the two is all alike."""
    one, two = zip(*pairs, strict=True)
    found = agreement(one, two)
    if len(set(one)) == 1 or len(set(two)) == 1:
        assert found is None
    else:
        assert found == pytest.approx(spearmanr(one, two).statistic, abs=1e-12)


def test_words_where_both_agree():
    """Of three greys both ways name the same worst step."""
    opinion = opinion_of([yarn("a", 90), yarn("b", 80), yarn("c", 30)])
    first = opinion_lines(opinion)[0]
    assert first.startswith('Both ways "b" → "c" is the worst step')

"""Differences of mixes against colour-science and linprog."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.colour.difference import far_steps, mcdm, near_steps, pair_steps, step_table
from kit.colour.mixes import Mix, mean_lab, read_mix, solid
from tests.helpers.gold import half_digit
from tests.helpers.judges import judged, least_cost
from tests.helpers.strategies import mixes, random_labs, random_mixes

ROUNDING = 1e-9


def judged_near(one, two):
    """The earth-mover's distance of two mixes by colour-science and linprog."""
    labs_1, labs_2 = np.array(one.labs)[:, None], np.array(two.labs)[None]
    return least_cost(judged(labs_1, labs_2), one.shares, two.shares)


def test_near_step_against_linear_programming(rng):
    """Mixes of one to five colours are as far apart as linprog says."""
    ones, twos = random_mixes(60, rng), random_mixes(60, rng)
    theirs = [judged_near(one, two) for one, two in zip(ones, twos, strict=True)]
    np.testing.assert_allclose(near_steps(ones, twos), theirs, atol=1e-5)


def test_near_step_of_a_pair_that_once_went_in_circles():
    """Two of the demo's mixes, whose cheapest paths tie, come to an end and agree."""
    blues, _ = read_mix("#96b8d0 60%, #7fa5c2 40%")
    cream, _ = read_mix("#eae4dc 88%, #9c735a 7%, #d9b77d 5%")
    theirs = judged_near(blues, cream)
    # colour-science 0.4.7 and scipy 1.17.1's linprog.
    assert theirs == pytest.approx(24.1341, abs=half_digit("24.1341"))
    assert near_steps([blues], [cream])[0] == pytest.approx(theirs, abs=ROUNDING)
    assert near_steps([cream], [blues])[0] == pytest.approx(theirs, abs=ROUNDING)


def test_near_step_to_a_solid(rng):
    """To a solid there is nothing to choose: the mean of the differences by share."""
    for mix in random_mixes(40, rng):
        (grey,) = random_labs(1, rng)
        plain = np.dot(judged(np.array(mix.labs), grey), mix.shares)
        assert near_steps([mix], [solid(grey)])[0] == pytest.approx(plain, abs=ROUNDING)


def test_mixes_that_share_colours():
    """What both mixes hold stays where it is: only the changed share moves."""
    one, _ = read_mix("#eae4dc 70%, #5c3458 30%")
    two, _ = read_mix("#eae4dc 50%, #5c3458 50%")
    apart = float(judged(one.labs[0], one.labs[1]))
    assert near_steps([one], [two])[0] == pytest.approx(0.2 * apart, abs=ROUNDING)


def test_order_and_repeats_in_a_mix_do_not_matter():
    """Colours turned round, or one colour named twice, leave a mix as it looks."""
    one, _ = read_mix("#eae4dc 60%, #5c3458 30%, #9c735a 10%")
    two, _ = read_mix("#9c735a 10%, #5c3458 30%, #eae4dc 20%, #eae4dc 40%")
    assert near_steps([one], [two])[0] == pytest.approx(0, abs=ROUNDING)
    assert far_steps([one], [two])[0] == pytest.approx(0, abs=1e-6)


def test_far_step_is_between_the_means(rng):
    """Across the room it is CIEDE2000 between the two averages."""
    ones, twos = random_mixes(40, rng), random_mixes(40, rng)
    theirs = judged([mean_lab(mix) for mix in ones], [mean_lab(mix) for mix in twos])
    np.testing.assert_allclose(far_steps(ones, twos), theirs, atol=ROUNDING)


@given(mixes(), mixes())
def test_near_step_is_symmetric(one, two):
    """In the hand it is the same either way round, and nothing from a mix to itself."""
    there, back = near_steps([one, two, one], [two, one, one])[:2]
    assert there == pytest.approx(back, abs=ROUNDING)
    assert near_steps([one], [one])[0] == pytest.approx(0, abs=ROUNDING)
    ground = judged(np.array(one.labs)[:, None], np.array(two.labs)[None])
    assert ground.min() - ROUNDING <= there <= ground.max() + ROUNDING


@given(mixes(), mixes(), st.floats(0, 1))
def test_step_lies_between_near_and_far(one, two, view):
    """Wherever one looks from, the step lies between near and far."""
    near, far = near_steps([one], [two])[0], far_steps([one], [two])[0]
    step = step_table([one], [two], view=view)[0, 0]
    assert min(near, far) - ROUNDING <= step <= max(near, far) + ROUNDING
    assert step == pytest.approx(pair_steps([one], [two], view=view)[0], abs=ROUNDING)
    if len(one.labs) == len(two.labs) == 1:
        plain = float(judged(one.labs[0], two.labs[0]))
        assert step == pytest.approx(plain, abs=ROUNDING)


@pytest.mark.parametrize("view", [0, 0.3, 1])
def test_step_table(view, rng):
    """A table of mixes holds what pair by pair gives, in both of its ways."""
    ones, twos = random_mixes(9, rng, most=3), random_mixes(7, rng, most=3)
    for rows, columns in ((ones, twos), (ones, ones), (ones, ones[::-1]), ([], twos)):
        table = step_table(rows, columns, view=view)
        assert table.shape == (len(rows), len(columns))
        for i, one in enumerate(rows):
            for j, two in enumerate(columns):
                near, far = near_steps([one], [two])[0], far_steps([one], [two])[0]
                plain = (1 - view) * near + view * far
                assert table[i, j] == pytest.approx(plain, abs=ROUNDING)


def test_step_table_of_one_run(rng):
    """Of a run with itself the table is symmetric to the last bit, its diagonal 0."""
    run = random_mixes(8, rng, most=4)
    run.append(run[0])
    table = step_table(run, run, view=0.5)
    assert (table == table.T).all()
    assert (np.diag(table) == 0).all()
    table[0, 1] = -1  # what was remembered is not what was handed out
    assert step_table(run, run, view=0.5)[0, 1] >= 0


def test_no_mixes():
    """No neighbours, no steps."""
    assert near_steps([], []).shape == far_steps([], []).shape == (0,)
    assert step_table([], [], view=0.5).shape == (0, 0)


def test_mcdm(rng):
    """A solid is not busy; a mix is so by its mean difference from its average."""
    assert mcdm(solid((50, 20, 20))) == 0
    for mix in random_mixes(20, rng):
        apart = judged(np.array(mix.labs), np.array(mean_lab(mix)))
        assert mcdm(mix) == pytest.approx(np.dot(apart, mix.shares), abs=ROUNDING)


def test_cream_and_plum():
    """Half cream, half plum: half-way in the hand, lighter than half-way far off.

    A mix averages in light, so its mean lies nearer to the light half.
    """
    cream, plum = (90.0, 0.0, 8.0), (25.0, 22.0, -12.0)
    half = Mix((cream, plum), (1, 1))
    near = near_steps([solid(cream), half], [half, solid(plum)])
    far = far_steps([solid(cream), half], [half, solid(plum)])
    assert near[0] == pytest.approx(near[1], abs=ROUNDING)
    assert far[0] < near[0] < far[1]


@pytest.mark.parametrize("view", [-0.1, 1.01, np.nan])
def test_view_runs_from_0_to_1(view):
    """A view that is neither in the hand nor across the room is refused."""
    mixes = [solid((50, 0, 0)), solid((60, 0, 0))]
    with pytest.raises(ValueError, match=f"view is {view:g}; it runs from 0 to 1"):
        step_table(mixes, mixes, view=view)

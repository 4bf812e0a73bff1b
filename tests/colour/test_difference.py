"""Colour differences against the published table, colour-science and linprog."""

import csv
import warnings
from itertools import pairwise
from pathlib import Path

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from kit.colour.difference import (
    BLOCK,
    ciede2000,
    ciede2000_table,
    ciede2000_terms,
    far_steps,
    near_steps,
    pair_steps,
    spread,
    step_table,
    transport,
)
from kit.colour.spaces import Mix, mean_lab, read_mix, solid
from tests.helpers.strategies import colours, mixes, random_labs, random_mixes

GOLD = Path(__file__).parents[1] / "gold"
ROUNDING = 1e-9


def gold(name):
    """Rows of a gold file as dictionaries, its `#` header left out."""
    lines = (GOLD / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("# ")))


def half_digit(printed):
    """Half of the last printed digit, and a hair for binary fractions on the edge."""
    return 0.5 * 10 ** -len(printed.partition(".")[2]) * (1 + 1e-6)


def judged(lab_1, lab_2):
    """CIEDE2000 by colour-science."""
    return colour.delta_E(lab_1, lab_2, method="CIE 2000")


def least_cost(cost, supply, demand):
    """What moving supply onto demand costs at least, by linear programming."""
    m, n = cost.shape
    leaving = np.kron(np.eye(m), np.ones(n))
    arriving = np.kron(np.ones(m), np.eye(n))
    # One row follows from the others; two sums to 1 differ in their last bit.
    rows, sums = np.vstack([leaving, arriving])[:-1], np.r_[supply, demand][:-1]
    found = linprog(cost.ravel(), A_eq=rows, b_eq=sums, method="highs")
    assert found.status == 0
    return found.fun


def judged_near(one, two):
    """The earth-mover's distance of two mixes by colour-science and linprog."""
    labs_1, labs_2 = np.array(one.labs)[:, None], np.array(two.labs)[None]
    return least_cost(judged(labs_1, labs_2), one.shares, two.shares)


# --- CIEDE2000 ------------------------------------------------------------------------


@pytest.mark.parametrize("row", gold("ciede2000_sharma.csv"), ids=lambda r: r["pair"])
def test_published_pairs(row):
    """All 34 pairs of Sharma, Wu & Dalal 2005, Table 1, either way round."""
    one = [float(row[name]) for name in ("L1", "a1", "b1")]
    two = [float(row[name]) for name in ("L2", "a2", "b2")]
    published, tolerance = float(row["dE00"]), half_digit(row["dE00"])
    assert ciede2000(one, two) == pytest.approx(published, abs=tolerance)
    assert ciede2000(two, one) == pytest.approx(published, abs=tolerance)


def test_random_pairs(rng):
    """Anywhere in CIELAB, and close together, the difference is colour-science's."""
    far_1, far_2 = random_labs(5000, rng), random_labs(5000, rng)
    close = far_1 + rng.normal(0, 2, far_1.shape)
    for other in (far_2, close):
        theirs = judged(far_1, other)
        np.testing.assert_allclose(ciede2000(far_1, other), theirs, atol=ROUNDING)


@pytest.mark.parametrize(
    ("off", "tolerance"), [(0.5, 1e-9), (1e-3, 1e-9), (1e-5, 1e-8)]
)
def test_nearly_opposite_hues(off, tolerance, rng):
    """Hues 180 degrees apart but for `off` degrees take the right side of the jump.

    Arithmetic on angles loses digits there: the last tolerance is colour-science's own
    scatter between a pair and the same pair turned round.
    """
    angle, side = rng.uniform(0, 360, 2000), rng.choice([-1, 1], 2000)
    lightness, chroma = rng.uniform(0, 100, (2, 2000)), rng.uniform(1, 120, (2, 2000))
    turned = np.radians([angle, angle + 180 + side * off])
    labs = np.stack([lightness, chroma * np.cos(turned), chroma * np.sin(turned)], -1)
    theirs = judged(labs[0], labs[1])
    np.testing.assert_allclose(ciede2000(labs[0], labs[1]), theirs, atol=tolerance)


@pytest.mark.parametrize("angle", [0, 10, 90, 100, 170, 175, 179])
def test_exactly_opposite_hues(angle):
    """Exactly opposite hues count as not over 180 degrees apart, either way round.

    Sharma, Wu & Dalal 2005, equations 10 and 14: the mean is half the sum of angles of
    0 to 360 degrees, as it is for hues a hair closer, which colour-science judges.
    """
    chroma, turn = 15.0, np.radians(angle)
    a, b = chroma * np.cos(turn), chroma * np.sin(turn)
    one, two = (50, a, b), (60, -4 * a, -4 * b)  # powers of two: exact in binary
    closer = turn + np.pi - 1e-8
    hair = (60, 4 * chroma * np.cos(closer), 4 * chroma * np.sin(closer))
    assert ciede2000(one, two) == ciede2000(two, one)
    assert ciede2000(one, two) == pytest.approx(judged(one, hair), abs=1e-5)
    assert ciede2000(one, two) == pytest.approx(judged(hair, one), abs=1e-5)


def test_no_chroma(rng):
    """Greys have no hue, against colours and against greys."""
    labs = random_labs(500, rng)
    greys = labs * (1, 0, 0)
    np.testing.assert_allclose(
        ciede2000(greys, labs[::-1]), judged(greys, labs[::-1]), atol=ROUNDING
    )
    np.testing.assert_allclose(
        ciede2000(greys, greys[::-1]), judged(greys, greys[::-1]), atol=ROUNDING
    )


def test_hardly_any_chroma():
    """A chroma of next to nothing raises no warning and makes no jump."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for tiny in (1e-12, 1e-100, 1e-200):
            found = ciede2000([50, tiny, 0], [50, 0, tiny])
            assert found == pytest.approx(0, abs=1e-10)
            beside = ciede2000([50, -tiny, 0], [60, 20, 20])
            # The hue of the pair's mean jumps where the colour turns grey.
            assert beside == pytest.approx(
                judged([50, -tiny, 0], [60, 20, 20]), abs=1e-5
            )


@given(colours, colours)
def test_symmetric_and_zero_on_equal(one, two):
    """The same either way round, never negative, nothing only for equal colours."""
    assert ciede2000(one, two) == ciede2000(two, one)
    assert ciede2000(one, one) == 0
    assert (ciede2000(one, two) > 0) == (one != two)


@given(colours, colours)
def test_terms_make_up_the_difference(one, two):
    """The three terms and the rotation are the square of the whole, and keep signs."""
    lightness, chroma, hue, rotation = ciede2000_terms(one, two)
    square = lightness**2 + chroma**2 + hue**2 + rotation * chroma * hue
    assert ciede2000(one, two) ** 2 == pytest.approx(square, abs=1e-9)
    assert np.sign(lightness) == np.sign(two[0] - one[0])
    back = ciede2000_terms(two, one)
    assert [-float(term) for term in back[:3]] == [lightness, chroma, hue]
    assert back[3] == rotation


# Computed with colour-science 0.4.7; none of it is in the table of 2005.
def test_it_is_not_a_metric():
    """A way round can be shorter than the straight way: nothing may rely on it."""
    one, two = (42.58, -76.64, -33.13), (27.70, 78.97, 27.59)
    between = (35.47, -2.19, -4.08)
    assert ciede2000(one, two) == pytest.approx(115.39, abs=half_digit("115.39"))
    assert ciede2000(one, between) == pytest.approx(28.05, abs=half_digit("28.05"))
    assert ciede2000(between, two) == pytest.approx(34.38, abs=half_digit("34.38"))


@pytest.mark.parametrize(
    ("n_steps", "total"), [(1, "26.14"), (2, "31.66"), (4, "33.14")]
)
def test_small_steps_add_up_to_more(n_steps, total):
    """Grey to red of chroma 60 at once, in two steps and in four."""
    chroma = np.linspace(0, 60, n_steps + 1)
    labs = np.stack([np.full(n_steps + 1, 50), chroma, 0 * chroma], axis=-1)
    found = sum(float(ciede2000(one, two)) for one, two in pairwise(labs))
    assert found == pytest.approx(float(total), abs=half_digit(total))


def test_table_is_every_pair(rng):
    """A table over several blocks holds what pair by pair gives."""
    labs_1, labs_2 = random_labs(BLOCK + 7, rng), random_labs(2 * BLOCK + 1, rng)
    table = ciede2000_table(labs_1, labs_2)
    assert (table == ciede2000(labs_1[:, None], labs_2[None])).all()
    assert ciede2000_table(labs_1[:0], labs_2).shape == (0, 2 * BLOCK + 1)


# --- mixes ----------------------------------------------------------------------------


def test_transport_against_linear_programming(rng):
    """Random problems of up to 6 by 6, several at a time, cost what linprog finds."""
    for m in range(1, 7):
        n = 7 - m if m % 2 else 6
        cost = rng.uniform(0, 60, (5, m, n))
        supply, demand = rng.uniform(0.05, 1, (5, m)), rng.uniform(0.05, 1, (5, n))
        supply /= supply.sum(axis=1, keepdims=True)
        demand /= demand.sum(axis=1, keepdims=True)
        theirs = [least_cost(*one) for one in zip(cost, supply, demand, strict=True)]
        # linprog lets a constraint slip by 1e-7.
        np.testing.assert_allclose(transport(cost, supply, demand), theirs, atol=1e-5)


def test_transport_with_ties(rng):
    """Whole costs and whole shares, where many plans are best, come out exactly."""
    for _ in range(60):
        m, n = rng.integers(2, 6, 2)
        cost = rng.integers(0, 4, (1, m, n)).astype(float)
        supply, demand = rng.integers(1, 5, (1, m)), rng.integers(1, 5, (1, n))
        supply, demand = supply / supply.sum(), demand / demand.sum()
        theirs = least_cost(cost[0], supply[0], demand[0])
        assert transport(cost, supply, demand)[0] == pytest.approx(theirs, abs=1e-9)


def test_transport_leaves_its_arguments_alone(rng):
    """The shares that are moved are copies."""
    cost, shares = rng.uniform(0, 9, (1, 3, 3)), np.array([[0.5, 0.3, 0.2]])
    transport(cost, shares, shares[:, ::-1])
    assert shares.tolist() == [[0.5, 0.3, 0.2]]


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
@settings(max_examples=60)
def test_near_step_is_symmetric(one, two):
    """In the hand it is the same either way round, and nothing from a mix to itself."""
    there, back = near_steps([one, two, one], [two, one, one])[:2]
    assert there == pytest.approx(back, abs=ROUNDING)
    assert near_steps([one], [one])[0] == pytest.approx(0, abs=ROUNDING)
    ground = judged(np.array(one.labs)[:, None], np.array(two.labs)[None])
    assert ground.min() - ROUNDING <= there <= ground.max() + ROUNDING


@given(mixes(), mixes(), st.floats(0, 1))
@settings(max_examples=60)
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


def test_spread(rng):
    """A solid is not busy; a mix is so by its mean difference from its average."""
    assert spread(solid((50, 20, 20))) == 0
    for mix in random_mixes(20, rng):
        apart = judged(np.array(mix.labs), np.array(mean_lab(mix)))
        assert spread(mix) == pytest.approx(np.dot(apart, mix.shares), abs=ROUNDING)


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

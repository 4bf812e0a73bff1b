"""CIEDE2000 against the published table and colour-science."""

import warnings
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given

from kit.colour.delta_e import BLOCK, ciede2000, ciede2000_table, ciede2000_terms
from tests.helpers.gold import gold, half_digit
from tests.helpers.judges import judged
from tests.helpers.strategies import colours, random_labs

ROUNDING = 1e-9


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

"""What to look for: measured, better than plain ways, and said in plain words."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.arrangement.ideal_bridge import MOST_COLOURS, find_ideal, mix_words
from kit.colour import Mix, blend, mean_lab, read_mix, step_table
from kit.colour.mixes import solid
from kit.colour.spaces import lab_to_linear
from kit.colour.words import LIGHTNESS
from tests.helpers.strategies import random_mixes
from tests.helpers.yarns import mixes


def larger(mix, one, two, view=0.5):
    return float(step_table((mix,), (one, two), view=view).max())


@given(mixes(), mixes(), st.sampled_from([0.0, 0.5, 1.0]))
@settings(max_examples=10)
def test_ideal_is_measured(one, two, view):
    """What is found leaves the step that is stated, in two to four colours that a
    screen can show, with shares in twentieths."""
    found = find_ideal(one, two, view=view)
    assert found.step_after == pytest.approx(larger(found.mix, one, two, view))
    assert 2 <= len(found.mix.labs) <= MOST_COLOURS
    assert sum(found.mix.shares) == pytest.approx(1)
    assert list(found.mix.shares) == sorted(found.mix.shares, reverse=True)
    for share, lab in zip(found.mix.shares, found.mix.labs, strict=True):
        assert share * 20 == pytest.approx(round(share * 20))
        linear = lab_to_linear(np.array(lab))
        assert linear.min() > -1e-6 and linear.max() < 1 + 1e-6
    assert find_ideal(one, two, view=view) == found


@pytest.mark.parametrize("seed", range(5))
def test_ideal_is_better_than_plain_ways(seed):
    """No solid on the straight way between the averages, and no blend of the two in
    any proportion, does better by more than a tenth of a dE00."""
    one, two = random_mixes(2, np.random.default_rng(seed), most=2)
    lab_1, lab_2 = np.array(mean_lab(one)), np.array(mean_lab(two))
    plain = [
        mix
        for share in np.linspace(0.05, 0.95, 19).tolist()
        for mix in (
            solid(lab_1 + share * (lab_2 - lab_1)),
            blend((one, two), (share, 1 - share)),
        )
    ]
    least = min(larger(mix, one, two) for mix in plain)
    assert find_ideal(one, two, view=0.5).step_after <= least + 0.1


def test_ideal_halves_a_gap_of_greys():
    """Between two greys there is a mix that halves their step, within a twentieth."""
    one, two = solid((80, 0, 0)), solid((40, 0, 0))
    gap = larger(one, two, two)
    found = find_ideal(one, two, view=0.5)
    assert found.step_after < 0.55 * gap
    assert mean_lab(found.mix)[0] == pytest.approx(60, abs=5)


def test_more_dark_than_light():
    """Half cream and half plum look lighter than half-way from across the room, so
    the bridge wants more of the dark; the shares are not fixed at halves."""
    cream, plum = solid((90, 0, 12)), solid((30, 25, -10))
    own = [blend((cream, plum), (share, 100 - share)) for share in range(5, 100, 5)]
    best = min(own, key=lambda mix: larger(mix, cream, plum))
    assert best.shares[0] < 0.5  # of the cream
    halves = blend((cream, plum), (1, 1))
    found = find_ideal(cream, plum, view=0.5)
    assert found.step_after <= larger(best, cream, plum) + 1e-9
    assert found.step_after < larger(halves, cream, plum) - 1
    assert mean_lab(found.mix)[0] < mean_lab(halves)[0]


def test_colours_outside_a_screen():
    """Between colours that no screen can show there is still something to look for."""
    found = find_ideal(solid((50, 120, -120)), solid((60, -120, 100)), view=0.5)
    assert len(found.mix.labs) >= 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("#6e4d6c 85%, #b05a37 15%", "a dusty grape with clay flecks, middling dark"),
        ("#c8cdd0 55%, #c4c9cc 45%", "a pale grey in two tones, light"),
        ("#eae4dc", "a warm white, very light"),
    ],
)
def test_words(text, words):
    """The largest colour first, flecks and patches by share, the value last."""
    mix, _ = read_mix(text)
    assert mix_words(mix) == words


@given(mixes(most=4))
def test_words_for_any_mix(mix):
    """Any mix has words: an article, a value, no number in them."""
    words = mix_words(mix)
    assert words.startswith(("a ", "an "))
    assert not any(c.isdigit() for c in words)
    assert words.rpartition(", ")[2] in {word for _, word in LIGHTNESS}
    assert mix_words(Mix(mix.labs[::-1], mix.shares[::-1])) == words or len(
        set(mix.shares)
    ) < len(mix.shares)

"""Why a step is seen: the words follow CIEDE2000's own terms."""

import colour
import numpy as np
import pytest
from hypothesis import given

from kit.colour.causes import HUES, term_words, why
from kit.colour.mixes import read_mix, solid
from tests.helpers.runs import lch
from tests.helpers.strategies import mixes
from tests.helpers.yarns import labs

ROUNDING = 1e-9


def words(one, two):
    (cause,) = why([one], [two])
    return cause


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


def test_shares_follow_an_outside_library():
    """Lightness has the share of the square that colour-science's own parts give it."""
    one, two = (60.0, 20.0, 10.0), (45.0, 25.0, 30.0)
    whole = colour.delta_E(one, two, method="CIE 2000")
    # The same pair with one lightness: what is left is chroma, hue and their rotation.
    # S_L depends on the mean L* alone, so the lightness term is the difference.
    middle = (one[0] + two[0]) / 2
    rest = colour.delta_E((middle, *one[1:]), (middle, *two[1:]), method="CIE 2000")
    said = term_words(solid(one), solid(two))
    share = int(said.split("lightness: darker by 15 L* (")[1].split(" %")[0])
    # The rotation term is left out of our shares: within a twentieth for these colours.
    assert share == pytest.approx(100 * (whole**2 - rest**2) / whole**2, abs=5)


@pytest.mark.parametrize(
    ("one", "two", "said"),
    [
        (
            (80, 0, 0),
            (50, 0, 0),
            "lightness: darker by 30 L* (100 %); chroma: nearly the same; hue: nearly "
            "the same",
        ),
        (
            (50, 40, 0),
            (50, 10, 0),
            "lightness: nearly the same; chroma: greyer (100 %); hue: nearly the same",
        ),
        (
            (50, 30, 0),
            (50, 0, 30),
            "lightness: nearly the same; chroma: nearly the same; hue: turns towards "
            "yellow (100 %)",
        ),
        (
            # C* rises from 9.2 to 9.4, but C' of CIEDE2000, which stretches a*, falls.
            (50, -9.12, -0.99),
            (50, -4.93, -8.0),
            "lightness: nearly the same; chroma: greyer (5 %); hue: turns towards blue "
            "(95 %)",
        ),
        (
            (50, 0, 0),
            (50, 0, 0),
            "lightness: nearly the same; chroma: nearly the same; hue: nearly the same",
        ),
    ],
)
def test_one_term_at_a_time(one, two, said):
    """A change of lightness, chroma or hue alone is named alone."""
    assert term_words(solid(one), solid(two)) == said


@given(labs, labs)
def test_shares_never_exceed_the_whole(one, two):
    """The shares that are named add to at most 100 (each rounded)."""
    said = term_words(solid(one), solid(two))
    shares = [int(part.split(" %")[0]) for part in said.split("(")[1:]]
    assert sum(shares) <= 101

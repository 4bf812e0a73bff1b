"""The three terms of a step in words: they follow CIEDE2000's own."""

import pytest
from hypothesis import given, settings

from kit.arrangement.design import measure
from kit.arrangement.layout import Laid
from kit.blanket.choices import Judging
from kit.colour.spaces import solid
from kit.colour.steps import Step
from kit.colour.terms import step_words, term_words
from tests.helpers.yarns import labs, mixes, yarn


def test_shares_follow_an_outside_library():
    """Lightness has the share of the square that colour-science's own parts give it."""
    import colour

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
@settings(max_examples=60)
def test_shares_never_exceed_the_whole(one, two):
    """The shares that are named add to at most 100 (each rounded)."""
    said = term_words(solid(one), solid(two))
    shares = [int(part.split(" %")[0]) for part in said.split("(")[1:]]
    assert sum(shares) <= 101


@given(mixes(), mixes())
@settings(max_examples=40)
def test_a_step_tells_what_it_is(one, two):
    """Size always; near and far where they differ; a jump with its reasons."""
    (step,) = measure(Laid((yarn("a", one), yarn("b", two))), Judging(jump_limit=20))
    said = step_words(step, one, two)
    assert said.startswith(f"step {step.size:.1f}")
    assert ("in the hand" in said) == (abs(step.near - step.far) >= 0.05)
    assert ("a jump: " in said) == step.jump
    assert term_words(one, two) in said


def test_accents_and_joins_are_named():
    """Neither counts, and both are said to be what they are."""
    mix = solid((50, 0, 0))
    plain = Step(1.0, 1.0, 1.0, (), "busier")
    assert step_words(plain, mix, mix).startswith("step 1.0; lightness")
    assert step_words(plain, mix, mix).endswith("; busier")
    accent = Step(1.0, 1.0, 1.0, ("large",), "", accent=True)
    assert "step 1.0, an accent, not counted;" in step_words(accent, mix, mix)
    join = Step(1.0, 1.0, 1.0, (), "", join=True)
    assert "step 1.0, where the run starts anew;" in step_words(join, mix, mix)

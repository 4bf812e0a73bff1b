"""Halving or pairing: which is said to suit a mirrored blanket, and how it is told."""

import pytest

from kit.fabric.fabric import Fabric, Short
from kit.fabric.sharing import Shared, sharing_words, which_suits


def knitted(sharing, rows, largest, *, wished=240):
    """A blanket of rows three to the cm; short where it has fewer than wished."""
    missing = (wished or 0) - rows
    short = Short(missing, missing / 3, 0.0, 0.0) if missing > 0 else None
    return Shared(sharing, Fabric(80, rows, 40, rows / 3, (), (), short, ()), largest)


@pytest.mark.parametrize(
    ("halved", "paired", "suits"),
    [
        ((240, 13.8), (240, 20.6), "halve"),  # both reach it: the smoother
        ((183, 10.0), (240, 20.6), "pair"),  # one reaches it, however large its step
        ((240, 20.6), (236, 10.0), "halve"),  # also where little is missing
        ((183, 10.0), (200, 20.6), "pair"),  # neither: the longer
        ((197, 20.6), (200, 10.0), "pair"),
        ((200, 10.0), (203, 20.6), "halve"),  # under four rows apart: the smoother
    ],
)
def test_length_first_then_the_step(halved, paired, suits):
    """Whichever of the two was chosen, the same one suits."""
    one, two = knitted("halve", *halved), knitted("pair", *paired)
    assert which_suits(one, two) == which_suits(two, one) == suits


def test_until_the_yarn_ends_the_step_decides():
    """Where no length is wished none is missing."""
    one = knitted("halve", 150, 10.0, wished=None)
    two = knitted("pair", 200, 12.0, wished=None)
    assert which_suits(one, two) == "halve"
    said = sharing_words(one, two, wished=False)
    assert "reaches 50 cm" in said and "By the steps" in said


def test_alike_the_chosen_way_suits():
    """Nothing is gained by the other."""
    one, two = knitted("pair", 240, 10.0), knitted("halve", 240, 10.0)
    assert which_suits(one, two) == "pair"


def test_both_are_told_in_the_blankets_units():
    """How far each reaches, with what step, and what decided."""
    one, two = knitted("halve", 183, 13.8), knitted("pair", 240, 20.6)
    assert sharing_words(one, two) == (
        "Halving every ball stops at 61 cm with a largest step between stripes of "
        "13.8; pairing look-alikes, no ball cut, reaches the full 80 cm with a largest "
        'step between stripes of 20.6. By the length, sharing = "pair" suits this '
        "stash."
    )
    assert "stops at 24 in" in sharing_words(one, two, "imperial")
    assert "the full 31.5 in" in sharing_words(one, two, "imperial")

"""Metres per 100 g from a length and its weight."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError
from kit.yarn.measured_length import classes_of, length_lines, weigh_length


def test_a_kilometre_of_250_grams_is_400_metres_in_100():
    """tex is grams per kilometre (ISO 1144:2016): 25 m of 250 tex weigh 6.25 g."""
    measured = weigh_length(25, 6.25)
    assert measured.metres_per_100g == pytest.approx(400)


def test_limits_are_both_errors_at_their_worst():
    """By hand: 20 m, 5 g, off by 1 g and 1 %: 19.8 m in 6 g, 20.2 m in 4 g."""
    measured = weigh_length(20, 5)
    assert (measured.least, measured.most) == pytest.approx((330, 505))


@given(st.floats(1, 1000), st.floats(2, 500), st.floats(-1, 1), st.floats(-0.01, 0.01))
def test_limits_hold_whatever_the_errors_are(length_m, weight_g, scale_off, tape_off):
    """The truth lies within the limits for every error the assumption allows."""
    measured = weigh_length(length_m, weight_g)
    truth = 100 * length_m * (1 + tape_off) / (weight_g + scale_off)
    assert measured.least * (1 - 1e-12) <= truth <= measured.most * (1 + 1e-12)


def test_more_yarn_and_a_finer_scale_draw_the_limits_together():
    """Ten times the length, or a tenth of the scale's error, and the range shrinks."""

    def spread(measured):
        return measured.most / measured.least

    assert spread(weigh_length(200, 50)) < spread(weigh_length(20, 5)) / 1.2
    assert spread(weigh_length(20, 5, scale_g=0.1)) < spread(weigh_length(20, 5)) / 1.2


def test_what_the_scale_cannot_tell_from_nothing_is_refused():
    """One gram on a scale that is off by one gram says nothing."""
    with pytest.raises(KitError) as told:
        weigh_length(5, 1)
    assert str(told.value) == (
        "It weighs: found 1 g, expected more than 1 g, what the scale may be off by. "
        "Measure off more yarn, or use a finer scale."
    )
    assert weigh_length(5, 1, scale_g=0.1).metres_per_100g == 500


def test_an_imperial_weighing_is_told_in_yards_and_ounces():
    """The same limits: 400 m are 437.4 yd, 367 m 401 yd, 439 m 480 yd."""
    measured = weigh_length(50, 12.5, units="imperial")
    assert length_lines(measured, units="imperial")[:2] == [
        "437 yd per 100 g; it may be anything from 401 to 480.",
        "For the limits the scale is taken as right within 0.035 oz and the tape "
        "within 1 %: our own assumption.",
    ]
    with pytest.raises(KitError) as told:
        weigh_length(5, 1, units="imperial")
    assert str(told.value) == (
        "It weighs: found 0.035 oz, expected more than 0.035 oz, what the scale may be "
        "off by. Measure off more yarn, or use a finer scale."
    )


def test_no_length_is_refused():
    """A length must be more than nothing."""
    with pytest.raises(KitError, match="Length: found 0, expected more than 0"):
        weigh_length(0, 5)


def test_classes_are_those_the_limits_meet():
    """Loose limits meet several weight classes, close ones meet one."""
    assert classes_of(weigh_length(10, 3)) == ("lace", "fingering", "sport", "DK")
    assert classes_of(weigh_length(100, 50)) == ("DK", "worsted")
    assert classes_of(weigh_length(100, 25, scale_g=0.1)) == ("fingering",)


def test_sentences_own_up_to_the_assumption():
    """Limits, and whose assumption they are, in words; short pieces get advice."""
    lines = length_lines(weigh_length(20, 5))
    assert lines[0] == "400 m per 100 g; it may be anything from 330 to 505."
    assert lines[1].endswith(
        "right within 1 g and the tape within 1 %: our own assumption."
    )
    assert lines[-1] == "Measure off more of it, and the limits draw together."
    assert "Measure off more" not in " ".join(length_lines(weigh_length(400, 100)))

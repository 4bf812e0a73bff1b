"""Yarns carried along: where, for how long, and what they take."""

from itertools import pairwise

import pytest

from kit.blanket.choices import Carry
from kit.fabric.carrying import TAIL_MM, carry_along
from kit.fabric.stripes import Stripe
from kit.yarn import Section
from kit.yarn.stitch_lengths import stitch_lengths_of
from tests.helpers.balls import ball, chosen

ROW = 100  # stitches; a stitch takes 10 mm, a row 1 m
LINE = stitch_lengths_of(ROW, 0.010, (1.0,))
BLUE, GREY = ball("Blue", (40, 5, -35), 99), ball("Grey", 60, 99)
SECTIONS = (Section("moss", 3), Section("plain", 4))


def stripes(*ends):
    """Blue and grey alone in turn, up to these rows; the second begins a run anew."""
    return [
        Stripe(ROW * a, ROW * b, ROW, ((BLUE, GREY)[k % 2],), (), float(b - a), k == 1)
        for k, (a, b) in enumerate(pairwise([0, *ends]))
    ]


def carried(yarns, *carry, rows=(10, 20), sections=()):
    """((first row, last row, carried), said)."""
    choices = chosen(carry=carry, sections=sections)
    done, said = carry_along(stripes(*rows), yarns, choices, LINE)
    assert done[0].first == 0
    assert done[-1].last == ROW * rows[-1]
    for one, two in pairwise(done):
        assert one.last == two.first
    for one in done:
        assert one.metres_each == pytest.approx((one.last - one.first) / ROW)
    seen = [(s.first / ROW, s.last / ROW, [y.name for y in s.carried]) for s in done]
    return seen, said


def test_along_rows():
    """Rows 4 to 12 of a blanket, counted from 1, both included."""
    mist = ball("Mist", 95, 99)
    assert carried([mist], Carry("Mist", rows=(4, 12))) == (
        [(0, 3, []), (3, 10, ["Mist"]), (10, 12, ["Mist"]), (12, 20, [])],
        [],
    )


def test_while_it_lasts():
    """The ball less a tail is knitted, then it is said where it ran out."""
    # By hand: 5.3 m less 0.3 m are five rows: 4 to 8, so out in row 9.
    mist = ball("Mist", 95, 5 + TAIL_MM / 1000)
    assert carried([mist], Carry("Mist", rows=(4, 12))) == (
        [(0, 3, []), (3, 8, ["Mist"]), (8, 10, []), (10, 12, []), (12, 20, [])],
        ['"Mist", carried along, runs out in row 8.'],
    )


def test_along_a_section():
    """Every turn of the section, counted from the cast-on edge."""
    # By hand: moss is rows 1-3, 8-10, 15-17.
    mist = ball("Mist", 95, 99)
    seen, _ = carried([mist], Carry("Mist", section="moss"), sections=SECTIONS)
    assert [(a, b) for a, b, names in seen if names] == [(0, 3), (7, 10), (14, 17)]


def test_along_a_family():
    """Beside every stripe that holds a yarn of the family."""
    mist = ball("Mist", 95, 99)
    seen, _ = carried([mist], Carry("Mist", family="blues"), rows=(10, 20, 30))
    assert [(a, b) for a, b, names in seen if names] == [(0, 10), (20, 30)]


def test_two_at_once():
    """Two carried yarns lie beside each other where both are wanted."""
    mist, dusk = ball("Mist", 95, 99), ball("Dusk", 20, 99)
    carry = Carry("Mist", rows=(1, 6)), Carry("Dusk", rows=(4, 9))
    seen, _ = carried([mist, dusk], *carry, rows=(10,))
    assert seen == [
        (0, 3, ["Mist"]),
        (3, 6, ["Mist", "Dusk"]),
        (6, 9, ["Dusk"]),
        (9, 10, []),
    ]


def test_one_ball_in_two_places():
    """Named twice, a yarn is still one ball, and held once at a time."""
    # By hand: 8.3 m less a tail are eight rows: 1-6, then 7 and 8 of 4-12.
    mist = ball("Mist", 95, 8 + TAIL_MM / 1000)
    carry = Carry("Mist", rows=(1, 6)), Carry("Mist", rows=(4, 12))
    seen, said = carried([mist], *carry)
    assert [(a, b) for a, b, names in seen if names == ["Mist"]] == [
        (0, 3), (3, 6), (6, 8),
    ]  # fmt: skip
    assert said == ['"Mist", carried along, runs out in row 8.']


def test_nowhere_to_be_carried():
    """Rows beyond the blanket, or a family it does not hold, are said so."""
    mist = ball("Mist", 95, 99)
    says = ['"Mist" is carried nowhere: no rows here ask for it.']
    assert carried([mist], Carry("Mist", rows=(21, 30)))[1] == says
    assert carried([mist], Carry("Mist", family="reds"))[1] == says


def test_a_cut_stripe_begins_anew_once():
    """Only the first piece of a stripe stands where a run starts anew."""
    choices = chosen(carry=(Carry("Mist", rows=(12, 14)),))
    mist = ball("Mist", 95, 99)
    done, _ = carry_along(stripes(10, 20), [mist], choices, LINE)
    assert [one.restart for one in done] == [False, True, False, False]

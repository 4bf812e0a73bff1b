"""Before knitting: the frame for gauge and size, parts of balls, what is kept back."""

import pytest

from kit.blanket.choices import Making, Size
from kit.errors import KitError
from kit.fabric.setup import kept_back, least_cap, places_of, set_up, supply_of
from kit.yarn import Gauge, Section
from tests.helpers.balls import ball, chosen, laid_by_value

BALLS = [
    ball(name, value, 100) for name, value in zip("ABC", (90, 50, 20), strict=True)
]


def places(**kw):
    choices = chosen(**kw)
    return places_of(laid_by_value(BALLS, choices), choices)


def test_stitches_rows_and_yarn_by_hand():
    """A metre at 20 stitches and 30 rows per 10 cm, yarn by Munden's relation."""
    # By hand: 200 stitches; 1.2 m are 360 rows; 4.2 x 100 cm of yarn in a row.
    setup = set_up(chosen(length_cm=120.0).making)
    assert (setup.stitches, setup.width_cm, setup.rows) == (200, 100.0, 360)
    assert setup.until == 72_000
    assert setup.lengths.mm_at(200) == 4200
    assert setup.estimated
    assert set_up(chosen().making).until is None


def test_sections_take_their_own_yarn():
    """Rows of a section cost its factor."""
    sections = (Section("slip", 1, yarn_factor=1.5), Section("plain", 1))
    lengths = set_up(chosen(sections=sections).making).lengths
    assert [lengths.mm_at(200), lengths.mm_at(400)] == [6300, 10_500]


def test_no_fabric_without_gauge():
    """It is said what is missing, and which size cannot be."""
    with pytest.raises(KitError, match=r"Fabric needs both \[gauge\] and \[size\]"):
        set_up(Making())
    wide = Gauge(20, 30, repeat_stitches=400)
    with pytest.raises(KitError, match=r"size\.width_cm"):
        set_up(Making(wide, Size(100.0, None)))


def test_parts_of_balls():
    """Shared balls are parted evenly; a mirrored one keeps 6 % back."""
    assert [place.part for place in places()] == [1, 1, 1]
    assert [place.part for place in places(times=2)] == [0.5] * 6
    assert [place.time for place in places(times=2)] == [0, 0, 0, 1, 1, 1]
    mirrored = places(layout="mirrored")
    assert [place.yarn.name for place in mirrored] == list("ABCBA")
    assert [p.part for p in mirrored] == pytest.approx([0.47, 0.47, 1, 0.47, 0.47])


def test_what_is_kept_back():
    """30 cm for each place, two rows to cast on, four to bind off, never more than is
    there."""
    setup = set_up(chosen().making)
    kept = kept_back(places(), {"A", "B"}, {"B", "C"}, setup)
    # By hand: 300 mm, and rows of 4200 mm.
    assert kept == {"A": 8700, "B": 25_500, "C": 17_100}
    assert kept_back(places(times=2), (), (), setup)["A"] == 600
    short = places_of(laid_by_value([ball("D", 50, 5)], chosen()), chosen())
    assert kept_back(short, {"D"}, {"D"}, setup) == {"D": 5000}


def test_the_supply():
    """What is usable, parted, in whole millimetres."""
    some = supply_of(places(times=2), {"A": 10_000})
    assert some.mm == (45_000, 50_000, 50_000) * 2
    assert some.tex == pytest.approx((250,) * 6)
    assert some.contrast[0][2] == pytest.approx(some.contrast[2][0])
    assert some.contrast[0][3] == 0


@pytest.mark.parametrize("enough", [1, 499, 12_345, 98_000, 100_000])
def test_the_least_cap(enough):
    """To half a metre, and never too little."""
    cap = least_cap(lambda mm: mm >= enough, 100_000)
    assert enough <= cap <= enough + 500

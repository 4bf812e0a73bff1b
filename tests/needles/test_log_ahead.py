"""What lines still to be read say of strands."""

import pytest

from kit.fabric.setup import set_up
from kit.needles.log_ahead import log_ahead, middle
from tests.helpers.coverages import a_plan
from tests.helpers.knitter import as_log
from tests.needles.test_join_of import links_at, ran_out
from tests.needles.test_knitted import joined
from tests.needles.test_readings import weighed


def ahead(*lines):
    plan = a_plan()
    log = as_log(lines, plan.stash.yarns)
    return log_ahead(log, plan.fabric), log


def test_the_middle_of_a_row():
    """Of a hundred stitches; beyond the last row it is that of the last."""
    fabric = a_plan().fabric
    assert [middle(row, fabric) for row in (0, 1, 2, 900)] == [50, 50, 150, 36350]


def test_a_join_that_is_still_to_be_read():
    """Until its line is read."""
    links = links_at(60)
    rest, log = ahead(joined("ball 2", 71))
    assert rest.is_joined(links, 2)
    assert not rest.is_joined(links, 3)
    rest.read(log.notes[0])
    assert not rest.is_joined(links, 2)


def test_an_end_that_is_still_to_be_read():
    """By instead_of or by its own line; one that is to come may be what ends."""
    links = links_at(60)
    for line in (joined("ball 3", 75, "ball 1"), ran_out("ball 1", 75)):
        rest, log = ahead(line, ran_out("ball 2", 90))
        assert rest.is_ended(links, 1)
        assert not rest.is_ended(links, 2)
        rest.read(log.notes[0])
        assert not rest.is_ended(links, 1)


def test_where_a_weighed_ball_ends():
    """Grams there, 400 m to 100 g, less a tail of 0.3 m, at 2.1 cm a stitch; later
    weighings are not known yet."""
    links, line = links_at(60), set_up(a_plan().choices.making).lengths
    rest, _ = ahead(
        weighed("ball 1", 20, 30), weighed("ball 1", 60, 10), weighed("ball 1", 66, 9)
    )
    # 4.2 / (20 stitches to 10 cm), Munden, fully relaxed
    expected = 6000 + (10 * 4 - 0.3) / 0.021
    assert rest.ends_at(links, 1, 6500, line) == pytest.approx(expected, abs=2)
    assert rest.ends_at(links, 1, 1500, line) == rest.goes_at(links, 1)


def test_a_ball_that_is_weighed_later_is_not_over():
    """Not before the middle of the row after it; an empty one tells nothing."""
    links = links_at(60)
    planned = links[1].goes_at(100)
    rest, _ = ahead(weighed("ball 1", 90, 5))
    assert rest.goes_at(links, 1) == 9050 > planned
    rest, _ = ahead(weighed("ball 1", 90, 0.5))
    assert rest.goes_at(links, 1) == planned

"""What the scale showed, as readings; several lines of one row are one."""

import pytest

from kit.fabric.setup import CAST_ON_ROWS, set_up
from kit.fabric.tolerance import USUAL, standard
from kit.needles.knitted import knitted_so_far
from kit.needles.weighings import given_m, weighings_of
from tests.helpers.coverages import a_plan
from tests.helpers.knitter import as_log
from tests.needles.test_readings import TWO, weighed


def found(*lines):
    plan = a_plan()
    log, setup = as_log(lines, plan.stash.yarns), set_up(plan.choices.making)
    so_far = knitted_so_far(plan.fabric, plan.choices, log, plan.stash.yarns)
    return list(weighings_of(log, so_far, plan.stash.yarns, setup)), so_far, setup


def test_one_line_is_one_reading():
    """With what the ball had given by then, cast-on too, and the day it shares."""
    (one, two), so_far, setup = found(*TWO)
    # 4.2 / (20 stitches to 10 cm), Munden, fully relaxed; 100 stitches
    assert one.used_m == pytest.approx(2.1 * (30 + CAST_ON_ROWS), abs=0.01)
    assert (one.grams, one.note.number, two.note.number) == (24, 2, 3)
    assert one.reading.day == two.reading.day == "row 30"
    assert given_m("ball 5", 30, so_far, setup) == 0
    # the scale and half a row of 2.1 m at 0.25 g a metre, both limits
    error = (standard(USUAL.scale_g) ** 2 + standard(2.1 / 2 * 0.25) ** 2) ** 0.5
    assert one.reading.error == pytest.approx(error, abs=1e-3)


def test_several_lines_are_their_mean():
    """And surer than one; another day is another weighing."""
    day = "2026-03-09"
    lines = [weighed("ball 0", 30, g, day) for g in (24, 25)]
    (one, two), *_ = found(*lines, weighed("ball 0", 30, 24, "2026-03-10"))
    assert (one.grams, len(one.notes)) == (24.5, 2)
    assert one.reading.error < two.reading.error
    assert one.reading.day == day

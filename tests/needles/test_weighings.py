"""Weighings that are not of the whole ball: one part alone, heavier than before.

The mirrored plan has its balls in two parts. In row 20 of it ball 0, of 40 g, has given
22 rows' yarn with the cast-on, 11.6 g: 28.4 g are left, 21.6 g of them wound off for
later, and 6.9 g are on the needle.
"""

import pytest

from kit.fabric.setup import CAST_ON_ROWS, set_up
from kit.fabric.strand_chains import prior
from kit.fabric.tolerance import USUAL, standard
from kit.needles.knitted import knitted_by_log
from kit.needles.weighings import given_m, weighings_of, without_odd
from tests.helpers.coverages import a_mirrored_plan, a_plan
from tests.helpers.knitter import as_log
from tests.needles.test_progress import at
from tests.needles.test_readings import TWO, weighed


def kept(*lines, plan=None, units="metric"):
    """Grams of the weighings that are kept, in their order, and what is told."""
    plan = plan or a_mirrored_plan()
    yarns, setup = plan.stash.yarns, set_up(plan.choices.making)
    log = as_log(lines, yarns)
    knitted = knitted_by_log(plan.fabric, plan.choices, log, yarns)
    first = prior(yarns, plan.choices)
    rest, said = without_odd(log, knitted, yarns, setup, first, units)
    return [note.grams for note in rest.notes if note.grams is not None], said


ALONE = (
    'knitted.csv, row 2 ("ball 0"), grams: {} g reads as if only {} lay on the scale; '
    "all that is left should weigh about {} g. Not used. Weigh all parts of the ball "
    "together."
)


@pytest.mark.parametrize(
    "row, grams, part, whole",
    [
        (20, 7, "the part on the needle", 28.4),
        (20, 21.5, "the part that waits", 28.4),
        (0, 21.5, "one part", 40),
        (0, 18.5, "one part", 40),
    ],
)
def test_one_part_alone_is_told_and_set_aside(row, grams, part, whole):
    """Whichever of the two it was, also before the first stitch."""
    found, said = kept(weighed("ball 0", row, grams))
    assert (found, said) == ([], [ALONE.format(grams, part, whole)])


def test_a_part_that_was_wound_by_eye():
    """Two grams off the winding list are a part all the same: the whole is far."""
    found, said = kept(weighed("ball 0", 20, 9.4))
    assert (found, said) == ([], [ALONE.format(9.4, "the part on the needle", 28.4)])


@pytest.mark.parametrize("grams", [28.5, 27, 30, 25, 14])
def test_what_may_be_the_whole_is_kept(grams):
    """Near the whole, or far from it and from every part."""
    assert kept(weighed("ball 0", 20, grams)) == ([grams], [])


def test_the_other_balls_tell_what_the_whole_is():
    """By row 86 ball 5 has given 12 g of the 24 g on the needle, and 26 g wait; what
    the balls before it weigh makes the whole sure, and 12 g are the part."""
    lines = [weighed(f"ball {k}", 20, 27) for k in (0, 1)]
    found, said = kept(*lines, weighed("ball 5", 86, 12))
    assert found == [27, 27]
    assert len(said) == 1
    assert "12 g reads as if only the part on the needle lay on the scale" in said[0]


def test_a_ball_in_one_part_is_never_a_part():
    """Half of what was to be left is doubted elsewhere, not here."""
    assert kept(weighed("ball 10", 150, 8)) == ([8], [])
    assert kept(weighed("ball 0", 30, 10), plan=a_plan()) == ([10], [])


def test_a_ball_that_is_another_has_other_parts():
    """Found to be of 60 g before casting on: later weighings are not compared with the
    parts of the 40 g there were."""
    assert kept(weighed("ball 0", 0, 60), weighed("ball 0", 20, 21.5)) == (
        [60, 21.5],
        [],
    )


def test_two_lines_of_one_row_are_one_weighing():
    """Both are set aside, and told once."""
    line = weighed("ball 0", 20, 7)
    found, said = kept(line, line)
    assert (found, len(said)) == ([], 1)


def test_in_ounces():
    """As the blanket has them."""
    line = {**weighed("ball 0", 20, ""), "ounces": "0.25"}
    found, said = kept(line, units="imperial")
    assert found == []
    assert said[0].startswith(
        'knitted.csv, row 2 ("ball 0"), ounces: 0.25 oz reads as if only the part on '
        "the needle lay on the scale; all that is left should weigh about 1 oz."
    )


def test_one_part_alone_changes_no_forecast():
    """Pace and rows are as without the line, and it is told where things stand."""
    plan = a_mirrored_plan()
    rows = {"row": "20", "what": "knitted"}
    was, now = at(rows, plan=plan), at(rows, weighed("ball 0", 20, 7), plan=plan)
    assert now.pace == was.pace
    assert now.forecast.lasts == was.forecast.lasts
    assert [line for line in now.sentences if "reads as if" in line] == [
        ALONE.format(7, "the part on the needle", 28.4).replace("row 2", "row 3")
    ]


# --- heavier than before --------------------------------------------------------------


def heavier(number, more, less, row):
    return (
        f'knitted.csv, row {number} ("ball 0"), grams: {more} is more than {less}, '
        "though a ball does not gain by being knitted. The one at row "
        f"{row} fits the plan and the other balls less well and is not used. Weigh it "
        "once more."
    )


def test_the_later_is_wrong():
    """By the plan 23.3 g are left after row 30, and 12.7 g after row 50."""
    found, said = kept(*TWO, weighed("ball 0", 50, 31), plan=a_plan())
    assert found == [24, 24]
    assert said == [heavier(4, "31 g at row 50", "24 g at row 30", 50)]


def test_the_earlier_is_wrong():
    """Eight grams at row 30 were a slip; with dates they are told."""
    lines = (
        weighed("ball 0", 30, 8, "2026-03-01"),
        weighed("ball 0", 50, 13, "2026-03-09"),
    )
    found, said = kept(TWO[1], *lines, plan=a_plan())
    assert found == [24, 13]
    more, less = "13 g at row 50 on 2026-03-09", "8 g at row 30 on 2026-03-01"
    assert said == [heavier(4, more, less, "30 on 2026-03-01")]


def test_the_other_balls_tell_which_is_wrong():
    """Between 20 g at row 20 and 24 g at row 30 the pace decides: by the plan 28.5 g
    and 23.3 g were to be left; at three quarters more both balls are as at row 20."""
    lines = weighed("ball 0", 20, 20), weighed("ball 0", 30, 24)
    assert kept(*lines, plan=a_plan())[0] == [24]
    fast = [weighed("ball 1", row, 40 - 0.9 * (row + 2)) for row in (10, 20, 30)]
    assert 24 not in kept(*fast, *lines, plan=a_plan())[0]


def test_one_slip_of_three_is_one():
    """The third is compared with the one that is kept."""
    lines = [weighed("ball 0", row, g) for row, g in ((30, 24), (50, 31), (52, 12))]
    found, said = kept(TWO[1], *lines, plan=a_plan())
    assert (found, len(said)) == ([24, 24, 12], 1)


def test_what_may_be_another_unit_is_asked_elsewhere():
    """0.8 after row 30 may be ounces: it is neither a part nor too light."""
    for plan in (a_plan(), a_mirrored_plan()):
        lines = weighed("ball 0", 20, 0.9), weighed("ball 0", 25, 26)
        assert kept(*lines, plan=plan) == ([0.9, 26], [])


def test_a_gram_more_is_kept():
    """Within what the scale and the air may do."""
    assert kept(*TWO, weighed("ball 0", 31, 25), plan=a_plan()) == ([24, 24, 25], [])


def found(*lines):
    plan = a_plan()
    log, setup = as_log(lines, plan.stash.yarns), set_up(plan.choices.making)
    knitted = knitted_by_log(plan.fabric, plan.choices, log, plan.stash.yarns)
    return list(weighings_of(log, knitted, plan.stash.yarns, setup)), knitted, setup


def test_one_line_is_one_reading():
    """With what the ball had given by then, cast-on too, and the day it shares."""
    (one, two), knitted, setup = found(*TWO)
    # 4.2 / (20 stitches to 10 cm), Munden, fully relaxed; 100 stitches
    assert one.used_m == pytest.approx(2.1 * (30 + CAST_ON_ROWS), abs=0.01)
    assert (one.grams, one.note.number, two.note.number) == (24, 2, 3)
    assert one.reading.day == two.reading.day == "row 30"
    assert given_m("ball 5", 30, knitted, setup) == 0
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

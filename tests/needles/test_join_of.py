"""Whose end a join is at where the log does not say; never silent where it may be
another.

The plan: ball 0 and ball 1 are cast on, ball 2 is joined for ball 0 in row 71, ball 3
for ball 1 in row 75, and so on.
"""

import pytest

from kit.fabric.setup import set_up
from kit.fabric.strand_chains import strands_of
from kit.needles.join_of import amid_row, just_freed, log_ahead
from kit.needles.strand_timeline import StrandState, StrandTimeline
from tests.helpers.coverages import a_plan
from tests.helpers.knitter import as_log
from tests.helpers.plans import balls, planned
from tests.needles.test_knitted import followed, joined, rows, two_for_one
from tests.needles.test_readings import weighed


def ran_out(yarn, row):
    return {"row": str(row), "what": "ran out", "yarn": yarn}


def taken(number, yarn, row, other, why):
    return (
        f'knitted.csv, row {number}: "{yarn}" joined in row {row} is taken as in '
        f'place of "{other}", {why}. If it was another, write that one under '
        "instead_of."
    )


NEAREST, FREED = "the strand nearest its end", "which had just ended"


def with_found():
    found = {"name": "Found", "colours": "#aaaaaa", "grams": 30,
             "metres_per_100g": 400, "role": "leave out"}  # fmt: skip
    return planned([*balls(12, grams=(25, 40, 50)), found])


@pytest.mark.parametrize("row", [40, 71, 79])
def test_the_plans_own_join_is_silent(row):
    """The next one by the plan ends what the plan says, early or late."""
    knitted = followed(joined("ball 2", row), rows(80))
    assert (set(knitted.held), knitted.sentences) == ({"ball 1", "ball 2"}, ())


def test_where_the_log_says_it_nothing_is_told():
    """Out of turn, but with instead_of."""
    early = joined("ball 5", 71, "ball 1")
    knitted = followed(early, rows(72))
    assert (set(knitted.held), knitted.sentences) == ({"ball 0", "ball 5"}, ())
    on = followed(early, joined("ball 2", 73, "ball 0"), rows(100))
    assert (set(on.held), on.sentences) == ({"ball 2", "ball 5"}, ())
    assert max(len(stripe.strands) for stripe in on.stripes) == 2


def test_one_from_further_on_is_told():
    """The strand nearest its end by the plan is taken: ball 0, until row 71."""
    knitted = followed(joined("ball 6", 70), rows(72))
    assert set(knitted.held) == {"ball 1", "ball 6"}
    assert knitted.sentences == (taken(2, "ball 6", 70, "ball 0", NEAREST),)


def test_the_scale_knows_better_than_the_plan():
    """By the plan ball 0 ends next; 2 g of ball 1 do not last so long."""
    light = weighed("ball 1", 60, 2)
    knitted = followed(light, joined("ball 6", 65), rows(66))
    assert set(knitted.held) == {"ball 0", "ball 6"}
    assert knitted.sentences == (taken(3, "ball 6", 65, "ball 1", NEAREST),)
    after = followed(joined("ball 6", 65), light | {"row": "66"}, rows(67))
    assert set(after.held) == {"ball 1", "ball 6"}  # it was not known in row 65


def test_before_the_one_whose_turn_it_is_is_told():
    """Ball 3 before ball 2: as planned, as whoever follows the pairs would do."""
    knitted = followed(joined("ball 3", 70), rows(72))
    assert set(knitted.held) == {"ball 0", "ball 3"}
    why = 'as planned, though before "ball 2"'
    assert knitted.sentences == (taken(2, "ball 3", 70, "ball 1", why),)


def test_one_that_follows_a_strand_to_come_is_told():
    """Small balls, joined in rows 17, 21 and 40: the one of row 40 is to follow ball 2,
    which was late and is not joined yet."""
    plan = planned(balls(12, grams=(12,)))
    knitted = followed(joined("ball 4", 28), rows(28), plan=plan)
    assert set(knitted.held) == {"ball 1", "ball 4"}
    assert knitted.sentences == (taken(2, "ball 4", 28, "ball 0", NEAREST),)


def test_what_a_later_line_ends_has_not_ended_yet():
    """Ball 1 is ended by the second join, so the first one's was ball 0."""
    for end in (joined("ball 2", 75, "ball 1"), ran_out("ball 1", 75)):
        knitted = followed(joined("ball 3", 71), end, rows(76))
        assert "ball 0" not in knitted.held
        assert "ball 1" not in knitted.held
        assert knitted.sentences == (taken(2, "ball 3", 71, "ball 0", NEAREST),)


def test_what_just_ended_comes_first():
    """Ball 1 ran out; the next ball is joined where it was, whatever the plan's pairs
    are, also one that is not in the plan."""
    knitted = followed(ran_out("ball 1", 60), joined("ball 2", 61), rows(62))
    assert set(knitted.held) == {"ball 0", "ball 2"}
    assert knitted.sentences == (taken(3, "ball 2", 61, "ball 1", FREED),)
    knitted = followed(ran_out("ball 1", 60), joined("ball 3", 61), rows(62))
    assert (set(knitted.held), knitted.sentences) == ({"ball 0", "ball 3"}, ())
    found = followed(
        ran_out("ball 1", 60), joined("Found", 61), rows(62), plan=with_found()
    )
    assert set(found.held) == {"ball 0", "Found"}
    assert found.sentences == (taken(3, "Found", 61, "ball 1", FREED),)


def test_in_place_of_a_lost_ball():
    """It ended when it was lost."""
    lost = {"row": "60", "what": "lost", "yarn": "ball 1"}
    knitted = followed(lost, joined("ball 2", 61), rows(62))
    assert set(knitted.held) == {"ball 0", "ball 2"}
    assert knitted.sentences == (taken(3, "ball 2", 61, "ball 1", FREED),)


def test_a_joined_yarn_where_nothing_is_on_the_needle():
    """All lost long ago: the first that ended is taken, and told."""
    lost = [{"row": "30", "what": "lost", "yarn": f"ball {k}"} for k in (0, 1)]
    knitted = followed(*lost, joined("Found", 40), rows(41), plan=with_found())
    assert "Found" in knitted.held
    assert len(knitted.sentences) == 1


def test_two_for_one_need_no_order():
    """Either of the two that stand together for a strand may come first."""
    for first, second in (("Fine", "Finest"), ("Finest", "Fine")):
        lines = joined(first, 71), joined(second, 71), rows(72)
        knitted = followed(*lines, plan=two_for_one())
        assert set(knitted.held) == {"ball 1", "Fine", "Finest"}
        assert knitted.sentences == ()


def test_a_name_that_helps_nothing_is_told():
    """It is as though instead_of were blank, and so told twice where it is not sure."""
    knitted = followed(joined("ball 6", 70, "ball 11"), rows(72))
    assert knitted.sentences == ()  # they change places
    line = {**joined("ball 6", 70), "instead_of": "Found"}
    knitted = followed(line, rows(72), plan=with_found())
    assert knitted.sentences == (
        'knitted.csv, row 2: "Found" is neither on the needle nor to come; taken as '
        "though nothing were said.",
        taken(2, "ball 6", 70, "ball 0", NEAREST),
    )


# --- parts ----------------------------------------------------------------------------


def timeline_at(row):
    """The links of the plan, those cast on begun; ball 0 ended in a row."""
    plan = a_plan()
    strands = strands_of(plan.fabric, plan.choices)
    timeline = StrandTimeline(
        100, plan.stash.yarns, [StrandState(s, list(s.after)) for s in strands]
    )
    for k in (0, 1):
        timeline.begin(k, 0)
    timeline.leave(0, row * 100)
    return timeline


def test_freed_is_one_that_none_follows():
    """Within four rows, and only until its follower is joined."""
    timeline = timeline_at(60)
    assert just_freed(timeline, 6300) == 0
    assert just_freed(timeline, 6500) is None
    timeline.begin(2, 6100)
    assert just_freed(timeline, 6300) is None


def ahead(*lines):
    plan = a_plan()
    log = as_log(lines, plan.stash.yarns)
    return log_ahead(log, plan.fabric), log


def test_the_middle_of_a_row():
    """Of a hundred stitches; beyond the last row it is that of the last."""
    fabric = a_plan().fabric
    assert [amid_row(row, fabric) for row in (0, 1, 2, 900)] == [50, 50, 150, 36350]


def test_a_join_that_is_still_to_be_read():
    """Until its line is read."""
    timeline = timeline_at(60)
    rest, log = ahead(joined("ball 2", 71))
    assert rest.is_joined(timeline, 2)
    assert not rest.is_joined(timeline, 3)
    rest.read(log.notes[0])
    assert not rest.is_joined(timeline, 2)


def test_an_end_that_is_still_to_be_read():
    """By instead_of or by its own line; one that is to come may be what ends."""
    timeline = timeline_at(60)
    for line in (joined("ball 3", 75, "ball 1"), ran_out("ball 1", 75)):
        rest, log = ahead(line, ran_out("ball 2", 90))
        assert rest.is_ended(timeline, 1)
        assert not rest.is_ended(timeline, 2)
        rest.read(log.notes[0])
        assert not rest.is_ended(timeline, 1)


def test_where_a_weighed_ball_ends():
    """Grams there, 400 m to 100 g, less a tail of 0.3 m, at 2.1 cm a stitch; later
    weighings are not known yet."""
    timeline, line = timeline_at(60), set_up(a_plan().choices.making).lengths
    rest, _ = ahead(
        weighed("ball 1", 20, 30), weighed("ball 1", 60, 10), weighed("ball 1", 66, 9)
    )
    # 4.2 / (20 stitches to 10 cm), Munden, fully relaxed
    expected = 6000 + (10 * 4 - 0.3) / 0.021
    assert rest.ends_at(timeline, 1, 6500, line) == pytest.approx(expected, abs=2)
    assert rest.ends_at(timeline, 1, 1500, line) == rest.goes_at(timeline, 1)


def test_a_ball_that_is_weighed_later_is_not_over():
    """Not before the middle of the row after it; an empty one tells nothing."""
    timeline = timeline_at(60)
    planned = timeline[1].goes_at(100)
    rest, _ = ahead(weighed("ball 1", 90, 5))
    assert rest.goes_at(timeline, 1) == 9050 > planned
    rest, _ = ahead(weighed("ball 1", 90, 0.5))
    assert rest.goes_at(timeline, 1) == planned

"""As knitted: the plan followed by the log, whatever the knitter did."""

from collections import Counter

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.fabric.setup import set_up
from kit.needles.join_of import LATE_ROWS
from kit.needles.knitted import knitted_by_log
from kit.needles.progress import progress_of
from tests.helpers.coverages import a_plan, knitted_with_weighings
from tests.helpers.knitter import as_log
from tests.helpers.plans import balls, planned, toml
from tests.needles.test_replan import again, made


def followed(*lines, plan=None):
    plan = plan or a_plan()
    yarns = plan.stash.yarns
    return knitted_by_log(plan.fabric, plan.choices, as_log(lines, yarns), yarns)


def joined(yarn, row, instead_of=""):
    cells = {"row": str(row), "what": "joined", "yarn": yarn}
    return {**cells, "instead_of": instead_of}


def rows(row):
    return {"row": str(row), "what": "knitted"}


def held(stripes):
    return [(s.first, s.last, {y.name for y in s.strands}) for s in stripes]


def as_planned(fabric, row):
    end = row * fabric.stitches
    return [
        (s.first, min(s.last, end), {y.name for y in s.strands})
        for s in fabric.stripes
        if s.first < end
    ]


@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(st.integers(1, 364))
def test_rows_alone_are_knitted_as_planned(row):
    """Without joins in the log the plan is believed, stitch by stitch."""
    fabric = a_plan().fabric
    knitted = followed(rows(row))
    assert knitted.row == row
    assert held(knitted.stripes) == as_planned(fabric, row)
    assert knitted.sentences == ()


def test_a_log_of_every_planned_join_is_the_plan():
    """Joins logged in their planned rows keep the plan's very stitches."""
    fabric = a_plan().fabric
    lines = []
    for one, two in zip(fabric.stripes, fabric.stripes[1:], strict=False):
        (new,) = {y.name for y in two.strands} - {y.name for y in one.strands}
        lines.append(joined(new, two.first_row))
    knitted = followed(*lines, rows(fabric.rows))
    assert held(knitted.stripes) == as_planned(fabric, fabric.rows)
    assert knitted.to_come == ()
    assert knitted.sentences == ()


def test_nothing_is_knitted_yet():
    """An empty log stands at row 0 with the strands that are cast on."""
    knitted = followed()
    assert (knitted.row, knitted.stripes) == (0, ())
    assert set(knitted.held) == {y.name for y in a_plan().fabric.stripes[0].strands}


def test_a_later_join_moves_the_change():
    """Joined in row 81 instead of 75: the strand before is held until the middle of
    that row, and known to have run out."""
    knitted = followed(joined("ball 2", 71), joined("ball 3", 81, "ball 1"), rows(100))
    assert [s.last_row for s in knitted.stripes] == [71, 81, 100]
    assert knitted.held == ("ball 2", "ball 3")
    assert knitted.ran_out == {"ball 1"}
    assert knitted.stripes[1].last_stitch == 50


def test_another_yarn_than_the_planned_one():
    """Joined instead of a planned one: they change places."""
    knitted = followed(joined("ball 5", 71, "ball 2"), rows(80))
    assert "ball 5" in knitted.held
    assert "ball 2" in {s.part.yarn.name for s in knitted.to_come}


def two_for_one():
    """Eight fingering balls, and two laces that stand together for the first."""
    lace = [
        {"name": name, "colours": hexed, "grams": 18, "metres_per_100g": 800}
        for name, hexed in (("Fine", "#bcbcbc"), ("Finest", "#bababa"))
    ]
    return planned([*balls(8, grams=(40,)), *lace])


@pytest.mark.parametrize("first, second", [("Fine", "Finest"), ("Finest", "Fine")])
def test_two_joins_in_place_of_one_strand(first, second):
    """Both are held, the one that ended is not, whichever was joined first and
    whether the row is the same."""
    for row in (71, 73):
        lines = joined(first, 71, "ball 0"), joined(second, row, "ball 0")
        knitted = followed(*lines, rows(74), plan=two_for_one())
        assert set(knitted.held) == {"ball 1", "Fine", "Finest"}
        assert max(len(stripe.strands) for stripe in knitted.stripes) == 3
        assert knitted.sentences == ()
        on = followed(
            *lines, joined("ball 2", 75, "ball 1"), rows(100), plan=two_for_one()
        )
        assert set(on.held) == {"ball 2", "Fine", "Finest"}


def test_a_yarn_that_is_not_in_the_plan():
    """It takes its place, and those that waited go on waiting for it."""
    plan = planned([*balls(12, grams=(25, 40, 50)),
                    {"name": "Found", "colours": "#aaaaaa", "grams": 30,
                     "metres_per_100g": 400, "role": "leave out"}])  # fmt: skip
    knitted = followed(joined("Found", 71, "ball 2"), rows(90), plan=plan)
    assert "Found" in knitted.held
    assert "ball 2" not in {s.part.yarn.name for s in knitted.to_come}
    knitted = followed(joined("Found", 40, "ball 0"), rows(50), plan=plan)
    assert set(knitted.held) == {"Found", "ball 1"}
    told = followed(joined("Found", 40), rows(50), plan=plan)
    assert set(told.held) == {"Found", "ball 1"}
    assert told.sentences == (
        'knitted.csv, row 2: "Found" joined in row 40 is taken as in place of '
        '"ball 0", the strand nearest its end. If it was another, write that one under '
        "instead_of.",
    )


def test_a_join_that_is_not_logged_is_waited_for():
    """Where joins are logged a missing one is believed a dozen rows late, and told."""
    late = 75 + LATE_ROWS
    waits = followed(joined("ball 2", 71), rows(late - 2))
    assert set(waits.held) == {"ball 1", "ball 2"}
    told = followed(joined("ball 2", 71), rows(late + 2))
    assert set(told.held) == {"ball 2", "ball 3"}
    assert told.sentences == (
        "Joins that are not in knitted.csv, taken as planned: ball 3 (row 75).",
    )


def test_a_late_ball_is_waited_for_from_where_it_began():
    """Joined twenty rows late it is to last as long as planned: the join after it is
    not believed twelve rows after its planned row."""
    late = [joined("ball 2", 91, "ball 0"), joined("ball 3", 95, "ball 1")]
    stripes = a_plan().fabric.stripes
    planned_row = next(s.first_row for s in stripes if _has("ball 4", s))
    waits = followed(*late, rows(planned_row + LATE_ROWS + 4))
    assert set(waits.held) == {"ball 2", "ball 3"}
    told = followed(*late, rows(planned_row + 20 + LATE_ROWS + 4))
    assert set(told.held) == {"ball 3", "ball 4"}
    assert told.sentences == (
        "Joins that are not in knitted.csv, taken as planned: ball 4 (row "
        f"{planned_row + 20}).",
    )


def _has(name, stripe):
    return name in {yarn.name for yarn in stripe.strands}


def test_a_ball_that_was_weighed_is_not_over():
    """A strand that none follows ends by the plan, in row 33, though not before a
    scale last showed that there is some of it."""
    lace = [
        {"name": name, "colours": "#d8d8d8", "grams": g, "metres_per_100g": 800}
        for name, g in (("Fine", 6), ("Finest", 9))
    ]
    plan = planned([*balls(8, grams=(40,)), *lace])
    assert "Finest" in followed(rows(31), plan=plan).held
    assert "Finest" not in followed(rows(38), plan=plan).held
    weighed = {"row": "38", "what": "weighed", "yarn": "Finest", "grams": "2.5"}
    assert "Finest" in followed(weighed, rows(38), plan=plan).held
    assert "Finest" not in followed(weighed, rows(39), plan=plan).held
    empty = {**weighed, "grams": "0"}
    assert "Finest" not in followed(empty, rows(38), plan=plan).held


def test_lost_and_skipped():
    """A ball lost on the needle is held no more; one to be skipped does not come."""
    lost = followed(rows(30), {"row": "30", "what": "lost", "yarn": "ball 1"})
    assert lost.held == ("ball 0",)
    assert lost.gone == {"ball 1"}
    skipped = followed(rows(30), {"row": "30", "what": "skipped", "yarn": "ball 3"})
    coming = [s.part.yarn.name for s in skipped.to_come]
    assert "ball 3" not in coming
    fourth = next(s for s in skipped.strands if s.part.yarn.name == "ball 4")
    names = [skipped.strands[k].part.yarn.name for k in fourth.after]
    assert names == ["ball 2"]


def test_beyond_the_end_is_the_last_row():
    """Told, with what was done."""
    knitted = followed(rows(900))
    assert knitted.row == 364
    assert knitted.sentences == (
        "knitted.csv, row 2: row 900 lies beyond the plan's last row, 364: taken as "
        "that row.",
    )


def test_the_cast_on_may_be_logged_as_joins():
    """Whoever logs the first strands as joined in row 1 is told nothing."""
    first = [{"row": "1", "what": "joined", "yarn": f"ball {k}"} for k in (0, 1)]
    knitted = followed(*first, rows(20))
    assert knitted.sentences == ()
    assert knitted.held == followed(rows(20)).held


def test_joined_twice_is_told():
    """A yarn that is on the needle already is not joined again."""
    knitted = followed(joined("ball 2", 71), joined("ball 2", 72), rows(80))
    assert knitted.sentences == (
        'knitted.csv, row 3: "ball 2" is on the needle already: not used.',
    )
    other = followed({"row": "50", "what": "ran out", "yarn": "ball 7"})
    assert other.sentences == (
        'knitted.csv, row 2: "ball 7" is not on the needle: not used.',
    )


def test_ran_out_by_its_own_line():
    """A ball that was to be broken off and ran out is known to its end."""
    knitted = followed({"row": "60", "what": "ran out", "yarn": "ball 0"},
                      joined("ball 2", 61), rows(66))  # fmt: skip
    assert knitted.ran_out == {"ball 0"}
    assert set(knitted.held) == {"ball 1", "ball 2"}


def test_what_the_log_has_told_is_not_forgotten():
    """A ball that ran out before the rest was planned anew still tells its length: the
    same log says the same of the yarn in a stitch by the old plan and by the new."""
    before = made("by value")
    _, logs, _ = knitted_with_weighings(before, 0)
    yarns, lines = before.stash.yarns, logs[-1][1]
    log, after = as_log(lines, yarns), again(before, *lines).after
    old, new = (progress_of(p, log, before.choices, yarns) for p in (before, after))
    assert any(one.left_g is None for one in old.readings)
    assert new.readings == old.readings
    assert new.pace == old.pace


def test_carried_yarns_are_in_the_stripes():
    """Also those that are laid down between."""
    mist = {"name": "Mist", "colours": "#c0c4c8", "grams": 9, "metres_per_100g": 800}
    text = toml('[[carry]]\nyarn = "Mist"\nrows = [3, 40]\n')
    plan = planned([*balls(8), mist], text)
    knitted = followed(rows(50), plan=plan)
    for one, two in zip(knitted.stripes, plan.fabric.stripes, strict=False):
        assert one.carried == two.carried


@pytest.mark.parametrize("layout", ["light-to-dark", "mirrored"])
def test_yarn_is_counted_once(layout):
    """What all yarns have given is the stripes' length times their strands."""
    text = toml(f'[colours]\nlayout = "{layout}"\n', length=60)
    plan = planned(balls(9, grams=(60,)), text)
    lengths = set_up(plan.choices.making).lengths
    knitted = followed(rows(120), plan=plan)
    end = 120 * lengths.stitches
    names = {y.name for y in plan.stash.yarns}
    given = sum(knitted.used_mm(name, lengths, end) for name in names)
    expected = Counter()
    for stripe in knitted.stripes:
        mm = lengths.mm_at(stripe.last) - lengths.mm_at(stripe.first)
        expected["all"] += mm * len(stripe.strands)
    assert given == expected["all"]

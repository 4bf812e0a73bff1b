"""Where things stand: pace, forecast, balls; drift told early, in sentences."""

from dataclasses import replace

import pytest

from kit.blanket import Blanket
from kit.fabric import forecast_fabric
from kit.fabric.setup import set_up
from kit.fabric.shortfall import drift_words
from kit.fabric.stripes import initial_mm
from kit.needles.progress import BallState, progress_of
from kit.needles.replan import plan_rest
from kit.needles.replan_choices import ReplanChoices
from kit.needles.words import pace_words, progress_lines
from tests.helpers.coverages import a_plan, knitted_with_weighings
from tests.helpers.knitter import as_log
from tests.helpers.plans import balls, planned, toml
from tests.needles.test_readings import weighed


def at(*lines, plan=None):
    plan = plan or a_plan()
    yarns = plan.stash.yarns
    return progress_of(plan, as_log(lines, yarns), plan.choices, yarns)


def taking(share, row, plan=None):
    """Weighings of the two balls on the needle as though a stitch took `share`."""
    plan = plan or a_plan()
    on = at({"row": str(row), "what": "knitted"}, plan=plan)
    lengths = set_up(plan.choices.making).lengths
    lines = []
    for name in on.knitted.held:
        yarn = next(y for y in plan.stash.yarns if y.name == name)
        first = any(y.name == name for y in plan.fabric.stripes[0].strands)
        used = on.knitted.used_mm(name, lengths, row * lengths.stitches)
        used += 2 * lengths.mm_at(lengths.stitches) * first
        grams = yarn.grams - used / 1000 * share * yarn.grams / yarn.metres
        lines.append(weighed(name, row, round(grams, 1)))
    return lines


def test_before_the_first_row_it_says_what_the_plan_says():
    """The same ranges and chances to the last digit, whatever else is in the stash and
    in whatever order: page and notebook tell one story."""
    plan = planned(balls(9, grams=(25, 40)), toml(length=80))
    one = plan.stash.yarns[4]
    more = replace(one, name="another", label=replace(one.label, fibre="linen"))
    yarns = (more, *plan.stash.yarns[::-1])
    now = progress_of(plan, as_log((), yarns), plan.choices, yarns).forecast
    sure = forecast_fabric(plan.fabric, plan.choices)
    assert (now.lasts, now.chance, now.in_all) == (sure.lasts, sure.chance, sure.in_all)
    assert [(e.strand.part, e.joins, e.ends) for e in now.endings] == [
        (e.strand.part, e.joins, e.ends) for e in sure.endings
    ]


def test_nothing_logged_is_the_plan():
    """Pace 1, every ball as it was, the first joins as planned."""
    now = at()
    assert (now.knitted.row, now.pace.likely) == (0, 1.0)
    assert all(ball.left_mm == initial_mm(ball.yarn) for ball in now.balls)
    assert now.ends == (2, 24)
    told = "Nothing is weighed yet: the yarn in a stitch is the plan's."
    assert pace_words(now) == told
    assert [join.planned_row for join in now.joins[:2]] == [71, 75]


def test_as_planned_stays_as_planned():
    """Balls that weigh what the plan says leave the pace at 1, and surer."""
    now = at(*taking(1.0, 60))
    # the scale is read to a tenth of a gram
    assert now.posterior.pace == pytest.approx(1.0, abs=0.003)
    assert now.posterior.pace_error < at().posterior.pace_error / 2
    assert pace_words(now).startswith("A stitch takes about ")
    assert pace_words(now).endswith("): it may yet go as planned.")


@pytest.mark.parametrize("share", [0.85, 1.15])
def test_drift_is_told_early(share):
    """Fifteen per cent off show in the first thirty rows, with a range."""
    plan = a_plan()
    now = at(*taking(share, 30))
    words = "more" if share > 1 else "less"
    assert f"% {words} yarn than planned" in pace_words(now)
    # drawn towards the prior by the scale's share of the doubt
    assert 0.5 < (now.posterior.pace - 1) / (share - 1) < 1.05
    ends = now.forecast.rows_short_of(now.rows)
    assert (ends.low > 0) if share > 1 else (ends.high < 0)
    assert ends.low < plan.fabric.rows * (1 - 1 / share) + 20
    told = drift_words(now.forecast, now.rows)
    if share > 1:
        assert told.startswith("At this rate the yarn ends about ")
        assert f" rows short: {ends.low:.0f} to {ends.high:.0f}." in told
    else:
        assert told.startswith("At this rate the yarn lasts beyond the last row by")


def test_every_reading_narrows_the_forecast():
    """Ranges of the row the yarn lasts to, look by look."""
    plan = a_plan()
    _, logs, _ = knitted_with_weighings(plan, "narrow")
    widths = [at().forecast.lasts.width]
    for _, lines, _ in logs:
        widths.append(at(*lines).forecast.lasts.width)
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < widths[0] / 2


def test_millimetres_add_up():
    """Had is knitted, cast on and left, of every ball, whatever was weighed; none
    below 0."""
    plan = a_plan()
    _, logs, _ = knitted_with_weighings(plan, "sum")
    for _, lines, _ in logs:
        now = at(*lines)
        first = {yarn.name for yarn in plan.fabric.stripes[0].strands}
        for ball in now.balls:
            assert ball.initial_mm == ball.knitted_mm + ball.cast_on_mm + ball.left_mm
            assert (ball.cast_on_mm > 0) == (ball.yarn.name in first)
            assert min(ball.left_mm, ball.knitted_mm, ball.left_g.low) >= 0
            if ball.state is BallState.TO_COME:
                assert ball.left_mm == initial_mm(ball.yarn)


@pytest.mark.parametrize("layout", ["light-to-dark", "mirrored"])
def test_millimetres_are_the_plans(layout):
    """Knitted to the last row as planned, every ball has had, given and left what the
    plan says: what is kept back for the cast-on is in the fabric, the rest is left."""
    text = toml(f'[colours]\nlayout = "{layout}"\n', length=60)
    plan = planned(balls(9, grams=(60,)), text)
    rows = plan.fabric.rows
    now = at({"row": str(rows), "what": "knitted"}, plan=plan)
    found = {ball.yarn.name: ball for ball in now.balls}
    for use in plan.fabric.uses:
        ball = found[use.yarn.name]
        assert (ball.initial_mm, ball.knitted_mm) == (use.initial_mm, use.used_mm)
        assert ball.left_mm == use.left_mm + use.kept_mm - ball.cast_on_mm


def test_states_of_balls():
    """On the needle, to come, run out, broken off, lost, not in the plan."""
    rows = [*balls(12, grams=(25, 40, 50))]
    rows.append({"name": "Aside", "colours": "#777777", "grams": 9,
                 "role": "leave out"})  # fmt: skip
    plan = planned(rows)
    lost = {"row": "100", "what": "lost", "yarn": "ball 9"}
    now = at({"row": "100", "what": "knitted"}, lost, plan=plan)
    states = {ball.yarn.name: ball.state for ball in now.balls}
    assert states["ball 0"] == "broken off"
    assert states["ball 1"] == "ran out"
    assert states["ball 2"] == states["ball 3"] == "on the needle"
    assert states["ball 4"] == "to come"
    assert states["ball 9"] == "lost or skipped"
    assert states["Aside"] == "not in the plan"


@pytest.mark.parametrize("layout", ["light-to-dark", "mirrored"])
def test_a_weight_that_was_expected_changes_little(layout):
    """Of every ball begun, before and after a drift was found: less than a gram."""
    text = toml(f'[colours]\nlayout = "{layout}"\n', length=100)
    plan = planned(balls(12, grams=(25, 40, 50)), text)
    for row, before in ((30, []), (90, taking(1.1, 30, plan)), (200, [])):
        lines = [*before, {"row": str(row), "what": "knitted"}]
        was = at(*lines, plan=plan)
        for ball in was.balls:
            if not ball.knitted_mm:
                continue
            grams = round(ball.left_g.likely, 1)
            now = at(*lines, weighed(ball.yarn.name, row, grams), plan=plan)
            for one, two in zip(was.balls, now.balls, strict=True):
                assert abs(one.left_g.likely - two.left_g.likely) < 1, one.yarn.name
            assert now.posterior.pace == pytest.approx(was.posterior.pace, abs=0.01)


def test_a_ball_weighed_anew_is_that_ball():
    """Found to be heavier before it is begun: its own metres grow, the pace and all
    other balls stay, and the yarn lasts longer."""
    rows = {"row": "100", "what": "knitted"}
    was, now = at(rows), at(rows, weighed("ball 8", 100, 60))
    for one, two in zip(was.balls, now.balls, strict=True):
        if one.yarn.name == "ball 8":
            assert two.left_g.likely == pytest.approx(60, abs=0.01)
        else:
            assert one == two
    assert now.pace == was.pace
    assert now.forecast.lasts.likely > was.forecast.lasts.likely + 10


def test_what_is_far_off_is_told():
    """A weighing that makes a stitch take half as much again is doubted in words."""
    assert not any("far from" in line for line in progress_lines(at(*taking(1.1, 30))))
    lines = progress_lines(at(*taking(1.6, 30)))
    (told,) = [line for line in lines if "far from" in line]
    assert told.startswith("By these weighings the pace is far from what was measured")
    assert told.endswith("count the gauge on the blanket itself.")


def test_the_chance_of_all_yarn_follows_what_is_there():
    """A lost ball counts no more; a plan made anew for the same rows changes nothing
    but how the yarn is used."""
    plan = planned(balls(12, grams=(25, 40, 50)), toml(length=130))
    rows = {"row": "60", "what": "knitted"}
    chance = at(rows, plan=plan).forecast.in_all
    lost = at(rows, {"row": "60", "what": "lost", "yarn": "ball 9"}, plan=plan)
    assert 0.8 < chance < 0.95
    assert lost.forecast.in_all < chance - 0.1
    lines = taking(1.05, 60, plan=plan)
    now = at(*lines, plan=plan)
    blanket = Blanket(None, plan.stash, None, plan.choices)
    anew = plan_rest(blanket, plan, now, ReplanChoices(order="keep")).after
    assert anew.fabric.rows == plan.fabric.rows
    yarns = plan.stash.yarns
    then = progress_of(anew, as_log(lines, yarns), plan.choices, yarns)
    assert then.forecast.in_all == pytest.approx(now.forecast.in_all, abs=0.01)


def test_a_lost_ball_is_not_held_back():
    """Nothing is kept for the bind-off of a ball that is not there."""
    rows = {"row": "100", "what": "knitted"}
    kept = {one.yarn.name for one in at(rows).forecast.reserves}
    assert kept == {"ball 10", "ball 11"}
    now = at(rows, {"row": "100", "what": "lost", "yarn": "ball 11"})
    assert "ball 11" not in {one.yarn.name for one in now.forecast.reserves}
    kept_back = "Keep back for the bind-off: "
    (line,) = (x for x in progress_lines(now) if x.startswith(kept_back))
    assert '"ball 11"' not in line and '"ball 10"' in line


def test_a_mirrored_blanket_is_followed():
    """Balls that come round again are to come while their first part is knitted."""
    text = toml('[colours]\nlayout = "mirrored"\n', length=60)
    plan = planned(balls(9, grams=(60,)), text)
    now = at({"row": "100", "what": "knitted"}, plan=plan)
    assert now.rows == 156
    states = {ball.yarn.name: ball.state for ball in now.balls}
    assert "to come" in states.values()
    assert now.forecast.chance is not None

"""What is left to knit: balls as believed, strands as they lie along the blanket."""

import pytest

from kit.needles.progress import progress_of
from kit.needles.remaining import as_they_lie, start_now, stash_now
from kit.needles.replan_choices import AS_IT_IS, ReplanChoices
from tests.helpers.coverages import a_plan
from tests.helpers.knitter import as_log
from tests.helpers.plans import balls, planned, toml
from tests.needles.test_progress import taking
from tests.needles.test_replan import rows

MIRRORED = '[colours]\nlayout = "mirrored"\n'


def rest(before, *lines, wanted=AS_IT_IS):
    yarns = before.stash.yarns
    now = progress_of(before, as_log(lines, yarns), before.choices, yarns)
    stash = stash_now(before.stash, before.choices, now, wanted)
    start = start_now(stash, (), before.choices, now, wanted, {})
    lie = as_they_lie(stash, (), before.choices, start, now, before, wanted)
    return stash, start, lie, now


def test_what_is_over_is_finished():
    """Balls that have ended and do not come again; the held come first."""
    _, start, lie, _ = rest(a_plan(), rows(100))
    assert start.finished == ("ball 0", "ball 1")
    assert start.held == ("ball 2", "ball 3")
    assert [one.yarn for one in lie] == [f"ball {k}" for k in range(2, 12)]
    assert {one.part for one in lie} == {1.0}


def test_untouched_balls_are_as_they_were():
    """Without a weighing the stash is the stash; with one only what it tells of."""
    before = a_plan()
    stash, *_ = rest(before, rows(100))
    assert stash == before.stash
    stash, _, _, now = rest(before, *taking(1.1, 60))
    changed = {
        one.name
        for one, two in zip(stash.yarns, before.stash.yarns, strict=True)
        if one != two
    }
    assert changed <= {"ball 0", "ball 1"}
    assert {ball.yarn.name for ball in now.balls if ball.knitted_mm} == {
        "ball 0", "ball 1",
    }  # fmt: skip


def test_parts_of_a_ball_share_what_is_left():
    """Of a ball that comes round again what is wound off stays wound off, and what
    was left where its first part was broken off stays aside."""
    before = planned(balls(9, grams=(60,)), toml(MIRRORED, length=60))
    _, start, lie, now = rest(before, rows(40))
    parts = {}
    for one in lie:
        parts.setdefault(one.yarn, []).append(one.part)
    for name in start.held:
        assert len(parts[name]) == 2
        assert parts[name][0] < parts[name][1]  # the first part is half knitted
    left = {ball.yarn.name: ball.left_mm for ball in now.balls}
    wound = {one.part.yarn.name: one.part for one in now.knitted.to_come}
    for name in ("ball 0", "ball 1", "ball 2", "ball 3"):  # broken off, to come again
        (share,) = parts.pop(name)
        kept = wound[name].kept_mm
        assert share * (left[name] - kept) == pytest.approx(wound[name].mm - kept)
    for shares in parts.values():
        assert sum(shares) == pytest.approx(1.0)


def test_a_new_yarn_goes_where_it_fits():
    """A light grey before the dark ones, a black at the end; the held stay first."""
    extra = [
        {"name": n, "colours": c, "grams": 30, "role": "leave out"}
        for n, c in (("Pale", "#b4b4b4"), ("Black", "#020202"))
    ]
    before = planned([*balls(12, grams=(25, 40, 50)), *extra])
    wanted = ReplanChoices(add=("Pale", "Black"))
    stash, start, lie, _ = rest(before, rows(100), wanted=wanted)
    names = [one.yarn for one in lie]
    assert names[:2] == list(start.held)
    assert names.index("Pale") < names.index("ball 6")
    assert names.index("Black") > names.index("ball 8")
    roles = {yarn.name: yarn.role for yarn in stash.yarns}
    assert roles["Pale"] == "use"

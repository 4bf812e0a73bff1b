"""Planned anew: what is knitted stays, the rest goes on, nothing is lost between."""

from collections import Counter
from dataclasses import replace
from functools import lru_cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.blanket import Blanket
from kit.errors import KitError
from kit.fabric import Start
from kit.fabric.fabric import Short
from kit.fabric.stripes import initial_mm
from kit.needles.progress import progress_of
from kit.needles.replan import faster_rows, plan_rest
from kit.needles.replan_choices import ReplanChoices
from kit.plan import plan
from tests.helpers.coverages import a_plan, knitted_with_weighings
from tests.helpers.knitter import as_log
from tests.helpers.plans import balls, planned, toml
from tests.needles.test_progress import taking

MIRRORED = '[colours]\nlayout = "mirrored"\n'
CARRY = '[[carry]]\nyarn = "Mist"\nrows = [3, 40]\n'
MIST = {"name": "Mist", "colours": "#c0c4c8", "grams": 9, "metres_per_100g": 800}

PLANS = {
    "until the yarn ends": a_plan,
    "to a length": lambda: a_plan("60"),
    "mirrored": lambda: planned(balls(9, grams=(60,)), toml(MIRRORED, length=60)),
    "twice": lambda: planned(
        balls(6, grams=(40,)), toml("[colours]\ntimes_through = 2\n")
    ),
    "by value": lambda: planned(balls(9), toml('[colours]\nby = "value"\n')),
    "carried": lambda: planned([*balls(8), MIST], toml(CARRY)),
    "short": lambda: planned(balls(5), toml(length=400)),
}


@lru_cache
def made(name):
    return PLANS[name]()


def again(before, *lines, wanted=None):
    """The re-plan of a plan from this log."""
    yarns = before.stash.yarns
    blanket = Blanket(None, before.stash, None, before.choices)
    now = progress_of(before, as_log(lines, yarns), before.choices, yarns)
    return plan_rest(blanket, before, now, wanted or ReplanChoices())


@pytest.mark.parametrize(
    ("short", "sizes", "gains"),
    [
        ((9, 4), (5.0, 8.0), "5 rows fewer are missing"),
        ((5, 4), (5.0, 5.0), "1 row fewer is missing"),
        ((0, 0), (8.0, 5.0), "the largest step ahead gets smaller, from 8.0 to 5.0"),
        (
            (9, 4),
            (8.0, 5.0),
            "5 rows fewer are missing, and the largest step ahead gets smaller, from "
            "8.0 to 5.0",
        ),
    ],
)
def test_what_an_order_made_anew_gains_is_told(short, sizes, gains, monkeypatch):
    """Fewer rows short or a smaller step: never a larger one as though it were less."""
    before, said = made("by value"), "The yarns to come are arranged anew: "

    def outcome(rows, size):
        missing = Short(rows, 1.0, 1.0, 1.0) if rows else None
        steps = tuple(replace(step, size=size) for step in before.fabric_steps)
        fabric = replace(before.fabric, short=missing)
        return replace(before, fabric=fabric, fabric_steps=steps)

    plans = iter(map(outcome, short, sizes))
    monkeypatch.setattr("kit.needles.replan.plan", lambda *_, **__: next(plans))
    done = again(before, rows(20))
    assert done.sentences == (f"{said}{gains}.",)
    assert done.after.fabric_steps[-1].size == sizes[1]


def rows(row):
    return {"row": str(row), "what": "knitted"}


def held_in(fabric, row):
    """Which strands lie in each stitch of a row, as (first, names) from its start."""
    first, last = (row - 1) * fabric.stitches, row * fabric.stitches
    return [
        (max(first, s.first), Counter(y.name for y in s.strands + s.carried))
        for s in fabric.stripes
        if s.first < last and s.last > first
    ]


def check_sums(after):
    """kept + used + left = had to the millimetre, and what the stripes take is used."""
    used = Counter()
    for stripe in after.fabric.stripes:
        for yarn in stripe.strands + stripe.carried:
            used[yarn.name] += round(1000 * stripe.metres_each)
    for use in after.fabric.uses:
        assert use.initial_mm == initial_mm(use.yarn)
        assert use.kept_mm + use.used_mm + use.left_mm == use.initial_mm
        assert min(use.kept_mm, use.used_mm, use.left_mm) >= 0
        assert use.used_mm == used.pop(use.yarn.name, 0)
    assert not used


# --- what must hold -------------------------------------------------------------------


@pytest.mark.parametrize("name", PLANS)
def test_at_row_0_it_is_the_plan(name):
    """Nothing knitted, nothing wished: the very plan."""
    before = made(name)
    assert again(before).after == before


@pytest.mark.parametrize("name", PLANS)
def test_not_begun_is_the_plan(name):
    """`plan(start=Start())` at row 0 changes nothing."""
    before = made(name)
    assert plan(before.stash, before.choices, start=Start()) == before


@pytest.mark.parametrize("name", PLANS)
def test_at_the_last_row_nothing_changes(name):
    """All knitted as planned: the same stripes, the same amounts, to the millimetre."""
    before = made(name)
    after = again(before, rows(before.fabric.rows)).after
    assert after.fabric.stripes == before.fabric.stripes
    assert after.fabric.short == before.fabric.short
    old = {use.yarn.name: use for use in before.fabric.uses if use.used_mm}
    new = {use.yarn.name: use for use in after.fabric.uses if use.used_mm}
    assert new.keys() == old.keys()
    for name, use in old.items():
        assert (new[name].initial_mm, new[name].used_mm) == (
            use.initial_mm,
            use.used_mm,
        )
        # of a ball whose two places adjoin (at the turn) the plan keeps a tail for
        # each; knitted in one go it has one
        joined = name == "ball 7" and before.choices.laying.layout == "mirrored"
        assert use.kept_mm - new[name].kept_mm == (300 if joined else 0)


def test_the_smoothest_order_is_kept():
    """Going on in an order sought for the stripes does not seek it again."""
    text = toml('[colours]\nby = "smoothest"\n')
    before = planned(balls(7), text)
    assert again(before).after == before
    after = again(before, rows(40), wanted=ReplanChoices(order="keep")).after
    order = [one.yarn for one in after.start.ahead]
    assert order == [n for n in _joining(before) if n in order]


def _joining(before):
    stripes = before.fabric.stripes
    return list(dict.fromkeys(y.name for s in stripes for y in s.strands))


@settings(max_examples=12, suppress_health_check=list(HealthCheck))
@given(st.sampled_from(list(PLANS)), st.integers(1, 999))
def test_knitted_rows_never_change(name, per_mille):
    """Every stitch up to the row holds what it held, and the sums still agree."""
    before = made(name)
    row = max(1, before.fabric.rows * per_mille // 1000)
    after = again(before, rows(row)).after
    for k in range(1, row + 1):
        assert held_in(after.fabric, k) == held_in(before.fabric, k)
    assert after.start.row == row
    check_sums(after)


@pytest.mark.parametrize("name", PLANS)
def test_the_first_stripe_goes_on(name):
    """Row r + 1 begins with the strands that were on the needle after row r."""
    before = made(name)
    row = before.fabric.rows // 3
    after = again(before, rows(row)).after
    last = held_in(before.fabric, row)[-1][1]
    first = held_in(after.fabric, row + 1)[0][1]
    on = {n for n in last if n != "Mist"}
    assert on <= set(first) | _just_ended(before, row)
    assert set(after.start.held) == on


def _just_ended(before, row):
    end = row * before.fabric.stitches
    return {y.name for s in before.fabric.stripes if s.last == end for y in s.strands}


@pytest.mark.parametrize("name", PLANS)
def test_as_planned_it_stays_much_as_planned(name):
    """Knitted as planned, no weighing: as long a blanket, no harder step ahead."""
    before = made(name)
    row = before.fabric.rows // 3
    replanned = again(before, rows(row))
    sides = {what: (one, two) for what, one, two in replanned.sides}
    after = replanned.after.fabric
    # balls trimmed anew, joins four rows apart: a few rows either way
    assert abs(after.rows - before.fabric.rows) <= 8
    old, new = map(float, sides["largest step to come"])
    assert new <= old + 1.0


# --- what was measured ----------------------------------------------------------------


@pytest.mark.parametrize("share", [0.9, 1.1])
def test_the_pace_measured_is_knitted_on(share):
    """A stitch that takes a tenth more makes a blanket about that much shorter."""
    before = a_plan()
    lines = taking(share, 60)
    replanned = again(before, *lines)
    after = replanned.after
    check_sums(after)
    yarns = before.stash.yarns
    now = progress_of(before, as_log(lines, yarns), before.choices, yarns)
    for row in range(1, 61):
        assert held_in(after.fabric, row) == held_in(before.fabric, row)
    ahead, planned_rows = after.fabric.rows - 60, before.fabric.rows - 60
    # balls to come as long as before; those on the needle as weighed
    assert ahead == pytest.approx(planned_rows / now.posterior.pace, rel=0.06)
    swatch = dict(after.start.changes)["gauge.swatch"]
    assert swatch["grams"] > 0


def test_conservation_over_weighings_and_replans():
    """Three weighings, each followed by a new plan: sums hold in every one."""
    before = a_plan()
    _, logs, _ = knitted_with_weighings(before, "again")
    for look, lines, _ in logs:
        after = again(before, *lines).after
        check_sums(after)
        assert after.start.row == look


# --- wishes ---------------------------------------------------------------------------


def names_ahead(after, row):
    end = row * after.fabric.stitches
    return {y.name for s in after.fabric.stripes if s.last > end for y in s.strands}


def test_a_yarn_dropped_is_not_used_any_more():
    """On the needle or still to come."""
    before = a_plan()
    on = again(before, rows(100), wanted=ReplanChoices(drop=("ball 3",))).after
    assert "ball 3" not in names_ahead(on, 100)
    assert "ball 3" in {use.yarn.name for use in on.fabric.uses if use.used_mm}
    coming = again(before, rows(100), wanted=ReplanChoices(drop=("ball 8",))).after
    assert "ball 8" not in names_ahead(coming, 100)
    check_sums(on)


def test_a_yarn_taken_in_is_used():
    """Held back in the stash, and taken in where it fits."""
    extra = {"name": "New", "colours": "#808080", "grams": 40,
             "metres_per_100g": 400, "role": "leave out"}  # fmt: skip
    before = planned([*balls(12, grams=(25, 40, 50)), extra])
    after = again(before, rows(100), wanted=ReplanChoices(add=("New",))).after
    assert "New" in names_ahead(after, 100)
    assert after.fabric.rows > before.fabric.rows
    check_sums(after)


def test_to_the_end_of_the_yarn_or_to_a_length():
    """Both ways from either."""
    before = a_plan("60")
    longer = again(before, rows(50), wanted=ReplanChoices(length_cm="all")).after
    assert longer.fabric.rows > before.fabric.rows == 156
    shorter = again(a_plan(), rows(50), wanted=ReplanChoices(length_cm=80.0)).after
    assert shorter.fabric.rows == 208
    assert shorter.fabric.short is None


def test_faster_from_here():
    """A pace of so many rows holds for what is to come."""
    before = a_plan()
    half = faster_rows(before, 100)
    after = again(before, rows(100), wanted=ReplanChoices(rows_per_colour=half)).after
    joins = [s.first_row for s in after.fabric.stripes if s.first_row > 102]
    gaps = {b - a for a, b in zip(joins, joins[1:], strict=False)}
    assert max(gaps) <= half
    assert half < 43


def test_another_layout_from_here():
    """Dark to light from row 100: the next is one of the three darkest (joining looks
    so far ahead), the last the lightest of what was to come."""
    text = toml('[colours]\nby = "value"\n')
    before = planned(balls(12, grams=(25, 40, 50)), text)
    after = again(before, rows(100), wanted=ReplanChoices(layout="dark-to-light")).after
    joined = [
        next(iter({y.name for y in b.strands} - {y.name for y in a.strands}))
        for a, b in zip(after.fabric.stripes, after.fabric.stripes[1:], strict=False)
        if b.first_row > 100
    ]
    assert joined[0] in {"ball 9", "ball 10", "ball 11"}
    assert joined[-1] == "ball 4"
    check_sums(after)


def test_broken_off_balls_are_taken_in():
    """Leftovers knit on."""
    before = a_plan("100")
    plain = again(before, rows(100)).after
    after = again(before, rows(100), wanted=ReplanChoices(leftovers=True)).after
    assert "ball 0" in names_ahead(after, 100)
    assert "ball 0" not in names_ahead(plain, 100)
    check_sums(after)


def test_several_wishes_at_once_keep_the_sums():
    """Drop one, another length, another pace; then once more on top of that."""
    before = a_plan()
    wanted = ReplanChoices(drop=("ball 6",), length_cm=90.0, rows_per_colour=12)
    after = again(before, rows(80), wanted=wanted).after
    check_sums(after)
    assert dict(after.start.changes) == {
        "size.length_cm": 90.0, "pace.rows_per_colour": 12,
    }  # fmt: skip


def test_wishes_that_cannot_be():
    """Yarns that are not there, both added and dropped, unknown words: all told."""
    wanted = ReplanChoices(("Sge",), ("ball 3", "ball 4"), layout="upside")
    with pytest.raises(KitError) as error:
        again(a_plan(), rows(10), wanted=wanted)
    assert [fault.code for fault in error.value.faults] == ["unknown", "unknown"]
    with pytest.raises(KitError, match='"ball 3" is to be added and dropped'):
        again(a_plan(), rows(10), wanted=ReplanChoices(("ball 3",), ("ball 3",)))


def test_it_shows_itself_in_a_line():
    """What was before and after, in words."""
    replanned = again(a_plan(), rows(100))
    assert repr(replanned) == "Replan(from row 100, 6 figures)"
    assert [what for what, _, _ in replanned.sides] == [
        "rows", "length", "rows short", "joins to come", "largest step to come",
        "left over of the yarns used",
    ]  # fmt: skip

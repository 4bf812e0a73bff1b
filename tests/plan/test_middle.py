"""Where a mirrored blanket goes back, and what it meets twice."""

import re
from dataclasses import replace

import pytest

from kit.fabric import Start, rows_to_knit
from kit.fabric.schedule import winding
from kit.plan.middle import (
    ball_jumps,
    half_words,
    middle_places,
    middle_words,
    middles,
    row_after,
    stripe_jumps,
)
from kit.report import flow_lines
from kit.report.cards import materials, tags
from kit.report.page import plan_html
from kit.widgets.fabric.view import join_lines
from tests.helpers.plans import balls, planned, toml

MIRRORED = '[colours]\nlayout = "mirrored"\n'
PAIRED = MIRRORED + 'sharing = "pair"\n'


def mirrored(n=9, text=MIRRORED, **kw):
    return planned(balls(n, grams=kw.pop("grams", (60,))), toml(text, **kw))


def page_of(plan):
    html = plan_html(plan, pictures={}, sentences=())
    return html[html.index("<main>") :]


# --- where it is ----------------------------------------------------------------------


@pytest.mark.parametrize("length", [60, 500])
def test_half_way_where_the_halves_are_alike(length):
    """In the very middle of the rows, also of a blanket that is short of yarn; the
    darkest is on the needle there."""
    plan = mirrored(length=length)
    (stitch,) = middles(plan)
    assert stitch == plan.fabric.stripes[-1].last // 2
    (at,) = (s for s in plan.fabric.stripes if s.first < stitch <= s.last)
    assert plan.design.arrangement.yarns[-1] in at.strands
    assert row_after(plan, stitch) == plan.fabric.rows // 2 + 1


def test_among_the_darkest_where_balls_are_paired():
    """Half-way along the rows of the darkest, where lighter ones follow."""
    plan = mirrored(12, PAIRED, length=500)
    darkest = plan.design.arrangement.yarns[-1]
    held = [s for s in plan.fabric.stripes if darkest in s.strands]
    assert middles(plan) == ((held[0].first + held[-1].last) // 2,)


def test_only_what_is_reached():
    """Cut off before the darkest is left again, the blanket has no middle; nor has one
    that goes one way, or one without fabric."""
    plan = mirrored(12, PAIRED, length=500)
    darkest = plan.design.arrangement.yarns[-1]
    last = max(k for k, s in enumerate(plan.fabric.stripes) if darkest in s.strands)
    cut = replace(plan.fabric, stripes=plan.fabric.stripes[: last + 1])
    assert middles(replace(plan, fabric=cut)) == ()
    assert middles(planned(balls(9), toml())) == ()
    assert middles(replace(plan, fabric=None)) == ()
    assert middle_places(planned(balls(9), toml())) == ()


def test_one_for_each_time_through():
    """Twice through a mirrored run goes back twice."""
    plan = mirrored(7, MIRRORED + "times_through = 2\n", length=120)
    darkest = plan.design.arrangement.yarns[-1]
    found = middles(plan)
    assert len(found) == len(middle_places(plan)) == 2
    for stitch in found:
        (at,) = (s for s in plan.fabric.stripes if s.first <= stitch < s.last)
        assert darkest in at.strands


def test_the_place_along_the_run():
    """The darkest, once, in the middle of the run."""
    plan = mirrored(length=60)
    assert middle_places(plan) == (len(plan.design.laid.yarns) // 2,)


def test_one_line_of_the_schedule_tells_it():
    """The line that the middle lies in, and no other; once the rows are knitted too."""
    plan = mirrored(length=60)
    entries = rows_to_knit(plan.fabric, plan.choices)
    told = [k for k, entry in enumerate(entries) if middle_words(plan, entry)]
    (stitch,), (k,) = middles(plan), told
    assert entries[k].stripe.first < stitch <= entries[k].stripe.last
    row = plan.fabric.rows // 2
    where = f"after row {row}" if plan.fabric.rows % 2 == 0 else f"in row {row + 1}"
    assert where in middle_words(plan, entries[k])
    page = page_of(plan)
    assert join_lines(plan).count(middle_words(plan, entries[k])) == 1
    assert page.count("<b>↩ The middle") == 1
    assert page.count("↩ middle</text>") == 1
    assert "The middle" not in page_of(planned(balls(9), toml()))


# --- halves ---------------------------------------------------------------------------


def test_parts_are_told_by_their_half():
    """The first of two parts lies in the first half, the later one in the second; tags
    say it, and one for a whole ball says nothing."""
    plan = mirrored(length=60)
    (stitch,) = middles(plan)
    made = tags(plan)
    assert {tag.half for tag in made} == {"first half", "second half", ""}
    for tag in made:
        assert tag.half == half_words(tag.part, plan)
        assert (tag.half == "") == (tag.part.n_parts == 1)
        if tag.half:
            assert (tag.half == "first half") == (tag.part.last <= stitch)
    page = page_of(plan)
    assert page.count("<b>first half</b>") == page.count("<b>second half</b>") > 3


def test_wound_off_is_told_before_the_rows():
    """The winding list stands before the rows to knit, and the table of yarns says of
    each ball how much is wound off it."""
    plan = mirrored(length=60)
    page = page_of(plan)
    assert page.index("Before casting on: wind") < page.index("Rows to knit")
    assert "for the second half" in page
    parted = winding(plan.fabric, plan.choices)
    assert {one.yarn: one.wound for one in materials(plan) if one.wound} == {
        parts[0].yarn: parts for parts in parted
    }
    assert len(re.findall(r"<b>wind .*? off</b>", page)) == len(parted) > 3


def test_both_parts_of_a_ball_beside_each_other_are_told():
    """Where a ball is held with its own other part, the line says so."""
    plan = mirrored(length=60)
    first, *rest = plan.fabric.stripes
    twice = replace(first, strands=(*first.strands, first.strands[0]))
    assert "both parts of it" not in page_of(plan)
    fabric = replace(plan.fabric, stripes=(twice, *rest))
    assert page_of(replace(plan, fabric=fabric)).count("(both parts of it)") == 2


# --- met twice ------------------------------------------------------------------------


def jumpy(text=MIRRORED):
    """A run in which single steps are jumps, and stripes too."""
    limits = "jump_limit = 10\nfabric_jump_limit = 5\n"
    return planned(balls(6, grams=(60,)), toml(text + limits, length=60))


def test_a_jump_of_both_halves_is_told_once():
    """Every jump is at hand once, worst first, with both its places."""
    plan = jumpy()
    for told, steps in (
        (ball_jumps(plan), plan.design.steps),
        (stripe_jumps(plan), plan.fabric_steps),
    ):
        places = sorted(k for met in told for k in met.places)
        assert places == [
            k for k, step in enumerate(steps) if step.jump and step.counts
        ]
        assert {len(met.places) for met in told} == {2}
        n = len(steps)
        assert all(sum(met.places) == n - 1 for met in told)
        sizes = [steps[met.places[0]].size for met in told]
        assert sizes == sorted(sizes, reverse=True)


def test_told_in_words():
    """The summary and the page say that it is met on the way out and back."""
    plan = jumpy()
    words = "twice: on the way out and back"
    n = len(ball_jumps(plan))
    told = flow_lines(plan)
    assert sum(line.endswith(words) for line in told) == min(n, 6) == len(told) - 1
    assert page_of(plan).count(words) == n


def test_a_run_one_way_is_told_as_it_was():
    """Without a mirror every jump has its own line."""
    plan = jumpy("[colours]\n")
    assert all(len(met.places) == 1 for met in ball_jumps(plan))
    assert all(met.words == "" for met in ball_jumps(plan))


def test_going_on_it_stays_where_it_was():
    """Planned anew from a row of the first half, the middle is where the darkest is."""
    plan = mirrored(length=60)
    on = replace(plan, start=Start(row=10))
    (stitch,) = middles(on)
    assert stitch == middles(plan)[0]
    assert middle_places(on) == ()

"""The places knitted to the wished length: trimmed, and mirrored."""

import pytest

from kit.blanket.choices import Pace
from kit.fabric.ball_shares import Task, knit, restarts
from kit.fabric.setup import places_of, set_up
from kit.fabric.stripes import initial_mm, stripe_steps
from tests.helpers.balls import SECTIONS, ball, chosen, laid_by_value, stash


def task_of(yarns, **kw):
    choices = chosen(**kw)
    places = places_of(laid_by_value(yarns, choices), choices)
    return places, Task(choices, set_up(choices.making))


def names(stripe):
    return sorted(yarn.name for yarn in stripe.strands)


def test_the_largest_are_trimmed():
    """No ball gives more than the cap, and those below it give all they have."""
    for seed in range(6):
        places, task = task_of(stash(30, seed), length_cm=90.0)
        knitted = knit(places, task)
        usable = [initial_mm(p.yarn) - knitted.kept[p.yarn.name] for p in places]
        cap = max(knitted.supply.mm)
        assert cap < max(usable)
        assert knitted.supply.mm == tuple(min(mm, cap) for mm in usable)
        assert knitted.stripes[-1].last == task.setup.until


def test_trimmed_no_more_than_needed():
    """With balls a metre shorter the blanket is no longer full."""
    for seed in range(6):
        places, task = task_of(stash(30, seed, mixed=False), length_cm=90.0)
        knitted = knit(places, task)
        left = sum(knitted.supply.mm) - sum(
            round(1000 * s.metres_each) * len(s.strands) for s in knitted.stripes
        )
        # The last strands may end anywhere; that much was joined and not knitted, or
        # broken off to keep joins apart (up to eight rows a join).
        row_mm = task.setup.lengths.mm_at(task.setup.stitches)
        assert left <= 8 * row_mm * len(knitted.stripes)


def test_a_pace_is_not_trimmed():
    """With a fixed pace each ball is left as it is."""
    places, task = task_of(stash(30, 1), length_cm=90.0, pace=Pace(rows_per_colour=6))
    knitted = knit(places, task)
    usable = [initial_mm(p.yarn) - knitted.kept[p.yarn.name] for p in places]
    assert list(knitted.supply.mm) == usable


def test_whole_rows():
    """Where the yarn ends first, the last row is a whole one."""
    for seed in range(6):
        places, task = task_of(stash(12, seed), width_cm=73.0)
        assert knit(places, task).stripes[-1].last % task.setup.stitches == 0


@pytest.mark.parametrize("sections", [(), SECTIONS])
@pytest.mark.parametrize("length_cm", [None, 60.0, 500.0])
@pytest.mark.parametrize("times", [1, 2])
def test_a_mirrored_blanket_is_a_palindrome(sections, length_cm, times):
    """Stripes and their stitches read alike from both edges, but for an odd stitch."""
    for seed in range(4):
        places, task = task_of(
            stash(12, seed), layout="mirrored", sections=sections, length_cm=length_cm,
            times=times, width_cm=45.5,
        )  # fmt: skip
        stripes = knit(places, task).stripes
        held, sizes = [names(s) for s in stripes], [s.last - s.first for s in stripes]
        assert held == held[::-1]
        assert max(abs(a - b) for a, b in zip(sizes, sizes[::-1], strict=True)) <= 1


def test_mirrored_sections_cost_their_own():
    """Where the halves take different yarn, none is overdrawn."""
    for seed in range(8):
        places, task = task_of(stash(9, seed), layout="mirrored", sections=SECTIONS)
        knitted = knit(places, task)
        used = dict.fromkeys(knitted.kept, 0)
        for stripe in knitted.stripes:
            for yarn in stripe.strands:
                used[yarn.name] += round(1000 * stripe.metres_each)
        for place in places:
            name = place.yarn.name
            assert used[name] + knitted.kept[name] <= initial_mm(place.yarn)


def test_where_the_run_starts_anew():
    """The stripe in which the second time through joins the first, and its next."""
    yarns = [
        ball(name, value, 90)
        for name, value in zip("ABCD", (90, 70, 40, 20), strict=True)
    ]
    places, task = task_of(yarns, times=2)
    stripes = knit(places, task).stripes
    assert [names(s) for s in stripes if s.restart] == [["A", "D"], ["A", "B"]]
    steps = stripe_steps(stripes, task.choices)
    assert sum(step.join for step in steps) == 2
    assert restarts((2, 3), (3, 4), (0, 0, 0, 0, 1, 1))
    assert not restarts((4, 5), (5, 6), (0, 0, 0, 0, 1, 1, 1))
    assert not restarts((), (0, 1), (0, 1))

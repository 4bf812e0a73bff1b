"""Begun well; mirrored runs joined so that little is lost and the dark is reached."""

from dataclasses import replace

import pytest

from kit.blanket.choices import Arranging, Pace
from kit.colour.steps import largest_step
from kit.fabric.ball_shares import Task, is_folded, knit
from kit.fabric.mirror_reach import knit_well
from kit.fabric.setup import places_of, set_up
from kit.fabric.strands import ROWS_APART
from kit.fabric.stripes import initial_mm, stripe_steps
from tests.helpers.balls import SECTIONS, ball, chosen, laid_by_value, stash

LONG = 500.0  # cm: longer than any of these stashes makes
LIMIT = chosen().judging.fabric_jump_limit


def task_of(yarns, **kw):
    choices = chosen(**kw)
    places = places_of(laid_by_value(yarns, choices), choices)
    return places, Task(choices, set_up(choices.making))


def mirrored(n, seed, **kw):
    """Part-balls of one thickness, laid mirrored; short of yarn unless told."""
    wished = {"length_cm": LONG, "width_cm": 45.5, "layout": "mirrored"} | kw
    return task_of(stash(n, seed, mixed=False), **wished)


def names(stripe):
    return sorted(yarn.name for yarn in stripe.strands)


def largest(knitted, task):
    return largest_step(stripe_steps(knitted.stripes, task.choices))


def end(knitted):
    return knitted.stripes[-1].last


def used(knitted):
    """Millimetres of each yarn in the stripes."""
    mm = {}
    for stripe in knitted.stripes:
        for yarn in stripe.strands:
            mm[yarn.name] = mm.get(yarn.name, 0) + round(1000 * stripe.metres_each)
    return mm


def dark_rows(knitted, places):
    darkest = places[len(places) // 2].yarn
    return sum(s.rows for s in knitted.stripes if darkest in s.strands)


def test_half_a_ball_only_where_it_helps():
    """Begun with half its first ball only if the largest step is then smaller."""
    halves = []
    for seed in range(12):
        places, task = task_of(stash(20, seed), length_cm=(None, 90.0)[seed % 2])
        best, half = knit_well(places, task)
        whole = knit(places, task)
        assert largest(best, task) <= largest(whole, task)
        assert half == (best.stripes != whole.stripes)
        assert not half or largest(best, task) < largest(whole, task)
        halves.append(half)
    assert len(set(halves)) == 2


def test_half_a_ball_never_makes_it_shorter():
    """A blanket short of yarn is not made shorter for smoothness' sake."""
    for seed in range(6):
        places, task = task_of(stash(8, seed), length_cm=600.0)
        best, _ = knit_well(places, task)
        assert best.stripes[-1].last >= knit(places, task).stripes[-1].last


# --- mirrored runs --------------------------------------------------------------------


@pytest.mark.parametrize("sharing", ["halve", "pair"])
def test_a_short_mirrored_blanket_reaches_further(sharing):
    """Never shorter but for the four rows that let the darkest in; longer by four rows
    at least where anything changed; no step over the limit and over what it was."""
    longer = []
    for seed in range(12):
        places, task = mirrored(5 + seed % 8, seed, sharing=sharing)
        plain, (best, half) = knit(places, task), knit_well(places, task)
        row, let_in = task.setup.stitches, False
        if is_folded(places, task):
            let_in = dark_rows(plain, places) < ROWS_APART <= dark_rows(best, places)
        gained = (end(best) - end(plain)) / row
        assert not half
        assert gained == 0 or gained >= ROWS_APART or let_in
        assert gained >= (-ROWS_APART if let_in else 0)
        if gained > 0 and not let_in:
            assert largest(best, task) <= max(LIMIT, largest(plain, task)) + 1e-6
        longer.append(gained > 0)
    assert any(longer)


def test_a_ball_and_the_next_change_places():
    """Worked by hand: A with B and C, then D with C; the last of D is lost in either
    half. With C and D exchanged all three that wait are knitted up together."""
    metres = {"A": 80, "B": 40, "C": 40, "D": 80}
    yarns = [ball(n, 90 - 9 * k, m) for k, (n, m) in enumerate(metres.items())]
    places, task = task_of(
        [*yarns, ball("E", 50, 20)], layout="mirrored", length_cm=LONG, width_cm=20.0
    )
    plain, (best, _) = knit(places, task), knit_well(places, task)
    lost = [sum(initial_mm(y) for y in (*yarns,)) - sum(used(k).values())
            for k in (plain, best)]  # fmt: skip
    assert lost[1] <= lost[0]
    assert end(best) >= end(plain)


@pytest.mark.parametrize("sections", [(), SECTIONS])
def test_it_still_reads_alike_from_both_edges(sections):
    """Exchanged or broken off, every stripe has its image; none is overdrawn."""
    for seed in range(8):
        places, task = mirrored(4 + seed, seed, sections=sections)
        knitted, _ = knit_well(places, task)
        stripes = knitted.stripes
        held, sizes = [names(s) for s in stripes], [s.last - s.first for s in stripes]
        assert is_folded(places, task)
        assert held == held[::-1]
        assert max(abs(a - b) for a, b in zip(sizes, sizes[::-1], strict=True)) <= 1
        for place in places:
            mm = used(knitted).get(place.yarn.name, 0)
            assert mm + knitted.kept[place.yarn.name] <= initial_mm(place.yarn)


def test_what_stands_once_is_held_in_one_go():
    """The darkest is joined once and held through the fold, also before its turn."""
    for seed in range(12):
        places, task = mirrored(4 + seed % 6, seed)
        knitted, _ = knit_well(places, task)
        darkest = places[len(places) // 2].yarn
        on = [False, *(darkest in stripe.strands for stripe in knitted.stripes)]
        assert sum(now and not was for was, now in zip(on, on[1:], strict=False)) == 1


def test_the_darkest_is_reached():
    """Where balls run out together just before the fold, one is broken off so that the
    darkest stands there four rows or more; as many rows are knitted as without."""
    yarns = [ball("A", 90, 100), ball("B", 75, 100), ball("E", 30, 60)]
    places, task = task_of(yarns, layout="mirrored", length_cm=LONG, width_cm=20.0)
    plain, (best, _) = knit(places, task), knit_well(places, task)
    assert dark_rows(plain, places) < ROWS_APART <= dark_rows(best, places)
    assert end(best) >= end(plain) - ROWS_APART * task.setup.stitches
    assert names(best.stripes[len(best.stripes) // 2]).count("E") == 1


def test_long_enough_is_left_as_it_is():
    """Where the length is met and the darkest is in, nothing is exchanged."""
    for seed in range(5):
        places, task = mirrored(9, seed, length_cm=50.0)
        plain, (best, _) = knit(places, task), knit_well(places, task)
        assert end(plain) == task.setup.until
        if dark_rows(plain, places) >= ROWS_APART:
            assert best.stripes == plain.stripes


def test_a_pace_and_an_order_by_hand_are_kept():
    """Neither is what the maker asked for undone for the sake of length."""
    for wish in (
        {"pace": Pace(rows_per_colour=6)},
        {"arranging": Arranging("hand", order=("y00", "y01"))},
    ):
        places, task = mirrored(8, 3, **wish)
        assert knit_well(places, task)[0].stripes == knit(places, task).stripes


def test_nothing_on_the_way_back_overtakes_the_darkest():
    """A darkest one that contrasts too much with those held has its turn all the same:
    balls dealt out in pairs, the darkest far from its neighbours."""
    yarns = [
        ball(n, value, 50)
        for n, value in zip("ABCDEF", (92, 88, 84, 80, 76, 72), strict=True)
    ]
    places, task = task_of(
        [*yarns, ball("Z", 12, 50)], layout="mirrored", sharing="pair", width_cm=20.0
    )
    stripes = knit(places, task).stripes
    joined = list(dict.fromkeys(n for s in stripes for n in names(s)))
    run = [place.yarn.name for place in places]
    assert set(run[run.index("Z") + 1 :]).isdisjoint(joined[: joined.index("Z")])


def test_another_order_is_knitted_as_asked():
    """`order` says who joins next; the stripes hold what it says."""
    yarns = [ball(n, 80 - 5 * k, 60) for k, n in enumerate("ABCD")]
    places, task = task_of(yarns, width_cm=20.0)
    stripes = knit(places, replace(task, order=(0, 2, 1, 3))).stripes
    assert names(stripes[0]) == ["A", "C"]

"""Rows to knit: nothing left out, nothing counted twice; balls parted and wound."""

import pytest

from kit.fabric.schedule import (
    WORTH_KEEPING_MM,
    ball_parts,
    rows_to_knit,
    weight_g,
    winding,
)
from kit.fabric.setup import BIND_OFF_ROWS, CAST_ON_ROWS
from tests.helpers.plans import balls, planned, toml
from tests.helpers.yarns import yarn

SECTIONS = """
[[sections]]
name = "moss stitch"
rows = 14
rows_per_10cm = 34
[[sections]]
name = "garter"
rows = 9
yarn_factor = 1.1
"""
MIRRORED = '[colours]\nlayout = "mirrored"\n'
CARRY = '[[carry]]\nyarn = "Mist"\nrows = [3, 40]\n'
MIST = {"name": "Mist", "colours": "#c0c4c8", "grams": 9, "metres_per_100g": 800}

PLANS = {
    "plain": lambda: planned(balls(9)),
    "sections": lambda: planned(balls(9), toml(SECTIONS)),
    "mirrored": lambda: planned(balls(9), toml(MIRRORED)),
    "mirrored to a length": lambda: planned(
        balls(9, grams=(60,)), toml(MIRRORED, length=60)
    ),
    "twice through": lambda: planned(
        balls(6, grams=(40,)), toml("[colours]\ntimes_through = 2\n")
    ),
    "carried": lambda: planned([*balls(8), MIST], toml(CARRY)),
    "trimmed": lambda: planned(balls(9, grams=(9, 90)), toml(length=50)),
    "one yarn": lambda: planned(
        balls(1), toml("[strands]\nleast = 1\nfabric_tex = 250\n")
    ),
}


@pytest.fixture(params=PLANS, scope="module")
def made(request):
    plan = PLANS[request.param]()
    return plan, rows_to_knit(plan.fabric, plan.choices)


def used_mm(entries):
    used = {}
    for entry in entries:
        for one in entry.stripe.strands + entry.stripe.carried:
            mm = round(1000 * entry.stripe.metres_each)
            used[one.name] = used.get(one.name, 0) + mm
    return used


def test_the_lines_cover_the_blanket(made):
    """From the first stitch to the last, one after the other, in the stripes' order."""
    plan, entries = made
    fabric = plan.fabric
    assert entries[0].stripe.first == 0
    assert entries[-1].stripe.last == fabric.stripes[-1].last
    for one, two in zip(entries, entries[1:], strict=False):
        assert one.stripe.first < one.stripe.last == two.stripe.first
    edges = {entry.stripe.first for entry in entries}
    assert {stripe.first for stripe in fabric.stripes} <= edges


def test_the_lines_take_what_the_fabric_takes(made):
    """Millimetre by millimetre for every yarn, and so does the running total."""
    plan, entries = made
    taken = used_mm(entries)
    assert taken == {u.yarn.name: u.used_mm for u in plan.fabric.uses if u.used_mm}
    assert entries[-1].total_m == pytest.approx(sum(taken.values()) / 1000, abs=1e-9)
    grams = sum(weight_g(use.yarn, use.used_mm) for use in plan.fabric.uses)
    assert entries[-1].total_g == pytest.approx(grams)
    totals = [entry.total_m for entry in entries]
    assert totals == sorted(totals)


def test_every_strand_comes_and_goes_once(made):
    """Each part of a ball is joined once and ends once, and is held in between."""
    plan, entries = made
    held, gone = set(), []
    for entry in entries:
        for change in entry.joins:
            assert change.part.yarn not in held
            held.add(change.part.yarn)
            place = entry.stripe.first_row, entry.stripe.first_stitch
            assert (change.row, change.stitch) == place
        assert held == {*entry.stripe.strands, *entry.stripe.carried}
        for change in entry.ends:
            held.remove(change.part.yarn)
            gone.append(change.part)
            place = entry.stripe.last_row, entry.stripe.last_stitch
            assert (change.row, change.stitch) == place
    assert not held
    assert len(gone) == len(set(gone))
    parts = ball_parts(plan.fabric, plan.choices).values()
    assert set(gone) == {part for several in parts for part in several}


def test_parts_make_up_their_ball(made):
    """Kept back, used and left of all parts are those of the ball, none below 0."""
    plan, _ = made
    parts = ball_parts(plan.fabric, plan.choices)
    for use in plan.fabric.uses:
        own = parts[use.yarn.name]
        assert sum(part.mm for part in own) == use.initial_mm
        assert sum(part.kept_mm for part in own) == use.kept_mm
        assert sum(part.used_mm for part in own) == use.used_mm
        assert min(min(part.kept_mm, part.used_mm, part.left_mm) for part in own) >= 0


def test_first_and_last_line_name_the_edges(made):
    """All strands of the first line are cast on, all own ones of the last bound off."""
    _, entries = made
    assert {change.kind for change in entries[0].joins} == {"cast on"}
    strands = entries[-1].stripe.strands
    bound = {c.part.yarn for c in entries[-1].ends if c.kind == "bind off"}
    assert bound == set(strands)
    inner = [c.kind for e in entries[1:-1] for c in (*e.joins, *e.ends)]
    assert not {"cast on", "bind off"} & set(inner)


def test_big_balls_are_broken_off_and_small_ones_run_out():
    """By what is left on the ball: over two metres, or less."""
    plan = PLANS["trimmed"]()
    kinds = {}
    for entry in rows_to_knit(plan.fabric, plan.choices):
        for change in entry.ends:
            kinds.setdefault(change.kind, []).append(change.part.left_mm)
    assert min(kinds["break off"]) >= WORTH_KEEPING_MM > max(kinds["runs out"])


# --- sections -------------------------------------------------------------------------


def test_sections_cycle_along_the_blanket():
    """Rows 1-14 moss, 15-23 garter, 24-37 moss …: every line lies in one of them."""
    plan = PLANS["sections"]()
    entries = rows_to_knit(plan.fabric, plan.choices)
    for entry in entries:
        for row in (entry.stripe.first_row, entry.stripe.last_row):
            section = "moss stitch" if (row - 1) % 23 < 14 else "garter"
            assert entry.section == section
    turns = [
        one.section
        for one, two in zip(entries, [None, *entries], strict=False)
        if two is None or one.section != two.section
    ]
    assert turns[:4] == ["moss stitch", "garter"] * 2


def test_two_rows_of_garter_make_a_ridge():
    """Ridges are counted from where this garter begins, and only in garter."""
    plan = PLANS["sections"]()
    for entry in rows_to_knit(plan.fabric, plan.choices):
        if entry.section == "moss stitch":
            assert entry.ridges is None
            continue
        begun = (entry.stripe.first_row - 1) // 23 * 23 + 14
        first, last = entry.stripe.first_row - begun, entry.stripe.last_row - begun
        assert entry.ridges == (-(-first // 2), -(-last // 2))


def test_garter_throughout_is_counted_from_the_cast_on_edge():
    """A single section never cuts a stripe; its last ridge holds the last row."""
    garter = '[[sections]]\nname = "Garter stitch"\nrows = 2\n'
    plan = planned(balls(9), toml(garter))
    entries = rows_to_knit(plan.fabric, plan.choices)
    assert len(entries) == len(plan.fabric.stripes)
    assert entries[0].ridges[0] == 1
    assert entries[-1].ridges[1] == -(-plan.fabric.rows // 2)


def test_a_short_cycle_is_a_pattern_and_cuts_nothing():
    """Two rows of this and two of that are named together."""
    two = (
        '[[sections]]\nname = "knit"\nrows = 2\n[[sections]]\nname = "slip"\nrows = 2\n'
    )
    plan = planned(balls(9), toml(two))
    entries = rows_to_knit(plan.fabric, plan.choices)
    assert len(entries) == len(plan.fabric.stripes)
    assert {entry.section for entry in entries} == {"knit / slip"}


# --- winding --------------------------------------------------------------------------


def test_a_mirrored_blanket_is_wound_before_casting_on():
    """Every ball but the one at the turn comes in two parts; the second has 6 % more
    of what can be used (our rule of thumb), and cast-on and bind-off lie apart."""
    plan = PLANS["mirrored"]()
    wound = winding(plan.fabric, plan.choices)
    names = [one.name for one in plan.design.laid.yarns]
    twice = {name for name in names if names.count(name) == 2}
    assert {parts[0].yarn.name for parts in wound} == twice
    assert all(part.number == 2 for parts in wound for part in parts)
    row_mm = 1000 * plan.fabric.stripes[0].metres_each / plan.fabric.stripes[0].rows
    for one, two in ball_parts(plan.fabric, plan.choices).values():
        usable = one.mm + two.mm - one.kept_mm - two.kept_mm
        more = (two.mm - two.kept_mm) - (one.mm - one.kept_mm)
        # a millimetre for each of the two roundings
        assert more == pytest.approx(0.06 * usable, abs=2)
        if one.first == 0:
            assert one.kept_mm == pytest.approx(300 + CAST_ON_ROWS * row_mm, rel=0.01)
            assert two.kept_mm == pytest.approx(300 + BIND_OFF_ROWS * row_mm, rel=0.01)
        break


def test_small_balls_and_those_used_in_one_go_are_not_wound():
    """Under 15 g a ball is not shared; a blanket that runs once has nothing to wind."""
    plan = planned(balls(9, grams=(10, 40)), toml(MIRRORED))
    wound = winding(plan.fabric, plan.choices)
    assert wound
    assert all(parts[0].yarn.grams >= 15 for parts in wound)
    plain = PLANS["plain"]()
    assert winding(plain.fabric, plain.choices) == ()


def test_a_carried_yarn_is_laid_down_and_taken_up_whole():
    """It is never cut, and it begins and ends where it was asked to."""
    garter = '[[carry]]\nyarn = "Mist"\nsection = "garter"\n'
    plan = planned([*balls(9), MIST], toml(SECTIONS + garter))
    entries = rows_to_knit(plan.fabric, plan.choices)
    kinds = [
        (change.kind, change.row)
        for entry in entries
        for change in (*entry.joins, *entry.ends)
        if change.part.yarn.name == "Mist"
    ]
    assert kinds[:3] == [("carry", 15), ("lay down", 23), ("carry", 38)]
    assert len(ball_parts(plan.fabric, plan.choices)["Mist"]) == 1


# --- weights --------------------------------------------------------------------------


def test_a_length_weighs_what_its_own_ball_says():
    """50 g of 200 m weigh 250 mg a metre: 400 m in 100 g are 250 tex (ISO 1144)."""
    assert weight_g(yarn("Sage", 60), 1000) == pytest.approx(0.25)
    assert weight_g(yarn("Blank", 60, grams=None), 1000) == pytest.approx(0.25)

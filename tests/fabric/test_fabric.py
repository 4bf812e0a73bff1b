"""The whole fabric: conservation, whole rows, the wished length, what is said."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.arrangement import lay_out
from kit.blanket.choices import Laying, Pace, Strands
from kit.errors import KitError
from kit.fabric.fabric import NOT_BEGUN, Short, Start, can_be_made
from kit.fabric.knitting import make_fabric
from kit.fabric.setup import set_up
from kit.fabric.strands import ROWS_APART
from kit.fabric.stripes import (
    is_out_of_range,
    stripe_contrast,
    stripe_tex,
)
from kit.yarn import Gauge, Swatch
from kit.yarn.gauge import row_heights_cm
from tests.helpers.balls import (
    DK,
    LACE,
    SECTIONS,
    ball,
    blankets,
    chosen,
    laid_by_value,
    stash,
)
from tests.helpers.gold import floats, gold


def made(yarns, choices, carried=(), start=NOT_BEGUN):
    return make_fabric(laid_by_value(yarns, choices), carried, choices, start)


def held(stripe):
    return tuple(yarn.name for yarn in stripe.strands)


# --- what must always be true ---------------------------------------------------------


@settings(suppress_health_check=list(HealthCheck))
@given(blankets())
def test_every_millimetre_is_somewhere(blanket):
    """kept + used + left = had, none below 0; used is what the stripes take."""
    yarns, carried, choices = blanket
    fabric = made(yarns, choices, carried)
    taken: Counter[str] = Counter()
    for stripe in fabric.stripes:
        for yarn in stripe.strands + stripe.carried:
            taken[yarn.name] += round(1000 * stripe.metres_each)
    assert sorted(use.yarn.name for use in fabric.uses) == sorted(
        yarn.name for yarn in (*yarns, *carried)
    )
    for use in fabric.uses:
        assert use.initial_mm == round(1000 * use.yarn.metres)
        assert use.kept_mm + use.used_mm + use.left_mm == use.initial_mm
        assert min(use.kept_mm, use.used_mm, use.left_mm) >= 0
        assert use.used_mm == taken[use.yarn.name]


@settings(suppress_health_check=list(HealthCheck))
@given(blankets())
def test_stripes_cover_the_blanket(blanket):
    """From row 1 stitch 1 to the last stitch of the last row, without gaps; each takes
    the yarn of its stitches; thickness is in range or marked."""
    yarns, carried, choices = blanket
    fabric = made(yarns, choices, carried)
    setup = set_up(choices.making)
    bounds = [0, *(stripe.last for stripe in fabric.stripes)]
    assert [stripe.first for stripe in fabric.stripes] == bounds[:-1]
    assert all(a < b for a, b in pairwise(bounds))
    assert bounds[-1] == fabric.rows * fabric.stitches
    rules = choices.making.strands
    low, high = 0.80 * rules.fabric_tex, 1.45 * rules.fabric_tex
    for stripe in fabric.stripes:
        mm = setup.lengths.mm_at(stripe.last) - setup.lengths.mm_at(stripe.first)
        assert round(1000 * stripe.metres_each) == mm
        fits = low - 1e-6 <= stripe_tex(stripe) <= high + 1e-6
        fits &= rules.least <= len(stripe.strands) <= rules.most
        assert is_out_of_range(stripe, choices.making) == (not fits)
    heights = row_heights_cm(fabric.rows, choices.making.gauge, choices.making.sections)
    assert fabric.length_cm == pytest.approx(heights.sum())


@settings(suppress_health_check=list(HealthCheck))
@given(blankets())
def test_the_wished_length_or_what_is_missing(blanket):
    """As many rows as wished; else fewer, and `short` tells how many and what yarn."""
    yarns, carried, choices = blanket
    fabric, setup = made(yarns, choices, carried), set_up(choices.making)
    if setup.rows is None:
        assert fabric.short is None
    elif fabric.short is None:
        assert fabric.rows == setup.rows
    else:
        assert fabric.short.rows == setup.rows - fabric.rows > 0
        assert fabric.short.length_cm > 0
        assert fabric.short.metres > 0
        assert fabric.short.grams > 0


@settings(suppress_health_check=list(HealthCheck))
@given(blankets())
def test_row_0_is_not_begun(blanket):
    """At row 0 a start changes nothing, whatever it says is held."""
    yarns, carried, choices = blanket
    begun = Start(0, (yarns[-1].name,))
    assert made(yarns, choices, carried, begun) == made(yarns, choices, carried)


# --- yarn -----------------------------------------------------------------------------


def test_yarn_of_a_big_blanket():
    """150 x 200 cm of two fingering strands take the table's metres and grams."""
    rows = gold("yarn_consumption_150x200.csv")
    # Munden's relation, fully relaxed; the source stands in the table's header.
    row = next(
        row
        for row in rows
        if row["case"].startswith("2 x fingering held together")
        and row["model"].startswith("fully relaxed")
    )
    gauge = Gauge(*floats(row, "sts_per_10cm", "rows_per_10cm").tolist())
    choices = chosen(width_cm=150.0, length_cm=200.0, gauge=gauge)
    fabric = made([ball(f"y{k:02}", 90 - 3 * k, 400) for k in range(24)], choices)
    assert fabric.short is None
    assert all(len(stripe.strands) == 2 for stripe in fabric.stripes)
    used_m = sum(use.used_mm for use in fabric.uses) / 1000
    # The table cuts through stitches and rows; whole ones are off by half of one each.
    within = 0.5 / fabric.stitches + 0.5 / fabric.rows
    assert used_m == pytest.approx(2 * float(row["bundle_metres"]), rel=within)
    # 400 m per 100 g: 2 x 3300 m weigh 1650 g.
    assert used_m / 4 == pytest.approx(float(row["grams"]), rel=within)


@given(st.integers(1, 40), st.floats(20, 120))
@settings(max_examples=15)
def test_twice_as_wide_takes_twice_the_metres(tens, length_cm):
    """At the same rows; a metre more or less in a kilometre for rounding."""
    yarns = [ball(f"y{k:02}", 90 - 3 * k, 5000) for k in range(24)]
    once, twice = (
        made(yarns, chosen(width_cm=10.0 * tens * by, length_cm=length_cm))
        for by in (1, 2)
    )
    assert once.rows == twice.rows
    assert twice.stitches == 2 * once.stitches
    used = [sum(use.used_mm for use in fabric.uses) for fabric in (once, twice)]
    assert used[1] == pytest.approx(2 * used[0], abs=2 * len(yarns))


def test_what_begins_and_ends_is_kept_back_for():
    """Two rows' yarn to cast on, four to bind off, for the strands that do; tails."""
    for seed in range(6):
        choices = chosen(length_cm=60.0)
        fabric = made(stash(20, seed), choices)
        first, last = held(fabric.stripes[0]), held(fabric.stripes[-1])
        for use in fabric.uses:
            name = use.yarn.name
            # By hand: a metre wide takes 4.2 m a row (Munden), a tail is 30 cm.
            rows = 2 * (name in first) + 4 * (name in last)
            kept = (300 + 4200 * rows) if use.used_mm else 0
            assert use.kept_mm == kept


def test_large_balls_are_trimmed_and_small_ones_finished():
    """What is left is left of the largest; no small ball keeps more than a few rows."""
    for seed in range(6):
        choices = chosen(length_cm=90.0)
        fabric = made(stash(30, seed), choices)
        assert fabric.short is None
        given_mm = {u.yarn.name: u.used_mm + u.kept_mm for u in fabric.uses}
        cap = max(u.used_mm for u in fabric.uses)
        # Broken off by up to eight rows (4.2 m each) to keep joins apart, and the last
        # strands are cut by the bind-off.
        ends = held(fabric.stripes[-1]) + held(fabric.stripes[0])
        for use in fabric.uses:
            if use.initial_mm < cap and use.used_mm and use.yarn.name not in ends:
                assert use.initial_mm - given_mm[use.yarn.name] <= 8 * 4200


def test_short_by_hand():
    """Rows, cm, metres and grams of what is missing."""
    # By hand: a row takes 4.2 m. Each ball has 100 m, less a tail, 2 rows to cast on
    # and 4 to bind off: 74.5 m or 17 rows. 3 cm at 30 rows per 10 cm are 9 rows, so 26
    # rows are wished and 9 missing: 9 x 4.2 m of 2 strands, 37.8 m of 500 tex.
    fabric = made([ball("A", 80, 100), ball("B", 60, 100)], chosen(length_cm=26 / 3))
    assert fabric.rows == 17
    short = fabric.short
    assert isinstance(short, Short)
    assert short.rows == 9
    assert (short.length_cm, short.metres) == pytest.approx((3.0, 75.6))
    assert short.grams == pytest.approx(18.9)
    assert fabric.length_cm == pytest.approx(17 / 3)


def test_what_a_strand_without_partner_leaves():
    """Knitting stops, and what is on the needle is left over and said."""
    # By hand: B gives out at 17 rows as above; A keeps 300 - 25.5 - 17 x 4.2 m.
    fabric = made([ball("A", 80, 300), ball("B", 60, 100)], chosen())
    left = {use.yarn.name: use.left_mm for use in fabric.uses}
    assert left["A"] == 300_000 - 25_500 - 71_400
    assert fabric.sentences[-1] == (
        "Knitting stops after row 17: what is left on the needle cannot make 400 to "
        "725 tex alone: A (203 m)."
    )


def test_a_short_mirrored_blanket_says_what_is_left_in_its_middle():
    """Both halves end at the fold: what has no partner there is said, not the light
    strands of the last row."""
    yarns = [ball("A", 90, 100), ball("B", 75, 100), ball("E", 30, 60)]
    fabric = made(yarns, chosen(layout="mirrored", length_cm=300.0, width_cm=20.0))
    (said,) = (
        line for line in fabric.sentences if "what is left on the needle" in line
    )
    assert said.startswith(f"The colours go back after row {fabric.rows // 2}: ")
    (use,) = (use for use in fabric.uses if use.yarn.name == "E")
    assert said.endswith(f"alone: E ({use.left_mm / 1000:.0f} m).")


# --- layouts, sizes, thickness --------------------------------------------------------


def test_dark_to_light_begins_with_the_dark():
    """The layout says which end is cast on."""
    yarns = stash(8, 3)
    value = {yarn.name: yarn for yarn in yarns}
    light = made(yarns, chosen()).stripes[0].strands
    dark = made(yarns, chosen(layout="dark-to-light")).stripes[0].strands
    assert set(light) != set(dark)
    assert {yarn.name for yarn in (*light, *dark)} <= set(value)


@pytest.mark.parametrize("length_cm", [None, 5.0, 80.0])
@pytest.mark.parametrize("sections", [(), SECTIONS])
def test_a_mirrored_blanket_reads_alike_from_both_edges(length_cm, sections):
    """With balls of 15 g and more the stripes are a palindrome."""
    yarns = stash(16, 4)
    assert min(yarn.grams for yarn in yarns) >= 15
    choices = chosen(layout="mirrored", length_cm=length_cm, sections=sections)
    names = [sorted(held(stripe)) for stripe in made(yarns, choices).stripes]
    assert names == names[::-1]


def test_paired_balls_are_cut_nowhere():
    """Look-alikes paired: every ball is joined once and knitted in one go."""
    choices = chosen(layout="mirrored", sharing="pair")
    stripes = made(stash(16, 4), choices).stripes
    for name in {name for stripe in stripes for name in held(stripe)}:
        at = [k for k, stripe in enumerate(stripes) if name in held(stripe)]
        assert at == list(range(at[0], at[-1] + 1))


def test_joins_lie_four_rows_apart():
    """In blankets of balls of 15 g and more, apart from a few that cannot."""
    close = total = 0
    for seed in range(20):
        fabric = made(stash(30, seed), chosen(length_cm=(None, 120.0)[seed % 2]))
        firsts = [stripe.first for stripe in fabric.stripes]
        gaps = [(b - a) / fabric.stitches for a, b in pairwise(firsts)]
        close += sum(gap < ROWS_APART for gap in gaps)
        total += len(gaps)
    # Our measurement: none of about 550, with either length.
    assert close <= 0.005 * total


def test_joins_lie_apart_with_three_strands():
    """So with three and four strands held together."""
    close = total = 0
    for seed in range(20):
        rules = Strands(750.0, least=3, most=4)
        fabric = made(stash(30, seed), chosen(strands=rules))
        firsts = [stripe.first for stripe in fabric.stripes]
        gaps = [(b - a) / fabric.stitches for a, b in pairwise(firsts)]
        close += sum(gap < ROWS_APART for gap in gaps)
        total += len(gaps)
    # Our measurement: 1 of 536.
    assert close <= 0.01 * total


def test_a_fixed_pace_and_a_longest():
    """A strand changes every so many rows; no colour is longer than asked."""
    fabric = made(stash(12, 1), chosen(length_cm=20.0, pace=Pace(rows_per_colour=5)))
    assert {stripe.rows for stripe in fabric.stripes} == {5.0}
    fabric = made(stash(12, 1), chosen(pace=Pace(longest_rows=10)))
    rows: Counter[str] = Counter()
    for stripe in fabric.stripes:
        for name in held(stripe):
            rows[name] += stripe.rows
    assert max(rows.values()) <= 10


def test_a_single_yarn():
    """One ball makes no two strands, and it is said what to change; with one strand
    allowed it is the blanket."""
    fabric = made([ball("A", 80, 500, per_100g=200)], chosen(length_cm=10.0))
    assert (fabric.stripes, fabric.rows) == ((), 0)
    assert fabric.sentences[1] == (
        "Nothing can be knitted: the yarns here do not make 2 to 3 strands of 400 to "
        "725 tex. Change fabric_tex, least or most under [strands], or add yarn."
    )
    assert fabric.sentences[-1] == "Left over whole: A."
    assert fabric.short.rows == 30
    single = chosen(length_cm=10.0, strands=Strands(least=1))
    assert made([ball("A", 80, 500, per_100g=200)], single).rows == 30


def test_laces_only():
    """Three laces do not make the thickness: all rows marked, and what would do."""
    laces = [ball(f"y{k}", 90 - 5 * k, 400, per_100g=LACE) for k in range(8)]
    choices = chosen(length_cm=20.0)
    fabric = made(laces, choices)
    assert fabric.rows == 60
    assert all(is_out_of_range(stripe, choices.making) for stripe in fabric.stripes)
    assert (
        "About 60 rows are out of the range of 400 to 725 tex: no strands here make "
        "it. As held they are about 375 tex; set fabric_tex near that under [strands], "
        "or change least or most."
    ) in fabric.sentences
    one_row = made(laces, chosen(length_cm=1 / 3))
    assert any(
        said.startswith("About 1 row is out of the") for said in one_row.sentences
    )
    thin = replace(choices, making=replace(choices.making, strands=Strands(375.0)))
    assert not any(
        is_out_of_range(stripe, thin.making) for stripe in made(laces, thin).stripes
    )


def test_too_thick():
    """Two DK strands are too thick, and so marked."""
    thick = [ball(f"y{k}", 90 - 5 * k, 200, per_100g=DK) for k in range(6)]
    choices = chosen(length_cm=20.0)
    fabric = made(thick, choices)
    assert fabric.stripes
    assert all(is_out_of_range(stripe, choices.making) for stripe in fabric.stripes)
    assert any("As held they are about 870 tex" in text for text in fabric.sentences)


@pytest.mark.parametrize("length_cm", [5.0, 5000.0])
def test_tiny_and_huge(length_cm):
    """5 cm and 50 m are blankets too."""
    yarns = [ball(f"y{k:02}", 90 - 3 * k, length_cm * 20) for k in range(20)]
    fabric = made(yarns, chosen(width_cm=60.0, length_cm=length_cm))
    assert fabric.short is None
    assert fabric.rows == 3 * length_cm
    assert fabric.length_cm == pytest.approx(length_cm, abs=1 / 6)


def test_without_lengths_or_gauge():
    """It can be told beforehand whether there can be fabric."""
    yarns, making = stash(3, 1), chosen().making
    assert can_be_made(yarns, making)
    assert not can_be_made([replace(yarns[0], metres=None)], making)
    assert not can_be_made(yarns, replace(making, gauge=None))
    with pytest.raises(KitError):
        made(yarns, replace(chosen(), making=replace(making, size=None)))


def test_an_estimate_is_said():
    """Munden's relation is named; a weighed swatch needs no such words."""
    weighed = Gauge(20, 30, Swatch(15, 15, 9))
    yarns = stash(6, 1)
    said = made(yarns, chosen()).sentences
    assert any(text.startswith("Yarn use is estimated") for text in said)
    said = made(yarns, chosen(gauge=weighed)).sentences
    assert not any("estimated" in text for text in said)


# --- begun already --------------------------------------------------------------------


def test_it_goes_on_from_a_row():
    """From row r with strands held: they come first, in that row, and nothing is kept
    back to cast on."""
    yarns, choices = stash(14, 6), chosen(length_cm=60.0)
    by_value = laid_by_value(yarns, choices).yarns
    on = by_value[4].name, by_value[2].name
    fabric = made(yarns, choices, start=Start(50, on))
    first = fabric.stripes[0]
    assert (first.first_row, first.first_stitch) == (51, 1)
    assert held(first)[:2] == on
    assert fabric.rows == 180
    assert fabric.short is None
    kept = {use.yarn.name: use.kept_mm for use in fabric.uses}
    assert kept[on[0]] == 300


def test_held_yarns_come_round_again():
    """In a mirrored run the second half of a ball on the needle is still to come."""
    choices = chosen(layout="mirrored")
    yarns = stash(8, 6)
    laid = lay_out(laid_by_value(yarns, chosen()).yarns, Laying("mirrored"))
    on = tuple(yarn.name for yarn in laid.yarns[:2])
    fabric = make_fabric(laid, [], choices, Start(10, on))
    assert held(fabric.stripes[0]) == on
    assert on[0] in held(fabric.stripes[-1])


def test_begun_past_the_end():
    """Held names that are not there, or a row past the end, do no harm."""
    yarns, choices = stash(6, 6), chosen(length_cm=10.0)
    done = made(yarns, choices, start=Start(30, ("nobody",)))
    assert (done.stripes, done.rows, done.short) == ((), 30, None)
    assert made(yarns, choices, start=Start(40)).rows == 40
    going = made(yarns, choices, start=Start(20, ("nobody", yarns[0].name)))
    assert held(going.stripes[0])[0] == yarns[0].name
    assert going.rows == 30


# --- colours --------------------------------------------------------------------------


def test_the_contrast_limit_calms_stripes():
    """Steering lowers the contrast of strands held together, on the whole."""

    def over(limit):
        fabrics = (
            made(stash(25, k), chosen(strands=Strands(contrast=limit)))
            for k in range(8)
        )
        stripes = [stripe for fabric in fabrics for stripe in fabric.stripes]
        return sum(stripe_contrast(stripe) > 30 for stripe in stripes) / len(stripes)

    assert over(30.0) < 0.7 * over(1000.0)


def test_a_fabric_shows_itself_in_one_line():
    """How many stitches, rows and stripes it has."""
    fabric = made(laid_by_value(stash(10, 2), chosen()).yarns, chosen())
    assert repr(fabric) == (
        f"Fabric(200 stitches x {fabric.rows} rows, {len(fabric.stripes)} stripes)"
    )

"""How sure: chances, reserves; ends given the join; what to measure for surer ones."""

import csv
import io
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from kit.fabric.forecast import (
    Ending,
    ends_as_joined,
    forecast_fabric,
)
from kit.fabric.ranges import Range, rows_at
from kit.fabric.setup import BIND_OFF_ROWS, set_up
from kit.fabric.strand_chains import knit_drawn, prior, strands_of
from kit.fabric.tolerance import USUAL, Limits, standard
from kit.report.schedule_csv import MARK, schedule_csv
from tests.helpers.coverages import a_plan, coverage
from tests.helpers.plans import balls, planned, toml


def test_ranges_hold_the_plan():
    """The plan's own rows lie in the ranges of strands that run out."""
    plan = a_plan()
    sure = forecast_fabric(plan.fabric, plan.choices)
    width = plan.fabric.stitches
    for one in sure.endings:
        assert one.ends.low <= one.ends.likely <= one.ends.high
        if one.strand.kind == "runs out":
            assert one.ends.low < one.strand.last / width < one.ends.high
    assert sure.lasts.low < plan.fabric.rows < sure.lasts.high
    assert sure.chance is None  # until the yarn ends: nothing to suffice for


def test_later_rows_are_less_sure():
    """What adds up has more doubt: the last run-out of a chain has a wider range."""
    plan = a_plan()
    out = [
        e for e in forecast_fabric(plan.fabric, plan.choices).endings if e.strand.after
    ]
    assert out[-1].ends.width > 2 * out[0].ends.width


@pytest.mark.parametrize("layout", ["light-to-dark", "mirrored"])
def test_no_strand_ends_before_it_is_joined(layout):
    """If joined in its planned row it ends after that row, and the plan's own end lies
    inside. Ranges on their own may overlap: the next but one may be joined earlier than
    this one ends late."""
    text = toml(f'[colours]\nlayout = "{layout}"\n', length=150)
    plan = planned(balls(12, grams=(25, 40, 50)), text)
    width = plan.fabric.stitches
    sure = forecast_fabric(plan.fabric, plan.choices)
    given = ends_as_joined(sure, width)
    late = 0
    for one in sure.endings:
        first, last = one.strand.first / width, one.strand.last / width
        ends = given[one.strand.part]
        assert ends.low >= first
        late += one.ends.low < first
        if one.strand.kind == "runs out":
            assert ends.low <= last <= ends.high
            assert ends.width <= one.ends.width
    assert late > 0 or layout == "mirrored"  # its chains are short


def test_the_schedule_s_ends_come_after_their_joins():
    """Row by row of schedule.csv: a strand's rows lie behind the row it is joined in,
    and the row it ends in by the plan is one of them."""
    plan = a_plan()
    lines = list(csv.DictReader(io.StringIO(schedule_csv(plan).lstrip(MARK))))
    joined, n_ends = {}, 0
    for line in lines:
        for change in filter(None, line["join"].split("; ")):
            joined[change.split(": ")[1]] = int(line["from_row"])
        kind, _, name = line["end"].partition(": ")
        if kind == "runs out":
            low, high = int(line["ends_from_row"]), int(line["ends_to_row"])
            assert joined[name] <= low <= int(line["to_row"]) <= high
            n_ends += 1
    assert n_ends >= 8


def test_only_a_ball_that_runs_out_has_rows_to_do_so_in():
    """What is broken off, bound off or laid down does so in its row, as on the page."""
    mist = {"name": "Mist", "colours": "#7799aa", "grams": 10, "metres_per_100g": 800}
    sections = (
        "[strands]\nthicker = 0.6\n"
        '[[sections]]\nname = "plain"\nrows = 20\n'
        '[[sections]]\nname = "lace"\nrows = 10\n'
        '[[carry]]\nyarn = "Mist"\nsection = "lace"\n'
    )
    plan = planned([*balls(8), mist], toml(sections, length=60))
    kinds = set()
    for line in csv.DictReader(io.StringIO(schedule_csv(plan).lstrip(MARK))):
        ends = {one.partition(": ")[0] for one in line["end"].split("; ")}
        assert bool(line["ends_from_row"]) == bool(line["ends_to_row"])
        assert bool(line["ends_from_row"]) == ("runs out" in ends)
        kinds |= ends
    assert {"lay down", "runs out", "bind off"} <= kinds


def test_rows_are_drawn_from_join_to_end():
    """Of every drawn blanket the rows between its own join and its own end."""
    plan = a_plan()
    strands = strands_of(plan.fabric, plan.choices)
    lengths = set_up(plan.choices.making).lengths
    yarns = [use.yarn for use in plan.fabric.uses]
    knits = knit_drawn(strands, prior(yarns, plan.choices), lengths)
    rows = rows_at(lengths, plan.fabric.rows)
    for k, one in enumerate(forecast_fabric(plan.fabric, plan.choices).endings):
        lasted = np.sort(rows(knits.ends[:, k]) - rows(knits.joins[:, k]))
        assert lasted[0] >= 0
        inside = (lasted >= one.lasts.low) & (lasted <= one.lasts.high)
        assert np.mean(inside) >= 0.898  # of 1000 draws; equal ones may be more


def test_a_break_off_stays_where_it_is():
    """It waits for its row, not for its yarn; joined after that row, no sooner."""
    plan = a_plan()
    first = forecast_fabric(plan.fabric, plan.choices).endings[0].strand
    assert first.kind == "break off"
    one = Ending(first, *(Range(n, n - 9, n + 1) for n in (50, 70, 20)))
    assert one.once_joined(50) == one.ends
    assert one.once_joined(65) == Range(70, 65, 71)
    out = replace(one, strand=replace(first, kind="runs out"))
    assert out.once_joined(65) == Range(85, 76, 86)


def test_finer_readings_narrow_the_range():
    """Half of every limit: half the range, as first order has it (within 6 %)."""
    plan = a_plan()
    half = Limits(*(getattr(USUAL, f) / 2 for f in USUAL.__dataclass_fields__))
    wide = forecast_fabric(plan.fabric, plan.choices).lasts.width
    narrow = forecast_fabric(plan.fabric, plan.choices, limits=half).lasts.width
    assert narrow == pytest.approx(wide / 2, rel=0.06)


@pytest.mark.parametrize(("length", "low", "high"), [(60, 0.99, 1.0), (170, 0.0, 0.0)])
def test_the_chance_follows_the_length(length, low, high):
    """A short blanket is safe; where the plan is short nothing is promised."""
    plan = planned(balls(12, grams=(25, 40, 50)), toml(length=length))
    sure = forecast_fabric(plan.fabric, plan.choices)
    if plan.fabric.short:
        assert sure.in_all < 0.7
        return
    assert low <= sure.in_all <= high


def test_all_yarn_together_in_closed_form():
    """Grams there are against grams needed: the normal of a difference of two sums."""
    plan = planned(balls(4, grams=(40,)), toml(length=50))
    only = Limits(0, 0, 0, 0, 0.15, 0, 0)
    sure = forecast_fabric(plan.fabric, plan.choices, limits=only)
    over = sum(use.left_mm for use in plan.fabric.uses)
    used = sum(use.used_mm for use in plan.fabric.uses)
    # all four balls have one tex, so metres do for grams
    expected = stats.norm.cdf(over / (used * standard(0.15)))
    assert sure.in_all == pytest.approx(expected, abs=1e-9)


def test_the_reserve_is_surer_than_the_plan():
    """Four rows' yarn as planned; more so that it suffices in 95 of 100."""
    plan = a_plan()
    sure = forecast_fabric(plan.fabric, plan.choices)
    row_m = 100 * 0.021  # 100 stitches of 2.1 cm: 4.2 / (20 stitches to 10 cm)
    for one in sure.reserves:
        assert one.planned_g == pytest.approx(BIND_OFF_ROWS * row_m * 0.25)
        # gauge 5 %, loop length 15 %, dry wool 3.7 %, as limits; the scale 1 g
        spread = (0.05**2 + 0.15**2 + 0.0373**2) ** 0.5 / 3**0.5
        more = 1.645 * np.hypot(one.planned_g * spread, 1 / 3**0.5)
        expected = one.planned_g + more
        assert one.sure_g == pytest.approx(expected, abs=0.08)  # drawn, so rough


def test_ranges_hold_nine_in_ten():
    """A small run of the coverage that tests/bench proves with 2 000 knittings."""
    table = coverage(24, looks=(70,))
    held = sum(one for one, _ in table.values())
    n = sum(of for _, of in table.values())
    # the kinds share one truth, so there are about as many looks as knittings
    low, high = stats.binom(24, 0.9).ppf([1e-4, 1 - 1e-4]) / 24
    assert n > 80
    assert low <= held / n <= high


SWATCH = (
    "[gauge]\nstitches_per_10cm = 20\nrows_per_10cm = 26\n"
    "swatch = {{ width_cm = {cm}, length_cm = {cm}, grams = {grams} }}\n"
    '[size]\nwidth_cm = 50\nlength_cm = "all"\n'
)


def with_swatch(cm, grams):
    text = 'name = "Hall"\n' + SWATCH.format(cm=cm, grams=grams)
    return planned(balls(12, grams=(25, 40, 50)), text)


def test_what_to_measure_first():
    """Without a swatch a swatch helps most; the fraction left is what it then is."""
    plan = a_plan()
    sure = forecast_fabric(plan.fabric, plan.choices)
    leaves = [one.leaves for one in sure.better]
    assert leaves == sorted(leaves)
    assert sure.better[0].what == "swatch"
    assert leaves[0] < 0.75
    assert "Weigh a washed swatch" in sure.better[0].says


def test_a_bigger_swatch_halves_the_range():
    """A swatch of 5 x 5 cm is the main doubt; twice as wide and long it is not."""
    plan = with_swatch(5, 1.3)
    sure = forecast_fabric(plan.fabric, plan.choices)
    (first,) = [one for one in sure.better if one.what == "swatch"]
    assert "10 x 10 cm instead of 5 x 5 cm" in first.says
    assert first.leaves < 0.5
    bigger = with_swatch(10, 5.2)
    width = forecast_fabric(bigger.fabric, bigger.choices).lasts.width
    assert width / sure.lasts.width == pytest.approx(first.leaves, abs=0.03)


def test_a_finer_scale_for_the_swatch_or_for_the_balls():
    """Two measurements: 1 g either way is a quarter of a swatch of 4 g and next to
    nothing of a ball, so only the swatch's scale helps."""
    plan = with_swatch(9, 4.2)
    sure = forecast_fabric(plan.fabric, plan.choices)
    leaves = {one.what: one.leaves for one in sure.better}
    assert leaves["swatch's scale"] < 0.6
    assert leaves["scale"] > 0.9

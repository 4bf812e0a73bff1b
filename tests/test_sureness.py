"""How sure: chances, reserves, margins in closed form; what to measure first."""

from dataclasses import replace

import pytest
from scipy import stats

from kit.gauge import Gauge, Swatch
from kit.loom import BIND_OFF_ROWS
from kit.sureness import Range, buying_margin, how_sure
from kit.tolerance import USUAL, Limits, standard
from tests.balls import chosen
from tests.coverages import a_plan, coverage
from tests.plans import balls, planned, toml

SWATCH = (
    "[gauge]\nstitches_per_10cm = 20\nrows_per_10cm = 26\n"
    "swatch = {{ width_cm = {cm}, length_cm = {cm}, grams = {grams} }}\n"
    '[size]\nwidth_cm = 50\nlength_cm = "all"\n'
)


def with_swatch(cm, grams):
    text = 'name = "Hall"\n' + SWATCH.format(cm=cm, grams=grams)
    return planned(balls(12, grams=(25, 40, 50)), text)


def test_ranges_hold_the_plan():
    """The plan's own rows lie in the ranges of strands that run out."""
    plan = a_plan()
    sure = how_sure(plan.fabric, plan.choices)
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
    out = [e for e in how_sure(plan.fabric, plan.choices).endings if e.strand.after]
    assert out[-1].ends.width > 2 * out[0].ends.width


def test_finer_readings_narrow_the_range():
    """Half of every limit: half the range, as first order has it (within 6 %)."""
    plan = a_plan()
    half = Limits(*(getattr(USUAL, f) / 2 for f in USUAL.__dataclass_fields__))
    wide = how_sure(plan.fabric, plan.choices).lasts.width
    narrow = how_sure(plan.fabric, plan.choices, limits=half).lasts.width
    assert narrow == pytest.approx(wide / 2, rel=0.06)


@pytest.mark.parametrize(("length", "low", "high"), [(60, 0.99, 1.0), (170, 0.0, 0.0)])
def test_the_chance_follows_the_length(length, low, high):
    """A short blanket is safe; where the plan is short nothing is promised."""
    plan = planned(balls(12, grams=(25, 40, 50)), toml(length=length))
    sure = how_sure(plan.fabric, plan.choices)
    if plan.fabric.short:
        assert sure.in_all < 0.7
        return
    assert low <= sure.in_all <= high


def test_all_yarn_together_in_closed_form():
    """Grams there are against grams needed: the normal of a difference of two sums."""
    plan = planned(balls(4, grams=(40,)), toml(length=50))
    only = Limits(0, 0, 0, 0, 0.15, 0, 0)
    sure = how_sure(plan.fabric, plan.choices, limits=only)
    over = sum(use.left_mm for use in plan.fabric.uses)
    used = sum(use.used_mm for use in plan.fabric.uses)
    # all four balls have one tex, so metres do for grams
    expected = stats.norm.cdf(over / (used * standard(0.15)))
    assert sure.in_all == pytest.approx(expected, abs=1e-9)


def test_the_reserve_is_surer_than_the_plan():
    """Four rows' yarn as planned; more so that it suffices in 95 of 100."""
    plan = a_plan()
    sure = how_sure(plan.fabric, plan.choices)
    row_m = 100 * 0.021  # 100 stitches of 2.1 cm: 4.2 / (20 stitches to 10 cm)
    for one in sure.reserves:
        assert one.planned_g == pytest.approx(BIND_OFF_ROWS * row_m * 0.25)
        # gauge 5 %, loop length 15 %, dry wool 3.7 %, as limits; the scale 1 g
        spread = (0.05**2 + 0.15**2 + 0.0373**2) ** 0.5 / 3**0.5
        expected = one.planned_g * (1 + 1.645 * spread) + 1.645 / 3**0.5
        assert one.sure_g == pytest.approx(expected, abs=0.08)  # drawn, so rough


def test_what_to_measure_first():
    """Without a swatch a swatch helps most; the fraction left is what it then is."""
    plan = a_plan()
    sure = how_sure(plan.fabric, plan.choices)
    leaves = [one.leaves for one in sure.better]
    assert leaves == sorted(leaves)
    assert sure.better[0].what == "swatch"
    assert leaves[0] < 0.75
    assert "Weigh a washed swatch" in sure.better[0].says


def test_a_bigger_swatch_halves_the_range():
    """A swatch of 5 x 5 cm is the main doubt; twice as wide and long it is not."""
    plan = with_swatch(5, 1.3)
    sure = how_sure(plan.fabric, plan.choices)
    (first,) = [one for one in sure.better if one.what == "swatch"]
    assert "10 x 10 cm instead of 5 x 5 cm" in first.says
    assert first.leaves < 0.5
    bigger = with_swatch(10, 5.2)
    width = how_sure(bigger.fabric, bigger.choices).lasts.width
    assert width / sure.lasts.width == pytest.approx(first.leaves, abs=0.03)


def test_how_much_more_to_buy():
    """The margin: squares of the doubts added, at the normal's 95th percentile."""
    making = chosen(gauge=Gauge(20, 30, Swatch(15, 15, 9.0))).making
    # 5 % gauge, 1 g of a 9 g swatch, 4.5 % of a 100 g ball (76/211/EEC), as limits
    doubt = (0.05**2 + (1 / 9) ** 2 + 0.045**2) ** 0.5 / 3**0.5
    expected = stats.norm.ppf(0.95) * doubt
    assert buying_margin(making) == pytest.approx(expected, rel=1e-3)
    assert buying_margin(replace(making, gauge=Gauge(20, 30))) > buying_margin(making)


def test_rows_are_named_as_they_are_knitted():
    """26.3 rows are knitted in row 27; at the very edge it is row 1."""
    assert Range(27.5, 26.3, 30.0).row_numbers == (27, 30)
    assert Range(0.0, 0.0, 0.2).row_numbers == (1, 1)


def test_ranges_hold_nine_in_ten():
    """A small run of the coverage that tests/bench proves with 2 000 knittings."""
    table = coverage(24, looks=(70,))
    held = sum(one for one, _ in table.values())
    n = sum(of for _, of in table.values())
    # the kinds share one truth, so there are about as many looks as knittings
    low, high = stats.binom(24, 0.9).ppf([1e-4, 1 - 1e-4]) / 24
    assert n > 80
    assert low <= held / n <= high

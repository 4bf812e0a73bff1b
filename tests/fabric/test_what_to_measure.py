"""What to measure better comes with what it would leave, the most helpful first."""

import pytest

from kit.fabric.forecast import how_sure
from tests.helpers.coverages import a_plan
from tests.helpers.plans import balls, planned

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


def test_a_finer_scale_for_the_swatch_or_for_the_balls():
    """Two measurements: 1 g either way is a quarter of a swatch of 4 g and next to
    nothing of a ball, so only the swatch's scale helps."""
    plan = with_swatch(9, 4.2)
    sure = how_sure(plan.fabric, plan.choices)
    leaves = {one.what: one.leaves for one in sure.better}
    assert leaves["swatch's scale"] < 0.6
    assert leaves["scale"] > 0.9

"""The demo blankets, as a newcomer meets them. All of their data is invented."""

import pytest

from kit.blanket import open_blanket
from kit.fabric.stripes import is_out_of_range
from kit.files import shared_folder
from kit.plan import Plan, plan_blanket
from kit.report import summary
from kit.report.page import plan_html

DEMOS = ("pram-cover", "reading-room", "wardrobe-store")


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    """Each demo worked out quickly."""
    data = shared_folder("data")
    return {name: plan_blanket(open_blanket(data / name), quick=True) for name in DEMOS}


def test_there_are_no_others():
    """Every folder of demo data is named above."""
    found = shared_folder("data").glob("*/stash.csv")
    assert sorted(path.parent.name for path in found) == sorted(DEMOS)


@pytest.mark.parametrize("name", DEMOS)
def test_a_demo_reaches_its_length(plans, name):
    """The yarn is enough, every stripe is in range, and no ball gives too much."""
    fabric, making = plans[name].fabric, plans[name].choices.making
    assert fabric is not None and fabric.short is None
    assert not any(is_out_of_range(stripe, making) for stripe in fabric.stripes)
    assert all(use.left_mm >= 0 for use in fabric.uses)


def test_the_sizes_of_the_stashes(plans):
    """Fourteen balls, forty-five, and a hundred and twenty."""
    assert [len(plans[name].stash.yarns) for name in DEMOS] == [14, 45, 120]


def test_the_pram_cover_speaks_imperial(plans):
    """Inches, yards and ounces in the summary and on the page; no metric lengths."""
    told = "\n".join(summary(plans["pram-cover"]))
    assert " in x 36 in" in told and " yd" in told and " oz" in told
    assert " cm" not in told and " g " not in told
    assert "yd" in plan_html(plans["pram-cover"], pictures={}, sentences=())


def test_the_pram_cover_is_mirrored(plans):
    """Its run reads the same from either end, the darkest once in the middle."""
    plan = plans["pram-cover"]
    names = [yarn.name for yarn in plan.design.laid.yarns]
    assert names == names[::-1]
    assert len(names) == 2 * len(set(names)) - 1


def test_the_wardrobe_keeps_its_value_rule(plans):
    """No yarn stands further out of value order than the file allows."""
    plan = plans["wardrobe-store"]
    slack = plan.choices.arranging.value_slack
    assert slack == 12
    assert all(amount <= slack + 1e-9 for _, amount in plan.design.out_of_value_order)

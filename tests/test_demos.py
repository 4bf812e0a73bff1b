"""The demo blankets, as a newcomer meets them. All of their data is invented."""

import pytest

from kit import blanket
from kit.blanket import open_blanket
from kit.fabric.stripes import is_out_of_range
from kit.files import shared_folder
from kit.plan import Plan, plan_blanket
from kit.report import summary
from kit.report.page import plan_html
from tests.helpers.demos import copy_of, own_demo

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


def test_a_copy_leaves_away_what_was_made_there(tmp_path):
    """A plan that the README's first command wrote does not come along; photos do."""
    demo = copy_of("reading-room", tmp_path / "data" / "reading-room")
    for made in ("plan", "plan-2"):
        (demo / made).mkdir()
        (demo / made / "plan.html").write_text("<p>a plan</p>")
    copy = copy_of("reading-room", tmp_path / "copy", tmp_path / "data")
    assert {path.name for path in copy.iterdir()} == {
        *("blanket.toml", "photos", "shop.csv", "stash.csv")
    }
    assert files(copy / "photos") == files(demo / "photos") != {}


def test_own_demo_is_the_kits(tmp_path):
    """The tests' own copies lie as those that the kit makes, and are the same files."""
    ours, kits = own_demo(tmp_path / "ours"), blanket.own_demo(tmp_path / "kits")
    assert ours.parent.name == kits.parent.name and ours.name == kits.name
    made, copied = files(kits.parent), files(ours.parent)
    assert copied.items() <= made.items()
    assert {place.parts[1] for place in made.keys() - copied.keys()} <= {"plan"}


def files(folder) -> dict:
    """What lies below a folder, by place."""
    return {
        path.relative_to(folder): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


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

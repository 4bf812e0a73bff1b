"""Plans of a folder, remembered, and of a stash by itself."""

import pytest

from kit.blanket import choose, open_blanket
from kit.blanket.stash_csv import read_stash
from kit.errors import KitError
from kit.plan.compose import plan
from kit.plan.plans import plan_blanket, plan_stash
from tests.helpers.plans import demo_below
from tests.helpers.yarns import names


@pytest.fixture
def demo(tmp_path):
    return demo_below(tmp_path)


def test_the_last_plans_are_remembered(demo):
    """The same files and choices give the plan that was made of them, and no other;
    it is the one that is found when all is worked out anew."""
    blanket = open_blanket(demo)
    made = plan_blanket(blanket)
    other = plan_blanket(choose(blanket, by="value"))
    assert plan_blanket(open_blanket(demo)) is made
    assert names(other.design.laid.yarns) != names(made.design.laid.yarns)
    shop = blanket.shop.yarns
    assert plan(blanket.stash, blanket.choices, shop=shop) == made
    (demo / "shop.csv").unlink()
    assert plan_blanket(open_blanket(demo)) is not made


def test_a_stash_is_planned_without_a_folder(demo):
    """With the folder's choices as keywords it is the folder's own plan."""
    blanket = open_blanket(demo)
    mine = plan_stash(
        blanket.stash,
        shop=blanket.shop,
        **{"name": "Reading-room throw", "by": "value", "colours.bridges": 2},
    )
    theirs = plan_blanket(choose(blanket, by="value", bridges=2))
    assert mine.design == theirs.design
    assert mine.fabric is None
    wide = plan_stash(
        blanket.stash,
        **{"by": "value", "stitches_per_10cm": 22, "rows_per_10cm": 30},
        **{"width_cm": 40, "length_cm": 60},
    )
    assert wide.fabric.length_cm == pytest.approx(60, abs=1)


@pytest.mark.parametrize(
    ("choices", "sentence"),
    [
        (
            {"bye": "value"},
            'No key called "colours.bye". Did you mean "colours.by"?',
        ),
        (
            {"by": "smothest"},
            'colours.by: No arrangement called "smothest". Did you mean "smoothest"? '
            "Known: value, family, smoothest.",
        ),
        (
            {"order": ["Pebbel"]},
            'colours.order: No yarn called "Pebbel". Did you mean "Pebble"?',
        ),
        ({"width_cm": 120}, "size.length_cm: found nothing, expected a value."),
    ],
)
def test_wrong_choices_are_answered_in_words(choices, sentence):
    """A key, a word or a name that is not known comes with the nearest one; no file is
    named, since there is none."""
    stash = read_stash(b"name,colours\nPebble,#888\nInk,#235\n")
    with pytest.raises(KitError) as wrong:
        plan_stash(stash, **choices)
    assert str(wrong.value).startswith(sentence)

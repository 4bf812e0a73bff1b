"""Yarns joined before or after their turn."""

from itertools import pairwise

from kit.blanket import choose, open_blanket
from kit.files import shared_folder
from kit.plan import plan_blanket
from kit.plan.early_joins import early_join_words, out_of_turn
from tests.helpers.plans import balls, planned, toml


def test_alike_balls_keep_their_turn():
    """With no contrast over the limit the run is knitted as it is arranged."""
    plan = planned(balls(9))
    assert out_of_turn(plan)[1] == ()
    assert early_join_words(plan) == ""


def test_the_demo_against_its_rows():
    """Whoever is told to go before another is joined at an earlier row than it, though
    it lies later in the run; with no limit to the contrast nobody is."""
    blanket = open_blanket(shared_folder("data") / "reading-room")
    plan = plan_blanket(blanket)
    word, pairs = out_of_turn(plan)
    run = [yarn.name for yarn in plan.design.laid.yarns]
    begins = {}
    for stripe in plan.fabric.stripes:
        for yarn in stripe.strands:
            begins.setdefault(yarn.name, stripe.first)
    assert pairs
    for one, two in pairs:
        sign = 1 if word == "before" else -1
        assert sign * (begins[one] - begins[two]) <= 0
        assert sign * (run.index(one) - run.index(two)) > 0
    told = early_join_words(plan)
    assert f'"{pairs[0][0]}" {word} "{pairs[0][1]}"' in told
    free = plan_blanket(choose(blanket, **{"strands.contrast": 200}))
    order = [begins_at for _, begins_at in sorted(_places(free))]
    assert all(a <= b for a, b in pairwise(order)) == (out_of_turn(free)[1] == ())


def _places(plan):
    """Place in the run and first stitch of each yarn that is knitted."""
    begins = {}
    for stripe in plan.fabric.stripes:
        for yarn in stripe.strands:
            begins.setdefault(yarn.name, stripe.first)
    names = [yarn.name for yarn in plan.design.laid.yarns]
    return [(names.index(name), first) for name, first in begins.items()]


def test_colours_alone_have_no_turns():
    """Without fabric nothing is joined."""
    plan = planned(balls(4), toml(gauge=False))
    assert early_join_words(plan) == ""

"""Wishes as keys of blanket.toml: only what is asked for, earlier ones kept."""

from dataclasses import replace

import pytest

from kit.blanket import Blanket
from kit.blanket.keys import with_changes
from kit.fabric import Start
from kit.needles.progress import progress_of
from kit.needles.replan_choices import (
    AS_IT_IS,
    ReplanChoices,
    changed_keys,
)
from kit.yarn.gauge import stitch_yarn
from tests.helpers.coverages import a_plan
from tests.helpers.knitter import as_log
from tests.needles.test_progress import taking


def keys(wanted=AS_IT_IS, lines=(), before=None):
    before = before or a_plan()
    yarns = before.stash.yarns
    blanket = Blanket(None, before.stash, None, before.choices)
    now = progress_of(before, as_log(lines, yarns), before.choices, yarns)
    return changed_keys(blanket, before, now, wanted)


def test_nothing_wished_nothing_changed():
    """And nothing read: no key is touched."""
    assert keys() == {}


def test_wishes_are_keys():
    """Length, layout and pace as the file would say them."""
    wanted = ReplanChoices(length_cm="all", layout="mirrored", rows_per_colour=9)
    assert keys(wanted) == {
        "size.length_cm": "all",
        "colours.layout": "mirrored",
        "colours.times_through": 1,
        "pace.rows_per_colour": 9,
    }
    wanted.check(Blanket(None, a_plan().stash, None, a_plan().choices))


def test_earlier_wishes_hold():
    """A re-plan goes on with what the one before it was asked."""
    changes = (("pace.rows_per_colour", 8), ("gauge.swatch", {}))
    before = replace(a_plan(), start=Start(changes=changes))
    assert keys(before=before) == {"pace.rows_per_colour": 8}
    wished = keys(ReplanChoices(rows_per_colour=5), before=before)
    assert wished == {"pace.rows_per_colour": 5}


@pytest.mark.parametrize("share", [0.9, 1.0, 1.2])
def test_the_blanket_is_its_own_swatch(share):
    """The measured pace comes back out of the swatch that stands for it."""
    plan = a_plan()
    lines = taking(share, 60)
    yarns = plan.stash.yarns
    now = progress_of(plan, as_log(lines, yarns), plan.choices, yarns)
    choices = with_changes(plan.choices, keys(lines=lines))
    tex = plan.choices.making.strands.fabric_tex
    planned, measured = (
        stitch_yarn(c.making.gauge, tex).length_m for c in (plan.choices, choices)
    )
    assert measured / planned == pytest.approx(now.posterior.pace, rel=1e-12)

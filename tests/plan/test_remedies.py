"""What would help, in words."""

import pytest

from kit.colour.steps import largest_step
from kit.plan.remedies import (
    FOR_STRIPES,
    advice_lines,
    gap_lines,
    ideal_words,
    reordered_lines,
)
from kit.report import flow_lines
from tests.helpers.plans import planned, toml

SHADES = ["#f4ead8", "#e8dcc8", "#dcc8b0", "#384a78", "#2c3e6c", "#243460"]


def remedy_lines(plan):
    return [*gap_lines(plan), *reordered_lines(plan), *advice_lines(plan)]


BRIGHT = ["#f4ead8", "#384a78", "#c04040", "#40a060", "#d0b040", "#604080"]
BRIGHT += ["#202020", "#90a0b0", "#b06080", "#305030"]


def rows(*more):
    made = [
        {"name": f"Shade {k}", "colours": colours, "grams": 40, "metres_per_100g": 400}
        for k, colours in enumerate(SHADES)
    ]
    return [*made, *more]


def bright():
    return [{**rows()[0], "name": one, "colours": one} for one in BRIGHT]


TIDE = {
    "name": "Tide line",
    "colours": "#d0b8a0 40%, #2c3e6c 60%",
    "grams": 40,
    "metres_per_100g": 400,
    "role": "bridge",
}


def test_gap_by_gap():
    """The jump with its number, who of the stash would leave what, what to look for."""
    plan = planned(rows(TIDE), toml('[colours]\nby = "value"\nbridges = 0\n'))
    head, line = gap_lines(plan)
    (one,) = plan.design.suggestions
    assert head.startswith("Gap by gap, worst first; ")
    assert line.startswith(f'"Shade 2" → "Shade 3", {one.step:.1f}: "Tide line" of the')
    assert f"would leave {one.candidates[0][2]:.1f}" in line


def test_what_to_look_for():
    """Words, hex and share, how much in the units chosen, and what it leaves."""
    text = toml('[colours]\nby = "value"\n')
    plan = planned(rows(), text)
    (one,) = plan.design.suggestions
    words = ideal_words(one, plan)
    assert words.startswith("look for a")
    assert words.endswith(f"it would leave {one.ideal.step_after:.1f}")
    assert "#" in words and "%" in words and " g (" in words and " m)" in words
    imperial = planned(rows(), text.replace("\n", '\nunits = "imperial"\n', 1))
    assert " oz (" in ideal_words(one, imperial)
    colours_only = planned(rows(), toml('[colours]\nby = "value"\n', gauge=False))
    assert " g (" not in ideal_words(one, colours_only)


def test_all_together():
    """A bridge put in is compared with it arranged anew; nothing where it flows."""
    plan = planned(rows(TIDE), toml('[colours]\nby = "value"\nbridges = 1\n'))
    assert len(reordered_lines(plan)) == 1
    greys = [
        {"name": f"Grey {k}", "colours": f"#{k * 16:02x}" + f"{k * 16:02x}" * 2}
        for k in range(2, 15)
    ]
    flows = planned(greys, toml('[colours]\nby = "value"\n', gauge=False))
    assert remedy_lines(flows) == []


@pytest.mark.parametrize("name", ["N" * 9000, 'a "quoted" one'])
def test_long_names_are_shortened(name):
    """No name makes a line longer than a page."""
    long = [{**row, "name": f"{row['name']} {name}"} for row in rows(TIDE)]
    plan = planned(long, toml('[colours]\nby = "value"\nbridges = 0\n'))
    assert all(len(line) < 900 for line in remedy_lines(plan))


def test_nothing_for_balls_where_stripes_count():
    """An order sought on the stripes is not spoilt for the sake of its balls."""
    plan = planned(bright(), toml('[colours]\nby = "smoothest"\njump_limit = 5\n'))
    assert plan.for_stripes
    assert plan.largest_by_yarn_order > largest_step(plan.fabric_steps)
    assert remedy_lines(plan) == [FOR_STRIPES]
    head, *worst = flow_lines(plan)
    assert head.startswith("Where the flow breaks between stripes")
    assert float(worst[0].split()[0]) == round(largest_step(plan.fabric_steps), 1)
    by_family = planned(bright(), toml('[colours]\nby = "family"\njump_limit = 5\n'))
    assert not by_family.for_stripes
    assert advice_lines(by_family)

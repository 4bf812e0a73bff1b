"""The panel of bridges, without a desk: what it lists and what it asks for."""

from dataclasses import replace

import pytest

from kit.errors import KitError
from kit.plan import plan_blanket
from kit.plan.remedies import bridge_lines
from kit.widgets.colour.bridges import BridgesPanel, with_bridge, without_bridges
from kit.widgets.fabric.view import BLANK

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def asked():
    return []


@pytest.fixture
def panel(asked, state):
    def ask(way):
        return lambda changes, said: asked.append((way, changes(state)))

    made = BridgesPanel(ask("choose"), ask("try"))
    made.show(state)
    return made


def test_a_gap_is_shown_with_its_candidates(panel, plan):
    """Every candidate that is told stands in the picture."""
    (gap, *_) = plan.design.suggestions
    assert panel.place.value == (gap.after.name, gap.before.name)
    shown = bytes(panel.shortlist.value).decode()
    for yarn, _, step in gap.candidates[:5]:
        assert yarn.name.split()[0] in shown and f"leaves {step:.1f}" in shown
    names = [name for _, name in panel.yarn.options]
    assert names == ["", *(yarn.name for yarn, _, _ in gap.candidates)]


def test_nothing_is_listed_without_a_gap(panel, calm, words):
    """Where no step breaks the flow there is nothing to bridge."""
    panel.show(calm)
    panel.settle(calm.plan)
    assert words(panel.gaps) == ""
    assert panel.place.value is None and len(panel.yarn.options) == 1
    assert bytes(panel.shortlist.value).decode() == BLANK


def test_lines_are_those_of_the_bridges(panel, plan, words):
    """Whatever the blanket or its yarns are called: no line is picked by its words."""
    assert words(panel.lines) == " ".join(bridge_lines(plan)).replace("\u00a0", " ")
    panel.settle(plan)
    assert words(panel.gaps).startswith("Gap by gap")


def test_a_blanket_called_bridge_is_no_bridge(state):
    """Its name stands in the summary, not among the bridges."""
    choices = replace(state.choices, name="Bridge throw")
    blanket = replace(state.blanket, choices=choices)
    told = bridge_lines(plan_blanket(blanket, quick=True))
    assert told == bridge_lines(state.plan)


def test_what_hands_ask_for(panel, asked, plan):
    """Try and keep put the chosen yarn into the chosen place beside what stands."""
    (gap, *_) = plan.design.suggestions
    name = gap.candidates[0][0].name
    panel.yarn.value = name
    panel.try_it.click()
    panel.keep_it.click()
    panel.take_out.click()
    (tried, kept, out) = asked
    assert [way for way, _ in asked] == ["try", "choose", "choose"]
    assert tried[1] == kept[1] and name in {b["yarn"] for b in kept[1]["bridges_kept"]}
    assert out[1] == {"bridges_kept": None, "bridges": 0}


def test_lists_stay_while_a_bridge_is_tried(panel, state, calm):
    """Only the lines follow a plan that is not kept; another yarn can be chosen."""
    panel.place.value = [place for _, place in panel.place.options][1]
    place, options = panel.place.value, panel.yarn.options
    panel.show(replace(state, plan=calm.plan, tried=True))
    assert (panel.place.value, panel.yarn.options) == (place, options)


def test_a_yarn_is_needed(state):
    """Without one nothing is asked for, and that is said."""
    with pytest.raises(KitError, match="No yarn is chosen to put in"):
        with_bridge("", ("a", "b"))(state)
    assert without_bridges(state)["bridges"] == 0

"""What the colour desk knows, as a value; and what controls make of it."""

from dataclasses import replace
from math import inf

import pytest

from kit.arrangement.manual import leave_out, move
from kit.blanket import choose
from kit.widgets.colour.hands import hand_changes
from kit.widgets.colour.kept_steps import KeptStepsPanel
from kit.widgets.colour.look import ColourLook
from kit.widgets.colour.order import OrderPanel
from kit.widgets.colour.state import Turn, arranged_by, as_computed, one_key
from kit.widgets.colour.strip import Act

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


def moved(state):
    """The second yarn of the run behind the fifth, by hand."""
    hand = move(state.hand, state.hand.line[1], state.hand.line[5])
    return replace(
        state, history=state.history.turn(Turn(hand, state.history.now.kept))
    )


def test_a_state_opened_is_planned(state):
    """Its run is that of its plan, laid out as the plan has it; a move is not yet."""
    assert state.planned and state.laid == state.plan.design.laid.yarns
    other = moved(state)
    assert not other.planned
    assert [yarn.name for yarn in other.laid] == list(other.hand.line)
    back = other.with_plan(state.plan)
    assert back.planned and len(back.history.past) == 1 and not back.settled


def test_what_is_chosen_already_is_no_change(state):
    """A page sends 24.999999999999996 for 25; "no rule" is written in words."""
    now = float(state.choices.judging.jump_limit)
    assert one_key("jump_limit", now - 4e-15)(state) == {}
    assert one_key("jump_limit", now + 1)(state) == {"jump_limit": now + 1}
    assert one_key("value_slack", inf)(state) == {"value_slack": "none"}


def test_by_hand_keeps_the_run_as_it_lies(state):
    """Order and bridges as they are; any other arrangement lets the order go."""
    by_hand = arranged_by("hand")(state)
    assert by_hand["order"] == list(state.hand.order)
    kept = [one["yarn"] for one in by_hand["bridges_kept"] or ()]
    assert set(kept) == state.hand.bridges
    assert arranged_by("value")(state) == {"by": "value", "order": None, "locked": None}
    assert as_computed(state) == {"order": None, "locked": None}


def test_a_hand_is_kept_as_choices(state):
    """Order and left out; a bridge taken out lowers how many are put in again."""
    new = leave_out(state.hand, state.hand.order[3])
    changes = hand_changes(state, new)
    assert changes["order"] == list(new.order)
    assert changes["left_out"] == [state.hand.order[3]]
    assert "bridges" not in changes
    names = list(state.pool.every)
    for name in state.hand.bridges:
        act = Act("out", names.index(name))
        out = hand_changes(state, leave_out(state.hand, name), act=act)
        assert out["bridges"] == len(state.hand.bridges) - 1


def test_the_order_panel_asks_and_shows(state):
    """Filling it asks for nothing; a hand on a button asks for one change."""
    asked = []
    panel = OrderPanel(lambda changes, said: asked.append(changes(state)))
    panel.show(state)
    assert asked == [] and panel.by.value == state.choices.arranging.by
    assert panel.slack.disabled
    panel.way.set_state({"index": 2})
    assert asked == [{"layout": "mirrored"}]


def test_slack_counts_for_smoothest_alone(state):
    """The slack slider sleeps but for the smoothest arrangement."""
    asked = []
    panel = OrderPanel(lambda changes, said: asked.append(changes(state)))
    panel.show(state)
    assert panel.slack.disabled
    blanket = choose(state.blanket, by="smoothest", value_slack=13)
    panel.show(replace(state, blanket=blanket))
    assert not panel.slack.disabled
    assert panel.slack.value == 12  # its own position nearest to what the file says
    panel.slack.set_state({"index": len(panel.slack.options) - 1})
    assert asked == [{"value_slack": "none"}]


def test_the_look_panel_answers_in_one_message(state):
    """Run, steps, numbers and words come together; yarns only with another pool."""
    panel = ColourLook(lambda act, said: None, lambda changes, said: None)
    shown = []
    panel.strip.show = lambda **traits: shown.append(set(traits))
    panel.show(replace(state, said="Undone."))
    panel.show(moved(state))
    first, second = shown
    assert {"yarns", "edition", "run", "steps", "numbers", "sentences"} <= first
    assert {"run", "steps", "numbers"} <= second
    assert not {"yarns", "edition", "sentences"} & second


def test_what_an_act_cannot_do_stands_in_the_strip(state):
    """An error nobody foresaw as well."""

    def act(one, said):
        raise ZeroDivisionError("by nothing")

    panel = ColourLook(act, lambda changes, said: None)
    panel.show(state)
    panel.strip.hear({"act": "undo", "edition": panel.strip.edition})
    sentence = "This did not work (ZeroDivisionError: by nothing)."
    assert panel.strip.sentences == sentence


def test_kept_steps_are_listed_once_a_plan_stays(state):
    """The list follows a plan, not one that is only tried."""
    asked = []
    panel = KeptStepsPanel(lambda changes, said: asked.append(changes(state)))
    panel.show(replace(state, tried=True))
    assert panel.accents.options == ()
    panel.show(state)
    assert len(panel.accents.options) > 2 and asked == []
    panel.accents.set_state({"index": [0]})
    assert asked == [{"accents": [list(panel.accents.options[0][1])]}]

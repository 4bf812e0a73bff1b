"""What the colour desk shows of a plan, panel by panel, without a page."""

from dataclasses import replace

import pytest

from kit.arrangement.manual import move
from kit.plan import advice_lines
from kit.report import summary
from kit.report.report import fabric_lines
from kit.widgets.colour import results
from kit.widgets.colour.results import (
    NO_MOVE_HELPS,
    NOTHING_MOVES,
    ClothPanel,
    ColourNumbers,
    FromFarPanel,
    MovesPanel,
    SecondPanel,
)

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


def plain(lines):
    return " ".join(lines).replace("\u00a0", " ")


def test_the_run_from_far_follows_a_move(state):
    """A moved yarn is drawn at once, before a plan is made of it."""
    panel = FromFarPanel()
    panel.show(state)
    before = bytes(panel.colours.value), bytes(panel.greys.value)
    hand = move(state.hand, state.hand.line[0], state.hand.line[5])
    turn = replace(state.history.now, hand=hand)
    moved = replace(state, history=state.history.turn(turn))
    assert not moved.planned and moved.plan is state.plan
    panel.show(moved)
    after = bytes(panel.colours.value), bytes(panel.greys.value)
    assert before[0] != after[0] and before[1] != after[1]


def test_the_fabric_is_told_before_it_is_drawn(state, words, monkeypatch):
    """Totals stand there when the picture begins, and the same plan is drawn once."""
    panel, drawn = ClothPanel(), []

    def draw(plan, near):
        drawn.append(words(panel.totals))
        return b"\x89PNG"

    monkeypatch.setattr(results, "small_look", draw)
    panel.show(state)
    panel.show(replace(state, said="Undone."))
    assert drawn == [plain(fabric_lines(state.plan))]
    assert bytes(panel.small.value) == b"\x89PNG"


def test_a_fabric_drawn_elsewhere_is_taken(state, monkeypatch):
    """What was worked out aside comes with its picture."""
    monkeypatch.setattr(results, "small_look", None)
    panel = ClothPanel()
    panel.show(replace(state, small=b"\x89PNG aside"))
    assert bytes(panel.small.value) == b"\x89PNG aside"


def test_numbers_are_the_summary(state, words):
    """The lines are those of the functions behind them."""
    panel = ColourNumbers()
    panel.show(state)
    assert words(panel.lines) == plain(summary(state.plan))
    assert words(panel.breaks).startswith("Where the flow breaks, worst first:")


def test_a_settled_plan_is_advised_on(plan, words):
    """The lines are those of the functions behind them."""
    panel = MovesPanel()
    panel.settle(plan)
    assert words(panel.moves) == plain(advice_lines(plan))


def test_nothing_to_move_is_said(calm, words):
    """A run without jumps has no advice, and says so."""
    panel = MovesPanel()
    panel.settle(calm.plan)
    assert words(panel.moves) == NOTHING_MOVES


def test_a_jump_that_no_move_mends_is_not_denied(plan, monkeypatch, words):
    """Where nothing helps, it is not said that nothing breaks the flow."""
    monkeypatch.setattr(results, "advice_lines", lambda _: [])
    panel = MovesPanel()
    panel.settle(plan)
    assert words(panel.moves) == NO_MOVE_HELPS


def test_the_second_opinion_waits_until_it_is_opened(plan, words):
    """Folded it measures nothing; opened it says which steps are worst both ways."""
    panel = SecondPanel()
    panel.settle(plan)
    assert words(panel.lines) == ""
    panel.opinion.selected_index = 0
    assert "CAM16-UCS" in words(panel.lines)

"""What the colour desk says would help, without a page."""

import pytest

from kit.blanket import open_blanket
from kit.files import shared_folder
from kit.plan import advice_lines, plan_blanket
from kit.widgets.colour import remedies as colour_remedies
from kit.widgets.colour.remedies import NO_MOVE_HELPS, NOTHING_MOVES, Remedies
from kit.widgets.fabric.view import BLANK

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture(scope="module")
def plan():
    """The demo, worked out quickly."""
    folder = shared_folder("data") / "reading-room"
    return plan_blanket(open_blanket(folder), quick=True)


def words(lines) -> str:
    return " ".join(label.value for label in lines.children).replace("\u00a0", " ")


def test_a_gap_is_shown_with_its_candidates(plan):
    """Every candidate that is told stands in the picture; none without a gap."""
    remedies, gap = Remedies(), plan.design.suggestions[0]
    remedies.show_gap(gap, plan)
    shown = bytes(remedies.shortlist.value).decode()
    for yarn, _, step in gap.candidates[:5]:
        assert yarn.name.split()[0] in shown and f"leaves {step:.1f}" in shown
    remedies.show_gap(None, plan)
    assert bytes(remedies.shortlist.value).decode() == BLANK


def test_a_settled_plan_is_advised_on(plan):
    """The lines are those of the functions behind them."""
    remedies = Remedies()
    remedies.settle(plan)
    assert words(remedies.moves) == " ".join(advice_lines(plan)).replace("\u00a0", " ")
    assert words(remedies.gaps).startswith("Gap by gap")


def test_nothing_to_move_is_said(tmp_path):
    """A run without jumps has no advice, and says so."""
    (tmp_path / "stash.csv").write_text("name,colours\nA,#888888\nB,#8a8a8a\n")
    (tmp_path / "blanket.toml").write_text('name = "Two greys"\n')
    remedies = Remedies()
    remedies.settle(plan_blanket(open_blanket(tmp_path)))
    assert words(remedies.moves) == NOTHING_MOVES
    assert words(remedies.gaps) == ""


def test_a_jump_that_no_move_mends_is_not_denied(plan, monkeypatch):
    """Where nothing helps, it is not said that nothing breaks the flow."""
    monkeypatch.setattr(colour_remedies, "advice_lines", lambda _: [])
    remedies = Remedies()
    remedies.settle(plan)
    assert words(remedies.moves) == NO_MOVE_HELPS


def test_the_second_opinion_waits_until_it_is_opened(plan):
    """Folded it measures nothing; opened it says which steps are worst both ways."""
    remedies = Remedies()
    remedies.settle(plan)
    assert words(remedies.lines) == ""
    remedies.opinion.selected_index = 0
    assert "CAM16-UCS" in words(remedies.lines)

"""A whole blanket knitted through the notebook, its truth unknown to the plan."""

from __future__ import annotations

import random

import pytest

from kit import server as kit_server
from kit.blanket import open_blanket
from kit.needles import where_things_stand
from tests.helpers.knitter import Knitter, drawn_truth
from tests.helpers.plans import balls, stash_bytes, toml

NOTEBOOK = "notebooks/4_on_the_needles.ipynb"
LOOKS = (30, 70, 110)  # rows after which the balls on the needle are weighed

# Everything sent so far is worked off when the kernel answers this.
ANSWERED = """async () => {
  const kernel = jupyterapp.shell.currentWidget.sessionContext.session.kernel;
  await kernel.requestKernelInfo();
  await new Promise(done => setTimeout(done, 100));
}"""


@pytest.fixture(scope="module")
def blanket(tmp_path_factory):
    """A dozen balls and 60 cm to knit, with the notebooks beside them."""
    blanket = tmp_path_factory.mktemp("work") / "hall"
    blanket.mkdir()
    stash = stash_bytes(balls(12, grams=(25, 40, 50)))
    (blanket / "stash.csv").write_bytes(stash)
    (blanket / "blanket.toml").write_text(toml(length="60"), "utf-8")
    kit_server.own_notebooks(blanket)
    return blanket


@pytest.fixture
def shown(notebook):
    shown = notebook(NOTEBOOK)
    shown.run_all()
    assert shown.faults() == []
    shown.page.set_default_timeout(60_000)
    return shown


def part(page, words: str):
    """The cell whose controls hold these words."""
    cell = page.locator(".jp-Notebook .jp-CodeCell").filter(has_text=words)
    cell.first.scroll_into_view_if_needed()
    return cell.first


def type_in(cell, label: str, text: str) -> None:
    field = cell.get_by_label(label, exact=True)
    field.fill(text)
    field.press("Tab")


def log_join(page, numbered: dict[str, str], name: str, row: int, other: str) -> None:
    """What a knitter does at a join: look, correct what is otherwise, one press."""
    cell = part(page, "Log the join")
    joined = cell.get_by_label("Joined", exact=True)
    if joined.evaluate("e => e.selectedOptions[0].label") != numbered[name]:
        joined.select_option(label=numbered[name])
        page.evaluate(ANSWERED)  # the row follows the yarn; typing comes after
    type_in(cell, "at row", str(row))
    instead = cell.get_by_label("instead of", exact=True)
    if numbered[other] in instead.locator("option").all_inner_texts():
        instead.select_option(label=numbered[other])
    page.evaluate(ANSWERED)
    cell.get_by_role("button", name="Log the join").click()
    cell.get_by_text(f"Logged: joined {name} at row {row}.").wait_for()


def weigh(page, numbered: dict[str, str], name: str, row: int, grams: float) -> None:
    cell = part(page, "Log the weight")
    type_in(cell, "Knitted to row", str(row))
    cell.get_by_label("Weighed", exact=True).select_option(label=numbered[name])
    type_in(cell, "left on it, g", f"{grams:.1f} g")
    cell.get_by_role("button", name="Log the weight").click()
    cell.get_by_text(f"g of {name} left after row {row}.").wait_for()


def plan_anew(shown) -> None:
    """Try, look, keep."""
    cell = part(shown.page, "Keep this plan")
    cell.get_by_role("button", name="Try it").click()
    cell.get_by_text("Tried, not kept").wait_for()
    shown.screenshot("planned anew")
    cell.get_by_role("button", name="Keep this plan").click()
    cell.get_by_text("Kept, beside the plans before it").wait_for()


def test_a_blanket_is_knitted_with_three_weighings(shown, blanket, heard):
    """Joins and weights are logged, the rest planned anew once; it ends as a finished
    blanket, no ball below zero, and the page says so."""
    page = shown.page
    rng = random.Random(7)
    opened = open_blanket(blanket)
    yarns = [yarn for yarn in opened.stash.yarns if yarn.role != "leave out"]
    numbered = {yarn.name: f"{yarn.no} {yarn.name}" for yarn in yarns}
    truth = drawn_truth(yarns, opened.choices, rng)
    plan = where_things_stand(blanket).plan
    knitter = Knitter(plan, truth, rng, opened.choices)
    for look in LOOKS:
        done = len(knitter.joins)
        knitter.knit_to(look)
        for name, row, other in knitter.joins[done:]:
            log_join(page, numbered, name, row, other)
        knitter.weather()
        for held in list(knitter.held):
            name = held.yarn.name
            weigh(page, numbered, name, look, knitter.scale(name))
        if look == LOOKS[1]:
            shown.screenshot("on the needles")
            plan_anew(shown)
            after = where_things_stand(blanket)
            assert after.number == 2 and after.plan.start.row == look
            knitter = Knitter(
                after.plan, truth, rng, opened.choices, look, knitter.left
            )
    done, last = len(knitter.joins), knitter.plan.fabric.rows
    knitter.knit_to(last)
    for name, row, other in knitter.joins[done:]:
        log_join(page, numbered, name, row, other)
    end = last if knitter.lasted is None else int(knitter.lasted)
    cell = part(page, "Log the rows")
    type_in(cell, "Knitted to row", str(end))
    cell.get_by_role("button", name="Log the rows").click()
    cell.get_by_text(f"Logged: knitted to row {end}.").wait_for()
    part(page, "Log the join").get_by_text(f"Row {end} of {last}.").wait_for()
    assert end >= last - 12  # about as long as planned
    assert all(metres >= -1e-6 for metres in knitter.left.values())
    standing = where_things_stand(blanket)
    assert all(ball.left_mm >= 0 for ball in standing.now.balls)
    assert sorted(path.name for path in blanket.glob("plan*")) == ["plan", "plan-2"]
    assert heard.outside == [] and heard.thrown == []


def test_a_bad_number_is_told_beside_its_control(shown):
    """A weight that is none, and the log stays as it was."""
    page = shown.page
    cell = part(page, "Log the weight")
    type_in(cell, "left on it, g", "plenty")
    cell.get_by_role("button", name="Log the weight").click()
    cell.get_by_text("plenty, expected").wait_for()


def test_the_keyboard_alone_logs_a_row(shown, blanket):
    """Tab from the field to its button, Enter; undo takes it out again."""
    page = shown.page
    before = (blanket / "knitted.csv").read_bytes()
    cell = part(page, "Log the rows")
    cell.get_by_label("Knitted to row", exact=True).focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("150")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    cell.get_by_text("Logged: knitted to row 150.").wait_for()
    cell.get_by_role("button", name="Take the last line out").press("Enter")
    cell.get_by_text("Taken out: knitted").wait_for()
    assert (blanket / "knitted.csv").read_bytes() == before

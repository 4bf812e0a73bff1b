"""The notebooks of a blanket in inches and ounces, in a real page."""

from __future__ import annotations

import tomllib

import pytest

from kit import server as kit_server
from tests.helpers.demos import own_demo


@pytest.fixture(scope="module")
def blanket(tmp_path_factory):
    """The small demo, which is imperial, with the notebooks beside it."""
    demo = own_demo(tmp_path_factory.mktemp("work"))
    blanket = demo.parent / "pram-cover"
    kit_server.own_notebooks(blanket)
    return blanket


def opened(notebook, name):
    shown = notebook(f"notebooks/{name}.ipynb")
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


def test_a_width_in_inches(notebook, blanket):
    """What is typed is inches, the file says so, and units re-word the fields."""
    shown = opened(notebook, "3_blanket")
    size = part(shown.page, "Stitches in a repeat")
    assert size.get_by_label("Width, in", exact=True).input_value() == "28"
    gauge = part(shown.page, "Swatch weighs")
    assert gauge.get_by_label("Stitches in 4 in", exact=True).input_value() == "22"
    shown.screenshot("imperial-gauge")
    type_in(size, "Width, in", "30")
    size.get_by_text("165 stitches").first.wait_for()  # 5.5 in an inch
    size.get_by_text("Saved in blanket.toml.").wait_for()
    text = (blanket / "blanket.toml").read_text("utf-8")
    assert tomllib.loads(text)["size"]["width_cm"] == "30 in"
    shown.screenshot("imperial-size")
    gauge.get_by_role("button", name="cm, m, g").click()
    width = size.get_by_label("Width, cm", exact=True)
    width.wait_for()
    assert width.input_value() == "76.2"
    gauge.get_by_role("button", name="in, yd, oz").click()
    size.get_by_label("Width, in", exact=True).wait_for()
    assert shown.faults() == []


def test_a_ball_weighed_in_ounces(notebook, blanket):
    """The field, the echo, the tables and the log."""
    shown = opened(notebook, "4_on_the_needles")
    cell = part(shown.page, "Log the weight")
    type_in(cell, "Knitted to row", "12")
    type_in(cell, "left on it, oz", "1.5")
    cell.get_by_role("button", name="Log the weight").click()
    cell.get_by_text("left after row 12.").wait_for()
    assert "Logged: 1.5" in cell.inner_text()
    part(shown.page, "Every ball as it is now believed").get_by_text(
        "left, oz"
    ).wait_for()
    log = (blanket / "knitted.csv").read_text("utf-8-sig").splitlines()
    assert "ounces" in log[0].split(",") and ",1.5," in log[1]
    shown.screenshot("imperial-needles")
    assert shown.faults() == []


def test_the_shelf_in_ounces(notebook, blanket):
    """No gram on the shelf, no metre where a length is weighed."""
    shown = opened(notebook, "1_stash")
    weighing = part(shown.page, "The length of 100 g, from a piece and its weight")
    type_in(weighing, "Length, yd", "22")
    type_in(weighing, "It weighs, oz", "0.2")
    weighing.get_by_text("388").first.wait_for()
    shown.screenshot("imperial-weighing")
    part(shown.page, "1.9 oz")
    shown.page.evaluate(
        "() => document.querySelector('.jp-WindowedPanel-outer')?.scrollTo(0, 0)"
    )
    shown.screenshot("imperial-shelf")
    assert shown.faults() == []

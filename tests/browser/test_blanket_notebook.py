"""The fabric desk under a knitter's hands, in a real page."""

from __future__ import annotations

import re
import statistics
import tomllib
from pathlib import Path

import pytest

NOTEBOOK = "notebooks/3_blanket.ipynb"
SIZE = {"width_cm": 120, "length_cm": 150, "repeat_stitches": 6, "edge_stitches": 6}

# How long from leaving a field until the blanket's new picture is decoded.
WATCH_PICTURE = """cell => {
  const image = cell.querySelector('img');
  const before = image.src;
  window.pictureAfter = null;
  const start = performance.now();
  const look = async () => {
    if (image.src === before || !image.complete) return requestAnimationFrame(look);
    await image.decode();
    window.pictureAfter = performance.now() - start;
  };
  requestAnimationFrame(look);
}"""


def chosen(blanket: Path) -> dict:
    return tomllib.loads((blanket / "blanket.toml").read_text("utf-8"))


def wait_until_saved(page, blanket: Path, table: str, value) -> None:
    """The page shows a change before the file has it: look again for five seconds."""
    for _ in range(50):
        saved = chosen(blanket).get(table)
        if saved == value:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{table} is {saved}, expected {value}")


def part(page, words: str):
    """The cell whose controls hold a label with these words."""
    cell = page.locator(".jp-Notebook .jp-CodeCell").filter(has_text=words)
    cell.first.scroll_into_view_if_needed()
    return cell.first


def metres_used(cell) -> int:
    told = cell.get_by_text(re.compile(r"\d\s+m,"))
    return int(re.search(r"(\d+)\s+m,", told.text_content()).group(1))


def type_in(cell, label: str, text: str) -> None:
    field = cell.get_by_label(label, exact=True)
    field.fill(text)
    field.press("Enter")


@pytest.fixture
def shown(notebook):
    shown = notebook(NOTEBOOK)
    shown.run_all()
    assert shown.faults() == []  # also brings every cell into view once, so it is drawn
    shown.page.set_default_timeout(20_000)
    return shown


def test_a_width_is_typed_and_everything_follows(shown, blanket, heard):
    """Stitches, metres, picture and file follow a new width; a bad one is told."""
    page = shown.page
    size = part(page, "Stitches in a repeat")
    size.get_by_text("264 stitches x 450 rows").wait_for()
    metres = metres_used(size)
    picture = size.locator("img").get_attribute("src")
    type_in(size, "Width, cm", "130")
    size.get_by_text("288 stitches x 450 rows, 130.9 cm").wait_for()
    size.get_by_text("Saved in blanket.toml.").wait_for()
    assert metres_used(size) > metres
    assert size.locator("img").get_attribute("src") != picture
    wait_until_saved(page, blanket, "size", SIZE | {"width_cm": 130})
    type_in(size, "Width, cm", "4")
    size.get_by_text("Width: found 4 cm for a repeat of 2.73 cm").wait_for()
    assert chosen(blanket)["size"] == SIZE | {"width_cm": 130}
    gauge = part(page, "Stitches in 10 cm")
    type_in(gauge, "Stitches in 10 cm", "0")
    told = "Stitches in 10 cm: found 0, expected a number above 0."
    gauge.get_by_text(told).wait_for()
    shown.screenshot("blanket-told")
    type_in(size, "Width, cm", "120")
    size.get_by_text("264 stitches x 450 rows").wait_for()
    assert shown.faults() == []
    assert heard.thrown == []


def test_by_keyboard_alone(shown, blanket):
    """Tab reaches every field and button of a part in turn; keys press them."""
    page = shown.page
    size = part(page, "Stitches in a repeat")
    size.get_by_label("Width, cm", exact=True).focus()
    reached = []
    for _ in range(7):
        page.keyboard.press("Tab")
        reached.append(
            page.evaluate(
                "() => document.activeElement.getAttribute('type')"
                " || document.activeElement.innerText"
            )
        )
    assert reached[:4] == ["text", "checkbox", "text", "text"]
    assert [words.split()[0] for words in reached[4:]] == ["258", "264", "270"]
    page.keyboard.press("Space")  # one repeat more
    size.get_by_text("270 stitches x 450 rows").wait_for()
    wait_until_saved(page, blanket, "size", SIZE | {"width_cm": 122.73})
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Space")  # and one fewer again
    size.get_by_text("264 stitches x 450 rows").wait_for()
    wait_until_saved(page, blanket, "size", SIZE)


def test_sections_and_carried_yarn(shown, blanket):
    """A section is added, made denser, taken out; a yarn is carried, then not."""
    page = shown.page
    sections = part(page, "Add a section")
    sections.get_by_role("button", name="Add a section").press("Enter")
    sections.get_by_text("Saved in blanket.toml.").wait_for()
    type_in(sections, "Rows in 10 cm", "40")
    sections.get_by_text("The yarn ends").wait_for()
    carried = part(page, "Carry a yarn along")
    carried.get_by_role("button", name="Carry a yarn along").press("Enter")
    yarn = carried.get_by_label("Carry", exact=True)
    yarn.select_option("Net on the Wall")
    carried.get_by_text("Saved in blanket.toml.").wait_for()
    carried.get_by_label("where").select_option("in a section")
    carry = [{"yarn": "Net on the Wall", "section": "section 1"}]
    wait_until_saved(page, blanket, "carry", carry)
    shown.screenshot("blanket-sections")
    carried.get_by_role("button", name="Remove").press("Enter")
    wait_until_saved(page, blanket, "carry", None)
    sections.get_by_role("button", name="Remove").press("Enter")
    sections.get_by_text("264 stitches x 450 rows").wait_for()
    wait_until_saved(page, blanket, "sections", None)


def wait_for_another(image, source):
    """Until an image shows another picture than this one."""
    told = "([image, source]) => image.src !== source"
    image.page.wait_for_function(told, arg=[image.element_handle(), source])


def test_greys_distance_and_the_written_plan(shown, blanket, home):
    """Greys and distance change the picture; the plan is written and opened by keys."""
    page = shown.page
    look = part(page, "From across the room")
    image = look.locator("img")
    before = image.get_attribute("src")
    look.get_by_label("in greys").check()
    wait_for_another(image, before)
    before = image.get_attribute("src")
    look.locator(".noUi-handle").focus()
    page.keyboard.press("ArrowRight")
    wait_for_another(image, before)
    shown.screenshot("blanket-grey")
    which = part(page, "Write the plan")
    which.get_by_role("button", name="Write the plan").press("Enter")
    which.get_by_text("Written: ").wait_for()
    plan = blanket / "plan" / "plan.html"
    assert plan.is_file()
    opening = which.get_by_role("button", name="Open the plan")
    opening.focus()
    page.keyboard.press("Enter")
    for _ in range(50):
        if (home / "opened").exists():
            break
        page.wait_for_timeout(100)
    assert (home / "opened").read_text("utf-8").split() == [plan.resolve().as_uri()]


def test_time_from_change_to_picture(shown, capsys):
    """Measured, not judged: a new width until the picture has changed in the page."""
    page, took = shown.page, []
    size = part(page, "Stitches in a repeat")
    type_in(size, "Width, cm", "120")
    size.get_by_text("264 stitches x 450 rows").wait_for()
    for width in range(123, 147, 3):
        field = size.get_by_label("Width, cm", exact=True)
        field.fill(str(width))
        size.evaluate(WATCH_PICTURE)
        field.press("Enter")
        page.wait_for_function("() => window.pictureAfter !== null")
        took.append(page.evaluate("() => window.pictureAfter"))
    with capsys.disabled():
        low, high = min(took), max(took)
        middle = statistics.median(took)
        print(f"\nwidth to picture: {low:.0f}, {middle:.0f}, {high:.0f} ms")
    assert all(ms > 0 for ms in took)

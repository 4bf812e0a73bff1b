"""The stash desk under a knitter's hands, in a real page."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

NOTEBOOK = "notebooks/1_stash.ipynb"


def rows(blanket: Path) -> dict[str, dict[str, str]]:
    """stash.csv as a reader that knows nothing of the kit sees it, by name."""
    with (blanket / "stash.csv").open(encoding="utf-8", newline="") as file:
        return {row["name"]: row for row in csv.DictReader(file)}


def wait_until_saved(page, blanket: Path, name: str, column: str, text: str) -> None:
    """The page may be ahead of the file: look again for five seconds."""
    for _ in range(50):
        saved = rows(blanket).get(name, {}).get(column)
        if saved == text:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{name}, {column}: {saved!r}, expected {text!r}")


def part(page, comment: str):
    """The cell that begins with this comment, in view."""
    cells = page.locator(".jp-Notebook .jp-CodeCell")
    cell = cells.filter(has_text=f"# {comment}").first
    cell.scroll_into_view_if_needed()
    return cell


def type_in(cell, label: str, text: str) -> None:
    field = cell.get_by_label(label, exact=True)
    field.fill(text)
    field.press("Enter")


def from_the_top(shown, name: str) -> None:
    shown.page.locator(".jp-Notebook .jp-Cell").first.scroll_into_view_if_needed()
    shown.screenshot(name)


@pytest.fixture
def shown(notebook):
    shown = notebook(NOTEBOOK)
    shown.run_all()
    shown.page.set_default_timeout(20_000)
    return shown


def test_grams_are_typed_and_everything_follows(shown, blanket, heard):
    """Totals, shelf and file follow; a bad value is told and nothing is touched."""
    page = shown.page
    from_the_top(shown, "stash")
    shelf = part(page, "The shelf").locator("img")
    before = shelf.get_attribute("src")
    one = part(page, "One yarn, to look at and to change")
    one.get_by_label("Yarn", exact=True).select_option("2 · Peat Basket")
    type_in(one, "Grams left", "109")  # 9 g until now
    one.get_by_text("Saved in stash.csv: grams left.").wait_for()
    one.get_by_text("44 balls: 1785 g, 7171 m").wait_for()  # 100 g, 400 m more
    wait_until_saved(page, blanket, "Peat Basket", "grams", "109")
    assert shelf.get_attribute("src") != before
    untouched = (blanket / "stash.csv").read_bytes()
    type_in(one, "Grams left", "-5")
    one.get_by_text("Grams left: found -5, expected 0 or more.").wait_for()
    one.get_by_text("Nothing was saved: stash.csv is as it was.").wait_for()
    page.wait_for_timeout(500)
    assert (blanket / "stash.csv").read_bytes() == untouched
    from_the_top(shown, "stash-told")
    type_in(one, "Grams left", "9")
    one.get_by_text("44 balls: 1685 g, 6771 m").wait_for()
    assert shown.faults() == []
    assert heard.thrown == []
    assert heard.outside == []


def test_the_swatch_follows_every_letter(shown, blanket):
    """A colour is seen and described while it is typed, and kept by Enter, or when the
    field is left."""
    page = shown.page
    one = part(page, "One yarn, to look at and to change")
    one.get_by_label("Yarn", exact=True).select_option("40 · Stove Door")
    colours, swatch = one.get_by_label("Colours"), one.locator("img").first
    before = swatch.get_attribute("src")
    colours.fill("#ff000")
    one.get_by_text("found #ff000, expected #rrggbb").wait_for()
    colours.press("End")
    page.keyboard.type("0")
    one.get_by_text("L* 53").wait_for()
    assert swatch.get_attribute("src") != before
    colours.press("Tab")
    wait_until_saved(page, blanket, "Stove Door", "colours", "#ff0000")
    colours.fill("#00ff00")
    colours.press("Enter")
    wait_until_saved(page, blanket, "Stove Door", "colours", "#00ff00")
    one.locator("input[type=color]").fill("#27282c")
    wait_until_saved(page, blanket, "Stove Door", "colours", "#27282c")


def test_a_yarn_is_added_by_keyboard_and_taken_back(shown, blanket):
    """Tab goes from field to field, Space presses; undo brings the very file back."""
    page = shown.page
    before = (blanket / "stash.csv").read_bytes()
    new = part(page, "A new yarn")
    new.get_by_label("Name", exact=True).focus()
    page.keyboard.type("<img src=x onerror=alert(1)>")
    page.keyboard.press("Tab")
    page.keyboard.type("sage 60%, #ffffff 40%")
    page.keyboard.press("Tab")  # the picker, once it shows what was typed
    page.wait_for_function("document.activeElement.value.startsWith('#8')")
    page.keyboard.press("Tab")
    page.keyboard.type("25 g")
    page.keyboard.press("Tab")  # the same as
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    new.get_by_text("is on the shelf and in stash.csv: no. 46.").wait_for()
    name = "<img src=x onerror=alert(1)>"
    wait_until_saved(page, blanket, name, "colours", "sage 60%, #ffffff 40%")
    table = part(page, "The table behind the shelf")
    assert table.get_by_role("cell", name=name).count() == 1
    assert page.locator(".jp-Notebook img[src='x']").count() == 0
    from_the_top(shown, "stash-added")
    one = part(page, "One yarn, to look at and to change")
    one.get_by_role("button", name="Undo the last change").press("Enter")
    one.get_by_text("as it was before the last change").wait_for()
    assert (blanket / "stash.csv").read_bytes() == before


def test_an_edit_made_elsewhere_stays(shown, blanket):
    """A file changed in a spreadsheet is not overwritten; reading again goes on."""
    page, path = shown.page, blanket / "stash.csv"
    before = path.read_bytes()
    one = part(page, "One yarn, to look at and to change")
    one.get_by_label("Yarn", exact=True).select_option("2 · Peat Basket")
    elsewhere = before.replace(b"Wet Quay,#444a51,46", b"Wet Quay,#444a51,45")
    assert elsewhere != before
    path.write_bytes(elsewhere)
    type_in(one, "Grams left", "8")
    one.get_by_text("changed in another program since it was read").wait_for()
    assert path.read_bytes() == elsewhere
    one.get_by_role("button", name="Read the files again").click()
    one.get_by_text("44 balls: 1684 g").wait_for()
    type_in(one, "Grams left", "8")
    wait_until_saved(page, blanket, "Peat Basket", "grams", "8")
    assert rows(blanket)["Wet Quay"]["grams"] == "45"
    path.write_bytes(before)


def test_a_row_of_the_table_is_clicked(shown):
    """A click in the table chooses the yarn, and the table shows which is chosen."""
    page = shown.page
    table = part(page, "The table behind the shelf")
    table.get_by_role("cell", name="Lifebelt", exact=True).click()
    one = part(page, "One yarn, to look at and to change")
    name = one.get_by_label("Name", exact=True)
    page.wait_for_function(
        "field => field.value === 'Lifebelt'", arg=name.element_handle()
    )
    chosen = table.locator("tr[aria-current=true]")
    assert "Lifebelt" in chosen.inner_text()


def test_a_length_is_weighed(shown, blanket):
    """Metres per 100 g come with their limits and go where they belong."""
    page = shown.page
    before = (blanket / "stash.csv").read_bytes()
    one = part(page, "One yarn, to look at and to change")
    one.get_by_label("Yarn", exact=True).select_option("2 · Peat Basket")
    weighing = part(page, "The length of 100 g, from a piece and its weight")
    type_in(weighing, "Length, m", "50")
    type_in(weighing, "It weighs, g", "12.5")
    weighing.get_by_text("400 m per 100 g; it may be anything from 367").wait_for()
    from_the_top(shown, "stash-weighed")
    button = weighing.get_by_role("button", name='Put it in for "Peat Basket"')
    button.press("Enter")
    wait_until_saved(page, blanket, "Peat Basket", "metres_per_100g", "400")
    (blanket / "stash.csv").write_bytes(before)

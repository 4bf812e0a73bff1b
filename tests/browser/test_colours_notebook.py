"""The colour desk under a knitter's hands, in a real page."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from kit import server as kit_server

NOTEBOOK = "notebooks/2_colours.ipynb"

# Names as an enemy or another alphabet would write them, among plain ones.
NAMES = (
    "Chalk",
    '<img src=x onerror="window.hacked=1">',
    "Pewter",
    "__proto__",
    "Slate",
    "🧶 Wolle 🐑",
    "Straw",
    "مرحبا",
    "Honey",
    "<script>window.hacked=2</script>",
    "Sky",
    "constructor",
    "Denim",
    "Ink",
)
COLOURS = (
    *("#f1f0ec", "#dcdad2", "#a7a9ab", "#8c8f92", "#63686d", "#2b2c2f", "#ecd9a0"),
    *("#d9bd6a", "#c99a3f", "#8a5a2b", "#bcd6e8", "#6d9cc0", "#3a628f", "#1d3557"),
)

BALLS = "e => e.map(ball => ball.querySelector('.name').textContent)"


def quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def stash_of(names) -> str:
    rows = [
        f"{quoted(name)},{colour},40,400,"
        for name, colour in zip(names, COLOURS, strict=True)
    ]
    ferry = '"Ferry","#bcd6e8 50%, #c99a3f 50%",30,400,bridge'
    return "\n".join(["name,colours,grams,metres_per_100g,role", *rows, ferry]) + "\n"


CHOICES = """# ours
name = "Hall"

[gauge]
stitches_per_10cm = 20
rows_per_10cm = 26

[size]
width_cm = 60
length_cm = "all"

[colours]
by = "value"
bridges = 0
"""
SHOP = 'name,colours\n"Mist & Rust","#dcdad2 50%, #8a5a2b 50%"\n'


@pytest.fixture(scope="module")
def blanket(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small blanket of hostile and plain names, instead of the demo."""
    blanket = tmp_path_factory.mktemp("work") / "hall"
    blanket.mkdir()
    kit_server.own_notebooks(blanket)
    return blanket


@pytest.fixture
def shown(notebook, blanket):
    """The notebook run on a fresh stash; only the strip is in view."""
    (blanket / "stash.csv").write_text(stash_of(NAMES), "utf-8")
    (blanket / "shop.csv").write_text(SHOP, "utf-8")
    (blanket / "blanket.toml").write_text(CHOICES, "utf-8")
    return opened(notebook)


def opened(notebook):
    shown = notebook(NOTEBOOK)
    shown.run_all()
    assert shown.faults() == []  # also brings every cell into view once, so it is drawn
    shown.page.set_default_timeout(20_000)
    shown.page.locator(".shade-strip .ball").nth(3).scroll_into_view_if_needed()
    return shown


def colours(blanket: Path) -> dict:
    return tomllib.loads((blanket / "blanket.toml").read_text("utf-8"))["colours"]


def strip(page, query: str):
    return page.locator(f".shade-strip {query}")


def run(page) -> list[str]:
    """The names along the strip, as the page has them."""
    return page.eval_on_selector_all(".shade-strip .balls .ball", BALLS)


def wait_for_run(page, names) -> None:
    for _ in range(100):
        if run(page) == list(names):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"{run(page)}, expected {names}")


def wait_until_saved(page, blanket: Path, key: str, value) -> None:
    """The page shows a change before the file has it: look again for five seconds."""
    for _ in range(100):
        saved = colours(blanket).get(key)
        if saved == value:
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"{key} is {saved}, expected {value}")


def said(page, words: str) -> None:
    strip(page, ".said").get_by_text(words).wait_for()


def ball(page, name: str):
    """The ball of this name, wherever it is."""
    numbers = page.eval_on_selector_all(".shade-strip .ball", BALLS)
    return strip(page, ".ball").nth(numbers.index(name))


def moved(names, name: str, before: str | None) -> list[str]:
    rest = [one for one in names if one != name]
    at = len(rest) if before is None else rest.index(before)
    return [*rest[:at], name, *rest[at:]]


def take(page, name: str) -> None:
    """Press the ball of this name; once pressed, nothing in the run moves by itself."""
    for _ in range(20):
        box = ball(page, name).bounding_box()
        page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 25)
        page.mouse.down()
        if strip(page, ".ball:focus .name").text_content() == name:
            return
        page.mouse.up()  # the run was drawn anew on the way: another ball was there
    raise AssertionError(f"{name} could not be pressed")


def drag(page, name: str, x: float, y: float) -> None:
    take(page, name)
    page.mouse.move(x, y, steps=8)
    page.mouse.up()


def drag_before(page, name: str, other: str) -> None:
    take(page, name)
    box = ball(page, other).bounding_box()
    page.mouse.move(box["x"] + 4, box["y"] + 30, steps=8)
    page.mouse.up()


def press(page, name: str, exact: bool = True) -> None:
    strip(page, "button").get_by_text(name, exact=exact).click()


def pictures(page) -> list[str]:
    """The run from far off, in greys, and the fabric."""
    every = page.eval_on_selector_all(".jp-Notebook img", "e => e.map(i => i.src)")
    return every[:3]


# --- by pointer -----------------------------------------------------------------------


def test_drag_by_pointer(shown, blanket, heard):
    """A ball is dragged before another: order, numbers, pictures, file follow; let go
    outside nothing moves; an undo brings all back."""
    page = shown.page
    names = run(page)
    numbers = strip(page, ".numbers").text_content()
    before = pictures(page)
    drag_before(page, names[1], names[5])
    own = moved(names, names[1], names[5])
    wait_for_run(page, own)
    said(page, f"{names[1]} goes from place 2 to 5.")
    assert strip(page, ".numbers").text_content() != numbers
    assert "by hand" in strip(page, ".numbers").text_content()
    wait_until_saved(page, blanket, "order", own)
    for _ in range(100):  # far off, in greys, and the fabric
        if all(a != b for a, b in zip(before, pictures(page), strict=True)):
            break
        page.wait_for_timeout(50)
    assert all(a != b for a, b in zip(before, pictures(page), strict=True))
    box = strip(page, ".balls").bounding_box()
    drag(page, names[0], box["x"] - 60, box["y"] - 60)
    said(page, "Let go outside the run: nothing moved.")
    assert run(page) == own
    press(page, "Undo")
    wait_for_run(page, names)
    for _ in range(100):
        if "order" not in colours(blanket):
            break
        page.wait_for_timeout(50)
    assert "order" not in colours(blanket)
    assert shown.faults() == []
    assert heard.thrown == []
    assert heard.outside == []


def test_two_quick_drags_and_one_during_work(shown, blanket):
    """Two drags without waiting both count, in turn; so does one right after the rest
    was to be arranged anew, whether that is still going on or just done."""
    page = shown.page
    names = run(page)
    drag_before(page, names[1], names[5])
    drag_before(page, names[8], names[11])
    own = moved(moved(names, names[1], names[5]), names[8], names[11])
    wait_for_run(page, own)
    wait_until_saved(page, blanket, "order", own)
    press(page, "Arrange")
    drag_before(page, own[0], own[3])
    page.wait_for_timeout(2_500)
    held = run(page)
    assert held.index(own[0]) == held.index(own[3]) - 1
    assert sorted(held) == sorted(own)
    wait_until_saved(page, blanket, "order", held)
    assert strip(page, ".busy").text_content() == ""


def test_pressed_while_arranged(shown, blanket):
    """A ball that is pressed when the rest comes back arranged anew stays under the
    hand, and the new run is drawn when the hand lets go."""
    page = shown.page
    names = run(page)
    drag_before(page, names[1], names[5])
    own = moved(names, names[1], names[5])
    wait_until_saved(page, blanket, "order", own)
    ball(page, names[3]).scroll_into_view_if_needed()
    strip(page, "select").first.select_option("value")
    take(page, own[3])
    before = ball(page, own[3]).bounding_box()
    strip(page, "button").get_by_text("Arrange", exact=True).evaluate("e => e.click()")
    wait_until_saved(page, blanket, "order", names)
    page.wait_for_timeout(500)
    assert run(page) == own
    assert ball(page, own[3]).bounding_box() == before
    page.mouse.up()
    wait_for_run(page, names)


def test_mouse_alone(shown, blanket):
    """Pressing and buttons do all that dragging does."""
    page = shown.page
    names = run(page)
    ball(page, names[2]).click()
    press(page, "Later")
    own = moved(names, names[2], names[4])
    wait_for_run(page, own)
    press(page, "Earlier")
    wait_for_run(page, names)
    strip(page, "select").nth(1).select_option(
        label=f"9: between {names[7]} and {names[8]}"
    )
    press(page, "Move there")
    own = moved(names, names[2], names[8])
    wait_for_run(page, own)
    press(page, "Leave out")
    left = [name for name in own if name != names[2]]
    wait_for_run(page, left)
    wait_until_saved(page, blanket, "left_out", [names[2]])
    press(page, "Where it fits best")
    said(page, f"{names[2]} is back, at place ")
    assert sorted(run(page)) == sorted(names)
    press(page, "Put back the computed order")
    wait_for_run(page, names)
    press(page, "Undo")
    said(page, "Undone.")
    assert "by hand" in strip(page, ".numbers").text_content()
    page.get_by_role("button", name="Write the plan").click()
    page.get_by_text("Written: ").wait_for()
    plan = json.loads((blanket / "plan" / "plan.json").read_text("utf-8"))
    assert plan["arrangement"]["order"] == run(page)
    assert page.get_by_role("button", name="Open the plan").is_enabled()


# --- by keyboard ----------------------------------------------------------------------


def test_drag_by_keyboard(shown, blanket):
    """Enter picks up, arrows move, Enter puts down, Escape puts back; Ctrl+Z and
    Ctrl+Shift+Z undo and redo; no key reaches Jupyter; the focus stays on the ball."""
    page, keys = shown.page, shown.page.keyboard
    names, n_cells = run(page), len(shown.cells())
    ball(page, names[3]).focus()
    keys.press("Enter")
    said(page, f"{names[3]} is picked up.")
    for _ in range(3):
        keys.press("ArrowRight")
    said(page, f"Place 7 of 14: between {names[6]} and {names[7]}.")
    keys.press("Escape")
    said(page, "Put back: nothing moved.")
    assert run(page) == names
    keys.press("Space")
    keys.press("ArrowRight")
    keys.press("ArrowRight")
    keys.press("Space")
    own = moved(names, names[3], names[6])
    wait_for_run(page, own)
    wait_until_saved(page, blanket, "order", own)
    focus = "() => document.activeElement.querySelector('.name').textContent"
    assert page.evaluate(focus) == names[3]
    keys.press("Control+z")
    wait_for_run(page, names)
    keys.press("Control+Shift+z")
    wait_for_run(page, own)
    for key in ("d", "d", "x", "a", "b"):  # in Jupyter these delete, cut and add cells
        keys.press(key)
    assert len(shown.cells()) == n_cells
    keys.press("Home")
    assert page.evaluate(focus) == own[0]
    keys.press("End")
    assert page.evaluate(focus) == own[-1]


def test_keyboard_alone_reaches_everything(shown, blanket):
    """Tab leads from the ball to the buttons: lock, tie, leave out, arrange anew."""
    page, keys = shown.page, shown.page.keyboard
    names = run(page)
    ball(page, names[4]).focus()
    reached = []
    for _ in range(8):
        keys.press("Tab")
        reached.append(page.evaluate("() => document.activeElement.textContent"))
    assert reached[:2] == ["Earlier", "Later"]
    assert reached[3:7] == [
        "Move there",
        "Lock in its place",
        "Keep with the next",
        "Leave out",
    ]
    assert reached[7].endswith("Ferry")  # the tray's first ball: nothing is left out
    ball(page, names[4]).focus()
    for _ in range(5):
        keys.press("Tab")
    keys.press("Enter")
    said(page, f"{names[4]} is locked in its place.")
    keys.press("Tab")
    keys.press("Space")
    said(page, f"{names[4]} stays beside the next.")
    wait_until_saved(page, blanket, "locked", [names[4], [names[4], names[5]]])
    ball(page, names[4]).focus()
    keys.press("Enter")
    keys.press("Home")
    keys.press("Enter")
    said(page, f'"{names[4]}" is locked in its place: unlock it first.')
    assert run(page) == names
    strip(page, "button").get_by_text("Arrange", exact=True).focus()
    keys.press("Enter")
    strip(page, ".said").get_by_text("round what is held").wait_for()
    now = run(page)
    assert now.index(names[4]) == 4
    assert now.index(names[5]) == 5


def test_a_bridge_by_keyboard(shown, blanket):
    """From below into a gap, with before and after; the step's terms are told."""
    page, keys = shown.page, shown.page.keyboard
    names = run(page)
    ball(page, "Ferry").focus()
    keys.press("Enter")
    said(page, "Ferry is picked up.")
    keys.press("ArrowRight")
    keys.press("ArrowRight")
    keys.press("Enter")
    said(page, f"Bridge Ferry between {names[2]} and {names[3]}: the step of ")
    wait_for_run(page, moved([*names, "Ferry"], "Ferry", names[3]))
    kept = [{"yarn": "Ferry", "after": names[2], "before": names[3]}]
    wait_until_saved(page, blanket, "bridges_kept", kept)
    told = strip(page, ".told").text_content()
    assert "lightness: " in told
    assert "chroma: " in told
    assert "hue: " in told
    mist = ball(page, "Mist & Rust")
    mist.scroll_into_view_if_needed()
    mist.click()
    press(page, "Where it fits best")
    said(page, "Bridge Mist & Rust between ")
    press(page, "Take the bridge out")
    said(page, "Mist & Rust is below again.")


# --- kept -----------------------------------------------------------------------------


def test_reload_and_restart_keep_everything(shown, blanket, notebook, lab):
    """After a reload the strip lives; after a new kernel all is as it was left."""
    page = shown.page
    names = run(page)
    drag_before(page, names[1], names[5])
    own = moved(names, names[1], names[5])
    wait_for_run(page, own)
    ball(page, names[3]).click()
    press(page, "Lock in its place")
    said(page, f"{names[3]} is locked in its place.")
    ball(page, names[7]).click()
    press(page, "Leave out")
    left = [name for name in own if name != names[7]]
    wait_for_run(page, left)
    wait_until_saved(page, blanket, "left_out", [names[7]])
    for session in kit_server.ask(lab, "GET", "sessions"):
        kit_server.ask(lab, "DELETE", f"sessions/{session['id']}")
    again = opened(notebook)
    wait_for_run(again.page, left)
    locked = ball(again.page, names[3]).get_attribute("aria-label")
    assert "locked in its place" in locked
    assert ball(again.page, names[7]).get_attribute("data-where") == "out"


def test_opening_writes_nothing(shown, blanket):
    """A page that only shows leaves the file as it was."""
    shown.page.wait_for_timeout(1_000)
    assert (blanket / "blanket.toml").read_text("utf-8") == CHOICES


def test_hostile_names_run_nothing(shown, heard):
    """Names are text wherever they stand; nothing of them runs."""
    page = shown.page
    assert sorted(run(page)) == sorted(NAMES)
    for name in NAMES[1:12:2]:
        ball(page, name).click()
        press(page, "Earlier" if run(page)[-1] == name else "Later")
        said(page, f"{name} goes from place ")
    assert page.evaluate("() => window.hacked") is None
    assert page.locator(".shade-strip img, .shade-strip script").count() == 0
    assert page.evaluate("() => ({}).name") is None
    assert heard.thrown == []


# --- seen -----------------------------------------------------------------------------

CONTRAST = """() => {
  const channel = v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  const rgb = text => text.match(/[\\d.]+/g).map(Number);
  const light = text => { const [r, g, b] = rgb(text).map(channel);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const ground = element => {
    for (let up = element; up; up = up.parentElement) {
      const colour = getComputedStyle(up).backgroundColor;
      if (rgb(colour).length < 4 || rgb(colour)[3] > 0) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  const texts = '.name, .gap .size, .numbers, .said, .told, .legend, h4, strong, ' +
    '.family span, button:not([aria-disabled="true"])';
  return [...document.querySelectorAll('.shade-strip')]
    .flatMap(strip => [...strip.querySelectorAll(texts)])
    .filter(element => element.textContent.trim())
    .map(element => {
      const [a, b] = [light(getComputedStyle(element).color), light(ground(element))]
        .sort((x, y) => y - x);
      return [(a + 0.05) / (b + 0.05), element.className || element.tagName];
    })
    .sort((x, y) => x[0] - y[0])[0];
}"""

SMALL = """() => [...document.querySelectorAll(
    '.shade-strip button, .shade-strip select, .shade-strip .ball')]
  .map(element => element.getBoundingClientRect())
  .filter(box => box.width && (box.width < 24 || box.height < 24)).length"""


@pytest.mark.parametrize("theme", ["JupyterLab Light", "JupyterLab Dark"])
def test_text_and_targets_in_both_themes(shown, theme):
    """Text has a contrast of 4.5 : 1 on its ground (WCAG 2.2, 1.4.3), targets are 24 px
    (2.5.8), swatches stand on L* 50."""
    page = shown.page
    page.evaluate(
        "theme => jupyterapp.commands.execute('apputils:change-theme', {theme})", theme
    )
    page.wait_for_timeout(1_500)
    strip(page, ".ball").nth(3).scroll_into_view_if_needed()
    contrast, where = page.evaluate(CONTRAST)
    assert contrast >= 4.5, where
    assert page.evaluate(SMALL) == 0
    ground = "e => getComputedStyle(e).backgroundColor"
    assert strip(page, ".balls").evaluate(ground) == "rgb(119, 119, 119)"
    shown.screenshot("colours-" + theme.split()[-1].lower())


def test_grey_twins_are_shown_when_asked_for(shown):
    """Under every swatch of run and tray its grey twin; pressed again they go."""
    page = shown.page
    twin = strip(page, ".ball .paint.grey").first
    assert twin.is_hidden()
    for words, seen in (("true", True), ("false", False)):
        press(page, "Grey twins")
        toggle = strip(page, "button").get_by_text("Grey twins", exact=True)
        assert toggle.get_attribute("aria-pressed") == words
        assert twin.is_visible() is seen


def test_focus_is_seen_and_said(shown):
    """The focused ball has a ring of its own, black and white, and says its steps."""
    page = shown.page
    names = run(page)
    ball(page, names[2]).focus()
    style = "e => [getComputedStyle(e).outlineColor, getComputedStyle(e).boxShadow]"
    outline, shadow = ball(page, names[2]).evaluate(style)
    assert outline == "rgb(0, 0, 0)"
    assert "rgb(255, 255, 255)" in shadow
    told = strip(page, ".told").text_content()
    assert told.startswith(f"{names[1]} → {names[2]}: step ")
    assert f"{names[2]} → {names[3]}: step " in told
    label = ball(page, names[2]).get_attribute("aria-label")
    assert label.startswith(f"{names[2]}, 3 of 14, no. ")


def test_no_kernel_is_told(shown, lab):
    """With the kernel gone, an act says so after a while instead of nothing."""
    page = shown.page
    ball(page, run(page)[2]).click()
    for session in kit_server.ask(lab, "GET", "sessions"):
        kit_server.ask(lab, "DELETE", f"sessions/{session['id']}")
    press(page, "Later")
    said(page, "No answer yet: Python is busy, or it was restarted.")

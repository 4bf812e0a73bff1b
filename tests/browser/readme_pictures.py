"""The pictures of README.md, made from the demo in a real browser.

    python -m tests.browser.readme_pictures

Writes .github/pictures/: the strip of yarns, the fabric, a page of the plan, the photo.
Needs the extra `browser` and Chromium.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image

from kit import server as kit_server
from kit.blanket import open_blanket
from kit.plan import plan_blanket
from kit.report import write_plan
from tests.browser.conftest import CHROMIUM_FLAGS, Notebook

PICTURES = Path(__file__).parents[2] / ".github" / "pictures"
A4 = {"width": 794, "height": 1123}  # 210 x 297 mm at 96 to the inch

# Every ball on the photo has its colours; without a photo nothing is waited for.
SETTLED = """() => !document.querySelector('.photo-picker')
  || document.querySelectorAll('.photo-picker input').length > 5
  && ![...document.querySelectorAll('.photo-picker *')]
    .some(part => !part.children.length && part.textContent.trim() === '…')"""


def main() -> None:
    from playwright.sync_api import sync_playwright

    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright:
        work = Path(scratch)
        blanket = kit_server.own_demo(work)
        kit_server.own_notebooks(blanket)
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=CHROMIUM_FLAGS
        )
        plan = work / "plan"
        write_plan(plan_blanket(open_blanket(blanket)), plan, pictures=True)
        fabric(plan)
        plan_page(browser, plan)
        with kit_server.served(blanket, "--LabApp.expose_app_in_browser=True") as lab:
            in_notebook(browser, lab, work)
        browser.close()


def fabric(plan: Path) -> None:
    """The blanket as it will be, in true proportion."""
    save(plan / "fabric.png", "fabric.jpg", (760, 900))


def plan_page(browser: Any, plan: Path) -> None:
    """The page with the first rows of the schedule, as it prints on A4."""
    page = browser.new_page(viewport=A4)
    page.goto((plan / "plan.html").as_uri())
    page.emulate_media(media="print")
    part = page.locator("h2", has_text="Rows to knit").first
    part.scroll_into_view_if_needed()
    box = part.bounding_box()
    assert box is not None
    page.evaluate("y => window.scrollBy(0, y - 16)", box["y"])
    page.screenshot(path=plan / "page.png")
    save(plan / "page.png", "plan.png")
    page.close()


def in_notebook(browser: Any, lab: kit_server.Lab, shots: Path) -> None:
    """The run of the second notebook, and the photo of the first."""
    page = browser.new_page(viewport={"width": 1200, "height": 1500})
    for notebook, part, last, name in (
        ("notebooks/2_colours.ipynb", ".shade-strip", ".balls", "strip.png"),
        ("notebooks/1_stash.ipynb", ".photo-picker", "canvas, svg", "photo.jpg"),
    ):
        shown = Notebook(page, lab, notebook, shots)
        shown.run_all()
        assert shown.faults() == []
        element = page.locator(part).first
        element.scroll_into_view_if_needed()
        page.wait_for_function(SETTLED)
        page.wait_for_timeout(500)
        whole = element.bounding_box()
        foot = element.locator(last).first.bounding_box()
        assert whole is not None and foot is not None
        high = foot["y"] + foot["height"] - whole["y"] + 8
        page.screenshot(path=shots / "part.png", clip=whole | {"height": high})
        save(shots / "part.png", name)
    page.close()


def save(shot: Path, name: str, size: tuple[int, int] = (1100, 1200)) -> None:
    """A picture no larger than README needs; colours stay as they are."""
    image = Image.open(shot).convert("RGB")
    image.thumbnail(size, Image.Resampling.LANCZOS)
    image.save(PICTURES / name, optimize=True, quality=82, subsampling=0)


if __name__ == "__main__":
    main()

"""From drop or slider to new numbers and new pictures in a real page, in milliseconds:
`python -m pytest -m bench -s tests/bench/test_latency.py`.

Beside it the plain way in the same run: an ipywidgets Output in which matplotlib draws
a fresh figure of the same run. Median and 95th of 50. Never passes or fails on time.
"""

from __future__ import annotations

import importlib.util
import random
import statistics
import sys
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from kit import server as kit_server

pytestmark = pytest.mark.bench

# The browser tests' own fixtures: a JupyterLab, a page, a notebook to drive.
_PLACE = Path(__file__).parent.parent / "browser" / "conftest.py"
_SPEC = importlib.util.spec_from_file_location("browser_fixtures", _PLACE)
browser = importlib.util.module_from_spec(_SPEC)
sys.modules[_SPEC.name] = browser
_SPEC.loader.exec_module(browser)
chromium, heard, page, home = (
    getattr(browser, name) for name in ("chromium", "heard", "page", "home")
)
lab, notebook, shots = (getattr(browser, name) for name in ("lab", "notebook", "shots"))

N_TIMES = 50
REST_MS = 900  # between two acts, so that each meets a desk at rest

CHOICES = """name = "Bench"
[gauge]
stitches_per_10cm = 22
rows_per_10cm = 30
[size]
width_cm = 120
length_cm = "all"
[colours]
by = "family"
"""

PLAIN = """# The plain way: a fresh figure in an Output
import ipywidgets as widgets
import matplotlib.pyplot as plt
from kit.plan import (plan_blanket)
from kit.blanket import (open_blanket)
from kit.colour import (mean_lab)
from kit.colour.spaces import (lab_to_hex)
from kit.colour.difference import pair_steps
plan = plan_blanket(open_blanket("."))
mixes = [yarn.mix for yarn in plan.design.laid.yarns]
slider, out = widgets.FloatSlider(0.5, min=0, max=1, step=0.05), widgets.Output()
def draw(change=None):
    steps = pair_steps(mixes[:-1], mixes[1:], view=slider.value)
    with out:
        out.clear_output(wait=True)
        figure, (top, low) = plt.subplots(2, 1, figsize=(9, 3))
        top.bar(range(len(steps)), steps)
        for k, mix in enumerate(mixes):
            low.add_patch(plt.Rectangle((k, 0), 1, 1, color=lab_to_hex(mean_lab(mix))))
        low.set_xlim(0, len(mixes))
        plt.show()
slider.observe(draw, "value")
draw()
widgets.VBox([slider, out])"""

# Starts at the page's own event (the pointer let go, the key down), ends when the
# change is painted: the numbers in the next frame, a picture when it is decoded.
WATCH = """([event, numbers, pictures]) => {
  const found = window.found = {};
  const look = query => document.querySelectorAll(query);
  const text = () => look(numbers)[0]?.textContent;
  const source = k => look(pictures)[k]?.src;
  const count = look(pictures).length;
  const was = { text: text(), sources: [...Array(count).keys()].map(source) };
  addEventListener(event, () => {
    const start = performance.now();
    const frame = () => {
      if (!('numbers' in found) && text() !== was.text)
        found.numbers = performance.now() - start;
      for (let k = 0; k < count; k++)
        if (!(k in found) && source(k) !== was.sources[k]) {
          found[k] = null;
          const shown = () => { found[k] = performance.now() - start; };
          look(pictures)[k].decode().then(shown, shown);
        }
      if (window.found === found) requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }, { capture: true, once: true });
}"""


def stash_csv(n: int) -> str:
    """n yarns: hue groups and neutrals, light and dark, one in four of two colours."""
    rng = random.Random(n)
    rows = ["name,colours,grams,metres_per_100g"]
    for k in range(n):
        colours = [f"#{rng.randrange(0x1000000):06x}" for _ in range(1 + (k % 4 == 0))]
        rows.append(f'Yarn {k:03},"{", ".join(colours)}",{rng.randrange(20, 90)},400')
    return "\n".join(rows) + "\n"


@pytest.fixture(scope="module", params=[45, 150])
def blanket(request, tmp_path_factory):
    """A generated blanket with the kit's notebooks and the plain one."""
    folder = tmp_path_factory.mktemp("work") / f"bench{request.param}"
    folder.mkdir()
    (folder / "stash.csv").write_text(stash_csv(request.param), "utf-8")
    (folder / "blanket.toml").write_text(CHOICES, "utf-8")
    kit_server.own_notebooks(folder)
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    cells = [new_code_cell(PLAIN)]
    plain = new_notebook(cells=cells, metadata={"kernelspec": kernel})
    nbformat.write(plain, folder / "plain.ipynb")
    return folder


def times(page, act, event, numbers, pictures) -> dict[str, list[float]]:
    """How long each change took after `act`, N_TIMES over; what never changed is not
    counted."""
    taken: dict[str, list[float]] = {}
    for k in range(N_TIMES):
        page.evaluate(WATCH, [event, numbers, pictures])
        act(k)
        page.wait_for_timeout(REST_MS)
        for what, took in page.evaluate("() => found").items():
            if took is not None:
                taken.setdefault(what, []).append(took)
    return taken


def told(name: str, taken: list[float]) -> str:
    ordered = sorted(taken)
    late = ordered[min(round(0.95 * len(ordered)), len(ordered) - 1)]
    return (
        f"{name:42} median {statistics.median(ordered):6.0f} ms, 95th {late:6.0f} ms "
        f"({len(ordered)} of {N_TIMES})"
    )


def slide(page, handle):
    def act(k):
        handle.focus()
        page.keyboard.press("ArrowRight" if k % 4 < 2 else "ArrowLeft")

    return act


def drop(page):
    """The second ball of the run to behind the fourth, again and again."""

    def act(k):
        balls = page.locator(".shade-strip .balls .ball")
        from_, to = balls.nth(1).bounding_box(), balls.nth(4).bounding_box()
        page.mouse.move(from_["x"] + 30, from_["y"] + 25)
        page.mouse.down()
        page.mouse.move(to["x"] + 8, to["y"] + 28, steps=4)
        page.mouse.up()

    return act


def test_latency(notebook, blanket, capsys):
    """Drop and slider, ours and the plain way, one after the other."""
    shown = notebook("notebooks/2_colours.ipynb")
    shown.run_all()
    assert shown.faults() == []
    page = shown.page
    page.locator(".shade-strip .ball").nth(30).scroll_into_view_if_needed()
    page.locator(".shade-strip .ball").nth(2).scroll_into_view_if_needed()
    page.wait_for_timeout(2_000)
    said, images = ".shade-strip .said", ".jp-Notebook .jp-OutputArea img"
    ours = times(page, drop(page), "pointerup", said, images)
    handle = page.locator(".noUi-handle").nth(1)
    handle.scroll_into_view_if_needed()
    slid = times(page, slide(page, handle), "keydown", ".shade-strip .numbers", images)
    shown = notebook("plain.ipynb")
    shown.run_all()
    page = shown.page
    images = ".jp-OutputArea img"
    page.locator(images).first.wait_for()
    handle = page.locator(".noUi-handle").first
    plain = times(page, slide(page, handle), "keydown", ".no-numbers", images)
    with capsys.disabled():
        print(f"\n{blanket.name}")
        for key, name in (
            ("numbers", "drop to numbers"),
            ("0", "drop to the run from far off"),
            ("1", "drop to the run in greys"),
            ("2", "drop to the fabric"),
        ):
            print("  " + told(name, ours[key]))
        print("  " + told("slider to numbers", slid["numbers"]))
        print("  " + told("plain way: slider to figure", plain["0"]))

"""The page of a plan whose every text is hostile, in a real browser: nothing runs.

The policy that the page brings along is taken out as well, so that the escaping is
tested and not the policy alone.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from kit.blanket import open_blanket
from kit.pictures import run_svg, shelf_svg
from kit.plan import plan_blanket
from kit.report.report import plan_files
from tests.trust.hostile import NAMES, SCRIPT, hostile_stash

POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy"[^>]*>')


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A blanket with hostile names, and its plan's page with and without the policy."""
    folder = tmp_path_factory.mktemp("hostile")
    name = f"</title><script>{SCRIPT}</script>"
    toml = f"name = {json.dumps(name)}\n[colours]\nby = 'value'\nbridges = 0\n"
    toml += "[gauge]\nstitches_per_10cm = 20\nrows_per_10cm = 26\n"
    toml += "[size]\nwidth_cm = 12\nlength_cm = 30\n"
    (folder / "stash.csv").write_bytes(hostile_stash(also=name))
    (folder / "blanket.toml").write_text(toml)
    plan = plan_blanket(open_blanket(folder))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("kit.report.report.fabric_pictures", lambda plan, **_: {})
        page = plan_files(plan)["plan.html"].decode()
    bare, n_policies = POLICY.subn("", page)
    assert n_policies == 1
    (folder / "plan.html").write_text(page, encoding="utf-8")
    (folder / "bare.html").write_text(bare, encoding="utf-8")
    drawings = run_svg(plan.design, limit=25) + shelf_svg(plan.stash.yarns)
    html = f"<!doctype html><meta charset=utf-8><body>{drawings}"
    (folder / "drawings.html").write_text(html, encoding="utf-8")
    return folder


def poke(page: Any) -> None:
    """What could start a handler: pointing everywhere, opening, focusing."""
    page.evaluate(
        """() => {
          const kinds = ['mouseover', 'mouseenter', 'click', 'focus', 'toggle'];
          for (const one of document.querySelectorAll('*')) {
            if (one.tagName === 'A') continue;
            for (const kind of kinds)
              one.dispatchEvent(new Event(kind, {bubbles: true}));
          }
        }"""
    )
    page.wait_for_timeout(300)


@pytest.mark.parametrize("name", ["plan.html", "bare.html", "drawings.html"])
def test_no_script_runs(page: Any, heard: Any, folder: Path, name: str) -> None:
    """Opened and poked, the page has run nothing and asked nobody."""
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.goto((folder / name).as_uri())
    poke(page)
    assert page.evaluate("window.ran") is None
    assert page.evaluate("document.scripts.length") == 0
    assert asked == []
    assert heard.thrown == []
    assert [url for url in heard.outside if not url.startswith("file:")] == []


def test_names_are_legible(page: Any, folder: Path) -> None:
    """A reader sees what was typed, brackets and all."""
    page.goto((folder / "plan.html").as_uri())
    text = " ".join(page.evaluate("document.body.textContent").split())
    short = [name for name in NAMES if len(name) < 60 and name.isprintable()]
    missing = [name for name in short if " ".join(name.split()) not in text]
    assert [n for n in missing if n.isascii() and not n.startswith("'")] == []


def test_the_browser_would_run_them(page: Any, folder: Path) -> None:
    """The check above can fail: unescaped, the same names run."""
    bare = folder / "raw.html"
    bare.write_text("<!doctype html><body>" + " ".join(NAMES[:12]), encoding="utf-8")
    page.goto(bare.as_uri())
    page.wait_for_function("window.ran > 0")

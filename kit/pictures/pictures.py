"""Pictures of a plan, for the screen and for print: run, steps, values, bridges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import Any

from kit.arrangement import Bridge
from kit.blanket import Yarn
from kit.colour import Step, steps_along
from kit.pictures.captions import HEAD, bridge_names, head, name_of, run_words, step_key
from kit.pictures.charts import value_picture
from kit.pictures.paper import (
    FAINT,
    MARGIN,
    WIDTH,
    Sheet,
    blank,
    box,
    bridge_over,
    grounded,
    in_dots,
    key,
    key_height,
    line,
    mark,
    middle_over,
    picture,
    png,
    write,
)
from kit.pictures.step_chart import step_picture
from kit.pictures.swatches import PAPER
from kit.pictures.text import cut, width_px, wrapped
from kit.pictures.textures import card
from kit.plan import Plan
from kit.plan.middle import middle_places

__all__ = [
    "bridge_picture",
    "plan_pictures",
    "png",
    "run_picture",
    "step_picture",
    "value_picture",
]

SMALL_TAG = 46.0  # px: in narrower places a tag is a bare number
MOST_IN_FULL = 240  # places along the blanket: more are drawn small, without names


def plan_pictures(plan: Plan) -> dict[str, bytes]:
    """Every picture of a plan as PNG bytes by file name."""
    figures = {
        "run.png": run_picture(plan),
        "steps.png": step_picture(plan),
        "value.png": value_picture(plan),
        "bridges.png": bridge_picture(plan),
    }
    return {name: png(figure) for name, figure in figures.items() if figure is not None}


# --- the run --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Rows:
    """How the run is broken into rows; all but `n` in px."""

    n: int
    pitch: float
    gap: float
    tall: float
    grey: float
    name_lines: int

    @property
    def wide(self) -> float:
        return self.pitch - self.gap

    @property
    def panel(self) -> float:
        return self.tall + self.grey + 22

    @property
    def height(self) -> float:
        return STEP_BAND + self.panel + 26 + 13.5 * self.name_lines + 14


STEP_BAND = 46.0  # px over the swatches, for step numbers and marks


def _rows(yarns: Sequence[Yarn]) -> Rows:
    """Up to 12 in a row, as even as can be; a very long run small and without names."""
    n_places = len(yarns)
    small = n_places > MOST_IN_FULL
    most = 24 if small else 12
    n = max(1, ceil(n_places / max(1, ceil(n_places / most))))
    pitch = min((WIDTH - 2 * MARGIN - 16) / n, 118.0)
    if small:
        return Rows(n, pitch, 9.0, 36.0, 14.0, 0)
    n_lines = max(len(wrapped(name_of(yarn), pitch - 5, 11)) for yarn in yarns)
    return Rows(n, pitch, 16.0, 78.0, 24.0, n_lines)


def run_picture(plan: Plan) -> Any:
    """The yarns along the blanket with their steps, and the same in greys of equal L*.

    Returns a matplotlib Figure. Rows are read like text; the step from one row to the
    next stands at the start of the next.
    """
    yarns, steps = plan.design.laid.yarns, plan.design.steps
    rows, entries = _rows(yarns), _run_key(plan)
    n_rows = ceil(len(yarns) / rows.n)
    foot, turns = HEAD + n_rows * rows.height, middle_places(plan)
    sheet = blank(foot + key_height(entries) + 16)
    head(sheet, plan, run_words(plan))
    for row in range(n_rows):
        first, top = row * rows.n, HEAD + row * rows.height
        members = yarns[first : first + rows.n]
        _panel(sheet, rows, members, top + STEP_BAND)
        _captions(sheet, rows, members, top + STEP_BAND + rows.panel)
        for k, yarn in enumerate(members):
            left = MARGIN + 8 + k * rows.pitch
            if yarn.name in bridge_names(plan):
                _arch(sheet, rows, left, top + STEP_BAND)
            if first + k in turns:
                x = left + rows.pitch / 2
                middle_over(sheet, x, top + STEP_BAND - 9, rows.pitch - 24)
        for k in range(len(members)):
            if first + k:
                x = MARGIN + 8 + k * rows.pitch
                _number(sheet, rows, steps[first + k - 1], x, top + STEP_BAND)
    key(sheet, entries, foot + 10)
    return sheet.figure


def _arch(sheet: Sheet, rows: Rows, left: float, panel: float) -> None:
    """The sign of a bridge over its swatch, between the numbers of its two steps."""
    inset = min(19.0, 0.3 * rows.pitch)
    bridge_over(sheet, left + inset, left + rows.pitch - inset, panel - 7)


def _run_key(plan: Plan) -> list[tuple[str, str]]:
    view = plan.choices.judging.view
    told = {
        0.0: "in the hand",
        0.5: "half in the hand, half across the room",
        1.0: "across the room",
    }
    seen = told.get(view, f"{1 - view:.0%} in the hand, {view:.0%} across the room")
    numbers = ("", f"Numbers between yarns are steps in ΔE00, seen {seen}.")
    greys = ("", "Under each yarn: its colours as greys of equal value (L*).")
    return [*step_key(plan), *([numbers] if plan.design.steps else []), greys]


def _panel(
    sheet: Sheet, rows: Rows, yarns: Sequence[Yarn], top: float, left: float = MARGIN
) -> None:
    """Swatches and their grey twins on neutral grey, as one array of dots."""
    width = len(yarns) * rows.pitch + 16
    dots = grounded(in_dots(rows.panel), in_dots(width))
    tall, grey, wide = in_dots(rows.tall), in_dots(rows.grey), in_dots(rows.wide)
    for k, yarn in enumerate(yarns):
        x = in_dots(8 + k * rows.pitch + rows.gap / 2)
        dots[16 : 16 + tall, x : x + wide] = card(yarn, tall, wide)
        y = 16 + tall + 12
        dots[y : y + grey, x : x + wide] = card(yarn, grey, wide, grey=True)
    picture(sheet, dots, left, top)


def _captions(
    sheet: Sheet, rows: Rows, yarns: Sequence[Yarn], foot: float, left: float = MARGIN
) -> None:
    """The number on each ball's tag, and the name."""
    for k, yarn in enumerate(yarns):
        middle = left + 8 + (k + 0.5) * rows.pitch
        _tag(sheet, middle, foot + 7, str(yarn.no), rows.pitch - 4)
        lines = wrapped(name_of(yarn), rows.pitch - 5, 11, lines=rows.name_lines)
        for j, text in enumerate(lines if rows.name_lines else ()):
            write(sheet, middle, foot + 35 + 13.5 * j, text, size=11, align="center")


def _tag(sheet: Sheet, middle: float, top: float, no: str, most: float) -> None:
    """The number on its ball's tag, hole and all; without the tag where it is tight."""
    width = width_px(no, 10.5, bold=True) + 17
    if width > most or most < SMALL_TAG:
        write(sheet, middle, top + 11, cut(no, most, 9.5), size=9.5, align="center")
        return
    left = middle - width / 2
    box(sheet, left, top, width, 15, edge=FAINT, rounded=4)
    mark(sheet, "hole", left + 6, top + 7.5, size=3.6)
    write(sheet, left + 11, top + 11.5, no, size=10.5, bold=True)


def _number(
    sheet: Sheet, rows: Rows, step: Step, x: float, panel: float, *, digits: int = 0
) -> None:
    """A step over the gap it belongs to, with its mark; a jump cuts the panel."""
    kind = step.kind
    write(
        sheet,
        x,
        panel - 8,
        f"{step.size:.{digits}f}",
        size=13 if kind else 11.5,
        bold=bool(kind),
        align="center",
    )
    if kind:
        mark(sheet, kind, x, panel - 28, size=11 if kind == "jump" else 9)
    if kind in ("jump", "join"):
        line(sheet, (x, x), (panel, panel + rows.panel), width=2.5, colour=PAPER)


# --- bridges --------------------------------------------------------------------------

WIDE = Rows(3, 165.0, 18.0, 96.0, 26.0, 2)
BRIDGE_PART = 56 + WIDE.height  # px


def bridge_picture(plan: Plan) -> Any:
    """Each bridge: its two neighbours alone, and with the bridge between them.

    Returns a matplotlib Figure, or None where nothing was put between.
    """
    bridges = plan.design.bridges
    if not bridges:
        return None
    sheet = blank(HEAD + BRIDGE_PART * len(bridges))
    several = "Each bridge" if len(bridges) > 1 else "The bridge"
    head(sheet, plan, f"{several}: the two yarns alone, and with it between them.")
    for k, bridge in enumerate(bridges):
        _before_and_after(sheet, plan, bridge, HEAD + k * BRIDGE_PART)
    return sheet.figure


def _before_and_after(sheet: Sheet, plan: Plan, bridge: Bridge, top: float) -> None:
    ends = _ends(plan, bridge)
    second, row = MARGIN + 2 * WIDE.pitch + 74, top + 24
    panel = row + STEP_BAND
    line(sheet, (MARGIN, WIDTH - MARGIN), (top - 4, top - 4), colour="#dddddd")
    write(sheet, MARGIN, top + 18, "without", size=12.5, bold=True)
    write(sheet, second, top + 18, "with the bridge", size=12.5, bold=True)
    _in_a_row(sheet, plan, ends, MARGIN, panel)
    _in_a_row(sheet, plan, (ends[0], bridge.yarn, ends[1]), second, panel)
    _arch(sheet, WIDE, second + 8 + WIDE.pitch, panel)
    line(sheet, (second - 43, second - 17), [panel + WIDE.panel / 2] * 2, width=2)
    mark(sheet, "onward", second - 17, panel + WIDE.panel / 2, size=9)
    write(sheet, MARGIN, top + BRIDGE_PART - 36, _bridge_words(bridge), size=12.5)


def _ends(plan: Plan, bridge: Bridge) -> tuple[Yarn, Yarn]:
    """The yarns on its two sides, in the order in which they are first knitted."""
    names = [yarn.name for yarn in plan.design.laid.yarns]
    after, before = bridge.after, bridge.before
    if names.index(before.name) < names.index(after.name):
        return before, after
    return after, before


def _bridge_words(bridge: Bridge) -> str:
    """The step bridged and the largest step of the run, before and after, in words."""
    if bridge.by_hand:
        after = f"put in by hand, it leaves {bridge.step_after:.1f} at most"
    else:
        after = f"at most {bridge.step_after:.1f} with the bridge"
    return (
        f"This step: {bridge.step_before:.1f}; {after}. Largest step along the run: "
        f"{bridge.largest_before:.1f} without, {bridge.largest_after:.1f} with it."
    )


def _in_a_row(
    sheet: Sheet, plan: Plan, yarns: Sequence[Yarn], left: float, panel: float
) -> None:
    """A few yarns side by side with the steps between them."""
    _panel(sheet, WIDE, yarns, panel, left)
    _captions(sheet, WIDE, yarns, panel + WIDE.panel, left)
    for k, pair in enumerate(pairwise(yarns)):
        x = left + 8 + (k + 1) * WIDE.pitch
        _number(sheet, WIDE, _step_between(plan, *pair), x, panel, digits=1)


def _step_between(plan: Plan, one: Yarn, two: Yarn) -> Step:
    """As the plan has it where the two are neighbours, else measured on its own."""
    design, pair = plan.design, {one.name, two.name}
    for laid, steps in (
        (design.laid, design.steps),
        (design.before, design.steps_before),
    ):
        for (left, right), step in zip(pairwise(laid.yarns), steps, strict=True):
            if {left.name, right.name} == pair:
                return step
    judging = plan.choices.judging
    view, limit = judging.view, judging.jump_limit
    return steps_along((one.mix, two.mix), view=view, limit=limit)[0]

"""The knitted fabric on sheets for print: whole, close up, in greys, from across."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from kit.colour.steps import largest_step
from kit.fabric import Fabric
from kit.pictures.loops import close_up
from kit.pictures.margins import (
    RowArea,
    changes,
    joins_beside,
    row_ends,
    rows_beside,
    sections_beside,
    strands_beside,
)
from kit.pictures.paper import (
    DOTS,
    HEAD,
    MARGIN,
    WIDTH,
    Sheet,
    blank,
    box,
    head,
    image_of,
    in_dots,
    paint,
    write,
)
from kit.pictures.stitches import (
    from_across,
    greys,
    has_fabric,
    heights_cm,
    in_proportion,
    srgb255,
    stitch_colours,
)
from kit.pictures.svg import PAPER
from kit.plan import Plan
from kit.plan.middle import middles
from kit.yarn import counted, size
from kit.yarn.measures import METRES_PER_YARD, row_span

ACROSS_M = 3.0  # the far end of a room
LEFT = 74.0  # px beside a picture of rows: row numbers
RIGHT = 310.0  # px on its other side: what is joined
BANDS = 92.0  # px more on the left where there are sections
TALL = 1150.0  # px: the most a picture of the whole takes
STITCH = 14.0  # px: close up
CLOSE_ROWS, INSET_ROWS = 42, 22
ROW_TICKS, CLOSE_TICKS = 50, 5


def fabric_pictures(plan: Plan, *, every: bool = False) -> dict[str, Any]:
    """Sheets of the knitted fabric as PIL Images by file name; {} without fabric.

    The whole and how it looks from across the room; `every`: close up and in greys too.
    """
    if not has_fabric(plan):
        return {}
    drawn = draw(plan)
    images = {
        "fabric.png": image_of(whole_sheet(plan, drawn)),
        "fabric-across.png": image_of(across_sheet(plan)),
    }
    if every:
        grey = whole_sheet(plan, drawn, grey=True)
        images["fabric-grey.png"] = image_of(grey, grey=True)
        images["fabric-close.png"] = image_of(close_sheet(plan))
    return images


def _known(plan: Plan) -> Fabric:
    if plan.fabric is None or not plan.fabric.stripes:
        raise ValueError("a plan without fabric has no stitches to draw")
    return plan.fabric


# --- the whole ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class View:
    """A part of the fabric drawn close up; `row` from 1, `column` from the left, 0."""

    row: int
    n_rows: int
    column: int
    n_stitches: int
    image: np.ndarray

    @property
    def words(self) -> str:
        rows = row_span(self.row, self.row + self.n_rows - 1)
        return f"{rows}, stitch by stitch."


@dataclass(frozen=True, slots=True)
class Drawn:
    """The whole fabric and a part of it: linear sRGB, for colours and greys alike."""

    area: RowArea
    whole: np.ndarray
    view: View


def draw(plan: Plan) -> Drawn:
    """The whole blanket in true proportion, and a part of it close up."""
    left = LEFT + (BANDS if plan.choices.making.sections else 0)
    area = _area(plan, left, HEAD + 22, WIDTH - RIGHT)
    whole = _chevrons(plan, in_dots(area.height), in_dots(area.width))
    return Drawn(area, whole, _view(plan, INSET_ROWS, WIDTH - 2 * MARGIN))


def whole_sheet(plan: Plan, drawn: Drawn, *, grey: bool = False) -> Sheet:
    """The whole blanket, row 1 at its foot, and the part close up below.

    Row numbers on its left, what is joined on its right. `grey`: the same in greys of
    equal L*. The plan must have fabric.
    """
    fabric, area, view = _known(plan), drawn.area, drawn.view
    below = area.foot + 46
    sheet = blank(below + view.image.shape[0] / DOTS + 20)
    head(sheet, plan.choices.name, _words(plan, grey))
    _show(sheet, drawn.whole, area.left, area.top, grey)
    turns = [stitch / fabric.stitches for stitch in middles(plan)]
    rows_beside(sheet, area, ROW_TICKS, turns)
    if plan.choices.making.sections:
        sections_beside(sheet, area, plan.choices.making.sections)
    joins_beside(sheet, area, changes(fabric.stripes))
    _frame(sheet, area, fabric, view)
    words = f"The frame above close up: {view.words}"
    write(sheet, MARGIN, below - 10, words, size=12.5)
    _show(sheet, view.image, MARGIN, below, grey)
    return sheet


def _words(plan: Plan, grey: bool) -> str:
    fabric, units = _known(plan), plan.choices.units
    stitches, rows = counted(fabric.stitches, "stitch"), counted(fabric.rows, "row")
    said = (
        f"{stitches} × {rows}, "
        f"{size(fabric.width_cm, units)} × {size(fabric.length_cm, units)}, "
        f"{counted(len(fabric.stripes), 'stripe')}. Row 1 is at the foot."
    )
    return f"In greys of equal value (L*). {said}" if grey else said


def _area(plan: Plan, left: float, top: float, right: float) -> RowArea:
    """Room for the whole blanket between two edges, in true proportion."""
    fabric = _known(plan)
    ratio = fabric.length_cm / fabric.width_cm
    width = in_dots(min(right - left, TALL / ratio)) / DOTS
    height = max(1, in_dots(width * ratio)) / DOTS
    return RowArea(left, top, width, height, row_ends(heights_cm(plan)))


def _chevrons(plan: Plan, height: int, width: int) -> np.ndarray:
    """The legs of all stitches, their outer halves half a row up and a little darker,
    the inner ones lighter by as much; without this where stitches are too small."""
    if width < 3 * _known(plan).stitches:
        return in_proportion(plan, stitch_colours(plan), height=height, width=width)
    legs = stitch_colours(plan, pieces=2).repeat(2, axis=0).repeat(2, axis=1)
    raised = np.concatenate([legs[1:], legs[-1:]])
    outer = np.arange(legs.shape[1]) % 4 % 3 == 0
    legs[:, outer] = raised[:, outer] * 0.93
    legs[:, ~outer] *= 1.07
    return in_proportion(plan, legs, height=height, width=width)


def _show(
    sheet: Sheet, image_linear: np.ndarray, left: float, top: float, grey: bool = False
) -> None:
    """A linear picture on the sheet, two dots a px, with a thin black edge."""
    image = greys(image_linear) if grey else image_linear
    paint(sheet, srgb255(image), left, top)
    height, width = image.shape[0] / DOTS, image.shape[1] / DOTS
    box(sheet, left - 0.5, top - 0.5, width + 1, height + 1, edge="#000000")


def _frame(sheet: Sheet, area: RowArea, fabric: Fabric, view: View) -> None:
    """Where the close-up lies: a black line in a white one."""
    each = area.width / fabric.stitches
    left, width = area.left + view.column * each, view.n_stitches * each
    top, foot = area.y(view.row - 1 + view.n_rows), area.y(view.row - 1)
    box(sheet, left, top, width, foot - top, edge="#000000")
    box(sheet, left - 1, top - 1, width + 2, foot - top + 2, edge=PAPER)


# --- close up -------------------------------------------------------------------------


def close_sheet(plan: Plan) -> Sheet:
    """Stitches around the largest step between stripes, and which strands make them.

    The plan must have fabric.
    """
    view = _view(plan, CLOSE_ROWS, WIDTH - LEFT - RIGHT)
    ends = row_ends(heights_cm(plan)[view.row - 1 : view.row - 1 + view.n_rows])
    height, width = view.image.shape[0] / DOTS, view.image.shape[1] / DOTS
    area = RowArea(LEFT, HEAD + 8, width, height, ends, view.row)
    sheet = blank(area.foot + 20)
    head(sheet, plan.choices.name, f"{view.words.capitalize()} {_why(plan)}")
    _show(sheet, view.image, area.left, area.top)
    rows_beside(sheet, area, CLOSE_TICKS)
    strands_beside(sheet, area, _known(plan).stripes)
    return sheet


def _view(plan: Plan, n_rows: int, width: float) -> View:
    """So many rows around the stitch worth a look, and what fits into a width, px."""
    fabric, at = _known(plan), _worth_a_look(plan)
    n_stitches = min(int(width / STITCH), fabric.stitches)
    n_rows = min(n_rows, fabric.rows)
    done, across = divmod(at, fabric.stitches)
    if done % 2 == 0:  # rows 1, 3 … run from the right
        across = fabric.stitches - across
    row = min(max(done + 1 - n_rows // 2, 1), fabric.rows + 1 - n_rows)
    column = min(max(across - n_stitches // 2, 0), fabric.stitches - n_stitches)
    dots = in_dots(STITCH)
    image = close_up(
        plan, row, n_rows, n_stitches, first_column=column, px_per_stitch=dots
    )
    return View(row, n_rows, column, n_stitches, image)


def _worth_a_look(plan: Plan) -> int:
    """The stitch where the largest step between stripes lies, of those that count, else
    the middle one."""
    stripes, largest = _known(plan).stripes, _largest(plan)
    if largest is None:
        return (stripes[0].first + stripes[-1].last) // 2
    return stripes[largest + 1].first


def _largest(plan: Plan) -> int | None:
    """Which step between stripes is the largest that counts; None where none does."""
    steps = plan.fabric_steps
    told = (k for k, step in enumerate(steps) if step.counts)
    return max(told, key=lambda k: steps[k].size, default=None)


def _why(plan: Plan) -> str:
    if _largest(plan) is None:
        return ""
    largest = largest_step(plan.fabric_steps)
    return f"The largest step between stripes lies here: {largest:.1f}."


# --- from across ----------------------------------------------------------------------


def across_sheet(plan: Plan, *, distance_m: float = ACROSS_M) -> Sheet:
    """The blanket as the eye has it from so many metres, in colours and in greys.

    The plan must have fabric.
    """
    half = (WIDTH - 3 * MARGIN) / 2
    area = _area(plan, MARGIN, HEAD + 26, MARGIN + half)
    sheet = blank(area.foot + 20)
    words = f"As the eye has it from {_distance(plan, distance_m)} away: what is too"
    words += " fine to tell apart from there has run together."
    head(sheet, plan.choices.name, words)
    # Nothing in it is finer than a px: one dot for each, drawn twice each way.
    seen = from_across(plan, distance_m, width=max(1, round(area.width)))
    seen = seen.repeat(DOTS, axis=0).repeat(DOTS, axis=1)
    second = max(area.right, MARGIN + half) + MARGIN
    for left, grey, title in (
        (area.left, False, "colours"),
        (second, True, "values (L*) alone"),
    ):
        write(sheet, left, area.top - 8, title, size=12.5, bold=True)
        _show(sheet, seen, left, area.top, grey)
    return sheet


def _distance(plan: Plan, metres: float) -> str:
    if plan.choices.units == "imperial":
        return f"{3 * metres / METRES_PER_YARD:.0f} feet"
    return f"{metres:g} metre{'s' * (metres != 1)}"

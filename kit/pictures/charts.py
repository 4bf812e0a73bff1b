"""Charts along the blanket: what they share, and the values as a line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import numpy as np

from kit.arrangement.orders import family_name, value_of
from kit.blanket import Yarn
from kit.colour import mean_lab
from kit.colour.spaces import lab_to_hex
from kit.pictures.captions import HEAD, bridge_names, head, order_words
from kit.pictures.paper import (
    DOTS,
    FAINT,
    WIDTH,
    Sheet,
    blank,
    box,
    grounded,
    in_dots,
    key,
    key_height,
    line,
    mark,
    middle_over,
    picture,
    write,
)
from kit.pictures.swatches import INK, PAPER
from kit.pictures.text import cut, legible, width_px
from kit.pictures.textures import plain
from kit.plan import Plan
from kit.plan.middle import middle_places
from kit.yarn import counted

LEFT, RIGHT = 66.0, 92.0  # px beside the chart
CHART = 250.0  # px: its height
STRIP, GREYS = 40.0, 20.0  # px
UNDER_TEXT = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.8}
FEET = 116.0  # px: strips and the numbers under them
Scale = Callable[[float], float]  # a measure to y in px


@dataclass(frozen=True, slots=True)
class Along:
    """Where the yarns stand in a chart, px."""

    left: float
    each: float
    n: int

    @property
    def right(self) -> float:
        return self.left + self.n * self.each

    def middle(self, k: float) -> float:
        return self.left + (k + 0.5) * self.each


def along_of(plan: Plan) -> Along:
    """Places for all yarns of a plan; few yarns do not fill the sheet."""
    n = len(plan.design.laid.yarns)
    return Along(LEFT, min((WIDTH - LEFT - RIGHT) / n, 110.0), n)


def strips(sheet: Sheet, plan: Plan, along: Along, top: float) -> float:
    """Colours along the blanket and their greys, with tag numbers; returns the foot."""
    yarns = plan.design.laid.yarns
    pad, ends = 6, [in_dots(k * along.each) for k in range(along.n + 1)]
    tall, grey = in_dots(STRIP), in_dots(GREYS)
    dots = grounded(tall + grey + 5 * pad, ends[-1] + 4 * pad)
    for y, high, only_grey in ((2 * pad, tall, False), (tall + 3 * pad, grey, True)):
        edge = dots[y - 4 : y + high + 4, 2 * pad - 4 : ends[-1] + 2 * pad + 4]
        edge[:] = 0
        edge[2:-2, 2:-2] = 1
        for yarn, start, end in zip(yarns, ends, ends[1:], strict=False):
            if end > start:
                x = 2 * pad + start
                made = plain(yarn, high, end - start, grey=only_grey)
                dots[y : y + high, x : x + end - start] = made
    picture(sheet, dots, along.left - pad, top)
    foot = top + dots.shape[0] / DOTS
    _places_below(sheet, yarns, along, foot)
    return foot + 34


def _places_below(
    sheet: Sheet, yarns: Sequence[Yarn], along: Along, foot: float
) -> None:
    """Tag numbers under the strip where they fit, else every so many places."""
    fits = all(width_px(str(yarn.no), 9.5) < along.each - 2 for yarn in yarns)
    told = "number on the ball's tag"
    if fits:
        for k, yarn in enumerate(yarns):
            at = along.middle(k)
            write(sheet, at, foot + 13, str(yarn.no), size=9.5, align="center")
    else:
        told = "place along the blanket"
        every = next(n for n in (5, 10, 20, 50, 100, 500) if n * along.each > 40)
        for k in range(every - 1, along.n, every):
            at = along.middle(k)
            write(sheet, at, foot + 13, str(k + 1), size=9.5, align="center")
    write(sheet, along.left, foot + 28, told, size=10.5, colour=FAINT)


def bridges_above(sheet: Sheet, plan: Plan, along: Along, y: float) -> None:
    """A small arch over each yarn put in as a bridge; where a mirrored run turns."""
    names = bridge_names(plan)
    for k, yarn in enumerate(plan.design.laid.yarns):
        if yarn.name in names:
            mark(sheet, "bridge", along.middle(k), y, size=min(12, 6 + along.each))
    for k in middle_places(plan):
        middle_over(sheet, along.middle(k), y, 0)


def scale_lines(
    sheet: Sheet, along: Along, y_of: Scale, ticks: Sequence[float], words: str
) -> None:
    """Faint level lines with their numbers, and what they measure."""
    for tick in ticks:
        y = y_of(tick)
        line(sheet, (along.left, along.right), (y, y), width=0.8, colour="#dddddd")
        write(sheet, along.left - 22, y + 4, f"{tick:g}", size=10.5, align="right")
    top = y_of(max(ticks)) - 12
    write(sheet, along.left - 34, top, words, size=10.5, colour=FAINT)


# --- values ---------------------------------------------------------------------------


def value_picture(plan: Plan) -> Any:
    """L* along the blanket over a strip of the colours and of their greys.

    Returns a matplotlib Figure. Yarns of several colours carry a line from their
    darkest to their lightest; those out of value order a ring and by how many L*.
    """
    design, along = plan.design, along_of(plan)
    entries = _value_key(plan)
    top = HEAD + 34
    below = top + CHART + 26
    sheet = blank(below + FEET + key_height(entries) + 12)
    head(sheet, plan, _value_words(plan))

    def y_of(value: float) -> float:
        return top + CHART * (1 - value / 100)

    _grey_ramp(sheet, along.left - 16, top)
    scale_lines(sheet, along, y_of, range(0, 101, 20), "value, L*")
    if design.arrangement.by == "family":
        _family_names(sheet, design.laid.yarns, along, top)
    values = [value_of(yarn) for yarn in design.laid.yarns]
    edges = [along.left + k * along.each for k in range(along.n + 1)]
    xs, ys = np.repeat(edges, 2)[1:-1], np.repeat([y_of(v) for v in values], 2)
    line(sheet, xs.tolist(), ys.tolist(), width=1.4, zorder=4, gid="profile")
    for k, yarn in enumerate(design.laid.yarns):
        _value_mark(sheet, yarn, along.middle(k), along.each, y_of)
    _out_of_order(sheet, plan, along, y_of)
    bridges_above(sheet, plan, along, below - 10)
    foot = strips(sheet, plan, along, below)
    key(sheet, entries, foot + 16)
    return sheet.figure


def _value_words(plan: Plan) -> str:
    """How far the values run, and how many yarns are out of value order."""
    design = plan.design
    values = [value_of(yarn) for yarn in design.laid.yarns]
    words = (
        f"{order_words(plan)}. Values from {max(values):.0f} to {min(values):.0f} L*"
    )
    if not design.out_of_value_order:
        return f"{words}."
    n, most = (
        len(design.out_of_value_order),
        max(amount for _, amount in design.out_of_value_order),
    )
    are = f"{counted(n, 'yarn')} {'is' if n == 1 else 'are'}"
    return f"{words}; {are} out of value order, by {most:.0f} L* at most."


def _value_key(plan: Plan) -> list[tuple[str, str]]:
    entries = []
    if plan.design.out_of_value_order:
        entries.append(("unruly", "out of value order, by so many L*"))
    if any(len(yarn.mix.labs) > 1 for yarn in plan.design.laid.yarns):
        entries.append(("range", "from a yarn's darkest colour to its lightest"))
    if plan.design.bridges:
        entries.append(("bridge", "bridge"))
    if plan.design.arrangement.by == "family":
        entries.append(("", "Family by family the value turns round on purpose."))
    return entries or [("", "The line is each yarn's value, its average L*.")]


def _grey_ramp(sheet: Sheet, x: float, top: float) -> None:
    """The scale itself as greys, white at the top."""
    values = 100 * (1 - (np.arange(in_dots(CHART)) + 0.5) / in_dots(CHART))
    hexed = [lab_to_hex((value, 0.0, 0.0)) for value in values.tolist()]
    greys = np.array([int(text[1:3], 16) / 255 for text in hexed])
    picture(sheet, np.tile(greys[:, None, None], (1, in_dots(9), 3)), x, top)
    box(sheet, x, top, 9, CHART, edge=INK)


def _family_names(
    sheet: Sheet, yarns: Sequence[Yarn], along: Along, top: float
) -> None:
    """A family's name over its yarns, and a line between two families."""
    start = 0
    for family, members in groupby(yarns, key=family_name):
        end = start + len(list(members))
        left, right = along.left + start * along.each, along.left + end * along.each
        if start:
            ends = (top - 10, top + CHART)
            line(sheet, (left, left), ends, width=0.8, colour="#bbbbbb")
        text = cut(legible(family, otherwise=""), right - left - 3, 10.5)
        if len(text) > 2:
            middle = (left + right) / 2
            write(sheet, middle, top - 8, text, size=10.5, align="center", colour=FAINT)
        start = end


def _value_mark(sheet: Sheet, yarn: Yarn, x: float, each: float, y_of: Scale) -> None:
    """A dot in the yarn's own average colour, and its range of values."""
    values = [lab[0] for lab in yarn.mix.labs]
    low, high = y_of(min(values)), y_of(max(values))
    if low - high > 1:
        cap = min(3.0, each / 4)
        line(sheet, (x, x), (low, high), width=1, colour=FAINT, zorder=3, gid="range")
        for y in (low, high):
            line(sheet, (x - cap, x + cap), (y, y), width=1, colour=FAINT, zorder=3)
    if each >= 7:
        fill, size = lab_to_hex(mean_lab(yarn.mix)), min(10.0, each * 0.6)
        mark(sheet, "value", x, y_of(value_of(yarn)), size=size, fill=fill, zorder=5)


def _out_of_order(sheet: Sheet, plan: Plan, along: Along, y_of: Scale) -> None:
    """Rings round yarns out of value order; numbers where they fit, worst first."""
    amounts, yarns = dict(plan.design.out_of_value_order), plan.design.laid.yarns
    places = [k for k, yarn in enumerate(yarns) if yarn.name in amounts]
    told: list[float] = []
    for k in sorted(places, key=lambda k: (-amounts[yarns[k].name], k)):
        x, y = along.middle(k), y_of(value_of(yarns[k]))
        size = min(15.0, 2 + along.each)
        mark(sheet, "unruly", x, y, size=size, zorder=6)
        if all(abs(x - other) > 15 for other in told):
            told.append(x)
            put: dict[str, Any] = {"align": "center", "bbox": UNDER_TEXT, "zorder": 5}
            amount, foot = amounts[yarns[k].name], _beside(yarns, k, y_of)
            words = f"{amount:.0f}" if amount >= 0.5 else "<1"
            write(sheet, x, foot, words, size=11, bold=True, **put)


def _beside(yarns: Sequence[Yarn], k: int, y_of: Scale) -> float:
    """Where a number stands clear of the line: under a dip, else over the yarn."""
    values = [value_of(yarn) for yarn in yarns[max(k - 1, 0) : k + 2]]
    ys = [y_of(lab[0]) for lab in yarns[k].mix.labs] + [y_of(value_of(yarns[k]))]
    dips = value_of(yarns[k]) < sum(values) / len(values)
    return max(ys) + 20 if dips else min(ys) - 11

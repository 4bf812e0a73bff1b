"""The run of a blanket as SVG text: near, with steps and names, and from far off."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from kit.arrangement import Design
from kit.blanket import Yarn
from kit.colour import Step, mean_lab
from kit.pictures.svg import (
    FAINT,
    INK,
    PAPER,
    Style,
    Svg,
    drawing,
    group,
    path,
    rect,
    words_at,
)
from kit.pictures.swatches import (
    MARGIN,
    MARKS,
    SURROUND,
    SWATCH,
    in_lines,
    mark_of,
    side_by_side,
)

GAP = 30  # px
PITCH = SWATCH + GAP
STEP_BAND, GREY_BAND, CAPTION = 84, 14, 52  # px
TOP = STEP_BAND + 2.0  # px: of the swatches
GREYS = TOP + SWATCH + 6  # px: of their grey twins
ROW = STEP_BAND + SWATCH + GREY_BAND + CAPTION + 26  # px
FULL_SCALE = 50.0  # dE00 at the top of the step band


def strip_svg(
    yarns: Sequence[Yarn], *, grey: bool = False, width: int = 900, height: int = 40
) -> Svg:
    """Yarns side by side without gaps, as from far off; `grey` shows L* alone."""
    each = width / max(len(yarns), 1)
    label = f"The {'values' if grey else 'colours'} along the blanket"
    body = side_by_side(yarns, 0, 0, each, height, grey=grey)
    return drawing(width, height, label, body)


def run_svg(
    design: Design,
    *,
    limit: float,
    turns: Collection[int] = (),
    n_in_row: int = 11,
) -> Svg:
    """The whole run as one SVG picture, rows below each other; see `row_svgs`."""
    rows = _rows(design, limit, turns, n_in_row)
    body = [group(row, x=0, y=k * ROW) for k, row in enumerate(rows)]
    label = "The run of yarns along the blanket"
    return drawing(_width(n_in_row), ROW * len(rows), label, body)


def row_svgs(
    design: Design,
    *,
    limit: float,
    turns: Collection[int] = (),
    n_in_row: int = 11,
) -> list[Svg]:
    """The run of yarns as SVG pictures, one for each row of `n_in_row` yarns.

    From top to bottom: steps as bars with their numbers (whiskers from near to far,
    `limit` and the best possible as lines), swatches, the same in greys of equal L*,
    tag number, value and name. Jumps, accents, joins, bridges and `turns` (the places
    where a mirrored run goes back) carry a mark and a word. Where two groups of yarns
    set the best possible, each yarn carries its group's letter.
    """
    pictures = []
    for k, row in enumerate(_rows(design, limit, turns, n_in_row)):
        members = design.laid.yarns[k * n_in_row : (k + 1) * n_in_row]
        label = "Yarns along the blanket: " + ", ".join(yarn.name for yarn in members)
        pictures.append(drawing(_width(n_in_row), ROW, label, row))
    return pictures


def group_letters(design: Design) -> dict[str, str]:
    """A or B for each yarn of the two groups that no order brings nearer, A first along
    the blanket. Empty where no such gap sets the best possible."""
    best = design.arrangement.best
    if best is None or best.between is None:
        return {}
    first = design.laid.yarns[0].name
    one, two = sorted(best.between, key=lambda names: first not in names)
    return dict.fromkeys(one, "A") | dict.fromkeys(two, "B")


def _width(n_in_row: int) -> int:
    return 2 * MARGIN + n_in_row * PITCH


def _rows(
    design: Design, limit: float, turns: Collection[int], n_in_row: int
) -> list[list[Svg]]:
    yarns, steps = design.laid.yarns, design.steps
    letters, rows = group_letters(design), []
    for first in range(0, len(yarns), n_in_row):
        members = yarns[first : first + n_in_row]
        row = _backdrop(design, limit, n_in_row)
        for y, tall, grey in ((TOP, SWATCH, False), (GREYS, GREY_BAND, True)):
            row += side_by_side(members, MARGIN, y, PITCH, tall, gap=GAP, grey=grey)
        for k, yarn in enumerate(members):
            row += _caption(yarn, _left(k), letters.get(yarn.name, ""))
            for said, y in _tags(design, yarn, first + k in turns):
                row += _tag(said, _left(k), y)
        for k, step in enumerate(steps[first : first + len(members)]):
            row += _bar(step, _left(k) + SWATCH + GAP / 2)
        rows.append(row)
    return rows


def _left(k: int) -> float:
    return MARGIN + k * PITCH


def _height_of(size: float) -> float:
    return STEP_BAND - 14 - min(size / FULL_SCALE, 1) * (STEP_BAND - 28)


def _backdrop(design: Design, limit: float, n_in_row: int) -> list[Svg]:
    """Neutral grey for the swatches, and the levels of the limit and the best."""
    width, best = _width(n_in_row), design.arrangement.best
    tall = SWATCH + GREY_BAND + 26
    parts = [rect(y=STEP_BAND - 8, width=width, height=tall, fill=SURROUND)]
    parts += _level(width, limit, "5 3", f"limit {limit:g}")
    if best is not None:
        apart = ": groups A and B lie that far apart" if best.between else ""
        said = f"best possible {best.largest:.1f}{apart}"
        parts += _level(width, best.largest, "1 3", said)
    return parts


def _level(width: int, size: float, dashes: str, said: str) -> list[Svg]:
    if size > FULL_SCALE:
        return []
    y = _height_of(size)
    dashed: Style = {"stroke": INK, "stroke_width": 0.8, "stroke_dasharray": dashes}
    return [
        path("M", 0, y, "H", width, **dashed),
        words_at(said, 2, y - 2.5, font_size=8.5, fill=FAINT),
    ]


def _caption(yarn: Yarn, x: float, letter: str) -> list[Svg]:
    """Tag number, value and name under a swatch and its grey twin."""
    middle, top = x + SWATCH / 2, GREYS + GREY_BAND + 20
    said = f"no. {yarn.no} · L* {mean_lab(yarn.mix)[0]:.0f}"
    said += f" · {letter}" if letter else ""
    first = words_at(said, middle, top, text_anchor="middle", font_size=9, fill=FAINT)
    return [
        first,
        *(
            words_at(line, middle, top + 12 + 11 * k, text_anchor="middle")
            for k, line in enumerate(in_lines(yarn.name, 15, 3))
        ),
    ]


def _tags(design: Design, yarn: Yarn, turns: bool) -> list[tuple[str, float]]:
    """Words on a swatch, at its head what the yarn is here, at its foot the middle."""
    tags: list[tuple[str, float]] = []
    if any(bridge.yarn.name == yarn.name for bridge in design.bridges):
        tags.append((f"{MARKS['bridge']} bridge", TOP))
    elif yarn.role == "accent":
        tags.append((f"{MARKS['accent']} accent", TOP))
    if turns:
        tags.append((f"{MARKS['middle']} middle", STEP_BAND + SWATCH - 11))
    return tags


def _tag(said: str, x: float, y: float) -> list[Svg]:
    bold: Style = {"text_anchor": "middle", "font_size": 9.5, "font_weight": "bold"}
    return [
        rect(x=x, y=y, width=SWATCH, height=13, fill=PAPER),
        words_at(said, x + SWATCH / 2, y + 10, **bold),
    ]


def _bar(step: Step, x: float) -> list[Svg]:
    """One step as a bar with its number; a whisker runs from near to far."""
    y, foot = _height_of(step.size), STEP_BAND - 14
    loud = step.jump and step.counts
    low, high = sorted((_height_of(step.near), _height_of(step.far)))
    fill = INK if loud else "#b8b8b8"
    bar: Style = {"fill": fill, "stroke": INK, "stroke_width": 0.7}
    return [
        rect(x=x - 5, y=y, width=10, height=foot - y, **bar),
        path("M", x, low, "V", high, stroke=FAINT, stroke_width=1.2),
        words_at(
            f"{mark_of(step)}{step.size:.0f}", x, min(y, low) - 3,
            text_anchor="middle", font_size=9.5,
            font_weight="bold" if loud else "normal",
        ),
    ]  # fmt: skip

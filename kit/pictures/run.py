"""The run of a blanket as SVG text: swatches, steps, greys, names, marks."""

from __future__ import annotations

from collections.abc import Collection
from html import escape

from kit.arrangement import Design
from kit.blanket import Yarn
from kit.colour import Step, mean_lab
from kit.pictures.swatches import (
    FAINT,
    INK,
    MARGIN,
    MARKS,
    PAPER,
    SURROUND,
    SWATCH,
    in_lines,
    mark_of,
    svg_text,
    swatch,
)

GAP = 30  # px
STEP_BAND, GREY_BAND, CAPTION = 84, 14, 52  # px
FULL_SCALE = 50.0  # dE00 at the top of the step band


def run_rows(
    design: Design,
    *,
    limit: float,
    n_in_row: int = 11,
    best: float | None = None,
    turns: Collection[int] = (),
) -> list[str]:
    """The run of yarns as SVG pictures, one for each row of `n_in_row` yarns.

    From top to bottom: steps as bars with their numbers (whiskers from near to far,
    `limit` and `best` as lines), swatches, the same in greys of equal L*, tag number,
    value and name. Jumps, accents, joins, bridges and `turns` (the places where a
    mirrored run goes back) carry a mark and a word. Where two groups of yarns set the
    best possible, each yarn carries its group's letter.
    """
    yarns, steps = design.laid.yarns, design.steps
    bridges = {bridge.yarn.name for bridge in design.bridges}
    groups = group_letters(design)
    rows = []
    for first in range(0, len(yarns), n_in_row):
        members = yarns[first : first + n_in_row]
        body = [_backdrop(n_in_row, limit, best, grouped=bool(groups))]
        for k, yarn in enumerate(members):
            group = groups.get(yarn.name, "")
            body.append(_stand(yarn, _left(k), yarn.name in bridges, group))
            if first + k in turns:
                foot = STEP_BAND + SWATCH - 11
                body.append(_tag(_left(k), foot, f"{MARKS['middle']} middle"))
        for k, step in enumerate(steps[first : first + len(members)]):
            body.append(_bar(step, _left(k) + SWATCH + GAP / 2, limit))
        label = "Yarns along the blanket: " + ", ".join(yarn.name for yarn in members)
        rows.append(svg_text("".join(body), *row_size(n_in_row), label))
    return rows


def group_letters(design: Design) -> dict[str, str]:
    """A or B for each yarn of the two groups that no order brings nearer, A first along
    the blanket. Empty where no such gap sets the best possible."""
    best = design.arrangement.best
    if best is None or best.between is None:
        return {}
    first = design.laid.yarns[0].name
    one, two = sorted(best.between, key=lambda group: first not in group)
    return dict.fromkeys(one, "A") | dict.fromkeys(two, "B")


def run_svg(
    design: Design,
    *,
    limit: float,
    best: float | None = None,
    turns: Collection[int] = (),
) -> str:
    """The whole run as one SVG picture, rows of 11 below each other."""
    rows = run_rows(design, limit=limit, best=best, turns=turns)
    width, height = row_size(11)
    body = "".join(
        f'<g transform="translate(0 {k * height})">{row}</g>'
        for k, row in enumerate(rows)
    )
    return svg_text(
        body, width, height * len(rows), "The run of yarns along the blanket"
    )


def row_size(n_in_row: int) -> tuple[int, int]:
    """Width and height of one row of the run, px."""
    width = 2 * MARGIN + n_in_row * (SWATCH + GAP)
    return width, STEP_BAND + SWATCH + GREY_BAND + CAPTION + 26


def _left(k: int) -> float:
    return MARGIN + k * (SWATCH + GAP)


def _height_of(size: float) -> float:
    return STEP_BAND - 14 - min(size / FULL_SCALE, 1) * (STEP_BAND - 28)


def _backdrop(
    n_in_row: int, limit: float, best: float | None, *, grouped: bool = False
) -> str:
    width = row_size(n_in_row)[0]
    parts = [
        f'<rect y="{STEP_BAND - 8}" width="{width}" '
        f'height="{SWATCH + GREY_BAND + 26}" fill="{SURROUND}"/>',
        _line(width, limit, "5 3", f"limit {limit:g}"),
    ]
    if best is not None:
        apart = ": groups A and B lie that far apart" if grouped else ""
        parts.append(_line(width, best, "1 3", f"best possible {best:.1f}{apart}"))
    return "".join(parts)


def _line(width: int, size: float, dashes: str, words: str) -> str:
    if size > FULL_SCALE:
        return ""
    y = _height_of(size)
    return (
        f'<path d="M0 {y:.1f}H{width}" stroke="{INK}" stroke-width=".8" '
        f'stroke-dasharray="{dashes}"/><text x="2" y="{y - 2.5:.1f}" font-size="8.5" '
        f'fill="{FAINT}">{words}</text>'
    )


def _stand(yarn: Yarn, x: float, bridge: bool, group: str = "") -> str:
    """Swatch, grey twin and caption of one yarn."""
    top = STEP_BAND + 2
    value = mean_lab(yarn.mix)[0]
    below = top + SWATCH + 6
    mark = ""
    if bridge:
        mark = _tag(x, top, f"{MARKS['bridge']} bridge")
    elif yarn.role == "accent":
        mark = _tag(x, top, f"{MARKS['accent']} accent")
    middle = x + SWATCH / 2
    lines = in_lines(yarn.name, 15, 3)
    caption = "".join(
        f'<text x="{middle:g}" y="{below + GREY_BAND + 32 + 11 * k:g}" '
        f'text-anchor="middle">{escape(line)}</text>'
        for k, line in enumerate(lines)
    )
    return (
        swatch(yarn, x, top, SWATCH, SWATCH)
        + swatch(yarn, x, below, SWATCH, GREY_BAND, grey=True)
        + mark
        + f'<text x="{middle:g}" y="{below + GREY_BAND + 20:g}" text-anchor="middle" '
        f'font-size="9" fill="{FAINT}">no. {yarn.no} · L* {value:.0f}'
        f"{f' · {group}' if group else ''}</text>{caption}"
    )


def _tag(x: float, y: float, text: str) -> str:
    return (
        f'<rect x="{x:g}" y="{y:g}" width="{SWATCH}" height="13" fill="{PAPER}"/>'
        f'<text x="{x + SWATCH / 2:g}" y="{y + 10:g}" text-anchor="middle" '
        f'font-size="9.5" font-weight="bold">{text}</text>'
    )


def _bar(step: Step, x: float, limit: float) -> str:
    """One step as a bar with its number; a whisker runs from near to far."""
    y, foot = _height_of(step.size), STEP_BAND - 14
    loud = step.jump and step.counts
    low, high = sorted((_height_of(step.near), _height_of(step.far)))
    mark = mark_of(step)
    return (
        f'<rect x="{x - 5:g}" y="{y:.1f}" width="10" height="{foot - y:.1f}" '
        f'fill="{INK if loud else "#b8b8b8"}" stroke="{INK}" stroke-width=".7"/>'
        f'<path d="M{x:g} {low:.1f}V{high:.1f}" stroke="{FAINT}" stroke-width="1.2"/>'
        f'<text x="{x:g}" y="{min(y, low) - 3:.1f}" text-anchor="middle" '
        f'font-size="9.5" font-weight="{"bold" if loud else "normal"}">'
        f"{mark}{step.size:.0f}</text>"
    )

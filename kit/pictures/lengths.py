"""How much of each family or weight there is: yarn laid end to end, as SVG text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kit.blanket import Yarn
from kit.pictures.inventory import LEFT_OUT, group_of
from kit.pictures.shelf import WIDTH, in_shelf_order, svg, text
from kit.pictures.swatches import INK, PAPER, SURROUND, bands
from kit.yarn import counted, length
from kit.yarn.weight_classes import WEIGHTS

LABEL, NUMBER = 96, 150  # px beside the bars
BAR, STEP, TOP = 26, 40, 8  # px: one bar, from bar to bar, above the first
ROOM = WIDTH - LABEL - NUMBER


def lengths_svg(
    yarns: Iterable[Yarn], *, by: str = "family", units: str = "metric"
) -> str:
    """A bar for each group, its yarns from light to dark, each as long as its metres.

    `by` "family" or "weight". Balls without a length, or left out, have no place in it.
    """
    known = [y for y in in_shelf_order(yarns) if y.metres and group_of(y) != LEFT_OUT]
    groups = _groups(known, by)
    longest = max((_length(group) for _, group in groups), default=1.0)
    height = TOP + STEP * len(groups) + 4
    parts = [f'<rect width="{WIDTH}" height="{height}" fill="{SURROUND}"/>']
    for k, (name, group) in enumerate(groups):
        parts.append(_bar(name, group, TOP + k * STEP, ROOM / longest, units))
    words = "family" if by == "family" else "weight class"
    return svg("".join(parts), height, f"The length of yarn in each {words}")


def _groups(yarns: Sequence[Yarn], by: str) -> list[tuple[str, list[Yarn]]]:
    """Groups by name: families as they come on the shelf, weights thinnest first."""
    if by == "weight":
        key, names = (lambda yarn: yarn.label.weight), [one.name for one in WEIGHTS]
    else:
        key = group_of
        names = list(dict.fromkeys(map(key, in_shelf_order(yarns, "family"))))
    groups = ((name, [yarn for yarn in yarns if key(yarn) == name]) for name in names)
    return [(name, group) for name, group in groups if group]


def _length(group: Sequence[Yarn]) -> float:
    return sum(yarn.metres or 0.0 for yarn in group)


def _bar(name: str, group: Sequence[Yarn], y: float, per_m: float, units: str) -> str:
    middle = y + BAR / 2 + 4
    parts = [text(LABEL - 10, middle, name, 'font-weight="bold"', anchor="end")]
    at = float(LABEL)
    for yarn in group:
        long = (yarn.metres or 0.0) * per_m
        parts += (
            f'<rect x="{at + band.start * long:.2f}" y="{y:g}" '
            f'width="{band.length * long + 0.3:.2f}" height="{BAR}" '
            f'fill="{band.colour}"/>'
            for band in bands(yarn)
        )
        parts.append(_end(yarn, at, y, long))
        at += long
    words = f"{length(_length(group), units)} · {counted(len(group), 'ball')}"
    parts.append(text(at + 8, middle, words, f'fill="{INK}"', anchor="start"))
    return "".join(parts)


def _end(yarn: Yarn, x: float, y: float, long: float) -> str:
    """The edge of one yarn, its number below where there is room."""
    edge = (
        f'<rect x="{x:.2f}" y="{y:g}" width="{long:.2f}" height="{BAR}" fill="none" '
        f'stroke="{PAPER}" stroke-width="1"/>'
    )
    if long < 7 * len(str(yarn.no)) + 2:
        return edge
    return edge + text(x + long / 2, y + BAR + 10, str(yarn.no))

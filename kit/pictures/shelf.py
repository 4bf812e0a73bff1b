"""The stash as a shelf of balls, as SVG text: in colour, in greys, and laid out long.

Colours are flat and stand on a wall of neutral grey, so they can be judged. A ball's
volume goes with its grams; each of its colours covers its share of the disc.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from math import acos, cbrt, pi, sqrt

from kit.arrangement.orders import by_value_and_name, value_of
from kit.blanket import Yarn
from kit.colour.families import FAMILIES
from kit.pictures.inventory import LEFT_OUT, group_of
from kit.pictures.svg import (
    FAINT,
    INK,
    PAPER,
    Style,
    Svg,
    Value,
    drawing,
    element,
    group,
    number,
    path,
    rect,
    words_at,
)
from kit.pictures.swatches import MARKS, SURROUND, Band, bands, in_lines
from kit.yarn import counted, length, mass
from kit.yarn.weight_classes import WEIGHTS

WIDTH, MARGIN, N_IN_ROW = 980, 17, 11
CELL = (WIDTH - 2 * MARGIN) / N_IN_ROW
WALL, BOARD, CAPTION, BRACKET = 86, 6, 54, 20  # px: heights of one board's parts
R_100G, R_LEAST, R_MOST, R_UNWEIGHED = 34.0, 13.0, 39.0, 24.0  # px
GREY_CELL, GREY_R = 42.0, 17.0
BOARD_COLOUR, TILT = "#3a3a3a", -24
NAME_WIDTH, NAME_LINES = 14, 3
BAR, BAR_STEP, BAR_TOP = 26, 40, 8  # px: one bar, from bar to bar, above the first
BAR_LEFT = 96  # px: the names beside the bars
BAR_ROOM = WIDTH - BAR_LEFT - 150


# --- order ----------------------------------------------------------------------------


def in_shelf_order(yarns: Iterable[Yarn], by: str = "value") -> tuple[Yarn, ...]:
    """Yarns from light to dark (`by` "value"), or family after family.

    What is left out stands at the end either way.
    """
    ordered = by_value_and_name(tuple(yarns))
    places = [*FAMILIES, LEFT_OUT]
    if by == "family":
        return tuple(sorted(ordered, key=lambda yarn: places.index(group_of(yarn))))
    return tuple(sorted(ordered, key=lambda yarn: group_of(yarn) == LEFT_OUT))


# --- one ball -------------------------------------------------------------------------


def radius(grams: float | None) -> float:
    """Of a ball on the shelf, px: volume goes with grams, within limits to be seen.

    >>> radius(100), round(radius(12.5), 9)
    (34.0, 17.0)
    """
    if grams is None:
        return R_UNWEIGHED
    return min(max(R_100G * cbrt(grams / 100), R_LEAST), R_MOST)


def cut_at(share: float) -> float:
    """Where an upright cut leaves this share of a disc of radius 1 at its left.

    >>> cut_at(0.0), round(cut_at(0.25), 3), cut_at(1.0)
    (-1.0, -0.404, 1.0)
    """
    low, high = -1.0, 1.0
    if share <= 0 or share >= 1:
        return low if share <= 0 else high
    for _ in range(40):
        middle = (low + high) / 2
        covered = (acos(-middle) + middle * sqrt(1 - middle * middle)) / pi
        low, high = (middle, high) if covered < share else (low, middle)
    return (low + high) / 2


def ball(yarn: Yarn, x: float, y: float, r: float) -> Svg:
    """A ball, its centre at (x, y): colours flat, edged twice."""
    colours = bands(yarn)
    parts = _tail(r, colours[0].colour)
    if yarn.label.surface == "fluffy":
        parts += _halo(r)
    parts += [_segment(band, r) for band in colours]
    dashes = "4 3" if yarn.grams is None else None
    for out, colour, dashed in ((0.5, PAPER, None), (1.5, "#000000", dashes)):
        line = {"stroke": colour, "stroke_dasharray": dashed}
        parts.append(element("circle", r=r + out, fill="none", **line))
    return group(parts, x=x, y=y, turn=TILT)


def _segment(band: Band, r: float) -> Svg:
    left, right = cut_at(band.start), cut_at(band.start + band.length)
    if band.length >= 1:
        return element("circle", r=r, fill=band.colour)
    right = min(right + 0.4 / r, 1.0)  # a hair over, else the wall shows between
    up, down = sqrt(1 - left * left) * r, sqrt(1 - right * right) * r
    there = ("M", left * r, -up, "A", r, r, 0, 0, 1, right * r, -down)
    back = ("V", down, "A", r, r, 0, 0, 1, left * r, up, "Z")
    return path(*there, *back, fill=band.colour)


def _tail(r: float, colour: str) -> list[Svg]:
    """The loose end, under the ball."""
    end = ("M", 0, r, "C", 0.7 * r, 1.1 * r, r, 0.9 * r, 1.16 * r, 0.62 * r)
    bare = {"fill": "none", "stroke_linecap": "round"}
    return [
        path(*end, **bare, stroke=stroke, stroke_width=width)
        for stroke, width in (("#000000", 4), (colour, 2.4))
    ]


def _halo(r: float) -> Iterator[Svg]:
    """Hairs of a fluffy yarn, round the ball and not on its colour."""
    rng = random.Random(7)
    for k in range(48):
        out, tone = rng.uniform(4.5, 8.5), PAPER if k % 2 else "#000000"
        hair = ("M", r, 0, "q", out / 2, rng.uniform(-3, 3), out, 1)
        line: Style = {"fill": "none", "stroke": tone, "stroke_width": 0.8}
        yield path(*hair, transform=f"rotate({number(7.5 * k)})", **line)


# --- the shelf ------------------------------------------------------------------------


def shelf_svg(
    yarns: Iterable[Yarn], *, by: str = "value", units: str = "metric"
) -> Svg:
    """The stash as boards of balls; tag number, L*, what is left and name below each.

    `by` "value": light to dark throughout; "family": each family under a bracket.
    """
    ordered = in_shelf_order(yarns, by)
    bracket = BRACKET if by == "family" else 0
    height = bracket + WALL + BOARD + CAPTION
    body = []
    for k in range(0, len(ordered), N_IN_ROW):
        members, y = ordered[k : k + N_IN_ROW], k // N_IN_ROW * height
        if bracket:
            body.append(group(_brackets(members), x=0, y=y))
        stands = [_stand(yarn, place, units) for place, yarn in enumerate(members)]
        body.append(group(_board(), stands, x=0, y=y + bracket))
    total = max(height * -(-len(ordered) // N_IN_ROW), 1)
    label = f"A shelf of {counted(len(ordered), 'ball')} of yarn"
    return drawing(WIDTH, total, label, body, font_size=10)


def _board() -> list[Svg]:
    return [
        rect(width=WIDTH, height=WALL, fill=SURROUND),
        rect(y=WALL, width=WIDTH, height=BOARD, fill=BOARD_COLOUR),
    ]


def _stand(yarn: Yarn, k: int, units: str) -> list[Svg]:
    """One ball on its board, its mark above and its caption below."""
    r, x = radius(yarn.grams), MARGIN + (k + 0.5) * CELL
    left = "not weighed" if yarn.grams is None else mass(yarn.grams, units)
    first, top = f"{yarn.no} · L* {value_of(yarn):.0f} · {left}", WALL + BOARD + 13
    caption = [_centred(first, x, top, font_size=9, fill=FAINT)]
    for n, line in enumerate(in_lines(yarn.name, NAME_WIDTH, NAME_LINES)):
        caption.append(_centred(line, x, top + 12 + 11 * n))
    return [ball(yarn, x, WALL - r - 2, r), *_mark(yarn, x), *caption]


def _mark(yarn: Yarn, x: float) -> list[Svg]:
    said = {
        "bridge": f"{MARKS['bridge']} bridge",
        "accent": f"{MARKS['accent']} accent",
        "leave out": LEFT_OUT,
    }.get(yarn.role)
    if not said:
        return []
    box = rect(x=x - 28, y=1, width=56, height=12, fill=PAPER)
    return [box, _centred(said, x, 10.5, font_size=9)]


def _brackets(members: Sequence[Yarn]) -> list[Svg]:
    """The families of one board, each bracketed and named."""
    parts, at = [], 0
    for name, family in groupby(members, key=group_of):
        n = len(list(family))
        left, right = MARGIN + at * CELL + 4, MARGIN + (at + n) * CELL - 4
        at += n
        up, foot = ("V", BRACKET - 5), BRACKET - 1
        line = ("M", left, foot, *up, "H", right, "V", foot)
        parts.append(path(*line, fill="none", stroke=INK))
        middle = (left + right) / 2
        parts.append(_centred(name, middle, BRACKET - 8, font_weight="bold"))
    return parts


def greys_svg(yarns: Iterable[Yarn], *, by: str = "value") -> Svg:
    """The shelf in true greys, every ball as large as the next: values alone."""
    ordered = in_shelf_order(yarns, by)
    n_in_row, tall = int((WIDTH - 2 * MARGIN) // GREY_CELL), GREY_CELL + 14
    height = int(-(-len(ordered) // n_in_row) * tall) + 6
    body = [rect(width=WIDTH, height=height, fill=SURROUND)]
    for k, yarn in enumerate(ordered):
        x = MARGIN + (k % n_in_row + 0.5) * GREY_CELL
        y = k // n_in_row * tall + GREY_CELL / 2 + 3
        body.append(_grey_ball(yarn, x, y))
        body.append(_centred(f"{yarn.no}", x, y + GREY_R + 12))
    label = "The same shelf in greys of equal L*"
    return drawing(WIDTH, height, label, body, font_size=10)


def _grey_ball(yarn: Yarn, x: float, y: float) -> Svg:
    parts = [_segment(band, GREY_R) for band in bands(yarn, grey=True)]
    edge: Style = {"fill": "none", "stroke": PAPER, "stroke_width": 0.6}
    return group(parts, element("circle", r=GREY_R, **edge), x=x, y=y, turn=TILT)


def _centred(said: str, x: float, y: float, **style: Value) -> Svg:
    return words_at(said, x, y, text_anchor="middle", **style)


# --- the lengths ----------------------------------------------------------------------


def lengths_svg(
    yarns: Iterable[Yarn], *, by: str = "family", units: str = "metric"
) -> Svg:
    """Yarn laid end to end: a bar for each group, its yarns from light to dark, each as
    long as its metres.

    `by` "family" or "weight". Balls without a length, or left out, have no place in it.
    """
    known = [y for y in in_shelf_order(yarns) if y.metres and group_of(y) != LEFT_OUT]
    groups = _groups(known, by)
    longest = max((_length(members) for _, members in groups), default=1.0)
    height = BAR_TOP + BAR_STEP * len(groups) + 4
    body = [rect(width=WIDTH, height=height, fill=SURROUND)]
    for k, (name, members) in enumerate(groups):
        y = BAR_TOP + k * BAR_STEP
        body += _bar(name, members, y, BAR_ROOM / longest, units)
    kind = "family" if by == "family" else "weight class"
    label = f"The length of yarn in each {kind}"
    return drawing(WIDTH, height, label, body, font_size=10)


def _groups(yarns: Sequence[Yarn], by: str) -> list[tuple[str, list[Yarn]]]:
    """Groups by name: families as they come on the shelf, weights thinnest first."""
    if by == "weight":
        key, names = (lambda yarn: yarn.label.weight), [one.name for one in WEIGHTS]
    else:
        key = group_of
        names = list(dict.fromkeys(map(key, in_shelf_order(yarns, "family"))))
    groups = ((name, [yarn for yarn in yarns if key(yarn) == name]) for name in names)
    return [(name, members) for name, members in groups if members]


def _length(yarns: Sequence[Yarn]) -> float:
    return sum(yarn.metres or 0.0 for yarn in yarns)


def _bar(
    name: str, yarns: Sequence[Yarn], y: float, per_m: float, units: str
) -> list[Svg]:
    """A group's name, its yarns end to end, and their sum."""
    foot, at = y + BAR / 2 + 4, float(BAR_LEFT)
    bold = {"text_anchor": "end", "font_weight": "bold"}
    parts = [words_at(name, BAR_LEFT - 10, foot, **bold)]
    for yarn in yarns:
        wide = (yarn.metres or 0.0) * per_m
        parts += _laid(yarn, at, y, wide)
        at += wide
    said = f"{length(_length(yarns), units)} · {counted(len(yarns), 'ball')}"
    return [*parts, words_at(said, at + 8, foot, fill=INK)]


def _laid(yarn: Yarn, x: float, y: float, wide: float) -> list[Svg]:
    """One yarn of a bar, edged; its number below where there is room."""
    parts = []
    for band in bands(yarn):
        left, long = x + band.start * wide, band.length * wide + 0.3
        parts.append(rect(x=left, y=y, width=long, height=BAR, fill=band.colour))
    edge: Style = {"fill": "none", "stroke": PAPER, "stroke_width": 1}
    parts.append(rect(x=x, y=y, width=wide, height=BAR, **edge))
    if wide < 7 * len(str(yarn.no)) + 2:
        return parts
    return [*parts, _centred(str(yarn.no), x + wide / 2, y + BAR + 10)]

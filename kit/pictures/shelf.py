"""The stash as a shelf of balls, as SVG text: in colour, and in true greys.

Colours are flat and stand on a wall of neutral grey, so they can be judged. A ball's
volume goes with its grams; each of its colours covers its share of the disc.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from html import escape
from itertools import groupby
from math import acos, cbrt, pi, sqrt

from kit.arrangement.orders import by_value_and_name, value_of
from kit.blanket import Yarn
from kit.colour.families import FAMILIES
from kit.pictures.inventory import LEFT_OUT, group_of
from kit.pictures.swatches import (
    FAINT,
    INK,
    MARKS,
    PAPER,
    SURROUND,
    Band,
    bands,
    in_lines,
)
from kit.yarn import counted, mass

WIDTH, MARGIN, N_IN_ROW = 980, 17, 11
CELL = (WIDTH - 2 * MARGIN) / N_IN_ROW
WALL, BOARD, CAPTION, BRACKET = 86, 6, 54, 20  # px: heights of one board's parts
R_100G, R_LEAST, R_MOST, R_UNWEIGHED = 34.0, 13.0, 39.0, 24.0  # px
GREY_CELL, GREY_R = 42.0, 17.0
BOARD_COLOUR, TILT = "#3a3a3a", -24
NAME_WIDTH, NAME_LINES = 14, 3
AROUND = "DejaVu Sans, Verdana, sans-serif"


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


def ball(yarn: Yarn, x: float, y: float, r: float) -> str:
    """A ball as an SVG fragment, its centre at (x, y): colours flat, edged twice."""
    colours = bands(yarn)
    parts = [_tail(r, colours[0].colour)]
    if yarn.label.surface == "fluffy":
        parts.append(_halo(r))
    parts += [_segment(band, r) for band in colours]
    parts.append(
        f'<circle r="{r + 0.5:g}" fill="none" stroke="{PAPER}"/>'
        f'<circle r="{r + 1.5:g}" fill="none" stroke="#000000"{_dashes(yarn)}/>'
    )
    body = "".join(parts)
    return f'<g transform="translate({x:.1f} {y:.1f}) rotate({TILT})">{body}</g>'


def _dashes(yarn: Yarn) -> str:
    return ' stroke-dasharray="4 3"' if yarn.grams is None else ""


def _segment(band: Band, r: float) -> str:
    left, right = cut_at(band.start), cut_at(band.start + band.length)
    if band.length >= 1:
        return f'<circle r="{r:g}" fill="{band.colour}"/>'
    right = min(right + 0.4 / r, 1.0)  # a hair over, else the wall shows between
    up, down = sqrt(1 - left * left) * r, sqrt(1 - right * right) * r
    x, to = left * r, right * r
    return (
        f'<path d="M{x:.2f} {-up:.2f}A{r:g} {r:g} 0 0 1 {to:.2f} {-down:.2f}V{down:.2f}'
        f'A{r:g} {r:g} 0 0 1 {x:.2f} {up:.2f}Z" fill="{band.colour}"/>'
    )


def _tail(r: float, colour: str) -> str:
    """The loose end, under the ball."""
    end = f"M0 {r:.1f}C{r * 0.7:.1f} {r * 1.1:.1f} {r:.1f} {r * 0.9:.1f} "
    path = f'd="{end}{r * 1.16:.1f} {r * 0.62:.1f}" fill="none" stroke-linecap="round"'
    return (
        f'<path {path} stroke="#000000" stroke-width="4"/>'
        f'<path {path} stroke="{colour}" stroke-width="2.4"/>'
    )


def _halo(r: float) -> str:
    """Hairs of a fluffy yarn, round the ball and not on its colour."""
    rng = random.Random(7)
    hairs = []
    for k in range(48):
        out, tone = rng.uniform(4.5, 8.5), PAPER if k % 2 else "#000000"
        hairs.append(
            f'<path transform="rotate({7.5 * k:g})" d="M{r:g} 0q{out / 2:.1f} '
            f'{rng.uniform(-3, 3):.1f} {out:.1f} 1" fill="none" stroke="{tone}" '
            'stroke-width=".8"/>'
        )
    return "".join(hairs)


# --- the shelf ------------------------------------------------------------------------


def shelf_svg(
    yarns: Iterable[Yarn], *, by: str = "value", units: str = "metric"
) -> str:
    """The stash as boards of balls; tag number, L*, what is left and name below each.

    `by` "value": light to dark throughout; "family": each family under a bracket.
    """
    ordered = in_shelf_order(yarns, by)
    bracket = BRACKET if by == "family" else 0
    height = bracket + WALL + BOARD + CAPTION
    rows = [ordered[k : k + N_IN_ROW] for k in range(0, len(ordered), N_IN_ROW)]
    body = []
    for k, members in enumerate(rows):
        brackets = _brackets(members) if bracket else ""
        stands = "".join(_stand(yarn, k, units) for k, yarn in enumerate(members))
        body.append(
            f'<g transform="translate(0 {k * height})">{brackets}'
            f'<g transform="translate(0 {bracket})">{_board()}{stands}</g></g>'
        )
    total = max(height * len(rows), 1)
    return svg(
        "".join(body), total, f"A shelf of {counted(len(ordered), 'ball')} of yarn"
    )


def _board() -> str:
    return (
        f'<rect width="{WIDTH}" height="{WALL}" fill="{SURROUND}"/>'
        f'<rect y="{WALL}" width="{WIDTH}" height="{BOARD}" fill="{BOARD_COLOUR}"/>'
    )


def _stand(yarn: Yarn, k: int, units: str) -> str:
    """One ball on its board, its mark above and its caption below."""
    r, middle = radius(yarn.grams), MARGIN + (k + 0.5) * CELL
    left = "not weighed" if yarn.grams is None else mass(yarn.grams, units)
    lines = in_lines(visible(yarn.name), NAME_WIDTH, NAME_LINES)
    top = WALL + BOARD + 13
    first = f"{yarn.no} · L* {value_of(yarn):.0f} · {left}"
    caption = text(middle, top, first, f'font-size="9" fill="{FAINT}"')
    for n, line in enumerate(lines):
        caption += text(middle, top + 12 + 11 * n, line)
    return ball(yarn, middle, WALL - r - 2, r) + _mark(yarn, middle) + caption


def _mark(yarn: Yarn, x: float) -> str:
    words = {
        "bridge": f"{MARKS['bridge']} bridge",
        "accent": f"{MARKS['accent']} accent",
        "leave out": LEFT_OUT,
    }.get(yarn.role)
    if not words:
        return ""
    box = f'<rect x="{x - 28:.1f}" y="1" width="56" height="12" fill="{PAPER}"/>'
    return box + text(x, 10.5, words, 'font-size="9"')


def _brackets(members: Sequence[Yarn]) -> str:
    """The families of one board, each bracketed and named."""
    parts, at = [f'<rect width="{WIDTH}" height="{BRACKET}" fill="{PAPER}"/>'], 0
    for name, group in groupby(members, key=group_of):
        n = len(list(group))
        left, right = MARGIN + at * CELL + 4, MARGIN + (at + n) * CELL - 4
        at += n
        parts.append(
            f'<path d="M{left:.1f} {BRACKET - 1}V{BRACKET - 5}H{right:.1f}V'
            f'{BRACKET - 1}" fill="none" stroke="{INK}"/>'
            + text((left + right) / 2, BRACKET - 8, name, 'font-weight="bold"')
        )
    return "".join(parts)


def greys_svg(yarns: Iterable[Yarn], *, by: str = "value") -> str:
    """The shelf in true greys, every ball as large as the next: values alone."""
    ordered = in_shelf_order(yarns, by)
    n_in_row = int((WIDTH - 2 * MARGIN) // GREY_CELL)
    body = []
    for k, yarn in enumerate(ordered):
        x = MARGIN + (k % n_in_row + 0.5) * GREY_CELL
        y = (k // n_in_row) * (GREY_CELL + 14) + GREY_CELL / 2 + 3
        body.append(_grey_ball(yarn, x, y) + text(x, y + GREY_R + 12, f"{yarn.no}"))
    n_rows = -(-len(ordered) // n_in_row)
    height = int(n_rows * (GREY_CELL + 14)) + 6
    wall = f'<rect width="{WIDTH}" height="{height}" fill="{SURROUND}"/>'
    return svg(wall + "".join(body), height, "The same shelf in greys of equal L*")


def _grey_ball(yarn: Yarn, x: float, y: float) -> str:
    parts = "".join(_segment(band, GREY_R) for band in bands(yarn, grey=True))
    parts += f'<circle r="{GREY_R:g}" fill="none" stroke="{PAPER}" stroke-width=".6"/>'
    return f'<g transform="translate({x:.1f} {y:.1f}) rotate({TILT})">{parts}</g>'


def text(
    x: float, y: float, words: str, style: str = "", *, anchor: str = "middle"
) -> str:
    """Words as SVG text, escaped; `style` is more attributes."""
    place = f'x="{x:.1f}" y="{y:g}" text-anchor="{anchor}"'
    return f"<text {place} {style}>{escape(words)}</text>"


def svg(body: str, height: float, label: str) -> str:
    """A picture as wide as the shelf, on white, with its name for a screen reader."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:g}" '
        f'width="{WIDTH}" height="{height:g}" role="img" aria-label="{escape(label)}" '
        f'font-family="{AROUND}" font-size="10">'
        f'<rect width="{WIDTH}" height="{height:g}" fill="{PAPER}"/>{body}</svg>'
    )


def visible(name: str) -> str:
    """A name without what XML cannot hold; joiners stay, emoji need them."""
    return "".join(c for c in name if c.isprintable() or c in "\u200c\u200d")

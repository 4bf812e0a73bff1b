"""Swatches as SVG text: for notebooks and the printed plan.

Every name is escaped; the text holds no script, no link and no outside font.
"""

from __future__ import annotations

import random
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from unicodedata import east_asian_width
from zlib import crc32

from kit.blanket import Yarn
from kit.colour import Mix, Step
from kit.colour.spaces import Lab, lab_to_hex

SURROUND = "#777777"  # L* 50: swatches are judged on neutral grey
INK, PAPER, FAINT = "#111111", "#ffffff", "#5a5a5a"
SWATCH, MARGIN = 66, 10  # px
FILL = "\ue000"  # stands for the second column of a wide letter; no font has it
# The marks: shape and word, so that colour is never the only sign.
MARKS = {"jump": "▲", "accent": "◆", "join": "‖", "bridge": "⌒", "middle": "↩"}


@dataclass(frozen=True, slots=True)
class Band:
    """One run of colour on a swatch: where it starts and how long it is, 0-1."""

    start: float
    length: float
    colour: str


def bands(yarn: Yarn, *, grey: bool = False) -> tuple[Band, ...]:
    """A yarn's colours as they run along the strand, seeded by its name.

    Solid: one. Self-striping: each colour once. Tonal: many short soft runs.
    Variegated: a few runs of each. Speckled: the largest colour with short specks.
    """
    mix, style = yarn.mix, yarn.label.style
    paint = [lab_to_hex(grey_of(lab) if grey else lab) for lab in mix.labs]
    if len(paint) == 1:
        return (Band(0.0, 1.0, paint[0]),)
    rng = random.Random(crc32(f"{yarn.name}/{yarn.no}".encode()))
    repeats = {"self-striping": 1, "tonal": 5, "speckled": 7}.get(style, 2)
    order = list(range(len(paint)))
    runs: list[tuple[float, str]] = []
    for _ in range(repeats):
        rng.shuffle(order)
        for k in order:
            runs.append((mix.shares[k] / repeats * rng.uniform(0.7, 1.3), paint[k]))
    total, at, placed = sum(length for length, _ in runs), 0.0, []
    for length, colour in runs:
        placed.append(Band(at, length / total, colour))
        at += length / total
    return tuple(placed)


def grey_of(lab: Lab) -> Lab:
    """The neutral grey of the same L*: what a true value photo shows."""
    return (lab[0], 0.0, 0.0)


def swatch(
    yarn: Yarn, x: float, y: float, width: float, height: float, *, grey: bool = False
) -> str:
    """A swatch as an SVG fragment: the strand laid in slanting turns, edged."""
    parts = [f'<g transform="translate({x:g} {y:g})">']
    for band in bands(yarn, grey=grey):
        left, right = band.start * width, (band.start + band.length) * width + 0.4
        parts.append(
            f'<rect x="{left:.1f}" width="{min(right, width) - left:.1f}" '
            f'height="{height:g}" fill="{band.colour}"/>'
        )
    if yarn.label.surface == "fluffy":
        parts.append(_fluff(width, height))
    parts.append(
        f'<rect x="-.5" y="-.5" width="{width + 1:g}" height="{height + 1:g}" '
        f'fill="none" stroke="{PAPER}"/><rect x="-1.5" y="-1.5" width="{width + 3:g}" '
        f'height="{height + 3:g}" fill="none" stroke="#000000"/></g>'
    )
    return "".join(parts)


def _fluff(width: float, height: float) -> str:
    """Short light and dark hairs over the swatch; they leave its average alone."""
    rng = random.Random(7)
    hairs = []
    for k in range(26):
        x, y = rng.uniform(2, width - 6), rng.uniform(2, height - 3)
        tone = "#ffffff" if k % 2 else "#000000"
        hairs.append(
            f'<path d="M{x:.1f} {y:.1f}q3 {rng.uniform(-4, 4):.1f} 6 0" fill="none" '
            f'stroke="{tone}" stroke-opacity=".28" stroke-width=".8"/>'
        )
    return "".join(hairs)


def in_lines(text: str, columns: int, most: int) -> list[str]:
    """Text in at most so many lines of so many columns; letters of full width take two
    (Unicode Standard Annex 11).

    >>> in_lines("毛糸の藍色", 6, 2)
    ['毛糸の', '藍色']
    """
    padded = "".join(c + FILL * (east_asian_width(c) in "WF") for c in text)
    lines = textwrap.wrap(padded, columns, max_lines=most, placeholder=" …")
    return [line.replace(FILL, "") for line in lines]


def strip_svg(
    yarns: Sequence[Yarn], *, grey: bool = False, width: int = 900, height: int = 40
) -> str:
    """Yarns side by side without gaps, as from far off; `grey` shows L* alone."""
    each = width / max(len(yarns), 1)
    body = []
    for k, yarn in enumerate(yarns):
        for band in bands(yarn, grey=grey):
            left = (k + band.start) * each
            body.append(
                f'<rect x="{left:.2f}" width="{band.length * each + 0.4:.2f}" '
                f'height="{height}" fill="{band.colour}"/>'
            )
    word = "values" if grey else "colours"
    return svg_text("".join(body), width, height, f"The {word} along the blanket")


def mix_svg(mix: Mix, *, width: int = 120, height: int = 34) -> str:
    """A mix as bands by share on neutral grey: for what to look for."""
    at, body = 4.0, [f'<rect width="{width}" height="{height}" fill="{SURROUND}"/>']
    for lab, share in zip(mix.labs, mix.shares, strict=True):
        length = share * (width - 8)
        body.append(
            f'<rect x="{at:.1f}" y="4" width="{length:.1f}" height="{height - 8}" '
            f'fill="{lab_to_hex(lab)}"/>'
        )
        at += length
    edge = f'<rect x="4" y="4" width="{width - 8}" height="{height - 8}" fill="none" '
    body.append(edge + 'stroke="#ffffff"/>')
    return svg_text("".join(body), width, height, "A mix of colours")


def mark_of(step: Step) -> str:
    """The mark of a step that is a jump, an accent or a join; "" for the others."""
    return MARKS[step.kind] if step.kind else ""


def svg_text(body: str, width: int, height: int, label: str) -> str:
    """An SVG picture on paper white, with a label for who cannot see it."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" role="img" aria-label="{escape(label)}" '
        f'font-family="DejaVu Sans, Verdana, sans-serif" font-size="10.5">'
        f'<rect width="{width}" height="{height}" fill="{PAPER}"/>{body}</svg>'
    )

"""Swatches as SVG text: for notebooks and the printed plan."""

from __future__ import annotations

import random
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from unicodedata import east_asian_width
from zlib import crc32

from kit.blanket import Yarn
from kit.colour import Mix, Step
from kit.colour.spaces import Lab, lab_to_hex
from kit.pictures.svg import PAPER, Svg, drawing, group, path, rect

SURROUND = "#777777"  # L* 50: swatches are judged on neutral grey
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
    yarn: Yarn, x: float, y: float, width: float, height: float, *,
    grey: bool = False, edged: bool = True,
) -> Svg:  # fmt: skip
    """A swatch: the strand laid in upright turns, edged twice; with `edged` False its
    colours alone, which run a hair over into what stands on its right."""
    parts = []
    for band in bands(yarn, grey=grey):
        left, right = band.start * width, (band.start + band.length) * width + 0.4
        wide = (min(right, width) if edged else right) - left
        parts.append(rect(x=left, width=wide, height=height, fill=band.colour))
    if edged and yarn.label.surface == "fluffy":
        parts += _fluff(width, height)
    if edged:
        for out, colour in ((0.5, PAPER), (1.5, "#000000")):
            size = {"width": width + 2 * out, "height": height + 2 * out}
            parts.append(rect(x=-out, y=-out, **size, fill="none", stroke=colour))
    return group(parts, x=x, y=y)


def side_by_side(
    yarns: Sequence[Yarn], x: float, y: float, pitch: float, height: float, *,
    gap: float = 0, grey: bool = False,
) -> list[Svg]:  # fmt: skip
    """Swatches from left to right, `pitch` px from one to the next; without a gap as
    bare colours, as from far off."""
    return [
        swatch(yarn, x + k * pitch, y, pitch - gap, height, grey=grey, edged=gap > 0)
        for k, yarn in enumerate(yarns)
    ]


def _fluff(width: float, height: float) -> Iterator[Svg]:
    """Short light and dark hairs over the swatch; they leave its average alone."""
    rng = random.Random(7)
    for k in range(26):
        x, y = rng.uniform(2, width - 6), rng.uniform(2, height - 3)
        yield path(
            *("M", x, y, "q", 3, rng.uniform(-4, 4), 6, 0), fill="none",
            stroke=PAPER if k % 2 else "#000000",
            stroke_opacity=0.28, stroke_width=0.8,
        )  # fmt: skip


def in_lines(text: str, columns: int, most: int) -> list[str]:
    """Text in at most so many lines of so many columns; letters of full width take two
    (Unicode Standard Annex 11).

    >>> in_lines("毛糸の藍色", 6, 2)
    ['毛糸の', '藍色']
    """
    padded = "".join(c + FILL * (east_asian_width(c) in "WF") for c in text)
    lines = textwrap.wrap(padded, columns, max_lines=most, placeholder=" …")
    return [line.replace(FILL, "") for line in lines]


def mix_svg(mix: Mix, *, width: int = 120, height: int = 34) -> Svg:
    """A mix as bands by share on neutral grey: for what to look for."""
    at, inner = 4.0, {"y": 4, "height": height - 8}
    body = [rect(width=width, height=height, fill=SURROUND)]
    for lab, share in zip(mix.labs, mix.shares, strict=True):
        length = share * (width - 8)
        body.append(rect(x=at, width=length, **inner, fill=lab_to_hex(lab)))
        at += length
    body.append(rect(x=4, width=width - 8, **inner, fill="none", stroke=PAPER))
    return drawing(width, height, repr(mix), body)


def mark_of(step: Step) -> str:
    """The mark of a step that is a jump, an accent or a join; "" for the others."""
    return MARKS[step.kind] if step.kind else ""

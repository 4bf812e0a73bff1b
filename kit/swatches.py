"""Swatches and the run of a blanket as SVG text: for notebooks and the printed plan.

Every name is escaped; the text holds no script, no link and no outside font.
"""

from __future__ import annotations

import random
import textwrap
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from html import escape
from unicodedata import east_asian_width
from zlib import crc32

from kit.colour import Lab, Mix, lab_to_hex, mean_lab
from kit.design import Design, Suggestion
from kit.difference import pair_steps
from kit.sought import mix_words
from kit.stash import Yarn
from kit.steps import Step

SURROUND = "#777777"  # L* 50: swatches are judged on neutral grey
INK, PAPER, FAINT = "#111111", "#ffffff", "#5a5a5a"
SWATCH, GAP, MARGIN = 66, 30, 10  # px
STEP_BAND, GREY_BAND, CAPTION = 84, 14, 52  # px
FILL = "\ue000"  # stands for the second column of a wide letter; no font has it
FULL_SCALE = 50.0  # dE00 at the top of the step band
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


# --- the run --------------------------------------------------------------------------


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
    mirrored run goes back) carry a mark and a word. Where two
    groups of yarns set the best possible, each yarn carries its group's letter.
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
        rows.append(_svg("".join(body), *row_size(n_in_row), label))
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
    return _svg(body, width, height * len(rows), "The run of yarns along the blanket")


def row_size(n_in_row: int) -> tuple[int, int]:
    """Width and height of one row of the run, px."""
    width = 2 * MARGIN + n_in_row * (SWATCH + GAP)
    return width, STEP_BAND + SWATCH + GREY_BAND + CAPTION + 26


def _left(k: int) -> float:
    return MARGIN + k * (SWATCH + GAP)


def _svg(body: str, width: int, height: int, label: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" role="img" aria-label="{escape(label)}" '
        f'font-family="DejaVu Sans, Verdana, sans-serif" font-size="10.5">'
        f'<rect width="{width}" height="{height}" fill="{PAPER}"/>{body}</svg>'
    )


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


def mark_of(step: Step) -> str:
    """The mark of a step that is a jump, an accent or a join; "" for the others."""
    if step.join:
        return MARKS["join"]
    if step.accent:
        return MARKS["accent"]
    return MARKS["jump"] if step.jump else ""


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
    return _svg("".join(body), width, height, f"The {word} along the blanket")


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
    return _svg("".join(body), width, height, "A mix of colours")


# --- bridges, before and after --------------------------------------------------------

# px: one line of the short list, from one swatch to the next, the words beside them
ROW, PITCH, WORDS = 62, SWATCH + 48, 300


def shortlist_svg(
    one: Suggestion, *, limit: float, view: float, n_told: int = 5
) -> str:
    """A jump without a bridge, and with each of the best few, as one SVG picture.

    Every line has the swatches side by side with the steps between them (a step over
    `limit` in bold with its mark), the name, where the yarn is from and what it leaves;
    the last line what to look for, where nothing owned will do.
    """
    ends = one.after, one.before
    lines = [_listed(ends, (), "without a bridge", f"{one.step:.1f}", limit, view)]
    for yarn, source, step in one.candidates[:n_told]:
        leaves = f"from the {source}: leaves {step:.1f}"
        lines.append(_listed(ends, (yarn,), yarn.name, leaves, limit, view))
    if one.sought:
        lines.append(_sought(one, limit, view))
    body = "".join(
        f'<g transform="translate(0 {k * ROW})">{line}</g>'
        for k, line in enumerate(lines)
    )
    width = 2 * MARGIN + SWATCH + 2 * PITCH + WORDS
    label = f"Bridges between {one.after.name} and {one.before.name}"
    return _svg(body, width, ROW * len(lines), label)


def _sought(one: Suggestion, limit: float, view: float) -> str:
    assert one.sought is not None
    label = replace(one.after.label, style="variegated", surface="smooth")
    wanted = replace(one.after, name="to look for", mix=one.sought.mix, label=label)
    leaves = f"to look for: would leave {one.sought.step_after:.1f}"
    words = mix_words(one.sought.mix)
    return _listed((one.after, one.before), (wanted,), words, leaves, limit, view)


def _listed(
    ends: tuple[Yarn, Yarn],
    between: tuple[Yarn, ...],
    name: str,
    leaves: str,
    limit: float,
    view: float,
) -> str:
    """One line of the short list."""
    yarns = (ends[0], *between, ends[1])
    wide = SWATCH + 2 * PITCH
    mixes = [yarn.mix for yarn in yarns]
    sizes = pair_steps(mixes[:-1], mixes[1:], view=view).tolist()
    pitch = PITCH if between else 2 * PITCH
    parts = [f'<rect width="{wide + 2 * MARGIN}" height="{ROW}" fill="{SURROUND}"/>']
    for k, yarn in enumerate(yarns):
        parts.append(swatch(yarn, MARGIN + k * pitch, 8, SWATCH, ROW - 16))
    for k, size in enumerate(sizes):
        x = MARGIN + (k + 0.5) * pitch + SWATCH / 2
        loud = size > limit
        parts.append(
            f'<text x="{x:g}" y="{ROW / 2 + 4:g}" text-anchor="middle" fill="{PAPER}" '
            f'font-size="11" font-weight="{"bold" if loud else "normal"}">'
            f"{MARKS['jump'] if loud else ''}{size:.1f}</text>"
        )
    x = wide + 2 * MARGIN + 10
    told = in_lines(name, 46, 2)
    for k, text in enumerate(told):
        parts.append(
            f'<text x="{x}" y="{20 + 13 * k}" font-weight="bold">{escape(text)}</text>'
        )
    y = 22 + 13 * len(told)
    parts.append(f'<text x="{x}" y="{y}" fill="{FAINT}">{escape(leaves)}</text>')
    return "".join(parts)

"""A jump with each of the bridges that would help, as SVG text."""

from __future__ import annotations

from dataclasses import replace
from html import escape

from kit.arrangement.ideal_bridge import mix_words
from kit.arrangement.suggestions import Suggestion
from kit.blanket import Yarn
from kit.colour.difference import pair_steps
from kit.pictures.swatches import (
    FAINT,
    MARGIN,
    MARKS,
    PAPER,
    SURROUND,
    SWATCH,
    in_lines,
    svg_text,
    swatch,
)

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
    if one.ideal:
        lines.append(_sought(one, limit, view))
    body = "".join(
        f'<g transform="translate(0 {k * ROW})">{line}</g>'
        for k, line in enumerate(lines)
    )
    width = 2 * MARGIN + SWATCH + 2 * PITCH + WORDS
    label = f"Bridges between {one.after.name} and {one.before.name}"
    return svg_text(body, width, ROW * len(lines), label)


def _sought(one: Suggestion, limit: float, view: float) -> str:
    assert one.ideal is not None
    label = replace(one.after.label, style="variegated", surface="smooth")
    wanted = replace(one.after, name="to look for", mix=one.ideal.mix, label=label)
    leaves = f"to look for: would leave {one.ideal.step_after:.1f}"
    words = mix_words(one.ideal.mix)
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

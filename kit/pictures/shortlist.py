"""A jump with each of the bridges that would help, as SVG text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from kit.arrangement.ideal_bridge import mix_words
from kit.arrangement.suggestions import Suggestion
from kit.blanket import Yarn
from kit.colour.difference import pair_steps
from kit.pictures.svg import FAINT, PAPER, Style, Svg, drawing, group, rect, words_at
from kit.pictures.swatches import (
    MARGIN,
    MARKS,
    SURROUND,
    SWATCH,
    in_lines,
    side_by_side,
)

# px: one line of the short list, from one swatch to the next, the words beside them
ROW, PITCH, WORDS = 62, SWATCH + 48, 300
WIDE = SWATCH + 2 * PITCH + 2 * MARGIN


def shortlist_svg(
    one: Suggestion, *, limit: float, view: float, n_told: int = 5
) -> Svg:
    """A jump without a bridge, and with each of the best few, as one SVG picture.

    Every line has the swatches side by side with the steps between them (a step over
    `limit` in bold with its mark), the name, where the yarn is from and what it leaves;
    the last line what to look for, where nothing owned will do.
    """
    listed: list[tuple[Sequence[Yarn], str, str]] = []
    listed.append(((one.after, one.before), "without a bridge", f"{one.step:.1f}"))
    for yarn, source, step in one.candidates[:n_told]:
        yarns = one.after, yarn, one.before
        listed.append((yarns, yarn.name, f"from the {source}: leaves {step:.1f}"))
    if one.ideal:
        leaves = f"to look for: would leave {one.ideal.step_after:.1f}"
        yarns = one.after, _ideal(one), one.before
        listed.append((yarns, mix_words(one.ideal.mix), leaves))
    lines = [
        group(_swatches(yarns, limit, view), _beside(name, leaves), x=0, y=k * ROW)
        for k, (yarns, name, leaves) in enumerate(listed)
    ]
    label = f"Bridges between {one.after.name} and {one.before.name}"
    return drawing(WIDE + WORDS, ROW * len(lines), label, lines)


def _ideal(one: Suggestion) -> Yarn:
    """What to look for, as a yarn to be drawn."""
    assert one.ideal is not None
    label = replace(one.after.label, style="variegated", surface="smooth")
    return replace(one.after, name="to look for", mix=one.ideal.mix, label=label)


def _swatches(yarns: Sequence[Yarn], limit: float, view: float) -> list[Svg]:
    """The yarns side by side, the steps between them over the gaps."""
    pitch = 2 * PITCH / (len(yarns) - 1)
    parts = [rect(width=WIDE, height=ROW, fill=SURROUND)]
    parts += side_by_side(yarns, MARGIN, 8, pitch, ROW - 16, gap=pitch - SWATCH)
    mixes = [yarn.mix for yarn in yarns]
    sizes = pair_steps(mixes[:-1], mixes[1:], view=view).tolist()
    for k, size in enumerate(sizes):
        x, loud = MARGIN + (k + 0.5) * pitch + SWATCH / 2, size > limit
        said = f"{MARKS['jump'] if loud else ''}{size:.1f}"
        weight = "bold" if loud else "normal"
        bold: Style = {"fill": PAPER, "font_size": 11, "font_weight": weight}
        parts.append(words_at(said, x, ROW / 2 + 4, text_anchor="middle", **bold))
    return parts


def _beside(name: str, leaves: str) -> list[Svg]:
    """The name in bold and what the yarn leaves, on paper at the right."""
    x, lines = WIDE + 10, in_lines(name, 46, 2)
    bold: Style = {"font_weight": "bold"}
    parts = [words_at(line, x, 20 + 13 * k, **bold) for k, line in enumerate(lines)]
    return [*parts, words_at(leaves, x, 22 + 13 * len(lines), fill=FAINT)]

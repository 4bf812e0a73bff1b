"""One step in words: how large, and what lightness, chroma and hue have in it."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from kit.colour.difference import ciede2000_terms
from kit.colour.spaces import Mix, chroma_hue, mean_lab
from kit.colour.steps import HARDLY, LEAST_CHROMA, Step, change_words

SLIGHT = 0.05  # of the square: a term with less is no change to tell (ours)


@lru_cache(maxsize=50_000)
def term_words(one: Mix, two: Mix) -> str:
    """The three terms of CIEDE2000 between two averages, each with its share.

    The shares are those of the squared terms; the rotation term, which ties chroma and
    hue of blues together, is left out of them.

    >>> from kit.colour.spaces import hex_to_lab, solid
    >>> term_words(solid(hex_to_lab("#88aacc")), solid(hex_to_lab("#223355")))
    'lightness: darker by 47 L* (97 %); chroma: nearly the same; hue: nearly the same'
    """
    lab_1, lab_2 = mean_lab(one), mean_lab(two)
    terms = ciede2000_terms(np.array(lab_1), np.array(lab_2))[:3]
    squares = [float(term) ** 2 for term in terms]
    whole = sum(squares)
    light, vivid, turns = change_words(lab_1, lab_2, [float(term) for term in terms])
    if min(chroma_hue(lab_1)[0], chroma_hue(lab_2)[0]) < LEAST_CHROMA:
        turns = "from or to a neutral"
    return "; ".join(
        f"{name}: {said} ({100 * square / whole:.0f} %)"
        if whole > HARDLY**2 and square >= SLIGHT * whole
        else f"{name}: nearly the same"
        for name, said, square in zip(
            ("lightness", "chroma", "hue"), (light, vivid, turns), squares, strict=True
        )
    )


def step_words(step: Step, one: Mix, two: Mix) -> str:
    """A step whole: its size, near and far where they differ, jump or accent, terms."""
    size = f"step {step.size:.1f}"
    if abs(step.near - step.far) >= 0.05:
        size += f" (in the hand {step.near:.1f}, across the room {step.far:.1f})"
    if step.join:
        size += ", where the run starts anew"
    elif step.accent:
        size += ", an accent, not counted"
    elif step.jump:
        size += f", a jump: {' and '.join(step.reasons)}"
    told = [word for word in ("busier", "calmer") if word in step.cause.split(", ")]
    return "; ".join((size, term_words(one, two), *told))

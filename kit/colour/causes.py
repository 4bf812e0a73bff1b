"""Why the eye sees a step, in words: CIEDE2000's lightness, chroma and hue terms."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from kit.colour.delta_e import ciede2000_terms
from kit.colour.difference import mcdm
from kit.colour.mixes import Mix, mean_lab
from kit.colour.spaces import Lab, chroma_hue

HARDLY = 0.5  # dE00: below this no cause is named (ours)
LEAST_CHROMA = 8.0  # C*: below this a colour has no hue to speak of (our convention)
SLIGHT = 0.05  # of the square: a term with less is no change to tell (ours)
BUSIER = 8.0  # dE00 of spread more or less before we call it busier or calmer (ours)
# Where hue words sit on the CIELAB hue circle, in degrees (our own, rounded).
HUES = {
    "pink": 0,
    "red": 30,
    "orange": 60,
    "yellow": 95,
    "green": 145,
    "teal": 195,
    "blue": 265,
    "purple": 315,
}


def why(before: Sequence[Mix], after: Sequence[Mix]) -> list[str]:
    """Why the eye sees each step, in words, from CIEDE2000's own three terms.

    The terms that make up at least a fifth of the squared difference are named, the
    largest first; then whether the second mix is busier or calmer than the first.

    >>> from kit.colour.mixes import solid
    >>> from kit.colour.spaces import hex_to_lab
    >>> why([solid(hex_to_lab("#88aacc"))], [solid(hex_to_lab("#223355"))])
    ['darker by 47 L*']
    """
    if not before:
        return []
    labs_1, labs_2 = ([mean_lab(mix) for mix in side] for side in (before, after))
    terms = np.stack(ciede2000_terms(np.array(labs_1), np.array(labs_2))[:3], axis=-1)
    named = map(_named, labs_1, labs_2, terms.tolist())
    return [
        ", ".join(filter(None, (*words, busier_word(one, two)))) or "hardly any change"
        for words, one, two in zip(named, before, after, strict=True)
    ]


def _named(lab_1: Lab, lab_2: Lab, terms: Sequence[float]) -> list[str]:
    whole = sum(term**2 for term in terms)
    light, vivid, turns = change_words(lab_1, lab_2, terms)
    named = dict(zip((light, vivid, f"hue {turns}"), terms, strict=True))
    ranked = sorted(named, key=lambda word: -abs(named[word]))
    told = whole > HARDLY**2
    return [word for word in ranked if told and named[word] ** 2 >= whole / 5]


def busier_word(one: Mix, two: Mix) -> str:
    """Whether the second mix is "busier" or "calmer" than the first; "" if neither.

    >>> from kit.colour.spaces import hex_to_lab
    >>> speckled = Mix((hex_to_lab("#ffffff"), hex_to_lab("#000000")), (1, 1))
    >>> busier_word(speckled, Mix(speckled.labs[:1], (1,)))
    'calmer'
    """
    more = mcdm(two) - mcdm(one)
    return ("busier" if more > 0 else "calmer") if abs(more) > BUSIER else ""


def change_words(
    lab_1: Lab, lab_2: Lab, terms: Sequence[float]
) -> tuple[str, str, str]:
    """From one colour to another in lightness, chroma and hue, a few words each.

    `terms`: the three signed terms of CIEDE2000, which say lighter or more vivid.
    """
    way, by = "darker" if terms[0] < 0 else "lighter", abs(lab_2[0] - lab_1[0])
    return (
        f"{way} by {by:.0f} L*" if by >= 0.5 else way,
        "more vivid" if terms[1] > 0 else "greyer",
        f"turns towards {hue_towards(lab_1, lab_2)}",
    )


def hue_towards(lab_1: Lab, lab_2: Lab) -> str:
    """The hue word nearest to the second colour, among those that the turn nears."""
    (_, hue_1), (_, hue_2) = chroma_hue(lab_1), chroma_hue(lab_2)
    nearer = [word for word in HUES if _apart(hue_2, word) < _apart(hue_1, word)]
    return min(nearer or HUES, key=lambda word: _apart(hue_2, word))


def _apart(hue: float, word: str) -> float:
    """Degrees between a hue angle and a hue word."""
    return abs((hue - HUES[word] + 180) % 360 - 180)


@lru_cache(maxsize=50_000)
def term_words(one: Mix, two: Mix) -> str:
    """The three terms of CIEDE2000 between two averages, each with its share.

    The shares are those of the squared terms; the rotation term, which ties chroma and
    hue of blues together, is left out of them.

    >>> from kit.colour.mixes import solid
    >>> from kit.colour.spaces import hex_to_lab
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

"""From the colours of a photo to the colours of things: none, card, paper, target.

Everything acts on linear light. A card or white paper sets brightness and white; a
24-patch target is fitted, as far as leaving patches out shows that the fit holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from kit.colour.spaces import (
    BRADFORD,
    LINEAR_TO_XYZ,
    WHITE_D65,
    XYZ_TO_LINEAR,
    linear_to_lab,
)
from kit.photo.fitting import PLAIN, Fit, best_fit, fitted
from kit.photo.grey_card import (
    TOLD_STOPS,
    TOLD_UNEVEN,
    cards_seen,
    evenness,
    exposure,
    light_at,
    tinted,
)
from kit.photo.image import Photo
from kit.photo.regions import Region
from kit.photo.target import GREYS, Patches, Point, centres, find_patches, true_linear

REFLECTANCE = {"grey card": 0.18, "white paper": 0.85}  # common practice, no source
# Mean dE00 and what 90 % of colours stay within, without a target: from simulations
# under four lights, the table in RESULTS.md, with room for a phone's contrast curve,
# which no card can show; the paper's is a guess.
EXPECTED = {"none": (8.0, 18.0), "grey card": (6.0, 12.0), "white paper": (7.0, 14.0)}
# Colours that are not on the target, and elsewhere in the photo, are less sure than its
# patches left out: found in the same simulations.
UNSEEN, ELSEWHERE = 1.15, (0.8, 2.0)  # times; and beside it for typical, worst90
WHITE = 18  # which patch is white
MOST_CHROMA = 6.0  # of a grey card, by the target (ours)


@dataclass(frozen=True, slots=True)
class Correction:
    """How linear light of a photo becomes linear sRGB under D65.

    kind      none, grey card, white paper, target
    fit       from seen to true light
    light     (across, down, x, y): the light changes by this much (natural logarithm)
              per full-size pixel, and is right at (x, y); () where it is taken as even
    typical   expected mean error, dE00
    worst90   what 90 % of colours stay within, dE00
    said      what to know about it, in sentences
    """

    kind: str
    fit: Fit
    light: tuple[float, ...] = ()
    typical: float = 0.0
    worst90: float = 0.0
    sentences: tuple[str, ...] = ()

    def __repr__(self) -> str:
        errors = f"±{self.typical:.1f} dE00, 90 % within {self.worst90:.1f}"
        return f"Correction({self.kind}; {errors})"


NO_CORRECTION = Correction(
    "none",
    PLAIN,
    (),
    *EXPECTED["none"],
    sentences=(
        "The colours are as the camera guessed them, worst where it did not balance "
        "the light. Lay a grey card beside the balls.",
    ),
)


def corrected(
    correction: Correction, linear: np.ndarray, at: Point | None = None
) -> np.ndarray:
    """Linear light (n, 3) of a photo as linear sRGB under D65, not below 0.

    `at` is where in the photo it was seen (full-size pixels), for uneven light.
    """
    linear = np.asarray(linear, dtype=float)
    if correction.light and at is not None:
        linear = linear / light_at(correction.light, np.array([at]))[0]
    return fitted(correction.fit, linear)


# --- a card, or white paper -----------------------------------------------------------


def from_card(
    photo: Photo,
    regions: Sequence[Region],
    *,
    kind: str = "grey card",
    reflectance: float | None = None,
) -> Correction:
    """Brightness and white from one or more cards of one kind. Raises KitError.

    `reflectance` is the share of light the card returns: 0.18 for a grey card, about
    0.85 for white paper. White is adapted in the sharpened space of Bradford, which in
    the simulation beat gains on R, G and B. With two cards or more, light that changes
    evenly from card to card is taken out.
    """
    reflectance = REFLECTANCE[kind] if reflectance is None else reflectance
    seen, said = cards_seen(photo, regions, kind)
    light, uneven = evenness(regions, seen @ LINEAR_TO_XYZ[1])
    said += uneven + tinted(seen, kind)
    places = np.array([(region.x, region.y) for region in regions])
    even = seen / light_at(light, places)[:, None] if light else seen
    grey = even.mean(axis=0)
    said += exposure(float(grey @ LINEAR_TO_XYZ[1]), reflectance, kind)
    if kind == "white paper":
        said += ("Papers differ, and most are a little bluish; a grey card is better.",)
    terms = tuple(map(tuple, adaptation(grey, reflectance).tolist()))
    return Correction(kind, Fit(1, terms), light, *EXPECTED[kind], said)


def adaptation(grey: np.ndarray, reflectance: float) -> np.ndarray:
    """The matrix that makes a grey, as photographed, neutral and as light as it is."""
    seen = BRADFORD @ LINEAR_TO_XYZ @ grey
    wanted = BRADFORD @ WHITE_D65 * reflectance
    adapt = np.linalg.inv(BRADFORD) @ np.diag(wanted / seen) @ BRADFORD
    return XYZ_TO_LINEAR @ adapt @ LINEAR_TO_XYZ


# --- the 24-patch target --------------------------------------------------------------


def from_target(
    photo: Photo, corners: Sequence[Point], *, cards: Sequence[Region] = ()
) -> Correction:
    """A fit to the 24-patch target between four corners. Raises KitError.

    A contrast curve where there is one, and a root-polynomial in linear light; which
    fit is used, and how good it is, is found on patches left out of it. Overexposed
    patches are not used at all. Two grey cards or more elsewhere take out uneven light.
    """
    patches = find_patches(photo, corners)
    light, said = _light_beside(patches, photo, cards) if cards else ((), ())
    used, seen = ~np.array(patches.clipped), np.array(patches.linear)
    if light:
        seen = seen / light_at(light, centres(patches.corners))[:, None]
    fit, errors = best_fit(seen[used], true_linear()[used], GREYS[used])
    found = Correction(
        "target",
        fit,
        light,
        float(np.hypot(UNSEEN * errors.mean(), ELSEWHERE[0])),
        float(np.hypot(UNSEEN * np.quantile(errors, 0.9), ELSEWHERE[1])),
    )
    if cards and (tint := _tint_by_target(found, photo, cards)):
        plain = from_target(photo, corners)
        return replace(plain, sentences=(*plain.sentences, tint))
    told = _patch_words(patches) + _curve_words(fit) + _across(fit, seen, used)
    return replace(found, sentences=patches.sentences + told + said)


def _light_beside(
    patches: Patches, photo: Photo, cards: Sequence[Region]
) -> tuple[tuple[float, ...], tuple[str, ...]]:
    """The change of light by the cards, right in the middle of the target."""
    seen, clipped = cards_seen(photo, cards, "grey card")
    light, said = evenness(cards, seen @ LINEAR_TO_XYZ[1])
    middle = centres(patches.corners).mean(axis=0).tolist()
    return ((*light[:2], *middle) if light else ()), clipped + said


def _tint_by_target(found: Correction, photo: Photo, cards: Sequence[Region]) -> str:
    """What is said of a card that the target shows not to be grey."""
    seen, _ = cards_seen(photo, cards, "grey card")
    labs = linear_to_lab(corrected(found, seen))
    chroma = float(np.hypot(labs[:, 1], labs[:, 2]).max())
    if chroma <= MOST_CHROMA:
        return ""
    return f"The grey card is not grey by the target: its chroma is {chroma:.0f}."


def _patch_words(patches: Patches) -> tuple[str, ...]:
    sentences: tuple[str, ...] = ()
    if n := sum(patches.clipped):
        are = "patch is" if n == 1 else "patches are"
        sentences += (f"{n} {are} overexposed and left out. Take the photo darker.",)
    if n := sum(patches.uneven):
        are = "patch is" if n == 1 else "patches are"
        sentences += (f"{n} {are} not even in colour: glare, shadow, or a smudge.",)
    white = float(np.array(patches.linear[WHITE]) @ LINEAR_TO_XYZ[1])
    stops = np.log2(white / (true_linear()[WHITE] @ LINEAR_TO_XYZ[1]))
    if stops < -TOLD_STOPS:
        sentences += (
            f"The photo is {-stops:.1f} stops too dark: dark colours are unsure.",
        )
    return sentences


def _curve_words(fit: Fit) -> tuple[str, ...]:
    if not fit.curve:
        return ()
    return ("The camera's contrast curve was read off the greys and undone.",)


def _across(fit: Fit, seen: np.ndarray, used: np.ndarray) -> tuple[str, ...]:
    """Whether the light changes across the target itself."""
    light = np.maximum(fitted(fit, seen), 1e-4) @ LINEAR_TO_XYZ[1]
    level = np.log(light / (true_linear() @ LINEAR_TO_XYZ[1]))
    rows = np.array([(k % 6 / 5, k // 6 / 3, 1) for k in range(24)])
    slopes = np.linalg.lstsq(rows[used], level[used], rcond=None)[0]
    if (apart := float(np.abs(slopes[:2]).max())) < TOLD_UNEVEN:
        return ()
    return (f"The light changes by {apart:.0%} across the target; even it out.",)

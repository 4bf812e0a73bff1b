"""Grey cards and white paper in a photo: their light, and whether they can be used."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from kit.colour.spaces import LINEAR_TO_XYZ
from kit.errors import Fault, KitError
from kit.photo.image import Photo
from kit.photo.regions import Region, cutting, pixels_in

# What follows are our own limits.
TOLD_CLIPPED, MOST_CLIPPED = 0.02, 0.5  # share of a card's pixels
TOLD_STOPS = 1.0  # exposure off, in halvings or doublings of light
LEAST_UNEVEN, TOLD_UNEVEN = 0.03, 0.15  # light from place to place
MOST_SPREAD = 0.3  # between the nine parts of a card, of its light
LEAST_LIGHT = 0.002  # in a channel of a card
MOST_TINTED = 0.45, 0.9  # log2 off the colours of lamps and daylight: told, refused
MOST_APART = 0.2  # log2 between the colours of two cards
TINT_OF = {"grey card": "grey", "white paper": "white"}  # of one that is sound


def cards_seen(
    photo: Photo, regions: Sequence[Region], kind: str
) -> tuple[np.ndarray, tuple[str, ...]]:
    """Median linear light of each card (n, 3), and what is said of clipping."""
    if not regions:
        raise KitError(Fault("no_card", says=f"No {kind} is marked on the photo"))
    seen: list[np.ndarray] = []
    said: tuple[str, ...] = ()
    for region in regions:
        pixels, clipped = pixels_in(photo, region)
        _refuse_card(pixels, clipped, kind)
        _refuse_uneven(photo, region, kind)
        if clipped > TOLD_CLIPPED:
            said = (f"The {kind} is overexposed in part ({clipped:.0%} of it).",)
        seen.append(np.median(pixels, axis=0))
    return np.array(seen, dtype=float), said


def _refuse_card(pixels: np.ndarray, clipped: float, kind: str) -> None:
    if clipped > MOST_CLIPPED:
        says = f"The {kind} is overexposed: {clipped:.0%} of it is as bright as can be"
        raise KitError(Fault("clipped", says=says, advice="Take the photo darker."))
    if np.median(pixels, axis=0).min() < LEAST_LIGHT:
        says = f"The {kind} is too dark or too coloured in this photo to measure"
        raise KitError(Fault("too_dark", says=says, advice="Use more, whiter light."))


def _refuse_uneven(photo: Photo, region: Region, kind: str) -> None:
    """Its nine parts are compared, each a mean, so that noise does not count."""
    piece = cutting(photo, region)
    part = np.clip(np.floor(1.5 * (piece.across[piece.inside] + 1)), 0, 2) @ (1, 3)
    part = part.astype(int)
    light = np.bincount(part, piece.linear[piece.inside] @ LINEAR_TO_XYZ[1])
    n = np.bincount(part)
    means = light[n > 0] / n[n > 0]
    if np.ptp(means) > MOST_SPREAD * means.mean() + 0.01:
        says = f"The region marked as {kind} is not one even surface"
        advice = "Mark the inside of the card only, without shadow or glare."
        raise KitError(Fault("not_even", says=says, advice=advice))


def tinted(seen: np.ndarray, kind: str) -> tuple[str, ...]:
    """Whether a card looks tinted as no lamp or sky would make it, or cards differ.

    Lamps and daylight run from orange to blue; greens and pinks are off that line. A
    beige or pale blue card cannot be told from its light.
    """
    red, green, blue = np.log2(seen).T
    warm, leaf = red - blue, green - (red + blue) / 2
    off = np.maximum(abs(leaf - 0.15 * warm), abs(warm - 1.2) - 2.2).max()
    if off > MOST_TINTED[1]:
        says = f"What is marked as {kind} is not {TINT_OF[kind]}"
        advice = "Mark a neutral card, or use no correction."
        raise KitError(Fault("not_grey", says=says, advice=advice))
    if off > MOST_TINTED[0]:
        return (f"The {kind} looks tinted: is it {TINT_OF[kind]}?",)
    if max(np.ptp(warm), np.ptp(leaf)) > MOST_APART:
        return (f"The {kind}s differ in colour: two kinds of light, or of card.",)
    return ()


def exposure(light: float, reflectance: float, kind: str) -> tuple[str, ...]:
    """What is said where a card is far darker or brighter than it should be."""
    stops = float(np.log2(light / reflectance))
    if abs(stops) < TOLD_STOPS:
        return ()
    word = "bright" if stops > 0 else "dark"
    return (
        f"The photo is {abs(stops):.1f} stops too {word} by its {kind}; mended, but a "
        "photo better exposed would be more exact.",
    )


def evenness(
    regions: Sequence[Region], light: np.ndarray
) -> tuple[tuple[float, ...], tuple[str, ...]]:
    """How the light changes from card to card, and what is said of it."""
    if len(regions) < 2:
        return (), ()
    if (apart := float(light.max() / light.min() - 1)) < LEAST_UNEVEN:
        return (), ()
    places = np.array([(region.x, region.y) for region in regions])
    middle, level = places.mean(axis=0), np.log(light)
    # Cards in a row say nothing of the light across the row: no change is taken there.
    slopes = np.linalg.lstsq(places - middle, level - level.mean(), rcond=0.1)[0]
    said: tuple[str, ...] = ()
    if apart > TOLD_UNEVEN:
        said = (f"The light differs by {apart:.0%} from card to card; evened out.",)
    return (*slopes.tolist(), *middle.tolist()), said


def light_at(light: Sequence[float], places: np.ndarray) -> np.ndarray:
    """How much more light falls on places (n, 2) than where it is right."""
    across, down, x, y = light
    return np.exp((places[:, 0] - x) * across + (places[:, 1] - y) * down)

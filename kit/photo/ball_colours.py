"""The face of a ball: which colours a region of a photo shows, on crowns and between.

Lightness is looked at as ln(L* + 16), colours in the units of `palette`. The settings
are ours, made on drawn yarn (tests/wound.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from kit.colour.spaces import LINEAR_TO_XYZ
from kit.photo.highlights import FLAT, crowns, strand_width, unevenness, within
from kit.photo.palette import (
    SHADE_UNIT,
    groups,
    linear_to_lab16,
    lit,
    missing_colour,
    nearest,
    shaded_off,
    to_units,
    without_blends,
    without_halves,
    without_shadows,
)
from kit.photo.regions import LEAST_PIXELS, Cutting

MOST_ACROSS = 320  # pixels: a larger region is scaled down
LEAST_ACROSS = 120  # pixels: no farther than this for strands that are wide enough
STRAND = 6  # pixels: a strand need not be wider
LIT_PART = 0.74  # of a colour's crowns, this share is darker than the colour
SPECKS = 0.25  # with less of its crowns on even ground, a colour lies in specks
PURE, LIT_PURE = 0.3, 0.75  # of a speck's pixels these count, and as LIT_PART for them
ALONG = 0.3  # strand widths: how far a crown's light is averaged
EVEN = 0.5  # units in half a strand's width: less, and a pixel is on even ground
STAYS = 0.6  # units squared: what it costs a pixel to leave the colour of its crown
N_COUNTED = 12_000  # pixels that shares are counted on
SHADED = 0.1  # ln(L* + 16): farther off its colour, a crown tells nothing of the fall


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A region scaled down: (L* + 16, a, b) and linear light (h, w, 3), masks (h, w).

    across   each pixel's place from the region's centre, -1 to 1: (x, y)
    crown    where the yarn is looked at; all of it where no strands are seen
    strand   a strand's width in px
    part     this share of a colour's crowns is darker than the colour
    """

    lab16: np.ndarray
    linear: np.ndarray
    inside: np.ndarray
    across: np.ndarray
    crown: np.ndarray
    strand: float
    part: float


@dataclass(frozen=True, slots=True, eq=False)
class BallColours:
    """Colours found, (L* + 16, a, b) as they are in the middle of the ball (k, 3).

    own        the colour of each counted pixel (n,), and its place (n, 2)
    unsteady   how much the light of each colour's pixels varies, ln(L* + 16) (k,)
    on_crown   which were found on crowns, not only between them (k,)
    """

    lab16: np.ndarray
    own: np.ndarray
    places: np.ndarray
    unsteady: np.ndarray
    on_crown: np.ndarray


def face_of(piece: Cutting) -> Face:
    """A region to look at, without what is over-exposed.

    It is scaled down to at most 320 px across, and to strands of about 6 px.
    """
    whole = (piece.inside & ~piece.clipped)[..., None].astype(np.float32)
    planes = piece.linear, piece.across, whole
    by = math.ceil(max(piece.inside.shape) / MOST_ACROSS)
    linear, across, whole = (_scaled(plane, by) for plane in planes)
    inside = whole[..., 0] > 0.99
    if not inside.any():
        return Face(linear_to_lab16(linear), linear, inside, across, inside, 1.0, 0.5)
    strand = strand_width(_light(linear), inside)
    by = min(int(strand // STRAND), max(inside.shape) // LEAST_ACROSS)
    if by > 1:
        linear, across, whole = (_scaled(p, by) for p in (linear, across, whole))
        inside, strand = whole[..., 0] > 0.99, strand / by
    light = _light(linear)
    crown = crowns(light, inside, strand)
    few = crown.sum() < max(LEAST_PIXELS, 0.02 * inside.sum())
    if few or unevenness(light, inside, strand) < FLAT:
        return Face(
            linear_to_lab16(linear), linear, inside, across, inside, strand, 0.5
        )
    return Face(
        linear_to_lab16(linear), linear, inside, across, crown, strand, LIT_PART
    )


def _light(linear: np.ndarray) -> np.ndarray:
    """ln(L* + 16); L* + 16 is 116 times the cube root of luminance (CIE 15)."""
    luminance = linear @ LINEAR_TO_XYZ[1].astype(np.float32)
    return np.log(116 * np.cbrt(np.maximum(luminance, 1e-4)))


def _scaled(plane: np.ndarray, by: int) -> np.ndarray:
    """The mean of every `by` x `by` pixels of (h, w, n)."""
    if by == 1:
        return plane
    height, width = plane.shape[0] // by, plane.shape[1] // by
    squares = plane[: height * by, : width * by].reshape(height, by, width, by, -1)
    return squares.mean(axis=(1, 3))


def face_colours(face: Face, rng: np.random.Generator) -> BallColours:
    """The colours on the crowns, then those that only show between."""
    along = linear_to_lab16(
        within(face.linear, face.crown, max(ALONG * face.strand, 0.5))
    )
    uneven = _uneven(to_units(along), face.strand)[face.crown]
    crown16 = along[face.crown]
    centres, fall = _on_crowns(face, crown16, uneven, rng)
    lab16 = face.lab16 / np.exp(fall)[..., None]
    some = rng.permutation(np.flatnonzero(face.inside))[:N_COUNTED]
    pixels, n_crown = lab16.reshape(-1, 3)[some], len(centres)
    grain = _grain(face)[some]
    for _ in range(2):
        new = missing_colour(pixels, centres, grain, rng)
        if new is not None:
            centres = np.vstack([centres, new])
    units = to_units(crown16 / np.exp(fall[face.crown])[:, None])
    on_crown = nearest(units, centres[:n_crown])
    own = _owners(face, pixels, some, centres, on_crown)
    steady = uneven <= np.median(uneven)
    lies_in_specks = _even_share(on_crown, uneven, len(centres)) < SPECKS
    found, unsteady = np.empty((len(centres), 3)), np.empty(len(centres))
    for k in range(len(centres)):
        mine, part = lab16[face.crown][steady & (on_crown == k)], face.part
        if lies_in_specks[k] or len(mine) < 20:
            mine, part = _purest(pixels, own, centres, k), LIT_PURE
        found[k], unsteady[k] = lit(mine, part), np.log(mine[:, 0]).std()
    places = face.across.reshape(-1, 2)[some]
    return BallColours(found, own, places, unsteady, np.arange(len(centres)) < n_crown)


def _even_share(on_crown: np.ndarray, uneven: np.ndarray, n: int) -> np.ndarray:
    """Of each colour's crowns, the share on even ground (n,); 0 where it has none."""
    even = np.bincount(on_crown, uneven < EVEN, n)
    return even / np.maximum(np.bincount(on_crown, minlength=n), 1)


def _purest(
    pixels: np.ndarray, own: np.ndarray, centres: np.ndarray, k: int
) -> np.ndarray:
    """The pixels of a colour that look least like any other: the middle of its specks.

    At a speck's edge the lens mixes it with what lies beside it.
    """
    mine = pixels[own == k]
    if len(mine) < 5 or len(centres) < 2:
        return mine if len(mine) >= 5 else pixels
    apart = shaded_off(mine, np.delete(centres, k, 0)).min(axis=1)
    return mine[apart >= np.quantile(apart, 1 - PURE)]


def _grain(face: Face) -> np.ndarray:
    """The noise in hue and chroma at each pixel, in units, by its lightness (h * w,).

    The median difference from the pixel to the right, over pixels of like lightness.
    """
    chroma = to_units(face.lab16)[..., 1:]
    steps = np.zeros(face.inside.shape)
    steps[:, :-1] = np.hypot(*np.moveaxis(np.diff(chroma, axis=1), -1, 0)) / np.sqrt(2)
    light, step = face.lab16[..., 0].ravel(), steps.ravel()
    inside = face.inside.ravel()
    limits = np.quantile(light[inside], np.linspace(0, 1, 9)[1:-1])
    bins = np.searchsorted(limits, light)
    usual = [np.median(step[inside & (bins == k)]) for k in np.unique(bins[inside])]
    return np.interp(bins, np.unique(bins[inside]), usual)


def _uneven(units: np.ndarray, strand: float) -> np.ndarray:
    """How much the colour changes round each pixel, in units (h, w)."""
    down, across = np.gradient(units, axis=(0, 1))
    return strand / 2 * np.sqrt((down**2 + across**2).sum(axis=-1))


def _on_crowns(
    face: Face, crown16: np.ndarray, uneven: np.ndarray, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """The colours of crowns (k, 3) in units, and the fall of light (h, w).

    The fall is how much darker, in ln(L* + 16), the ball's shape makes a place than
    its middle. Colours and fall are found in turns.
    """
    x, y = face.across[..., 0], face.across[..., 1]
    shape = np.stack([x, y, x * x, y * y, x * y], axis=-1)
    rows = shape[face.crown]
    bent = np.array([0.0] * rows.shape[1])
    for turn in range(3):
        units = to_units(crown16 / np.exp(rows @ bent)[:, None])
        centres = without_blends(groups(units, rng), units, uneven < EVEN)
        if turn < 2:
            own = nearest(units, centres)
            off = (units - centres[own])[:, 0] * SHADE_UNIT
            good = np.abs(off) < SHADED
            bent = _bent(rows[good], (off + rows @ bent)[good], own[good])
    centres = without_halves(without_shadows(centres, units), units)
    return centres, shape @ bent


def _bent(rows: np.ndarray, light: np.ndarray, own: np.ndarray) -> np.ndarray:
    """Least squares of light on the five terms of shape, each colour with its level."""
    n = np.maximum(np.bincount(own), 1)
    level = np.bincount(own, light) / n
    means = np.stack([np.bincount(own, row) / n for row in rows.T], axis=1)
    rows, light = rows - means[own], light - level[own]
    ridge = np.eye(rows.shape[1]) * max(1e-3 * len(rows), 1e-6)
    return np.linalg.solve(rows.T @ rows + ridge, rows.T @ light)


def _owners(
    face: Face,
    pixels: np.ndarray,
    some: np.ndarray,
    centres: np.ndarray,
    on_crown: np.ndarray,
) -> np.ndarray:
    """Which colour each pixel has, in whatever shade: its nearest crown's, if it can.

    Shadows of a light yarn look like a darker one; the nearest crown decides.
    """
    from scipy.ndimage import distance_transform_edt  # late: slow to import

    owner = np.zeros(face.crown.shape, dtype=np.int64)
    owner[face.crown] = on_crown
    nearest_crown = distance_transform_edt(
        ~face.crown, return_distances=False, return_indices=True
    )
    beside = owner[tuple(nearest_crown)].ravel()[some]
    cost = np.full((len(some), len(centres)), STAYS)
    cost[np.arange(len(some)), beside] = 0
    cost[:, on_crown.max() + 1 :] = 0
    return (cost + shaded_off(pixels, centres)).argmin(axis=1)

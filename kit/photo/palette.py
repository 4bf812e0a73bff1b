"""A cloud of pixels as a few colours with shares, chosen by the data.

Pixels are compared in *units*: lightness as ln(L* + 16), so that shading is a shift,
and CIELAB's a, b with large chroma drawn in (as CIE94's S_C does). One unit is how far
two groups must lie apart to be two colours. The settings are ours, made on drawn yarn.
"""

from __future__ import annotations

import numpy as np

from kit.colour.spaces import lab_to_linear, linear_to_lab

SHADE_UNIT = 0.0735  # ln(L* + 16): 5.6 L* at L* 60
CHROMA_UNIT = 4.5  # CIELAB, near the grey axis
DRAW_IN = 0.045  # CIE94: S_C = 1 + 0.045 C*
N_SEEDS = 16  # groups to begin with
N_LEARNING = 2000  # pixels that groups are found on
LEAST_SHARE = 0.02  # of pixels, for a colour
MOST_COLOURS = 6
MIXED_SHARE = 0.8  # a blend of two colours is smaller than this part of either
MIXED_FLAT = 0.3  # and has less than this of its pixels on even ground
SHADOW_SHARE = 0.3  # a shaded part of a colour is smaller than this part of it
SHADOW_UNITS = 2.2  # and at most so much darker
HALF_UNITS = 1.6  # of light: nearer ones of one hue may be one colour
DIP = 0.88  # of pixels between two colours, against those at either


def to_units(lab16: np.ndarray) -> np.ndarray:
    """(L* + 16, a, b) to units, shape (..., 3)."""
    chroma = np.maximum(np.hypot(lab16[..., 1], lab16[..., 2]), 1e-6)
    scale = np.log1p(DRAW_IN * chroma) / (DRAW_IN * chroma * CHROMA_UNIT)
    light = np.log(np.maximum(lab16[..., 0], 1.0)) / SHADE_UNIT
    return np.stack([light, lab16[..., 1] * scale, lab16[..., 2] * scale], axis=-1)


def from_units(units: np.ndarray) -> np.ndarray:
    """Units to (L* + 16, a, b). The inverse of `to_units`."""
    drawn = np.maximum(np.hypot(units[..., 1], units[..., 2]) * CHROMA_UNIT, 1e-6)
    scale = np.expm1(DRAW_IN * drawn) / (DRAW_IN * drawn) * CHROMA_UNIT
    light = np.exp(units[..., 0] * SHADE_UNIT)
    return np.stack([light, units[..., 1] * scale, units[..., 2] * scale], axis=-1)


def linear_to_lab16(linear: np.ndarray) -> np.ndarray:
    """Linear sRGB to (L* + 16, a, b): shading multiplies all three by one factor."""
    return linear_to_lab(np.maximum(linear, 1e-5)) + np.array([16.0, 0, 0])


def lab16_to_linear(lab16: np.ndarray) -> np.ndarray:
    """(L* + 16, a, b) to linear sRGB."""
    return lab_to_linear(lab16 - np.array([16.0, 0, 0]))


def nearest(units: np.ndarray, centres: np.ndarray) -> np.ndarray:
    """Which centre lies nearest to each pixel, (n,)."""
    off = -2 * units @ centres.T + (centres**2).sum(axis=1)
    return off.argmin(axis=1)


def groups(
    units: np.ndarray, rng: np.random.Generator, *, n_seeds: int = N_SEEDS
) -> np.ndarray:
    """Centres (k, 3) of the groups that pixels (n, 3) fall into.

    k-means with more centres than are wanted; then centres nearer than one unit become
    one, the nearest first.
    """
    some = units[rng.choice(len(units), min(len(units), N_LEARNING), replace=False)]
    centres = _spread_out(some, n_seeds, rng)
    for _ in range(10):
        own = nearest(some, centres)
        sizes = np.bincount(own, minlength=len(centres))
        sums = [np.bincount(own, some[:, c], len(centres)) for c in range(3)]
        filled = sizes > 0
        centres = (np.stack(sums, axis=1)[filled].T / sizes[filled]).T
    sizes = np.bincount(nearest(some, centres), minlength=len(centres))
    return _joined(centres, sizes)


def _spread_out(units: np.ndarray, n: int, rng: np.random.Generator) -> np.ndarray:
    """Pixels to begin with, far ones more likely (Arthur & Vassilvitskii 2007)."""
    centres = units[[rng.integers(len(units))]]
    off = _squared(units - centres[0])
    while len(centres) < n and off.sum() > 1e-9:
        centres = np.vstack([centres, units[rng.choice(len(off), p=off / off.sum())]])
        off = np.minimum(off, _squared(units - centres[-1]))
    return centres


def _squared(off: np.ndarray) -> np.ndarray:
    return np.einsum("ij,ij->i", off, off)


def _joined(centres: np.ndarray, sizes: np.ndarray) -> np.ndarray:
    centres, sizes = centres.copy(), sizes.astype(float)
    while len(centres) > 1:
        apart = np.linalg.norm(centres[:, None] - centres[None], axis=-1)
        np.fill_diagonal(apart, np.inf)
        i, j = np.unravel_index(apart.argmin(), apart.shape)
        if apart[i, j] > 1:
            break
        both = sizes[[i, j]]
        centres[i] = both @ centres[[i, j]] / max(both.sum(), 1)
        sizes[i] += sizes[j]
        centres, sizes = np.delete(centres, j, 0), np.delete(sizes, j)
    return centres


# --- groups that are no colours of their own ------------------------------------------


def without_blends(
    centres: np.ndarray, units: np.ndarray, even: np.ndarray
) -> np.ndarray:
    """Centres without the small groups, and without blurred edges between two colours.

    `even` (n,): which pixels have their own colour all round. A blend is a small group
    that two others make by mixing light, and that lies on edges.
    """
    while len(centres) > 1:
        own = nearest(units, centres)
        sizes = np.bincount(own, minlength=len(centres))
        if sizes.min() < LEAST_SHARE * len(units):
            centres = np.delete(centres, sizes.argmin(), 0)
            continue
        evenness = np.bincount(own, even, len(centres)) / sizes
        blends = [
            k
            for k in np.argsort(sizes)
            if evenness[k] <= MIXED_FLAT
            and is_blend(centres[k], centres[sizes * MIXED_SHARE > sizes[k]])
        ]
        if not blends:
            break
        centres = np.delete(centres, blends[0], 0)
    return centres


def is_blend(colour: np.ndarray, others: np.ndarray, *, shaded: bool = False) -> bool:
    """Whether two of the others mix (in linear light) to within a unit of a colour.

    With `shaded`, a colour that is darker than the mixture may be one in shadow.
    """
    if len(others) < 2:
        return False
    one, two = np.triu_indices(len(others), 1)
    part = np.linspace(0.12, 0.88, 9)[:, None, None]
    linear = lab16_to_linear(from_units(others))
    mixed = to_units(linear_to_lab16(linear[one] * part + linear[two] * (1 - part)))
    off = mixed - colour
    lighter = 0.25 if shaded else 0.6
    off[..., 0] *= np.where(off[..., 0] > 0, lighter, 1.0 if shaded else 0.6)
    return bool((off**2).sum(axis=-1).min() < 1)


def without_shadows(centres: np.ndarray, units: np.ndarray) -> np.ndarray:
    """Centres without those that are a small, darker part of a larger colour."""
    while len(centres) > 1:
        sizes = np.bincount(nearest(units, centres), minlength=len(centres))
        up = centres[None, :, 0] - centres[:, None, 0]
        aside = centres[None, :, 1:] - centres[:, None, 1:]
        darker = (up > 0) & (up < SHADOW_UNITS) & (np.hypot(*aside.T).T < 0.7)
        small = sizes[:, None] < SHADOW_SHARE * sizes[None]
        shadows = [k for k in np.argsort(sizes) if (darker & small)[k].any()]
        if not shadows:
            break
        centres = np.delete(centres, shadows[0], 0)
    return centres


def without_halves(centres: np.ndarray, units: np.ndarray) -> np.ndarray:
    """Centres with two of one hue made one where no dip of pixels lies between them.

    Shading spreads a colour's light; two shades of a tonal yarn leave a dip.
    """
    while len(centres) > 1:
        up = centres[:, None, 0] - centres[None, :, 0]
        aside = np.linalg.norm(centres[:, None, 1:] - centres[None, :, 1:], axis=-1)
        pairs = np.argwhere((up > 0) & (up < HALF_UNITS) & (aside < 0.7))
        own = nearest(units, centres)
        halves = [(i, j) for i, j in pairs if not _dip(units, own, centres, i, j)]
        if not halves:
            break
        i, j = min(halves, key=lambda pair: up[pair[0], pair[1]])
        sizes = np.bincount(own, minlength=len(centres))[[i, j]]
        centres[i] = sizes @ centres[[i, j]] / max(int(sizes.sum()), 1)
        centres = np.delete(centres, j, 0)
    return centres


def _dip(
    units: np.ndarray, own: np.ndarray, centres: np.ndarray, i: int, j: int
) -> bool:
    """Whether fewer pixels lie between two centres than at either, along their line."""
    line = centres[i] - centres[j]
    along = (units[(own == i) | (own == j)] - centres[j]) @ line / (line @ line)
    counts = np.histogram(along, 24, (-0.5, 1.5))[0]
    counts = np.convolve(counts, (1, 2, 3, 2, 1), "same")
    ends = min(counts[3:9].max(), counts[15:21].max())
    return bool(counts[8:16].min() < DIP * ends)


# --- pixels in any light --------------------------------------------------------------

DEEPEST = 0.52  # of L* + 16: how far shadow takes a colour down
UNEXPLAINED = 1.3  # units: farther off, a pixel is of a colour not found yet
BY_GRAIN = 2.5  # times the median noise: so much of it explains a pixel too
LIGHT_COUNTS = 0.45  # where groups are sought among pixels in all shades
CROWN_PART = 0.75  # of a group's pixels in all shades, this share is darker than it


def shaded_off(lab16: np.ndarray, centres: np.ndarray) -> np.ndarray:
    """How far pixels (n, 3) lie from colours in any shade of theirs, units squared.

    Shape (n, k). A pixel may be darker than the colour down to `DEEPEST`, not lighter.
    """
    crown = from_units(centres)
    down = lab16[:, :1] / crown[:, 0]
    shade = crown * np.minimum(down, 1.02)[..., None]
    off = to_units(lab16)[:, None, 1:] - to_units(shade)[..., 1:]
    lighter = np.maximum(np.log(down) / SHADE_UNIT - 0.6, 0)
    darker = np.maximum(np.log(DEEPEST / down) / SHADE_UNIT, 0)
    return (off**2).sum(axis=-1) + lighter**2 + darker**2


def missing_colour(
    lab16: np.ndarray, centres: np.ndarray, grain: np.ndarray, rng: np.random.Generator
) -> np.ndarray | None:
    """A colour (3,) that the centres and their blends and shades do not explain.

    `grain` (n,): the camera's noise in hue and chroma at each pixel, in units.
    """
    explained = UNEXPLAINED**2 + (BY_GRAIN * grain) ** 2
    odd = lab16[shaded_off(lab16, centres).min(axis=1) > explained]
    if len(odd) < LEAST_SHARE * len(lab16):
        return None
    scale = np.array([LIGHT_COUNTS, 1, 1])
    units = to_units(odd) * scale
    found = groups(units, rng, n_seeds=6)
    own = nearest(units, found)
    sizes = np.bincount(own, minlength=len(found))
    for k in np.argsort(-sizes):
        if sizes[k] < LEAST_SHARE * len(lab16):
            break
        colour = to_units(lit(odd[own == k], CROWN_PART))
        if not is_blend(colour, centres, shaded=True):
            return colour
    return None


def lit(lab16: np.ndarray, part: float) -> np.ndarray:
    """The lit colour (3,) of pixels of one colour in several shades.

    The lightness below which `part` of them lie; hue and chroma from the lighter half.
    """
    light = np.quantile(lab16[:, 0], part)
    lighter = lab16[lab16[:, 0] >= np.median(lab16[:, 0])]
    return light * np.median(lighter / lighter[:, :1], axis=0)

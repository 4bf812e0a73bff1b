"""Yarn as a camera sees it: strands wound in bands round a ball, of known colours.

Strand crowns in the middle of the ball have a shading of 1. Between strands it is dark,
and towards the ball's edge the light falls off. Our own drawing, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter

from kit.colour.delta_e import ciede2000_table
from kit.colour.spaces import lab_to_linear
from kit.photo import Photo, Region
from kit.photo.image import linear_to_srgb255


@dataclass(frozen=True)
class Look:
    """How a yarn is dyed and lit. Lengths in strand widths unless said otherwise.

    style     solid, tonal, variegated, speckled, marled (a colour a strand)
    strand    a strand's width in pixels
    runs      how long a colour runs along the strand, or how long a speck is
    soft      how far two colours run into each other
    depth     how dark it is between strands: 0 not at all, 1 black
    shine     how much light a crown mirrors, in shares of white
    aslant    tangent of the light's slant: 0 from above
    noise     standard deviation in linear light at 18 % grey
    blur      the lens's, in pixels
    """

    style: str = "solid"
    strand: float = 9.0
    runs: float = 25.0
    soft: float = 0.5
    depth: float = 0.75
    shine: float = 0.0
    aslant: float = 0.2
    noise: float = 0.008
    blur: float = 0.7


def ball(labs, shares, look, *, size=320, ground=(70, 0, 4), seed=0):
    """(Photo, Region of the ball's inner part, shares that can be seen in it)."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[:size, :size] - (size - 1) / 2
    radius = 0.46 * size
    held, crown, dark = _wind(x, y, radius, np.asarray(shares), look, rng)
    albedo = held @ np.clip(lab_to_linear(np.array(labs)), 0, 1)
    shade = dark * _round(x, y, radius, look.aslant, rng)
    linear = albedo * shade[..., None] + look.shine * (crown**20 * shade)[..., None]
    out = np.hypot(x, y) > radius
    far = np.hypot(x - 0.03 * size, y - 0.04 * size) / radius
    under = 1 - 0.5 / (1 + np.exp((far - 1.05) / 0.03))
    linear[out] = (lab_to_linear(np.array(ground)) * under[..., None])[out]
    linear = gaussian_filter(linear, (look.blur, look.blur, 0))
    grain = look.noise * np.sqrt(np.maximum(linear, 0) / 0.18 + 0.02)
    linear = linear + grain * rng.standard_normal(linear.shape)
    inside = np.hypot(x, y) < 0.85 * radius
    seen = held[inside].mean(axis=0)
    middle, across = size / 2, 2 * 0.85 * radius
    region = Region("", "circle", middle, middle, across, across)
    return Photo(linear_to_srgb255(linear), (size, size)), region, seen


def _wind(x, y, radius, shares, look, rng):
    """How much of each colour a pixel holds, how near a crown it is, and its shade."""
    height, n = x.shape[0], len(shares)
    held = np.zeros((*x.shape, n))
    crown, dark = np.zeros(x.shape), np.ones(x.shape)
    for k in range(14):
        way = rng.uniform(0, np.pi)
        u = (x * np.cos(way) + y * np.sin(way)) / look.strand
        v = (y * np.cos(way) - x * np.sin(way)) / look.strand
        wide = height if k == 0 else rng.uniform(5, 14) * look.strand
        at = 0 if k == 0 else rng.uniform(-0.9, 0.9) * radius
        inside = np.abs(u * look.strand - at) < wide / 2
        first, last = int(np.floor(u.min())), int(np.floor(u.max()))
        reach, u, v = (v.min(), v.max()), u[inside], v[inside]
        edge = np.clip((wide / 2 - np.abs(u * look.strand - at)) / look.strand, 0, 1)
        strand = np.floor(u).astype(int)
        aside = 2 * (u - strand) - 1
        arch = np.sqrt(np.clip(1 - aside**2, 0, 1))
        ply = 1 - 0.08 * (0.5 + 0.5 * np.cos(2 * np.pi * (v / 1.6 + aside / 2)))
        gap = 1 - look.depth * (1 - arch)
        held[inside] = _dyed(
            strand - first, last - first + 1, v, reach, shares, look, rng
        )
        crown[inside] = arch * ply
        dark[inside] = gap * ply * (0.55 + 0.45 * edge)
    return held, crown, dark


def _dyed(strand, n_strands, v, reach, shares, look, rng):
    """How much of each colour, by strand (from 0) and place along it, which lies
    between the two of `reach`."""
    n, strands = len(shares), np.arange(n_strands)
    if n == 1 or look.style == "solid":
        return np.eye(n)[np.zeros(strand.shape, int)]
    if look.style == "marled":
        return np.eye(n)[rng.choice(n, n_strands, p=shares)][strand]
    if look.style == "speckled":
        return _specked(strand, n_strands, v, reach, shares, look, rng)
    lengths = rng.uniform(0.6, 1.4, (40, n))
    lengths *= shares * 40 / lengths.sum(axis=0)
    order = np.argsort(rng.random((40, n)), axis=1)
    ends = np.cumsum(np.take_along_axis(lengths, order, 1).ravel()) * n * look.runs
    drift = rng.uniform(-0.5, 0.5) if rng.random() < 0.5 else None
    starts = rng.uniform(0, ends[-1], n_strands)
    if drift is not None:
        starts = starts[0] + drift * strands * look.runs / 4
    along = v + starts[strand]
    held = np.zeros((*v.shape, n))
    for shift in np.linspace(-look.soft, look.soft, 7) if look.soft else (0,):
        place = np.searchsorted(ends, (along + shift) % ends[-1])
        held += np.eye(n)[order.ravel()[np.minimum(place, len(ends) - 1)]]
    return held / held.sum(axis=-1, keepdims=True)


def _specked(strand, n_strands, v, reach, shares, look, rng):
    """The largest colour with specks of the others along each strand."""
    n, shift = len(shares), 1000 * rng.random()
    first, last = (int(np.floor(end / look.runs + shift)) for end in reach)
    cell = np.floor(v / look.runs + shift).astype(int) - first
    dealt = rng.choice(n, (n_strands, last - first + 1), p=shares)
    return np.eye(n)[dealt[strand, cell]]


def _round(x, y, radius, aslant, rng):
    """How much light a ball's surface gets; 1 in its middle."""
    up = np.sqrt(np.clip(1 - (x**2 + y**2) / radius**2, 0, 1))
    way = rng.uniform(0, 2 * np.pi)
    leaning = aslant * (x * np.cos(way) + y * np.sin(way)) / radius
    return 0.4 + 0.6 * np.clip(up + leaning, 0, None)


def table(places, *, size=(1200, 900), ground=(72, 1, 6), look=None, seed=0, extras=()):
    """A Photo of balls on a table; `places` are (x, y, diameter, labs, shares).

    `extras` are (x, y, width, height, tilt in degrees, colours): flat cards, several
    colours make a chart of so many columns.
    """
    rng = np.random.default_rng(seed)
    width, height = size
    y, x = np.mgrid[:height, :width] + 0.5
    light = 1 + 0.25 * (x / width - 0.5) - 0.2 * (y / height - 0.5) ** 2
    grain = gaussian_filter(rng.standard_normal(x.shape), (1, 8))
    linear = (
        lab_to_linear(np.array(ground)) * (1 + 0.03 * grain / grain.std())[..., None]
    )
    for cx, cy, wide, high, tilt, colours in extras:
        u = (x - cx) * np.cos(np.radians(tilt)) + (y - cy) * np.sin(np.radians(tilt))
        v = (y - cy) * np.cos(np.radians(tilt)) - (x - cx) * np.sin(np.radians(tilt))
        inside = (np.abs(u) < wide / 2) & (np.abs(v) < high / 2)
        column = np.floor((u / wide + 0.5) * len(colours)).astype(int)
        shown = np.array([lab_to_linear(np.array(lab)) for lab in colours])
        linear[inside] = shown[np.clip(column, 0, len(colours) - 1)][inside]
    for cx, cy, across, labs, shares in places:
        box = _box(cx, cy, 0.8 * across)
        far = np.hypot(x[box] - cx - 0.05 * across, y[box] - cy - 0.07 * across)
        rim = np.clip((2 * far / across - 1.06) / 0.05, -30, 30)
        linear[box] *= (1 - 0.45 / (1 + np.exp(rim)))[..., None]
        box = _box(cx, cy, across / 2)
        i, j = x[box] - cx, y[box] - cy
        here = look or Look(strand=max(3.0, across / 28))
        held, _, dark = _wind(i, j, across / 2, np.asarray(shares), here, rng)
        albedo = held @ np.clip(lab_to_linear(np.array(labs)), 0, 1)
        shade = dark * _round(i, j, across / 2, 0.2, rng)
        inside = np.hypot(i, j) < across / 2
        linear[box][inside] = (albedo * shade[..., None])[inside]
    linear = gaussian_filter(linear * light[..., None], (0.7, 0.7, 0))
    linear = linear + 0.006 * np.sqrt(linear / 0.18 + 0.02) * rng.standard_normal(
        linear.shape
    )
    return Photo(linear_to_srgb255(linear), size)


def _box(x, y, reach):
    return (
        slice(max(0, int(y - reach)), int(y + reach) + 1),
        slice(max(0, int(x - reach)), int(x + reach) + 1),
    )


# --- by lot ---------------------------------------------------------------------------

STYLES = ("solid", "tonal", "variegated", "speckled", "marled")


def showable(rng):
    """A CIELAB colour that a camera can show lit and in shadow."""
    while True:
        chroma, hue = 60 * rng.random() * rng.random() ** 0.3, rng.uniform(0, 2 * np.pi)
        lab = (rng.uniform(22, 88), chroma * np.cos(hue), chroma * np.sin(hue))
        if _shows(lab):
            return lab


def _shows(lab):
    linear = lab_to_linear(np.array(lab))
    return linear.min() > 0.004 and linear.max() < 0.85


def drawn_yarn(style, rng):
    """(labs, shares, Look) of a yarn of this style, everything about it by lot."""
    n = {"solid": 1, "tonal": rng.integers(2, 4), "marled": rng.integers(2, 4)}.get(
        style, rng.integers(2, 5)
    )
    apart = {"tonal": 0, "speckled": 18}.get(style, 12)
    while True:
        labs = [showable(rng) for _ in range(n)]
        if style == "tonal":
            first, step = labs[0], rng.uniform(8, 14)
            labs = [(first[0] - k * step, *first[1:]) for k in range(n)]
        off = ciede2000_table(np.array(labs), np.array(labs)) + 99 * np.eye(n)
        if off.min() > apart and all(map(_shows, labs)):
            break
    specks = rng.uniform(0.06, 0.14, n - 1)
    shares = (
        [1 - specks.sum(), *specks] if style == "speckled" else rng.dirichlet([8] * n)
    )
    look = Look(
        style=style,
        strand=rng.uniform(4, 16),
        runs=rng.uniform(1.5, 4) if style == "speckled" else rng.uniform(12, 45),
        soft=rng.choice([0, 0.5, 2]),
        depth=rng.uniform(0.5, 0.85),
        shine=rng.choice([0, 0, 0.02, 0.04]),
        aslant=rng.uniform(0, 0.5),
        noise=rng.uniform(0.004, 0.015),
        blur=rng.uniform(0.5, 1.2),
    )
    return labs, shares, look


def matched(mix, labs, shares):
    """For each true colour: dE00 to the nearest found, and how far its share is off.

    Every found colour counts for the true one that it is nearest to.
    """
    apart = ciede2000_table(np.array(labs), np.array(mix.labs))
    taken = np.bincount(apart.argmin(axis=0), mix.shares, len(labs))
    return apart.min(axis=1), taken - np.asarray(shares)

"""Balls of yarn wound on a drawn scene: strands round a sphere, in bands over bands.

Our own drawing, no source. In the middle of a ball, on top of a strand, a yarn gets as
much light as the table and the cards beside it; between strands and towards the edge
it gets less.
"""

import numpy as np
from scipy.ndimage import gaussian_filter

from kit.photo import Region

# How long a colour runs along the strand, and how far two run into each other, both in
# widths of the strand.
RUNS = {
    "solid": (1, 0),
    "tonal": (14, 9),
    "variegated": (34, 1.5),
    "speckled": (1.3, 0),
}
N_BANDS = 15
INNER = 0.7  # of the diameter, the region that is handed back


def wind(scene, x, y, diameter, reflectances, *, shares=(1,), style="solid", strand=0):
    """Draws a ball; returns its inner region. `strand` is its width in pixels."""
    rng, radius = scene.rng, diameter / 2
    strand = strand or max(4.0, diameter / 32)
    scene.shadow(x, y, diameter, diameter, depth=0.55)
    box = scene.box(x, y, diameter + 6, diameter + 6)
    i, j = (scene.x[box] - x) / radius, (scene.y[box] - y) / radius
    fuzz = gaussian_filter(rng.standard_normal(i.shape), 1.2)
    far = np.hypot(i, j) - 0.004 * fuzz / fuzz.std()
    up = np.sqrt(np.clip(1 - np.minimum(i**2 + j**2, 1), 0, 1))
    held, crown, dark = _bands(
        np.stack([i, j, up]), radius / strand, shares, style, rng
    )
    lit = np.clip(up - 0.22 * i - 0.3 * j, 0, None)  # the lamp: upper left, behind
    round_ = 0.38 + 0.62 * lit - 0.12 * np.clip(far - 0.8, 0, 1) / 0.2
    inside = far < 1
    first = scene.paint(reflectances[0])
    for other in reflectances[1:]:
        scene.paint(other)
    scene.shade[box][inside] = (dark * np.clip(round_, 0.05, None))[inside]
    scene.shine[box][inside] = (0.012 * crown**10 * lit)[inside]
    scene.blends.append((box, inside, held[inside].astype(np.float32), first))
    region = Region("", "circle", x, y, INNER * diameter, INNER * diameter)
    scene.seen.append(held[np.hypot(i, j) < INNER].mean(axis=0))
    return region


def _bands(normal, radius, shares, style, rng):
    """How much of each colour (h, w, n), how near a crown, how dark between strands."""
    held, crown, dark = None, None, None
    for k in range(N_BANDS):
        axis, along, across = _frame(rng)
        slant = np.arcsin(np.clip(np.tensordot(axis, normal, 1), -1, 1))
        turn = np.arctan2(
            np.tensordot(along, normal, 1), np.tensordot(across, normal, 1)
        )
        u, v = slant * radius, turn * np.cos(slant) * radius
        half = np.inf if k == 0 else rng.uniform(2.5, 6)
        at = 0 if k == 0 else rng.uniform(-0.75, 0.75) * radius
        number = np.floor(u).astype(int)
        aside = 2 * (u - number) - 1
        arch = np.sqrt(np.clip(1 - aside**2, 0, 1))
        ply = 1 - 0.10 * (0.5 + 0.5 * np.cos(2 * np.pi * (v / 1.5 + aside / 2.5)))
        rim = np.clip((half - abs(u - at)) / 1.2, 0, 1) if k else 1.0
        gap = (0.28 + 0.72 * arch) * ply * (0.6 + 0.4 * rim)
        dyed = _dyed(number - number.min(), v, shares, style, rng)
        inside = abs(u - at) < half
        if k == 0:
            held, crown, dark = dyed, arch * ply, gap
            continue
        held[inside] = dyed[inside]
        crown[inside], dark[inside] = (arch * ply)[inside], gap[inside]
    return held, crown, dark


def _frame(rng):
    """Three directions at right angles; the first is a band's axis."""
    first = rng.standard_normal(3)
    first[2] *= 0.35  # most bands run across the side that is seen
    first /= np.linalg.norm(first)
    second = np.cross(first, (0.3, 0.1, 0.9))
    second /= np.linalg.norm(second)
    return first, second, np.cross(first, second)


def _dyed(number, v, shares, style, rng):
    """How much of each colour, by strand and place along it; (h, w, n)."""
    shares = np.asarray(shares, float) / np.sum(shares)
    n = len(shares)
    if n == 1:
        return np.ones((*v.shape, 1))
    runs, soft = RUNS[style]
    if style == "speckled":
        cell = np.floor(v / runs).astype(int)
        cell -= cell.min()
        dealt = rng.choice(n, (number.max() + 1, cell.max() + 1), p=shares)
        return np.eye(n)[dealt[number, cell]]
    order = rng.permuted(np.tile(np.arange(n), (24, 1)), axis=1).ravel()
    ends = np.cumsum(shares[order] * n * runs * rng.uniform(0.8, 1.2, len(order)))
    along = v + rng.uniform(0, ends[-1], number.max() + 1)[number]
    held = np.zeros((*v.shape, n))
    for shift in np.linspace(-soft, soft, 7):
        place = np.searchsorted(ends, (along + shift) % ends[-1])
        held += np.eye(n)[order[np.minimum(place, len(order) - 1)]]
    return held / 7

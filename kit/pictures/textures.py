"""What a ball looks like wound round a card: how much of each colour, dot by dot.

Only the places of the colours are drawn by lot, seeded by the yarn's name and tag;
their shares are the yarn's own. No shading is added, so a colour picked from a swatch
is the colour that was entered.
"""

from __future__ import annotations

from dataclasses import dataclass
from zlib import crc32

import numpy as np

from kit.blanket import Yarn
from kit.colour.spaces import lab_to_linear, lab_to_xyz, linear_to_srgb1
from kit.pictures.swatches import SURROUND

THREAD = 11  # dots: how wide one turn of the yarn is drawn
EDGE = 1.7  # dots: the white line round a swatch, and the black one round that
ROUND = 2.4  # dots: how much shorter the yarn is between two turns
HAZE = 13.0  # dots: how far a fluffy yarn fades out


@dataclass(frozen=True, slots=True)
class Dyeing:
    """How the colours lie along the yarn. `soft`: how far two run into each other.

    `turns`: how many turns round the card the colours take to come round again.
    """

    turns: float
    soft: float


# Our own drawing of the trade's words; no source.
DYEINGS = {
    "tonal": Dyeing(turns=0.9, soft=0.22),
    "variegated": Dyeing(turns=2.7, soft=0.012),
    "solid": Dyeing(turns=2.7, soft=0.012),
    "self-striping": Dyeing(turns=6.0, soft=0.012),
}


def amounts(yarn: Yarn, height: int, width: int) -> np.ndarray:
    """How much of each colour a dot holds, shape (height, width, n colours), sums to 1.

    The yarn runs up the card turn by turn; `width` is cut into turns of about 11 dots.
    Over the whole, each colour has its share (tested within 0.006).
    """
    shares = np.array(yarn.mix.shares)
    if len(shares) == 1:
        return np.ones((height, width, 1))
    n_turns = max(1, round(width / THREAD))
    edges = np.round(np.linspace(0, width, n_turns + 1)).astype(int)
    wide = np.diff(edges)
    turn = np.repeat(np.arange(n_turns), wide)
    up = (np.arange(height) + 0.5)[:, None] / height
    # In turns; a wider one counts for more yarn, so that areas are lengths.
    along = (edges[turn] + up * wide[turn]) * n_turns / width
    rng = np.random.default_rng(seed_of(yarn))
    if yarn.label.style == "speckled":
        aside = (np.arange(width) + 0.5 - edges[turn]) / wide[turn] * 2 - 1
        return _specks(shares, along, aside, n_turns, rng)
    dyeing = DYEINGS[yarn.label.style]
    return _runs(shares, along, dyeing, 1 / height, n_turns, rng)


def seed_of(yarn: Yarn) -> int:
    """The same yarn looks the same in every picture."""
    return crc32(f"{yarn.no} {yarn.name}".encode())


def _runs(
    shares: np.ndarray,
    along: np.ndarray,
    dyeing: Dyeing,
    dot: float,
    n_turns: int,
    rng: np.random.Generator,
) -> np.ndarray:
    """Runs of colour one after the other, of uneven length, their totals the shares."""
    n = len(shares)
    times = max(1, round(n_turns / dyeing.turns))
    lengths = rng.uniform(0.65, 1.35, (times, n))
    lengths *= shares * n_turns / lengths.sum(axis=0)
    ends = np.cumsum(lengths.ravel())
    start = rng.uniform(0, n_turns)
    soft = max(min(dyeing.soft, 0.4 * n_turns / times / n), dot / 2)
    spread = np.linspace(-soft, soft, 9)
    held = np.zeros((*along.shape, n))
    for shift in spread:
        place = np.searchsorted(ends, (along + start + shift) % ends[-1], side="right")
        held += np.eye(n)[np.minimum(place, len(ends) - 1) % n]
    return held / len(spread)


def _specks(
    shares: np.ndarray,
    along: np.ndarray,
    aside: np.ndarray,
    n_turns: int,
    rng: np.random.Generator,
) -> np.ndarray:
    """The largest colour with round specks of the others, their areas the shares.

    `aside` runs from -1 to 1 across a turn.
    """
    height, width = along.shape
    base, wide = int(np.argmax(shares)), width / n_turns
    others = [k for k in range(len(shares)) if k != base]
    speck = min(wide, height) ** 2 * 0.7  # dots
    counts = [max(1, round(shares[k] * height * width / speck)) for k in others]
    colours = rng.permutation(np.repeat(others, counts))
    room = n_turns / len(colours)
    # The length of a speck of each colour, in turns; an ellipse fills pi / 4 of it.
    lengths = {
        k: shares[k] * n_turns / n * 4 / np.pi
        for k, n in zip(others, counts, strict=True)
    }
    clear = min(max(lengths.values()) / 2 / room, 0.5)  # no speck meets the next
    places = rng.uniform(clear, 1 - clear, len(colours))
    at = (np.arange(len(colours)) + places) * room
    nearest = np.minimum((along / room).astype(int), len(colours) - 1)
    off = np.abs(along - at[nearest])
    chord = np.sqrt(1 - aside**2)
    held = np.zeros((*along.shape, len(shares)))
    for k in others:
        covered = (lengths[k] / 2 * chord - off) * height + 0.5
        held[..., k] = (colours[nearest] == k) * np.clip(covered, 0, 1)
    held[..., base] = 1 - held.sum(axis=-1)
    return held


# --- as a picture ---------------------------------------------------------------------


def plain(yarn: Yarn, height: int, width: int, *, grey: bool = False) -> np.ndarray:
    """The colours alone without an edge: sRGB 0-1, shape (height, width, 3)."""
    held = amounts(yarn, height, width)
    labs = np.array(yarn.mix.labs)
    if not grey:
        return linear_to_srgb1(held @ np.clip(lab_to_linear(labs), 0, 1))
    light = held @ np.clip(lab_to_xyz(labs)[:, 1], 0, 1)
    return np.repeat(linear_to_srgb1(light)[..., None], 3, axis=-1)


def card(yarn: Yarn, height: int, width: int, *, grey: bool = False) -> np.ndarray:
    """A swatch on neutral grey with a black-and-white edge: sRGB 0-1, (h, w, 3).

    `grey`: each colour as the grey of equal L* (equal Y is equal L*), never faded. In
    colour a fluffy yarn fades out inside its edge; its colour is full in the middle.
    """
    out = _outside(height, width)
    around = int(np.ceil(2 * EDGE))
    inner = plain(yarn, height - 2 * around, width - 2 * around, grey=grey)
    body = np.pad(inner, ((around, around), (around, around), (0, 0)), mode="edge")
    cover = _cover(out, 2 * EDGE)
    if yarn.label.surface == "fluffy" and not grey:
        cover = cover * _haze(out + 2 * EDGE, np.random.default_rng(seed_of(yarn)))
    ground = np.broadcast_to(_srgb1(SURROUND), body.shape)
    picture = _over(ground, np.zeros(3), _cover(out, 0))
    picture = _over(picture, np.ones(3), _cover(out, EDGE))
    picture = _over(picture, ground, _cover(out, 2 * EDGE))
    return _over(picture, body, cover)


def _srgb1(hexed: str) -> np.ndarray:
    return np.array([int(hexed[i : i + 2], 16) for i in (1, 3, 5)]) / 255


def _over(under: np.ndarray, colour: np.ndarray, cover: np.ndarray) -> np.ndarray:
    return under + (colour - under) * cover[..., None]


def _cover(out: np.ndarray, inset: float) -> np.ndarray:
    return np.clip(0.5 - (out + inset), 0, 1)


def _outside(height: int, width: int) -> np.ndarray:
    """Dots from the edge of the wound yarn, negative inside: its turns end rounded."""
    n_turns = max(1, round(width / THREAD))
    wide = width / n_turns
    x, y = np.arange(width) + 0.5, np.abs(np.arange(height) + 0.5 - height / 2)
    aside = 2 * np.abs(x % wide - wide / 2) / wide  # 0 mid-turn, 1 between two turns
    ends = y[:, None] - (height / 2 - ROUND * aside**2)[None, :]
    return np.maximum(ends, (np.abs(x - width / 2) - width / 2)[None, :])


def _haze(out: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A soft edge with single hairs in it, 0 to 1."""
    depth = np.clip(-out / HAZE, 0, 1)
    return np.maximum(depth**2 * (3 - 2 * depth), _hairs(out, rng))


def _hairs(out: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Short curved hairs that start where the yarn begins to fade."""
    height, width = out.shape
    hairs = np.zeros(out.shape)
    rows, columns = np.nonzero(np.abs(out + HAZE * 0.75) < 1)
    chosen = rng.choice(len(rows), size=min(len(rows), height + width))
    slope_y, slope_x = np.gradient(out)
    for k in chosen:
        y, x = float(rows[k]), float(columns[k])
        way = np.arctan2(slope_y[rows[k], columns[k]], slope_x[rows[k], columns[k]])
        way, bend = way + rng.uniform(-0.8, 0.8), rng.uniform(-0.12, 0.12)
        for _ in range(rng.integers(5, 13)):
            y, x, way = y + np.sin(way), x + np.cos(way), way + bend
            i, j = round(y), round(x)
            if 0 <= i < height and 0 <= j < width:
                hairs[i, j] = max(hairs[i, j], 0.7)
    return hairs

"""Knitted stitches drawn one by one: each a V of two legs, its strands side by side.

Drawn as stocking stitch seen from the right side, whatever the sections say. Light and
shadow are the drawing's; the colours under them are those of `knitted`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kit.pictures.stitches import GROUND, as_seen, heights_cm, held_along
from kit.plan import Plan

# A leg, by eye: from the foot in the middle of the stitch to the shoulder at its side.
FOOT, SHOULDER = -0.5, 1.0  # rows over the stitch's own
BEND = 0.25  # 0 straight, 1 level at both ends
THICK = 0.15  # half the strands' width together, in stitch widths
UNEVEN_Y, UNEVEN_THICK = 0.05, 0.05  # no two stitches are quite alike
LIGHT = (-0.42, 0.48, 0.77)  # from over the left shoulder: right, up, towards us
GAP = 0.2  # how much light comes back from between the legs
FINE = 2  # dots drawn for each dot shown, each way
TWIST = 4.0  # turns of a strand's own plies along a leg
HAIRS, HAIR_LENGTH, HAIR = 2.5, 0.8, 0.5  # a stitch of fluff; in stitches; how dense


def close_up(
    plan: Plan,
    first_row: int,
    n_rows: int,
    n_stitches: int,
    *,
    first_column: int | None = None,
    px_per_stitch: int = 16,
) -> np.ndarray:
    """Stitches of some rows, drawn: linear sRGB, `first_row` (from 1) at the bottom.

    `first_column` counts stitches from the left edge, 0 first; the middle if left out.
    A view that reaches beyond the fabric is moved in, or made smaller.
    """
    fabric = plan.fabric
    if fabric is None:
        raise ValueError("a plan without fabric has no stitches")
    n_rows, n_stitches = min(n_rows, fabric.rows), min(n_stitches, fabric.stitches)
    if first_column is None:
        first_column = (fabric.stitches - n_stitches) // 2
    left = min(max(first_column, 0), fabric.stitches - n_stitches)
    row = min(max(first_row - 1, 0), fabric.rows - n_rows)
    heights = heights_cm(plan)[row : row + n_rows]
    stitch_cm = fabric.width_cm / fabric.stitches
    canvas = _canvas(heights / stitch_cm, n_stitches, px_per_stitch)
    legs = _legs(plan, row, n_rows, 2 * left, 2 * n_stitches)
    drawn = _draw(legs, canvas, np.random.default_rng([row, left]))
    return drawn.reshape(len(drawn) // FINE, FINE, -1, FINE, 3).mean(axis=(1, 3))


# --- what lies where ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Legs:
    """The legs of a part of the fabric, rows upwards; two rows more below and above.

    shape    rows, legs in a row: all others have rows x legs in this order in front
    colours  (n, most strands, 3) linear sRGB
    ends     (n, most strands) where each strand's slice of the round ends
    veil     (n, most strands) what its fluff covers
    turned   (n, 2) how far the strands have turned at both ends of the leg
    """

    shape: tuple[int, int]
    colours: np.ndarray
    ends: np.ndarray
    veil: np.ndarray
    turned: np.ndarray


def _legs(plan: Plan, row: int, n_rows: int, leg: int, n_legs: int) -> Legs:
    """Rows from `row` (0 first) and legs from `leg`, the edge rows again outside."""
    fabric = plan.fabric
    assert fabric is not None
    low = max(row - 2, 0)
    low -= low % 2  # an odd row in front: `as_seen` begins with one
    high = min(row + n_rows + 2, fabric.rows)
    width = 2 * fabric.stitches
    stripes = list(held_along(fabric, pieces=2, rows=(low + 1, high)))
    most = max([1, *(len(strands.core) for _, strands in stripes)])
    n = (high - low) * width
    colours, ends = np.full((n, most, 3), GROUND, np.float32), np.ones((n, most))
    veil, turned = np.zeros((n, most), np.float32), np.zeros((n, 2), np.float32)
    for stripe, strands in stripes:
        first, last = 2 * stripe.first - low * width, 2 * stripe.last - low * width
        to, k = slice(max(first, 0), min(last, n)), len(strands.core)
        of = slice(to.start - first, to.stop - first)
        colours[to, :k], veil[to, :k] = strands.colours[of], strands.veil
        ends[to, : k - 1] = np.cumsum(strands.core)[:-1]
        turned[to, 0], turned[to, 1] = strands.turned[:-1][of], strands.turned[1:][of]
    rows = np.clip(np.arange(row - 2, row + n_rows + 2), 0, fabric.rows - 1) - low
    parts = []
    for part in (colours, ends.astype(np.float32), veil, turned):
        seen = as_seen(part.reshape(high - low, width, *part.shape[1:]))[::-1]
        parts.append(seen[rows, leg : leg + n_legs].reshape(-1, *part.shape[1:]))
    return Legs((len(rows), n_legs), *parts)


@dataclass(frozen=True, slots=True)
class Canvas:
    """Where fine dots lie: `y` (h, 1) in rows from the lowest, upwards, `x` (w,) in
    stitches; `row` the height of a row in stitch widths, on average."""

    y: np.ndarray
    x: np.ndarray
    row: float


def _canvas(rows: np.ndarray, n_stitches: int, px: int) -> Canvas:
    ends = np.concatenate([[0.0], np.cumsum(rows)])
    height = max(1, round(ends[-1] * px)) * FINE
    up = (1 - (np.arange(height) + 0.5) / height) * ends[-1]
    y = np.interp(up, ends, np.arange(len(ends)))[:, None]
    x = (np.arange(n_stitches * px * FINE) + 0.5) / (px * FINE)
    return Canvas(y.astype(np.float32), x.astype(np.float32), float(rows.mean()))


@dataclass(frozen=True, slots=True)
class Hit:
    """What each fine dot shows, shape (h, w), or (w,) for what a column shares."""

    leg: np.ndarray  # index into Legs
    right: np.ndarray  # (w,) whether it is the right leg of its stitch
    along: np.ndarray  # (w,) 0 foot to 1 shoulder
    slant: np.ndarray  # (w,) radians from level
    across: np.ndarray  # -1 lower edge to 1 upper; beyond: a gap
    under: np.ndarray  # rows below the edge of the leg that lies over it


def _hit(legs: Legs, canvas: Canvas, rng: np.random.Generator) -> Hit:
    """Legs are stacked like chevrons, the upper of two neighbours in front."""
    n_rows, n_legs = legs.shape
    inside = canvas.x % 1
    leg = (2 * canvas.x).astype(np.int32)
    along = np.abs(inside - 0.5) * 2
    rise = along - BEND * np.sin(2 * np.pi * along) / (2 * np.pi)
    steep = 1 - BEND * np.cos(2 * np.pi * along)
    slant = np.arctan(steep * (SHOULDER - FOOT) * 2 * canvas.row)
    half = THICK / (canvas.row * np.cos(slant)) * (1 - 0.3 * _dip((1 - along) / 0.3))
    shift = rng.normal(0, UNEVEN_Y, (n_rows, n_legs // 2)).repeat(2, axis=1).ravel()
    thick = 1 + rng.normal(0, UNEVEN_THICK, n_rows * n_legs)
    shift, thick = shift.astype(np.float32), thick.astype(np.float32)
    lifted = canvas.y - (FOOT + (SHOULDER - FOOT) * rise) + 2
    low = np.clip(np.floor(lifted), 0, n_rows - 2)
    lower = low.astype(np.int32) * n_legs + leg
    upper = lower + n_legs
    over = (lifted - low - 1 - shift[upper]) / (half * thick[upper])
    behind = (lifted - low - shift[lower]) / (half * thick[lower])
    front = np.abs(over) < 1
    return Hit(
        leg=np.where(front, upper, lower),
        right=inside >= 0.5,
        along=along,
        slant=slant,
        across=np.where(front, over, behind),
        under=np.where(front, 1, -1 - over) * half,
    )


# --- the drawing ----------------------------------------------------------------------


def _draw(legs: Legs, canvas: Canvas, rng: np.random.Generator) -> np.ndarray:
    """All fine dots in linear sRGB, shape (height, width, 3)."""
    hit = _hit(legs, canvas, rng)
    across = np.clip(hit.across, -1, 1)
    foot, shoulder = legs.turned[hit.leg, 0], legs.turned[hit.leg, 1]
    turn = foot + hit.along * (shoulder - foot)
    turn = (turn + np.arcsin(across) / np.float32(2 * np.pi)) % 1
    most = legs.ends.shape[1]
    which = sum((turn >= legs.ends[hit.leg, k]).astype(np.int32) for k in range(most))
    strand = hit.leg * most + np.minimum(which, most - 1)
    colour = legs.colours.reshape(-1, 3).take(strand, axis=0)
    light = _light(hit, across) * _grooves(legs, hit, turn, strand)
    picture = colour * light[..., None]
    if legs.veil.any():
        _fluff(picture, legs, hit, light, rng)
    return picture


def _light(hit: Hit, across: np.ndarray) -> np.ndarray:
    """Light on a round strand, darker where legs dip behind others and in the gaps."""
    side = np.where(hit.right, -1, 1) * np.sin(hit.slant) * LIGHT[0]
    facing = across * (side + np.cos(hit.slant) * LIGHT[1]).astype(np.float32)
    facing += np.sqrt(1 - across**2) * np.float32(LIGHT[2])
    light = 0.42 + 0.78 * np.maximum(facing, 0)
    ends = 0.22 * _dip(hit.along / 0.2) + 0.5 * _dip((1 - hit.along) / 0.35)
    light *= (1 - ends) * (1 - 0.35 * _dip(hit.under / 0.22))
    return np.where(np.abs(hit.across) >= 1, np.float32(GAP), light)


def _dip(at: np.ndarray) -> np.ndarray:
    """1 at 0, falling softly to 0 at 1 and beyond."""
    at = np.clip(at, 0, 1)
    return 1 - at * at * (3 - 2 * at)


def _grooves(legs: Legs, hit: Hit, turn: np.ndarray, strand: np.ndarray) -> np.ndarray:
    """Shadow between two strands, and the fine slant of a strand's own plies."""
    starts = np.roll(legs.ends, 1, axis=1)
    starts[:, 0] = 0
    first, last = starts.ravel().take(strand), legs.ends.ravel().take(strand)
    inside = np.minimum(turn - first, last - turn)
    groove = np.where(last - first < 1, 0.4 * _dip(inside / 0.05), 0)
    plies = np.sin(np.float32(2 * np.pi) * (TWIST * hit.along + 3 * turn))
    return (1 - groove) * (1 + 0.07 * plies)


def _fluff(
    picture: np.ndarray,
    legs: Legs,
    hit: Hit,
    light: np.ndarray,
    rng: np.random.Generator,
) -> None:
    """The veil of fluffy strands over a picture, and single hairs, in place."""
    cover = legs.veil.sum(axis=1)
    haze = np.einsum("ns,nsc->nc", legs.veil, legs.colours)
    picture *= 1 - cover[hit.leg][..., None]
    picture += haze.take(hit.leg, axis=0) * (0.45 + 0.55 * light[..., None])
    height, width = hit.leg.shape
    n = round(HAIRS * legs.shape[0] * legs.shape[1] / 2)
    y, x = rng.uniform(0, height, n), rng.uniform(0, width, n)
    leg = hit.leg[y.astype(int), x.astype(int)]
    kept = rng.uniform(size=n) < cover[leg] / max(cover.max(), 1e-6)
    kept &= cover[leg] > 0
    y, x, leg = y[kept], x[kept], leg[kept]
    colour = (haze[leg] / cover[leg][:, None]).astype(np.float32)
    way, bend = rng.uniform(0, 2 * np.pi, len(y)), rng.normal(0, 0.06, len(y))
    for _ in range(round(HAIR_LENGTH * 2 * width / legs.shape[1])):
        y, x, way = y + np.sin(way), x + np.cos(way), way + bend
        i, j = y.astype(int), x.astype(int)
        inside = (i >= 0) & (i < height) & (j >= 0) & (j < width)
        at = i[inside], j[inside]
        picture[at] += HAIR * (colour[inside] - picture[at])

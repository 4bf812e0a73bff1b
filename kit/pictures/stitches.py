"""The knitted fabric as colours, stitch by stitch: marled strands, row 1 at the bottom.

Where a strand shows and where its colours change is drawn by lot, seeded by yarn names,
so the same blanket always looks the same; how much of each colour there is, is the
stripe's own mix. Pictures here are linear sRGB, 0-1, and are encoded at the very end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from zlib import crc32

import numpy as np

from kit.colour.scielab import pixels_per_degree, seen_from
from kit.colour.spaces import LINEAR_TO_XYZ, linear_to_srgb1, srgb1_to_linear
from kit.fabric import Fabric, Stripe
from kit.fabric.stripes import VEIL, visible_width
from kit.pictures.skein import dyed
from kit.pictures.swatches import SURROUND
from kit.plan import Plan
from kit.yarn.gauge import row_heights_cm

# Where nothing is knitted yet.
GROUND = float(srgb1_to_linear(np.array(int(SURROUND[1:3], 16) / 255)))

# Strands held together turn round each other in knitting (our estimate, by eye).
TURN, TURN_SPREAD = 0.12, 0.22  # turns a stitch: on average, and how unevenly


# --- strands held together ------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Held:
    """The strands of a stripe, piece by piece of their way through the stitches.

    colours  (n pieces, n strands, 3) linear sRGB of each strand
    turned   (n pieces + 1,) how far the strands have turned round each other, turns
    core     (n strands,) the part of the way round that each strand's core takes, sum 1
    veil     (n strands,) what its fluff covers of every stitch alike, sum 0 to 1
    """

    colours: np.ndarray
    turned: np.ndarray
    core: np.ndarray
    veil: np.ndarray

    def facing(self) -> np.ndarray:
        """How much of the face each strand has in each piece: (n pieces, n strands).

        Cores lie round the held strands like slices; the half turned to us is seen.
        Every way round is equally likely, so on average each shows its share.
        """
        middle = (self.turned[:-1] + self.turned[1:]) / 2
        starts = np.concatenate([[0.0], np.cumsum(self.core)[:-1]])
        shown = _within(middle + 0.25, starts, self.core)
        shown -= _within(middle - 0.25, starts, self.core)
        return self.veil + (1 - self.veil.sum()) * 2 * shown

    def blended(self) -> np.ndarray:
        """Each piece as one colour, linear sRGB, shape (n pieces, 3)."""
        return np.einsum("ns,nsc->nc", self.facing(), self.colours)


def _within(turns: np.ndarray, starts: np.ndarray, lengths: np.ndarray) -> np.ndarray:
    """How much of each slice lies between 0 and so many turns: (n, n slices)."""
    whole, rest = np.divmod(turns[:, None], 1)
    return whole * lengths + np.clip(rest - starts, 0, lengths)


def held(stripe: Stripe, start_m: float, *, pieces: int = 1) -> Held:
    """The strands of a stripe whose first stitch lies `start_m` metres up the blanket,
    each stitch cut in so many pieces.

    A fluffy strand is a veil: what it shows beyond its core lies over all stitches
    alike (our simple model).
    """
    strands = stripe.strands + stripe.carried
    n = stripe.last - stripe.first
    edges = start_m + np.linspace(0, stripe.metres_each, n * pieces + 1)
    colours = np.stack([dyed(yarn).between(edges) for yarn in strands], axis=1)
    fluffy = np.array([yarn.label.surface == "fluffy" for yarn in strands])
    width = np.array([visible_width(yarn) for yarn in strands])
    share = width / width.sum()
    veil = share * fluffy * (1 - 1 / VEIL)
    core = (share - veil) / (1 - veil.sum())
    rng = np.random.default_rng(crc32("\n".join(y.name for y in strands).encode()))
    turns = rng.normal(TURN, TURN_SPREAD, n)
    turned = rng.uniform() + np.concatenate([[0.0], np.cumsum(turns)])
    if pieces > 1:
        turned = np.interp(np.arange(n * pieces + 1) / pieces, np.arange(n + 1), turned)
    return Held(colours, turned, core, veil)


def held_along(
    fabric: Fabric, *, pieces: int = 1, rows: tuple[int, int] | None = None
) -> Iterator[tuple[Stripe, Held]]:
    """Every stripe with its strands, whose colours run on from stripe to stripe; or
    those alone that reach into rows `rows` (the first and the last)."""
    at_m, (first, last) = 0.0, rows or (1, fabric.rows)
    for stripe in fabric.stripes:
        if stripe.last_row >= first and stripe.first_row <= last:
            yield stripe, held(stripe, at_m, pieces=pieces)
        at_m += stripe.metres_each


# --- the whole fabric -----------------------------------------------------------------


def stitch_colours(plan: Plan, *, pieces: int = 1) -> np.ndarray:
    """One colour a stitch: linear sRGB, shape (rows, stitches, 3), row 1 last.

    Seen from the right side, where row 1 runs from right to left and row 2 comes back.
    `pieces` 2: one for each leg, shape (rows, 2 x stitches, 3). Neutral grey where
    nothing is knitted. The plan must have fabric.
    """
    fabric = _fabric(plan)
    width = fabric.stitches * pieces
    along = np.full((fabric.rows * width, 3), GROUND, dtype=np.float32)
    for stripe, strands in held_along(fabric, pieces=pieces):
        along[stripe.first * pieces : stripe.last * pieces] = strands.blended()
    return as_seen(along.reshape(fabric.rows, width, 3))


def as_seen(rows: np.ndarray) -> np.ndarray:
    """Rows in knitting order, each in the order of knitting, as they lie in the fabric:
    the first at the bottom and from the right, the next from the left.

    >>> as_seen(np.array([[1, 2, 3], [4, 5, 6]])).tolist()
    [[4, 5, 6], [3, 2, 1]]
    """
    seen = rows.copy()
    seen[::2] = rows[::2, ::-1]
    return seen[::-1]


def _fabric(plan: Plan) -> Fabric:
    if plan.fabric is None:
        raise ValueError("a plan without fabric has no stitches")
    return plan.fabric


def has_fabric(plan: Plan) -> bool:
    """Whether there are stitches to look at."""
    return plan.fabric is not None and bool(plan.fabric.stripes)


def heights_cm(plan: Plan) -> np.ndarray:
    """Height of each row from the cast-on edge, cm, shape (rows,)."""
    making = plan.choices.making
    assert making.gauge is not None  # else there is no fabric
    return row_heights_cm(_fabric(plan).rows, making.gauge, making.sections)


def in_proportion(
    plan: Plan, image_linear: np.ndarray, *, height: int, width: int
) -> np.ndarray:
    """Stitches brought to true proportion: an image of so many dots, each the average
    of what lies under it. `image_linear` has one row of dots for each row, or more."""
    finer = len(image_linear) // _fabric(plan).rows
    heights = (heights_cm(plan)[::-1] / finer).repeat(finer)
    tall = _averaged(image_linear, heights, height, axis=0)
    return _averaged(tall, np.ones(image_linear.shape[1]), width, axis=1)


def _averaged(image: np.ndarray, sizes: np.ndarray, n: int, *, axis: int) -> np.ndarray:
    """Rows (axis 0) or columns (axis 1) of these sizes as n even ones: averages, no
    light lost or gained."""
    ends = np.concatenate([[0.0], np.cumsum(sizes)])
    edges = np.linspace(0, ends[-1], n + 1)
    first = np.searchsorted(ends[1:-1], edges[:-1], side="right")
    past = np.searchsorted(ends[:-1], edges[1:], side="left")
    out = np.zeros(1, image.dtype)
    for part in range(int((past - first).max())):  # of what lies under each new one
        old = np.minimum(first + part, len(sizes) - 1)
        over = np.minimum(edges[1:], ends[old + 1]) - np.maximum(edges[:-1], ends[old])
        share = np.where(first + part < past, over * n / ends[-1], 0)
        weight = share.astype(image.dtype).reshape((n, 1, 1) if axis == 0 else (n, 1))
        out = out + image.take(old, axis=axis) * weight
    return out


def from_across(
    plan: Plan, distance_m: float, *, width: int | None = None
) -> np.ndarray:
    """The blanket as it looks from so many metres: linear sRGB, square dots.

    `width` in dots; left out, a dot is as high as the lowest row.
    """
    fabric = _fabric(plan)
    if width is None:
        width = max(1, round(fabric.width_cm / float(heights_cm(plan).min())))
    pitch_mm = 10 * fabric.width_cm / width
    height = max(1, round(10 * fabric.length_cm / pitch_mm))
    image = in_proportion(plan, stitch_colours(plan), height=height, width=width)
    per_degree = pixels_per_degree(pitch_mm, distance_m)
    return np.clip(seen_from(image, pixels_per_degree=per_degree), 0, 1)


# --- encoded --------------------------------------------------------------------------


def greys(image_linear: np.ndarray) -> np.ndarray:
    """The picture as neutral greys of equal L* (equal Y is equal L*), same shape."""
    light = image_linear @ LINEAR_TO_XYZ[1]
    return np.repeat(light[..., None], 3, axis=-1)


@lru_cache(maxsize=1)
def _steps_255() -> np.ndarray:
    """Linear light in 16 384 steps to sRGB 0-255: less than a quarter step off."""
    return np.round(255 * linear_to_srgb1(np.arange(16_385) / 16_384)).astype(np.uint8)


def srgb255(image_linear: np.ndarray) -> np.ndarray:
    """Linear light to sRGB 0-255 as bytes; what lies outside is clipped."""
    steps = np.clip(image_linear, 0, 1) * 16_384 + 0.5
    return _steps_255()[steps.astype(np.int32)]


def stitches_png(image_linear: np.ndarray) -> bytes:
    """A linear picture as the bytes of an sRGB PNG, quickly rather than small."""
    from PIL import Image  # late: only where a picture is asked for

    data = BytesIO()
    Image.fromarray(srgb255(image_linear)).save(data, "PNG", compress_level=1)
    return data.getvalue()
